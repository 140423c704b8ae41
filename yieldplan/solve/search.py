"""The search for a plan: simple plans first, then aim 1 class by class, then cost: columns, branching, neighbourhoods."""

from __future__ import annotations

import heapq
import random
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.solve.by_hand import by_hand
from yieldplan.solve.classes import classes_of, new_batch
from yieldplan.solve.columns import Pool
from yieldplan.solve.first_fit import first_fit
from yieldplan.solve.generate import Generator
from yieldplan.solve.incumbent import drawn_of, incumbent_of
from yieldplan.solve.integer import choose
from yieldplan.solve.master import MISSING_UNIT, Bounds, MasterProblem
from yieldplan.solve.pricing import Pricer

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from yieldplan.model import Job, OffcutPlan
    from yieldplan.solve.budget import Budget
    from yieldplan.solve.columns import Column
    from yieldplan.solve.incumbent import Incumbent
    from yieldplan.solve.relaxation import Relaxed

PROVEN = 0.001
"""The gap at which cost is proven."""

MOST_STEP = 6.0
"""Seconds that one integer step may take."""


class Search:
    """One search for a plan of a job.

    Attributes
    ----------
    incumbent
        The best plan so far; None only where no offcut gives any blank.
    fewest
        By class of aim 1, what no plan misses fewer than (given the classes before).
    bound
        No plan that misses no more than the incumbent costs less.
    """

    def __init__(
        self, job: Job, budget: Budget, *, at: int | None = None, on_better: Callable[[Search], None]
    ) -> None:
        self.job, self.budget, self.on_better = job, budget, on_better
        self.batch = new_batch(job, at)
        self.classes = classes_of(self.batch)
        self.pool = Pool()
        self.bound = -(1 << 60)
        self.incumbent: Incumbent | None = None
        self.problem = self._problem()
        self.fewest = [0] * len(self.problem.aims)
        self.random = random.Random(1)

    def _problem(self) -> MasterProblem:
        blanks, batch = self.batch.blanks, self.batch
        classes = sorted({blank.priority for blank in blanks})
        aims = [tuple(n for n, b in enumerate(blanks) if b.priority == rank) for rank in classes]
        aims.append(tuple(n for n, b in enumerate(blanks) if b.spare))
        return MasterProblem(
            copies=tuple(one.copies for one in self.classes),
            need=tuple(blank.need for blank in blanks),
            spare=tuple(blank.spare for blank in blanks),
            aims=tuple(aims),
            limits=(None,) * len(aims),
            setting_prices=(batch.price.setting,) * batch.settings,
        )

    # -- plans ---------------------------------------------------------------------------------------------------

    def consider(self, drawn: Sequence[OffcutPlan]) -> bool:
        """Take drawings as the incumbent if they are better; their columns join the pool."""
        found = incumbent_of(self.batch, self.classes, self.problem, drawn)
        for column in found.columns:
            self.pool.add(column)
        if self.incumbent is not None and found.rank >= self.incumbent.rank:
            return False
        self.incumbent = found
        self.on_better(self)
        return True

    def consider_columns(self, columns: Iterable[Column]) -> bool:
        """The same of a choice of columns."""
        return self.consider(drawn_of(self.classes, columns))

    def begin(self) -> None:
        """Find the simple plans: by hand, and first-fit decreasing."""
        for rule in (by_hand, first_fit):
            self.consider(rule(self.job))
        if self.classes:
            self.pricer = Pricer(self.batch, self.classes)

    def run(self) -> None:
        """Search until it is proven or the seconds are spent."""
        self.begin()
        if self.classes and self.incumbent is not None:
            self.settle_missing(0.6)
            self.settle_cost()

    @property
    def bound_said(self) -> int:
        """The bound as it may be said: never above the cost."""
        cost = self.incumbent.cost if self.incumbent else 0
        return min(max(self.bound, 0), cost)

    @property
    def ended(self) -> str:
        """Why the search ended, as a clause."""
        missing = self.incumbent.missing if self.incumbent else ()
        if all(m <= f for m, f in zip(missing, self.fewest, strict=False)) and self.gap <= PROVEN:
            return "it is proven"
        if self.budget.stopped():
            return "it was stopped"
        return "the seconds are spent" if self.budget.out() else "nothing is left to try"

    # -- aim 1 ---------------------------------------------------------------------------------------------------

    def settle_missing(self, share: float) -> None:
        """Miss as few as can be, class by class, within a share of the seconds."""
        part = self.budget.part(share * self.budget.left)
        for stage in range(len(self.problem.aims)):
            if self.incumbent and not self.incumbent.missing[stage]:
                continue
            self._settle_stage(stage, part)

    def _limits(self, upto: int) -> tuple[int | None, ...]:
        """Return what the incumbent misses as limits of the classes before ``upto``."""
        assert self.incumbent is not None
        return tuple(m if n < upto else None for n, m in enumerate(self.incumbent.missing))

    def _settle_stage(self, stage: int, part: Budget) -> None:
        assert self.incumbent is not None
        problem = replace(self.problem, limits=self._limits(stage))
        generator = Generator(problem=problem, pricer=self.pricer, pool=self.pool, budget=part, stage=stage)
        bound, _ = generator.run()
        self.fewest[stage] = max(0, -(-bound // MISSING_UNIT))
        while not part.out() and self.incumbent.missing[stage] > self.fewest[stage]:
            if not self._choose(problem, part, stage=stage):
                break
            problem = replace(self.problem, limits=self._limits(stage))

    def _choose(
        self,
        problem: MasterProblem,
        part: Budget,
        *,
        stage: int | None = None,
        subset: Sequence[int] | None = None,
        kept: Sequence[Column] = (),
    ) -> bool:
        """Take the integer step; return whether the incumbent got better."""
        seconds = min(MOST_STEP, part.left)
        if seconds <= 0.05:
            return False
        before = part.clock
        numbers = self.pool.live if subset is None else subset
        choice = choose(problem, self.pool.columns, numbers, seconds=seconds, stage=stage)
        part.spend(min(part.clock - before, seconds))
        if not choice.columns:
            return False
        return self.consider_columns([*kept, *(self.pool.columns[n] for n in choice.columns)])

    # -- cost ----------------------------------------------------------------------------------------------------

    def cost_problem(self) -> MasterProblem:
        """Return the master where no more may be missing than the incumbent misses."""
        assert self.incumbent is not None
        unproven = next(
            (n for n, m in enumerate(self.incumbent.missing) if m > self.fewest[n]), len(self.fewest)
        )
        problem = replace(self.problem, limits=self._limits(unproven + 1))
        return replace(problem, surely=self._surely(problem))

    def _surely(self, problem: MasterProblem) -> frozenset[int]:
        """Return planer settings that every plan uses: all sticks of a kind that must be made have them."""
        found: set[int] = set()
        for kind in range(len(self.batch.blanks)):
            if self._may_all_miss(problem, [kind]):
                continue
            for which in (6, 7):
                used = {
                    int(one.wood.types[row, which])
                    for one in self.classes
                    for local in np.flatnonzero(one.kinds == kind)
                    for row in np.flatnonzero(one.wood.fits[:, local] >= -1)
                }
                found |= used if len(used) == 1 else set()
        return frozenset(found)

    def _may_all_miss(self, problem: MasterProblem, kinds: Sequence[int]) -> bool:
        missed = 0
        for aim, members in enumerate(problem.aims):
            most = sum(problem.can_miss(aim, kind) for kind in kinds if kind in members)
            limit = problem.limits[aim]
            missed += most if limit is None else min(most, limit)
        return missed >= sum(problem.wanted[kind] for kind in kinds)

    def stops(self, problem: MasterProblem) -> int:
        """Return what the stop settings cost that every plan needs."""
        lengths: dict[int, list[int]] = {}
        for kind, blank in enumerate(self.batch.blanks):
            lengths.setdefault(blank.length, []).append(kind)
        sure = sum(not self._may_all_miss(problem, kinds) for kinds in lengths.values())
        return sure * self.batch.price.stop

    @property
    def gap(self) -> float:
        """How far the incumbent's cost is above the bound, as a share of it."""
        if self.incumbent is None or self.incumbent.cost <= max(self.bound, 0):
            return 0.0
        return (self.incumbent.cost - self.bound) / self.incumbent.cost

    def settle_cost(self) -> None:
        """Look for a plan of least cost among those that miss no more, and raise the bound, until time is out."""
        problem = self.cost_problem()
        stops = self.stops(problem)
        generator = Generator(problem=problem, pricer=self.pricer, pool=self.pool, budget=self.budget)
        tree = Tree(generator, stops)
        self.bound = max(self.bound, tree.root(self.budget))
        self._choose(problem, self.budget)
        turn = 0
        while not self.budget.out() and self.gap > PROVEN and self.incumbent:
            turn += 1
            self._free_some(problem, self.budget.part(max(0.05 * self.budget.seconds, 0.5)))
            part = self.budget.part(max(0.05 * self.budget.seconds, 0.5))
            while not part.out() and tree.open:
                tree.branch(self.incumbent.cost)
                self.bound = max(self.bound, min(tree.bound, self.incumbent.cost))
                if self.gap <= PROVEN:
                    break
            if turn % 5 == 0:
                self._choose(problem, self.budget)

    def _free_some(self, problem: MasterProblem, part: Budget) -> None:
        """Free some drawn boards and cut what they gave anew, out of them and all that is untouched, while it lasts."""
        assert self.incumbent is not None
        while not part.out():
            columns = self.incumbent.columns
            many = self.random.randint(2, min(5, max(2, len(columns))))
            freed = set(self.random.sample(range(len(columns)), min(many, len(columns))))
            self._solve_anew(problem, columns, freed, part)
            if self.gap <= PROVEN:
                return

    def _solve_anew(
        self, problem: MasterProblem, columns: Sequence[Column], freed: set[int], part: Budget
    ) -> None:
        kept = [column for n, column in enumerate(columns) if n not in freed]
        copies, need, spare = list(problem.copies), list(problem.need), list(problem.spare)
        used: set[int] = set()
        for column in kept:
            copies[column.offcut_class] -= 1
            used |= column.settings
            for kind, made in column.counts:
                needed = min(made, need[kind])
                need[kind] -= needed
                spare[kind] -= made - needed
        rest = replace(
            problem,
            copies=tuple(copies),
            need=tuple(need),
            spare=tuple(max(s, 0) for s in spare),
            surely=frozenset(used),
        )
        if not any(rest.wanted):
            return
        generator = Generator(problem=rest, pricer=self.pricer, pool=self.pool, budget=part)
        generator.run(most_rounds=8)
        self._choose(rest, part, kept=kept)


class Tree:
    """Branching, best bound first: on how many of a class are drawn, then on settings."""

    def __init__(self, generator: Generator, stops: int) -> None:
        self.generator, self.stops = generator, stops
        self.open: list[tuple[int, int, Bounds, tuple[str, int, float]]] = []
        self._ticket = count()
        self._floor = 1 << 60

    @property
    def bound(self) -> int:
        """The least bound of what is open or cannot be branched on."""
        return min([self._floor, *(node[0] for node in self.open[:1])])

    def root(self, budget: Budget) -> int:
        """Work out the root; return its bound."""
        self._look(Bounds(), -(1 << 60), 1 << 60)
        return self.bound

    def branch(self, cost: int) -> None:
        """Take the open node of the least bound and look at both of its sides."""
        bound, _, bounds, (what, number, value) = heapq.heappop(self.open)
        if bound >= cost:
            self._floor = min(self._floor, bound)
            self.open.clear()
            return
        for up in (True, False):
            classes, settings = dict(bounds.classes), dict(bounds.settings)
            if what == "class":
                low, high = bounds.of_class(number, self.generator.problem.copies[number])
                classes[number] = (int(value) + 1, high) if up else (low, int(value))
            else:
                settings[number] = int(up)
            self._look(Bounds(classes=classes, settings=settings), bound, cost)

    def _look(self, bounds: Bounds, least: int, cost: int) -> None:
        found, result = self.generator.run(bounds, enough=cost - self.stops)
        bound = max(found + self.stops, least)
        if bound >= cost:
            self._floor = min(self._floor, bound)
            return
        choice = self._choose(result)
        if choice is None:
            self._floor = min(self._floor, bound)
        else:
            heapq.heappush(self.open, (bound, next(self._ticket), bounds, choice))

    def _choose(self, result: Relaxed) -> tuple[str, int, float] | None:
        """Return what to branch on: the class whose number drawn is least whole, or such a setting."""
        drawn: dict[int, float] = {}
        for number, x in result.x.items():
            c = self.generator.pool.columns[number].offcut_class
            drawn[c] = drawn.get(c, 0.0) + x
        for what, values in (("class", drawn), ("setting", result.y)):
            parts = [(abs(v % 1 - 0.5), n, v) for n, v in values.items() if 0.001 < v % 1 < 0.999]
            if parts:
                _, number, value = min(parts)
                return what, number, value
        return None
