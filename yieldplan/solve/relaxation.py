"""The linear relaxation of the master problem (:mod:`yieldplan.solve.master`), solved by GLOP again and again.

It is kept warm: GLOP goes on from where it stood if only columns, only rows, or only bounds and costs are new, and
nothing is scaled behind its back. So rows of settings are made when a solution breaks them, never together with
columns: those that are not broken have no price anyway.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import numpy as np
from ortools.linear_solver import pywraplp

from yieldplan.solve.columns import is_proper
from yieldplan.solve.graph import SCALE
from yieldplan.solve.master import MISSING_UNIT, Bounds, Dual

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from yieldplan.solve.columns import Column
    from yieldplan.solve.master import MasterProblem

_K = TypeVar("_K")
_Row = Any

EPSILON = 1e-7
"""What the relaxation's values may be off by."""

STAND_IN_COST, STAND_IN_GROWTH, STAND_IN_MOST = 4, 8, 4 * 8**3
"""What a stand-in costs in times the dearest column or all settings: at first, times more while used, at most."""

_WARM = "use_preprocessing: false use_scaling: false "
"""Either would make GLOP begin anew each time; where it loses its way without them it gets both."""


class LpError(ArithmeticError):
    """The linear solver did not solve what always has a solution."""


_FAILED = {
    pywraplp.Solver.FEASIBLE: "stopped early",
    pywraplp.Solver.INFEASIBLE: "found no solution",
    pywraplp.Solver.UNBOUNDED: "found no end",
    pywraplp.Solver.ABNORMAL: "lost its way in its rounding",
    pywraplp.Solver.MODEL_INVALID: "refused the model",
    pywraplp.Solver.NOT_SOLVED: "did not begin",
}


class Relaxed(NamedTuple):
    """A solved relaxation: its value, what is used of columns and settings, the prices of its rows.

    In a stage of aim 1 a missing blank counts :data:`MISSING_UNIT`. ``short``: it is made whole by stand-ins.
    """

    short: bool
    objective: float
    x: dict[int, float]
    y: dict[int, float]
    prices: NDArray[np.float64]
    charges: dict[tuple[int, int], float]
    caps: dict[tuple[int, int], float]

    @property
    def dual(self) -> Dual:
        """The prices as whole numbers, scaled."""
        return Dual(
            prices=np.maximum(np.rint(self.prices * SCALE), 0).astype(np.int64),
            charges={key: round(value * SCALE) for key, value in self.charges.items()},
            caps={key: round(value * SCALE) for key, value in self.caps.items()},
        )


