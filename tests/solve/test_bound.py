"""The bound of the master problem, against every choice there is."""

from __future__ import annotations

import numpy as np
import pytest
from masters import Case, best, random_case

from yieldplan.solve.columns import Column
from yieldplan.solve.master import MISSING_UNIT, Bounds, Dual, MasterProblem, lagrangian_bound
from yieldplan.solve.relaxation import Relaxation

SCALE = 1024


def reduced_costs(case: Case, dual: Dual) -> list[int]:
    """Return the least z of each class over the case's columns that hold no more than is wanted, by its formula."""
    least: list[int | None] = [None] * len(case.problem.copies)
    for column in case.columns:
        c, counts = column.offcut_class, dict(column.counts)
        z = column.cost * SCALE if case.stage is None else 0
        for b, wanted in enumerate(case.problem.wanted):
            cap = dual.caps.get((c, b), 0)
            z -= (int(dual.prices[b]) - cap) * counts.get(b, 0) + cap * wanted
        z += sum(dual.charges.get((c, s), 0) for s in column.settings)
        known = least[c]
        least[c] = z if known is None else min(z, known)
    return [0 if z is None else z for z in least]


@pytest.mark.parametrize("seed", range(150))
def test_the_bound_holds_at_any_prices(seed: int) -> None:
    """Whatever prices, charges and caps are, no whole choice of proper cuttings costs less than the bound."""
    case = random_case(seed, branched=seed % 2 == 1)
    least = best(case, proper=True)
    rng = np.random.default_rng(seed + 1000)
    kinds, classes = len(case.problem.need), len(case.problem.copies)
    for size in (10, 1000, 5000):
        dual = Dual(
            prices=rng.integers(0, size * SCALE, kinds),
            charges={
                (c, s): int(rng.integers(0, size * SCALE))
                for c in range(classes)
                for s in range(len(case.problem.setting_prices))
                if rng.random() < 0.5
            },
            caps={
                (c, b): int(rng.integers(0, size * SCALE))
                for c in range(classes)
                for b in range(kinds)
                if rng.random() < 0.5
            },
        )
        bound = lagrangian_bound(case.problem, dual, reduced_costs(case, dual), case.bounds, case.stage)
        assert least is None or bound <= least


@pytest.mark.parametrize("seed", range(150))
def test_the_bound_holds_near_the_relaxation_s_own_prices(seed: int) -> None:
    """There it is nearly tight, so that the least mistake in it would show."""
    case = random_case(seed, branched=seed % 2 == 1)
    least = best(case, proper=True)
    relaxation = Relaxation(case.problem, case.columns, case.stage)
    relaxation.set_bounds(case.bounds)
    result = relaxation.solve()
    for cap in relaxation.over_full(result):
        relaxation.add_cap(*cap)
    dual = relaxation.solve().dual
    rng = np.random.default_rng(seed)
    for most in (1.1, 1.5, 4.0):
        near = Dual(
            prices=(dual.prices * rng.uniform(0.9, 1.1, len(dual.prices))).astype(np.int64),
            charges={key: int(charge * rng.uniform(0, most)) for key, charge in dual.charges.items()},
            caps={key: int(cap * rng.uniform(0, most)) for key, cap in dual.caps.items()},
        )
        bound = lagrangian_bound(case.problem, near, reduced_costs(case, near), case.bounds, case.stage)
        assert least is None or bound <= least


def test_two_copies_share_a_setting() -> None:
    """Both are drawn whole and the setting is paid for once: relaxation, bound and the only choice are one.

    Charges above the relaxation's own only lower the bound.
    """
    problem = MasterProblem(
        copies=(2,), need=(2,), spare=(0,), aims=((0,), (0,)), limits=(0, 0), setting_prices=(50,)
    )
    columns = (Column(offcut_class=0, counts=((0, 1),), settings=frozenset({0}), cost=100),)
    case = Case(problem, columns, Bounds(), None)
    result = Relaxation(problem, columns).solve()
    assert result.objective == pytest.approx(250)
    for charge, bound in ((25, 250), (35, 230)):
        dual = Dual(
            prices=np.array([125 * SCALE if charge == 25 else 135 * SCALE]),
            charges={(0, 0): charge * SCALE},
            caps={},
        )
        assert lagrangian_bound(problem, dual, reduced_costs(case, dual), Bounds()) == 250
        dual = dual._replace(prices=np.array([125 * SCALE]))
        assert lagrangian_bound(problem, dual, reduced_costs(case, dual), Bounds()) == bound


