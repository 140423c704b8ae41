"""The Offcuts sheet."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from yieldplan.measure import Rounding, write
from yieldplan.model import Offcut
from yieldplan.model.words import fold
from yieldplan.workbook import cells
from yieldplan.workbook.wood import kinks, moisture, ring_reading, slope

if TYPE_CHECKING:
    from yieldplan.model import Shop
    from yieldplan.workbook.table import Row, Table

MOST_QTY = 500
MOST_PIECES = 20_000
MOST_DEFECTS = 60
_WARPS = ("bow", "crook", "cup", "twist")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pile:
    """The Offcuts sheet: rows by folded name, in their order, and what they measure; None where a row is at fault.

    ``complete`` says whether every row had a name that could be read; a name that is not here may be on a row
    that had not. ``rows`` are all of them, named or not.
    """

    named: dict[str, tuple[Row, Offcut | None]] = field(default_factory=dict)
    complete: bool = False
    rows: tuple[Row, ...] = ()

    @property
    def sound(self) -> list[tuple[Row, Offcut]]:
        """The offcuts that are without fault, each with its row."""
        return [(row, offcut) for row, offcut in self.named.values() if offcut is not None]


def read_offcuts(sheet: Table, shop: Shop) -> Pile:
    """Return the offcuts of the sheet; what is wrong with them has been reported.

    ``shop`` says what the words for ring angles mean.
    """
    found: dict[str, tuple[Row, Offcut | None]] = {}
    complete = "Offcut" in sheet.columns
    rows = tuple(sheet.rows())
    for row in rows:
        name = cells.name(row, "Offcut")
        offcut = read_offcut(row, name, shop)
        if not row.good("Offcut"):
            complete = False
        elif first := found.get(fold(name)):
            told = f"is the name of another offcut ({first[0].place('Offcut')})"
            row.fault("Offcut", told, "a name of its own", "put like pieces in one row, with Qty")
        else:
            found[fold(name)] = (row, offcut)
    return Pile(named=found, complete=complete and bool(found), rows=rows)


def read_offcut(row: Row, name: str, shop: Shop) -> Offcut | None:
    """Return the piece that a row measures, or None where the row is at fault; columns it has not are as left empty."""
    length, width, thickness = (
        cells.length(row, heading, Rounding.STOCK, above_nothing=True)
        for heading in ("Length", "Width", "Thickness")
    )
    others: dict[str, Any] = {
        "qty": cells.whole(row, "Qty", 1, MOST_QTY, default=1),
        "species": cells.word(row, "Species"),
        **{warp: cells.length(row, warp.capitalize(), Rounding.LOSS, default=0) for warp in _WARPS},
        "ring_angle": ring_reading(row, "Ring angle", shop),
        "ring_angle_far": ring_reading(row, "Ring angle far", shop),
    }
    if others["ring_angle_far"] is not None and row.cell("Ring angle").empty:
        row.fault("Ring angle far", "is given without a ring angle", "the reading at edge 1 under Ring angle")
    others |= {
        "grain_slope": slope(row, "Grain slope"),
        "kinks": kinks(row, length),
        "moisture": moisture(row),
        "rack": cells.text(row, "Rack"),
        "origin": cells.text(row, "From"),
        "note": cells.text(row, "Note"),
        "other": row.others,
    }
    width, thickness = turned(row, width, thickness)
    if row.failed:
        return None
    return Offcut(name=name, length=length, width=width, thickness=thickness, **others)


def turned(row: Row, width: int, thickness: int) -> tuple[int, int]:
    """Return width and thickness with the larger first, and say so where they are exchanged."""
    if width >= thickness or not row.good("Width", "Thickness"):
        return width, thickness
    wide, thin = (write(steps, row.unit) for steps in (thickness, width))
    row.warn("Width", f"is smaller than the thickness; the row is turned: width {wide}, thickness {thin}")
    return thickness, width
