"""The rows of Blanks that runs give lengths and numbers to.

A run names a row of Blanks. That row says what the blank is besides: width, thickness, wood, rings, faults allowed. Its
Length and Need are written from the stations. Where several lengths are wanted the rows are numbered, the longest
first: Futtock 1, Futtock 2. They are found under those names the next time, so that a second run writes the same rows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from yieldplan.model.words import fold
from yieldplan.workbook.edit import Copied, typed_length
from yieldplan.workbook.suggest import Names

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.measure import Unit
    from yieldplan.workbook.edit import SheetEdit, Value
    from yieldplan.workbook.table import Row, Table


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankKind:
    """A row of Blanks to be: ``pattern`` is the name that runs give it, ``needed`` the frames' own lengths together."""

    pattern: str
    name: str
    length: int
    need: int
    needed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankRows:
    """The sheet Blanks, and of it the rows of each blank that lengths go to, by its folded name without a number.

    The first of them is the one that others are made like.
    """

    sheet: Table | None = None
    patterns: dict[str, list[Row]] = field(default_factory=dict)

    def change(self, sheet: SheetEdit, kinds: Sequence[BlankKind], unit: Unit) -> None:
        """Change the rows of Blanks so that they ask for these kinds; all else is as in the row they are made like.

        A number of spares is kept for the longest alone, which serves as any of them; a share holds for each.
        """
        every = tuple(text for _, text in sheet.heads)
        for key, (first, *others) in self.patterns.items():
            own = [kind for kind in kinds if fold(kind.pattern) == key]
            for heading, value in _values(own[0], unit).items():
                sheet.put(first.number, heading, value)
            spare = first.cell("Spare")
            shared = spare.empty or "%" in spare.text
            like = tuple(text for text in every if shared or fold(text) != fold("Spare"))
            sheet.strike([row.number for row in others])
            for kind in own[1:]:
                sheet.add(_values(kind, unit), Copied(sheet=sheet, row=first.number, headings=like))


def _values(kind: BlankKind, unit: Unit) -> dict[str, Value]:
    return {"Blank": kind.name, "Need": kind.need, "Length": typed_length(kind.length, unit)}


def blank_rows(sheet: Table | None, asked: Sequence[tuple[Row, str]]) -> BlankRows:
    """Return the rows of Blanks that runs name; what is wrong with the names goes to the runs' rows."""
    if sheet and not {"Blank", "Need", "Length"} <= sheet.columns.keys():
        return BlankRows()  # reported
    rows = sheet.rows() if sheet else []
    names = Names(row.cell("Blank").text for row in rows)
    patterns: dict[str, list[Row]] = {}
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
    return BlankRows(sheet=sheet, patterns=patterns)


def _own_rows(rows: Sequence[Row], name: str) -> list[Row]:
    """Return the rows of a blank: the one of its name first, then those that are numbered."""
    plain = [row for row in rows if fold(row.cell("Blank").text) == fold(name)]
    for again in plain[1:]:
        place = plain[0].place("Blank")
        again.fault("Blank", f"is the name of another blank ({place})", "a name of its own")
    matches = ((_numbered(name).fullmatch(fold(row.cell("Blank").text)), row) for row in rows)
    numbered = sorted((int(match[1]), row.number, row) for match, row in matches if match)
    return [*plain[:1], *(row for _, _, row in numbered)]


def _numbered(name: str) -> re.Pattern[str]:
    return re.compile(rf"{re.escape(fold(name))} ([0-9]{{1,3}})", re.ASCII)
