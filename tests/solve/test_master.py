"""The relaxation of the master problem, against another linear solver."""

from __future__ import annotations

import numpy as np
import pytest
from masters import random_case, relaxed

from yieldplan.solve.columns import Column, Pool
from yieldplan.solve.master import Bounds, MasterProblem
from yieldplan.solve.relaxation import Relaxation


@pytest.mark.parametrize("seed", range(120))
def test_it_is_worth_what_another_solver_says(seed: int) -> None:
    """Rows of settings made late, or columns brought in one by one, change nothing in the value of the relaxation."""
    case = random_case(seed, branched=seed % 2 == 1)
    columns: list[Column] = []
    relaxation = Relaxation(case.problem, columns, case.stage)
    relaxation.set_bounds(case.bounds)
    for column in case.columns:
        columns.append(column)
        result = relaxation.solve()
    expected = relaxed(case)
    assert result.short == (expected is None)
    if expected is not None:
        assert result.objective == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("seed", range(60))
def test_caps_are_kept(seed: int) -> None:
    """With a cap for every class and kind it is worth what another solver says, and no cap is broken any more."""
    case = random_case(seed)
    caps = [(c, b) for c in range(len(case.problem.copies)) for b in range(len(case.problem.need))]
    relaxation = Relaxation(case.problem, case.columns, case.stage)
    relaxation.solve()
    assert all(relaxation.add_cap(*cap) for cap in caps)
    assert not any(relaxation.add_cap(*cap) for cap in caps)
    result = relaxation.solve()
    expected = relaxed(case, caps)
    assert result.short == (expected is None)
    assert expected is None or result.objective == pytest.approx(expected, abs=1e-3)
    assert relaxation.over_full(result) == []


def test_a_big_board_is_not_drawn_in_thirds() -> None:
    """A board that holds thrice what is wanted is drawn by a third, until a cap forbids it."""
    problem = MasterProblem(
        copies=(1, 1), need=(4,), spare=(0,), aims=((0,), (0,)), limits=(0, 0), setting_prices=()
    )
    columns = [
        Column(offcut_class=0, counts=((0, 12),), settings=frozenset(), cost=900),
        Column(offcut_class=1, counts=((0, 4),), settings=frozenset(), cost=500),
    ]
    relaxation = Relaxation(problem, columns)
    result = relaxation.solve()
    assert result.objective == pytest.approx(300)
    assert relaxation.over_full(result) == [(0, 0)]
    relaxation.add_cap(0, 0)
    capped = relaxation.solve()
    assert capped.objective == pytest.approx(500)
    assert capped.x == pytest.approx({1: 1.0})


def test_a_class_that_must_be_drawn_without_a_column_is_short() -> None:
    """A branch that asks for a board that has no cutting says so; once it is lifted, or a column comes, it does not."""
    problem = MasterProblem(
        copies=(1, 1), need=(1,), spare=(0,), aims=((0,), (0,)), limits=(0, 0), setting_prices=(50,)
    )
    columns = [Column(offcut_class=0, counts=((0, 1),), settings=frozenset({0}), cost=100)]
    relaxation = Relaxation(problem, columns)
    relaxation.set_bounds(Bounds(classes={1: (1, 1)}))
    assert relaxation.solve().short
    relaxation.set_bounds(Bounds())
    assert relaxation.solve().objective == pytest.approx(150)
    relaxation.set_bounds(Bounds(classes={0: (0, 0), 1: (1, 1)}))
    columns.append(Column(offcut_class=1, counts=((0, 1),), settings=frozenset(), cost=130))
    result = relaxation.solve()
    assert not result.short
    assert result.x == pytest.approx({1: 1.0})


def test_columns_that_come_after_a_cap_are_in_it() -> None:
    """A cap made early holds the columns that are generated later."""
    problem = MasterProblem(
        copies=(1,), need=(4,), spare=(0,), aims=((0,), (0,)), limits=(0, 0), setting_prices=()
    )
    columns = [Column(offcut_class=0, counts=((0, 4),), settings=frozenset(), cost=900)]
    relaxation = Relaxation(problem, columns)
    relaxation.add_cap(0, 0)
    relaxation.solve()
    columns.append(Column(offcut_class=0, counts=((0, 8),), settings=frozenset(), cost=1000))
    assert relaxation.solve().objective == pytest.approx(900)
    columns.append(Column(offcut_class=0, counts=((0, 2),), settings=frozenset(), cost=300))
    assert relaxation.solve().objective == pytest.approx((2 * 300 + 1000) / 3)


def test_a_setting_that_a_branch_forbids_is_not_used() -> None:
    """The column that needs it gives way; where it must be made, it is paid for though nothing uses it."""
    problem = MasterProblem(
        copies=(1, 1), need=(1,), spare=(0,), aims=((0,), (0,)), limits=(0, 0), setting_prices=(50,)
    )
    columns = [
        Column(offcut_class=0, counts=((0, 1),), settings=frozenset({0}), cost=100),
        Column(offcut_class=1, counts=((0, 1),), settings=frozenset(), cost=180),
    ]
    relaxation = Relaxation(problem, columns)
    relaxation.set_bounds(Bounds(settings={0: 0}))
    assert relaxation.solve().objective == pytest.approx(180)
    relaxation.set_bounds(Bounds(settings={0: 1}))
    assert relaxation.solve().objective == pytest.approx(150)


def test_rounding_up_is_not_enough() -> None:
    """The published bar case: 132 long, 44 twice, 33 thrice, 12 six times; the relaxation is worth 1.9621 bars."""
    lengths, need = (44, 33, 12), (2, 3, 6)
    columns = [
        Column(
            offcut_class=0,
            counts=tuple((b, n) for b, n in enumerate(held) if n),
            settings=frozenset(),
            cost=10_000,
        )
        for held in np.ndindex(4, 5, 12)
        if 0 < sum(n * length for n, length in zip(held, lengths, strict=True)) <= 132
    ]
    problem = MasterProblem(
        copies=(9,), need=need, spare=(0, 0, 0), aims=((0, 1, 2), (0, 1, 2)), limits=(0, 0), setting_prices=()
    )
    result = Relaxation(problem, columns).solve()
    assert result.objective == pytest.approx(10_000 * (2 / 3 + 3 / 4 + 6 / 11), rel=1e-6)


def test_a_pool_keeps_the_cheaper_of_equal_columns() -> None:
    """An equal column is new only if it is cheaper; the dearer one keeps its number but is no longer live."""
    pool = Pool()

    def add(cost: int, *settings: int) -> bool:
        return pool.add(Column(offcut_class=2, counts=((0, 1),), settings=frozenset(settings), cost=cost))

    assert [add(500), add(500), add(600), add(700, 1), add(400)] == [True, False, False, True, True]
    assert [column.cost for column in pool.columns] == [500, 700, 400]
    assert pool.live == (1, 2)
