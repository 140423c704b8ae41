"""Plans built board by board: each is cut for what is left of the batch.

No board ever holds more than is wanted, so this works where every priced cutting would be over-full: many kinds, few
of each. With e(board) what its blanks are priced at for each unit of its cost, boards are taken largest e first (after
Belov & Scheithauer's sequential value correction, from memory; drawing prices at random does as well as correcting
them). Then large neighbourhoods: a few boards are given back and cut anew, out of all that is free. Bars are packed
exactly.
"""

from __future__ import annotations

import random
from itertools import count
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.solve.bars import are_bars, on_fewer_bars
from yieldplan.solve.bench import cut_board, items_of, new_bench
from yieldplan.solve.budget import COLUMN
from yieldplan.solve.column_generation import FIRST_LOOKS
from yieldplan.solve.columns import column_of
from yieldplan.solve.graph import SCALE
from yieldplan.solve.incumbent import drawn_of, rank_of, without_more
from yieldplan.solve.master import left_of
from yieldplan.solve.paths import NEVER

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from yieldplan.model import OffcutPlan
    from yieldplan.solve.budget import Budget
    from yieldplan.solve.columns import Column
    from yieldplan.solve.master import MasterProblem
    from yieldplan.solve.pricing import Pricer

    Ints = NDArray[np.int64]

CELL = 2.5e-9
"""Seconds that a cell of a knapsack counts for (:class:`Budget`), as measured."""

FIRST_RUNS = 8
"""Plans built from nothing before neighbourhoods begin. Many kinds, 8 s: with one alone 1.1 % dearer (median of 5)."""

PRICE = 3.0
"""What a blank is priced at, in times the board feet that it takes with kerfs and allowances. Many kinds, 8 s: from
2 to 4.5 plans come out within a per cent of each other."""

SPREAD = 0.1
"""How far prices are drawn from that, as a standard deviation of their logarithms: so that plans differ."""

MOST_FREED = 4
"""Boards that are given back at a time at most. Many kinds, 8 s: without giving back 0.6 % dearer (median of 5)."""


class Builder:
    """Cuts boards for what is left, and plans out of boards."""

    def __init__(self, pricer: Pricer, problem: MasterProblem, budget: Budget) -> None:
        self.pricer, self.batch, self.classes = pricer, pricer.batch, pricer.classes
        self.problem, self.budget, self.random = problem, budget, random.Random(7)
        self.items = [items_of(self.batch, one) for one in self.classes]
        self.bench = new_bench(self.classes, len(self.batch.blanks))
        shop, foot = self.batch.job.shop, self.batch.shop.unit / self.batch.job.shop.mark**3
        self.prices = np.array(
            [
                PRICE * SCALE * foot * (blank.length + shop.length_allowance + shop.crosscut_kerf)
                * (blank.width + shop.width_allowance + shop.rip_kerf)
                * (blank.thickness + shop.thickness_allowance + shop.rip_kerf)
                for blank in self.batch.blanks
            ]
        )  # fmt: skip

    def cut(self, number: int, rest: MasterProblem, wanted: Ints, prices: Ints) -> Column | None:
        """Return a board of a class cut for what is wanted; None where nothing is worth it."""
        known, one, bench, pricer = self.items[number], self.classes[number], self.bench, self.pricer
        self.budget.spend(COLUMN)
        if known is None:
            pricer.limit(self.budget, FIRST_LOOKS)
            column = pricer.best(number).column
            if column is not None and any(made > wanted[kind] for kind, made in column.counts):
                column = without_more(self.batch, self.classes, rest, column)
            return column
        order, bench.work[0] = known[1], 0
        bench.left[: len(order)] = wanted[order]
        terms = self.batch.terms(prices[order], (pricer.clean, pricer.steps))
        cutting = cut_board(self.batch, one, known, bench, terms)
        self.budget.spend(int(bench.work[0]) * CELL)
        return column_of(self.batch, number, one.names[0], cutting) if cutting else None

    def build(self, kept: Sequence[Column]) -> list[Column]:
        """Return a plan of the columns kept and of boards cut one after the other for what is left."""
        columns, rest, spares = list(kept), left_of(self.problem, kept), False
        drawn = self.prices * np.exp([self.random.gauss(0, SPREAD) for _ in self.prices])
        prices = drawn.astype(np.int64)

        def gives(column: Column) -> float:
            return sum(int(prices[kind]) * made for kind, made in column.counts) / max(column.cost, 1)

        while not self.budget.out():
            need = np.array(rest.need)
            wanted = np.where(need > 0, 0, rest.spare) if spares else need
            free = [n for n, one in enumerate(self.classes) if rest.copies[n] > 0 and wanted[one.kinds].any()]
            if any(self.items[n] is None for n in free):
                self.pricer.set_prices(np.where(wanted > 0, prices, NEVER), most=wanted)
            found = [one for n in free if (one := self.cut(n, rest, wanted, prices)) is not None]
            if found:
                columns.append(max(found, key=gives))
                rest = left_of(self.problem, columns)
            elif spares:
                break
            spares = not found
        return columns


def construct(
    pricer: Pricer, problem: MasterProblem, start: Sequence[Column], budget: Budget
) -> Iterator[tuple[OffcutPlan, ...]]:
    """Yield ever better plans, as drawings, until the seconds are spent; the first is better than ``start``."""
    builder, best = Builder(pricer, problem, budget), list(start)
    rank = rank_of(builder.batch, problem, best)
    tried = on_fewer_bars(pricer, problem, best, budget) if best and are_bars(pricer) else None
    for run in count():
        if tried is not None and rank_of(builder.batch, problem, tried) < rank:
            best, rank = tried, rank_of(builder.batch, problem, tried)
            yield drawn_of(builder.classes, best)
        if budget.out() or (run >= FIRST_RUNS and not best):
            return
        kept = list(best) if run >= FIRST_RUNS else []
        for _ in range(min(len(kept), builder.random.randint(1, MOST_FREED))):
            del kept[builder.random.randrange(len(kept))]
        tried = builder.build(kept)