class Relaxation:
    """The relaxation over a growing list of columns, at a stage: a class of aim 1, or None for cost.

    It always has a solution. What the columns do not give, and limits of missing blanks or of classes ask for, is made
    up by stand-ins; while any is used its price rises, up to a point.
    """

    def __init__(self, problem: MasterProblem, columns: Sequence[Column], stage: int | None = None) -> None:
        self.problem, self.columns, self.stage = problem, columns, stage
        self.bounds = Bounds()
        self._wanted = problem.wanted
        self._stand_in_cost = STAND_IN_COST
        self.proper: set[int] = set()
        self._asked: list[tuple[int, int]] = []
        self._manner = _WARM
        self._begin()

    def add_cap(self, number: int, kind: int) -> bool:
        """Add the row that no board of a class is drawn in fractions of more of a kind than is wanted."""
        if (number, kind) in self._caps or (number, kind) in self._asked:
            return False
        self._asked.append((number, kind))
        return True

    def only_proper(self, number: int, *, held: bool = True) -> None:
        """Let a class use no column that holds more than is wanted (then its caps say nothing), or let it again."""
        (self.proper.add if held else self.proper.discard)(number)
        for column in self._of_class[number]:
            self._x[column].SetUb(self._most(column))
        for (c, _), row in self._caps.items():
            if c == number:
                row.SetLb(-self._infinity if held else 0.0)

    def _most(self, number: int) -> float:
        column = self.columns[number]
        over = column.offcut_class in self.proper and not is_proper(column, self._wanted)
        return 0.0 if over else self._infinity

    def set_bounds(self, bounds: Bounds) -> None:
        """Take the bounds of a node of the branching in place of those there are."""
        for number in self.bounds.classes.keys() | bounds.classes.keys():
            low, high = bounds.of_class(number, self.problem.copies[number])
            self._classes[number].SetBounds(low, high)
            self._forced[number].SetUb(low)
        for setting in self.bounds.settings.keys() | bounds.settings.keys():
            self._y[setting].SetBounds(*bounds.of_setting(setting, self.problem))
        self.bounds = bounds

    def solve(self) -> Relaxed:
        """Solve it as it stands.

        Raises
        ------
        LpError
            If the linear solver fails three times, then from the start, and then as it is by itself.
        """
        for manner in (_WARM, _WARM, ""):
            self._manner = manner
            try:
                return self._solved()
            except LpError as error:
                failed = error
                self._asked = [*self._caps, *self._asked]
                self._begin()
        raise failed

    def over_full(self, result: Relaxed) -> list[tuple[int, int]]:
        """Return the caps that a solution breaks, worth a row each."""
        held: dict[tuple[int, int], float] = {}
        drawn: dict[int, float] = {}
        for number, x in result.x.items():
            column = self.columns[number]
            drawn[column.offcut_class] = drawn.get(column.offcut_class, 0.0) + x
            for kind, count in column.counts:
                key = column.offcut_class, kind
                held[key] = held.get(key, 0.0) + x * count
        most = {(c, kind): self._wanted[kind] * drawn[c] + 10 * EPSILON for c, kind in held}
        return [key for key, much in held.items() if much > most[key]]

    def _begin(self) -> None:
        """Set up everything but the columns."""
        problem, price = self.problem, float(self.stage is None)
        self._lp = pywraplp.Solver.CreateSolver("GLOP")
        self._infinity = infinity = self._lp.infinity()
        self._objective = self._lp.Objective()
        self._objective.SetMinimization()
        self._x: list[pywraplp.Variable] = []
        self._of_class: list[list[int]] = [[] for _ in problem.copies]
        self._uses: dict[tuple[int, int], pywraplp.Constraint] = {}
        self._users: dict[tuple[int, int], list[int]] = {}
        self._caps: dict[tuple[int, int], pywraplp.Constraint] = {}
        self._cover = [self._lp.Constraint(d, infinity) for d in self._wanted]
        self._classes = [self._lp.Constraint(0.0, m) for m in problem.copies]
        self._forced = [self._variable(0.0, 0.0, [(row, 1.0)]) for row in self._classes]
        self._stand_ins = [*self._forced, *(self._missing(aim) for aim in range(len(problem.aims)))]
        self._y = [self._variable(1.0, price * cost, []) for cost in problem.setting_prices]
        self._dearest = max(MISSING_UNIT, sum(problem.setting_prices))
        for setting in problem.surely:
            self._y[setting].SetLb(1.0)
        self.set_bounds(self.bounds)

    def _missing(self, aim: int) -> pywraplp.Variable:
        """Let a class of aim 1 miss blanks; return the stand-in for those beyond its limit."""
        limit = self.problem.limit(aim, self.stage)
        row = self._lp.Constraint(-self._infinity, self._infinity if limit is None else limit)
        for kind in self.problem.aims[aim]:
            cost = MISSING_UNIT if aim == self.stage else 0.0
            self._variable(self.problem.can_miss(aim, kind), cost, [(self._cover[kind], 1.0), (row, 1.0)])
        return self._variable(self._infinity, 0.0, [(row, -1.0)])

    def _variable(self, most: float, cost: float, rows: Iterable[tuple[_Row, float]]) -> pywraplp.Variable:
        variable = self._lp.NumVar(0.0, most, "")
        self._objective.SetCoefficient(variable, cost)
        for row, coefficient in rows:
            row.SetCoefficient(variable, coefficient)
        return variable

    def _take_columns(self) -> bool:
        """Take the columns that have come in since the last time; return whether there are any."""
        before = len(self._x)
        for number in range(before, len(self.columns)):
            column = self.columns[number]
            c, counts = column.offcut_class, dict(column.counts)
            rows = [(self._classes[c], 1.0), *((self._cover[kind], n) for kind, n in counts.items())]
            for setting in sorted(column.settings):
                self._users.setdefault((c, setting), []).append(number)
                if (c, setting) in self._uses:
                    rows.append((self._uses[c, setting], 1.0))
            for (other, kind), row in self._caps.items():
                if other == c:
                    rows.append((row, self._wanted[kind] - counts.get(kind, 0)))
            cost = column.cost if self.stage is None else 0
            self._dearest = max(self._dearest, cost)
            self._x.append(self._variable(self._most(number), cost, rows))
            self._of_class[c].append(number)
        return len(self._x) > before

    def _solved(self) -> Relaxed:
        """Columns first, then rows: those that are asked for, and those of settings that the solution breaks."""
        fresh = self._take_columns()
        self._price_stand_ins()
        self._optimise(dual=not fresh)
        while self._add_rows():
            self._optimise(dual=True)
        while self._is_short() and self._stand_in_cost < STAND_IN_MOST:
            self._stand_in_cost *= STAND_IN_GROWTH
            self._price_stand_ins()
            self._optimise(dual=False)
            while self._add_rows():
                self._optimise(dual=True)
        return self._result()

    def _price_stand_ins(self) -> None:
        for variable in self._stand_ins:
            self._objective.SetCoefficient(variable, float(self._stand_in_cost * self._dearest))

    def _is_short(self) -> bool:
        return any(variable.solution_value() > EPSILON for variable in self._stand_ins)

    def _optimise(self, *, dual: bool) -> None:
        """Solve; a dual simplex goes on from new rows, a primal one from new columns."""
        self._lp.SetSolverSpecificParametersAsString(self._manner + f"use_dual_simplex: {str(dual).lower()}")
        status = self._lp.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            raise LpError(f"the linear solver {_FAILED.get(status, 'failed')}")

    def _add_rows(self) -> bool:
        """Add the rows that are asked for, and the rows of settings that the solution breaks; return whether any."""
        broken = self._broken()
        asked, self._asked = self._asked, []
        for number, kind in asked:
            least = -self._infinity if number in self.proper else 0.0
            self._caps[number, kind] = row = self._lp.Constraint(least, self._infinity)
            for column in self._of_class[number]:
                held = dict(self.columns[column].counts).get(kind, 0)
                row.SetCoefficient(self._x[column], float(self._wanted[kind] - held))
        for number, setting in broken:
            self._uses[number, setting] = row = self._lp.Constraint(-self._infinity, 0.0)
            row.SetCoefficient(self._y[setting], -float(self.problem.copies[number]))
            for column in self._users[number, setting]:
                row.SetCoefficient(self._x[column], 1.0)
        return bool(asked or broken)

    def _broken(self) -> list[tuple[int, int]]:
        """Return the rows of settings that are not there and are broken; where y costs nothing it is 1 if it may be."""
        made = [y.ub() if self.stage is not None else y.solution_value() for y in self._y]
        used: dict[tuple[int, int], float] = {}
        for column, variable in zip(self.columns, self._x, strict=True):
            x = variable.solution_value()
            if x > EPSILON:
                for setting in column.settings:
                    key = column.offcut_class, setting
                    used[key] = used.get(key, 0.0) + x
        return sorted(
            (c, s)
            for (c, s), x in used.items()
            if (c, s) not in self._uses and x > self.problem.copies[c] * made[s] + 10 * EPSILON
        )

    def _result(self) -> Relaxed:
        return Relaxed(
            short=self._is_short(),
            objective=self._objective.Value(),
            x=_positive(enumerate(x.solution_value() for x in self._x)),
            y=_positive(enumerate(y.solution_value() for y in self._y)),
            prices=np.array([max(row.dual_value(), 0.0) for row in self._cover]),
            charges=_positive((key, -row.dual_value()) for key, row in self._uses.items()),
            caps=_positive((key, row.dual_value()) for key, row in self._caps.items()),
        )


def _positive(pairs: Iterable[tuple[_K, float]]) -> dict[_K, float]:
    return {key: value for key, value in pairs if value > EPSILON}
