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

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import ArrayLike

    from yieldplan.solve.kernel import Flags, Ints

MOST_POSITIONS = 5000
"""Positions across a section beyond which no more are looked for."""

MOST_STARTS = 1000
"""Starts of blanks along an offcut beyond which they are thinned out, and the bound goes by volume."""

FEW_ENDS = 130
"""Starts, and ends, of billets that are tried where starts are thinned out."""


MOST_BILLETS = 300_000
"""Billets tried at an offcut; of more not all are tried and the bound goes by volume."""

MANY = 4
"""How many times more are put together before it is said that there is no room."""


def distinct(values: ArrayLike) -> Ints:
    """Return the different ones of some integers, sorted: quicker than numpy's own for as few as we have."""
    found = np.sort(np.asarray(values, np.int64), axis=None)
    first = np.ones(len(found), bool)
    first[1:] = found[1:] != found[:-1]
    return found[first]


def among(values: Ints, some: ArrayLike) -> Flags:
    """Return which of some integers are among others: quicker than numpy's own for as few as we have."""
    found = np.sort(np.asarray(some, np.int64), axis=None)
    if not len(found):
        return np.zeros(values.shape, bool)
    return np.asarray(found[np.minimum(np.searchsorted(found, values), len(found) - 1)] == values)


def numbered(*columns: Ints) -> Ints:
    """Return the number of each row among the different ones, in order of the first column, then of the next."""
    order = np.lexsort(columns[::-1])
    changes = np.zeros(len(order), bool)
    for column in columns:
        changes[1:] |= np.diff(column[order]) != 0
    found = np.empty(len(order), np.int64)
    found[order] = np.cumsum(changes)
    return found


