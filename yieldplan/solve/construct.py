"""Plans built board by board: each is cut for what is left of the batch, at prices that are corrected on the way.

No board ever holds more than is wanted, so this works where every priced cutting would be over-full: many kinds, few
of each. After sequential value correction (Belov & Scheithauer, from memory): with e(board) what its blanks are priced
at for each unit of its cost, boards are taken largest e first, and the price of a blank that was made dearly rises.
Then large neighbourhoods: a few boards are given back and cut anew, out of all that is free. Of bars one is given back
and its blanks are squeezed into the sticks of the others.
"""

from __future__ import annotations

import random
from itertools import count
from typing import TYPE_CHECKING, Protocol

import numpy as np

from yieldplan.solve.bench import cut_board, drawing_of, items_of, new_bench
from yieldplan.solve.budget import ARC, COLUMN
from yieldplan.solve.column_generation import FIRST_LOOKS
from yieldplan.solve.costing import column_of
from yieldplan.solve.fill import SEED, WORK
from yieldplan.solve.graph import SCALE
from yieldplan.solve.incumbent import columns_of, drawn_of, rank_of, without_more
from yieldplan.solve.master import left_of
from yieldplan.solve.paths import NEVER
from yieldplan.solve.squeeze import squeeze

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

CELL, MOVE, COVERED = 2.5e-9, 8e-9, 0.5
"""Seconds that count (:class:`Budget`) for a cell of a knapsack, a move of packing, an exact packing."""

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
        self.asked: set[tuple[tuple[int, ...], int, int]] = set()
        self.most = 200_000
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
        before, pricer.most_looks = pricer.work, FIRST_LOOKS
        column = pricer.best(number).column
        self.budget.spend((pricer.work - before) * ARC + COLUMN)
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

    def squeezed(self, columns: Sequence[Column]) -> list[Column]:
        """Return a plan with what is missing squeezed in; one bar is given back first if nothing is missing."""
        kept = list(columns)
        if not any(left_of(self.problem, kept).wanted):
            tried = self.random.sample(range(len(kept)), min(len(kept), 3))
            del kept[max(tried, key=lambda n: kept[n].cost / sum(made for _, made in kept[n].counts))]
        wanted = left_of(self.problem, kept).wanted
        loose = [
            blank.name for blank, more in zip(self.batch.blanks, wanted, strict=True) for _ in range(more)
        ]
        drawn, seed = drawn_of(self.classes, kept), self.random.getrandbits(40)
        found = squeeze(self.batch.job, drawn, loose, most=self.most, seed=seed, known=self.asked)
        if found.asked:
            self.asked.add(found.asked)
        self.budget.spend(found.looked * MOVE + COLUMN * len(kept) + COVERED * bool(found.asked))
        self.most = min(self.most * 3 // 2, int(0.2 * max(self.budget.left, 0) / MOVE))
        return list(columns_of(self.batch, self.classes, found.drawn))

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
    now, now_rank, bars = best, rank, builder.are_bars
    for run in count():
        if budget.out() or (run >= FIRST_RUNS and not now):
            return
        heat = 0.01 * builder.random.random() * max(budget.left / budget.seconds, 0)
        if run < FIRST_RUNS:
            tried = builder.build((), 50 * (run % 4))
            builder.correct(tried)
        elif bars and run % 4:
            tried = builder.squeezed(now)
        else:
            tried = builder.recut(now)
        found = rank_of(builder.batch, builder.problem, tried)
        if found < now_rank or (run >= FIRST_RUNS and (found[0], found[1] / (1 + heat)) <= now_rank):
            now, now_rank = tried, found
        if found < rank:
            best, rank = tried, found
            yield drawn_of(builder.classes, best)
