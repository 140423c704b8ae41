"""What a measure was probably meant to be, where what was typed is read as something hardly likely."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import islice
from typing import TYPE_CHECKING

from yieldplan.measure import LONGEST, MeasureError, exact

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from yieldplan.measure import Unit

_BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?", re.ASCII)
_FIGURE = re.compile(r"[0-9][0-9 .,/-]*", re.ASCII)
_BELOW = ("2", "4", "8", "16", "32", "64")
_OTHERS: dict[Unit, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "inch": (("mm",), ("cm", "m")),
    "mm": (("in", "cm"), ("m",)),
}
"""The units that are likeliest where a bare number is in another one, and those that are looked at after them."""


def is_bare(text: str) -> bool:
    """Return whether a measure is a number alone, so that its unit may be another than it is read in."""
    return bool(_BARE.fullmatch(text))


def did_you_mean(text: str, unit: Unit, fits: Callable[[Fraction], bool]) -> str:
    """Return the clause "did you mean ... or ...?" with the two likeliest readings that fit, or nothing.

    ``fits`` says whether so many steps would do.

    Examples
    --------
    >>> did_you_mean("14", "inch", lambda steps: steps < 8128)
    'did you mean 1/4 or 14 mm?'
    """
    near, far = _OTHERS[unit]
    likely = (*_lost_bars(text, unit), *_in_units(text, near), *_lost_points(text), *_inch_for_foot(text))
    for readings in (likely, _in_units(text, far)):
        fitting = dict.fromkeys(reading for reading in readings if fits(_steps(reading, unit)))
        if fitting:
            return f"did you mean {' or '.join(islice(fitting, 2))}?"
    return ""


def looks_like_other_unit(text: str, unit: Unit, fits: Callable[[Fraction], bool]) -> bool:
    """Return whether a figure without a unit fits in the unit that a workbook has if not this one."""
    return bool(_FIGURE.fullmatch(text)) and fits(_steps(f"{text} {'mm' if unit == 'inch' else 'in'}", unit))


def _in_units(text: str, units: Iterable[str]) -> Iterator[str]:
    """Yield a bare number with other units: ``1050 mm``."""
    if is_bare(text):
        yield from (f"{text.replace(',', '.')} {unit}" for unit in units)


def _lost_bars(text: str, unit: Unit) -> Iterator[str]:
    """Yield whole figures as the fraction whose bar may have got lost: 14 as 1/4, 4138 as 41 3/8."""
    if unit != "inch" or not (text.isascii() and text.isdigit() and 2 <= len(text) <= 6):
        return
    for below in _BELOW:
        front = text.removesuffix(below)
        for digits in (1, 2):
            whole, above = front[:-digits], front[-digits:]
            fits = front != text and len(front) >= digits and not above.startswith("0")
            if fits and int(above) < int(below) and int(above) % 2 and not whole.startswith("0"):
                yield f"{whole} {above}/{below}".strip()


def _lost_points(text: str) -> Iterator[str]:
    """Yield whole figures with a decimal point put back: 605 as 60.5."""
    if text.isascii() and text.isdigit():
        for places in (1, 2):
            if len(text) > places:
                yield f"{text[:-places]}.{text[-places:]}".rstrip("0").removesuffix(".")


def _inch_for_foot(text: str) -> Iterator[str]:
    if text.endswith("'") and is_bare(text[:-1].strip()):
        yield f'{text[:-1].strip()}"'


def _steps(reading: str, unit: Unit) -> Fraction:
    try:
        return exact(reading, unit)
    except MeasureError:
        return Fraction(2 * LONGEST)
