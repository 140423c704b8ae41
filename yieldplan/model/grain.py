"""R7 across a piece: where the rings suit a blank, and how much strength is left at a slope of grain."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldplan.model.pile import Blank, Offcut


def ring_window(offcut: Offcut, blank: Blank, *, turned: bool) -> tuple[int, int] | None:
    """Return from where to where across y (steps, on the offcut) the rings suit a blank; None where nowhere.

    The angle runs evenly from edge 1 to the far edge, so the part in range is one interval; it is rounded inward. A
    strip at u to v in a box with edge loss E suits if u and v + E lie in it: between them is all that it can come
    from, wherever jointing leaves edge 1.
    """
    if blank.ring_from is None and blank.ring_to is None:
        return 0, offcut.width
    if offcut.rings is None:
        return None
    low = 0 if blank.ring_from is None else blank.ring_from
    high = 90 if blank.ring_to is None else blank.ring_to
    near, far = ((90 - b, 90 - a) for a, b in offcut.rings) if turned else offcut.rings
    first, last = 0, offcut.width
    for here, there in ((near[0] - low, far[0] - low), (high - near[1], high - far[1])):
        if here < 0 and there < 0:
            return None
        if here < 0:
            first = max(first, -(here * offcut.width // (there - here)))
        elif there < 0:
            last = min(last, here * offcut.width // (here - there))
    return (first, last) if first < last else None


SLOPES: tuple[tuple[int, int, int, int], ...] = (
    (25, 96, 95, 100),
    (20, 93, 90, 100),
    (15, 89, 81, 100),
    (10, 81, 62, 99),
    (5, 55, 36, 93),
)
"""Slope 1 in n: n, and what is left of the strength of straight-grained wood in per cent: bending (modulus of rupture),
impact bending, compression along the grain.

USDA Wood Handbook, FPL-GTR-190, ch. 5, table of strength at various slopes of grain (p. 5-31 seen in the index; the
figures from memory, within 3 points of Hankinson's formula with n = 2 and Q/P = 0.04)."""

SLOPES_SOURCE = "USDA Wood Handbook, FPL-GTR-190, ch. 5, table of grain slopes; figures from memory"


def strength_left(slope: Fraction) -> tuple[int, int]:
    """Return between which two figures of the table the bending strength at a slope lies, per cent, lower first.

    ``slope`` is rise over run. Where the table has the very slope both are the same; steeper than all of it the lower
    is 0. Information on clear wood, never a rating.
    """
    above = 100
    for run, bending, _, _ in SLOPES:
        if slope == Fraction(1, run):
            return bending, bending
        if slope < Fraction(1, run):
            return (100, 100) if not slope else (bending, above)
        above = bending
    return 0, above


def slope_words(slope: Fraction) -> str:
    """Return a slope as it is said: ``1 in 12``, or ``1 in 12.5``."""
    return f"1 in {float(round(1 / slope, 1)):g}" if slope else "straight"
