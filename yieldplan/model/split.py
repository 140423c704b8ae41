"""A rough split before jointing (R2, R3): a billet sawn along its length in two, each half jointed by itself.

A half is as an offcut of its own. A cup is an arc across the width, so its sagitta falls with the square of the
width; a twisted face rises evenly across the width, so what its corner lifts falls with the width. Bow and crook run
along the grain and stay. More than two parts are not made: with one cut the sawn side of each half leans outwards on
the crown's side, and the width measured in the hollow is really there; a part between two cuts would be a leaning
parallelogram, of which squaring the edge takes some more.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model.plan import SplitBillet, billets_of

if TYPE_CHECKING:
    from yieldplan.model.pile import Offcut
    from yieldplan.model.plan import Billet, Segment
    from yieldplan.model.shop import Shop


def _up(numerator: int, denominator: int) -> int:
    return -(-numerator // denominator)


def may_split(offcut: Offcut, shop: Shop) -> bool:
    """Return whether billets of an offcut may be split at all (R2).

    The bandsaw must take its thickness, and there must be a reason: cup and half the twist together come to the
    shop's *split warp*, or the offcut is wider than the jointer. One with a kink or a second ring reading is not split:
    its halves would have to be measured anew.
    """
    if offcut.kinks or offcut.ring_angle_far is not None:
        return False
    warped = offcut.cup + _up(offcut.twist, 2) >= shop.split_warp
    return offcut.thickness <= shop.bandsaw_height and (warped or offcut.width > shop.jointer_width)


def split_range(offcut: Offcut, shop: Shop) -> range:
    """Return every place at which a billet of an offcut may be split, in steps from edge 1 (R2).

    They are whole marks of the rule (*shown to*), so that the line can be drawn; each half is at least the narrowest
    rip and at most the jointer wide. Empty where :func:`may_split` says no.
    """
    if not may_split(offcut, shop):
        return range(0)
    mark, rest = max(shop.shown_steps, 1), offcut.width - shop.bandsaw_kerf
    least, most = max(shop.narrowest_rip, 1), shop.jointer_width
    low, high = max(least, rest - most), min(most, rest - least)
    return range(_up(low, mark) * mark, high + 1, mark)


def jointable(offcut: Offcut, shop: Shop) -> list[Offcut]:
    """Return what may be jointed of an offcut: itself, and a half as wide as the widest and as flat as the narrowest.

    Empty where neither is within the machines' reach (R2).
    """
    woods = [offcut] if offcut.width <= shop.jointer_width else []
    places = split_range(offcut, shop)
    if places:
        ends = [half for at in (places[0], places[-1]) for half in halves(offcut, at, shop)]
        cup, twist = min(half.cup for half in ends), min(half.twist for half in ends)
        woods.append(replace(offcut, width=max(half.width for half in ends), cup=cup, twist=twist))
    return woods


def halves(offcut: Offcut, at: int, shop: Shop) -> tuple[Offcut, Offcut]:
    """Return the two halves of an offcut split ``at`` steps from edge 1, each as an offcut of its own."""
    return half(offcut, at, shop, far=False), half(offcut, at, shop, far=True)


def half(offcut: Offcut, at: int, shop: Shop, *, far: bool) -> Offcut:
    """Return one half of an offcut split ``at`` steps from edge 1.

    The near one keeps edge 1; edge 1 of the far one is the sawn side, a bandsaw kerf on.
    """
    low, high = (at + shop.bandsaw_kerf, offcut.width) if far else (0, at)
    wide, whole = high - low, offcut.width
    return replace(
        offcut,
        width=wide,
        cup=_up(offcut.cup * wide * wide, whole * whole),
        twist=_up(offcut.twist * wide, whole),
        defects=tuple(
            replace(defect, y1=max(defect.y1 - low, 0), y2=min(defect.y2 - low, wide))
            for defect in offcut.defects
            if defect.y1 < high and low < defect.y2
        ),
    )


def milled(offcut: Offcut, segment: Segment, shop: Shop) -> tuple[tuple[Offcut, Billet], ...]:
    """Return what is jointed of a segment, each with the wood it is jointed from: the offcut itself, or its halves.

    A whole keeper, and a half that is waste, are not among them.
    """
    woods = halves(offcut, segment.split, shop) if isinstance(segment, SplitBillet) else (offcut,)
    return tuple(
        (wood, billet) for wood, billet in zip(woods, billets_of(segment), strict=False) if billet.strips
    )
