"""Plans built board by board: each is cut for what is left of the batch, at prices that are corrected on the way.

No board ever holds more than is wanted, so this works where every priced cutting would be over-full: many kinds, few
of each. After sequential value correction (Belov & Scheithauer, from memory): with e(board) what its blanks are priced
at for each unit of its cost, boards are taken largest e first, and the price of a blank that was made dearly rises.
Then large neighbourhoods: a few boards are given back and cut anew, out of all that is free. Bars are packed exactly.
"""

from __future__ import annotations

import random
from itertools import count
from typing import TYPE_CHECKING, Protocol

import numpy as np

from yieldplan.solve.bars import repacked
from yieldplan.solve.bench import cut_board, drawing_of, items_of, new_bench
from yieldplan.solve.budget import COLUMN
from yieldplan.solve.column_generation import FIRST_LOOKS
from yieldplan.solve.costing import column_of
from yieldplan.solve.fill import SEED, WORK
from yieldplan.solve.graph import SCALE
from yieldplan.solve.incumbent import columns_of, drawn_of, rank_of, without_more
from yieldplan.solve.master import left_of
from yieldplan.solve.paths import NEVER

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from yieldplan.model import Job, OffcutPlan
    from yieldplan.solve.budget import Budget
    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Column
    from yieldplan.solve.incumbent import Incumbent
    from yieldplan.solve.master import MasterProblem
    from yieldplan.solve.pricing import Pricer

    Floats = NDArray[np.float64]

CELL = 2.5e-9
"""Seconds that a cell of a knapsack counts for (:class:`Budget`)."""

FIRST_RUNS = 8
"""Plans built from nothing before neighbourhoods begin; their prices are corrected from one to the next."""

ASKED = 8
"""Classes that are tried for each board: a run that looks at fewer is done sooner, and many are made."""


class Begun(Protocol):
    """What a search has that plans are built for."""

    job: Job
    batch: Batch
    classes: list[OffcutClass]
    pricer: Pricer
    problem: MasterProblem
    incumbent: Incumbent | None


