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


def ring_word(row: Row, heading: str, shop: Shop) -> Angles | None:
    """Return between which angles a word such as ``quarter sawn`` lies in this shop; None where none is typed.

    A word that is no ring word is a fault.
    """
    cell = row.cell(heading)
    if cell.empty or row.unread(heading) or not isinstance(cell.value, str) or artifact(cell):
        return None
    letters = re.sub(r"[\s\-]", "", cell.text).casefold()
    if not letters.isalpha():
        return None
    word = _SPELLINGS.get(letters)
    if word is None:
        row.fault(heading, "is not a ring angle", _ANGLE, did_you_mean(cell.text, shop.ring_words))
        return None
    return shop.ring_words[word]


def ring_reading(row: Row, heading: str, shop: Shop) -> int | Angles | None:
    """Return a ring angle in whole degrees, or between which two it lies where a word is typed; None where empty."""
    return ring_word(row, heading, shop) or (cells.angle(row, heading) if row.good(heading) else None)


def ring_range(row: Row, shop: Shop) -> tuple[int | None, int | None]:
    """Return Ring from and Ring to; a word means its whole range, alone in either cell as well."""
    words = {heading: ring_word(row, heading, shop) for heading in ("Ring from", "Ring to")}
    low, high = (
        None if word or not row.good(heading) else cells.angle(row, heading)
        for heading, word in words.items()
    )
    first, last = words["Ring from"], words["Ring to"]
    if first:
        low = first[0]
        high = first[1] if row.cell("Ring to").empty else high
    if last:
        high = last[1]
        low = last[0] if row.cell("Ring from").empty else low
    if low is not None and high is not None and low > high:
        row.fault("Ring to", "is less than Ring from", f"from {low} to 90", "swap the two")
    return low, high


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
    """Return where an offcut is kinked (steps from end A): one place, or several parted by semicolons."""
    heading, expected = "Kink at", "a place such as 18 1/2, several parted by semicolons"
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
        row.fault(
            heading,
            "does not lie on the offcut",
            f"a place above 0 and below its length, {write(length, row.unit)}",
            cells.slip(row, heading, max(places), length),
        )
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
            row.fault("Species", "has a row already", "one row a species")
        figures: dict[str, Fraction | None] = {}
        for pair, most in ((_COEFFICIENTS, MOST_COEFFICIENT), (_SHRINKAGES, MOST_SHRINKAGE)):
            figures |= {heading: _figure(row, heading, most) for heading in pair}
            empty = [heading for heading in pair if figures[heading] is None]
            if len(empty) == 1 and row.good(*pair):
                row.fault(empty[0], "is empty, though the other of the pair is given", "both, or neither")
        if not row.failed and all(figure is None for figure in figures.values()):
            row.fault("Species", "has no figures", "both coefficients, or both shrinkages")
        if not row.failed:
            found[species_key(name)] = _species(name, *figures.values())
    return tuple(found.values())


def _figure(row: Row, heading: str, most: Fraction) -> Fraction | None:
    """Return a coefficient, or a shrinkage in per cent."""
    found = cells.number(row, heading, 100, percent=most == MOST_SHRINKAGE)
    if found is not None and found > most:
        likely = "write it as a share: 0.00365" if most == MOST_COEFFICIENT else ""
        row.fault(heading, "is more than any wood moves", f"a number from 0 to {float(most):g}", likely)
        return None
    return found


def _species(name: str, *figures: Fraction | None) -> Species:
    """Return a species by its coefficients and its shrinkages, radial ones first; a pair that is None by the other."""
    radial, tangential, one, other = figures
    if radial is None or tangential is None:
        radial, tangential = coefficient(one or Fraction(0)), coefficient(other or Fraction(0))
    if one is None or other is None:
        one, other = shrinkage_of(radial), shrinkage_of(tangential)
    return Species(
        name=name, radial=radial, tangential=tangential, radial_shrinkage=one, tangential_shrinkage=other
    )
