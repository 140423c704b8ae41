"""Billets that are split before jointing: where splits are tried, and the halves as billets of their own (R2, R3).

Halves follow the billets in one table (:data:`yieldplan.solve.kernel.ARC`), so that the kernels value them like any
billet. What fits into two halves of one length fits for a whole range of splits: the near half's row of pieces asks
for at least so much, and so does the far one's depth; the other two limits are from above. So it is enough to try,
for each length, where a row across the near half, or a depth of the far one, begins to fit, and the first place of all.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import replace
from functools import cache, partial
from itertools import pairwise
from operator import neg
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import edge_loss, face_loss, halves, split_range
from yieldplan.solve.positions import across, first_rooted, numbered

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Defect, Offcut, Shop
    from yieldplan.solve.kernel import Ints, Records
    from yieldplan.solve.stock import StickKind

MOST_SPLITS, MORE_SPLITS = 16, 64
"""Splits tried of a billet at the most, at first and for the bound; of more they are thinned out, which only the bound
has to make good."""

MOST_HALVES = 16000
"""Halves at an offcut, about; where there would be more, fewer splits of each billet are tried."""


class Case(NamedTuple):
    """Wood for which positions across are wanted: its width, the height of its resaws, its defects in its own frame."""

    width: int
    height: int
    defects: tuple[Defect, ...]


class Half(NamedTuple):
    """A half of some length: how wide, where it begins across, E, F, and F at the shortest machined length.

    ``wider`` and ``deeper`` is how much larger its box may be at a split before the next tried one.
    """

    width: int
    shift: int
    edge: int
    face: int
    least: int
    wider: int = 0
    deeper: int = 0


Pair = tuple[Half, Half]


class Splits:
    """Where billets of one offcut are split.

    Parameters
    ----------
    offcut, shop, sticks
        The offcut, and what it can give.
    keepers
        Whether a strip, layer or stick may be kept: then splits at which halves fit from the other side count too.
    """

    def __init__(self, offcut: Offcut, shop: Shop, sticks: Sequence[StickKind], *, keepers: bool) -> None:
        self.offcut, self.shop, self.keepers = replace(offcut, defects=()), shop, keepers
        self.range = split_range(offcut, shop)
        self._halves = cache(partial(halves, self.offcut, shop=shop))
        self._edge = cache(partial(edge_loss, self.offcut, shop=shop))
        self._least_faces = cache(partial(self._faces, length=shop.shortest_machined_length))
        self.bent = offcut.bent
        self._sticks, self._defects = sticks, offcut.defects
        self.thinned = False

    def places(self, lengths: Iterable[int], most: int) -> list[int]:
        """Return where billets are split, about ``most`` places: those that matter at some lengths, and the first.

        So are those at which another saw takes the resaws of a half.
        """
        shop, offcut, marks = self.shop, self.offcut, self.range
        if len(marks) <= most:
            return list(marks)
        rest, defects = offcut.width - shop.bandsaw_kerf, self._defects
        y, z = {s.across_y for s in self._sticks}, {s.across_z for s in self._sticks}
        rows = partial(_rows, shop=shop, keepers=self.keepers)
        near_rows = rows(y, [d.y2 - shop.edge_skim for d in defects], limit=offcut.width)
        far_sides = {0, *(offcut.width - d.y1 for d in defects)}
        far_rows = {row + far for row in rows(y, (), limit=offcut.width) for far in far_sides if self.keepers}
        faced = [d for d in defects if not d.through]
        deep = rows(z, [d.z2 - shop.face_skim for d in faced], limit=offcut.thickness)
        rooms = {far - row for row in deep for far in (offcut.thickness, *(d.z1 for d in faced))}
        saws = (shop.saw_depth, shop.bandsaw_height)
        fixed = {marks[0], *(self._at_least(rest - reach) for reach in saws)}
        fixed |= {self._at_least(reach + 1) for reach in saws}
        found = {marks[-1], marks[len(marks) // 2]} if self.keepers else set()
        for length in lengths:
            edge = edge_loss(offcut, length, shop)
            faces = [self._faces(at, length) for at in marks]  # the near half's grow, the far one's fall
            near, far = zip(*faces, strict=True)
            found |= {self._at_least(edge + row) for row in near_rows}
            found |= {self._mark(bisect_left(far, -room, key=neg)) for room in rooms}
            if self.keepers:
                found |= {self._at_most(rest - edge - row) for row in far_rows}
                found |= {self._mark(bisect_right(near, room) - 1) for room in rooms}
        tried = sorted(found - {-1})
        if len(tried) > most:
            self.thinned = True
            tried = [tried[round(i * (len(tried) - 1) / (most - 1))] for i in range(most)]
        return sorted({*tried, *fixed} - {-1})

    def pairs(self, length: int, tried: Sequence[int]) -> list[Pair]:
        """Return the halves of billets of a length at each place, with how much larger they are up to the next."""
        found = []
        for at, after in pairwise((*tried, self.range[-1] + self.range.step)):
            (near, far), (wide, thin) = self._both(at, length), self._both(after - self.range.step, length)
            found.append(
                (
                    near._replace(wider=wide.width - near.width),
                    far._replace(deeper=max(0, far.face - thin.face)),
                )
            )
        return found

    def covers(self, straightest: int, tried: Sequence[int]) -> list[Pair]:
        """Return for each of the places halves that hold what those do of every place from it up to the next one.

        Their losses are those of the billet of length ``straightest``: of no tried one that is longer.
        """
        return [
            (
                near._replace(width=near.width + near.wider, wider=0),
                far._replace(face=far.face - far.deeper, deeper=0),
            )
            for near, far in self.pairs(straightest, tried)
        ]

    def _both(self, at: int, length: int) -> Pair:
        near, far = self._halves(at)
        edge, (face, other), (least, least_other) = (
            self._edge(length),
            self._faces(at, length),
            self._least_faces(at),
        )
        return (
            Half(near.width, 0, edge, face, least),
            Half(far.width, self.offcut.width - far.width, edge, other, least_other),
        )

    def _faces(self, at: int, length: int) -> tuple[int, int]:
        near, far = self._halves(at)
        return face_loss(near, length, self.shop), face_loss(far, length, self.shop)

    def _mark(self, index: int) -> int:
        """Return the place with this number, -1 where there is none."""
        return self.range[index] if 0 <= index < len(self.range) else -1

    def _at_least(self, size: int) -> int:
        """Return the first place at or beyond ``size``, -1 where there is none."""
        at = max(self.range[0], -(-size // self.range.step) * self.range.step)
        return at if at <= self.range[-1] else -1

    def _at_most(self, size: int) -> int:
        at = min(self.range[-1], size // self.range.step * self.range.step)
        return at if at >= self.range[0] else -1


def _rows(sizes: set[int], anchors: Sequence[int], *, shop: Shop, limit: int, keepers: bool) -> set[int]:
    """Return how far rows of pieces reach from a side, or past a defect; with a least keeper too, if asked."""
    last = {*sizes, *((shop.keeper_width, shop.keeper_thickness) if keepers else ())}
    return {
        place + size
        for kerf in (shop.rip_kerf, shop.bandsaw_kerf)
        for place in across(anchors, sorted(sizes), kerf, limit)
        for size in last
        if place + size <= limit
    }


def straighter(start: Ints, end: Ints) -> Ints:
    """Return for each billet one more than the next shorter one at its start or its end is long; its own where none is.

    Billets of lengths in between are straighter than it, but not straighter than that.
    """
    length = end - start
    found = length.copy()
    for fixed in (start, end):
        order = np.lexsort((length, fixed))
        for one, other in pairwise(order.tolist()):
            if fixed[one] == fixed[other] and length[one] < length[other]:
                found[other] = min(found[other], length[one] + 1)
    return found


def with_halves(
    arcs: Records, cases: Sequence[Case], offcut: Offcut, shop: Shop, pairs: Sequence[Ints]
) -> tuple[Records, list[Case]]:
    """Return the billets with the halves of those that are split behind them, and the cases of both.

    ``pairs`` are those of each billet, as many for each: (splits, 2, fields of :class:`Half`).
    """
    billets, splits = len(arcs), len(pairs[0])
    if not splits:
        return arcs, list(cases)
    book = _Cases(offcut, shop, list(cases))
    behind = np.repeat(arcs, splits)
    found = np.concatenate([arcs, behind, behind]).view(np.recarray)
    low = billets + splits * np.arange(billets)
    found.low[:billets], found.high[:billets] = low, low + splits
    figures = np.array(pairs, np.int64).transpose(2, 0, 1, 3).reshape(-1, len(Half._fields))
    halves_too = slice(billets, None)
    for name, column in zip(Half._fields, figures.T, strict=True):
        found[name][halves_too] = column
    found.gain_face[halves_too] = 2.0  # a step each for bow and twist
    run = found.end[halves_too] - found.start[halves_too]
    found.shorter[halves_too] = run  # at their own length, before rounding
    crook = offcut.crook * (run / offcut.length) ** 2
    found.gain_edge[halves_too] = np.maximum(0.0, found.edge[halves_too] - shop.edge_skim - crook) + 1e-9
    found.along[halves_too] = np.tile(np.repeat(np.arange(billets), splits), 2)
    found.twin[billets : billets + len(behind)] = np.arange(billets + len(behind), len(found))
    looked = [
        book.look_up(wide, shift, met)
        for wide, shift, met in zip(
            found.width[halves_too].tolist(),
            found.shift[halves_too].tolist(),
            found.relevant[halves_too].tolist(),
            strict=True,
        )
    ]
    for name, values in zip(("relevant", "case", "clean"), zip(*looked, strict=True), strict=True):
        found[name][halves_too] = values
    _set_models(found, billets)
    return found, book.cases


def _set_models(arcs: Records, billets: int) -> None:
    """Fill in the models of halves: of those of one size, of billets with one model, the first of a rooted one."""
    halves_too = slice(billets, None)
    columns = [
        np.asarray(arcs[name][halves_too]) for name in ("width", "edge", "face", "least", "wider", "deeper")
    ]
    like = numbered(arcs.model[arcs.along[halves_too]], *columns)
    arcs.model[halves_too] = first_rooted(like, arcs.rooted[halves_too], np.arange(billets, len(arcs)))


class _Cases:
    """Numbers the cases of halves."""

    def __init__(self, offcut: Offcut, shop: Shop, cases: list[Case]) -> None:
        self.offcut, self.shop, self.cases = offcut, shop, cases
        self.known: dict[object, int] = {shop.kerf_at(offcut.width): 0}
        self.halves: dict[tuple[int, int, int], tuple[int, int, int]] = {}

    def look_up(self, width: int, shift: int, relevant: int) -> tuple[int, int, int]:
        """Return the defects that a half meets, its case with them, and its case without any."""
        key = (width, shift, relevant)
        if key not in self.halves:
            self.halves[key] = self._look_up(*key)
        return self.halves[key]

    def _look_up(self, width: int, shift: int, relevant: int) -> tuple[int, int, int]:
        clean = self._number(self.shop.kerf_at(width), Case(self.offcut.width, width, ()))
        high = shift + width
        met, placed = 0, []
        for index, d in enumerate(self.offcut.defects):
            if relevant >> index & 1 and d.y1 < high and shift < d.y2:
                met |= 1 << index
                if not (d.through and d.y1 <= shift and d.y2 >= high):
                    placed.append(index)
        if not placed:
            return met, clean, clean
        defects = tuple(
            replace(d, y1=d.y1 - shift, y2=d.y2 - shift) for d in (self.offcut.defects[i] for i in placed)
        )
        return met, self._number((width, shift, *placed), Case(width, width, defects)), clean

    def _number(self, key: object, case: Case) -> int:
        if key not in self.known:
            self.known[key] = len(self.cases)
            self.cases.append(case)
        return self.known[key]
