"""Which billets of an offcut are tried: the shortest ones, and those drawn out for the sake of leftovers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import edge_loss, face_loss
from yieldplan.solve.positions import MOST_BILLETS, Along, NoRoomError, across
from yieldplan.solve.room import Room

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.solve.stock import StickKind


def pushed_both_ways(
    offcut: Offcut, blanks: Sequence[Blank], shop: Shop, room: Room | None = None, *, few: bool = False
) -> tuple[Along, Along]:
    """Return the blanks pushed towards end A, and those pushed towards end B (seen from end B).

    ``few`` says that only some of their places are to be tried.
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


def find_billets(
    from_a: Along,
    from_b: Along,
    *,
    merging: bool,
    lengths: Sequence[int] | None,
    most: int = MOST_BILLETS,
) -> list[tuple[int, int, bool, bool]]:
    """Return the sorted (from, to, pushed, lean) of every billet to try, in steps.

    ``pushed`` says that it starts where the one before it ends, or at an edge or defect: all but those that
    were pushed towards end B or drawn out. Where leftovers count for nothing ``lean`` ones are enough.

    Parameters
    ----------
    from_a, from_b
        See :func:`pushed_both_ways`; without defects one side is enough, since a mirrored plan is as good.
    merging
        See :meth:`yieldplan.solve.positions.Along.billets`.
    lengths
        Lengths to which billets are drawn out for the sake of leftovers (where starts are thinned out, they are drawn
        out to the ends and to defects alone); None where there can be none.
    most
        How many there may be, unless starts are thinned out.

    Raises
    ------
    NoRoomError
        If there are more.
    """
    length = from_a.length
    near = from_a.billets(merging=merging, most=most)
    far = set()
    if from_a.edges:
        far = {(length - b, length - a) for a, b in from_b.billets(merging=merging, most=most)}
    found = near | far
    if lengths is not None:
        offset = from_a.snipe + from_a.kerf
        stops = {length, *from_a.kinks, *(e - offset for e in from_a.edges)}
        begins = {0, *from_a.kinks, *(length - e + offset for e in from_b.edges)}
        runs = () if from_a.thinned else lengths
        for a, b in near | far:
            found |= {(a, stop) for stop in stops if stop > b} | {(begin, b) for begin in begins if begin < a}
            found |= {(a, a + run) for run in runs if a + run > b}
            found |= {(b - run, b) for run in runs if b - run < a}
            if len(found) > 4 * most and not from_a.thinned:
                raise NoRoomError
        found |= {(0, length)}
    least = max(from_a.shortest, from_a.spans[0] + 2 * from_a.snipe)
    begun = {start - from_a.snipe for start in from_a.starts}
    return sorted(
        (a, b, (a, b) in near and a in begun, (a, b) in near or from_a.thinned)
        for a, b in found
        if a >= 0 and b <= length and b - a >= least and not any(a < kink < b for kink in from_a.kinks)
    )


def critical_lengths(
    offcut: Offcut, shop: Shop, sticks: Sequence[StickKind], most: int = MOST_BILLETS
) -> list[int]:
    """Return the billet lengths just before a strip, stick or leftover stops fitting, in steps (R3).

    The box shrinks with the length; each of these is the longest billet at which some row of pieces still
    fits across, or still clears a defect that straightening moves towards it.

    Raises
    ------
    NoRoomError
        If more than ``most`` rows of pieces would have to be looked at.
    """
    shortest = shop.shortest_machined_length
    found = {shop.keeper_length}
    axes = (
        (
            offcut.width,
            offcut.thickness,
            edge_loss,
            {s.across_y for s in sticks},
            {d.y1 for d in offcut.defects},
        ),
        (
            offcut.thickness,
            offcut.width,
            face_loss,
            {s.across_z for s in sticks},
            {d.z1 for d in offcut.defects},
        ),
    )
    for size, height, loss, pieces, edges in axes:
        kerfs = {shop.kerf_at(height), *(shop.kerf_at(p) for s in sticks for p in (s.across_y, s.across_z))}
        ends = (*pieces, shop.keeper_width, shop.keeper_thickness)
        fewest = most // (len(ends) * (len(edges) + 1) * len(offcut.sides))
        rows = [across((), sorted(pieces), kerf or 0, size, fewest) for kerf in kerfs - {None}]
        if max(map(len, rows), default=0) > fewest:
            raise NoRoomError
        used = {p + piece for row in rows for p in row for piece in ends}
        for begin, end in offcut.sides:
            longest = end - begin
            low, high = loss(offcut, shortest, shop, begin), loss(offcut, longest, shop, begin)
            for room in {far - u for u in used for far in (size, *edges)}:
                if low <= room < high:
                    found.add(_longest(_within(offcut, shop, loss, room, begin), shortest, longest))
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
