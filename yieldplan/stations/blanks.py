"""The rows of Blanks that runs give lengths and numbers to, and the input again with them.

A run names a row of Blanks. That row says what the blank is besides: width, thickness, wood, rings, defects allowed.
Its Length and Need are written from the stations. Where several lengths are wanted the rows are numbered, the longest
first: Futtock 1, Futtock 2. They are found under those names the next time, so that a second run writes the same rows.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model.errors import ArgumentError
from yieldplan.model.words import fold
from yieldplan.workbook.edit import Copied, typed_length
from yieldplan.workbook.edit_xlsx import edit_input
from yieldplan.workbook.layouts import BLANKS
from yieldplan.workbook.source import sheet_of
from yieldplan.workbook.suggest import Names

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from yieldplan.workbook.edit import Value
    from yieldplan.workbook.table import Row, Table

BlankRows = dict[str, list["Row"]]
"""The rows of each blank that lengths go to, by its folded name without a number; others are made like the first."""

NAMES = ("stations.txt", "stations.csv", "stations.pdf")
"""What is written besides the copy of the input."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankKind:
    """A row of Blanks to be: ``pattern`` is the name that runs give it, ``needed`` the frames' own lengths together."""

    pattern: str
    name: str
    length: int
    need: int
    needed: int


def blank_rows(sheet: Table | None, asked: Sequence[tuple[Row, str]]) -> BlankRows:
    """Return the rows of Blanks that runs name; what is wrong with the names goes to the runs' rows."""
    if sheet and not {"Blank", "Need", "Length"} <= sheet.columns.keys():
        return {}  # reported
    rows = sheet.rows() if sheet else []
    names = Names(row.cell("Blank").text for row in rows)
    patterns: BlankRows = {}
    for row, name in asked:
        if not row.good("Blank") or fold(name) in patterns:
            continue
        own = _own_rows(rows, name)
        if not own:
            step = names.did_you_mean(name) if sheet else "there is no such sheet: make it"
            expected = "the name of a row on Blanks, which says width, thickness and wood"
            row.fault("Blank", "is on no row of Blanks", expected, step)
        elif other := next((o for _, o in asked if _numbered(o).fullmatch(fold(name))), None):
            expected = "names that still differ once a number follows"
            row.fault("Blank", f"is what a second length of {other} is called", expected)
        else:
            patterns[fold(name)] = own
    return patterns


def _own_rows(rows: Sequence[Row], name: str) -> list[Row]:
    """Return the rows of a blank: the one of its name first, then those that are numbered."""
    texts = [(fold(row.cell("Blank").text), row) for row in rows]
    plain = [row for text, row in texts if text == fold(name)]
    for again in plain[1:]:
        place = plain[0].place("Blank")
        again.fault("Blank", f"is the name of another blank ({place})", "a name of its own")
    numbered = [(int(match[1]), row) for text, row in texts if (match := _numbered(name).fullmatch(text))]
    return [*plain[:1], *(row for _, row in sorted(numbered, key=lambda pair: pair[0]))]


def _numbered(name: str) -> re.Pattern[str]:
    return re.compile(rf"{re.escape(fold(name))} ([0-9]{{1,3}})", re.ASCII)


def copies(source: Path, rows: BlankRows, kinds: Sequence[BlankKind]) -> dict[str, bytes]:
    """Return the input again by file name, its Blanks asking for these kinds; all else stays as it is.

    Nothing where no run names a blank. A number of spares is kept for the longest alone, which serves as any of them; a
    share holds for each.

    Raises OutputError if rows cannot be put into the sheet as it is stored.
    """
    if not kinds:
        return {}
    edit = edit_input(source)
    sheet = edit.sheet(BLANKS.name)
    assert sheet is not None
    every = tuple(text for _, text in sheet.heads)
    for key, (first, *others) in rows.items():
        spare = first.cell("Spare")
        shared = spare.empty or "%" in spare.text
        like = tuple(text for text in every if shared or fold(text) != fold("Spare"))
        sheet.strike([row.number for row in others])
        for number, kind in enumerate(kind for kind in kinds if fold(kind.pattern) == key):
            cells: dict[str, Value] = {
                "Blank": kind.name,
                "Need": kind.need,
                "Length": typed_length(kind.length, first.unit),
            }
            if number:
                sheet.add(cells, Copied(sheet=sheet, row=first.number, headings=like))
            else:
                for heading, value in cells.items():
                    sheet.put(first.number, heading, value)
    files = edit.contents()
    if "" in files:
        return {source.name: files[""]}
    return {name: data for name, data in files.items() if name[-4:].lower() == ".csv" and name not in NAMES}


def check_copies(source: Path, out: Path, made: Mapping[str, bytes]) -> None:
    """Raise if a copy would take the place of the input, or of a copy that was worked in since it was written.

    Raises ArgumentError with what stands there and what to do.
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
