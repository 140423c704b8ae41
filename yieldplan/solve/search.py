"""The search: simple plans first, then aim 1 class by class, then cost: columns, branching, neighbourhoods."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.solve.assemble import PROVEN_GAP, assemble
from yieldplan.solve.branching import Tree
from yieldplan.solve.budget import COLUMN
from yieldplan.solve.classes import classes_of, new_batch
from yieldplan.solve.column_generation import ColumnGeneration
from yieldplan.solve.columns import Pool, column_of
from yieldplan.solve.construct import construct
from yieldplan.solve.enumeration import TooManyError
from yieldplan.solve.graph import SCALE
from yieldplan.solve.incumbent import drawn_of, incumbent_of, without_more
from yieldplan.solve.integer import Outcome, choose
from yieldplan.solve.master import MISSING_UNIT, Bounds, MasterProblem, left_of
from yieldplan.solve.pairs import pairs_of
from yieldplan.solve.pricing import Pricer
from yieldplan.solve.simple import by_hand, first_fit
from yieldplan.solve.sure import sure_planers, sure_stops

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from yieldplan.model import Job, OffcutPlan, Plan
    from yieldplan.solve.budget import Budget
    from yieldplan.solve.columns import Column
    from yieldplan.solve.incumbent import Incumbent
    from yieldplan.solve.relaxation import Relaxed

FOR_PRICES = 0.4
"""Share of the seconds left that prices get before the first choice is made, and again with proper cuttings alone."""

FOR_LISTING = 0.15
"""Share of the seconds left that listing all columns may take."""

FOR_TURN = 0.12
"""Share of the seconds that branching and neighbourhoods get in turn."""

MANY_KINDS = 20
"""Kinds from which on cuttings that hold no more than is wanted are built board by board as well."""

MOST_LISTED = 12
"""Classes up to which all columns that a better plan could use are listed."""

NEAR_CLASSES = 8
"""Classes of untouched offcuts that a neighbourhood looks at."""

LEAST_STEP = 0.5
"""Seconds that the integer step over all listed columns may take, however few are left."""

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
        self,
        job: Job,
        budget: Budget,
        *,
        at: int | None = None,
        splits: bool = True,
        start: Sequence[OffcutPlan] = (),
        on_better: Callable[[Search], None] = lambda _: None,
    ) -> None:
        self.job, self.budget, self.at, self.splits, self.on_better = job, budget, at, splits, on_better
        self.batch = new_batch(job, at)
        self.classes = classes_of(self.batch, splits=splits)
        self.start = tuple(start)
        self.pool = Pool()
        self.bound = -(1 << 60)
        self.incumbent: Incumbent | None = None
        self.problem = self._problem()
        self.fewest = [0] * len(self.problem.aims)
        self.random = random.Random(1)
        self.reduced: list[int] = [0] * len(self.classes)

    def _problem(self) -> MasterProblem:
        blanks, batch = self.batch.blanks, self.batch
        classes = sorted({blank.priority for blank in self.job.blanks})
        aims = [tuple(n for n, b in enumerate(blanks) if b.priority == rank) for rank in classes]
        aims.append(tuple(n for n, b in enumerate(blanks) if b.spare))
        return MasterProblem(
            copies=tuple(one.copies for one in self.classes),
            need=tuple(blank.need for blank in blanks),
            spare=tuple(blank.spare for blank in blanks),
            aims=tuple(aims),
            limits=(None,) * len(aims),
            setting_prices=(batch.price.setting,) * batch.settings,
            pairs=pairs_of(batch, self.classes),
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
        """Take a choice of columns as the incumbent if it is better."""
        return self.consider(drawn_of(self.classes, columns))

    def begin(self) -> None:
        """Find the simple plans: by hand, and first-fit decreasing; a start that was given comes before them."""
        if self.start:
            self.consider(self.start)
        for rule in (by_hand, first_fit):
            self.consider(rule(self.job, (self.batch, self.classes)))
        if self.classes:
            self.pricer = Pricer(self.batch, self.classes)

    def run(self, *, cost: bool = True) -> None:
        """Search until it is proven or the seconds are spent; without ``cost`` for the fewest missing alone."""
        self.begin()
        if self.classes and self.incumbent is not None:
            self.settle_missing(0.6 if cost else 1)
            if not cost:
                return
            if len(self.batch.blanks) > MANY_KINDS:
                self._build(self.budget.part(0.3 * self.budget.seconds))
            self.settle_cost()
        elif self.incumbent is not None:
            self.fewest = list(self.incumbent.missing)

    def _build(self, part: Budget, stage: int | None = None) -> None:
        """Build plans board by board, at a stage of aim 1 until no fewer can be missing."""
        assert self.incumbent is not None
        for drawn in construct(self.pricer, self.problem, self.incumbent.columns, part):
            self.consider(drawn)
            if stage is not None and self.incumbent.missing[stage] <= self.fewest[stage]:
                return

    def plan(self, drawn: Sequence[OffcutPlan] | None = None) -> Plan:
        """Return the incumbent as a plan, or these drawings, which miss no more and cost no less."""
        columns = self.incumbent.columns if self.incumbent else ()
        names = [name for name, _ in assemble(self.job, ()).proof.missing]
        return assemble(
            self.job,
            drawn_of(self.classes, columns) if drawn is None else drawn,
            bound=self.bound_said,
            missing_at_least=dict(zip(names, self.fewest, strict=True)),
            price=self.at,
        )

    def at_another_price(self, at: int, budget: Budget) -> Plan:
        """Return the best plan found at another price of work, beginning with the columns that there are."""
        other = Search(self.job, budget, at=at, splits=self.splits)
        other.begin()
        if self.incumbent is not None and other.classes:
            for number in self.pool.live:
                column = self.pool.columns[number]
                name = self.classes[column.offcut_class].names[0]
                other.pool.add(column_of(other.batch, column.offcut_class, name, column.cutting))
            budget.spend(COLUMN * len(self.pool.columns))
            other.consider_columns(self.incumbent.columns)
            other.fewest = self.fewest
            other.settle_cost()
        return other.plan()

    @property
    def bound_said(self) -> int:
        """The bound as it may be said: never above the cost."""
        cost = self.incumbent.cost if self.incumbent else 0
        return min(max(self.bound, 0), cost)

    @property
    def ended(self) -> str:
        """Why the search ended, as a clause."""
        missing = self.incumbent.missing if self.incumbent else ()
        if all(m <= f for m, f in zip(missing, self.fewest, strict=False)) and self.gap <= PROVEN_GAP:
            return "it is proven"
        if self.budget.stopped():
            return "it was stopped"
        spent = self.budget.out() or self.budget.left <= LEAST_STEP
        return "the time is up" if spent else "nothing is left to try"

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
        generator = ColumnGeneration(
            problem=problem, pricer=self.pricer, pool=self.pool, budget=part, stage=stage
        )
        bound, _ = generator.run()
        self.fewest[stage] = max(0, -(-bound // MISSING_UNIT))
        while not part.out() and self.incumbent.missing[stage] > self.fewest[stage]:
            if not self._choose(problem, part, stage=stage):
                break
            problem = replace(self.problem, limits=self._limits(stage))
        if self.incumbent.missing[stage] > self.fewest[stage] and not self._close(generator, stage):
            self._build(part, stage)

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
        numbers = self.pool.live if subset is None else subset
        choice = choose(problem, self.pool.columns, numbers, seconds=seconds, stage=stage)
        part.spend(choice.seconds)
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
        problem = replace(self.problem, limits=self._limits(unproven + 1)).without(self._never_made())
        return replace(problem, surely=sure_planers(self.batch, self.classes, problem))

    def _never_made(self) -> set[int]:
        """Return the kinds that no offcut gives."""
        assert self.incumbent is not None
        made = {kind for column in self.incumbent.columns for kind, _ in column.counts}
        found = set(range(len(self.batch.blanks))) - made
        for kind in sorted(found):
            self.pricer.set_prices(
                SCALE * np.eye(1, len(self.batch.blanks), kind, dtype=np.int64)[0], missing=True
            )
            self.pricer.limit(self.budget)
            if any(self.pricer.best(number, enough=0).value > 0 for number in range(len(self.classes))):
                found.remove(kind)
        return found

    def stops(self, problem: MasterProblem) -> int:
        """Return what the stop settings cost that every plan needs."""
        return sure_stops(self.batch, problem) * self.batch.price.stop

    @property
    def gap(self) -> float:
        """How far the incumbent's cost is above the bound, as a share of it."""
        if self.incumbent is None or self.incumbent.cost <= max(self.bound, 0):
            return 0.0
        return (self.incumbent.cost - self.bound) / self.incumbent.cost

    def settle_cost(self) -> None:
        """Look for a plan of least cost among those that miss no more, and raise the bound, until time is out."""
        assert self.incumbent is not None
        problem = self.cost_problem()
        stops = self.stops(problem)
        generator = ColumnGeneration(problem=problem, pricer=self.pricer, pool=self.pool, budget=self.budget)
        tree = Tree(generator, stops)
        generator.budget = self.budget.part(FOR_PRICES * self.budget.left)
        self.bound = max(self.bound, tree.root(self.incumbent.cost))
        generator.budget = self.budget
        self.reduced = generator.reduced
        self._choose(problem, self.budget)
        if self.gap > 0 and self._close(generator):
            return
        generator.search_proper = True
        generator.budget = self.budget.part(FOR_PRICES * self.budget.left)
        self.bound = max(self.bound, min(tree.root(self.incumbent.cost), self.incumbent.cost))
        generator.budget = self.budget
        self._choose(problem, self.budget)
        while self.budget.left > LEAST_STEP and not self.budget.out() and self.gap > PROVEN_GAP:
            for step in (partial(self._branch, tree), partial(self._free_some, problem)):
                seconds = min(FOR_TURN * self.budget.seconds, self.budget.left - LEAST_STEP)
                step(self.budget.part(seconds))
                self._choose(problem, self.budget)

    def _close(self, generator: ColumnGeneration, stage: int | None = None) -> bool:
        """List all columns that a better plan could use, and choose among them; return whether that was possible.

        Then the best choice is the best plan.
        """
        assert self.incumbent is not None
        priced = generator.best
        many = len(self.classes) > MOST_LISTED or len(self.batch.blanks) > MANY_KINDS
        if priced is None or many:
            return False
        if stage is None:
            gap = self.incumbent.cost - self.stops(generator.problem) - priced.bound
        else:
            gap = self.incumbent.missing[stage] * MISSING_UNIT - priced.bound
        self.pricer.set_prices(priced.dual.prices, missing=stage is not None)
        part = self.budget.part(FOR_LISTING * self.budget.left)
        try:
            for number in range(len(self.classes)):
                own, bonus = generator.own_prices(priced.dual, number)
                least = -gap * SCALE + max(0, -priced.reduced[number]) - bonus
                for column in self.pricer.within(
                    number,
                    own,
                    least,
                    generator.problem.wanted,
                    part,
                    apart=None if stage is None else (),
                ):
                    self.pool.add(column)
        except TooManyError:
            return False
        problem, columns = self._with_stops(generator.problem)
        seconds = min(MOST_STEP, max(self.budget.left, LEAST_STEP))
        choice = choose(problem, columns, self.pool.live, seconds=seconds, stage=stage)
        if choice.columns:
            self.consider_columns(self.pool.columns[n] for n in choice.columns)
        if choice.outcome is not Outcome.BEST:
            return False
        if stage is None:
            self.bound = max(self.bound, min(choice.objective, self.incumbent.cost))
        else:
            self.fewest[stage] = self.incumbent.missing[stage]
        return True

    def _with_stops(self, problem: MasterProblem) -> tuple[MasterProblem, list[Column]]:
        """Return a master, and the columns, that count stop settings among the settings."""
        lengths = sorted({blank.length for blank in self.batch.blanks})
        stop = [self.batch.settings + lengths.index(blank.length) for blank in self.batch.blanks]
        prices = (*problem.setting_prices, *(self.batch.price.stop for _ in lengths))
        columns = [
            replace(column, settings=column.settings | {stop[kind] for kind, _ in column.counts})
            for column in self.pool.columns
        ]
        return replace(problem, setting_prices=prices), columns

    def _branch(self, tree: Tree, part: Budget) -> None:
        """Raise the bound by branching for a while; a node that was begun may take twice as long."""
        assert self.incumbent is not None
        generator, enough = tree.generator, self.budget.spent + part.seconds
        generator.budget = self.budget.part(min(2 * part.seconds, self.budget.left - LEAST_STEP))
        while generator.budget.left > generator.full_round and self.budget.spent < enough:
            if not tree.open or self.gap <= PROVEN_GAP:
                break
            tree.branch(self.incumbent.cost)
            self.bound = max(self.bound, min(tree.bound, self.incumbent.cost))

    def _free_some(self, problem: MasterProblem, part: Budget) -> None:
        """Free some drawn boards and cut what they gave anew, out of them and some untouched ones, while it lasts."""
        assert self.incumbent is not None
        while not part.out() and self.gap > PROVEN_GAP:
            columns = self.incumbent.columns
            many = min(self.random.randint(2, 5), len(columns))
            freed = set(self.random.sample(range(len(columns)), many))
            near = set(self._near(problem)) | {columns[n].offcut_class for n in freed}
            kept = [column for n, column in enumerate(columns) if n not in freed]
            self._cut_anew(problem, kept, part, near)

    def _cut_anew(
        self, problem: MasterProblem, kept: Sequence[Column], part: Budget, near: Iterable[int]
    ) -> None:
        """Cut what ``kept`` does not give out of ``near`` classes: relax, integer step, fix a column, again."""
        assert self.incumbent is not None
        kept, near = list(kept), set(near)
        rounds = 8
        while not part.out():
            rest = left_of(problem, kept)
            if not any(rest.wanted):
                self.consider_columns(kept)
                return
            shut = {c: (0, 0) for c in range(len(rest.copies)) if c not in near or rest.copies[c] <= 0}
            generator = ColumnGeneration(problem=rest, pricer=self.pricer, pool=self.pool, budget=part)
            _, result = generator.run(Bounds(classes=shut), most_rounds=rounds)
            if sum(c.cost for c in kept) + result.objective > self.incumbent.cost:
                return
            live = [n for n in self.pool.live if self.pool.columns[n].offcut_class not in shut]
            self._choose(rest, part, kept=kept, subset=live)
            fixed = self._fix(rest, result)
            if fixed is None:
                return
            kept.append(fixed)
            rounds = 3

    def _fix(self, rest: MasterProblem, result: Relaxed) -> Column | None:
        """Return the column that is used most, without what it holds too much."""
        for number in sorted(result.x, key=lambda n: (-result.x[n], n)):
            left = without_more(self.batch, self.classes, rest, self.pool.columns[number])
            if left is not None:
                return left
        return None

    def _near(self, problem: MasterProblem) -> list[int]:
        """Return some classes at random, those that came nearest to being worth drawing more often."""
        order = sorted(range(len(problem.copies)), key=lambda c: self.reduced[c])
        half = order[: max(NEAR_CLASSES, len(order) // 4)]
        return self.random.sample(half, min(NEAR_CLASSES, len(half)))
