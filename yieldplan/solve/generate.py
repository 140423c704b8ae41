"""Column generation: rounds of prices and new columns, with a bound that holds at every round.

With prices p of the blanks, sum(need x price) + sum over offcuts of min(0, least reduced cost), less what the
settled missing blanks could save, never exceeds the optimum (the Lagrangian bound). Only exact pricing, or
pricing from above, enters it.
"""

from __future__ import annotations

import math
from collections import deque
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import accumulate, islice
from operator import le
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import numpy as np

from yieldplan.model import worth
from yieldplan.solve.budget import READING, RELAXING, TOGETHER, TRYING, preparing
from yieldplan.solve.columns import Figures, make_column
from yieldplan.solve.labels import MOST_LABELS, Opener, OutOfTimeError
from yieldplan.solve.master import Prices, Relaxation
from yieldplan.solve.parting import MOST_PARTED
from yieldplan.solve.pricing import Priced, on_grid, price
from yieldplan.solve.room import LEAST, Allowance, Room
from yieldplan.solve.stock import prepare
from yieldplan.solve.trace import best_cutting

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from collections.abc import Generator as Yields
    from concurrent.futures import Future

    from yieldplan.model import Job
    from yieldplan.solve.columns import Column
    from yieldplan.solve.kernel import Floats
    from yieldplan.solve.labels import Label
    from yieldplan.solve.master import Wanted
    from yieldplan.solve.stock import Stock

    T = TypeVar("T")
    Last = list[tuple[Floats, float] | None]
    """At which prices each stock was priced last, and its reduced cost then, but for its relief."""

PLENTY, MOST_FIRST = 5, 400
"""Times the wood of the batch that a first look takes in, and how many stocks at the most."""

FINER = 0.2
"""Share of its billets that may be tried besides for each unit of a stock's :attr:`Stock.parting`."""

LIGHTER = 30
"""How many times less is tried of a stock that takes too long."""

THREADS = 2
AHEAD = 4
"""Stocks that are priced, or wait to be, at the same time."""

MOST_PROPER = 1.0
"""Seconds of work that it may take to list a stock for the best that it holds of what is needed."""

PROPER_LABELS, BEST_PROPER = 50, 5
"""Labels kept at a node where the best proper columns are listed, and how many of those are taken."""

MOST_LISTED = 30_000
"""Columns after which no more stocks are listed: more are too many to choose among."""

UNITS = 16
"""What stands for the worth of a blank where only missing blanks are counted."""

LEAST_SHARE = 1e-6
"""Share of a column below which it is not used."""

LEAST_GAIN = 1e-4
"""What a new column must save at the least: more than what rounding the prices to their grid does."""

ENOUGH = 12
"""New columns after which prices are taken anew."""


def worth_of_blanks(job: Job) -> list[int]:
    """Return the worth of the wood of one blank of each kind, its length allowance included."""
    shop = job.shop
    return [worth(b.length + shop.length_allowance, b.width, b.thickness, shop) for b in job.blanks]


def least_wood(stock: Stock) -> Iterator[tuple[int, int]]:
    """Yield each kind of blank that a stock can give, and the least volume that one takes, in cubic steps."""
    for k, span in zip(stock.kinds, stock.spans, strict=True):
        yield k, min(s.across_y * s.across_z for s in stock.sticks if k in s.kinds) * span


