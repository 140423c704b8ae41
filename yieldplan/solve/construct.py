"""Plans built board by board: each is cut for what is left of the batch.

No board ever holds more than is wanted, so this works where every priced cutting would be over-full: many kinds, few
of each. A kind i of which a_i are still wanted is priced at p_i, and what a stretch of sound stick gives is a bounded
knapsack, with s_i the blank's length and a kerf, k a cut: ::

    D(n) = max of sum (p_i - k) x_i   over whole 0 <= x_i <= a_i with sum s_i x_i <= n

Strips, and sticks in them, are taken one by one, what gives the most for its width first; a board's billets likewise,
each to the end or as short as its sticks ask. Of all boards that with the highest price of its blanks for each unit of
its cost is cut (after Belov & Scheithauer's sequential value correction, from memory; drawing prices at random does as
well as correcting them). Then large neighbourhoods: a few boards are given back and cut anew, out of all that is free.
Bars are packed exactly.
"""

from __future__ import annotations

import math
import random
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.model import Billet, SplitBillet
from yieldplan.solve.bars import are_bars, on_fewer_bars
from yieldplan.solve.boards import Board, Milled
from yieldplan.solve.budget import COLUMN
from yieldplan.solve.columns import Column, column_of
from yieldplan.solve.incumbent import drawn_of, rank_of
from yieldplan.solve.master import left_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from yieldplan.model import OffcutPlan
    from yieldplan.solve.boards import OpenStick
    from yieldplan.solve.budget import Budget
    from yieldplan.solve.classes import Batch
    from yieldplan.solve.master import MasterProblem
    from yieldplan.solve.pricing import Pricer

    Taken = list[tuple[int, int, int, NDArray[np.bool_]]]

PRICE = 2.4, 3.6
"""Between what a blank is priced at, drawn anew for every plan, in times the board feet that it takes with kerfs and
allowances. Bench row kinds: prices all alike at either end came out within a per cent, but plans must differ."""

MOST_FREED = 4
"""Boards that are given back at a time at most. Bench row kinds: without giving back 0.6 % dearer."""


