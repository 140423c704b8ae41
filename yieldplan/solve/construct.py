"""Plans built board by board: each is cut for what is left of the batch.

No board ever holds more than is wanted, so this works where every priced cutting would be over-full: many kinds, few
of each. With e(board) what its blanks are priced at for each unit of its cost, boards are taken largest e first (after
Belov & Scheithauer's sequential value correction, from memory; drawing prices at random does as well as correcting
them). Then large neighbourhoods: a few boards are given back and cut anew, out of all that is free. Bars are packed
exactly.
"""

from __future__ import annotations

import math
import random
from itertools import count
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.solve.bars import are_bars, on_fewer_bars
from yieldplan.solve.budget import COLUMN
from yieldplan.solve.column_generation import FIRST_LOOKS
from yieldplan.solve.columns import column_of
from yieldplan.solve.drawn import cutting_of, shortest_first
from yieldplan.solve.fill import Bench, Items, best_billet
from yieldplan.solve.graph import SCALE, Box, keeper_worth
from yieldplan.solve.incumbent import drawn_of, rank_of, without_more
from yieldplan.solve.master import left_of
from yieldplan.solve.paths import NEVER
from yieldplan.solve.places import losses

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from yieldplan.model import Billet, Blank, OffcutPlan, SplitBillet
    from yieldplan.solve.budget import Budget
    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Column, Cutting
    from yieldplan.solve.drawn import SawnStick
    from yieldplan.solve.graph import Terms
    from yieldplan.solve.master import MasterProblem
    from yieldplan.solve.pricing import Pricer

    Ints = NDArray[np.int64]

CELL = 2.5e-9
"""Seconds that a cell of a knapsack counts for (:class:`Budget`), as measured."""

FIRST_RUNS = 8
"""Plans built from nothing before neighbourhoods begin. Many kinds, 8 s: with one alone 1.1 % dearer (median of 5)."""

PRICE = 3.0
"""What a blank is priced at, in times the board feet that it takes with kerfs and allowances. Many kinds, 8 s: at 2.4
and 3.6 plans came out within a per cent of this."""

SPREAD = 0.1
"""How far prices are drawn from that, as a standard deviation of their logarithms: so that plans differ."""

MOST_FREED = 4
"""Boards that are given back at a time at most. Many kinds, 8 s: without giving back 0.6 % dearer (median of 5)."""

MOST_STICKS = 160
"""Sticks of one section, and of one billet, that there is room for."""


def items_of(batch: Batch, one: OffcutClass) -> tuple[Items, Ints] | None:
    """Return what a class can be cut into, and the batch's numbers of it; None where the wood is not sound everywhere.

    That is where there are defects or kinks, rings that suit only in places, or only some kinds of a section; or where
    it must be split.
    """
    wood = one.wood
    if len(wood.defects) or len(wood.limits) or one.offcut.kinks or wood.width > batch.shop.jointer:
        return None
    sections: dict[tuple[int, int], set[int]] = {}
    for fits, stick in zip(wood.fits, one.types, strict=True):
        members = set(np.flatnonzero(fits >= -1).tolist())
        if sections.setdefault(stick.finished, members) != members:
            return None
    order = [local for members in sections.values() for local in sorted(members)]
    sizes, place = wood.spans[order] + batch.shop.cross_kerf, list(sections)
    found = Items(
        size=sizes // math.gcd(*sizes.tolist()),
        begin=np.cumsum([0, *map(len, sections.values())]).astype(np.int64),
        section=np.array([place.index(stick.finished) for stick in one.types], np.int64),
        unit=math.gcd(*sizes.tolist()),
    )
    return found, one.kinds[order]


def new_bench(classes: Sequence[OffcutClass], kinds: int) -> Bench:
    """Return room to work in that is large enough for every class."""
    length = max(one.wood.length for one in classes) + 8
    types = max(len(one.types) for one in classes)
    shapes = {
        "left": (kinds,),
        "free": (kinds,),
        "values": (types, MOST_STICKS),
        "gains": (types, MOST_STICKS),
        "lengths": (types, MOST_STICKS),
        "fills": (types, MOST_STICKS, kinds),
        "known": (types,),
        "used": (types,),
        "row": (length,),
        "taken": (kinds, length),
        "rows": (MOST_STICKS, 6),
        "work": (1,),
    }
    return Bench(**{name: np.zeros(shape, np.int64) for name, shape in shapes.items()})


def cut_board(
    batch: Batch, one: OffcutClass, known: tuple[Items, Ints], bench: Bench, terms: Terms
) -> Cutting:
    """Cut one board for what is left on the bench, billet by billet, as long as that is worth it."""
    items, order = known
    wood, shop, (start, high) = one.wood, batch.shop, one.course.sides[0, :2].tolist()
    billets: list[Billet | SplitBillet] = []
    kept = 0
    while high - start >= one.course.shortest:
        found = best_billet(shop, terms, wood, items, bench, one.course, start)
        end, held, value = map(int, found)
        over = wood.length - end - shop.cross_kerf
        rest = SCALE * terms.worth * keeper_worth(shop, over, wood.width, wood.thickness)
        if not held or (billets and value + rest <= kept):
            break
        strips: dict[tuple[int, int], list[SawnStick]] = {}
        for low, up, first, last, kind, j in bench.rows[:held].tolist():
            here = slice(*items.begin[items.section[kind] : items.section[kind] + 2])
            fill = bench.fills[items.section[kind], j, here]
            bench.left[here] -= fill
            spans = items.size[here] * items.unit - shop.cross_kerf
            cuts = [
                (0, span, of, "A")
                for span, of, many in zip(spans.tolist(), order[here].tolist(), fill.tolist(), strict=True)
                for _ in range(many)
            ]
            row = shortest_first(cuts, shop.stick_trim, shop.cross_kerf)
            strips.setdefault((low, up), []).append((kind, first, last, row))
        face, edge = map(int, losses(wood, shop, one.course, 0, end - start, wood.width))
        same = (face, edge) == losses(wood, shop, one.course, 0, high - start, wood.width)
        if same and over < shop.keeper_length and high - end - shop.cross_kerf < one.course.shortest:
            end = high  # what no keeper holds is better on the billet (R12)
        box, laid = Box(start, end, 0, wood.width, face, edge), [(*y, sticks) for y, sticks in strips.items()]
        billets.append(cutting_of(batch, one, ((start, end), None, ((box, True, laid),))))
        start, kept = end + shop.cross_kerf, rest
    return tuple(billets)


def _price_of(batch: Batch, blank: Blank) -> float:
    """Return what a blank is priced at before chance has its say, scaled."""
    shop = batch.job.shop
    long = blank.length + shop.length_allowance + shop.crosscut_kerf
    wide = blank.width + shop.width_allowance + shop.rip_kerf
    thick = blank.thickness + shop.thickness_allowance + shop.rip_kerf
    return PRICE * SCALE * batch.shop.unit * long * wide * thick / shop.mark**3


class Builder:
    """Cuts boards for what is left, and plans out of boards."""

    def __init__(self, pricer: Pricer, problem: MasterProblem, budget: Budget) -> None:
        self.pricer, self.batch, self.classes = pricer, pricer.batch, pricer.classes
        self.problem, self.budget, self.random = problem, budget, random.Random(7)
        self.items = [items_of(self.batch, one) for one in self.classes]
        self.bench = new_bench(self.classes, len(self.batch.blanks))
        self.prices = np.array([_price_of(self.batch, blank) for blank in self.batch.blanks])

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
