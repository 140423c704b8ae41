"""The integer step: which of the columns that there are, each whole times, make the batch at least cost.

The master problem (:mod:`yieldplan.solve.master`) with x and y whole, by CP-SAT. Of the caps it keeps none: a cutting
that holds more than is wanted may be used, and what is too much is left out of it afterwards. It keeps what the
relaxation cannot say: a kind that misses any has no spare. With z_b = 1 where kind b misses any ::

    u_b <= need_b z_b,   v_b >= spare_b z_b

Of a kind in pairs it covers with what is made: in twos of each species, one alone where it may stand so. What is held
beyond that is left out afterwards, and each costs as much as a board can by it: an odd number where it was even.

One thread that has the whole linear relaxation (``linearization_level`` 2; without it the bound is useless): on pools
of 230 to 1,300 columns it took a half to a tenth of HiGHS's time. A second thread made it worse. It is limited by its
own count of work, so that equal inputs give equal choices.
"""

from __future__ import annotations

import math
import threading
from enum import Enum
from typing import TYPE_CHECKING, NamedTuple

from ortools.sat.python import cp_model

from yieldplan.solve.master import MISSING_UNIT
from yieldplan.solve.pairs import most_made

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Blank
    from yieldplan.solve.columns import Column
    from yieldplan.solve.master import MasterProblem

WORK = 0.25
"""CP-SAT's units of work in a second, on a machine of two slow cores; never measured above 0.45."""

BUILDING = 1e-4
"""Seconds that a column counts for when the model is built."""

SLOWEST = 1.5
"""Seconds that a second asked for may last where the machine is slower still; then runs may differ."""

CLOSE = 1e-4
"""Share of the cost within which a choice is as good as the best: a tenth of what counts as proven."""


class Outcome(Enum):
    """How the integer step ended."""

    BEST = "best"
    FOUND = "found"
    NONE = "none"
    STOPPED = "stopped"


_OUTCOMES = {
    cp_model.OPTIMAL: Outcome.BEST,
    cp_model.FEASIBLE: Outcome.FOUND,
    cp_model.INFEASIBLE: Outcome.NONE,
    cp_model.UNKNOWN: Outcome.STOPPED,
}


class Choice(NamedTuple):
    """What was chosen, column numbers, one for each offcut drawn; its objective, and a bound for these columns.

    Objective and bound are cost, or in a stage of aim 1 missing blanks in
    :data:`~yieldplan.solve.master.MISSING_UNIT`. NONE: no choice keeps the limits. STOPPED: none was found in time.
    ``seconds`` is what it counts for.
    """

    outcome: Outcome
    columns: tuple[int, ...] = ()
    objective: int = 0
    bound: int = 0
    seconds: float = 0.0


def objective_of(
    problem: MasterProblem, columns: Sequence[Column], chosen: Iterable[int], stage: int | None = None
) -> int | None:
    """Return the objective of a choice; None if it misses more, or draws more offcuts, than there may be."""
    drawn = [0] * len(problem.copies)
    settings = set(problem.surely)
    cost = 0
    for number in chosen:
        column = columns[number]
        drawn[column.offcut_class] += 1
        cost += column.cost
        settings |= column.settings
    made, left_out = made_of(problem, [columns[number] for number in chosen])
    missing = missing_of(problem, made)
    for aim, many in enumerate(missing):
        limit = problem.limit(aim, stage)
        if limit is not None and many > limit:
            return None
    if any(many > copies for many, copies in zip(drawn, problem.copies, strict=True)):
        return None
    if stage is not None:
        return MISSING_UNIT * missing[stage]
    return cost + left_out + sum(problem.setting_prices[setting] for setting in settings)


def made_of(problem: MasterProblem, columns: Sequence[Column]) -> tuple[list[int], int]:
    """Return how many of each kind columns make, and what leaving out those that nobody pairs costs at most."""
    made, left_out = [0] * len(problem.need), 0
    for column in columns:
        for kind, count in column.counts:
            made[kind] += count
    held = problem.pairs.held(columns)
    for kind, blank in problem.pairs.kinds.items():
        own = [count for (one, _), count in held.items() if one == kind]
        over = sum(own) - sum(most_made(own, blank))
        made[kind], left_out = made[kind] - over, left_out + over
    return made, problem.pairs.price * left_out


