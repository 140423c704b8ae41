"""All cuttings of an offcut within a slack of its best: the third question, asked of all four rows.

With a bound b and a plan of cost c, a better plan uses only columns whose reduced cost is below c - b. Where they can
be listed, each with no more blanks than are wanted, the integer step over them is exact. Entries with like blanks and
settings are kept once, at their best value.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

import numpy as np

from yieldplan.solve.along import finish_of, side_of
from yieldplan.solve.columns import column_of
from yieldplan.solve.drawn import WORD, cut_of, cutting_of, shortest_first
from yieldplan.solve.graph import (
    ARCS1,
    ARCS2,
    ARCS3,
    BLANK,
    STRIPS,
    Box,
    met_along,
)
from yieldplan.solve.paths import best_path, paths_within
from yieldplan.solve.places import ROW, losses
from yieldplan.solve.rows import LONG_STICK, billet_row, met_across, stick_row, strip_row

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Hashable, Iterable, Sequence

    from numpy.typing import NDArray

    from yieldplan.solve.budget import Budget
    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Column
    from yieldplan.solve.graph import Desk, Terms
    from yieldplan.solve.places import Table

Counts = tuple[int, ...]
Key = tuple[int, int]
"""Counts of all kinds in fields of :data:`FIELD` bits, and settings as bits."""

FIELD, TOP = 16, 1 << 15
"""Bits of a count, and the one that is set where a count is more than is wanted."""

NONE: Key = (0, 0)

MOST_ENTRIES = 50_000
"""Entries of one row that are listed; an offcut with more is not listed at all."""

STEP = 7e-7
"""Seconds that a pair that is looked at counts for (:class:`~yieldplan.solve.budget.Budget`)."""

ROW_STEPS, EACH, SPENT_AT_ONCE = 200, 10, 20_000
"""Pairs that listing a row, and joining a piece, count as besides; and those that are spent at a time."""


class Entry(NamedTuple):
    """One way to cut a piece: its value (scaled) and what it is in a plan."""

    value: int
    piece: Any


Entries = dict[Key, Entry]
Ints: TypeAlias = "NDArray[np.int64]"
Graph: TypeAlias = "tuple[Ints, int, Ints, Ints]"
Pieces: TypeAlias = "Callable[[int, int], tuple[int, Entries]]"
"""What the piece of an arc's label gives within a slack: the most, and its entries."""


class TooManyError(Exception):
    """There are more cuttings than are listed."""


