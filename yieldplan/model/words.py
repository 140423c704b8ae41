"""How words that users type are compared, and how a slope of grain is said."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction


def fold(word: str) -> str:
    """Return a word in the form in which species and kinds are compared: case and spacing do not matter."""
    return " ".join(word.split()).casefold()


def slope_words(slope: Fraction) -> str:
    """Return a slope as it is said: ``1 in 12``, or ``1 in 12.5``."""
    return f"1 in {float(round(1 / slope, 1)):g}" if slope else "straight"
