"""Figures that can be read and are hardly meant: in another unit, out of proportion, far from all others.

Rows at fault elsewhere are looked at as well, so that all that is to be put right is said at once.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import INCH, MM
from yieldplan.workbook import cells
from yieldplan.workbook.suggest import is_bare, looks_like_other_unit, measure_meant

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from yieldplan.model import Problem
    from yieldplan.workbook.table import Row

_SIZES = ("Length", "Width", "Thickness")
_TOO = {"Length": ("short", "long"), "Width": ("narrow", "wide"), "Thickness": ("thin", "thick")}
_SCALE = {"inch": INCH, "mm": MM}

_WARP = {"Bow": ("Length", 40), "Crook": ("Length", 40), "Twist": ("Length", 40), "Cup": ("Width", 10)}
"""Of which size of the piece a warp is seldom more than one part in so many."""

_FAR = 3
"""A size is far from the others where it is so many times the next one, or the next one so many times it."""

_FEWEST = 5
"""Sizes of which one may be called far from the others."""


def doubt_offcuts(rows: Sequence[Row]) -> Problem | None:
    """Warn of measures of offcuts that are hardly meant; return what is said where most are in another unit."""
    told = _doubt_units(rows, "an offcut", "a pile measured")
    for row in rows:
        _doubt_warp(row)
        _doubt_proportion(row)
    for heading in _SIZES:
        _doubt_far(rows, heading)
    return told


def doubt_blanks(rows: Sequence[Row]) -> Problem | None:
    """Warn of sizes of blanks that are hardly meant; return what is said where most are in another unit."""
    told = _doubt_units(rows, "a blank", "a batch written")
    for row in rows:
        _doubt_proportion(row)
    return told


def _usual(row: Row, heading: str, unit: str) -> Callable[[Fraction], bool]:
    """Return whether so many steps are a usual size."""
    low, high = (Fraction(bound) * _SCALE[unit] for bound in row.table.layout.usual[unit][heading])
    return _within(low, high)


def _within(low: Fraction, high: Fraction) -> Callable[[Fraction], bool]:
    return lambda steps: low <= steps <= high


def _doubt_units(rows: Sequence[Row], what: str, whole: str) -> Problem | None:
    """Warn of bare sizes that are sensible in another unit alone; return what is said where that is so of most rows."""
    found = [
        (row, heading, told) for row in rows for heading in _SIZES if (told := _unit(row, what, heading))
    ]
    wrong = [row for row in rows if any(_is_in_other_unit(row, heading) for heading in _SIZES)]
    if len(wrong) <= 2 or 2 * len(wrong) < len(rows):
        for row, heading, told in found:
            row.doubt(heading, *told)
        return None
    for row, heading, _ in found:
        row.doubted.add(heading)
    inch = wrong[0].unit == "inch"
    here, there, other = ("inches", "millimetres", "mm") if inch else ("millimetres", "inches", "inch")
    return wrong[0].table.grid.problem(
        "",
        f"looks like {whole} in {other if inch else there}: {len(wrong)} of its {len(rows)} rows make sense in {there} "
        f"and not in {here}",
        suggestion=f"set units to {other} on the sheet Shop, or write the unit with each figure",
    )


def _unit(row: Row, what: str, heading: str) -> tuple[str, str] | None:
    """Return what is odd about a bare size in its unit, and how it would be sensible."""
    steps, text, usual = row.typed(heading), row.cell(heading).text, _usual(row, heading, row.unit)
    if steps is None or not is_bare(text) or usual(steps):
        return None
    likely = measure_meant(text, row.unit, usual)
    unit = "inches" if row.unit == "inch" else "millimetres"
    too = _TOO[heading][steps > Fraction(row.table.layout.usual[row.unit][heading][1]) * _SCALE[row.unit]]
    return (f"is read as {unit}, far too {too} for {what}", likely) if likely else None


def _is_in_other_unit(row: Row, heading: str) -> bool:
    """Return whether a size that is none here, or no usual one, is a usual one in the other unit."""
    steps = row.typed(heading)
    if steps is not None and _usual(row, heading, row.unit)(steps):
        return False
    usual = _usual(row, heading, "mm" if row.unit == "inch" else "inch")
    return looks_like_other_unit(row.cell(heading).text, row.unit, usual)


def _doubt_warp(row: Row) -> None:
    length, width, thickness = (row.typed(heading) for heading in _SIZES)
    wide = None if width is None or thickness is None else max(width, thickness)
    for heading, (of, parts) in _WARP.items():
        warp, size = row.typed(heading), length if of == "Length" else wide
        if not warp or not size or warp * parts <= size or of in row.doubted:
            continue
        if length and warp > length:
            row.doubt(heading, "is more than the length", "are the two swapped?")
            row.doubted.add("Length")
            continue
        likely = measure_meant(row.cell(heading).text, row.unit, _within(Fraction(1), size / parts))
        share = f"more than 1 in {parts} of the {of.lower()}, {cells.shown(row, size)}"
        row.doubt(heading, f"is a lot of {heading.lower()}: {share}", likely or "measure it again")


def _doubt_proportion(row: Row) -> None:
    """Warn of a piece wider than long: the length runs along the grain, so two columns may be exchanged."""
    length, width = row.typed("Length"), row.typed("Width")
    if length and width and width > length and row.doubted.isdisjoint((*_SIZES, *_WARP)):
        row.doubt("Width", "is more than the length, which runs along the grain", "are the two swapped?")
        row.doubted.add("Length")


def _doubt_far(rows: Sequence[Row], heading: str) -> None:
    """Warn of the few sizes of a column that stand far above or far below all others."""
    known = [(steps, row) for row in rows if heading not in row.doubted and (steps := row.typed(heading))]
    if len(known) < _FEWEST:
        return
    known.sort(key=lambda pair: pair[0])
    for how, what, order in (("larger", "largest", known[::-1]), ("smaller", "smallest", known)):
        for count in range(max(1, len(known) // _FEWEST), 0, -1):
            (near, _), *rest = order[count:]
            low, high = sorted((near, rest[-1][0] if rest else near))
            last = order[count - 1][0]
            if max(near, last) < _FAR * min(near, last):
                continue
            for _, row in order[:count]:
                likely = measure_meant(row.cell(heading).text, row.unit, _within(low / 2, 2 * high))
                found = f"is far {how} than all the rest, of which the {what} is {cells.shown(row, near)}"
                row.doubt(heading, found, likely or "check it")
            break
