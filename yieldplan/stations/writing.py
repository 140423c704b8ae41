"""The tape list as text and csv, and the input again with the rows of Blanks that it asks for."""

from __future__ import annotations

import csv
import hashlib
import io
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from yieldplan.measure import write
from yieldplan.model.errors import ArgumentError, StaleInputError
from yieldplan.pages.renderables import heading, plain_text, row, table
from yieldplan.sanitize import sanitize
from yieldplan.stations.words import (
    HEADS,
    KIND_HEADS,
    division_words,
    figures,
    how,
    kind_rows,
    listed,
    notes,
    wood_words,
)
from yieldplan.workbook import fingerprint
from yieldplan.workbook.layouts import BLANKS
from yieldplan.workbook.open_edit import edit_input
from yieldplan.workbook.source import sheet_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from rich.console import RenderableType

    from yieldplan.stations.tape import TapeList

NAMES = ("stations.txt", "stations.csv", "stations.pdf")
"""What is written besides the copy of the input."""

_WIDTH = 100
_CSV_HEADS = ("Run", *HEADS, "Blank length", "Of each")


def report(found: TapeList) -> Group:
    """Return the tape list to be shown: each run, then the blanks."""
    marks = found.survey.marks
    parts: list[RenderableType] = []
    for tape in found.tapes:
        parts += [
            heading(tape.run.name, first=not parts),
            Text(sanitize(division_words(tape.division, marks))),
        ]
        heads, rows = listed(tape, marks)
        narrow = [head.replace(", ", ",\n") for head in heads]  # all of them stand in 80 columns
        shown = table(*narrow, right=(head for head in narrow if head != "Blank"), whole=("Blank",))
        for cells in rows:
            row(shown, *cells)
        parts += [Text(""), shown]
        said = notes(tape, marks)
        parts += [Text(""), Text("\n".join(map(sanitize, said)))] if said else []
    if found.kinds:
        blanks = table(*KIND_HEADS, right=("Need", "Length"), whole=("Blank",))
        for kind in kind_rows(found):
            row(blanks, *kind)
        parts += [heading("Blanks"), blanks, Text(""), Text(wood_words(found))]
    return Group(*parts, Text(""), Text(how(found)))


def tape_text(found: TapeList, copied: str) -> str:
    """Return the tape list as text; ``copied`` says which copy of the input it belongs to."""
    return f"{found.survey.name}\n\n{plain_text(report(found), _WIDTH)}{copied}"


def tape_csv(found: TapeList) -> str:
    """Return the tape list as csv, a row for each station."""
    marks = found.survey.marks
    heads = [head for head in _CSV_HEADS if marks.unit == "inch" or not head.endswith(", in")]
    out = io.StringIO()
    lines = csv.DictWriter(out, heads, restval="", extrasaction="ignore", lineterminator="\n")
    lines.writeheader()
    for tape in found.tapes:
        for station in tape.rows:
            cells: dict[str, object] = {"Run": tape.run.name, **figures(station, marks)}
            if station.blank:
                cells["Blank length"] = write(station.blank.length, marks.unit)
            if station.length is not None:
                cells["Of each"] = tape.run.sides
            lines.writerow(cells)
    return out.getvalue()


def copies(source: Path, found: TapeList) -> dict[str, bytes]:
    """Return the input again by file name, its Blanks asking for what the stations need.

    Nothing where no run names a blank. All else in it stays as it is.

    Raises
    ------
    StaleInputError
        If the input is no longer the one that was read.
    OutputError
        If rows cannot be put into the sheet as it is stored.
    """
    sheet = found.survey.blanks.sheet
    if sheet is None or not found.kinds:
        return {}
    edit = edit_input(source)
    blanks = edit.sheet(BLANKS.name)
    assert blanks is not None
    found.survey.blanks.change(blanks, found.kinds, found.survey.marks.unit)
    files = edit.contents()
    made = (
        {source.name: files[""]}
        if "" in files
        else {
            name: data for name, data in files.items() if name.lower().endswith(".csv") and name not in NAMES
        }
    )
    if fingerprint(source) != found.survey.sha256:
        raise StaleInputError(
            f"{found.survey.name} was changed or moved while it was being read, so nothing was written; run the same "
            "command again."
        )
    return made


def check_copies(source: Path, out: Path, made: Mapping[str, bytes]) -> None:
    """Raise if a copy would take the place of the input, or of a copy that was worked in since it was written.

    Raises
    ------
    ArgumentError
        With what stands there and what to do.
    """
    home = source if source.is_dir() else source.parent
    if not made or not out.is_dir():
        return
    if out.samefile(home):
        raise ArgumentError(
            f"{out} is where the input is, and its copy would take its place; name another folder with --out."
        )
    files = (file for file in out.iterdir() if file.is_file())
    ours = (file for file in files if file.name in made or (source.is_dir() and sheet_of(file)))
    standing = {file.name: file.read_bytes() for file in ours}
    text = out / NAMES[0]
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
