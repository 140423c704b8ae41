"""Column generation: rounds of prices and new columns, with a bound that holds at every round.

With prices p of the blanks, sum(need x price) + sum over offcuts of min(0, least reduced cost), less what the
settled missing blanks could save, never exceeds the optimum (the Lagrangian bound). Only exact pricing, or
pricing from above, enters it.
"""

from __future__ import annotations

import math
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.solve.columns import make_column
from yieldplan.solve.labels import MOST_LABELS, Opener, OutOfTimeError
from yieldplan.solve.master import Relaxation
from yieldplan.solve.pricing import Priced, on_grid, price
from yieldplan.solve.trace import best_cutting

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from yieldplan.model import Job
    from yieldplan.solve.columns import Column
    from yieldplan.solve.kernel import Floats
    from yieldplan.solve.labels import Label
    from yieldplan.solve.master import Wanted
    from yieldplan.solve.stock import Stock

THREADS = 2
CHUNK = 8
"""Stocks priced together."""

ENOUGH = 12
"""New columns after which prices are taken anew."""


@dataclass(slots=True)
class Pool:
    """Every column found so far; of equal counts from one stock only the cheapest."""

    columns: list[Column] = field(default_factory=list)
    _known: dict[tuple[int, tuple[int, ...]], int] = field(default_factory=dict)

    def add(self, column: Column) -> bool:
        """Add a column; return whether it is new or cheaper."""
        key = (column.stock, column.counts)
        at = self._known.get(key)
        if at is None:
            self._known[key] = len(self.columns)
            self.columns.append(column)
            return True
        old = self.columns[at]
        if (column.cost, column.crosscuts) < (old.cost, old.crosscuts):
            self.columns[at] = column
        return column.cost < old.cost

    def drop(self, stocks: set[int]) -> None:
        """Take the columns of some stocks out again."""
        self.columns = [column for column in self.columns if column.stock not in stocks]
        self._known = {(column.stock, column.counts): at for at, column in enumerate(self.columns)}


@dataclass(slots=True, kw_only=True)
class Aim:
    """What the linear relaxation is asked: weights of missing blanks, settled classes, costs or not."""

    weights: tuple[float, ...]
    settled: dict[int, int]
    with_cost: bool


