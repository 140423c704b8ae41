"""Slope of grain as it is said."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction


def slope_words(slope: Fraction) -> str:
    """Return a slope as it is said: ``1 in 12``, or ``1 in 12.5``."""
    return f"1 in {float(round(1 / slope, 1)):g}" if slope else "straight"