def first_rooted(like: Ints, rooted: Flags, own: Ints) -> Ints:
    """Return for each of some numbers ``own`` the first rooted one that is like it; itself where none is."""
    first = np.full(len(like), -1, np.int64)
    first[like[rooted][::-1]] = own[rooted][::-1]
    return np.where(first[like] >= 0, first[like], own)


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
    anchors: Iterable[int],
    sizes: Sequence[int],
    kerf: int,
    limit: int,
    most: int | None = None,
    *,
    spared: Iterable[int] = (),
) -> list[int]:
    """Return where pieces pushed towards the far side can start, as distances from the far side, in steps.

    ``anchors`` are the distances of near edges of defects from the far side. ``spared`` are sizes of leftovers that
    pieces may leave free there: those of the least keepers. Where a leftover may start beyond such a defect (its near
    edge plus a kerf), or those pieces, is among them. ``most`` is that of :func:`sums`.
    """
    ends = {0, *anchors}
    ends |= {end + spare + kerf for end in ends for spare in spared}
    stacked = sums(
        (end + size for end in ends for size in sizes), (size + kerf for size in sizes), limit, most
    )
    return sorted({*stacked, *(end - kerf for end in ends if end > kerf)})


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
    drawn
        Lengths to which billets are drawn out for the sake of leftovers, so that others follow them.
    spared
        Lengths of least whole keepers, where others may follow one that is no longer.
    remainder
        Least length of a remainder that is kept, for which billets are drawn out too; 0 where none is.
    critical
        Lengths, sorted, beyond which billets of bent wood hold less; none where they are straight.
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
    drawn: tuple[int, ...] = ()
    spared: tuple[int, ...] = ()
    remainder: int = 0
    critical: tuple[int, ...] = ()
    most_starts: int = MOST_STARTS
    few_ends: int = FEW_ENDS
    few: bool = False

    def _moves(self) -> set[int]:
        moves = set()
        for span in self.spans:
            milled = max(span + 2 * self.snipe, self.shortest)
            moves |= {span + self.kerf, span + 2 * self.snipe + self.kerf, milled + self.kerf}
        return moves

    def _moves_drawn(self) -> set[int]:
        """Return the moves beyond billets that are drawn out."""
        moves = {run + self.kerf for run in (*self.drawn, *self.spared)}
        if self.remainder:
            moves |= {span + self.remainder + 2 * self.kerf + self.snipe for span in self.spans}
        return moves

    @property
    def last(self) -> int:
        """Where the last blank must have ended."""
        return self.length - self.first

    @property
    def least(self) -> int:
        """Length of the shortest billet that can be milled and hold a blank."""
        return max(self.shortest, self.spans[0] + 2 * self.snipe)

    @property
    def _bases(self) -> set[int]:
        found = {self.first, *(edge for edge in self.edges if edge > self.first)}
        if self.first + self.spans[0] + self.snipe < self.shortest:
            found.add(self.shortest + self.kerf + self.snipe)  # behind a billet that takes in the end trim
        return found

    @property
    def behind(self) -> set[int]:
        """Where a blank starts behind what is drawn out from end A: a billet, a whole keeper, a remainder."""
        found = {run + self.kerf + self.snipe for run in (*self.drawn, *self.spared)}
        return found | {self.remainder + self.kerf} if self.remainder else found

    @cached_property
    def close(self) -> list[int]:
        """Where blanks may start behind billets that are as short as may be."""
        return sums(self._bases, self._moves(), self.last - self.spans[0], most=self.most_starts)

    @cached_property
    def _all_starts(self) -> list[int]:
        if self.thinned or not (self.drawn or self.spared or self.remainder):
            return self.close
        moves = self._moves() | self._moves_drawn()
        return sums(self._bases | self.behind, moves, self.last - self.spans[0], most=2 * self.most_starts)

    @property
    def thinned(self) -> bool:
        """Whether there are so many starts that only some are tried."""
        return self.few or len(self.close) > self.most_starts

    @property
    def whole(self) -> bool:
        """Whether every start is tried, those behind billets that are drawn out too."""
        return not self.thinned and len(self._all_starts) <= 2 * self.most_starts

    @cached_property
    def starts(self) -> list[int]:
        """Where blanks may start."""
        if self.thinned:
            return self._few_starts(self.most_starts)
        return self._all_starts if self.whole else self.close

    @cached_property
    def beyond(self) -> list[int]:
        """Where else the shortest billets may start; without defects those that are drawn out come last."""
        if not self.whole:
            return []
        clean = sums(self._bases | self.behind, self._moves(), self.last - self.spans[0])
        return sorted({*(self.starts if self.edges else clean)} - {*self.close})

    def _few_starts(self, most: int) -> list[int]:
        return few_sums(self._bases, self._moves(), self.last - self.spans[0], most)

    @cached_property
    def _blocks(self) -> Ints:
        """Lengths of blanks that stand close together; none where there are too many."""
        room, most = self.last - self.first, MANY * self.most_starts
        before = sums({0}, (span + self.kerf for span in self.spans), room - self.spans[0], most)
        if len(before) > most:
            return np.empty(0, np.int64)
        found = distinct(np.add.outer(np.array(before, np.int64), np.array(self.spans, np.int64)))
        return found[found <= room]

    def blocks(self, room: int) -> Ints:
        """Return the lengths, up to ``room``, of blanks that stand close together; none where there are too many."""
        return self._blocks[self._blocks <= room]

    def stacks(self, starts: Sequence[int], most: int = MOST_BILLETS) -> Pairs:
        """Return from each start where blanks that stand close together, there or from an edge on, may end."""
        begin = np.array(starts, np.int64)
        edges, blocks = [edge for edge in self.edges if self.first < edge <= self.last], self._blocks
        fitting = np.searchsorted(blocks, self.last - begin, side="right")
        if not len(blocks) or fitting.sum() > MANY * most:
            raise NoRoomError
        row, block = runs(np.zeros_like(fitting), fitting)
        found = [(begin[row], begin[row] + blocks[block])]
        found += [pairs(begin[begin < edge], edge + self.blocks(self.last - edge)) for edge in edges]
        return join(found)

    @cached_property
    def aligned(self) -> Pairs:
        """Return billets whose first blanks are pushed to their end, and begin later for that: (first blank, last end).

        The end is that of blanks which begin at an edge, so that they cannot be pushed on. Others, beside them, need
        more length. Pushed towards end A they would make the billet longer; where that costs nothing, it is not worth
        trying.
        """
        edges = np.array([edge for edge in self.edges if self.first < edge <= self.last], np.int64)
        if self.thinned or not (len(edges) and self.critical and len(self._blocks)):
            return edges[:0], edges[:0]
        blocks, close = self._blocks, np.array(self.close, np.int64)
        ends = distinct(edges[:, None] + blocks)
        end, length = pairs(ends[ends <= self.last], blocks)
        start = end - length
        good = (start >= self.first) & (
            np.searchsorted(edges, start, side="right") < np.searchsorted(edges, end)
        )
        start, end = start[good], end[good]
        earlier = close[np.searchsorted(close, start, side="right") - 1]
        shorter, longer = (np.maximum(end - at + 2 * self.snipe, self.shortest) for at in (start, earlier))
        costs = np.searchsorted(self.critical, shorter) < np.searchsorted(self.critical, longer)
        return start[costs], end[costs]

    @property
    def aligned_starts(self) -> set[int]:
        """Where blanks start in such billets: together with those before them they fill what is left."""
        start, end = self.aligned
        before, place = pairs(start, end[:, None] - self._blocks)
        fills = (place == before) | among(place - before - self.kerf, self._blocks)
        return set(place[fills].tolist())

    def billets(self, starts: Sequence[int], most: int = MOST_BILLETS) -> Pairs:
        """Return the shortest billets that hold blanks of which the first lies at one of ``starts``.

        Raises
        ------
        NoRoomError
            If there are several times more than ``most``.
        """
        return self._around(*(self._few_stacks() if self.thinned else self.stacks(starts, most)))

    def aligned_billets(self) -> Pairs:
        """Return the shortest billets that hold blanks pushed to their end (:attr:`aligned`)."""
        return self._around(*self.aligned)

    def held_billets(self, lengths: Sequence[int]) -> Pairs:
        """Return billets of such lengths that cannot be moved on to end A, since blanks at their end cannot.

        These stand against the trim or an edge, and the billet begins before that.
        """
        anchors = np.array([self.first, *(e for e in self.edges if self.first < e <= self.last)], np.int64)
        first, last = pairs(anchors, anchors[:, None] + self._blocks)
        first, last = first[last <= self.last] - self.snipe, last[last <= self.last] + self.snipe
        row, run = pairs(np.arange(len(last)), np.array(lengths, np.int64))
        good = (run <= last[row]) & (last[row] - run < first[row])
        return (last[row] - run)[good], last[row][good]

    def _around(self, start: Ints, end: Ints) -> Pairs:
        """Return the shortest billets around blanks."""
        start, end = start - self.snipe, end + self.snipe
        long = end - start >= self.shortest
        found = [(start[long], end[long]), *self._lengthened(start[~long], end[~long])]
        start, end = join(found)
        good = (start >= 0) & (end <= self.length)
        return start[good], end[good]

    def _few_stacks(self) -> Pairs:
        width = max(1, self.length // self.few_ends)
        last = {(p + span) // width: p + span for p in self.starts for span in self.spans}
        ends = np.array([end for end in last.values() if end <= self.last], np.int64)
        start, end = pairs(np.array(self._few_starts(self.few_ends), np.int64), ends)
        good = end - start >= self.spans[0]
        return start[good], end[good]

    def _lengthened(self, start: Ints, end: Ints) -> Iterator[Pairs]:
        """Yield billets just as long as the machines take in place of shorter ones, to either side."""
        kinks = np.array((0, *self.kinks, self.length), np.int64)
        begin = kinks[np.searchsorted(kinks, start, side="right") - 1]
        beyond = kinks[np.minimum(np.searchsorted(kinks, end), len(kinks) - 1)]
        low, high = np.maximum(begin, end - self.shortest), np.minimum(start, beyond - self.shortest)
        for at in (low, high):
            found = at[low <= high]
            yield found, found + self.shortest


Pairs = tuple["Ints", "Ints"]
"""Starts and ends along an offcut, one by one."""


def pairs(starts: Ints, ends: Ints) -> Pairs:
    """Return each start with every one of the ends; of (starts, ends) if they are rows for each start."""
    rows = np.broadcast_to(ends, (len(starts), ends.shape[-1]))
    return np.repeat(starts, rows.shape[1]), rows.reshape(-1)


def runs(first: Ints, stop: Ints) -> Pairs:
    """Return for each row the numbers from its first one up to where it stops: rows and numbers, one by one."""
    counts = np.maximum(stop - first, 0)
    row = np.repeat(np.arange(len(first)), counts)
    return row, np.arange(len(row)) + np.repeat(first - (np.cumsum(counts) - counts), counts)


def join(found: Sequence[Pairs]) -> Pairs:
    """Return all pairs, one after the other."""
    return np.concatenate([start for start, _ in found]), np.concatenate([end for _, end in found])
