"""A settled batch written down: the next input and the row of the ledger, whole or not at all, over nothing there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.files import check_writable, unless_there, write_set
from yieldplan.model.errors import ArgumentError
from yieldplan.pile.ledger import LEDGER, with_row

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from yieldplan.files import Content

OVERWRITE = "choose another name for --out, or overwrite it with --force"


def check_out(source: Path, out: Path) -> None:
    """Raise before any work is done if the next input cannot be called ``out``.

    Raises
    ------
    ArgumentError
        If it is the input itself, or not of the input's kind.
    """
    if source.exists() and out.exists() and out.samefile(source):
        raise ArgumentError(
            f"{out} is the input itself, which is left as it is; choose another name for --out."
        )
    if source.is_dir() and (out.is_file() or out.suffix.lower() == ".xlsx"):
        raise ArgumentError(f"{out} is no folder, as the input is; name a folder for --out.")
    if source.is_file() and out.suffix.lower() != ".xlsx":
        raise ArgumentError(f"{out.name} does not end in .xlsx, as the input does; give --out such a name.")


def write_settled(
    source: Path, out: Path, files: Mapping[str, bytes], row: dict[str, str], *, force: bool
) -> tuple[str, str]:
    """Write the next input, and the batch's row into the ledger beside the input; return the two as they are said.

    Both appear at one moment where they lie in one folder; else the next input does first, and settling once more adds
    a row that is missing. Another run that writes there is waited for.

    Parameters
    ----------
    files, row
        From :func:`yieldplan.pile.settle.next_input` and :func:`yieldplan.pile.ledger.ledger_row`.
    force
        Whether a next input that is there already, and is another, may be overwritten.

    Raises
    ------
    ArgumentError
        If it may not.
    InputError
        If the ledger is none.
    OutputError
        If something cannot be written; nothing is changed then.
    """
    home = (source if source.name not in ("", "..") else source.absolute()).parent
    _, replaced = with_row(home / LEDGER, row)  # what is no ledger is refused before anything is written
    folder, named = (out, files) if source.is_dir() else (out.parent, {out.name: files[""]})
    check_writable(home, (LEDGER,))
    contents: dict[str, Content] = {
        name: data if force else unless_there(folder / name, data, OVERWRITE) for name, data in named.items()
    }
    ledger: dict[str, Content] = {LEDGER: lambda path: path.write_bytes(with_row(home / LEDGER, row)[0])}
    if folder.exists() and folder.samefile(home):
        write_set(folder, {**contents, **ledger})
    else:
        write_set(folder, contents)
        write_set(home, ledger)
    instead = f" (in place of the row of plan {row['Plan']} that stood there)" if replaced else ""
    return str(out), f"{home / LEDGER}{instead}"