class Builder:
    """Cuts boards for what is left, and plans out of boards."""

    def __init__(self, search: Begun, budget: Budget) -> None:
        self.batch, self.classes, self.problem = search.batch, search.classes, search.problem
        self.pricer, self.budget, self.random = search.pricer, budget, random.Random(7)
        self.items = [items_of(self.batch, one) for one in self.classes]
        self.bench = new_bench(self.classes, len(self.batch.blanks), self.batch.settings)
        self.prices = self._first_prices()
        self._priced = False

    def _first_prices(self) -> Floats:
        """Return prices to begin with: one and a half times the worth of the wood that a blank takes, and four cuts."""
        batch, shop = self.batch, self.batch.job.shop
        found = []
        for blank in batch.blanks:
            wide = blank.width + shop.width_allowance + shop.rip_kerf
            thick = blank.thickness + shop.thickness_allowance + shop.rip_kerf
            volume = wide * thick * (blank.length + shop.length_allowance + shop.crosscut_kerf)
            worth = volume / shop.mark**3 * batch.shop.unit * (1 + 0.5 * batch.shop.premium)
            found.append(SCALE * max(1.5 * worth + 4 * batch.price.cut, 1))
        return np.array(found)

    @property
    def are_bars(self) -> bool:
        """Whether every kind may lie on every stick: one section, all wood sound."""
        sections = {(blank.width, blank.thickness) for blank in self.batch.blanks}
        kinds = {found if found is None else len(found[1]) for found in self.items}
        return len(sections) == 1 and kinds == {len(self.batch.blanks)}

    # -- one board -----------------------------------------------------------------------------------------------

    def cut(
        self, number: int, rest: MasterProblem, prices: Floats, spread: int, least: float
    ) -> tuple[float, Column] | None:
        """Return a board of a class cut for what is left, and what its blanks are priced at for each unit of its cost.

        None where that is no more than ``least``.
        """
        known, one, bench = self.items[number], self.classes[number], self.bench
        if known is None:
            return self._cut_flawed(number, rest, prices)
        order = known[1]
        bench.left[: len(order)] = np.array(rest.wanted)[order]
        bench.spare[: len(order)] = np.array(rest.spare)[order]
        bench.made[:] = 0
        bench.made[list(rest.surely)] = 1
        bench.counts[SEED], bench.counts[WORK] = self.random.getrandbits(40), 0
        terms = self.batch.terms(prices[order].astype(np.int64), (self.pricer.clean, self.pricer.steps))
        billets, ratio = cut_board(self.batch, one, known, bench, terms, spread)
        self.budget.spend(int(bench.counts[WORK]) * CELL)
        if not billets or ratio <= least:
            return None
        self.budget.spend(COLUMN)
        cutting = drawing_of(self.batch, one, billets)
        return ratio, column_of(self.batch, number, one.names[0], cutting)

    def _cut_flawed(self, number: int, rest: MasterProblem, prices: Floats) -> tuple[float, Column] | None:
        """Return the board that pricing gives, without what would be too much."""
        pricer, wanted = self.pricer, np.array(rest.wanted)
        by_kind = np.where(wanted > 0, prices.astype(np.int64), NEVER)
        if not self._priced:
            pricer.set_prices(by_kind, most=wanted)
            self._priced = True
        pricer.limit(self.budget, FIRST_LOOKS)
        column = pricer.best(number).column
        self.budget.spend(COLUMN)
        if column is not None and any(made > wanted[kind] for kind, made in column.counts):
            column = without_more(self.batch, self.classes, rest, column)
        if column is None:
            return None
        gain = sum(int(by_kind[kind]) * made for kind, made in column.counts)
        return gain / (SCALE * max(column.cost, 1)), column

    # -- plans ---------------------------------------------------------------------------------------------------

    def build(self, kept: Sequence[Column], spread: int) -> list[Column]:
        """Return a plan of the columns kept and of boards cut one after the other for what is left."""
        columns, shut = list(kept), set[int]()
        rest = left_of(self.problem, columns)
        noise = np.exp([self.random.gauss(0, spread / 1000) for _ in self.prices])
        prices = self.prices * noise * self._urgent(rest)
        while not self.budget.out():
            self._priced, wanted = False, np.array(rest.wanted)
            free = [
                n
                for n, one in enumerate(self.classes)
                if n not in shut and rest.copies[n] > 0 and wanted[one.kinds].any()
            ]
            asked = sorted(self.random.sample(free, min(ASKED, len(free))))
            best: tuple[float, Column] | None = None
            for number in asked:
                found = self.cut(number, rest, prices, spread, best[0] if best else 0.0)
                if found is not None and (best is None or found[0] > best[0]):
                    best = found
            if best is not None:
                columns.append(best[1])
                rest = left_of(self.problem, columns)
            elif not asked:
                break
            shut |= set(asked) if best is None else set()
        return columns

    def _urgent(self, rest: MasterProblem) -> Floats:
        """Return by what prices are raised, now and then: those of the first class of which anything is left."""
        factor = self.random.choice((1, 2, 4))
        aims = (aim for aim in self.problem.aims if any(rest.wanted[kind] for kind in aim))
        found = np.ones(len(self.prices))
        found[list(next(aims, ()))] = factor
        return found

    def recut(self, columns: Sequence[Column]) -> list[Column]:
        """Return a plan in which a few boards are given back, and what they gave is cut anew."""
        freed = self.random.sample(range(len(columns)), min(len(columns), self.random.randint(1, 4)))
        kept = [column for n, column in enumerate(columns) if n not in freed]
        return self.build(kept, self.random.choice((20, 80, 200)))

    def on_fewer_bars(self, columns: Sequence[Column]) -> list[Column] | None:
        """Return a plan of as few of its bars as can be, or what is missing packed into them; None if none is found.

        Those that are dearest for what they hold go first.
        """
        order = sorted(columns, key=lambda column: column.cost / sum(made for _, made in column.counts))
        some_miss = any(left_of(self.problem, order).wanted)
        for kept in [order] if some_miss else [order[:many] for many in range(1, len(order))]:
            left = left_of(self.problem, kept).wanted
            loose = [b.name for b, more in zip(self.batch.blanks, left, strict=True) for _ in range(more)]
            found = repacked(self.batch.job, drawn_of(self.classes, kept), loose, self.budget)
            if found is not None:
                return list(columns_of(self.batch, self.classes, found))
        return None

    def correct(self, columns: Sequence[Column]) -> None:
        """Correct the prices: of blanks on dear boards they rise, and of those that are missing most."""
        gains = [sum(self.prices[kind] * made for kind, made in column.counts) for column in columns]
        dear = [column.cost / gain for column, gain in zip(columns, gains, strict=True)]
        mean, level = float(np.mean(dear)) if dear else 1.0, self.prices.mean()
        for column, one in zip(columns, dear, strict=True):
            self.prices[[kind for kind, _ in column.counts]] *= min(max(one / mean, 0.5), 2.0) ** 0.2
        self.prices[np.array(left_of(self.problem, columns).wanted) > 0] *= 1.1
        self.prices *= level / self.prices.mean()


def construct(search: Begun, budget: Budget) -> Iterator[tuple[OffcutPlan, ...]]:
    """Yield ever better plans, as drawings, until the seconds are spent.

    ``search`` gives the batch and the classes; its incumbent, if there is one, is where neighbourhoods begin.
    """
    builder = Builder(search, budget)
    best = list(search.incumbent.columns) if search.incumbent else []
    rank = rank_of(builder.batch, builder.problem, best)
    if best and builder.are_bars and (packed := builder.on_fewer_bars(best)):
        best, rank = packed, rank_of(builder.batch, builder.problem, packed)
        yield drawn_of(builder.classes, best)
    now, now_rank = best, rank
    for run in count():
        if budget.out() or (run >= FIRST_RUNS and not now):
            return
        heat = 0.01 * builder.random.random() * max(budget.left / budget.seconds, 0)
        if run < FIRST_RUNS:
            tried = builder.build((), 50 * (run % 4))
            builder.correct(tried)
        else:
            tried = builder.recut(now)
        found = rank_of(builder.batch, builder.problem, tried)
        if found < now_rank or (run >= FIRST_RUNS and (found[0], found[1] / (1 + heat)) <= now_rank):
            now, now_rank = tried, found
        if found < rank:
            best, rank = tried, found
            yield drawn_of(builder.classes, best)
