"""Where cuts are tried (DEVELOPERS.md, "Where the solver looks", says why nothing better lies elsewhere).

Any pieces in a row can be pushed towards one end until each touches its neighbour, an edge, or a defect; so it
is enough to start pieces at sums of pieces counted from the edges and from every defect's edge. The classical
sets counted from the edge alone miss the best plan where there are defects (Afsharian, Niknejad & Waescher
2014, OR Spectrum 36).
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

MOST_POSITIONS = 5000
"""Positions across a section beyond which no more are looked for."""

MOST_STARTS = 1000
"""Starts of blanks along an offcut beyond which they are thinned out, and the bound goes by volume."""

FEW_ENDS = 130
"""Starts, and ends, of billets that are tried where starts are thinned out."""


MOST_BILLETS = 100_000
"""Billets tried at an offcut; of more not all are tried and the bound goes by volume."""


def sums(bases: Iterable[int], moves: Iterable[int], limit: int, most: int | None = None) -> list[int]:
    """Return the sorted positions 0..limit reached from ``bases`` by adding ``moves`` any number of times.

    All in steps of 1/320 mm. Stops short once there are more than ``most`` (:data:`MOST_POSITIONS`).
    """
    most = MOST_POSITIONS if most is None else most
    forward = sorted({move for move in moves if move > 0})
    seen = {base for base in bases if 0 <= base <= limit}
    front = seen
    while front and len(seen) <= most:
        front = {p + move for p in front for move in forward if p + move <= limit} - seen
        seen |= front
    return sorted(seen)


def few_sums(bases: Iterable[int], moves: Iterable[int], limit: int, most: int) -> list[int]:
    """Return about ``most`` of the positions that :func:`sums` would, spread out: of close ones the least.

    Every base in 0..limit is among them.
    """
    forward = sorted({move for move in moves if move > 0})
    fixed = {base for base in bases if 0 <= base <= limit}
    width = max(1, limit // most)
    found: set[int] = set()
    taken: set[int] = set()
    heap = sorted(fixed)
    while heap:
        at = heapq.heappop(heap)
        if at in found or (at // width in taken and at not in fixed):
            continue
        found.add(at)
        taken.add(at // width)
        for move in forward:
            if at + move <= limit and (at + move) // width not in taken:
                heapq.heappush(heap, at + move)
    return sorted(found)


def few(places: Sequence[int], most: int) -> list[int]:
    """Return about ``most`` of some sorted places, the first and the last among them, evenly by rank."""
    if len(places) <= most:
        return list(places)
    return sorted({places[round(i * (len(places) - 1) / (most - 1))] for i in range(most)})


class NoRoomError(Exception):
    """More would have to be tried of an offcut than there is room for."""


def across(
    anchors: Iterable[int], sizes: Sequence[int], kerf: int, limit: int, most: int | None = None
) -> list[int]:
    """Return where a strip or stick pushed against 0 or an anchor can start, across the box, in steps.

    ``most`` is that of :func:`sums`.
    """
    return sums({0, *anchors}, (size + kerf for size in sizes), limit, most)


def across_from_far(
    anchors: Iterable[int], sizes: Sequence[int], kerf: int, limit: int, most: int | None = None
) -> list[int]:
    """Return where pieces pushed towards the far side can start, as distances from the far side, in steps.

    ``anchors`` are the distances of near edges of defects from the far side. Where a leftover may start
    beyond such a defect (its near edge plus a kerf) is among them. ``most`` is that of :func:`sums`.
    """
    ends = {0, *anchors}
    stacked = sums(
        (end + size for end in ends for size in sizes), (size + kerf for size in sizes), limit, most
    )
    return sorted({*stacked, *(end - kerf for end in anchors if end > kerf)})


@dataclass(frozen=True)
class Along:
    """Blanks and billets pushed towards end A of an offcut, all in steps.

    Attributes
    ----------
    length
        L of the offcut.
    spans
        Length with allowance of each kind of blank, shortest first.
    kerf, snipe, shortest
        Crosscut kerf, snipe, and shortest machined length.
    first
        Where the first blank may start (end trim or snipe).
    edges
        Where a blank that was pushed against a defect, or from a kink, starts.
    kinks
        Places that no billet spans.
    most_starts, few_ends, few
        Starts beyond which they are thinned out, and of how many billets are tried then; whether they are in any case.
    """

    length: int
    spans: tuple[int, ...]
    kerf: int
    snipe: int
    shortest: int
    first: int
    edges: tuple[int, ...]
    kinks: tuple[int, ...] = ()
    most_starts: int = MOST_STARTS
    few_ends: int = FEW_ENDS
    few: bool = False

    def _moves(self) -> set[int]:
        moves = set()
        for span in self.spans:
            milled = max(span + 2 * self.snipe, self.shortest)
            moves |= {span + self.kerf, span + 2 * self.snipe + self.kerf, milled + self.kerf}
        return moves

    @property
    def last(self) -> int:
        """Where the last blank must have ended."""
        return self.length - self.first

    @property
    def _bases(self) -> set[int]:
        return {self.first, *(edge for edge in self.edges if edge > self.first)}

    @cached_property
    def _all_starts(self) -> list[int]:
        return sums(self._bases, self._moves(), self.last - self.spans[0], most=self.most_starts)

    @property
    def thinned(self) -> bool:
        """Whether there are so many starts that only some are tried."""
        return self.few or len(self._all_starts) > self.most_starts

    @cached_property
    def starts(self) -> list[int]:
        """Where blanks may start."""
        if not self.thinned:
            return self._all_starts
        return self._few_starts(self.most_starts)

    def _few_starts(self, most: int) -> list[int]:
        return few_sums(self._bases, self._moves(), self.last - self.spans[0], most)

    def stack(self, start: int) -> set[int]:
        """Return where blanks that stand close together from ``start`` on may end."""
        firsts = sums({start}, (span + self.kerf for span in self.spans), self.last - self.spans[0])
        return {p + span for p in firsts for span in self.spans if p + span <= self.last}

    def billets(self, *, merging: bool, most: int = MOST_BILLETS) -> set[tuple[int, int]]:
        """Return the (from, to) of the shortest billets that hold such blanks.

        ``merging`` says that a billet split in two never yields more, so that only those of the first
        start are needed.

        Raises
        ------
        NoRoomError
            If there are more than ``most``.
        """
        if self.thinned:
            return self._few_billets()
        edge_ends = {edge: self.stack(edge) for edge in self.edges if self.first < edge <= self.last}
        found = set()
        for start in [self.first] if merging else self.starts:
            ends = self.stack(start)
            for edge, more in edge_ends.items():
                if edge > start:
                    ends |= more
            for end in ends:
                found |= self._milled(start - self.snipe, end + self.snipe)
            if len(found) > most:
                raise NoRoomError
        return {(a, b) for a, b in found if a >= 0 and b <= self.length}

    def _few_billets(self) -> set[tuple[int, int]]:
        width = max(1, self.length // self.few_ends)
        last = {(p + span) // width: p + span for p in self.starts for span in self.spans}
        ends = [end for end in last.values() if end <= self.last]
        found = set()
        for start in self._few_starts(self.few_ends):
            for end in ends:
                if end - start >= self.spans[0]:
                    found |= self._milled(start - self.snipe, end + self.snipe)
        return {(a, b) for a, b in found if a >= 0 and b <= self.length}

    def _milled(self, start: int, end: int) -> set[tuple[int, int]]:
        if end - start >= self.shortest:
            return {(start, end)}
        begin = max((kink for kink in self.kinks if kink <= start), default=0)
        beyond = min((kink for kink in self.kinks if kink >= end), default=self.length)
        low = max(begin, end - self.shortest)
        high = min(start, beyond - self.shortest)
        return {(at, at + self.shortest) for at in (low, high) if low <= at <= high}
