"""The Offcuts sheet."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import Rounding, write
from yieldplan.model import Offcut
from yieldplan.model.words import fold
from yieldplan.workbook import cells
from yieldplan.workbook.wood import kinks, ring_reading, slope

if TYPE_CHECKING:
    from yieldplan.model import Shop
    from yieldplan.workbook.table import Row, Table

Sizes = tuple[Fraction | None, Fraction | None, Fraction | None]
"""Length, width and thickness of an offcut as typed, in steps; None where not known."""

MOST_QTY = 500
MOST_PIECES = 20_000
MOST_DEFECTS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A row that carries a name.

    Attributes
    ----------
    item
        None where the row is at fault.
    sizes
        What defects are held against.
    """

    name: str
    row: Row
    item: Offcut | None
    sizes: Sizes


@dataclass(frozen=True, slots=True, kw_only=True)
class Pile:
    """The Offcuts sheet: rows by folded name, in their order, those at fault among them.

    ``complete`` says whether every row had a name that could be read; a name that is not here may be on a row
    that had not. ``rows`` are all of them, named or not.
    """

    named: dict[str, Named] = field(default_factory=dict)
    complete: bool = False
    rows: tuple[Row, ...] = ()

    @property
    def sound(self) -> list[tuple[Row, Offcut]]:
        """The offcuts that are without fault, each with its row."""
        return [(named.row, named.item) for named in self.named.values() if named.item is not None]


def read_offcuts(sheet: Table, shop: Shop) -> Pile:
    """Return the offcuts of the sheet; what is wrong with them has been reported.

    ``shop`` says what the words for ring angles mean.
    """
    found: dict[str, Named] = {}
    complete = "Offcut" in sheet.columns
    rows = tuple(sheet.rows())
    for row in rows:
        name = cells.name(row, "Offcut")
        offcut = read_offcut(row, name, shop)
        if not row.good("Offcut"):
            complete = False
            continue
        first = found.get(fold(name))
        if first is None:
            found[fold(name)] = Named(name=name, row=row, item=offcut, sizes=_typed_sizes(row))
        else:
            row.fault(
                "Offcut",
                f"is the name of another offcut ({first.row.place('Offcut')})",
                "a name of its own",
                "like pieces go in one row, with Qty",
            )
    return Pile(named=found, complete=complete and bool(found), rows=rows)


def read_offcut(row: Row, name: str, shop: Shop) -> Offcut | None:
    """Return the piece that a row measures, or None where the row is at fault; columns it has not are as left empty."""
    stock, loss = Rounding.STOCK, Rounding.LOSS
    length = cells.length(row, "Length", stock, above_nothing=True)
    width = cells.length(row, "Width", stock, above_nothing=True)
    thickness = cells.length(row, "Thickness", stock, above_nothing=True)
    qty = cells.whole(row, "Qty", 1, MOST_QTY, default=1)
    species = cells.word(row, "Species")
    bow, crook, cup, twist = (
        cells.length(row, heading, loss, default=0) for heading in ("Bow", "Crook", "Cup", "Twist")
    )
    ring_angle, ring_angle_far = (
        ring_reading(row, heading, shop) for heading in ("Ring angle", "Ring angle far")
    )
    if ring_angle_far is not None and row.cell("Ring angle").empty:
        row.fault("Ring angle far", "is given without a ring angle", "the reading at edge 1 under Ring angle")
    grain_slope, bends = slope(row, "Grain slope"), kinks(row, length)
    moisture = cells.number(row, "Moisture", 300, percent=True)
    rack, origin, note = (cells.text(row, heading) for heading in ("Rack", "From", "Note"))
    width, thickness = turned(row, width, thickness)
    if row.failed:
        return None
    return Offcut(
        name=name,
        length=length,
        width=width,
        thickness=thickness,
        qty=qty,
        species=species,
        bow=bow,
        crook=crook,
        cup=cup,
        twist=twist,
        ring_angle=ring_angle,
        ring_angle_far=ring_angle_far,
        moisture=moisture,
        grain_slope=grain_slope,
        kinks=bends,
        rack=rack,
        origin=origin,
        note=note,
        other=row.others,
    )


def _typed_sizes(row: Row) -> Sizes:
    """Return what is known of a row's sizes; width and thickness exchanged as :func:`turned` does it."""
    length, width, thickness = (row.typed(heading) for heading in ("Length", "Width", "Thickness"))
    if width is not None and thickness is not None and width < thickness:
        width, thickness = thickness, width
    return length, width, thickness


def turned(row: Row, width: int, thickness: int) -> tuple[int, int]:
    """Return width and thickness with the larger first, and say so where they are exchanged."""
    if width >= thickness or not row.good("Width", "Thickness"):
        return width, thickness
    wide, thin = (write(steps, row.unit) for steps in (thickness, width))
    row.warn("Width", f"is smaller than the thickness; the row is turned: width {wide}, thickness {thin}")
    return thickness, width
