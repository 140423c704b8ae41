"""What was probably meant: by a word that is almost right, by a measure that is read as something hardly likely."""

from __future__ import annotations

import re
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from itertools import islice
from typing import TYPE_CHECKING

from yieldplan.measure import LONGEST, MeasureError, exact
from yieldplan.model.words import fold
from yieldplan.workbook.layouts import WORDS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from yieldplan.measure import Unit


def near(word: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """Return the known word that is nearest to this one, or None where none is near."""
    by_fold, word = {fold(other): other for other in known}, fold(word)
    for other, shown in by_fold.items():
        if _looks(other) == _looks(word):
            return shown
    if len(word) == 2:  # one sign of two is half of it
        cutoff *= 0.8
    found = get_close_matches(word, by_fold, n=1, cutoff=cutoff)
    words = set(word.split())
    longer = [other for other in by_fold if words and words < set(other.split())]
    return next((by_fold[other] for other in (*found, *longer)), None)


def _looks(word: str) -> str:
    """Return a word as the eye takes it: P 04 and PO4 are one name."""
    return word.translate(_SAME_LOOK)


_SAME_LOOK = str.maketrans({"o": "0", "l": "1", "i": "1", " ": "", "-": "", "_": "", ".": ""})


@cache
def usual_kind(word: str) -> str | None:
    """Return the usual kind of defect that this word nearly is; None for a usual kind, or a quite other word."""
    kinds = WORDS["kinds"]
    apart = (kind for kind in kinds if one_letter_apart(fold(word), kind))
    likely = near(word, kinds, 0.8) or next(apart, None)
    return None if likely is None or fold(likely) == fold(word) else likely


class Names:
    """Words that a user typed elsewhere, to look for near matches among; there may be thousands.

    Comparing costs time, so the search stops after about 100 000 comparisons: the first few hundred faults get
    their suggestion, and an input with more of them is still refused at once.
    """

    def __init__(self, names: Iterable[str]) -> None:
        self._known = {fold(name): name for name in names}
        self._left = 100_000

    def __contains__(self, name: str) -> bool:
        return fold(name) in self._known

    def did_you_mean(self, word: str) -> str:
        """Return the clause "did you mean ...?", or nothing where no name is near or it took too long."""
        self._left -= len(self._known)
        return did_you_mean(word, self._known.values()) if self._left >= 0 else ""


def did_you_mean(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """Return the clause "did you mean ...?", or nothing where no known word is near."""
    found = near(word, known, cutoff)
    return f"did you mean {found}?" if found else ""


def one_letter_apart(one: str, other: str) -> bool:
    """Return whether two words differ by one letter: left out, put in, mistyped, or exchanged with the next."""
    short, long = sorted((one, other), key=len)
    if len(long) - len(short) > 1 or one == other:
        return False
    at = next((at for at, sign in enumerate(short) if sign != long[at]), len(short))
    if len(short) < len(long):
        return short[at:] == long[at + 1 :]
    exchanged = short[at : at + 2] == long[at : at + 2][::-1] and short[at + 2 :] == long[at + 2 :]
    return short[at + 1 :] == long[at + 1 :] or exchanged


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


def measure_meant(text: str, unit: Unit, fits: Callable[[Fraction], bool]) -> str:
    """Return the clause "did you mean ... or ...?" with the two likeliest readings that fit, or nothing.

    ``fits`` says whether so many steps would do.

    Examples
    --------
    >>> measure_meant("14", "inch", lambda steps: steps < 8128)
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
