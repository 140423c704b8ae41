"""The Offcuts sheet and, once it is known what is in the pile, the Defects sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.measure import Rounding, write
from yieldplan.model import Defect, Offcut
from yieldplan.model.words import fold
from yieldplan.workbook import cells
from yieldplan.workbook.near import Names, did_you_mean, usual_kind
from yieldplan.workbook.wood import kinks, ring_reading, slope

if TYPE_CHECKING:
    from yieldplan.model import Shop
    from yieldplan.workbook.table import Row, Table

MOST_QTY = 500
MOST_PIECES = 20_000
MOST_DEFECTS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A row that carries a name; ``item`` is None where the row is at fault."""

    name: str
    row: Row
    item: Offcut | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pile:
    """The Offcuts sheet: rows by folded name, in their order, those at fault among them.

    ``complete`` says whether every row had a name that could be read; a name that is not here may be on a row
    that had not.
    """

    named: dict[str, Named]
    complete: bool

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
    for row in sheet.rows():
        name = cells.name(row, "Offcut")
        offcut = _offcut(row, name, shop)
        if not row.good("Offcut"):
            complete = False
            continue
        first = found.get(fold(name))
        if first is None:
            found[fold(name)] = Named(name=name, row=row, item=offcut)
        else:
            row.fault(
                "Offcut",
                f"is the name of another offcut ({first.row.place('Offcut')})",
                "a name of its own",
                "like pieces go in one row, with Qty",
            )
    return Pile(named=found, complete=complete and bool(found))


def _offcut(row: Row, name: str, shop: Shop) -> Offcut | None:
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
    rack, note = cells.text(row, "Rack"), cells.text(row, "Note")
    if row.failed:
        return None
    width, thickness = turned(row, width, thickness)
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
        note=note,
        other=row.others,
    )


def turned(row: Row, width: int, thickness: int) -> tuple[int, int]:
    """Return width and thickness with the larger first, and say so where they are exchanged."""
    if width >= thickness:
        return width, thickness
    wide, thin = (write(steps, row.unit) for steps in (thickness, width))
    row.warn("Width", f"is smaller than the thickness; the row is turned: width {wide}, thickness {thin}")
    return thickness, width


def read_defects(sheet: Table, pile: Pile | None) -> dict[str, tuple[Defect, ...]]:
    """Return the defects by the folded name of their offcut.

    ``pile`` is None where there is no Offcuts sheet to look the names up in.
    """
    found: dict[str, list[Defect]] = {}
    names = Names(named.name for named in pile.named.values()) if pile else Names(())
    for row in sheet.rows():
        named = _named(row, pile, names)
        defect = _defect(row, named.item if named else None)
        if named is None:
            continue
        marked = found.setdefault(fold(named.name), [])
        if len(marked) == MOST_DEFECTS:
            row.fault("Offcut", f"has more than {MOST_DEFECTS} defects", f"at most {MOST_DEFECTS} an offcut")
        elif defect is not None:
            marked.append(defect)
    return {name: tuple(marked) for name, marked in found.items()}


def with_defects(offcut: Offcut, defects: dict[str, tuple[Defect, ...]]) -> Offcut:
    """Return the offcut with the defects that were marked on it."""
    marked = defects.get(fold(offcut.name))
    return replace(offcut, defects=marked) if marked else offcut


def _named(row: Row, pile: Pile | None, names: Names) -> Named | None:
    name = cells.name(row, "Offcut")
    if pile is None or not row.good("Offcut"):
        return None
    named = pile.named.get(fold(name))
    if named is None and pile.complete:
        row.fault("Offcut", "is not in the pile", "the name of an offcut", names.did_you_mean(name))
    return named


def _defect(row: Row, offcut: Offcut | None) -> Defect | None:
    """Return the defect of a row, or None where the row or its offcut is at fault."""
    kind = cells.word(row, "Kind", required=True)
    x1, x2 = _along(row, "From", "To", None)
    y1, y2 = _along(row, "Edge from", "Edge to", offcut.width if offcut else None)
    through, face, depth = _face(row)
    if offcut is None:
        return None
    x2 = _inside(row, "To", x2, offcut.length, "length")
    y2 = _inside(row, "Edge to", y2, offcut.width, "width")
    depth = _inside(row, "Depth", depth, offcut.thickness, "thickness")
    if row.good("From", "To") and x1 >= offcut.length:
        row.fault("From", "lies beyond the offcut", f"less than its length, {write(offcut.length, row.unit)}")
    if row.good("Edge from", "Edge to") and y1 >= offcut.width:
        row.fault(
            "Edge from", "lies beyond the offcut", f"less than its width, {write(offcut.width, row.unit)}"
        )
    note = cells.text(row, "Note")
    if row.failed:
        return None
    _doubt_kind(row, kind)
    through = through or depth >= offcut.thickness
    z1, z2 = (0, depth) if face == 1 else (offcut.thickness - depth, offcut.thickness)
    return Defect(
        kind=kind,
        x1=x1,
        x2=x2,
        y1=y1,
        y2=y2,
        z1=0 if through else z1,
        z2=offcut.thickness if through else z2,
        through=through,
        note=note,
    )


def _along(row: Row, start: str, end: str, whole: int | None) -> tuple[int, int]:
    """Return where a defect starts and ends on one axis; what is left out is the edge of the piece.

    ``whole`` is the size of the piece across, or None where it is not known or both ends must be given.
    """
    optional = start == "Edge from"
    first = cells.length(row, start, Rounding.DEFECT_FROM, default=0 if optional else None)
    if optional and row.cell(end).empty:
        return first, first + 2 if whole is None else whole
    last = cells.length(row, end, Rounding.DEFECT_TO)
    # Rounding moves the two at most a step apart: a defect as short as that was typed with no length.
    if row.good(start, end) and last - first <= 1:
        backwards = last < first
        row.fault(
            end,
            f"is not beyond {start} ({row.cell(start).text or 0})",
            f"more than {start}",
            "exchange the two" if backwards else "give the defect the length that it spoils",
        )
    return first, last


def _inside(row: Row, heading: str, steps: int, whole: int, what: str) -> int:
    """Return a far end of a defect, cut to the piece where only the rounding carried it over."""
    if steps > whole + 1 and row.good(heading):
        row.fault(heading, "lies beyond the offcut", f"at most its {what}, {write(whole, row.unit)}")
    return min(steps, whole)


def _face(row: Row) -> tuple[bool, int, int]:
    """Return whether a defect goes through, else from which face and how deep."""
    shown = "" if row.unread("Face") else fold(row.cell("Face").text)
    through = shown in ("", "through")
    if through:
        if not row.cell("Depth").empty and not row.unread("Depth"):
            row.fault(
                "Depth", "is given for a defect that goes through", "no depth", "or put 1 or 2 under Face"
            )
        return True, 0, 0
    if shown not in ("1", "2"):
        row.fault("Face", "is not a face", "through, 1 or 2", did_you_mean(shown, ("through", "1", "2")))
        return True, 0, 0
    if row.cell("Depth").empty and "Depth" not in row.table.columns:
        row.fault("Face", "needs a depth", "a column Depth")
        return False, int(shown), 0
    depth = cells.length(row, "Depth", Rounding.DEFECT_TO, above_nothing=True)
    return False, int(shown), depth


def _doubt_kind(row: Row, kind: str) -> None:
    if likely := usual_kind(kind):
        row.warn("Kind", "is read as a kind of its own", f"did you mean {likely}?")
