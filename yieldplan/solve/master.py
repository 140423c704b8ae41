"""The master problem: which columns to use. The only place that talks to ortools.

The linear relaxation (GLOP) gives prices; CP-SAT makes the integer choice. Both run with fixed seeds, and
CP-SAT is limited by its own count of work, so that equal inputs give equal answers.
"""

from __future__ import annotations

import enum
import threading
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from ortools.linear_solver import pywraplp
from ortools.sat.python import cp_model

from yieldplan.solve.budget import BUILDING, CHOOSING, SLOWEST

if TYPE_CHECKING:
    from collections.abc import Container, Sequence

    from yieldplan.solve.columns import Column
    from yieldplan.solve.kernel import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The batch as the master sees it: need, extra and priority class of each kind, copies of each stock."""

    need: tuple[int, ...]
    extra: tuple[int, ...]
    priority: tuple[int, ...]
    copies: tuple[int, ...]

    @property
    def classes(self) -> tuple[int, ...]:
        """The priority classes, first one first."""
        return tuple(sorted(set(self.priority)))

    def members(self, priority: int) -> list[int]:
        """Return the kinds of a class."""
        return [k for k, p in enumerate(self.priority) if p == priority]


class Prices(NamedTuple):
    """Prices of the blanks, (kinds,), and those that each stock is asked at, (stocks, kinds), none of them higher.

    A stock that could hold more blanks of a kind than are needed is asked at a lower price, so that it does not; then
    all that it could get for as many as are needed at the difference is added to its value (:meth:`relief`).
    ``scarce`` (stocks,) is what one more of each stock would save.
    """

    blanks: Floats
    own: Floats
    scarce: Floats

    @classmethod
    def alike(cls, blanks: Floats, stocks: int) -> Prices:
        """Return the same prices for all of so many stocks, of which there are plenty."""
        return cls(blanks, np.tile(blanks, (stocks, 1)), np.zeros(stocks))

    def relief(self, need: Sequence[int]) -> Floats:
        """Return what is added to the value of each stock, (stocks,)."""
        return np.asarray((self.blanks - self.own) @ np.array(need, np.float64))


CHEAP, DEAREST = 2.0, 64.0
"""What covering a blank with nothing costs at first, and at the most, in times its own worth."""

LEAST_SHORT = 1e-6
"""Blanks covered with nothing that are more than the linear solver's rounding."""


class Outcome(enum.Enum):
    """What the integer step came to."""

    BEST = "proven best for these columns"
    FOUND = "found, not proven"
    NONE = "no choice of columns will do"
    UNKNOWN = "stopped before anything was found"
    INVALID = "the model makes no sense to the solver"


OUTCOMES = {
    cp_model.OPTIMAL: Outcome.BEST,
    cp_model.FEASIBLE: Outcome.FOUND,
    cp_model.INFEASIBLE: Outcome.NONE,
    cp_model.UNKNOWN: Outcome.UNKNOWN,
    cp_model.MODEL_INVALID: Outcome.INVALID,
}


