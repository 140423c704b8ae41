"""R3: what straightening a billet costs, in whole steps, rounded up.

Uniform curvature makes the sagitta fall with the square of the length (s = R - sqrt(R^2 - c^2/4), about
c^2/8R); a twisted rectangle strays from its best plane by half the lift of its fourth corner, and the lift
falls with the length; a full cup stays, because the billet is faced at full width. The sum of the three is
safe: their largest places need not coincide.

At a kink the curve is not uniform, so each side of it is taken by itself, with the warp as measured on that side and
the side's own length.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldplan.model.pile import Offcut
    from yieldplan.model.shop import Shop


def _up(numerator: int, denominator: int) -> int:
    return -(-numerator // denominator)


def _straight(offcut: Offcut, start: int | None) -> int:
    """Return the length over which the warp was measured: the side of the kinks that a billet starts in.

    Without a start, the longest side, on which a billet loses least.
    """
    if not offcut.kinks:
        return offcut.length
    sides = [side for side in offcut.sides if start is None or side[0] <= start < side[1]]
    return max((high - low for low, high in sides), default=offcut.length)


def longest_blank(offcut: Offcut, shop: Shop) -> int:
    """Return the longest blank, with its allowance, that kinks, end trims, snipe and machines let through (steps)."""
    return max(
        (
            min(high - shop.snipe, offcut.length - shop.end_trim) - max(low + shop.snipe, shop.end_trim)
            for low, high in offcut.sides
            if high - low >= shop.shortest_machined_length
        ),
        default=0,
    )


def face_loss(offcut: Offcut, length: int, shop: Shop, start: int | None = None) -> int:
    """Return F, the loss across z (steps) of a billet of ``length`` steps cut from ``offcut``.

    ``start`` is where it begins along x; it matters only where the offcut has kinks.
    """
    whole = _straight(offcut, start)
    return (
        _up(offcut.bow * length * length, whole * whole)
        + offcut.cup
        + _up(offcut.twist * length, 2 * whole)
        + shop.face_skim
    )


def edge_loss(offcut: Offcut, length: int, shop: Shop, start: int | None = None) -> int:
    """Return E, the loss across y (steps) of a billet of ``length`` steps; see :func:`face_loss`."""
    whole = _straight(offcut, start)
    return _up(offcut.crook * length * length, whole * whole) + shop.edge_skim
