"""What is typed of the wood itself: ring angles and their words, slope of grain, kinks, and the Species sheet."""

from __future__ import annotations

import datetime
import re
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan import measure
from yieldplan.measure import MeasureError, Rounding, write
from yieldplan.model.species import (
    MOST_COEFFICIENT,
    MOST_SHRINKAGE,
    Species,
    coefficient,
    shrinkage_of,
    species_key,
)
from yieldplan.workbook import cells
from yieldplan.workbook.cell_artifacts import artifact
from yieldplan.workbook.suggest import did_you_mean

if TYPE_CHECKING:
    from yieldplan.model import Shop
    from yieldplan.model.pile import Angles
    from yieldplan.workbook.table import Row, Table

MOST_KINKS = 20
_SPELLINGS = {
    **dict.fromkeys(("flatsawn", "plainsawn", "slabsawn", "flat", "plain"), "flat sawn"),
    **dict.fromkeys(("rift", "riftsawn"), "rift"),
    **dict.fromkeys(("quartersawn", "quarter", "quartered"), "quarter sawn"),
}
_ANGLE = "a whole number from 0 to 90, or flat sawn, rift or quarter sawn"
_SLOPE = "a slope such as 1:12, 1 in 12 or 8 %"
_FIGURE = r"([0-9]{1,6}(?:[.,][0-9]{1,6})?)"
_RATIO = re.compile(rf"{_FIGURE} ?(?::|/|in|to) ?{_FIGURE}", re.ASCII | re.IGNORECASE)
_RUN = re.compile(r"[1-9][0-9]?", re.ASCII)
_STEEPEST = Fraction(1, 4)
_DRIEST, _WETTEST = 4, 60
"""A slope, and per cent of moisture, that nobody looks at twice (common practice, no source)."""

_PERCENT = re.compile(rf"{_FIGURE} ?(?:%|per ?cent)", re.ASCII | re.IGNORECASE)


def ring_reading(row: Row, heading: str, shop: Shop) -> int | Angles | None:
    """Return a ring angle in whole degrees, or between which two a word such as ``quarter sawn`` lies in this shop.

    None where nothing is typed, or the cell is at fault.
    """
    cell = row.cell(heading)
    letters = re.sub(r"[\s\-]", "", cell.text).casefold()
    if row.unread(heading) or not isinstance(cell.value, str) or artifact(cell) or not letters.isalpha():
        found = cells.angle(row, heading)
        return found if row.good(heading) else None
    word = _SPELLINGS.get(letters)
    if word is None:
        row.fault(heading, "is not a ring angle", _ANGLE, did_you_mean(cell.text, shop.ring_words))
        return None
    return shop.ring_words[word]


def ring_range(row: Row, shop: Shop) -> tuple[int | None, int | None]:
    """Return Ring from and Ring to; a word means its whole range, alone in either cell as well."""
    first, last = (ring_reading(row, heading, shop) for heading in ("Ring from", "Ring to"))
    if isinstance(first, tuple):
        last = first if row.cell("Ring to").empty else last
        first = first[0]
    if isinstance(last, tuple):
        first = last[0] if row.cell("Ring from").empty else first
        last = last[1]
    if first is not None and last is not None and first > last:
        row.fault("Ring to", "is less than Ring from", f"from {first} to 90", "swap the two")
    return first, last


def slope(row: Row, heading: str) -> Fraction | None:
    """Return a slope of grain as rise over run, exactly; None where the cell is empty or at fault."""
    cell = row.cell(heading)
    if cell.empty or row.unread(heading):
        return None
    if isinstance(cell.value, datetime.time) and cell.value.hour and cell.value.minute:
        likely = f"is a time, probably {cell.value.hour}:{cell.value.minute}, not a slope"
        row.fault(heading, likely, _SLOPE, "format the cell as text and type it again")
        return None
    odd = artifact(cell)
    if odd and cell.kind != "percent" and not (isinstance(cell.value, str) and "is a time" in odd.found):
        row.fault(heading, f"{odd.found}, not a slope", _SLOPE, odd.suggestion)
        return None
    found = _slope_of(cell.text)
    if found is None:
        step = f"did you mean 1 in {cell.text}?" if _RUN.fullmatch(cell.text) else ""
        row.fault(heading, "is not a slope", _SLOPE, step)
    elif found > 1:
        step = f"did you mean 1 in {found}?" if found.denominator == 1 else "the rise stands first: 1 in 12"
        row.fault(heading, "is steeper than 1 in 1", _SLOPE, step)
    elif found > _STEEPEST:
        run = 10 / found  # a full stop too many: 1:1.2
        likely = f"did you mean 1 in {run}?" if run.denominator == 1 and run <= 30 else "measure it again"
        row.doubt(heading, "is steeper than 1 in 4", likely)
    return found


