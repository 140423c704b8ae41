"""Slope of grain: how it is said, and how much strength is left."""

from __future__ import annotations

from fractions import Fraction

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
