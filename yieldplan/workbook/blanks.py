"""The Blanks sheet: what is wanted."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from yieldplan.measure import Rounding, write
from yieldplan.model import Blank
from yieldplan.workbook import cells
from yieldplan.workbook.offcuts import turned
from yieldplan.workbook.wood import ring_range, slope

if TYPE_CHECKING:
    from yieldplan.model import Shop
    from yieldplan.workbook.table import Row, Table

MOST_WANTED = 10_000
MOST_IN_ALL = 20_000
LAST_PRIORITY = 99


def read_blanks(sheet: Table, shop: Shop) -> list[tuple[Row, Blank | None]]:
    """Return all rows of the sheet, each with its blank; None where the row is at fault, which has been reported.

    ``shop`` says what the words for ring angles mean.
    """
    first: dict[str, Row] = {}
    return [(row, _blank(row, cells.own_name(row, "Blank", "blank", first), shop)) for row in sheet.rows()]


def _blank(row: Row, name: str, shop: Shop) -> Blank | None:
    wanted = Rounding.WANTED
    need = cells.whole(row, "Need", 0, MOST_WANTED)
    others: dict[str, Any] = {
        "spare": _spare(row, need),
        "pairs": cells.yes(row, "Pairs", "yes where they are made in pairs of one species, or nothing"),
    }
    length, width, thickness = (
        cells.length(row, heading, wanted, above_nothing=True) for heading in ("Length", "Width", "Thickness")
    )
    others["ring_from"], others["ring_to"] = ring_range(row, shop)
    others |= {
        "max_slope": slope(row, "Max slope"),
        "clear_end": cells.length(row, "Clear end", wanted, default=0),
        "priority": cells.whole(row, "Priority", 1, LAST_PRIORITY, default=1),
        "species": cells.words(row, "Species"),
        "allows": cells.words(row, "Allows"),
        "note": cells.text(row, "Note"),
        "other": row.others,
    }
    if row.good("Length", "Clear end") and others["clear_end"] > length:
        step = cells.slip(row, "Clear end", Fraction(others["clear_end"]), length)
        most = f"at most its length, {write(length, row.unit)}"
        row.fault("Clear end", "is longer than the blank", most, step)
    width, thickness = turned(row, width, thickness)
    if row.failed:
        return None
    return Blank(name=name, need=need, length=length, width=width, thickness=thickness, **others)


def _spare(row: Row, need: int) -> int:
    """Return how many spares are wanted: a number, or a share of the need up to a whole blank."""
    cell = row.cell("Spare")
    if cell.kind == "percent" or (isinstance(cell.value, str) and "%" in cell.value):
        share = cells.number(row, "Spare", 100, percent=True, expected="a share from 0 to 100 %")
        return 0 if share is None else math.ceil(need * share / 100)
    expected = f"a whole number from 0 to {MOST_WANTED}, or a share such as 10 %"
    return cells.whole(row, "Spare", 0, MOST_WANTED, default=0, expected=expected)
