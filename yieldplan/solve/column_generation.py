"""Column generation: prices from the master's relaxation, the best cutting of every class at them, a bound every round.

At any prices the bound of :func:`yieldplan.solve.master.lagrangian_bound` holds if what is said of every class's best
cutting is exact or too low. So each round gives a valid bound, whether the relaxation is solved or not.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np

from yieldplan.solve.columns import is_proper
from yieldplan.solve.master import Bounds, lagrangian_bound
from yieldplan.solve.paths import NEVER
from yieldplan.solve.proper import ProperPricer
from yieldplan.solve.relaxation import Relaxation

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from yieldplan.solve.budget import Budget
    from yieldplan.solve.columns import Pool
    from yieldplan.solve.master import Dual, MasterProblem
    from yieldplan.solve.pricing import Pricer
    from yieldplan.solve.relaxation import Relaxed

Ints: TypeAlias = "NDArray[np.int64]"

CLOSE = 0.0005
"""Share of the relaxation within which its bound need not come closer: half of what counts as proven."""


ASKED, LP_BASE, LP_COLUMN = 1e-4, 2e-3, 6e-6
"""Seconds that a class asked, a linear programme and each of its columns count for (:class:`Budget`)."""

LONGEST = 0.06
"""Share of all seconds that one class may take before it is looked at no more closely: its bound stays too low."""

FIRST_LOOKS = 24
"""Billets of an offcut that are looked at closely while that brings new columns; then all are, for a bound."""


class Priced(NamedTuple):
    """A bound, at which prices it was found, and the reduced cost of each class (scaled) at them."""

    bound: int
    dual: Dual
    reduced: tuple[int, ...]


@dataclass(slots=True, kw_only=True)
class ColumnGeneration:
    """Generates columns for one relaxation until its bound is tight.

    ``stage`` is the class of aim 1 whose missing blanks are counted, None while cost is. ``budget`` is asked
    between rounds and between classes. With ``search_proper`` classes whose over-full cuttings are in use are asked for
    proper ones alone, but for those that were ``given_up``. ``full_round`` is how many seconds the last one took.
    """

    problem: MasterProblem
    pricer: Pricer
    pool: Pool
    budget: Budget
    stage: int | None = None
    relaxation: Relaxation = field(init=False)
    reduced: list[int] = field(default_factory=list)
    best: Priced | None = None
    search_proper: bool = False
    given_up: set[int] = field(default_factory=set)
    _proper: ProperPricer = field(init=False)
    full_round: float = 0.0

    def __post_init__(self) -> None:
        self.relaxation = Relaxation(self.problem, self.pool.columns, self.stage)
        self._proper = ProperPricer(self.pricer, self.problem.wanted)

    def run(
        self,
        bounds: Bounds | None = None,
        *,
        enough: float = float("inf"),
        most_rounds: int = 1000,
        share: float = 0.0,
    ) -> tuple[int, Relaxed]:
        """Return the best bound found under the bounds of branching, and the relaxation as it is solved in the end.

        Ends early once the bound reaches ``enough``, or comes within ``share`` of what is between it and that. The
        bound is in units, of missing blanks in thousandths.
        """
        bounds = bounds or Bounds()
        if bounds != self.relaxation.bounds:
            self.best = None
        best = -(1 << 60) if self.best is None else self.best.bound
        self.relaxation.set_bounds(bounds)
        result = self._solve()
        closely = False
        for _ in range(most_rounds):
            if closely and self.budget.left < self.full_round:
                break
            before = self.budget.spent
            bound, fresh = self._price(result, closely=closely)
            if closely:
                self.full_round = self.budget.spent - before
            if bound is not None and bound > best:
                best = bound
                self.best = Priced(bound, result.dual, tuple(self.reduced))
            if best >= enough or self.budget.out():
                break
            loose = result.objective - best
            tight = loose <= CLOSE * abs(result.objective) + 1e-6 or loose < share * (enough - best)
            ended = tight or (closely and not fresh)
            again = self._add_caps(result) or (self._hold_proper(result) if ended else fresh)
            if ended and not again:
                break
            closely = not again
            result = self._solve()
        return best, result

    def _solve(self) -> Relaxed:
        self.budget.spend(LP_BASE + LP_COLUMN * len(self.pool.columns))
        return self.relaxation.solve()

    def _add_caps(self, result: Relaxed) -> bool:
        if self.stage is not None:
            return False
        return sum(self.relaxation.add_cap(*cap) for cap in self.relaxation.over_full(result)) > 0

    def _hold_proper(self, result: Relaxed) -> bool:
        """Ask for proper cuttings alone of the classes whose over-full ones are in use; return whether any is new."""
        if not self.search_proper:
            return False
        columns = [self.pool.columns[number] for number in result.x]
        wanted = self.problem.wanted
        fresh = {c.offcut_class for c in columns if not is_proper(c, wanted)} - self.given_up
        for number in fresh:
            self.relaxation.only_proper(number)
        return bool(fresh)

    def _price_proper(
        self, number: int, dual: Dual, charges: Mapping[int, int], allowed: NDArray[np.bool_], enough: int
    ) -> int:
        """Return what no proper cutting of a class gives more than; it is given up where they are too many to list."""
        own, _ = self.own_prices(dual, number)
        known = [column for column in self.pool.columns if column.offcut_class == number]
        self.pricer.limit(self.budget)
        found = self._proper.best(number, own, charges, known, allowed, self.budget, enough)
        self.pricer.columns += found.columns
        if not found.exact:
            self.given_up.add(number)
            self.relaxation.only_proper(number, held=False)
        return found.value

    def take_columns(self) -> bool:
        """Take all cuttings that pricing came across, for the pool; return whether any is new."""
        found, self.pricer.columns = self.pricer.columns, []
        return sum(self.pool.add(column) for column in found) > 0

    def own_prices(self, dual: Dual, number: int) -> tuple[Ints, int]:
        """Return the prices of a class, less those of its caps, and what its caps give each column."""
        own, bonus = dual.prices.copy(), 0
        for (c, kind), price in dual.caps.items():
            if c == number:
                own[kind] -= price
                bonus += price * self.problem.wanted[kind]
        return own, bonus

    def _price(self, result: Relaxed, *, closely: bool) -> tuple[int | None, bool]:
        """Price every class; return the bound at these prices (None if time ran out), and whether a column is new."""
        dual, problem = result.dual, self.problem
        self.pricer.set_prices(dual.prices, missing=self.stage is not None)
        charges: dict[int, dict[int, int]] = {}
        for (number, setting), charge in dual.charges.items():
            charges.setdefault(number, {})[setting] = charge
        capped = {number for number, _ in dual.caps}
        bounds = self.relaxation.bounds
        allowed = np.ones(len(problem.setting_prices), np.bool_)
        allowed[[setting for setting, fixed in bounds.settings.items() if not fixed]] = False
        reduced, fresh = [], False
        for number in range(len(self.pricer.classes)):
            low, high = bounds.classes.get(number, (0, problem.copies[number]))
            own, bonus = None, 0
            if not high:
                reduced.append(0)
                continue
            if number in self.relaxation.proper and closely:
                enough = NEVER if low else 0
                value = self._price_proper(number, dual, charges.get(number, {}), allowed, enough)
                reduced.append(-value)
                fresh = self.take_columns() or number in self.given_up or fresh
                continue
            if number in capped:
                own, bonus = self.own_prices(dual, number)
            if number in self.relaxation.proper:
                multipliers = self._proper.multipliers.get(number, np.zeros_like(dual.prices))
                own = dual.prices - multipliers
                bonus = int(multipliers @ np.array(problem.wanted))
            part = self.budget.part(LONGEST * self.budget.whole)
            self.pricer.limit(part, 1 << 60 if closely else FIRST_LOOKS)
            found = self.pricer.best(
                number,
                enough=NEVER if low else -bonus,
                charges=charges.get(number),
                own=own,
                allowed=allowed,
            )
            reduced.append(-found.value - bonus)
            self.budget.spend(ASKED)
            fresh = self.take_columns() or fresh
            if self.budget.out():
                return None, fresh
        self.reduced = reduced
        return lagrangian_bound(problem, dual, reduced, bounds, self.stage), fresh