def _slope_of(text: str) -> Fraction | None:
    """Return what a slope is as text, rise over run; None where it is none."""
    if ratio := _RATIO.fullmatch(text):
        rise, run = (Fraction(part.replace(",", ".")) for part in ratio.groups())
        return rise / run if run else None
    if share := _PERCENT.fullmatch(text):
        return Fraction(share[1].replace(",", ".")) / 100
    return Fraction(0) if text.casefold() in ("straight", "0") else None


def moisture(row: Row) -> Fraction | None:
    """Return the moisture in per cent; None where the cell is empty or at fault."""
    found = cells.number(row, "Moisture", 300, percent=True)
    if found is not None and found > _WETTEST:
        row.doubt("Moisture", "is very wet for wood on a rack", "is it in the right column?")
    elif found is not None and found < _DRIEST:
        share = 100 * found
        likely = f"did you mean {float(share):g} %?" if _DRIEST <= share <= _WETTEST else ""
        row.doubt("Moisture", "is drier than wood in any shop", likely or "leave it empty if not read")
    return found


def kinks(row: Row, length: int) -> tuple[int, ...]:
    """Return where an offcut is kinked (steps from end A): one place, or several separated by semicolons."""
    heading, expected = "Kink at", "a place such as 18 1/2, several separated by semicolons"
    cell = cells.filled(row, heading, cells.A_PLACE, expected)
    if cell is None:
        return ()
    comma = row.table.grid.decimal_comma
    parts = str(cell.value).split(";") if isinstance(cell.value, str) else [cell.value]
    places = []
    for part in parts:
        try:
            exact = measure.exact(part, row.unit, decimal_comma=comma)
        except MeasureError as error:
            row.fault(heading, error.found, expected, error.suggestion)
            return ()
        cells.doubt_comma(row, heading, str(part).strip())
        places.append(exact)
    if len(places) > MOST_KINKS:
        row.fault(heading, f"has {len(places)} places", f"at most {MOST_KINKS}")
    if row.good("Length") and not all(0 < place < length for place in places):
        expected = f"a place above 0 and below its length, {write(length, row.unit)}"
        step = cells.slip(row, heading, max(places), length)
        row.fault(heading, "does not lie on the offcut", expected, step)
    # A bend is seen at a place, not measured to a mark, and wood on either side of it is as bent: the nearest mark.
    marks = {cells.in_marks(row, heading, place, Rounding.PLACE) for place in places}
    return tuple(sorted(mark for mark in marks if 0 < mark < length))


_COEFFICIENTS = ("Radial coefficient", "Tangential coefficient")
_SHRINKAGES = ("Radial shrinkage", "Tangential shrinkage")


def read_species(sheet: Table) -> tuple[Species, ...]:
    """Return the rows of the Species sheet; what is wrong with them has been reported.

    Of coefficients and shrinkages one pair is enough: the other is worked out by the Handbook's formula.
    """
    found: dict[str, Species] = {}
    for row in sheet.rows():
        name = cells.name(row, "Species")
        if row.good("Species") and species_key(name) in found:
            row.fault("Species", "has a row already", "one row for each species")
        coefficients = _pair(row, _COEFFICIENTS, MOST_COEFFICIENT, "write it as a share: 0.00365")
        shrinkages = _pair(row, _SHRINKAGES, MOST_SHRINKAGE, "")
        if not row.failed and not coefficients and not shrinkages:
            row.fault("Species", "has no figures", "both coefficients, or both shrinkages")
        if row.failed:
            continue
        radial, tangential = coefficients or map(coefficient, shrinkages)
        one, other = shrinkages or map(shrinkage_of, coefficients)
        found[species_key(name)] = Species(
            name=name, radial=radial, tangential=tangential, radial_shrinkage=one, tangential_shrinkage=other
        )
    return tuple(found.values())


def _pair(row: Row, headings: tuple[str, str], most: Fraction, step: str) -> tuple[Fraction, ...]:
    """Return the radial and the tangential figure of a pair, as shares or in per cent; nothing where none is given."""
    figures = {}
    for heading in headings:
        found = cells.number(row, heading, 100, percent=headings is _SHRINKAGES)
        if found is not None and found > most:
            row.fault(heading, "is more than any wood moves", f"a number from 0 to {float(most):g}", step)
        elif found is not None:
            figures[heading] = found
    if len(figures) == 1 and row.good(*headings):
        empty = next(heading for heading in headings if heading not in figures)
        row.fault(empty, "is empty, though the other of the pair is given", "both, or neither")
    return tuple(figures.values())