@dataclass(slots=True)
class Pool:
    """Every column found so far; of equal counts from one stock only the cheapest.

    ``ghosts`` are columns that are not cut: they stand for what splits or lengths that were not tried may give, for
    bounds. ``empty`` are cuttings of a stock that hold no blank, of which no plan has any, but which prices must know
    of (:class:`yieldplan.solve.master.Relaxation`).
    """

    columns: list[Column] = field(default_factory=list)
    ghosts: dict[tuple[int, tuple[int, ...]], Column] = field(default_factory=dict)
    empty: dict[int, Column] = field(default_factory=dict)
    changes: int = 0
    """How often columns or ghosts were added."""
    _known: dict[tuple[int, tuple[int, ...]], int] = field(default_factory=dict)

    def add(self, column: Column) -> bool:
        """Add a column; return whether it is new or cheaper."""
        if not any(column.counts):
            before = self.empty.get(column.stock)
            if before is None or column.cost < before.cost:
                self.empty[column.stock] = column
            return self.empty[column.stock] is column
        key = (column.stock, column.counts)
        at = self._known.get(key)
        if at is None:
            self._known[key] = len(self.columns)
            self.columns.append(column)
            self.changes += 1
            return True
        old = self.columns[at]
        kept, other = old, column
        if (column.cost, column.crosscuts) < (old.cost, old.crosscuts):
            kept, other = column, old
            self.columns[at] = column
            self.changes += 1
        if other.low < kept.low:
            self.add_ghost(other)
        return column.cost < old.cost

    def add_ghost(self, column: Column) -> None:
        """Add a column that may not be cut, but that bounds those of splits that were not tried."""
        key = (column.stock, column.counts)
        if key not in self.ghosts or column.low < self.ghosts[key].low:
            self.ghosts[key] = column
            self.changes += 1

    def drop(self, stocks: set[int]) -> None:
        """Take the columns of some stocks out again."""
        self.columns = [column for column in self.columns if column.stock not in stocks]
        self._known = {(column.stock, column.counts): at for at, column in enumerate(self.columns)}
        self.drop_ghosts(stocks)

    def drop_ghosts(self, stocks: set[int]) -> None:
        """Forget what cuttings of some stocks might cost, since more will be tried of these: only what they do cost."""
        self.ghosts = {key: column for key, column in self.ghosts.items() if key[0] not in stocks}
        self.columns = [replace(one, low=one.cost) if one.stock in stocks else one for one in self.columns]


@dataclass(slots=True, kw_only=True)
class Aim:
    """What the linear relaxation is asked: weights of missing blanks, settled classes, costs or not."""

    weights: tuple[float, ...]
    settled: dict[int, int]
    with_cost: bool


class Listed(NamedTuple):
    """Cuttings of a stock, whether these are all that were asked for, and the seconds of work that it took.

    ``ghosts`` stand for all splits, tried or not (:attr:`yieldplan.solve.stock.Stock.above`): ``whole`` is of them.
    """

    labels: Sequence[Label]
    whole: bool
    seconds: float
    ghosts: Sequence[Label] = ()


class Cut(NamedTuple):
    """A stock priced, cuttings of it that save something, and the seconds of work that it took."""

    priced: Priced
    labels: Sequence[Label]
    seconds: float


