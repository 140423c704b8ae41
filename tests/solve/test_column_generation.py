"""Column generation on tiny piles: no bound lies above what the enumeration finds."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from enumerated import SEEDS, answered
from tiny_piles import tiny

from yieldplan.solve.budget import Budget
from yieldplan.solve.column_generation import ColumnGeneration
from yieldplan.solve.master import MISSING_UNIT, Bounds
from yieldplan.solve.search import Search

if TYPE_CHECKING:
    from yieldplan.solve.master import MasterProblem

SECONDS = 20.0
BARREN = (9020, 9027, 9033)
"""Piles of which nothing can be cut."""

FRUITFUL = [seed for seed in SEEDS if seed not in BARREN]


def begun(seed: int) -> Search:
    """Return a search that has its simple plans and its pricer, and nothing more."""
    search = Search(tiny(seed), Budget(seconds=SECONDS))
    search.begin()
    return search


def limited(search: Search, seed: int, classes: int) -> MasterProblem:
    """Return the master where the first classes of aim 1 may miss no more than the enumeration does."""
    fewest = [count for _, count in answered(seed).missing]
    limits = tuple(n if rank < classes else None for rank, n in enumerate(fewest))
    return replace(search.problem, limits=limits)


def generator(search: Search, problem: MasterProblem, stage: int | None = None) -> ColumnGeneration:
    """Return a generator of columns for a master."""
    return ColumnGeneration(
        problem=problem, pricer=search.pricer, pool=search.pool, budget=search.budget, stage=stage
    )


@pytest.mark.parametrize("seed", BARREN)
def test_a_pile_that_gives_nothing_has_no_class(seed: int) -> None:
    """Of its offcuts none is looked at, as the enumeration draws none."""
    assert not begun(seed).classes
    assert answered(seed).cost == 0


@pytest.mark.parametrize("seed", FRUITFUL)
def test_no_bound_of_cost_lies_above_the_enumeration(seed: int) -> None:
    """With as few missing as can be, the bound of the relaxation with the stops that are sure is at most the cost."""
    search = begun(seed)
    problem = limited(search, seed, len(search.problem.aims))
    bound, _ = generator(search, problem).run()
    assert bound + search.stops(problem) <= answered(seed).cost


@pytest.mark.parametrize("seed", FRUITFUL)
def test_no_bound_of_missing_blanks_lies_above_the_enumeration(seed: int) -> None:
    """Class by class, given the classes before, no bound says that more must be missing than must."""
    search = begun(seed)
    for stage, (_, fewest) in enumerate(answered(seed).missing):
        bound, _ = generator(search, limited(search, seed, stage), stage).run()
        assert bound <= MISSING_UNIT * fewest


@pytest.mark.parametrize("seed", FRUITFUL[::2])
def test_the_better_side_of_a_branch_is_no_bound_too_high(seed: int) -> None:
    """Where a setting is forbidden, and where it is paid for, one of both bounds holds for the best plan."""
    search = begun(seed)
    problem = limited(search, seed, len(search.problem.aims))
    one = generator(search, problem)
    one.run()
    used = sorted({setting for column in search.pool.columns for setting in column.settings} - problem.surely)
    for setting in used[:3]:
        sides = [one.run(Bounds(settings={setting: fixed}))[0] for fixed in (0, 1)]
        assert min(sides) + search.stops(problem) <= answered(seed).cost


@pytest.mark.parametrize("seed", FRUITFUL[1::2])
def test_one_side_of_drawn_or_not_holds_the_best_plan(seed: int) -> None:
    """Where none of an offcut is drawn, and where one at least is, one of both bounds holds for the best plan."""
    search = begun(seed)
    problem = limited(search, seed, len(search.problem.aims))
    one = generator(search, problem)
    for number, copies in enumerate(problem.copies):
        sides = [one.run(Bounds(classes={number: side}))[0] for side in ((0, 0), (1, copies))]
        assert min(sides) + search.stops(problem) <= answered(seed).cost


@pytest.mark.parametrize("seed", FRUITFUL[::2])
def test_what_is_enough_ends_it_early(seed: int) -> None:
    """Once a bound is as high as asked it is not raised any further, and it holds."""
    search = begun(seed)
    problem = limited(search, seed, len(search.problem.aims))
    full, _ = generator(search, problem).run()
    again = begun(seed)
    one = generator(again, limited(again, seed, len(problem.aims)))
    bound, _ = one.run(enough=full - 1)
    assert bound <= answered(seed).cost
    assert one.best is not None
    assert one.best.bound == bound
