"""R3: what straightening a billet costs, in whole steps, rounded up.

Uniform curvature makes the sagitta fall with the square of the length (s = R - sqrt(R^2 - c^2/4), about
c^2/8R); a twisted rectangle strays from its best plane by half the lift of its fourth corner, and the lift
falls with the length; a full cup stays, because the billet is faced at full width. The sum of the three is
safe: their largest places need not coincide.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldplan.model.pile import Offcut
    from yieldplan.model.shop import Shop


def _up(numerator: int, denominator: int) -> int:
    return -(-numerator // denominator)


def face_loss(offcut: Offcut, length: int, shop: Shop) -> int:
    """Return F, the loss across z (steps) of a billet of ``length`` steps cut from ``offcut``."""
    whole = offcut.length
    return (
        _up(offcut.bow * length * length, whole * whole)
        + offcut.cup
        + _up(offcut.twist * length, 2 * whole)
        + shop.face_skim
    )


def edge_loss(offcut: Offcut, length: int, shop: Shop) -> int:
    """Return E, the loss across y (steps) of a billet of ``length`` steps cut from ``offcut``."""
    whole = offcut.length
    return _up(offcut.crook * length * length, whole * whole) + shop.edge_skim