class Generator:
    """Prices the stocks for one aim and adds columns to a pool.

    Parameters
    ----------
    job, stocks, wanted, pool
        What to plan; the pool is shared by all aims.
    left, spend
        Seconds of work left, and where to note those spent (:mod:`yieldplan.solve.budget`).
    on_round
        Called after every stock priced with the number of stocks looked at.
    proper
        Whether the columns of all stocks are to hold no more blanks of a kind than are needed (then there is no bound).
    """

    def __init__(
        self,
        job: Job,
        stocks: list[Stock],
        wanted: Wanted,
        pool: Pool,
        *,
        left: Callable[[], float],
        spend: Callable[[float], None],
        on_round: Callable[[int], None],
        proper: bool = False,
    ) -> None:
        self.job, self.stocks, self.wanted, self.pool = job, stocks, wanted, pool
        self.left, self.spend, self.on_round = left, spend, on_round
        self.proper = set(range(len(stocks))) if proper else set[int]()
        """Stocks whose columns count for no more blanks of a kind than are needed: by listing."""
        self.surplus: set[int] = set()
        """Stocks of which the relaxation last used a column with more blanks of a kind than are needed."""
        self.refused: set[int] = set()
        """Stocks of which that would take too long."""
        self.rounds = 0
        self.bounding = 0.0
        """Seconds of work that the last bound took."""
        self.best_prices = Prices.alike(np.zeros(len(wanted.need)), len(stocks))
        self._most = [self._most_blanks(stock) for stock in stocks]
        self._last: dict[bool, Last] = {cost: [None] * len(stocks) for cost in (False, True)}
        """What is known of each stock, with costs or without them."""

    def _most_blanks(self, stock: Stock) -> Floats:
        """Return more than how many blanks of each kind any cutting of a stock can hold (by volume)."""
        most = np.zeros(len(self.wanted.need))
        volume = stock.offcut.volume
        for k, wood in least_wood(stock):
            most[k] = volume // wood
        return most

    def _clipped(self, prices: Prices, aim: Aim) -> Prices:
        """Return prices on the grid, none above what a missing blank of an unsettled class costs."""
        limits = np.array(
            [
                math.inf if p in aim.settled else w
                for p, w in zip(self.wanted.priority, aim.weights, strict=True)
            ]
        )
        return Prices(on_grid(prices.blanks, limits), on_grid(prices.own, limits), prices.scarce)

    def asked(self, aim: Aim) -> Prices:
        """Return the best prices so far, as the stocks are asked at them."""
        return self._clipped(self.best_prices, aim)

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

    def size(self, index: int) -> int:
        """Return how much there is to look at in a stock: small ones are looked at first."""
        return len(self.stocks[index].arcs)

    def look_once(self, prices: Floats, aim: Aim, seconds: float) -> None:
        """Add the best column at given prices of so many stocks, small ones first, as should do for the batch.

        Of no more once ``seconds`` are over. What takes half of them by itself is prepared anew with far less tried of
        it, and looked at again.
        """
        grid = self._clipped(Prices.alike(prices, len(self.stocks)), aim)

        def task(index: int) -> Callable[[], Cut]:
            return partial(self._price, index, grid.own[index], 0.0, aim, seconds / 2)

        todo, left = self._enough(), seconds
        while todo and left > 0:
            heavy = []
            with closing(self._in_turn(todo, task)) as done:
                for looked_at, (index, found) in enumerate(done, 1):
                    assert found is not None
                    self._new_columns(index, found, grid.own[index], aim)
                    self.on_round(looked_at)
                    left -= TOGETHER * found.seconds
                    if found.priced.seconds > seconds / 2:
                        heavy.append(index)
                    if left <= 0:
                        break
            todo = [index for index in heavy if self._lightened(index)]
            left = max(left, seconds / 2) if todo and not self.pool.columns else left

    def _lightened(self, index: int) -> bool:
        """Prepare a stock anew with far less tried of it; return whether there was so much to look at."""
        if self.size(index) <= LEAST:
            return False
        room = Room(max(LEAST, self.size(index) // LIGHTER))
        self._put(index, self._anew(self.stocks[index], room, thorough=False))
        return True

    def _put(self, index: int, stock: Stock) -> None:
        """Put a stock prepared anew in place of what it was, of which nothing is known then."""
        self.stocks[index] = stock
        for last in self._last.values():
            last[index] = None

    def _anew(self, stock: Stock, room: Room, *, thorough: bool, finer: int = 0) -> Stock:
        """Return a stock prepared anew (:func:`yieldplan.solve.stock.prepare`)."""
        measured = self.job.offcut(stock.members[0][0])
        anew = prepare(measured, stock.members, self.job, room, thorough=thorough, finer=finer)
        assert anew is not None
        self.spend(preparing(len(anew.arcs)))
        return anew

    def _enough(self) -> list[int]:
        """Return the small stocks that hold PLENTY times the wood of the blanks of each kind, if there are so many.

        No more than MOST_FIRST of them.
        """
        shop = self.job.shop
        lacking = [
            PLENTY * blank.need * (blank.length + shop.length_allowance) * blank.width * blank.thickness
            for blank in self.job.blanks
        ]
        found = []
        for index in sorted(range(len(self.stocks)), key=self.size):
            stock = self.stocks[index]
            if any(lacking[k] > 0 for k in stock.kinds):
                found.append(index)
            volume = stock.offcut.volume
            for k in stock.kinds:
                lacking[k] -= volume * self.wanted.copies[index]
        return found[:MOST_FIRST]

    def look_everywhere(self) -> None:
        """Prepare the stocks anew with every billet that may be drawn out, which a bound asks for.

        Where there is no room for so many, those that there are stay, and the bound goes by volume.
        """
        before = {i: stock for i, stock in enumerate(self.stocks) if not stock.thorough}
        todo = sorted(before, key=self.size)
        allowance = Allowance(len(todo), max(0.0, self.left()) / 2 / TRYING)

        def lacking(index: int) -> bool:
            return index in before and before[index].complete

        for done, (index, room) in enumerate(allowance.turns(todo, lacking), 1):
            stock, anew = before[index], None
            if stock.complete and room.rows > LEAST:
                anew = self._anew(stock, room, thorough=True)
            if anew is not None and anew.complete:
                del before[index]
            else:
                anew = replace(stock, complete=False, thorough=True)
            allowance.take(anew.rows)
            self._put(index, anew)
            self.on_round(min(done, len(todo)))

    def look_finer(
        self, priced: Sequence[Priced | None], aim: Aim, *, worthwhile: bool = False
    ) -> list[Priced | None]:
        """Prepare stocks anew with lengths that matter only to halves or two neighbours; return all priced as before.

        Those that have cuttings near the bound that may be better in between. Where there is no room they stay as they
        are; where the bound would gain little by many more billets, if it is to be ``worthwhile``.
        """
        near = {column.stock for column in self.pool.columns if column.low < column.cost}
        near |= {index for index, _ in self.pool.ghosts}
        todo = [i for i in near if self.stocks[i].offcut.bent]
        allowance, anew_priced = Allowance(len(todo), max(0.0, self.left()) / 2 / TRYING), list(priced)
        prices, found = self.asked(aim), set[int]()
        ask = self._asker(aim, prices)
        for index in sorted(todo, key=self.size):
            stock, room = self.stocks[index], allowance.next()
            most_billets = (1 + FINER * stock.parting) * stock.billets if worthwhile else math.inf
            for most in (MOST_PARTED, MOST_PARTED // 2, MOST_PARTED // 4)[: 1 if worthwhile else 3]:
                anew = self._anew(stock, room, thorough=True, finer=most)
                if (anew.billets, anew.parting) == (stock.billets, stock.parting):
                    break
                if anew.complete and anew.billets <= most_billets:
                    allowance.take(anew.rows)
                    self._put(index, anew)
                    found.add(index)
                    break
        for index, one in self._in_turn(sorted(found), ask):
            before, anew_priced[index] = anew_priced[index], one
            if one is not None:
                self._spent(one)
                if before is not None:  # what bounded the stock then does so still, and the bound rests on it
                    one.proper = min(one.most, before.most)
        self.pool.drop_ghosts(found)
        return anew_priced

    def rest(self, wanted: Wanted) -> Generator:
        """Return one for a part of the batch, and of the pile, for proper columns."""
        return Generator(
            *(self.job, self.stocks, wanted, self.pool),
            left=self.left,
            spend=self.spend,
            on_round=self.on_round,
            proper=True,
        )

    def shares(self, aim: Aim) -> list[tuple[Column, float]]:
        """Return the columns that the linear relaxation uses, and how much of each."""
        relaxation = self._relaxation(aim)
        relaxation.prices()
        self.spend(RELAXING * len(self.pool.columns))
        used = zip(self.pool.columns, relaxation.used().tolist(), strict=True)
        return [(column, share) for column, share in used if share > LEAST_SHARE]

    def _relaxation(self, aim: Aim) -> Relaxation:
        own = worth_of_blanks(self.job)
        relaxation = Relaxation(
            *(self.wanted, aim.weights, aim.settled, own if aim.with_cost else [UNITS] * len(own)),
            with_cost=aim.with_cost,
            proper=self.proper,
        )
        empty = (column for column in self.pool.empty.values() if column.stock not in self.proper)
        relaxation.add([*self.pool.columns, *empty])
        return relaxation

    def run(self, aim: Aim, stop: Callable[[], bool]) -> bool:
        """Generate columns until none has a negative reduced cost; return whether that was reached.

        Stocks are priced in turn, from where the last round left off, large ones only when the small ones yield
        little. A round ends once it has found enough columns; so the last round, which finds none, has priced every
        stock at the same prices. ``stop`` is asked between stocks.
        """
        relaxation = self._relaxation(aim)
        small, large = self._by_size()

        def until_enough(order: list[int], new: list[Column]) -> Iterator[int]:
            for index in order:
                if len(new) >= ENOUGH or stop() or self.left() <= 0:
                    return
                yield index

        while True:
            duals = relaxation.prices()
            self.spend(RELAXING * len(self.pool.columns))
            prices = self._clipped(duals, aim)
            self.best_prices = prices
            self.rounds += 1
            new: list[Column] = []
            turn = 0
            with closing(self._priced(until_enough(small + large, new), prices, aim)) as priced:
                for turn, columns in enumerate(priced, 1):
                    self.on_round(turn)
                    new += columns
            stopped = stop() or self.left() <= 0
            if stopped or not new:
                self.surplus = self._with_surplus(relaxation, prices)
                return not stopped
            more = max(0, turn - len(small))
            small = small[turn:] + small[:turn] if not more else small
            large = large[more:] + large[:more]
            relaxation.add(new)

    def _with_surplus(self, relaxation: Relaxation, prices: Prices) -> set[int]:
        """Return the stocks of which the relaxation uses a column with more blanks of a kind than are needed."""
        need, found = self.wanted.need, set()
        for column, share in zip(relaxation.columns, relaxation.used().tolist(), strict=True):
            if share > LEAST_SHARE and any(
                count > most and price > LEAST_GAIN
                for count, most, price in zip(column.counts, need, prices.blanks, strict=True)
            ):
                found.add(column.stock)
        return found

    def _by_size(self) -> tuple[list[int], list[int]]:
        """Return the small stocks, which hold half the billets, and the large ones."""
        order = sorted(range(len(self.stocks)), key=self.size)
        half = sum(map(self.size, order)) / 2
        small = sum(1 for so_far in accumulate(map(self.size, order)) if so_far <= half)
        return order[:small], order[small:]

    def _in_turn(
        self, order: Iterable[int], task: Callable[[int], Callable[[], T] | None]
    ) -> Yields[tuple[int, T | None]]:
        """Do something with stocks in order, some at a time; yield each with what came of it.

        ``task`` is called when a stock's turn comes, and says what to do; None where there is nothing. What it reads of
        the search does not depend on which thread is quicker.
        """
        with ThreadPoolExecutor(THREADS) as workers:
            running: deque[tuple[int, Future[T] | None]] = deque()
            waiting = iter(order)
            while True:
                for index in islice(waiting, AHEAD - len(running)):
                    to_do = task(index)
                    running.append((index, workers.submit(to_do) if to_do else None))
                if not running:
                    return
                index, future = running.popleft()
                yield index, future.result() if future else None

    def _priced(self, order: Iterable[int], prices: Prices, aim: Aim) -> Yields[list[Column]]:
        """Price stocks in order; yield the new columns of negative reduced cost of each.

        A stock is passed over where its last reduced cost, less what the prices have risen since for as many blanks as
        it could hold, shows that there is none.
        """
        dear = prices.scarce - prices.relief(self.wanted.need)

        def task(index: int) -> Callable[[], Cut] | None:
            if self._dearer(index, prices.own[index], aim) >= -float(dear[index]):
                return None
            return partial(self._price, index, prices.own[index], float(dear[index]), aim, self.left())

        with closing(self._in_turn(order, task)) as done:
            for index, found in done:
                yield self._new_columns(index, found, prices.own[index], aim) if found else []

    def _dearer(self, index: int, prices: Floats, aim: Aim) -> float:
        """Return by how much every cutting of a stock is known to cost more than it saves, but for its relief."""
        before = self._last[aim.with_cost][index]
        if before is None:
            return -math.inf
        return before[1] - float(np.dot(np.maximum(prices - before[0], 0.0), self._most[index]))

    def _new_columns(self, index: int, found: Cut, prices: Floats, aim: Aim) -> list[Column]:
        """Note a stock's reduced cost; return those of its columns that are new."""
        stock = self.stocks[index]
        self.spend(TOGETHER * found.seconds)
        self._last[aim.with_cost][index] = (prices, (stock.cost if aim.with_cost else 0) - found.priced.best)
        columns = [make_column(index, stock, label, self.job) for label in found.labels]
        return [column for column in columns if self.pool.add(column)]

    def _price(self, index: int, prices: Floats, dear: float, aim: Aim, limit: float) -> Cut:
        """Return a stock priced, as far as it pays to cut it for its cost and ``dear``, and cuttings that save."""
        stock = self.stocks[index]
        priced = Priced(stock, prices, upper=False, keepers=aim.with_cost)
        least = (float(stock.cost) if aim.with_cost else 0.0) + dear
        exact = priced.find_best(least, limit)
        label = best_cutting(priced) if exact and priced.best > least + LEAST_GAIN else None
        if label is None:
            return Cut(priced, (), priced.seconds)
        caps = tuple(self.wanted.need[k] for k in stock.kinds)
        if index not in self.proper or all(map(le, label.counts, caps)):
            return Cut(priced, (label,), priced.seconds)
        before = priced.seconds
        found = self._listing(stock, priced, caps, least + LEAST_GAIN, min(limit, MOST_PROPER), PROPER_LABELS)
        best = sorted(
            found.labels, key=lambda one: one.worth + float(np.dot(priced.prices, one.counts)), reverse=True
        )
        return Cut(priced, best[:BEST_PROPER] or (label,), before + found.seconds)

    def sure_bound(self, aim: Aim) -> tuple[float, list[Priced | None]]:
        """Return the bound at the best prices with leftovers counted from above, and the stocks priced.

        Of each it is only asked by how much it is worth more than the relaxation pays for one more of it. None of it
        (None) once no time is left: then its bound goes by volume.
        """
        prices = self.asked(aim)
        total = self._settled_value(prices.blanks, aim)
        found: list[Priced | None] = []
        self.bounding = 0.0
        for index, priced in self._in_turn(range(len(self.stocks)), self._asker(aim, prices)):
            found.append(priced)
            stock = self.stocks[index]
            value = self._by_volume(stock, prices.blanks, stock.cost if aim.with_cost else 0)
            if priced is not None:
                self.bounding += self._spent(priced)
                value = min(value, priced.most) if stock.complete else value
            total += self.wanted.copies[index] * min(0.0, self._least_cost(index, aim) - value)
        return total, found

    def _spent(self, priced: Priced) -> float:
        """Note the seconds of work that a stock took; return them."""
        seconds = TOGETHER * (priced.seconds + priced.listing)
        self.spend(seconds)
        return seconds

    def _asker(self, aim: Aim, prices: Prices) -> Callable[[int], Callable[[], Priced] | None]:
        """Return what asks a stock by how much it is worth more than the relaxation pays for one more of it."""
        relief = prices.relief(self.wanted.need).tolist()
        scarce = (np.maximum(prices.scarce, 0.0) + LEAST_GAIN).tolist()

        def task(index: int) -> Callable[[], Priced] | None:
            if (limit := self.left()) <= 0:
                return None
            floor = self._least_cost(index, aim) + scarce[index] - relief[index]
            proper = index in self.proper
            return self._from_above(
                index, prices.own[index], aim, floor, limit, relief=relief[index], proper=proper
            )

        return task

    def _least_cost(self, index: int, aim: Aim) -> int:
        """Return what a stock costs at the least, whatever is traded between tried lengths."""
        stock = self.stocks[index]
        return stock.cost - stock.slack if aim.with_cost else 0

    def _from_above(
        self,
        index: int,
        prices: Floats,
        aim: Aim,
        floor: float,
        limit: float,
        *,
        relief: float = 0.0,
        proper: bool,
    ) -> Callable[[], Priced]:
        """Return what prices a stock with leftovers counted from above, properly if that is wanted."""
        stock = self.stocks[index]
        ask = partial(
            price,
            stock.above or stock,
            prices,
            upper=True,
            keepers=aim.with_cost,
            relief=relief,
            floor=floor,
            limit=limit,
        )
        return partial(self._properly, ask, floor, min(limit, MOST_PROPER)) if proper else ask

    def _properly(self, ask: Callable[[], Priced], floor: float, limit: float) -> Priced:
        """Return a stock priced, with the best value of a cutting that holds no more blanks than are needed.

        Or with ``floor``, if that is worth no more; with none if it cannot be listed.
        """
        priced = ask()
        if priced.best <= floor:
            priced.proper = priced.best
            return priced
        caps, before = tuple(self.wanted.need[k] for k in priced.stock.kinds), priced.seconds
        found = self._listing(priced.stock, priced, caps, floor, limit, MOST_LABELS)
        if found.whole:
            values = (one.worth + float(np.dot(priced.prices, one.counts)) for one in found.labels)
            priced.proper = max(values, default=floor)
        priced.listing = found.seconds - (priced.seconds - before)
        return priced

    def least_prices(self, aim: Aim) -> Floats:
        """Return what one more blank of each kind than is needed raises the bound by, (kinds,): nothing, or a price."""
        prices = self.asked(aim)
        dear = np.vstack((prices.blanks, prices.own)).min(axis=0)
        for index in self.proper:
            dear[self._most[index] > self.wanted.need] = 0.0
        return np.asarray(dear)

    def begin(self) -> None:
        """Begin with another aim: at its prices other stocks may be listed."""
        self.proper.clear()
        self.refused.clear()

    def make_proper(self, priced: Sequence[Priced | None], aim: Aim) -> bool:
        """Make stocks proper that are asked at prices of their own, or used with a surplus, if they can soon be listed.

        Returns whether there are any; those that take longer are not asked again.
        """
        seconds = min(MOST_PROPER, 0.02 * self.left())
        prices = self.asked(aim)
        relief = prices.relief(self.wanted.need)
        asked = {
            i for i, one in enumerate(priced) if one is not None and relief[i] > LEAST_GAIN
        } | self.surplus
        todo = sorted(asked - self.proper - self.refused, key=self.size)

        def task(index: int) -> Callable[[], Priced] | None:
            if self.left() <= 0:
                return None
            floor = self._least_cost(index, aim) + max(float(prices.scarce[index]), 0.0)
            return self._from_above(index, prices.blanks, aim, floor, seconds, proper=True)

        found = set[int]()
        for index, one in self._in_turn(todo, task):
            if one is None:
                continue
            self._spent(one)
            (self.refused if one.proper is None else found).add(index)
        self.proper |= found
        return bool(found)

    def relaxed(self, aim: Aim) -> float:
        """Return what the linear relaxation came to: the bound, were its prices those of all cuttings."""
        prices = self.asked(aim)
        return self._settled_value(prices.blanks, aim) - float(np.dot(self.wanted.copies, prices.scarce))

    def _by_volume(self, stock: Stock, prices: Floats, cost: int) -> float:
        """Return a value that no cutting of a stock exceeds: all its wood at its dearest use, then at the next.

        No more blanks of a kind count than are needed. A leftover is worth no more by volume than the whole offcut,
        since worth falls with length.
        """
        left = whole = float(stock.offcut.volume)
        uses = [(cost / whole, whole)]
        for k, wood in least_wood(stock):
            uses.append((float(prices[k]) / wood, float(wood) * self.wanted.need[k]))
        total = 1.0
        for worth_of_wood, most in sorted(uses, reverse=True):
            total += worth_of_wood * min(most, left)
            left -= min(most, left)
        return total

    def near(
        self,
        priced: Sequence[Priced | None],
        aim: Aim,
        slack: float,
        *,
        seconds: float,
        most: int = MOST_LABELS,
    ) -> bool:
        """Add every cutting of every stock whose reduced cost may be within ``slack`` of the least one (or of 0).

        Returns False where there were too many, or more than can be listed in so many seconds of work. Small stocks
        come first, those that took too long before come last, and only the very last may take all that is left, the
        others half of it. Stocks whose cuttings are all listed are passed over.
        """
        remaining = min(seconds, self.left())
        ready = {index: one for index, one in enumerate(priced) if one is not None}

        def least(index: int) -> float:
            cost, one = self._least_cost(index, aim), ready[index]
            return cost - one.relief - min(0.0, cost - one.most) - slack

        full = len(self.pool.columns) + MOST_LISTED

        def task(index: int) -> Callable[[], Listed] | None:
            if min(remaining, self.left()) <= 0 or len(self.pool.columns) > full:
                return None
            limit = remaining if index == todo[-1] else remaining / 2
            return partial(self._list, index, ready[index], least(index), limit, most)

        todo = [i for i, one in ready.items() if one.best >= least(i) and one.listed > least(i)]
        todo.sort(key=lambda index: (ready[index].laborious, self.size(index)))
        whole = len(ready) == len(priced)
        for done, (index, found) in enumerate(self._in_turn(todo, task), 1):
            if found is None:
                whole = False
                continue
            remaining -= TOGETHER * found.seconds
            self._add(index, found)
            if found.whole:
                ready[index].listed = least(index)
            ready[index].laborious |= not (found.whole or found.labels)
            whole &= found.whole
            self.on_round(done)
        return whole

    def recut(self, column: Column, aim: Aim) -> None:
        """Add the cuttings of a column's stock that are worth at least as much as it is, extras among them."""
        stock = self.stocks[column.stock]
        clipped = self.asked(aim).own[column.stock]
        worth = stock.cost - column.cost + float(np.dot(clipped, column.counts))
        priced = Priced(stock, clipped, upper=True, keepers=True)
        if priced.find_all(worth - 1.0, 1.0):
            self._add(column.stock, self._list(column.stock, priced, worth, 1.0, MOST_LABELS))
        self.spend(priced.seconds)

    def _list(self, index: int, priced: Priced, least: float, limit: float, most: int) -> Listed:
        """Return every cutting of a stock worth at least ``least``, as far as ``limit`` seconds of work go.

        Of those that match only one is listed, and where splits are coarse that may be one that only promises more.
        So the best of what there really is are listed too.
        """
        stock = self.stocks[index]
        caps = tuple(self.wanted.need[k] + self.wanted.extra[k] for k in stock.kinds)
        found = self._listing(stock, priced, caps, least, limit, most)
        above = priced.stock is stock.above
        if not (above or stock.coarse):
            return found
        slack, exact = priced.best - least, priced.of(stock)
        exact.find_best(0.0, limit)
        real = self._listing(stock, exact, caps, exact.best - slack, limit, most)
        seconds = found.seconds + exact.seconds + real.seconds
        if above:
            return Listed(real.labels, found.whole, seconds, ghosts=found.labels)
        return Listed([*found.labels, *real.labels], found.whole, seconds)

    def _listing(
        self, stock: Stock, priced: Priced, caps: tuple[int, ...], least: float, limit: float, most: int
    ) -> Listed:
        opener = Opener(priced, caps, limit=limit, most=most)
        try:
            labels = opener.cuttings(least)
        except OutOfTimeError:
            return Listed((), False, opener.seconds)
        return Listed(labels, opener.whole and stock.complete, opener.seconds)

    def _add(self, index: int, found: Listed) -> None:
        self.spend(TOGETHER * found.seconds + READING * (len(found.labels) + len(found.ghosts)))
        stock = self.stocks[index]
        figures = Figures(stock, self.job)
        for label in found.labels:
            self.pool.add(make_column(index, stock, label, self.job, figures))
        if stock.above is not None:
            above = Figures(stock.above, self.job)
            for label in found.ghosts:
                self.pool.add_ghost(make_column(index, stock.above, label, self.job, above))