class Prices:
    """What each kind is priced at, in thousandths of a board foot, and what sticks give at that."""

    def __init__(self, batch: Batch, rng: random.Random) -> None:
        shop = batch.job.shop
        self.batch, self.of = batch, list[float]()
        self.sizes = [
            (b.length + shop.length_allowance + shop.crosscut_kerf) // shop.mark for b in batch.blanks
        ]
        self.unit = math.gcd(*self.sizes)
        for blank, size in zip(batch.blanks, self.sizes, strict=True):
            wide = blank.width + shop.width_allowance + shop.rip_kerf
            thick = blank.thickness + shop.thickness_allowance + shop.rip_kerf
            fair = batch.shop.unit * size * wide * thick / shop.mark**2
            self.of.append(rng.uniform(*PRICE) * fair)
        self._knapsack = lru_cache(self._solve)

    def of_column(self, column: Column) -> float:
        """Return what the blanks of a column are priced at."""
        return sum(self.of[kind] * many for kind, many in column.counts)

    def _solve(self, kinds: tuple[int, ...], most: tuple[int, ...]) -> tuple[NDArray[np.float64], Taken]:
        """Return D of these kinds, of which there are so many, by units of length, and what was taken when."""
        room = (self.batch.longest + self.batch.shop.cross_kerf) // self.unit
        best = np.zeros(room + 1)
        taken: Taken = []
        for kind, wanted in zip(kinds, most, strict=True):
            left, many = min(wanted, room // (self.sizes[kind] // self.unit)), 1
            while left > 0:
                many = min(many, left)
                size = many * self.sizes[kind] // self.unit
                more = best[:-size] + many * (self.of[kind] - self.batch.price.cut)
                better = np.append(np.zeros(size, np.bool_), more > best[size:])
                best[better] = more[better[size:]]
                taken.append((kind, many, size, better))
                left, many = left - many, 2 * many
        return best, taken

    def lay(self, stick: OpenStick, left: Sequence[int]) -> float:
        """Lay on a stick what gives the most, at most what is left; return what that is, less the stick's own work."""
        after, kerf, price = list(left), self.batch.shop.cross_kerf, self.batch.price
        for low, high in stick.sound():
            at = max(low, stick.end + kerf) if stick.laid else low
            kinds = tuple(
                kind
                for kind in sorted(stick.kinds)
                if after[kind] > 0 and self.sizes[kind] <= high - at + kerf
            )
            if not kinds:
                continue
            _, taken = self._knapsack(kinds, tuple(after[kind] for kind in kinds))
            n = (high - at + kerf) // self.unit
            for kind, many, size, better in reversed(taken):
                if better[n]:
                    n -= size
                    after[kind] -= many
                    for _ in range(many):
                        stick.laid.append((at, self.sizes[kind] - kerf, kind, "A"))
                        at += self.sizes[kind]
        over = sorted(stick.kinds, key=lambda kind: -self.of[kind] / self.sizes[kind]) if stick.flaws else ()
        for kind in over:
            after[kind] -= stick.fill(kind, after[kind])
        return sum(self.of[kind] - price.cut for _, _, kind, _ in stick.laid) - 2 * price.cut - price.stick


def next_strip(board: Board, across: int, prices: Prices, left: list[int]) -> tuple[float, list[OpenStick]]:
    """Return the sticks of a board's next strip of a width, the best for their depth first, and what they give."""
    milled, left, value = board.milled, list(left), float(-prices.batch.price.cut)
    row: list[OpenStick] = []
    kerf = int(prices.batch.shop.kerf[0])
    y = board.beside(across)
    numbers = [n for n, extents in enumerate(milled.extents) if extents[0] == across] if y else []
    while y:
        tried = [stick for number in numbers if (stick := board.over(number, y, row))]
        gains = [prices.lay(stick, left) / (milled.extents[stick.type][1] + kerf) for stick in tried]
        if max(gains, default=0) <= 0:
            break
        best = tried[gains.index(max(gains))]
        value += max(gains) * (milled.extents[best.type][1] + kerf)
        row.append(best)
        for _, _, kind, _ in best.laid:
            left[kind] -= 1
    return value, row


def cut_billet(milled: Milled, prices: Prices, left: list[int]) -> Board:
    """Return a billet cut for what is left, strip by strip, the best for its width first; that is taken off."""
    board, widths = Board(milled), sorted({across for across, _ in milled.extents})
    kerf = int(prices.batch.shop.kerf[0])
    while True:
        found = [next_strip(board, across, prices, left) for across in widths]
        gains = [value / (across + kerf) for (value, _), across in zip(found, widths, strict=True)]
        if max(gains) <= 0:
            return board
        for stick in found[gains.index(max(gains))][1]:
            board.saw(stick)
            for _, _, kind, _ in stick.laid:
                left[kind] -= 1


class Builder:
    """Cuts boards for what is left, and plans out of boards."""

    def __init__(self, pricer: Pricer, problem: MasterProblem, budget: Budget) -> None:
        self.batch, self.classes, self.problem, self.budget = pricer.batch, pricer.classes, problem, budget
        self.rows = [Milled(self.batch, one) for one in self.classes]
        self.random = random.Random(7)

    def cut(self, number: int, prices: Prices, wanted: Sequence[int]) -> Column | None:
        """Return what gives the most of a board at its cost, billet by billet; None where nothing is worth it."""
        milled, left, before = self.rows[number], list(wanted), list[Billet | SplitBillet]()
        start, found = milled.start, list[Column]()
        while milled.end - start >= milled.one.course.shortest:
            board = cut_billet(milled.between(start, milled.end), prices, left)
            short = board.shortened()
            cuttings = [(*before, billet) for one in (board, short) if (billet := one.billet())]
            if not cuttings:
                break
            found += [column_of(self.batch, number, milled.one.names[0], cutting) for cutting in cuttings]
            before, start = list(cuttings[-1]), short.milled.end + self.batch.shop.cross_kerf
        self.budget.spend(COLUMN * (1 + len(found)))
        return max(found, key=lambda column: prices.of_column(column) - column.cost, default=None)

    def build(self, kept: Sequence[Column]) -> list[Column]:
        """Return a plan of the columns kept and of boards cut one after the other for what is left."""
        columns, prices, spares = list(kept), Prices(self.batch, self.random), False
        rest = left_of(self.problem, kept)
        cut: dict[int, Column | None] = {}
        while not self.budget.out():
            wanted = np.where(rest.need, 0, rest.spare).tolist() if spares else rest.need
            able = [
                n
                for n, one in enumerate(self.classes)
                if rest.copies[n] > 0 and any(wanted[k] for k in one.kinds)
            ]
            for n in able:
                known = cut.get(n)
                if n not in cut or (known and any(many > wanted[kind] for kind, many in known.counts)):
                    cut[n] = self.cut(n, prices, wanted)
            found = [column for n in able if (column := cut[n])]
            if found:
                columns.append(max(found, key=lambda column: prices.of_column(column) / max(column.cost, 1)))
                rest = left_of(self.problem, columns)
            elif spares:
                break
            else:
                spares, cut = True, {}
        return columns


def construct(
    pricer: Pricer, problem: MasterProblem, start: Sequence[Column], budget: Budget
) -> Iterator[tuple[OffcutPlan, ...]]:
    """Yield ever better plans, as drawings, until the seconds are spent; the first is better than ``start``."""
    builder, best = Builder(pricer, problem, budget), list(start)
    rank = rank_of(builder.batch, problem, best)
    tried = on_fewer_bars(pricer, problem, best, budget) if best and are_bars(pricer) else None
    kept: list[Column] = []
    while True:
        if tried is not None and rank_of(builder.batch, problem, tried) < rank:
            best, rank = tried, rank_of(builder.batch, problem, tried)
            yield drawn_of(builder.classes, best)
        if budget.out() or not (builder.classes and any(problem.wanted)):
            return
        tried = builder.build(kept)
        freed = builder.random.randint(0, MOST_FREED)  # 0: all
        kept = builder.random.sample(best, max(len(best) - freed, 0)) if freed else []
