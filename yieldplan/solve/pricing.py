"""The best cutting of an offcut class at given prices, as a column; exact, charges for settings among it.

A setting that a class is charged for costs its charge once, however many passes use it, so the charges do not lie on
the arcs. Branching: the best cutting with all settings free uses some charged ones; either one of these is paid for,
or it is not allowed.
"""

from __future__ import annotations

import heapq
from contextlib import contextmanager
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.solve.along import best_offcut, exact_value, side_of
from yieldplan.solve.budget import ARC, Budget
from yieldplan.solve.costing import column_of
from yieldplan.solve.drawn import cutting_of
from yieldplan.solve.graph import (
    BLANK,
    SCALE,
    STATES,
    STRIPS,
    WORK,
    Box,
    Desk,
    met_along,
)
from yieldplan.solve.paths import NEVER, best_path
from yieldplan.solve.places import BILLETS, CURTAILED, Table, losses
from yieldplan.solve.rows import (
    LONG_STICK,
    MOST_HELD,
    MOST_RUNS,
    billet_row,
    met_across,
    stick_row,
    strip_row,
)
from yieldplan.solve.tables import fill_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Column
    from yieldplan.solve.drawn import Cut, Half, Sawn, SawnStrip
    from yieldplan.solve.graph import Terms

    Ints = NDArray[np.int64]

MOST_BILLETS = 60_000
"""Billets that are tried of one offcut; where there would be more, its places get a grain twice as coarse."""

NEAR = 1000
"""One part in so many of an offcut's cost is near enough to the best that it gives."""

MOST_EDGES = 4096
"""Edges of defects and ring limits that are noted along a row."""

WORD = 1 << 31
"""Labels hold a rank and a place: rank x WORD + place."""


class Found(NamedTuple):
    """The best of a class at prices: a bound of what it gives (scaled), and the best column found, if any.

    ``exact``: the column gives that much, or the bound is no more than was asked to be enough.
    """

    value: int
    column: Column | None
    exact: bool


def new_desk(classes: Sequence[OffcutClass]) -> tuple[Desk, Table]:
    """Return room to work in that is large enough for every class."""
    across = max((max(c.wood.width, c.wood.thickness) for c in classes), default=1) + 8
    sizes = max(
        (max(len(c.wood.sizes_y), len(c.wood.sizes_z), len(c.wood.types)) for c in classes), default=1
    )
    length = max((c.wood.length for c in classes), default=1) + 8
    kinds = max((int((c.wood.fits >= -1).sum(axis=1).max()) for c in classes), default=1)

    def graph(room: int, pieces: int) -> tuple[Ints, Ints, Ints]:
        nodes = STATES * (room + 3)
        return (
            np.zeros((nodes * (pieces + 3) + 8192, 4), np.int64),
            np.zeros(nodes, np.int64),
            np.zeros(nodes, np.int64),
        )

    def room(*shape: int) -> Ints:
        return np.zeros(shape, np.int64)

    long = length + 8
    rows = (*graph(across, sizes), *graph(across, sizes), *graph(length, kinds))
    desk = Desk(
        *rows,
        kept1=room(across + 8),
        kept2=room(across + 8),
        kept3=room(long),
        next1=room(across + 8),
        next2=room(across + 8),
        next3=room(long),
        ends=room(max(across, length) + 8),
        edges=room(2, MOST_EDGES),
        reach=room(long),
        run_keys=room(MOST_RUNS, 4),
        runs=room(MOST_RUNS, long),
        strip_keys=room(MOST_HELD, 2),
        strip_values=room(MOST_HELD),
        stick_keys=room(MOST_HELD, 4),
        stick_values=room(MOST_HELD),
        last1=room(sizes + 1, 2),
        last2=room(sizes + 1, 2),
        counts=room(16),
    )
    table = Table(
        arcs=room(MOST_BILLETS, 4),
        first=room(long),
        after=room(MOST_BILLETS),
        fixed=room(long),
        row=room(3 * MOST_BILLETS + 2 * long, 4),
        best=room(2 * long),
        via=room(2 * long),
        flags=room(long),
        by_length=room(long, 2),
        lengths=room(long),
        counts=room(8),
    )
    return desk, table


