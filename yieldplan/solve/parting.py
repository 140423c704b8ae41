"""Where two neighbouring billets of bent wood are parted, both drawn out for the sake of their leftovers.

Moving the cut between them lengthens one and shortens the other. Worth, of a section that stays, is convex in length
(the length premium bends it up), so an end of the travel would be best; but straightening takes more of a longer
billet, which bends it down (R3). Where that is more, a place in between is best, and lengths in between must be tried.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from yieldplan.model import BOARD_FOOT, edge_loss, face_loss

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Offcut, Shop

MOST_PARTED, FEW_PARTED = 24, 5
"""Lengths of billets at the most that are tried for this, and where there is no room for so many."""

WIDER = 1.2
"""By how much further they are set apart, again and again, while there would be more."""


class Parting(NamedTuple):
    """Further ``lengths`` to try, and what that leaves open.

    The best place of a cut may be worth up to ``loss`` units more than the best tried one; there are at most ``cuts``
    of them along an offcut.
    """

    lengths: list[int]
    loss: float
    cuts: int

    @property
    def fewest(self) -> int:
        """How many cuts it takes to gain a whole unit, as worth is counted; 0 where all there may be gain less."""
        return next((cuts for cuts in range(1, self.cuts + 1) if self.loss * cuts >= 1.0), 0)

    @property
    def units(self) -> int:
        """Units that cover what cuts may gain, if each but the first few, one less than the fewest, counts for them."""
        fewest = self.fewest
        if not fewest:
            return 0
        return max(
            math.ceil(int(self.loss * cuts) / (cuts - fewest + 1)) for cuts in range(fewest, self.cuts + 1)
        )


NONE_PARTED = Parting([], 0.0, 0)


def parting_of(
    offcut: Offcut,
    shop: Shop,
    least: tuple[int, int],
    tried: Iterable[int],
    *,
    split: bool,
    most: int = MOST_PARTED,
) -> Parting:
    """Return up to so many lengths to try so that what is left open is less than a unit, if these are enough.

    Parameters
    ----------
    offcut, shop
        The wood, and the shop's settings.
    least
        The least that a stick takes across y, and across z, in steps.
    tried
        Lengths of billets that are tried from any place on, in steps.
    split
        Whether billets may be split: then twice as many leftovers meet a far edge.
    """
    shortest, kerf = max(shop.keeper_length, shop.shortest_machined_length), shop.crosscut_kerf
    sides = [high - low for low, high in offcut.sides if high - low >= 2 * shortest + kerf]
    lengths, loss, cuts = set[int](), 0.0, 0
    for side in sides:
        longest = side - kerf - shortest
        bend = sum(_bend(offcut, shop, (0, 0) if split else least, side, run) for run in (shortest, longest))
        bend *= (2 if split else 1) * 1000 / BOARD_FOOT
        some = (side + kerf) // (shortest + kerf) - 1
        marks = sorted({shortest, longest, *(run for run in tried if shortest < run < longest)})
        apart = math.sqrt(8 * 0.98 / (bend * some)) if bend > 0.0 else float(side)
        while len(more := _between(marks, apart)) > most:
            apart *= WIDER
        lengths.update(more)
        gap = max((high - low for low, high in pairwise(sorted({*marks, *more}))), default=0)
        loss, cuts = max(loss, bend * gap * gap / 8), max(cuts, some)
    return Parting(sorted(lengths), loss, cuts)


def _between(marks: Sequence[int], apart: float) -> list[int]:
    """Return lengths between the marks, evenly spaced, so that none are further apart."""
    found = []
    for low, high in pairwise(marks):
        parts = math.ceil((high - low) / apart)
        found += [low + (high - low) * part // parts for part in range(1, parts)]
    return found


def _bend(offcut: Offcut, shop: Shop, least: tuple[int, int], side: int, run: int) -> float:
    """Return how far the second derivative by length of what is left of a billet may lie below 0, in steps squared.

    Of worth S x (1 + r x) of a section S it is S'' x (1 + r x) + 2 S' (1 + 2 r x) + 2 r S. S falls by what R3 takes:
    of leftovers at the far edge in width, of those at the far face in thickness; together these are no higher than the
    offcut is thick, and no wider than it is. Each is at least a keeper thick; and as thick as the billet, and only
    beside a stick, where there is no room for a keeper above one.
    """
    rate = float(shop.length_premium / shop.full_length)
    length, slope = run * (1 + rate * run), 1 + 2 * rate * run
    edge = 2 * offcut.crook * (length + 2 * run * slope) / side**2
    face = 2 * offcut.bow * (length + 2 * run * slope) / side**2 + offcut.twist * slope / side
    thin, kerf = min(shop.keeper_width, shop.keeper_thickness), min(shop.rip_kerf, shop.bandsaw_kerf)
    up = rate * (1 if edge and face else 2) if run < shop.full_length else 0.0
    width, thickness, high, deep = offcut.width, offcut.thickness, thin, thin
    if offcut.thickness - shop.face_skim - least[1] - kerf < thin:
        width, deep = width - least[0] - kerf, max(thin, thickness - face_loss(offcut, side, shop))
    elif offcut.width - shop.edge_skim - least[0] - kerf < thin:
        thickness, high = thickness - least[1] - kerf, max(thin, offcut.width - edge_loss(offcut, side, shop))
    return thickness * max(0.0, edge - up * high) + width * max(0.0, face - up * deep)