class Relaxation:
    """The linear relaxation: cover the batch, each stock at most its copies, missing as slack.

    No cutting needs more blanks of a kind than the batch does. Pricing does not know that; so once a stock offers more,
    what it gives of that kind is a variable of its own, at most what its columns hold, and at most the need for each
    column used. The prices of these two rows share out that of the blank (:class:`Prices`).

    Parameters
    ----------
    wanted
        The batch and the copies.
    weights
        What one missing blank of each kind costs.
    most_missing
        Upper bounds on the missing blanks of each class that is already settled.
    own_worth
        What a blank of each kind is worth itself. Covering one of a settled class with nothing costs so many times as
        much that it does not pay, and no more: where prices might be anything above what wood costs, lower ones are
        better, for what they leave open then counts for less in a bound.
    with_cost
        Whether columns cost their worth (aim 2) or nothing (aim 1).
    proper
        Stocks whose columns count for no more blanks of a kind than are needed, whatever they hold; they have no prices
        of their own.
    """

    def __init__(
        self,
        wanted: Wanted,
        weights: Sequence[float],
        most_missing: dict[int, int],
        own_worth: Sequence[float],
        *,
        with_cost: bool,
        proper: Container[int] = (),
    ) -> None:
        self.wanted, self.with_cost, self.proper = wanted, with_cost, proper
        self.weights, self.most_missing, self.own_worth = weights, most_missing, own_worth
        self.dearness = CHEAP
        """What covering a blank with nothing costs now, in times its own worth."""
        self.columns: list[Column] = []
        self._begin()

    def _begin(self) -> None:
        """Set up the rows, with no columns."""
        wanted = self.wanted
        self.shares: list[Any] = []
        self.stand_ins: list[tuple[Any, float]] = []
        self.own: list[list[tuple[Any, Column]]] = [[] for _ in wanted.copies]
        self.given: dict[tuple[int, int], tuple[Any, Any]] = {}
        """The rows of a stock and a kind that it offers too many of: what it holds, and what is needed."""
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        infinity = self.solver.infinity()
        self.cover = [self.solver.Constraint(float(need), infinity) for need in wanted.need]
        self.stock = [self.solver.Constraint(-infinity, float(copies)) for copies in wanted.copies]
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        settled = {p: self.solver.Constraint(-infinity, float(m)) for p, m in self.most_missing.items()}
        for k, row in enumerate(self.cover):
            limit = settled.get(wanted.priority[k])
            slack = self._slack(row, self.weights[k])
            if limit is not None:
                limit.SetCoefficient(slack, 1.0)
                own = self.own_worth[k]
                self.stand_ins.append((self._slack(row, self.dearness * own), own))

    def _slack(self, row: Any, penalty: float) -> Any:
        slack = self.solver.NumVar(0.0, self.solver.infinity(), "")
        row.SetCoefficient(slack, 1.0)
        self.objective.SetCoefficient(slack, penalty)
        return slack

    def add(self, columns: Sequence[Column]) -> None:
        """Add columns."""
        need = self.wanted.need
        self.columns += columns
        for column in columns:
            share = self.solver.NumVar(0.0, self.solver.infinity(), "")
            self.shares.append(share)
            self.own[column.stock].append((share, column))
            self.stock[column.stock].SetCoefficient(share, 1.0)
            if self.with_cost:
                self.objective.SetCoefficient(share, float(column.cost))
            for k, count in enumerate(column.counts):
                if (column.stock, k) in self.given:
                    self._give(column.stock, k, share, count)
                elif count > need[k] and column.stock not in self.proper:
                    self._limit(column.stock, k)
                elif count:
                    self.cover[k].SetCoefficient(share, float(min(count, need[k])))

    def _limit(self, stock: int, k: int) -> None:
        """Let what a stock gives of a kind be a variable of its own."""
        infinity = self.solver.infinity()
        gives = self.solver.NumVar(0.0, infinity, "")
        self.given[stock, k] = (self.solver.Constraint(0.0, infinity), self.solver.Constraint(0.0, infinity))
        for row in self.given[stock, k]:
            row.SetCoefficient(gives, -1.0)
        self.cover[k].SetCoefficient(gives, 1.0)
        for share, column in self.own[stock]:
            self.cover[k].SetCoefficient(share, 0.0)
            self._give(stock, k, share, column.counts[k])

    def _give(self, stock: int, k: int, share: Any, count: int) -> None:
        holds, needed = self.given[stock, k]
        holds.SetCoefficient(share, float(count))
        needed.SetCoefficient(share, float(self.wanted.need[k]))

    def prices(self) -> Prices:
        """Solve; return the prices."""
        self._solve()
        while self.dearness < DEAREST and any(s.solution_value() > LEAST_SHORT for s, _ in self.stand_ins):
            self.dearness *= 2
            for slack, own in self.stand_ins:
                self.objective.SetCoefficient(slack, self.dearness * own)
            self._solve()
        prices = Prices.alike(np.array([row.dual_value() for row in self.cover]), len(self.stock))
        for (stock, k), (holds, _) in self.given.items():
            prices.own[stock, k] = min(holds.dual_value(), prices.blanks[k])
        return prices._replace(scarce=np.array([-row.dual_value() for row in self.stock]))

    def _solve(self) -> None:
        """Solve. Once in a long while the solver loses its way in its own rounding; then it begins anew."""
        status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            columns, self.columns = self.columns, []
            self._begin()
            self.add(columns)
            status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            raise RuntimeError(f"the linear solver ended with status {status}")

    def used(self) -> Floats:
        """Return how much of each column was used when it was last solved, in the order they were added."""
        return np.array([share.solution_value() for share in self.shares])


@dataclass(slots=True, kw_only=True)
class Choice:
    """The integer step's answer: how often each column is used, its objective and bound, seconds of work spent."""

    outcome: Outcome
    uses: tuple[int, ...] = ()
    missing: tuple[int, ...] = ()
    value: int = 0
    bound: int = 0
    seconds: float = 0.0


