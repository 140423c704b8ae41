"""The Shop sheet: settings by name, in any order; what is not named keeps its default."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from yieldplan.measure import INCH, MM, Rounding, Unit, write
from yieldplan.model import Shop
from yieldplan.model.words import fold
from yieldplan.workbook import cells
from yieldplan.workbook.near import did_you_mean
from yieldplan.workbook.table import SHOP, Row, Table, table

if TYPE_CHECKING:
    from yieldplan.workbook.grid import Faults, Grid


class Setting(NamedTuple):
    """A length on the Shop sheet: which way it is rounded, and what it means."""

    rounding: Rounding
    note: str


_LOSS, _ROOM, _LEAST = Rounding.LOSS, Rounding.STOCK, Rounding.WANTED

LENGTHS: dict[str, Setting] = {
    "rip kerf": Setting(_LOSS, "what the table saw takes in a rip or resaw"),
    "bandsaw kerf": Setting(_LOSS, "what the bandsaw takes"),
    "crosscut kerf": Setting(_LOSS, "what the crosscut saw takes"),
    "saw depth": Setting(_ROOM, "the thickest piece that the table saw cuts through"),
    "bandsaw height": Setting(_ROOM, "the thickest piece that the bandsaw cuts through"),
    "face skim": Setting(_LOSS, "taken off a face to clean it once it is flat"),
    "edge skim": Setting(_LOSS, "taken off an edge to clean it once it is straight"),
    "width allowance": Setting(_LOSS, "sawn over the finished width, planed off"),
    "thickness allowance": Setting(_LOSS, "sawn over the finished thickness, planed off"),
    "length allowance": Setting(_LOSS, "cut over the finished length, trimmed at fitting"),
    "shortest machined length": Setting(_LEAST, "the shortest piece that goes over the machines safely"),
    "jointer width": Setting(_ROOM, "the widest face that the jointer takes"),
    "planer width": Setting(_ROOM, "the widest stick that the planer takes"),
    "thinnest planed": Setting(_LEAST, "the thinnest that the planer leaves"),
    "narrowest rip": Setting(_LEAST, "the narrowest piece that is ripped safely"),
    "split warp": Setting(_LEAST, "cup and half the twist from which a billet may be split before jointing"),
    "end trim": Setting(_LOSS, "lost at each end of an offcut to checks and dirt"),
    "snipe": Setting(_LOSS, "spoilt by the planer at each end of a stick"),
    "keeper length": Setting(_LEAST, "a leftover goes back on the rack from this length up"),
    "keeper width": Setting(_LEAST, "... and from this width up"),
    "keeper thickness": Setting(_LEAST, "... and from this thickness up"),
    "full length": Setting(_LEAST, "from this length up a board counts as a long one"),
}
"""The settings that are lengths; their names are the attributes of :class:`Shop` with spaces."""

PREMIUM, UNITS, SHOWN_TO, TARGET = "length premium", "units", "shown to", "target moisture"
FLAT, QUARTER = "flat sawn to", "quarter sawn from"
SETTINGS = (*LENGTHS, PREMIUM, UNITS, SHOWN_TO, TARGET, FLAT, QUARTER)
"""Every setting that is read."""

_UNIT_WORDS: dict[str, Literal["inch", "mm"]] = {
    **dict.fromkeys(("inch", "inches", "in", '"'), "inch"),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
}
_WIDEST_KERF = INCH // 2


def read_shop(grid: Grid | None, faults: Faults) -> Shop:
    """Return the shop's settings; ``units`` is read before all others, for bare numbers mean it."""
    if grid is None or not grid.rows:
        return Shop()
    rows = _by_name(table(grid, SHOP, faults))
    units = _units(rows.pop(UNITS)) if UNITS in rows else "inch"
    values: dict[str, Any] = {"units": units}
    for name, row in rows.items():
        row.unit = units
        if row.cell("Value").empty:
            continue
        if name == PREMIUM:
            values["length_premium"] = cells.number(row, "Value", 100)
        elif name == SHOWN_TO:
            values["shown_to"] = _shown_to(row, units)
        elif name == TARGET:
            values["target_moisture"] = cells.number(row, "Value", 30, percent=True)
        elif name in (FLAT, QUARTER):
            values[name.replace(" ", "_")] = cells.angle(row, "Value")
        else:
            values[name.replace(" ", "_")] = _length(row, name)
        if not row.good("Value"):
            values.pop(name.replace(" ", "_"), None)
    _check_ring_words(values, rows)
    return Shop(**values)


def _check_ring_words(values: dict[str, Any], rows: dict[str, Row]) -> None:
    """Report bounds of the ring words that are out of order, and leave them at their defaults."""
    usual = Shop()
    flat = values.get("flat_sawn_to", usual.flat_sawn_to)
    quarter = values.get("quarter_sawn_from", usual.quarter_sawn_from)
    if flat > quarter:
        name = FLAT if "flat_sawn_to" in values else QUARTER
        expected = f"at most {quarter}, {QUARTER}" if name == FLAT else f"at least {flat}, {FLAT}"
        rows[name].fault("Value", "leaves no room for rift", expected)
        values.pop("flat_sawn_to", None)
        values.pop("quarter_sawn_from", None)


def _by_name(sheet: Table) -> dict[str, Row]:
    known = {fold(name): name for name in SETTINGS}
    rows: dict[str, Row] = {}
    for row in sheet.rows():
        typed = cells.name(row, "Setting")
        if not row.good("Setting"):
            continue
        name = known.get(fold(typed))
        if name is None:
            row.fault(
                "Setting", "is not a setting", "a name from the Shop sheet", did_you_mean(typed, SETTINGS)
            )
        elif name in rows:
            row.fault("Setting", f"is set already ({rows[name].place('Setting')})", "each setting once")
        else:
            rows[name] = row
    return rows


def _units(row: Row) -> Unit:
    cell = row.cell("Value")
    if cell.empty or row.unread("Value"):
        return "inch"
    unit = _UNIT_WORDS.get(fold(cell.text))
    if unit is None:
        row.fault("Value", "is not a unit", "inch or mm", did_you_mean(cell.text, ("inch", "mm"), 0.5))
    return unit or "inch"


def _length(row: Row, name: str) -> int:
    steps = cells.length(row, "Value", LENGTHS[name].rounding, above_nothing=name == "full length")
    if name.endswith("kerf") and steps > _WIDEST_KERF:
        row.warn("Value", f"is wide for a {name}", "check the unit")
    return steps


def _shown_to(row: Row, units: Unit) -> int:
    """Return what shown figures are rounded to: whole 64ths of an inch, or whole tenths of a millimetre."""
    steps = cells.length(row, "Value", Rounding.LOSS, above_nothing=True)
    grain, words = (
        (INCH // 64, "64ths of an inch") if units == "inch" else (MM // 10, "tenths of a millimetre")
    )
    if row.good("Value") and steps % grain:
        row.fault("Value", "cannot be shown", f"whole {words}")
    return steps


def default_text(name: str) -> str:
    """Return a setting's default as it is typed, with its unit; nothing where the default is to leave it."""
    if name in (SHOWN_TO, TARGET):
        return ""
    value = getattr(Shop(), name.replace(" ", "_"))
    return write(value, "inch") if name in LENGTHS else str(Fraction(value) if name == PREMIUM else value)
