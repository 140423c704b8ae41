"""Which billets of an offcut are tried: the shortest ones, and those drawn out for the sake of leftovers."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import edge_loss, face_loss
from yieldplan.solve.positions import (
    MANY,
    MOST_BILLETS,
    Along,
    NoRoomError,
    across,
    among,
    distinct,
    join,
    pairs,
    runs,
)
from yieldplan.solve.room import Room

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.solve.kernel import Flags, Ints
    from yieldplan.solve.positions import Pairs
    from yieldplan.solve.stock import StickKind

NOTHING = (np.empty(0, np.int64), np.empty(0, np.int64))


def pushed_both_ways(
    offcut: Offcut,
    blanks: Sequence[Blank],
    shop: Shop,
    room: Room | None = None,
    *,
    few: bool = False,
    drawn: Sequence[int] = (),
    spared: Sequence[int] = (),
    remainder: int = 0,
    critical: Sequence[int] = (),
) -> tuple[Along, Along]:
    """Return the blanks pushed towards end A, and those pushed towards end B (seen from end B).

    ``few`` says that only some of their places are to be tried. ``drawn``, ``spared``, ``remainder``, ``critical``: see
    :class:`yieldplan.solve.positions.Along`; without edges, nor more trim than snipe, no whole keeper need be spared.
    """
    room = room or Room()
    most_starts = room.starts(len(blanks))
    spans = tuple(sorted({blank.length + shop.length_allowance for blank in blanks}))
    first = max(shop.end_trim, shop.snipe)

    def along(far_edges: list[tuple[int, str]], kinks: list[int]) -> Along:
        # A billet begins at a kink, or a kerf after one that ends there.
        edges = {kink + gap + shop.snipe for kink in kinks for gap in (0, shop.crosscut_kerf)}
        edges |= {edge for edge, _ in far_edges}
        beyond = {
            edge - (blank.length + shop.length_allowance) + blank.clear_end
            for edge, kind in far_edges
            for blank in blanks
            if blank.clear_end and blank.allows_kind(kind)
        }
        many = len(beyond) > most_starts
        if not many:
            edges |= beyond
        return Along(
            length=offcut.length,
            spans=spans,
            kerf=shop.crosscut_kerf,
            snipe=shop.snipe,
            shortest=shop.shortest_machined_length,
            first=first,
            edges=tuple(sorted(edges)),
            kinks=tuple(sorted(kinks)),
            drawn=tuple(drawn),
            spared=tuple(spared) if edges or first > shop.snipe else (),
            remainder=remainder,
            critical=tuple(critical),
            most_starts=most_starts,
            few_ends=room.ends(),
            few=few or many,
        )

    return (
        along([(d.x2, d.kind) for d in offcut.defects], list(offcut.kinks)),
        along(
            [(offcut.length - d.x1, d.kind) for d in offcut.defects],
            [offcut.length - kink for kink in offcut.kinks],
        ),
    )


class Billets(NamedTuple):
    """Billets to try, sorted: (n,) from and to, and whether they are ``pushed``, ``held`` and ``lean``.

    ``pushed`` says that one starts where the one before it ends, or at an edge or defect, as those do that were found
    from end A; ``held`` that a whole keeper before it can be no longer, since it was found from end B or not so. Where
    leftovers count for nothing ``lean`` ones are enough: those as short as may be.
    """

    start: Ints
    end: Ints
    pushed: Flags
    held: Flags
    lean: Flags

    def shortest(self, most: int) -> Billets:
        """Return so many of them, the shortest ones."""
        if len(self.start) <= most:
            return self
        some = np.sort(np.lexsort((self.start, self.end - self.start))[:most])
        return Billets(self.start[some], self.end[some], self.pushed[some], self.held[some], self.lean[some])


def find_billets(
    from_a: Along,
    from_b: Along,
    *,
    merging: bool,
    lengths: Sequence[int] | None,
    thorough: bool,
    most: int = MOST_BILLETS,
) -> Billets:
    """Return the billets to try, in steps.

    For leftovers billets are drawn out: to certain lengths, to the ends of the offcut, and to neighbours at a defect.
    Where the search is thorough also until a remainder behind their blanks is long enough to be kept, and to any
    neighbour: where it comes to lie is told from end A on one side of a billet and from end B on the other (without
    defects only the last billet is drawn out so). Where starts are thinned out, they are drawn out to defects alone.

    Parameters
    ----------
    from_a, from_b
        See :func:`pushed_both_ways`; without defects one side is enough, since a mirrored plan is as good.
    merging
        Whether a billet split in two never yields more, so that only those of the first start are needed.
    lengths
        To which billets are drawn out; None where leftovers cannot be worth anything.
    thorough
        Whether to try them all.
    most
        How many there may be, unless starts are thinned out.

    Raises
    ------
    NoRoomError
        If there are several times more.
    """
    shortest = join(
        [from_a.billets([from_a.first] if merging else from_a.close, most), from_a.aligned_billets()]
    )
    near, far = join([shortest, from_a.billets(from_a.beyond, most)]), NOTHING
    if from_a.edges:
        far = join([from_b.billets([*from_b.close, *from_b.beyond], most), from_b.aligned_billets()])
    far = from_a.length - far[1], from_a.length - far[0]
    onwards, back = NOTHING, NOTHING
    if lengths is not None:
        onwards, back = _drawn_out(
            *(from_a, from_b, near, far, () if from_a.thinned else lengths), thorough=thorough, most=most
        )
    begun = np.array([start - from_a.snipe for start in from_a.starts], np.int64)
    from_end_a, from_end_b = _coded(from_a, join([near, onwards])), _coded(from_a, join([far, back]))
    found = distinct(np.concatenate([from_end_a, from_end_b]))
    start, end = found // BASE, found % BASE
    pushed = among(found, from_end_a) & among(start, begun)
    lean = among(found, _coded(from_a, shortest)) | from_a.thinned
    return Billets(start, end, pushed, among(found, from_end_b) | ~pushed, lean)


def whole_billet(length: int) -> Billets:
    """Return the one billet to try where every other is part of it, and nothing that is left can be kept."""
    yes = np.ones(1, bool)
    return Billets(np.zeros(1, np.int64), np.full(1, length), yes, ~yes, yes)


BASE = 1 << 32
"""Starts and ends become one number; no offcut is as long."""


def _coded(along: Along, billets: Pairs) -> Ints:
    """Return those of the billets that can be milled and hold a blank, as start * BASE + end."""
    start, end = billets
    good = (start >= 0) & (end <= along.length) & (end - start >= along.least)
    for kink in along.kinks:
        good &= (kink <= start) | (end <= kink)
    return start[good] * BASE + end[good]


def _drawn_out(
    from_a: Along,
    from_b: Along,
    near: Pairs,
    far: Pairs,
    lengths: Sequence[int],
    *,
    thorough: bool,
    most: int,
) -> tuple[Pairs, Pairs]:
    """Return the billets that are drawn out, as found from end A and from end B."""
    length, offset = from_a.length, from_a.snipe + from_a.kerf
    stops = {length, *from_a.kinks, *(e - offset for e in from_a.edges)}
    begins = {0, *from_a.kinks, *(length - e + offset for e in from_b.edges)}
    onwards, back = [(np.zeros(1, np.int64), np.full(1, length))], [NOTHING]
    if from_a.remainder and not from_a.thinned:
        more = from_a.remainder + from_a.kerf - from_a.snipe
        onwards.append((near[0], near[1] + more))
        back.append((far[0] - more, far[1]))
    start, end = map(distinct, join([near, far, *onwards, *back]))
    starts = distinct([0, *from_a.kinks, *(start - from_a.snipe for start in from_a.starts)])
    ends = np.array([length])
    if from_a.edges:
        ends = distinct([length, *from_a.kinks, *(length - s + from_a.snipe for s in from_b.starts)])
    onwards += [pairs(start, np.array(sorted(stops))), *((starts, starts + run) for run in lengths)]
    back += [pairs(np.array(sorted(begins)), end), *((ends - run, ends) for run in lengths)]
    if thorough and not from_a.thinned:
        back.append(from_a.held_billets(lengths))
        ends = distinct(np.concatenate([ends, back[-1][0] - from_a.kerf]))
        first = np.searchsorted(ends, starts + from_a.least)
        if (len(ends) - first).sum() > MANY * most:
            raise NoRoomError
        row, at = runs(first, np.full_like(first, len(ends)))
        onwards.append((starts[row], ends[at]))
    return join(onwards), join(back)


def critical_lengths(
    offcut: Offcut, shop: Shop, sticks: Sequence[StickKind], most: int = MOST_BILLETS
) -> list[int]:
    """Return the billet lengths just before a strip, stick or leftover stops fitting, in steps (R3).

    The box shrinks with the length; each of these is the longest billet at which some row of pieces still
    fits across, or still clears a defect that straightening moves towards it. Where no saw reaches through, also the
    shortest at which a piece fills it. And the lengths at which worth begins, and ends, to grow: the keeper length, and
    the full one.

    Raises
    ------
    NoRoomError
        If more than ``most`` rows of pieces would have to be looked at.
    """
    shortest = shop.shortest_machined_length
    found = {shop.keeper_length, shop.full_length}
    axes = (
        (
            offcut.width,
            offcut.thickness,
            edge_loss,
            {s.across_y for s in sticks},
            {d.y1 for d in offcut.defects},
            {d.y2 - shop.edge_skim for d in offcut.defects},
        ),
        (
            offcut.thickness,
            offcut.width,
            face_loss,
            {s.across_z for s in sticks},
            {d.z1 for d in offcut.defects},
            {d.z2 - shop.face_skim for d in offcut.defects},
        ),
    )
    for size, height, loss, pieces, edges, beyond in axes:
        kerfs = {shop.kerf_at(height), *(shop.kerf_at(p) for s in sticks for p in (s.across_y, s.across_z))}
        ends = (*pieces, shop.keeper_width, shop.keeper_thickness)
        fewest = most // (len(ends) * (len(edges) + 1) * len(offcut.sides))
        rows = [across(beyond, sorted(pieces), kerf or 0, size, fewest) for kerf in kerfs - {None}]
        if max(map(len, rows), default=0) > fewest:
            raise NoRoomError
        used = {p + piece for row in rows for p in row for piece in ends}
        for begin, end in offcut.sides:
            longest = end - begin
            low, high = loss(offcut, shortest, shop, begin), loss(offcut, longest, shop, begin)
            for room in {far - u for u in used for far in (size, *edges)}:
                if low <= room <= high:
                    found.add(_longest(_within(offcut, shop, loss, room, begin), shortest, longest))
                if None in kerfs and low < room <= high:  # it must fill the box: the shortest that does
                    found.add(_longest(_within(offcut, shop, loss, room - 1, begin), shortest, longest) + 1)
    return sorted(run for run in found if shortest <= run <= offcut.length)


def _within(
    offcut: Offcut, shop: Shop, loss: Callable[[Offcut, int, Shop, int], int], room: int, begin: int
) -> Callable[[int], bool]:
    return lambda run: loss(offcut, run, shop, begin) <= room


def _longest(fits: Callable[[int], bool], low: int, high: int) -> int:
    """Return the largest value of low..high that fits; ``low`` does, and fitting only ever ends."""
    while low < high:
        middle = (low + high + 1) // 2
        if fits(middle):
            low = middle
        else:
            high = middle - 1
    return low
