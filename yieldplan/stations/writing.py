"""The input again with the rows of Blanks that stations ask for; never over an input, or over work done in a copy."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from yieldplan.model.errors import ArgumentError, StaleInputError
from yieldplan.workbook import fingerprint
from yieldplan.workbook.edit_xlsx import edit_input
from yieldplan.workbook.layouts import BLANKS
from yieldplan.workbook.source import sheet_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from yieldplan.stations.tape import TapeList

NAMES = ("stations.txt", "stations.csv", "stations.pdf")
"""What is written besides the copy of the input."""


def copies(source: Path, found: TapeList) -> dict[str, bytes]:
    """Return the input again by file name, its Blanks asking for what the stations need; all else stays as it is.

    Nothing where no run names a blank.

    Raises
    ------
    StaleInputError
        If the input is no longer the one that was read.
    OutputError
        If rows cannot be put into the sheet as it is stored.
    """
    survey = found.survey
    if survey.blanks.sheet is None or not found.kinds:
        return {}
    edit = edit_input(source)
    blanks = edit.sheet(BLANKS.name)
    assert blanks is not None
    survey.blanks.change(blanks, found.kinds, survey.marks.unit)
    files = edit.contents()
    if fingerprint(source) != survey.sha256:
        raise StaleInputError(
            f"{survey.name} was changed or moved while it was being read, so nothing was written; run the same "
            "command again."
        )
    if "" in files:
        return {source.name: files[""]}
    csvs = {name: data for name, data in files.items() if name.lower().endswith(".csv")}
    return {name: data for name, data in csvs.items() if name not in NAMES}


def check_copies(source: Path, out: Path, made: Mapping[str, bytes]) -> None:
    """Raise if a copy would take the place of the input, or of a copy that was worked in since it was written.

    Raises
    ------
    ArgumentError
        With what stands there and what to do.
    """
    if not made or not out.is_dir():
        return
    if out.samefile(source if source.is_dir() else source.parent):
        raise ArgumentError(
            f"{out} is where the input is, and its copy would take its place; name another folder with --out."
        )
    files = (file for file in out.iterdir() if file.is_file())
    ours = (file for file in files if file.name in made or (source.is_dir() and sheet_of(file)))
    standing, text = {file.name: file.read_bytes() for file in ours}, out / NAMES[0]
    known = text.read_text(encoding="utf-8", errors="replace") if text.is_file() else ""
    if standing and (_digest(standing) not in known or not standing.keys() <= made.keys()):
        place = out if source.is_dir() else out / source.name
        raise ArgumentError(
            f"{place} is there already, and not as yieldplan stations wrote it; it is left as it is: name another "
            "folder with --out, or move it away."
        )


def copied_words(source: Path, made: Mapping[str, bytes]) -> str:
    """Return the line that says which copy a tape list belongs to; by it a copy is known that no one worked in."""
    return f"\nCopy of {source.name} with these blanks: fingerprint {_digest(made)}\n" if made else ""


def _digest(files: Mapping[str, bytes]) -> str:
    whole = hashlib.sha256()
    for name in sorted(files):
        whole.update(hashlib.sha256(name.encode()).digest() + hashlib.sha256(files[name]).digest())
    return whole.hexdigest()[:16]