@pytest.mark.parametrize("seed", range(80))
def test_the_bound_is_tight_at_the_relaxation_s_own_prices(seed: int) -> None:
    """At the prices of the solved relaxation, with every column priced, bound and relaxation are one, and hold."""
    case = random_case(seed, branched=seed % 2 == 1)
    relaxation = Relaxation(case.problem, case.columns, case.stage)
    relaxation.set_bounds(case.bounds)
    result = relaxation.solve()
    if result.short:
        assert best(case, proper=True) is None
        return
    for cap in relaxation.over_full(result):
        relaxation.add_cap(*cap)
    result = relaxation.solve()
    if result.short:
        assert best(case, proper=True) is None
        return
    dual = result.dual
    bound = lagrangian_bound(case.problem, dual, reduced_costs(case, dual), case.bounds, case.stage)
    assert bound == pytest.approx(result.objective, abs=1.5)
    least = best(case, proper=True)
    assert least is None or bound <= least


def test_missing_blanks_go_to_the_dearest_kinds_within_their_limits() -> None:
    """Two blanks of a class may be missing: the bound gives both to the dear kind, and one spare to the dearest."""
    problem = MasterProblem(
        copies=(), need=(2, 5), spare=(1, 1), aims=((0, 1), (0, 1)), limits=(3, 1), setting_prices=()
    )
    dual = Dual(prices=np.array([70, 30]) * SCALE, charges={}, caps={})
    assert lagrangian_bound(problem, dual, [], Bounds()) == 70 * 3 + 30 * 6 - (2 * 70 + 30) - 70


def test_while_missing_are_counted_each_costs_a_unit() -> None:
    """With no column at all every needed blank of the class is missing, by the relaxation and by its bound."""
    problem = MasterProblem(
        copies=(3,),
        need=(2, 5),
        spare=(1, 0),
        aims=((0,), (1,), (0, 1)),
        limits=(1, None, None),
        setting_prices=(9,),
    )
    result = Relaxation(problem, [], stage=1).solve()
    assert result.short  # two of the first kind are missing, one may be
    for stage, missing in ((0, 2), (2, 1)):
        loose = MasterProblem(
            copies=(3,),
            need=(2, 5),
            spare=(1, 0),
            aims=((0,), (1,), (0, 1)),
            limits=(2, 5, None),
            setting_prices=(9,),
        )
        result = Relaxation(loose, [], stage).solve()
        assert result.objective == pytest.approx(missing * MISSING_UNIT)
        assert lagrangian_bound(loose, result.dual, [0], Bounds(), stage) == missing * MISSING_UNIT


def test_a_board_that_must_be_drawn_counts_in_the_bound() -> None:
    """Drawn against its will it costs what it costs, in the relaxation and in the bound."""
    problem = MasterProblem(
        copies=(1, 1), need=(1,), spare=(0,), aims=((0,), (0,)), limits=(0, 0), setting_prices=()
    )
    columns = tuple(
        Column(offcut_class=c, counts=((0, 1),), settings=frozenset(), cost=cost)
        for c, cost in enumerate((100, 130))
    )
    case = Case(problem, columns, Bounds(classes={1: (1, 1)}), None)
    relaxation = Relaxation(problem, columns)
    relaxation.set_bounds(case.bounds)
    result = relaxation.solve()
    assert result.objective == pytest.approx(130)
    for price in (0, 90):
        dual = Dual(prices=np.array([price * SCALE]), charges={}, caps={})
        assert lagrangian_bound(problem, dual, reduced_costs(case, dual), case.bounds) == 130


def test_what_is_counted_has_no_limit() -> None:
    """A limit left from before does not hold for the class whose missing blanks are counted."""
    problem = MasterProblem(
        copies=(), need=(3,), spare=(0,), aims=((0,), (0,)), limits=(1, 0), setting_prices=()
    )
    result = Relaxation(problem, [], stage=0).solve()
    assert not result.short
    assert result.objective == pytest.approx(3 * MISSING_UNIT)
    assert lagrangian_bound(problem, result.dual, [], Bounds(), stage=0) == 3 * MISSING_UNIT
