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

from yieldplan.solve.along import best_offcut, lay_billets
from yieldplan.solve.budget import ARC, Budget
from yieldplan.solve.enumeration import Listing, TooManyError
from yieldplan.solve.graph import (
    SCALE,
    STATES,
    WORK,
    Desk,
)
from yieldplan.solve.paths import NEVER
from yieldplan.solve.places import BILLETS, CURTAILED, Table
from yieldplan.solve.rows import (
    MOST_HELD,
    MOST_RUNS,
)
from yieldplan.solve.tables import fill_table

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Column
    from yieldplan.solve.enumeration import Key
    from yieldplan.solve.graph import Terms

    Ints = NDArray[np.int64]

MOST_BILLETS = 60_000
"""Billets that are tried of one offcut; where there would be more, its places get a grain twice as coarse."""

NEAR = 1000
"""One part in so many of an offcut's cost is near enough to the best that it gives."""

EVERY_LENGTH = -1
"""What :func:`best_offcut` is told: what is not best may ask for a length at which no stick gives more."""

MOST_EDGES = 4096
"""Edges of defects and ring limits that are noted along a row."""


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
        kept=room(long),
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
        base = self.base(number)
        near = base // NEAR
        bound, value = self._lay(number, terms, (max(enough + base, NEVER), *self.limits, near, int(again)))
        if self.table.counts[CURTAILED]:
            one = self.classes[number]
            course = one.course._replace(grain=2 * one.course.grain)
            self.classes[number] = replace(one, course=course, coarse=True)
            return self._solve(number, terms, enough)
        if bound <= NEVER:
            return Found(NEVER, None, True)
        if value <= NEVER:
            return Found(bound - base, None, bound - base <= enough)
        (column,) = self._listing(number, terms, self.budget).on_table(0)
        self.columns.append(column)
        return Found(bound - base, column, bound - value <= near)

    def _lay(self, number: int, terms: Terms, limits: tuple[int, ...]) -> tuple[int, int]:
        """Lay an offcut's billets on the table; return a bound of what it gives, and what the row laid gives."""
        one, shop = self.classes[number], self.batch.shop
        bound, value = best_offcut(one.wood, one.bare, shop, terms, self.desk, one.course, self.table, limits)
        return int(bound), int(value)

    def _listing(
        self,
        number: int,
        terms: Terms,
        budget: Budget,
        wanted: Sequence[int] = (),
        apart: Collection[int] | None = None,
        told: Collection[int] | None = None,
    ) -> Listing:
        room, one = (self.desk, self.table), self.classes[number]
        return Listing(
            self.batch, number, one, terms, room, budget, wanted=tuple(wanted), apart=apart, told=told
        )

    def within(
        self,
        number: int,
        own: Ints,
        least: int,
        wanted: Sequence[int],
        budget: Budget,
        *,
        apart: Collection[int] | None = None,
        told: Collection[int] | None = None,
        allowed: NDArray[np.bool_] | None = None,
        rate: Callable[[Key], int] = lambda _: 0,
        most: int | None = None,
    ) -> list[Column]:
        """Return all columns of a class that hold no more than is wanted and give ``least`` at prices of its own.

        Of those with like counts and settings the best. ``apart`` are the settings that are told apart, ``allowed``
        those that may be used; all if left out. All values are scaled.

        Raises
        ------
        TooManyError
            If there are too many to list, or no seconds are left for it.
        """
        least, before = least + self.base(number), self.work
        with self.at_own_prices(number, own, allowed) as terms:
            best, _ = self._lay(number, terms, (NEVER, 1 << 60, self.limits[1], 0, EVERY_LENGTH))
            budget.spend((self.work - before) * ARC)
            if best < least and not self.table.counts[CURTAILED]:
                return []
            if not self.table.counts[CURTAILED]:
                wood = self.classes[number].wood
                lay_billets(wood, self.batch.shop, terms, self.desk, self.table, 0, best - least)
            if self.table.counts[CURTAILED]:
                raise TooManyError
            listing = self._listing(number, terms, budget, wanted, apart, told)
            return listing.on_table(best - least, rate=rate, most=most)