@dataclass(slots=True, kw_only=True)
class Integer:
    """The integer master over a pool of columns, with limits that settle the aims one after the other."""

    wanted: Wanted
    pool: Sequence[Column]
    most_missing: dict[int, int] = field(default_factory=dict)
    most_cost: int | None = None
    least_extra: int = 0
    most_drawn: int | None = None

    def choose(self, aim: str, seconds: float, hint: Choice | None = None) -> Choice:
        """Return the best choice for one aim.

        Parameters
        ----------
        aim
            ``"missing:P"`` (blanks missing of class P), ``"cost"``, ``"low"`` (:attr:`Column.low`), ``"extra"``
            (the value is then the number of extras, negated), ``"drawn"`` or ``"crosscuts"``.
        seconds
            Limit of work (:mod:`yieldplan.solve.budget`), by CP-SAT's own deterministic count.
        hint
            A choice to start from; its uses are those of the first columns of the pool.
        """
        model = cp_model.CpModel()
        wanted = self.wanted
        uses = [model.new_int_var(0, wanted.copies[c.stock], "") for c in self.pool]
        missing = [model.new_int_var(0, need, "") for need in wanted.need]
        extra = [model.new_int_var(0, most, "") for most in wanted.extra]
        for k, need in enumerate(wanted.need):
            terms = [c.counts[k] * x for c, x in zip(self.pool, uses, strict=True) if c.counts[k]]
            model.add(
                sum(terms) + missing[k] >= need + (extra[k] if aim == "extra" or self.least_extra else 0)
            )
        own: list[list[cp_model.IntVar]] = [[] for _ in wanted.copies]
        for column, x in zip(self.pool, uses, strict=True):
            own[column.stock].append(x)
        for xs, copies in zip(own, wanted.copies, strict=True):
            if xs:
                model.add(sum(xs) <= copies)
        for priority, most in self.most_missing.items():
            model.add(sum(missing[k] for k in wanted.members(priority)) <= most)
        cost = sum(c.cost * x for c, x in zip(self.pool, uses, strict=True))
        if self.most_cost is not None:
            model.add(cost <= self.most_cost)
        if self.least_extra:
            model.add(sum(extra) >= self.least_extra)
        if self.most_drawn is not None:
            model.add(sum(uses) <= self.most_drawn)
        if aim.startswith("missing:"):
            model.minimize(sum(missing[k] for k in wanted.members(int(aim[8:]))))
        elif aim == "extra":
            model.maximize(sum(extra))
        else:
            model.minimize(sum(_weight(c, aim) * x for c, x in zip(self.pool, uses, strict=True)))
        if hint:
            for x, used in zip(uses, hint.uses, strict=False):
                model.add_hint(x, used)
            for x in uses[len(hint.uses) :]:
                model.add_hint(x, 0)
        return self._solve(model, uses, missing, aim, seconds)

    def _solve(
        self,
        model: cp_model.CpModel,
        uses: list[cp_model.IntVar],
        missing: list[cp_model.IntVar],
        aim: str,
        seconds: float,
    ) -> Choice:
        solver = cp_model.CpSolver()
        solver.parameters.max_deterministic_time = max(seconds, 0.05) / CHOOSING
        solver.parameters.max_time_in_seconds = SLOWEST * max(seconds, 5.0)
        solver.parameters.num_workers = 1
        solver.parameters.linearization_level = 2
        solver.parameters.random_seed = 1
        solver.parameters.catch_sigint_signal = False
        outcome = OUTCOMES[_interruptible(solver, model)]
        if outcome is Outcome.INVALID:
            raise RuntimeError("the integer solver was given a model that makes no sense")
        spent = BUILDING * len(uses) + CHOOSING * solver.response_proto.deterministic_time
        if outcome in (Outcome.NONE, Outcome.UNKNOWN):
            return Choice(outcome=outcome, seconds=spent)
        sign = -1 if aim == "extra" else 1
        return Choice(
            outcome=outcome,
            uses=tuple(solver.value(x) for x in uses),
            missing=tuple(solver.value(x) for x in missing),
            value=sign * round(solver.objective_value),
            bound=sign * round(solver.best_objective_bound),
            seconds=spent,
        )


def _weight(column: Column, aim: str) -> int:
    """Return what a column counts for in an aim."""
    return {"cost": column.cost, "low": column.low, "drawn": 1, "crosscuts": column.crosscuts}[aim]


def _interruptible(solver: Any, model: cp_model.CpModel) -> Any:
    """Solve in a thread, so that Ctrl-C reaches the main thread and stops the search."""
    statuses: list[Any] = []
    worker = threading.Thread(target=lambda: statuses.append(solver.solve(model)), daemon=True)
    worker.start()
    try:
        while worker.is_alive():
            worker.join(0.1)
    except BaseException:
        solver.stop_search()
        worker.join()
        raise
    if not statuses:
        raise RuntimeError("the integer solver did not answer")
    return statuses[0]
