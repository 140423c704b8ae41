"""Plans built board by board: each is cut for what is left of the batch, at prices that are corrected on the way.

No board ever holds more than is wanted, so this works where every priced cutting would be over-full: many kinds, few
of each. After sequential value correction (Belov & Scheithauer, from memory): with e(board) what its blanks are priced
at for each unit of its cost, boards are taken largest e first, and the price of a blank that was made dearly rises.
Then large neighbourhoods: a few boards are given back and cut anew, out of all that is free; or one is given back and
its blanks are squeezed into the sticks of the others.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

import numpy as np

from yieldplan.solve.assemble import without_surplus
from yieldplan.solve.bench import cut_board, drawing_of, items_of, new_bench, wanted_of
from yieldplan.solve.costing import column_of
from yieldplan.solve.fill import SEED, WORK, Costs
from yieldplan.solve.generate import FIRST_LOOKS, STEP
from yieldplan.solve.graph import SCALE
from yieldplan.solve.incumbent import drawn_of
from yieldplan.solve.integer import missing_of
from yieldplan.solve.paths import NEVER
from yieldplan.solve.squeeze import Squeezer

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

    Ints = NDArray[np.int64]

CELL, MOVE, COLUMN = 2.5e-9, 8e-9, 6e-4
"""Seconds that a cell of a knapsack, a move of packing and a drawing count for (:class:`Budget`)."""

FIRST_RUNS = (0, 50, 100, 150, 200, 50, 100, 150)
"""How far from the best the choices of the first runs may lie, in thousandths."""

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
        self.search, self.budget = search, budget
        self.batch, self.classes, self.problem = search.batch, search.classes, search.problem
        self.wanted = wanted_of(self.batch)
        self.items = [items_of(self.batch, one, self.wanted) for one in self.classes]
        self.bench = new_bench(self.classes, len(self.wanted.kind), self.batch.settings)
        self.random = random.Random(7)
        price = self.batch.price
        self.costs = Costs(
            saw=np.array([price.cut, price.bandsaw]) * SCALE,
            setting=price.setting * SCALE,
            cut=price.cut * SCALE,
            stick=price.stick * SCALE,
            billet=price.billet * SCALE,
            worth=1,
        )
        self.weight = np.ones(len(self.wanted.kind))
        self._priced = False

    # -- one board -----------------------------------------------------------------------------------------------

    def cut(
        self, number: int, left: Ints, prices: Ints, used: set[int], spread: int, least: float
    ) -> tuple[float, Column] | None:
        """Return a board of a class cut for what is left, and what its blanks are priced at for each unit of its cost.

        None where that is no more than ``least``.
        """
        found = self.items[number]
        if found is None:
            return self._cut_flawed(number, left, prices)
        items, order = found
        bench, one, count = self.bench, self.classes[number], len(order)
        bench.left[:count], bench.prices[:count] = left[order], prices[order]
        if not bench.left[:count].any():
            return None
        bench.settings[:] = 0
        bench.settings[list(used)] = 1
        bench.counts[SEED], bench.counts[WORK] = self.random.getrandbits(40), 0
        sawn = cut_board(self.batch.shop, self.costs, items, bench, spread)
        self.budget.spend(int(bench.counts[WORK]) * CELL)
        ratio = sawn.gain / max(sawn.cost, 1)
        if not sawn.billets or ratio <= least:
            return None
        self.budget.spend(COLUMN)
        billets = drawing_of(self.batch, one, self.wanted, found, bench, sawn.billets)
        return ratio, column_of(self.batch, number, one.names[0], billets)

    def _cut_flawed(self, number: int, left: Ints, prices: Ints) -> tuple[float, Column] | None:
        """Return the board that pricing gives, without what would be too much."""
        pricer, one, wanted = self.search.pricer, self.classes[number], self.wanted
        by_kind = np.full(len(self.batch.blanks), NEVER, np.int64)
        most = np.zeros(len(self.batch.blanks), np.int64)
        for item, kind in enumerate(wanted.kind):
            if left[item]:
                by_kind[kind], most[kind] = max(by_kind[kind], prices[item]), most[kind] + left[item]
        if not most[one.kinds].any():
            return None
        if not self._priced:
            pricer.set_prices(by_kind, most=most)
            self._priced = True
        before, pricer.most_looks = pricer.work, FIRST_LOOKS
        column = pricer.best(number).column
        self.budget.spend((pricer.work - before) * STEP + COLUMN)
        if column is None:
            return None
        if any(count > most[kind] for kind, count in column.counts):
            column = self._trimmed(column, most)
        if column is None:
            return None
        gain = sum(int(by_kind[kind]) * count for kind, count in column.counts)
        return gain / (SCALE * max(column.cost, 1)), column

    def _trimmed(self, column: Column, most: Ints) -> Column | None:
        """Return a column without the blanks that are not wanted any more; None where nothing is left."""
        job, name = self.batch.job, self.classes[column.offcut_class].names[0]
        rest = {blank.name: int(count) for blank, count in zip(self.batch.blanks, most, strict=True)}
        blanks = tuple(replace(blank, need=rest.get(blank.name, 0), spare=0) for blank in job.blanks)
        drawn = drawn_of(self.classes, (column,))
        kept = without_surplus(replace(job, blanks=blanks), drawn)
        self.budget.spend(COLUMN)
        return column_of(self.batch, column.offcut_class, name, kept[0].billets) if kept else None

    # -- sticks packed anew --------------------------------------------------------------------------------------

    def squeezer(self) -> Squeezer:
        """Return what packs the sticks of plans anew."""
        kinds: dict[tuple[int, int], set[frozenset[int]]] = {}
        for one, found in zip(self.classes, self.items, strict=True):
            if found is None:
                continue
            for row, stick in enumerate(one.types):
                members = frozenset(int(one.kinds[n]) for n in np.flatnonzero(one.wood.fits[row] >= -1))
                kinds.setdefault(stick.finished, set()).add(members)
        mark = self.batch.job.shop.mark
        same = frozenset((w * mark, t * mark) for (w, t), sets in kinds.items() if len(sets) == 1)
        sound = [found is not None for found in self.items]
        return Squeezer(batch=self.batch, classes=self.classes, sections=same, sound=sound)

    def squeezed(self, columns: Sequence[Column], squeezer: Squeezer, most: int) -> list[Column] | None:
        """Return a plan with what is missing squeezed in; one board is given back first if nothing is missing."""
        kept, left = list(columns), self.left_of(columns)[0]
        if not left.any():
            sizes = [column.cost / (1 + sum(count for _, count in column.counts)) for column in kept]
            del kept[max(self.random.sample(range(len(kept)), min(len(kept), 3)), key=lambda n: sizes[n])]
            left = self.left_of(kept)[0]
        loose = [
            self.batch.blanks[kind].name
            for kind, count in zip(self.wanted.kind, left.tolist(), strict=True)
            for _ in range(count)
        ]
        before = squeezer.looked
        found = squeezer.squeeze(kept, loose, most=most, seed=self.random.getrandbits(40))
        self.budget.spend((squeezer.looked - before) * MOVE + COLUMN * len(kept))
        return found

    # -- plans ---------------------------------------------------------------------------------------------------

    def left_of(self, columns: Sequence[Column]) -> tuple[Ints, list[int]]:
        """Return what columns leave of the items and of the copies of each class."""
        copies = list(self.problem.copies)
        held = [0] * len(self.batch.blanks)
        for column in columns:
            copies[column.offcut_class] -= 1
            for kind, count in column.counts:
                held[kind] += count
        left = self.wanted.count.copy()
        for item, kind in enumerate(self.wanted.kind):
            taken = min(held[kind], int(left[item]))
            left[item] -= taken
            held[kind] -= taken
        return left, copies

    def rank_of(self, columns: Sequence[Column]) -> tuple[tuple[int, ...], int]:
        """Return what a plan misses, class by class, and what it costs."""
        held = [0] * len(self.batch.blanks)
        settings: set[int] = set()
        for column in columns:
            settings |= column.settings
            for kind, count in column.counts:
                held[kind] += count
        stops = {self.batch.blanks[kind].length for kind, count in enumerate(held) if count}
        cost = sum(column.cost for column in columns)
        cost += len(settings) * self.batch.price.setting + len(stops) * self.batch.price.stop
        return missing_of(self.problem, held), cost

    def build(self, kept: Sequence[Column], spread: int) -> list[Column]:
        """Return a plan of the columns kept and of boards cut one after the other for what is left."""
        columns = list(kept)
        left, copies = self.left_of(columns)
        used = {setting for column in columns for setting in column.settings}
        noise = np.array([self.random.lognormvariate(0, spread / 1000) for _ in left])
        prices = (self.wanted.price * self.weight * noise * self._urgent(left)).astype(np.int64)
        while left.any() and not self.budget.out():
            self._priced = False
            free = [number for number, most in enumerate(copies) if most]
            asked = self.random.sample(free, min(ASKED, len(free)))
            best: tuple[float, Column] | None = None
            for number in sorted(asked):
                found = self.cut(number, left, prices, used, spread, best[0] if best else 0.0)
                if found is not None and (best is None or found[0] > best[0]):
                    best = found
            if best is None:
                if len(asked) == len(free):
                    break
                if not self._any_left(free, left):
                    break
                continue
            column = best[1]
            columns.append(column)
            used |= column.settings
            left, copies = self.left_of(columns)
        return columns

    def _urgent(self, left: Ints) -> NDArray[np.float64]:
        """Return by what prices are raised: of what is left of the first class more than of the next, now and then."""
        factor = self.random.choice((1, 2, 4))
        ranks = [
            len(self.problem.aims) if spare else self.batch.blanks[kind].priority
            for kind, spare in zip(self.wanted.kind, self.wanted.spare, strict=True)
        ]
        first = min((rank for rank, count in zip(ranks, left.tolist(), strict=True) if count), default=0)
        return np.array([factor if rank == first else 1 for rank in ranks], np.float64)

    def recut(self, columns: Sequence[Column]) -> list[Column]:
        """Return a plan in which a few boards are given back, and what they gave is cut anew."""
        freed = self.random.sample(range(len(columns)), min(len(columns), self.random.randint(1, 4)))
        kept = [column for n, column in enumerate(columns) if n not in freed]
        return self.build(kept, self.random.choice((20, 80, 200)))

    def _any_left(self, free: Sequence[int], left: Ints) -> bool:
        return any(found is not None and left[found[1]].any() for found in (self.items[n] for n in free))

    def correct(self, columns: Sequence[Column]) -> None:
        """Correct the prices: of blanks on dear boards they rise, and of those that are missing most."""
        prices = self.wanted.price * self.weight
        first = {kind: item for item, kind in reversed(list(enumerate(self.wanted.kind)))}
        dear = []
        for column in columns:
            gain = sum(prices[first[kind]] * count for kind, count in column.counts)
            dear.append(SCALE * column.cost / max(gain, 1))
        mean = sum(dear) / max(len(dear), 1)
        for column, one in zip(columns, dear, strict=True):
            factor = min(max(one / mean, 0.5), 2.0) ** 0.2
            for kind, _ in column.counts:
                self.weight[first[kind]] *= factor
        left, _ = self.left_of(columns)
        self.weight[left > 0] *= 1.1
        self.weight /= math.exp(float(np.log(self.weight).mean()))
        np.clip(self.weight, 0.3, 3.0, out=self.weight)


def construct(search: Begun, budget: Budget) -> Iterator[tuple[OffcutPlan, ...]]:
    """Yield ever better plans, as drawings, until the seconds are spent.

    ``search`` gives the batch and the classes; its incumbent, if there is one, is where neighbourhoods begin.
    """
    builder = Builder(search, budget)
    squeezer = builder.squeezer()
    best = list(search.incumbent.columns) if search.incumbent else []
    rank = builder.rank_of(best)
    for spread in FIRST_RUNS:
        if budget.out():
            return
        columns = builder.build((), spread)
        builder.correct(columns)
        found = builder.rank_of(columns)
        if found < rank:
            best, rank = columns, found
            yield drawn_of(builder.classes, best)
    now, now_rank, most = best, rank, 200_000
    share, squeezed, began = (
        0.7 if len(squeezer.sections) == 1 and all(squeezer.sound) else 0.15,
        0.0,
        budget.spent,
    )
    while not budget.out() and now:
        heat = 0.01 * max(budget.left / budget.seconds, 0)
        if squeezed <= share * (budget.spent - began):
            before = budget.spent
            tried = builder.squeezed(now, squeezer, most)
            squeezed += budget.spent - before
            most = min(most * 3 // 2, int(0.2 * max(budget.left, 0) / MOVE))
        else:
            tried = builder.recut(now)
        if tried is None:
            continue
        found = builder.rank_of(tried)
        if found[0] < now_rank[0] or (
            found[0] == now_rank[0] and found[1] <= now_rank[1] * (1 + heat * builder.random.random())
        ):
            now, now_rank = tried, found
        if found < rank:
            best, rank = tried, found
            yield drawn_of(builder.classes, best)