class Pricer:
    """Answers, class by class, what is best at the prices it was last given."""

    def __init__(self, batch: Batch, classes: list[OffcutClass]) -> None:
        self.batch, self.classes = batch, classes
        self.desk, self.table = new_desk(classes)
        shop = batch.job.shop
        self._spans = np.array(
            [(b.length + shop.length_allowance) // shop.mark for b in batch.blanks], np.int64
        )
        size = (len(batch.tables), batch.longest + 2)
        self.clean, self.steps = np.zeros(size, np.int64), np.zeros(size, np.int64)
        self._tables = [
            (np.array(kinds, np.int64), np.array(section, np.int64)) for kinds, section in batch.tables
        ]
        self._scratch = np.zeros(batch.longest + 2, np.int64)
        self.prices = np.zeros(len(batch.blanks), np.int64)
        self.terms = batch.terms(self.prices, (self.clean, self.steps))
        self.budget, self.limits = Budget(seconds=float("inf")), (1 << 60, 1 << 60)
        self.columns: list[Column] = []

    def set_prices(self, prices: Ints, *, missing: bool = False, most: Ints | None = None) -> None:
        """Take the prices of the kinds, scaled; ``most`` is how many of a kind one stick may hold (any if left out).

        While only ``missing`` blanks are counted, wood and work cost nothing.
        """
        self.prices = prices
        self.terms = self.batch.terms(prices, (self.clean, self.steps), missing=missing)
        self._most = np.full(len(prices), 1 << 30, np.int64) if most is None else most
        self._fill(range(len(self._tables)), prices)

    def _fill(self, rows: Iterable[int], prices: Ints) -> None:
        """Fill tables of clean sticks anew."""
        for row in rows:
            kinds, section = self._tables[row]
            fill_table(
                self.batch.shop,
                self.terms,
                self._spans[kinds],
                prices[kinds],
                self._most[kinds],
                section,
                self._scratch,
                self.clean[row],
                self.steps[row],
            )

    def limit(self, budget: Budget, looks: int = 1 << 60) -> None:
        """Look closely at so many billets of an offcut at most, and no longer than a budget lasts, which is spent."""
        self.budget = budget
        self.limits = looks, self.work + int(max(budget.left, 0) / ARC)

    @property
    def work(self) -> int:
        """How many nodes and arcs have been looked at."""
        return int(self.desk.counts[WORK])

    def base(self, number: int) -> int:
        """Return what drawing an offcut of a class costs, scaled; nothing while only missing blanks are counted."""
        return self.classes[number].cost * SCALE if self.terms.worth else 0

    def best(
        self,
        number: int,
        *,
        enough: int = NEVER,
        charges: Mapping[int, int] | None = None,
        own: Ints | None = None,
        allowed: NDArray[np.bool_] | None = None,
    ) -> Found:
        """Return the best cutting of a class: the most of prices less its cost and charges, scaled.

        What is no more than ``enough`` need not be found: the value is then a bound. ``charges`` are those of settings,
        ``own`` prices of the kinds for this class alone.
        """
        before = self.work
        if own is None:
            found = self._best(number, self._terms(number, self.prices, allowed), enough, charges)
        else:
            with self.at_own_prices(number, own, allowed) as terms:
                found = self._best(number, terms, enough, charges)
        self.budget.spend((self.work - before) * ARC)
        return found

    @contextmanager
    def at_own_prices(
        self, number: int, own: Ints, allowed: NDArray[np.bool_] | None = None
    ) -> Iterator[Terms]:
        """Give the terms of a class at prices of its own, its tables of clean sticks filled for them meanwhile."""
        rows = self.classes[number].course.steps.tolist()
        self._fill(rows, own)
        try:
            yield self._terms(number, own, allowed)
        finally:
            self._fill(rows, self.prices)

    def _terms(self, number: int, own: Ints, allowed: NDArray[np.bool_] | None) -> Terms:
        terms = self.terms._replace(prices=own[self.classes[number].kinds])
        return terms if allowed is None else terms._replace(allowed=allowed, free=bool(allowed.all()))

    def _best(self, number: int, terms: Terms, enough: int, charges: Mapping[int, int] | None) -> Found:
        charged = {setting: charge for setting, charge in (charges or {}).items() if charge > 0}
        first = self._solve(number, terms, enough)
        if not charged or first.column is None or not first.exact:
            return first
        return self._branch(number, terms, charged, enough, first)

    def _branch(
        self, number: int, terms: Terms, charged: Mapping[int, int], enough: int, first: Found
    ) -> Found:
        """Return the best cutting when charges are paid once: branch on a charged setting that the best one uses."""
        ticket = count()
        table = self.table
        values = table.arcs[: table.counts[BILLETS], 2:].copy()
        queue = [(-first.value, next(ticket), frozenset[int](), frozenset[int](), first)]
        while queue and -queue[0][0] > enough:
            bound, _, paid, banned, found = heapq.heappop(queue)
            if found.column is None:
                return Found(-bound, None, False)
            still_open = (found.column.settings & charged.keys()) - paid
            if not still_open or not found.exact:
                return Found(-bound, found.column, found.exact)
            setting = max(still_open, key=lambda s: (charged[s], s))
            heapq.heappush(queue, (bound + charged[setting], next(ticket), paid | {setting}, banned, found))
            banned |= {setting}
            allowed = terms.allowed.copy()
            allowed[list(banned)] = False
            dues = sum(charged[s] for s in paid)
            table.arcs[: len(values), 2:] = values
            other = self._solve(
                number, terms._replace(allowed=allowed, free=False), enough + dues, again=True
            )
            if other.value > NEVER:
                heapq.heappush(queue, (dues - other.value, next(ticket), paid, banned, other))
        return Found(enough, None, True)

    def _solve(self, number: int, terms: Terms, enough: int, *, again: bool = False) -> Found:
        one, base = self.classes[number], self.base(number)
        near = base // NEAR
        bound, value = best_offcut(
            one.wood,
            one.bare,
            self.batch.shop,
            terms,
            self.desk,
            one.course,
            self.table,
            (max(enough + base, NEVER), *self.limits, near, int(again)),
        )
        if self.table.counts[CURTAILED]:
            course = one.course._replace(grain=2 * one.course.grain)
            self.classes[number] = replace(one, course=course, coarse=True)
            return self._solve(number, terms, enough)
        if bound <= NEVER:
            return Found(NEVER, None, True)
        if value <= NEVER:
            return Found(int(bound) - base, None, bound - base <= enough)
        column = self._column(number, terms)
        self.columns.append(column)
        return Found(int(bound) - base, column, bound - value <= near)

    def _column(self, number: int, terms: Terms) -> Column:
        labels = best_path(self.table.row, self.table.via, 2 * self.classes[number].wood.length + 3)
        places = [self.table.arcs[label - BLANK, :2].tolist() for label in labels if label >= BLANK]
        draw = _Drawing(self, number, terms)
        one, billets = self.classes[number], (draw.billet(*place) for place in places)
        cutting = tuple(cutting_of(self.batch, one, billet) for billet in billets)
        return column_of(self.batch, number, one.names[0], cutting)


class _Drawing:
    """Reads the best cutting of one offcut back from the graphs, as :mod:`yieldplan.solve.drawn` has it."""

    def __init__(self, pricer: Pricer, number: int, terms: Terms) -> None:
        self.one, self.desk, self.shop = pricer.classes[number], pricer.desk, pricer.batch.shop
        self.given = (self.one.wood, self.shop, terms, pricer.desk)

    def billet(self, start: int, end: int) -> Sawn:
        """Return the best billet from start to end (marks)."""
        side = side_of(self.one.course, start)
        _, split = exact_value(*self.given, self.one.course, side, start, end)
        if split < 0:
            box = Box(start, end, 0, self.one.wood.width, 0, 0)
            return (start, end), None, (self._half(side, box, best=True)[1],)
        low = split + self.one.course.band_kerf
        boxes = (
            Box(start, end, 0, split, 0, 0),
            Box(start, end, low, self.one.wood.width - low, 0, 0),
        )
        values = [self._half(side, box)[0] for box in boxes]
        kept = [value > 0 or value == max(values) for value in values]
        halves = tuple(
            self._half(side, box, best=True)[1] if keep else None
            for box, keep in zip(boxes, kept, strict=True)
        )
        return (start, end), split, halves

    def _half(self, side: int, box: Box, *, best: bool = False) -> tuple[int, Half]:
        face, edge = losses(self.one.wood, self.shop, self.one.course, side, box.end - box.start, box.width)
        box = box._replace(face=int(face), edge=int(edge))
        self.desk.counts[STRIPS] = 0
        values = [int(self.desk.best1[billet_row(*self.given, box, rip)]) for rip in (True, False)]
        rip = values[0] >= values[1]
        strips: list[SawnStrip] = []
        if best:
            node = billet_row(*self.given, box, rip)
            arcs, via = self.desk.arcs1.copy(), self.desk.via1.copy()
            labels = [(label - BLANK) for label in best_path(arcs, via, node) if label >= BLANK]
            strips = [self._strip(box, rip, label) for label in labels]
        return max(values), (box, rip, strips)

    def _strip(self, box: Box, rip: bool, label: int) -> SawnStrip:
        place, rest = divmod(label, 8)
        rank, start = divmod(place, WORD)
        second, stage = rest // 2 - 1, rest % 2 + 1
        wood, shop = self.one.wood, self.shop
        end = start + int((wood.sizes_y if rip else wood.sizes_z)[rank])
        along = met_along(wood, box.start, box.end)
        meets = int(along & met_across(wood, shop, box, rip, start, end)) if along else 0
        node = strip_row(*self.given, box, rip, (rank, meets, second, stage))
        labels = [
            label - BLANK
            for label in best_path(self.desk.arcs2.copy(), self.desk.via2.copy(), node)
            if label >= BLANK
        ]
        sticks = []
        for stick_label in labels:
            number, low = divmod(stick_label, WORD)
            high = low + int(wood.types[number, 1 if rip else 0])
            met = int(meets & met_across(wood, shop, box, not rip, low, high))
            sticks.append((number, low, high, self._cuts(box, number, met)))
        return start, end, sticks

    def _cuts(self, box: Box, number: int, meets: int) -> list[Cut]:
        """Return the cuts of a stick, measured from the start of its box."""
        meets &= int(met_along(self.one.wood, box.start, box.end))
        flawed = meets & ((1 << len(self.one.wood.defects)) - 1)
        pushed_back = not flawed or box.end - box.start < LONG_STICK
        node = stick_row(*self.given, number, meets, box.start, box.end, pushed_back)
        labels = best_path(self.desk.arcs3, self.desk.via3, node)
        cuts = [cut_of(self.one, label - BLANK, box.start) for label in labels if label >= BLANK]
        return cuts if meets else shortest_first(cuts, self.shop.stick_trim, self.shop.cross_kerf)


def cut_of(one: OffcutClass, label: int, base: int) -> Cut:
    """Return the cut that a blank's label stands for, measured from ``base``."""
    piece, far = divmod(label, 2)
    local, start = divmod(piece, WORD)
    return start - base, int(one.wood.spans[local]), int(one.kinds[local]), "B" if far else "A"


def shortest_first(cuts: Sequence[Cut], start: int, kerf: int) -> list[Cut]:
    """Return blanks pushed together from ``start`` on, the shortest first (R12)."""
    found = []
    for _, span, kind, side in sorted(cuts, key=lambda cut: (cut[1], cut[2])):
        found.append((start, span, kind, side))
        start += span + kerf
    return found
