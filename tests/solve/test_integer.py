"""The integer step, against every choice there is, and against published answers."""

from __future__ import annotations

from itertools import combinations_with_replacement

import pytest
from masters import best, random_case

from yieldplan.solve.columns import Column
from yieldplan.solve.integer import Outcome, choose, missing_of, objective_of
from yieldplan.solve.master import MISSING_UNIT, MasterProblem


@pytest.mark.parametrize("seed", range(150))
def test_it_is_the_best_of_all_choices(seed: int) -> None:
    """Copies, settings, missing blanks, spares, all stages: nothing that keeps the limits is better."""
    case = random_case(seed)
    expected = best(case)
    found = choose(case.problem, case.columns, range(len(case.columns)), seconds=20, stage=case.stage)
    if expected is None:
        assert found.outcome is Outcome.NONE
        return
    assert found.outcome is Outcome.BEST
    assert found.objective == expected
    assert found.bound == expected
    assert objective_of(case.problem, case.columns, found.columns, case.stage) == expected


def pairs(demands: tuple[int, ...]) -> tuple[MasterProblem, list[Column]]:
    """Return bars, as few as will do, that two of any pieces fit and no three; each pattern is a setting at price 1."""
    kinds = range(len(demands))
    patterns = list(combinations_with_replacement(kinds, 2))
    columns = [
        Column(
            offcut_class=0,
            counts=((a, 2),) if a == b else ((a, 1), (b, 1)),
            settings=frozenset({number}),
            cost=0,
        )
        for number, (a, b) in enumerate(patterns)
    ]
    problem = MasterProblem(
        copies=((sum(demands) + 1) // 2,),
        need=demands,
        spare=(0,) * len(demands),
        aims=(tuple(kinds), tuple(kinds)),
        limits=(0, 0),
        setting_prices=(1,) * len(patterns),
    )
    return problem, columns


@pytest.mark.parametrize(
    ("demands", "fewest"),
    [
        ((3, 5, 8), 2),
        ((4, 6, 7, 3), 3),
        ((2, 3, 7, 10, 12, 14), 4),
        ((3, 5, 8, 4, 6, 7, 3), 5),
        ((9, 14, 23, 11, 6, 5, 20, 13, 7), 6),
        ((17, 29, 46, 31, 8, 39, 12, 5, 7), 6),
    ],
)
def test_fewest_settings(demands: tuple[int, ...], fewest: int) -> None:
    """Patterns as settings: as few as kinds less the most disjoint sets that part into halves of equal sum."""
    problem, columns = pairs(demands)
    found = choose(problem, columns, range(len(columns)), seconds=60)
    assert (found.outcome, found.objective) == (Outcome.BEST, fewest)


def test_a_kind_that_misses_any_has_no_spare() -> None:
    """One needed blank may be missing; three of four are held: the two spares are missing with it, not made up for."""
    problem = MasterProblem(
        copies=(1,), need=(4,), spare=(2,), aims=((0,), (0,)), limits=(1, None), setting_prices=()
    )
    columns = [
        Column(offcut_class=0, counts=((0, 3),), settings=frozenset(), cost=10),
        Column(offcut_class=0, counts=((0, 5),), settings=frozenset(), cost=90),
    ]
    assert missing_of(problem, [3]) == (1, 2)
    assert missing_of(problem, [5]) == (0, 1)
    found = choose(problem, columns, (0, 1), seconds=5, stage=1)
    assert (found.columns, found.objective) == ((1,), MISSING_UNIT)


def test_what_is_too_much_may_be_chosen() -> None:
    """A cutting that holds more than is wanted is used where it is the cheapest; the rest is left out afterwards."""
    problem = MasterProblem(
        copies=(2,), need=(2,), spare=(0,), aims=((0,), (0,)), limits=(0, 0), setting_prices=()
    )
    columns = [
        Column(offcut_class=0, counts=((0, 1),), settings=frozenset(), cost=60),
        Column(offcut_class=0, counts=((0, 7),), settings=frozenset(), cost=100),
    ]
    assert choose(problem, columns, (0, 1), seconds=5).columns == (1,)


def test_only_the_subset_is_used() -> None:
    """Of the two columns that would do, the one asked about is chosen, though it costs more."""
    problem = MasterProblem(
        copies=(1, 1), need=(1,), spare=(0,), aims=((0,), (0,)), limits=(0, 0), setting_prices=()
    )
    columns = [Column(offcut_class=c, counts=((0, 1),), settings=frozenset(), cost=9 + c) for c in (0, 1)]
    assert choose(problem, columns, (1,), seconds=5).columns == (1,)
    assert choose(problem, columns, (), seconds=5).outcome is Outcome.NONE


def test_equal_runs_choose_alike() -> None:
    """Its limit is a count of work: two runs that are stopped early end at the same choice."""
    problem, columns = pairs((9, 14, 23, 11, 6, 5, 20, 13, 7, 12, 18, 25))
    first, second = (choose(problem, columns, range(len(columns)), seconds=1) for _ in range(2))
    assert first == second
