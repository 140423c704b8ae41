"""The Shop sheet: settings by name, in any order; what is not named keeps its default."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from yieldplan.measure import INCH, MM, Rounding, Unit, write
from yieldplan.model import Shop, metric_shop
from yieldplan.model.words import fold
from yieldplan.workbook import cells
from yieldplan.workbook.grid import Marks
from yieldplan.workbook.layouts import GONE_SETTINGS, SETTINGS, SHOP
from yieldplan.workbook.suggest import did_you_mean, is_bare, measure_meant
from yieldplan.workbook.table import Row, Table, table

if TYPE_CHECKING:
    from yieldplan.workbook.grid import Faults, Grid


UNITS, MARK, FLAT, QUARTER, TARGET = "units", "mark", "flat sawn to", "quarter sawn from", "target moisture"
LENGTHS = tuple(name for name, said in SETTINGS.items() if "rounding" in said)
"""The settings that are lengths; their names are the attributes of :class:`Shop` with spaces."""

MINUTES = tuple(name for name, said in SETTINGS.items() if "minutes" in said)
"""The settings that are minutes."""

MOST_MINUTES = 600
_UNIT_WORDS: dict[str, Literal["inch", "mm"]] = {
    **dict.fromkeys(("inch", "inches", "in", '"'), "inch"),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
}
_COARSEST = 2 * INCH


class Settings(NamedTuple):
    """The Shop sheet: the shop, how lengths are read, and whether a setting is hardly the one that was meant."""

    shop: Shop
    marks: Marks
    doubted: bool


def read_shop(grid: Grid | None, faults: Faults, units: Unit | None = None) -> Settings:
    """Return the shop's settings; ``units`` is what a bare number means whatever the sheet says.

    ``units`` is read before all others, for bare numbers mean it; then ``mark``, for all lengths are whole marks.
    """
    rows = _by_name(table(grid, SHOP, faults, Marks())) if grid and grid.rows else {}
    typed = _units(rows.pop(UNITS)) if UNITS in rows else "inch"
    units = units or typed
    usual = usual_shop(units)
    marks = Marks(unit=units, mark=usual.mark)
    if MARK in rows:
        marks = Marks(unit=units, mark=_mark(rows.pop(MARK), marks))
    values: dict[str, Any] = {"units": units, "mark": marks.mark}
    for name in LENGTHS:  # a default may lie between two coarser marks
        default = Fraction(getattr(usual, _attribute(name)))
        values[_attribute(name)] = _rounding(name).steps(default, marks.mark)
    for name, row in rows.items():
        row.marks = marks
        if not row.cell("Value").empty:
            found = _value(row, name)
            if row.good("Value"):
                values[_attribute(name)] = found
    _check_ring_words(values, rows)
    return Settings(Shop(**values), marks, doubted=any(row.doubted for row in rows.values()))


def usual_shop(units: Unit) -> Shop:
    """Return the defaults of an inch or a metric workbook."""
    return Shop() if units == "inch" else metric_shop()


def _rounding(name: str) -> Rounding:
    return Rounding[SETTINGS[name]["rounding"]]


def _attribute(name: str) -> str:
    return name.replace(" ", "_")


def _value(row: Row, name: str) -> object:
    said = SETTINGS[name]
    if "minutes" in said:
        return _minutes(row, name)
    if name in (FLAT, QUARTER):
        return cells.angle(row, "Value")
    if "rounding" in said:
        steps = cells.length(row, "Value", _rounding(name), above_nothing=name == "full length")
        _doubt(row, name, row.typed("Value"))
        return steps
    found = cells.number(row, "Value", 30 if name == TARGET else 100, percent=name == TARGET)
    _doubt(row, name, found)
    return found


def _doubt(row: Row, name: str, found: Fraction | None) -> None:
    """Warn of a setting that no shop at large has, with the likely slip: another unit, a share for per cent."""
    usual = SETTINGS[name].get("usual")
    if usual is None or found is None:
        return
    low, high = (Fraction(bound) for bound in usual.split(" to "))
    if name == TARGET:
        span, step = f"usually {low} to {high} %", "check it"
        if low <= 100 * found <= high:
            step = f"did you mean {float(100 * found):g} %?"
    else:
        low, high, text = low * INCH, high * INCH, row.cell("Value").text
        grain = 1 if row.unit == "inch" else MM // 2  # a bound is shown to half a millimetre
        least, most = (write(round(bound / grain) * grain, row.unit) for bound in (low, high))
        span = f"usually {least} to {most}" if low else f"usually at most {most}"
        step = measure_meant(text, row.unit, lambda meant: bool(low <= meant <= high and meant))
        step = step or f"check the {'unit' if is_bare(text) else 'figure'}"
    if not low <= found <= high:
        small, large = ("low", "high") if name == TARGET else ("small", "large")
        row.doubt("Value", f"is unusually {large if found > high else small} for {name} ({span})", step)


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
        if name in rows:
            row.fault("Setting", f"is set already ({rows[name].place('Setting')})", "each setting once")
        elif name is not None:
            rows[name] = row
        elif told := GONE_SETTINGS.get(fold(typed)):
            row.fault("Setting", "is no longer a setting", suggestion=told)
        else:
            likely = did_you_mean(typed, SETTINGS)
            row.fault("Setting", "is not a setting", "a name from the Shop sheet", likely)
    return rows


def _units(row: Row) -> Unit:
    cell = row.cell("Value")
    if cell.empty or row.unread("Value"):
        return "inch"
    unit = _UNIT_WORDS.get(fold(cell.text))
    if unit is None:
        row.fault("Value", "is not a unit", "inch or mm", did_you_mean(cell.text, ("inch", "mm"), 0.5))
    return unit or "inch"


def _mark(row: Row, usual: Marks) -> int:
    """Return the mark: whole 64ths of an inch, or whole tenths of a millimetre, as a rule has them."""
    row.marks = usual
    if row.cell("Value").empty:
        return usual.mark
    found = cells.exact_length(row, "Value")
    grain, words = (
        (INCH // 64, "64ths of an inch") if usual.unit == "inch" else (MM // 10, "tenths of a millimetre")
    )
    expected = f"whole {words}, at most {write(_COARSEST if usual.unit == 'inch' else 50 * MM, usual.unit)}"
    if row.good("Value") and (found % grain or not 0 < found <= _COARSEST):
        row.fault("Value", "is not a mark found on a rule", expected)
    return int(found) if row.good("Value") else usual.mark


def _minutes(row: Row, name: str) -> int | None:
    """Return minutes in hundredths."""
    found = cells.number(row, "Value", MOST_MINUTES)
    if found is None:
        return None
    if name == "minutes for a board foot" and not found:
        expected = f"a number above 0, at most {MOST_MINUTES}"
        row.fault("Value", "is no time at all", expected, "plan with --wood to let work count for nothing")
    elif (100 * found).denominator > 1:
        row.fault("Value", "has more than two decimals", "minutes to the hundredth")
    elif found > 60:
        row.warn("Value", f"is more than an hour for {name}", "minutes are meant; is it in seconds?")
    return int(100 * found)


def default_text(name: str, units: Unit) -> str:
    """Return a setting's default as it is typed, with its unit; nothing where the default is to leave it."""
    value = getattr(usual_shop(units), _attribute(name))
    if value is None:
        return ""
    if name in MINUTES:
        return f"{value / 100:g}"
    return write(value, units) if name in LENGTHS or name == MARK else str(value)
