"""Where two neighbouring billets of bent wood are parted, both drawn out for the sake of their leftovers.

Moving the cut between them lengthens one and shortens the other. Worth, of a section that stays, is convex in length
(the length premium bends it up), so an end of the travel would be best; but straightening takes more of a longer
billet, which bends it down (R3). Where that is more, a place in between is best, and lengths in between must be tried.
"""

from __future__ import annotations

import math
from bisect import insort
from functools import partial
from itertools import accumulate, zip_longest
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import BOARD_FOOT, edge_loss, face_loss

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from yieldplan.model import Offcut, Shop
    from yieldplan.solve.kernel import Floats, Ints

MOST_PARTED = 24
"""Lengths of billets at the most that are tried for this."""


class Parting(NamedTuple):
    """Further ``lengths`` to try, and what that leaves open: ``gains``, units that 1, 2, ... cuts may gain together."""

    lengths: list[int]
    gains: list[float]

    @property
    def fewest(self) -> int:
        """How many cuts it takes to gain a whole unit, as worth is counted; 0 where no number of them does."""
        return next((cuts for cuts, gain in enumerate(self.gains, 1) if gain >= 1.0), 0)

    @property
    def units(self) -> int:
        """Units that cover what cuts may gain, if each but the first few, one less than the fewest, counts for them."""
        fewest = self.fewest
        if not fewest:
            return 0
        return max(
            math.ceil(int(gain) / (cuts - fewest + 1))
            for cuts, gain in enumerate(self.gains, 1)
            if cuts >= fewest
        )


NONE_PARTED = Parting([], [])


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

    Halfway between two tried places that are d apart the sum of two leftovers is worth up to d^2/8 times as much more
    as its second derivative lies below 0. Both neighbours are tried at every length, so d is the smaller one of the
    gaps between lengths in which theirs lie.

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
    lengths, gains = set[int](), list[float]()
    for side in (high - low for low, high in offcut.sides):
        cuts = (side + kerf) // (shortest + kerf) - 1
        if cuts < 1:
            continue
        longest = side - kerf - shortest
        marks = sorted({shortest, longest, *(run for run in tried if shortest < run < longest)})
        bend = partial(_bend, offcut, shop, (0, 0) if split else least, side)
        worth = (2 if split else 1) * 1000 / BOARD_FOOT
        rooms = [side - some * kerf - (some - 1) * shortest for some in range(1, cuts + 1)]
        more: set[int] = set()
        while True:
            worst = [_worst(marks, bend, room) for room in rooms]
            own = [some * one.gain * worth for some, one in enumerate(worst, 1)]
            if max(own) < 1.0 or len(more) >= most:
                break
            low, high = worst[own.index(max(own))].gap
            more.add((low + high) // 2)
            insort(marks, (low + high) // 2)
        lengths.update(more)
        gains = [a + b for a, b in zip_longest(gains, own, fillvalue=0.0)]
    return Parting(sorted(lengths), list(accumulate(gains, max)))


class _Worst(NamedTuple):
    """The most that a cut may gain, and the gap between lengths that is to be parted for it to gain less."""

    gain: float
    gap: tuple[int, int]


def _worst(marks: Sequence[int], bend: Callable[[Ints], Floats], room: int) -> _Worst:
    """Return the worst case of two neighbours in such gaps between ``marks`` that have so much ``room`` together."""
    at = np.array(marks)
    low, gap = at[:-1], np.diff(at)
    if not len(gap):
        return _Worst(0.0, (marks[0], marks[0]))
    bends = bend(np.minimum(at[1:, None], room - low[None, :]))
    gains = (bends + bends.T) * np.minimum.outer(gap, gap).astype(float) ** 2 / 8
    gains[np.add.outer(low, low) > room] = 0.0
    i, j = np.unravel_index(np.argmax(gains), gains.shape)
    parted = int(i if gap[i] <= gap[j] else j)
    return _Worst(float(gains[i, j]), (marks[parted], marks[parted + 1]))


def _bend(offcut: Offcut, shop: Shop, least: tuple[int, int], side: int, run: Ints) -> Floats:
    """Return how far the second derivative by length of what is left of a billet may lie below 0, at each length.

    In steps squared. Of worth S x (1 + r x) of a section S it is S'' x (1 + r x) + 2 S' (1 + 2 r x) + 2 r S. S falls by
    what R3 takes: of leftovers at the far edge in width, of those at the far face in thickness; together these are no
    higher than the offcut is thick, and no wider than it is. Each is at least a keeper thick; and as thick as the
    billet, and only beside a stick, where there is no room for a keeper above one.
    """
    rate = float(shop.length_premium / shop.full_length)
    length, slope = run * (1 + rate * run), 1 + 2 * rate * run
    edge = 2 * offcut.crook * (length + 2 * run * slope) / side**2
    face = 2 * offcut.bow * (length + 2 * run * slope) / side**2 + offcut.twist * slope / side
    thin, kerf = min(shop.keeper_width, shop.keeper_thickness), min(shop.rip_kerf, shop.bandsaw_kerf)
    both = bool(offcut.crook and (offcut.bow or offcut.twist))
    up = np.where(run < shop.full_length, rate * (1 if both else 2), 0.0)
    width, thickness, high, deep = offcut.width, offcut.thickness, thin, thin
    if offcut.thickness - shop.face_skim - least[1] - kerf < thin:
        width, deep = width - least[0] - kerf, max(thin, thickness - face_loss(offcut, side, shop))
    elif offcut.width - shop.edge_skim - least[0] - kerf < thin:
        thickness, high = thickness - least[1] - kerf, max(thin, offcut.width - edge_loss(offcut, side, shop))
    return np.asarray(
        thickness * np.maximum(0.0, edge - up * high) + width * np.maximum(0.0, face - up * deep)
    )