class Generator:
    """Prices the stocks for one aim and adds columns to a pool.

    Parameters
    ----------
    job, stocks, wanted, pool
        What to plan; the pool is shared by all aims.
    out_of_time
        Returns whether to stop at the next chance.
    on_round
        Called after every stock priced with the number of stocks looked at.
    """

    def __init__(
        self,
        job: Job,
        stocks: Sequence[Stock],
        wanted: Wanted,
        pool: Pool,
        *,
        out_of_time: Callable[[], bool],
        on_round: Callable[[int], None],
    ) -> None:
        self.job, self.stocks, self.wanted, self.pool = job, stocks, wanted, pool
        self.out_of_time, self.on_round = out_of_time, on_round
        self.rounds = 0
        self.best_prices: Floats = np.zeros(len(wanted.need))
        self._most = [self._most_blanks(stock) for stock in stocks]

    def _most_blanks(self, stock: Stock) -> Floats:
        """Return more than how many blanks of each kind any cutting of a stock can hold (by volume)."""
        most = np.zeros(len(self.wanted.need))
        volume = stock.offcut.length * stock.offcut.width * stock.offcut.thickness
        for k, span in zip(stock.kinds, stock.spans, strict=True):
            section = min(s.across_y * s.across_z for s in stock.sticks if k in s.kinds)
            most[k] = volume // (section * span)
        return most

    def _clipped(self, prices: Floats, aim: Aim) -> Floats:
        """Return prices on the grid, none above what a missing blank of an unsettled class costs."""
        limits = [
            math.inf if p in aim.settled else w
            for p, w in zip(self.wanted.priority, aim.weights, strict=True)
        ]
        return on_grid(prices, np.array(limits))

    def _settled_value(self, prices: Floats, aim: Aim) -> float:
        """Return sum(need x price) less what missing blanks of settled, and of other, classes save at most."""
        total = 0.0
        for priority in self.wanted.classes:
            kinds = self.wanted.members(priority)
            if priority in aim.settled:
                total += sum(float(prices[k]) * self.wanted.need[k] for k in kinds)
                total -= aim.settled[priority] * max(float(prices[k]) for k in kinds)
            else:
                total += sum(min(float(prices[k]), aim.weights[k]) * self.wanted.need[k] for k in kinds)
        return total

    def _reduced(self, stock: Stock, priced: Priced, aim: Aim) -> float:
        """Return the least reduced cost of a stock's columns, never above 0 (the stock may be left alone)."""
        return min(0.0, (stock.cost if aim.with_cost else 0) - priced.best)

    def size(self, index: int) -> int:
        """Return how much there is to look at in a stock: small ones are looked at first."""
        return len(self.stocks[index].arcs)

    def look_once(self, prices: Floats, aim: Aim) -> None:
        """Add the best column of every stock at given prices."""
        grid = self._clipped(prices, aim)
        last: list[tuple[Floats, float] | None] = [None] * len(self.stocks)
        for done in range(0, len(self.stocks), CHUNK):
            chunk = list(range(done, min(done + CHUNK, len(self.stocks))))
            self._price_chunk(chunk, grid, aim, last)
            self.on_round(chunk[-1] + 1)

    def run(self, aim: Aim, stop: Callable[[], bool]) -> bool:
        """Generate columns until none has a negative reduced cost; return whether that was reached.

        Stocks are priced in turn, from where the last round left off, and a round ends once it has found
        enough columns; so the last round, which finds none, has priced every stock at the same prices.
        ``stop`` is asked between stocks.
        """
        relaxation = Relaxation(self.wanted, aim.weights, aim.settled, with_cost=aim.with_cost)
        relaxation.add(self.pool.columns)
        last: list[tuple[Floats, float] | None] = [None] * len(self.stocks)
        order = sorted(range(len(self.stocks)), key=self.size)
        turn = 0
        while True:
            prices = self._clipped(relaxation.prices(), aim)
            self.best_prices = prices
            self.rounds += 1
            new: list[Column] = []
            for done in range(0, len(order), CHUNK):
                chunk = [order[(turn + done + i) % len(order)] for i in range(min(CHUNK, len(order) - done))]
                new += self._price_chunk(chunk, prices, aim, last)
                self.on_round(min(done + CHUNK, len(order)))
                if len(new) >= ENOUGH or stop() or self.out_of_time():
                    turn = (turn + done + CHUNK) % len(order)
                    break
            if not new:
                return not (stop() or self.out_of_time())
            if stop() or self.out_of_time():
                return False
            relaxation.add(new)

    def _price_chunk(
        self, chunk: list[int], prices: Floats, aim: Aim, last: list[tuple[Floats, float] | None]
    ) -> list[Column]:
        """Price some stocks; return the new columns of negative reduced cost.

        A stock is passed over where its last reduced cost, less what the prices have risen since for as many
        blanks as it could hold, shows that there is none.
        """
        todo = []
        for index in chunk:
            before = last[index]
            if before is not None:
                rise = float(np.dot(np.maximum(prices - before[0], 0.0), self._most[index]))
                if before[1] - rise >= 0.0:
                    continue
            todo.append(index)
        new: list[Column] = []
        with ThreadPoolExecutor(THREADS) as workers:
            results = workers.map(lambda i: self._price(i, prices, aim), todo)
            for index, (priced, exact) in zip(todo, results, strict=True):
                stock = self.stocks[index]
                cost = stock.cost if aim.with_cost else 0
                last[index] = (prices, cost - priced.best)
                if exact and cost - priced.best < -1e-6:
                    label = best_cutting(priced)
                    if label is not None:
                        column = make_column(index, stock, label, self.job)
                        if self.pool.add(column):
                            new.append(column)
        return new

    def _price(self, index: int, prices: Floats, aim: Aim) -> tuple[Priced, bool]:
        """Return a stock priced, as far as it pays to cut it, and whether that could be finished."""
        stock = self.stocks[index]
        priced = Priced(stock, prices, upper=False, keepers=aim.with_cost)
        return priced, priced.find_best(float(stock.cost) if aim.with_cost else 0.0, self.out_of_time)

    def sure_bound(self, aim: Aim) -> tuple[float, list[Priced]]:
        """Return the bound at the best prices with leftovers counted from above, and the prices of each stock."""
        prices = self._clipped(self.best_prices, aim)
        total = self._settled_value(prices, aim)

        def priced_above(stock: Stock) -> Priced:
            return price(stock, prices, upper=True, keepers=aim.with_cost, stop=self.out_of_time)

        with ThreadPoolExecutor(THREADS) as workers:
            found = list(workers.map(priced_above, self.stocks))
        for index, (stock, priced) in enumerate(zip(self.stocks, found, strict=True)):
            slack = stock.slack if aim.with_cost else 0
            reduced = self._reduced(stock, priced, aim) - slack
            if not stock.complete:
                cost = stock.cost if aim.with_cost else 0
                reduced = cost - self._by_volume(stock, prices, cost)
            total += self.wanted.copies[index] * min(0.0, reduced)
        return total, found

    def _by_volume(self, stock: Stock, prices: Floats, cost: int) -> float:
        """Return a value that no cutting of a stock exceeds: all its wood at its dearest use.

        A leftover is worth no more by volume than the whole offcut, since worth falls with length.
        """
        offcut = stock.offcut
        volume = float(offcut.length * offcut.width * offcut.thickness)
        dearest = float(cost)
        for k, span in zip(stock.kinds, stock.spans, strict=True):
            section = min(s.across_y * s.across_z for s in stock.sticks if k in s.kinds)
            dearest = max(dearest, float(prices[k]) * volume / (section * span))
        return dearest + 1.0

    def near(
        self, priced: Sequence[Priced], aim: Aim, slack: float, *, seconds: float, most: int = MOST_LABELS
    ) -> bool:
        """Add every cutting of every stock whose reduced cost is within ``slack`` of the least one (or of 0).

        Returns False where some had too many to list in the time. Small stocks come first, and none may take more
        than half the time that is left.
        """
        until = time.monotonic() + seconds

        def least(index: int) -> float:
            cost = self.stocks[index].cost if aim.with_cost else 0
            return cost - self._reduced(self.stocks[index], priced[index], aim) - slack

        def listed(index: int) -> tuple[list[Label] | None, bool]:
            now = time.monotonic()
            if now >= until or self.out_of_time():
                return None, False
            return self._list(index, priced[index], least(index), now + (until - now) / 2, most)

        todo = [i for i in range(len(self.stocks)) if priced[i].best >= least(i)]
        todo.sort(key=self.size)
        whole = True
        with ThreadPoolExecutor(THREADS) as workers:
            for done, (index, (labels, all_of_them)) in enumerate(
                zip(todo, workers.map(listed, todo), strict=True), 1
            ):
                self._add(index, labels)
                whole &= all_of_them
                self.on_round(done)
        return whole

    def recut(self, column: Column, prices: Floats, aim: Aim) -> None:
        """Add the cuttings of a column's stock that are worth at least as much as it is, extras among them."""
        stock = self.stocks[column.stock]
        clipped = self._clipped(prices, aim)
        priced = price(stock, clipped, upper=True)
        worth = stock.cost - column.cost + float(np.dot(clipped, column.counts))
        labels, _ = self._list(column.stock, priced, worth, time.monotonic() + 1.0, MOST_LABELS)
        self._add(column.stock, labels)

    def _list(
        self, index: int, priced: Priced, least: float, deadline: float, most: int
    ) -> tuple[list[Label] | None, bool]:
        """Return every cutting of a stock worth at least ``least``, and whether these are all there are."""
        stock = self.stocks[index]
        caps = tuple(self.wanted.need[k] + self.wanted.extra[k] for k in stock.kinds)
        opener = Opener(priced, caps, deadline=deadline, most=most)
        try:
            labels = opener.cuttings(least)
        except OutOfTimeError:
            return None, False
        return labels, opener.whole and stock.complete

    def _add(self, index: int, labels: list[Label] | None) -> None:
        for label in labels or ():
            self.pool.add(make_column(index, self.stocks[index], label, self.job))