class Listing:
    """All cuttings of a class in the graphs of a desk, at the terms given.

    None holds more of a kind than is ``wanted``; where that is empty one alone is listed, with any number of a kind. Of
    those with like counts and settings the best counts; ``apart`` are the settings that are told apart, ``told`` the
    kinds that are counted, all if None.
    """

    def __init__(
        self,
        batch: Batch,
        number: int,
        one: OffcutClass,
        terms: Terms,
        desk: tuple[Desk, Table],
        budget: Budget,
        *,
        wanted: Counts = (),
        apart: Collection[int] | None = None,
        told: Collection[int] | None = None,
    ) -> None:
        self.batch, self.number, self.one, self.terms = batch, number, one, terms
        self.desk, self.table = desk
        self.given = (one.wood, batch.shop, terms, self.desk)
        self.apart = -1 if apart is None else sum(1 << setting for setting in apart)
        self.steps, self.spent, self.budget = 0, 0, budget
        self.single, self.wanted = not wanted, wanted
        kinds = range(len(batch.blanks))
        self.places = [1 << (FIELD * kind) if told is None or kind in told else 0 for kind in kinds]
        limits = zip(wanted, self.places, strict=False)
        self.room = sum((TOP - 1 - many) * one for many, one in limits)
        self.over = 0 if self.single else sum(TOP * one for one in self.places)
        self.rows: dict[Hashable, tuple[int, int, Entries]] = {}
        self.met: dict[tuple[int, int], int] = {}
        self.cuts: dict[tuple[int, int], Entries] = {}

    def on_table(
        self, slack: int, *, rate: Callable[[Key], int] = lambda _: 0, most: int | None = None
    ) -> list[Column]:
        """Return every column within a slack of the best row of billets on the table, best first.

        ``rate`` is what a key adds to an entry's value; only the best ``most`` are returned.

        Raises
        ------
        TooManyError
            If there are too many to list, or no seconds are left for it.
        """
        one, table, batch = self.one, self.table, self.batch

        def billet(label: int, left: int) -> tuple[int, Entries]:
            start, end, bound = table.arcs[label, :3].tolist()
            return bound, self._billet(start, end, bound - left)

        graph = table.row, int(table.counts[ROW]), table.best, table.via
        found = self._within(graph, finish_of(one.wood), slack, billet)
        entries = sorted(found.items(), key=lambda item: -item[1].value - rate(item[0]))[:most]
        return [
            column_of(batch, self.number, one.names[0], tuple(cutting_of(batch, one, p) for p in entry.piece))
            for _, entry in entries
        ]

    def _joined(self, parts: Entries, more: Entries, bound: int, slack: int) -> Entries:
        """Return every pair of entries within the slack; values are by how much they fall short, below 0."""
        found: Entries = {}
        self._pair(found, parts, more, bound, slack)
        return self._thinned(found)

    def _pair(self, found: Entries, parts: Entries, more: Entries, bound: int, slack: int) -> None:
        """Add every pair of entries within the slack to those found."""
        self._count(EACH + len(parts) * len(more))
        room, over, missing = self.room, self.over, not self.terms.worth
        for (counts, settings), entry in parts.items():
            fill, least = counts + room, bound - slack - entry.value
            for (others, used), other in more.items():
                full = (fill + others) & over
                if other.value >= least and (missing or not full):
                    value = entry.value + other.value - bound
                    key = self._capped(counts + others) if full else counts + others, settings | used
                    known = found.get(key)
                    if known is None or value > known.value:
                        found[key] = Entry(value, (other.piece, *entry.piece))
        if len(found) > MOST_ENTRIES:
            raise TooManyError

    def _capped(self, counts: int) -> int:
        """Return counts without what is more than is wanted: while missing blanks are counted that may be left out."""
        held = zip(self._held(counts), self.wanted, self.places, strict=True)
        return sum(min(many, most) * one for many, most, one in held)

    def _held(self, counts: int) -> list[int]:
        """Return how many of each kind counts stand for."""
        return held_of(counts, len(self.places))

    def _thinned(self, entries: Entries) -> Entries:
        """Return the entries without those that hold no more of any kind than another, where only that counts."""
        if self.terms.worth or len(entries) < 2:
            return entries
        keys = sorted(entries, key=lambda key: -entries[key].value)
        held = np.array([self._held(counts) for counts, _ in keys])
        kept: list[int] = []
        for n, counts in enumerate(held):
            if not (held[kept] >= counts).all(axis=1).any():
                kept.append(n)
        return {keys[n]: entries[keys[n]] for n in kept}

    def _count(self, steps: int) -> None:
        """Count pairs that are looked at, and spend them from time to time."""
        self.steps += steps
        if self.steps - self.spent < SPENT_AT_ONCE:
            return
        self.budget.spend((self.steps - self.spent) * STEP)
        self.spent = self.steps
        if self.budget.out():
            raise TooManyError

    def _row(self, row: int) -> Graph:
        """Return the graph of one of the three rows of a billet."""
        desk = self.desk
        return (
            (desk.arcs1, int(desk.counts[ARCS1]), desk.best1, desk.via1),
            (desk.arcs2, int(desk.counts[ARCS2]), desk.best2, desk.via2),
            (desk.arcs3, int(desk.counts[ARCS3]), desk.best3, desk.via3),
        )[row - 1]

    def _within(self, graph: Graph, end: int, slack: int, piece: Pieces) -> Entries:
        """Return all rows of a graph within a slack of the best, like ones once; values are what they fall short."""
        arcs, count, best, via = graph
        if self.single:
            return self._best(best_path(arcs, via, end), piece)
        self._count(ROW_STEPS + count // 100)

        def follow(there: Entries | None, here: Entries, short: int, label: int) -> Entries | None:
            left = slack - short + max(entry.value for entry in here.values())
            if left < 0:
                return there
            found: Entries = {} if there is None else there
            if label < BLANK and there is None and not short:
                return here.copy()
            if label < BLANK:
                shorter = ((key, entry._replace(value=entry.value - short)) for key, entry in here.items())
                _merge(found, ((key, entry) for key, entry in shorter if entry.value >= -slack))
            else:
                bound, entries = piece(label - BLANK, left)
                self._pair(found, here, entries, bound + short, slack)
            return self._thinned(found) or None

        begin = {NONE: Entry(0, ())}
        return self._thinned(paths_within((arcs, count, best), end, slack, begin, follow) or {})

    def _best(self, labels: Sequence[int], piece: Pieces) -> Entries:
        """Return the row of these labels, each piece cut as is best."""
        (counts, settings), pieces = NONE, []
        for label in labels:
            if label >= BLANK:
                _, entries = piece(label - BLANK, 0)
                (more, used), entry = next(iter(entries.items()))
                counts, settings = counts + more, settings | used
                pieces.append(entry.piece)
        return {(counts, settings): Entry(0, tuple(pieces))}

    # -- billets and halves -----------------------------------------------------------------------------------

    def _billet(self, start: int, end: int, least: int) -> Entries:
        course, wood = self.one.course, self.one.wood
        side = side_of(course, start)
        place = (start, end)
        found = {
            key: Entry(entry.value, (place, None, (entry.piece,)))
            for key, entry in self._half(side, Box(start, end, 0, wood.width, 0, 0), least).items()
        }
        if self.single and found:
            return found
        price = int(self.terms.saw[1] + self.terms.setting)
        for at in range(course.splits[0], course.splits[1] + 1):
            low = at + course.band_kerf
            boxes = (Box(start, end, 0, at, 0, 0), Box(start, end, low, wood.width - low, 0, 0))
            tops = [max(self._top(side, box), 0) for box in boxes]
            near, far = (
                {**self._half(side, box, least + price - other), NONE: Entry(0, None)}
                for box, other in zip(boxes, tops[::-1], strict=True)
            )
            pairs = self._joined({NONE: Entry(0, ())}, far, 0, 1 << 60)
            pairs = self._joined(pairs, near, 0, 1 << 60)
            _merge(
                found,
                (
                    (key, Entry(entry.value - price, (place, int(at), entry.piece)))
                    for key, entry in pairs.items()
                    if entry.value - price >= least and key[0]
                ),
            )
        return found

    def _boxed(self, side: int, box: Box) -> Box:
        face, edge = losses(
            self.one.wood, self.batch.shop, self.one.course, side, box.end - box.start, box.width
        )
        return box._replace(face=int(face), edge=int(edge))

    def _top(self, side: int, box: Box) -> int:
        whole = self._boxed(side, box)
        self.desk.counts[STRIPS] = 0
        return max(int(self.desk.best1[billet_row(*self.given, whole, rip)]) for rip in (True, False))

    def _half(self, side: int, box: Box, least: int) -> Entries:
        box = self._boxed(side, box)
        found: Entries = {}
        for rip in (True, False):
            top, entries = self._layout(box, rip, least)
            _merge(
                found, ((key, Entry(top + one.value, (box, rip, one.piece))) for key, one in entries.items())
            )
        return found

    def _layout(self, box: Box, rip: bool, least: int) -> tuple[int, Entries]:
        """Return the most that a box gives in one layout, and its entries that give ``least``, or more of them."""
        where = self._alike(box), rip
        held = self.rows.get(where)
        if held is not None and held[1] - held[0] <= least:
            return held[1], held[2]
        self.desk.counts[STRIPS] = 0
        node = billet_row(*self.given, box, rip)
        top = int(self.desk.best1[node])
        entries = (
            {}
            if top < least
            else self._within(self._row(1), node, top - least, partial(self._strip, box, rip))
        )
        self.rows[where] = max(top - least, 0), top, entries
        return top, entries

    def _alike(self, box: Box) -> Hashable:
        """Return what boxes have in common that give the same: where no defect lies along them, their length."""
        return box if self._meets(box) else box._replace(start=-1, end=box.end - box.start)

    def _meets(self, box: Box) -> int:
        """Return the defects and limits that a box meets along x, as bits."""
        place = box.start, box.end
        if place not in self.met:
            self.met[place] = int(met_along(self.one.wood, *place))
        return self.met[place]

    # -- strips and sticks ------------------------------------------------------------------------------------

    def _across(self, box: Box, along_y: bool, low: int, high: int) -> int:
        return int(met_across(self.one.wood, self.batch.shop, box, along_y, low, high))

    def _setting(self, *settings: int) -> int:
        """Return settings as bits, but for those that need not be told apart."""
        found = 0
        for setting in settings:
            found |= 1 << setting
        return found & self.apart

    def _strip(self, box: Box, rip: bool, label: int, slack: int) -> tuple[int, Entries]:
        """Return the most that a strip gives, and its entries within the slack of that."""
        wood, shop = self.one.wood, self.batch.shop
        place, rest = divmod(label, 8)
        rank, start = divmod(place, WORD)
        second, stage = rest // 2 - 1, rest % 2 + 1
        end = start + int((wood.sizes_y if rip else wood.sizes_z)[rank])
        own = 0
        if (box.width - box.edge if rip else wood.thickness - box.face) - end > shop.plane_off:
            height = wood.thickness if rip else box.width
            saw = int((wood.saw_y if rip else wood.saw_z)[rank])
            own = self._setting(4 * saw + 2 * (height > shop.saw_depth))
        meets = self._meets(box)
        meets = meets and meets & self._across(box, rip, start, end)
        top, inside = self._inside(box, rip, (rank, meets, second, stage), slack)
        return top, {
            (counts, settings | own): Entry(entry.value, (start, end, entry.piece))
            for (counts, settings), entry in inside.items()
            if entry.value >= top - slack
        }

    def _inside(
        self, box: Box, rip: bool, strip: tuple[int, int, int, int], slack: int
    ) -> tuple[int, Entries]:
        """Return the most that the sticks of a strip give, and their entries; those of a wider slack do as well."""
        where = self._alike(box), rip, strip
        held = self.rows.get(where)
        if held is not None and held[0] >= slack:
            return held[1], held[2]
        wood, (_, meets, second, stage) = self.one.wood, strip
        node = strip_row(*self.given, box, rip, strip)
        top = int(self.desk.best2[node])
        room = wood.thickness - box.face if rip else box.width - box.edge

        def stick(label: int, left: int) -> tuple[int, Entries]:
            number, low = divmod(label, WORD)
            high = low + int(wood.types[number, 1 if rip else 0])
            settings = [int(wood.types[number, 6]), int(wood.types[number, 7])]
            if room - high > self.batch.shop.plane_off:
                saws = (wood.saw_z, 5) if rip else (wood.saw_y, 4)
                settings.append(4 * int(saws[0][wood.types[number, saws[1]]]) + 2 * second + stage - 1)
            used = self._setting(*settings)
            met = meets and meets & self._across(box, not rip, low, high)
            bound, entries = self._stick(box, number, met, left)
            return bound, {
                (counts, used): Entry(entry.value, (number, low, high, entry.piece))
                for (counts, _), entry in entries.items()
            }

        rows = self._within(self._row(2), node, slack, stick)
        found = {key: entry._replace(value=top + entry.value) for key, entry in rows.items()}
        self.rows[where] = slack, top, found
        return top, found

    def _stick(self, box: Box, number: int, meets: int, slack: int) -> tuple[int, Entries]:
        """Return the most that a stick gives, and the cuts of its entries; those of a wider slack do as well.

        Cuts are measured from the start of the box.
        """
        wood = self.one.wood
        meets &= self._meets(box)
        length = box.end - box.start
        where = (box.start, length, number, meets) if meets else (length, number)
        held = self.rows.get(where)
        if held is not None and held[0] >= slack:
            return held[1], held[2]
        flawed = meets & ((1 << len(wood.defects)) - 1)
        node = stick_row(*self.given, number, meets, box.start, box.end, not flawed or length < LONG_STICK)
        top = int(self.desk.best3[node])

        def blank(label: int, _: int) -> tuple[int, Entries]:
            if (label, box.start) not in self.cuts:
                cut = cut_of(self.one, label, box.start)
                self.cuts[label, box.start] = {(self.places[cut[2]], 0): Entry(0, cut)}
            return 0, self.cuts[label, box.start]

        found: Entries = {}
        for key, entry in self._within(self._row(3), node, slack, blank).items():
            cuts = list(entry.piece)
            if not meets:
                cuts = shortest_first(cuts, self.batch.shop.stick_trim, self.batch.shop.cross_kerf)
            found[key] = Entry(top + entry.value, cuts)
        self.rows[where] = slack, top, found
        return top, found


def held_of(counts: int, kinds: int) -> list[int]:
    """Return how many of each kind counts of a key stand for."""
    return [counts >> FIELD * kind & (1 << FIELD) - 1 for kind in range(kinds)]


def _merge(found: Entries, more: Iterable[tuple[Key, Entry]]) -> None:
    for key, entry in more:
        known = found.get(key)
        if known is None or entry.value > known.value:
            found[key] = entry
    if len(found) > MOST_ENTRIES:
        raise TooManyError
