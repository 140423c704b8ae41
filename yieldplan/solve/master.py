"""The master problem: which columns to use. The only place that talks to ortools.

The linear relaxation (GLOP) gives prices; CP-SAT makes the integer choice. Both run with fixed seeds, and
CP-SAT is limited by its own count of work, so that equal inputs give equal answers.
"""

from __future__ import annotations

import enum
import math
import threading
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from ortools.linear_solver import pywraplp
from ortools.sat.python import cp_model

from yieldplan.solve.budget import BUILDING, CHOOSING, SLOWEST

if TYPE_CHECKING:
    from collections.abc import Sequence

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

    Parameters
    ----------
    wanted
        The batch and the copies.
    weights
        What one missing blank of each kind costs.
    most_missing
        Upper bounds on the missing blanks of each class that is already settled.
    stand_in
        What covering a blank of a settled class with nothing costs: too much, but a limit to its price.
    with_cost
        Whether columns cost their worth (aim 2) or nothing (aim 1).
    proper
        Whether columns count for no more blanks of a kind than are needed.
    """

    def __init__(
        self,
        wanted: Wanted,
        weights: Sequence[float],
        most_missing: dict[int, int],
        stand_in: Sequence[float],
        *,
        with_cost: bool,
        proper: bool = False,
    ) -> None:
        self.with_cost = with_cost
        self.most = wanted.need if proper else [math.inf] * len(wanted.need)
        self.shares: list[Any] = []
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        infinity = self.solver.infinity()
        self.cover = [self.solver.Constraint(float(need), infinity) for need in wanted.need]
        self.stock = [self.solver.Constraint(-infinity, float(copies)) for copies in wanted.copies]
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        settled = {p: self.solver.Constraint(-infinity, float(m)) for p, m in most_missing.items()}
        for k, row in enumerate(self.cover):
            limit = settled.get(wanted.priority[k])
            slack = self._slack(row, weights[k])
            if limit is not None:
                limit.SetCoefficient(slack, 1.0)
                self._slack(row, stand_in[k])

    def _slack(self, row: Any, penalty: float) -> Any:
        slack = self.solver.NumVar(0.0, self.solver.infinity(), "")
        row.SetCoefficient(slack, 1.0)
        self.objective.SetCoefficient(slack, penalty)
        return slack

    def add(self, columns: Sequence[Column]) -> None:
        """Add columns."""
        for column in columns:
            share = self.solver.NumVar(0.0, self.solver.infinity(), "")
            self.shares.append(share)
            for k, count in enumerate(column.counts):
                if count:
                    self.cover[k].SetCoefficient(share, float(min(count, self.most[k])))
            self.stock[column.stock].SetCoefficient(share, 1.0)
            if self.with_cost:
                self.objective.SetCoefficient(share, float(column.cost))

    def prices(self) -> tuple[Floats, Floats]:
        """Solve; return the price of a blank of each kind, and what one more of each stock would save."""
        status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            raise RuntimeError(f"the linear solver ended with status {status}")
        blanks = np.array([row.dual_value() for row in self.cover])
        return blanks, np.array([-row.dual_value() for row in self.stock])

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
