"""Worth: the measure of stock used (aim 2), in thousandths of a board foot of no length."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model.shop import INCH

if TYPE_CHECKING:
    from yieldplan.model.pile import Offcut
    from yieldplan.model.shop import Shop

BOARD_FOOT = 144 * INCH**3
"""Cubic steps in one board foot: 144 in^3, 1 x 12 x 12 in (NIST SP 811 App. B, from memory)."""


def worth(length: int, width: int, thickness: int, shop: Shop) -> int:
    """Return floor(1000 v (1 + p min(l, f)/f)) of a piece, in exact integer arithmetic.

    Parameters
    ----------
    length, width, thickness
        Of the piece, in steps; ``length`` is along the grain.
    shop
        Gives p (``length_premium``) and f (``full_length``).
    """
    premium, full = shop.length_premium, shop.full_length
    over = premium.denominator * full + premium.numerator * min(length, full)
    return 1000 * length * width * thickness * over // (BOARD_FOOT * premium.denominator * full)


def cost_drawn(offcut: Offcut, shop: Shop) -> int:
    """Return what drawing one piece costs before its keepers: its price where it is bought, else its worth."""
    if offcut.price is not None:
        return offcut.price
    return worth(offcut.length, offcut.width, offcut.thickness, shop)