def missing_of(problem: MasterProblem, held: Sequence[int]) -> tuple[int, ...]:
    """Return how many each class of aim 1 misses where so many of each kind are held: needs are made first."""
    *classes, spares = problem.aims
    needed = [sum(max(0, problem.need[b] - held[b]) for b in kinds) for kinds in classes]
    left = (min(problem.spare[b], max(0, problem.wanted[b] - held[b])) for b in spares)
    return *needed, sum(left)


def choose(
    problem: MasterProblem,
    columns: Sequence[Column],
    subset: Iterable[int],
    *,
    seconds: float,
    stage: int | None = None,
) -> Choice:
    """Return the best choice among a subset of columns, of least cost or, at a ``stage`` of aim 1, missing fewest."""
    model = _Model(problem, columns, sorted(set(subset)), stage)
    solver = _solver(seconds, close=CLOSE if stage is None else 0.0)
    outcome = _OUTCOMES.get(_interruptibly(solver, model.model))
    if outcome is None:
        raise ArithmeticError(f"the integer solver refused the model: {model.model.validate()}")
    spent = BUILDING * len(model.x) + solver.response_proto.deterministic_time / WORK
    return _found(model, solver, outcome)._replace(seconds=spent)


def _found(model: _Model, solver: cp_model.CpSolver, outcome: Outcome) -> Choice:
    """Return what CP-SAT came to."""
    bound = 0
    if outcome is not Outcome.NONE and math.isfinite(solver.best_objective_bound):
        unit = 1 if model.stage is None else MISSING_UNIT
        bound = math.ceil(solver.best_objective_bound - CLOSE) * unit
    if outcome not in (Outcome.BEST, Outcome.FOUND):
        return Choice(outcome, (), 0, bound)
    chosen = tuple(n for n, x in model.x.items() for _ in range(solver.value(x)))
    objective = objective_of(model.problem, model.columns, chosen, model.stage)
    if objective is None:
        raise ArithmeticError("the integer solver broke a limit")
    return Choice(outcome, chosen, objective, min(bound, objective))


class _Model:
    """The master problem over some of the columns, for CP-SAT."""

    def __init__(
        self, problem: MasterProblem, columns: Sequence[Column], subset: Sequence[int], stage: int | None
    ) -> None:
        self.problem, self.columns, self.stage = problem, columns, stage
        self.model = cp_model.CpModel()
        self.x = {
            n: self.model.new_int_var(0, problem.copies[columns[n].offcut_class], f"x{n}") for n in subset
        }
        self._hold_classes()
        self._y = self._settings()
        self._missing: list[dict[int, cp_model.IntVar]] = [
            {
                kind: self.model.new_int_var(0, problem.can_miss(aim, kind), f"missing{aim}_{kind}")
                for kind in kinds
                if problem.can_miss(aim, kind) and problem.limit(aim, stage) != 0
            }
            for aim, kinds in enumerate(problem.aims)
        ]
        self._hold_spares_back()
        self._left_out: list[cp_model.LinearExprT] = []
        self._cover()
        self._limit()
        self.model.minimize(self._aim())

    def _hold_classes(self) -> None:
        members: dict[int, list[cp_model.IntVar]] = {}
        for n, x in self.x.items():
            members.setdefault(self.columns[n].offcut_class, []).append(x)
        for c, several in members.items():
            self.model.add(cp_model.LinearExpr.sum(several) <= self.problem.copies[c])

    def _settings(self) -> dict[int, cp_model.IntVar]:
        """Add the settings that are not sure; they cost nothing in a stage of aim 1."""
        users: dict[tuple[int, int], list[cp_model.IntVar]] = {}
        if self.stage is None:
            for n, x in self.x.items():
                for setting in sorted(self.columns[n].settings - self.problem.surely):
                    users.setdefault((self.columns[n].offcut_class, setting), []).append(x)
        y = {s: self.model.new_bool_var(f"y{s}") for s in sorted({s for _, s in users})}
        for (c, setting), several in users.items():
            self.model.add(cp_model.LinearExpr.sum(several) <= self.problem.copies[c] * y[setting])
        return y

    def _hold_spares_back(self) -> None:
        """Let a kind that misses any have no spare."""
        problem = self.problem
        *needs, spares = self._missing
        for kind, u in ((kind, u) for row in needs for kind, u in row.items()):
            if kind in spares:
                z = self.model.new_bool_var(f"short{kind}")
                self.model.add(u <= problem.need[kind] * z)
                self.model.add(spares[kind] >= problem.spare[kind] * z)
            elif problem.spare[kind]:
                self.model.add(u == 0)

    def _cover(self) -> None:
        terms: list[list[cp_model.LinearExprT]] = [[] for _ in self.problem.need]
        for n, x in self.x.items():
            for kind, count in self.columns[n].counts:
                terms[kind].append(count * x)
        for kind, blank in self.problem.pairs.kinds.items():
            terms[kind] = self._paired(kind, blank)
        for row in self._missing:
            for kind, variable in row.items():
                terms[kind].append(variable)
        for several, wanted in zip(terms, self.problem.wanted, strict=True):
            self.model.add(cp_model.LinearExpr.sum(several) >= wanted)

    def _paired(self, kind: int, blank: Blank) -> list[cp_model.LinearExprT]:
        """Return what is made of a kind in pairs, less what is fixed; what is held beyond that is left out."""
        pairs, wanted = self.problem.pairs, blank.need + blank.spare
        held: dict[str, list[cp_model.LinearExprT]] = {}
        for (one, species), count in pairs.fixed.items():
            if one == kind:
                held[species] = [count]
        for n, x in self.x.items():
            if count := dict(self.columns[n].counts).get(kind, 0):
                held.setdefault(pairs.species[self.columns[n].offcut_class], []).append(count * x)
        alone = [self.model.new_bool_var(f"alone{kind}_{species}") for species in held]
        made = [
            2 * self.model.new_int_var(0, wanted // 2, f"twos{kind}_{species}") + one
            for species, one in zip(held, alone, strict=True)
        ]
        over = [cp_model.LinearExpr.sum(held[one]) - many for one, many in zip(held, made, strict=True)]
        for left_out in over:
            self.model.add(left_out >= 0)
        self._left_out += over
        self.model.add(cp_model.LinearExpr.sum(alone) <= int(blank.may_be_odd))
        self.model.add(cp_model.LinearExpr.sum(made) <= wanted)
        return [*made, self.problem.wanted[kind] - wanted]

    def _limit(self) -> None:
        for aim, row in enumerate(self._missing):
            limit = self.problem.limit(aim, self.stage)
            if limit is not None and row:
                self.model.add(cp_model.LinearExpr.sum(list(row.values())) <= limit)

    def _aim(self) -> cp_model.LinearExprT:
        if self.stage is not None:
            return cp_model.LinearExpr.sum(list(self._missing[self.stage].values()))
        prices = self.problem.setting_prices
        terms: list[cp_model.LinearExprT] = [self.columns[n].cost * x for n, x in self.x.items()]
        terms += [prices[setting] * y for setting, y in self._y.items()]
        terms += [self.problem.pairs.price * over for over in self._left_out]
        return cp_model.LinearExpr.sum(terms) + sum(prices[setting] for setting in self.problem.surely)


def _solver(seconds: float, close: float) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers, parameters.random_seed = 1, 1
    parameters.linearization_level = 2
    parameters.catch_sigint_signal = False  # it would not give Ctrl-C back
    parameters.max_deterministic_time = max(seconds, 0.05) * WORK
    parameters.max_time_in_seconds = max(seconds, 0.05) * SLOWEST
    parameters.relative_gap_limit = close
    return solver


def _interruptibly(solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
    """Solve in a thread, so that Ctrl-C reaches the main thread and stops the search."""
    statuses: list[cp_model.CpSolverStatus] = []
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
        raise ArithmeticError("the integer solver did not answer")
    return statuses[0]
