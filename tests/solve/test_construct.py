"""Plans built board by board: right, never more than is wanted, ever better, and the same twice."""

from __future__ import annotations

import random
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from yieldplan.model.shop import INCH
from yieldplan.solve.assemble import assemble
from yieldplan.solve.bars import packed
from yieldplan.solve.budget import Budget
from yieldplan.solve.construct import construct
from yieldplan.solve.search import Search
from yieldplan.verify import verify

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))
from bar_cases import recipes, triplets
from piles import many_kinds, scarce_pile, wet_pile

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job, OffcutPlan


NO_CLOCK = float("inf")
"""A budget that began so late is never ended by the clock: only what is counted counts."""


def plans(search: Search, seconds: float) -> Iterator[tuple[OffcutPlan, ...]]:
    """Yield every plan that is built in so many counted seconds from the simple plans of a search."""
    assert search.incumbent is not None
    budget = Budget(seconds=seconds, began=NO_CLOCK)
    return construct(search.pricer, search.problem, search.incumbent.columns, budget)


def built(job: Job, seconds: float) -> tuple[Search, list[tuple[OffcutPlan, ...]]]:
    """Return a search with its simple plans, and every plan that is built from there in so many counted seconds."""
    search = Search(job, Budget(seconds=600, began=NO_CLOCK), on_better=lambda search: None)
    search.begin()
    return search, list(plans(search, seconds))


@pytest.mark.parametrize("job", [many_kinds(31, 50, "fives"), scarce_pile(31), wet_pile(31, 20, 30, 6)])
def test_every_plan_is_right_and_holds_no_more_than_is_wanted(job: Job) -> None:
    """Each plan that is yielded passes the recheck, and no kind is cut more often than it is wanted."""
    _, plans = built(job, 0.7)
    assert plans
    for drawn in plans:
        assert verify(job, assemble(job, drawn)) == ()
        cut = Counter(blank.blank for piece in drawn for blank in piece.blanks)
        assert all(cut[blank.name] <= blank.need + blank.spare for blank in job.blanks)


def test_each_plan_is_better_than_the_one_before() -> None:
    """Plans come in order: fewer missing class by class, then cheaper; the first beats the simple plans."""
    job = many_kinds(32, 60, "singles")
    search, plans = built(job, 1.5)
    assert all(search.consider(drawn) for drawn in plans)


def test_many_kinds_cost_far_less_than_by_hand() -> None:
    """Straight clear boards, 60 kinds: nothing is missing, at nine tenths of what simple plans cost or less."""
    search, plans = built(many_kinds(33, 60, "fives"), 4)
    assert search.incumbent is not None
    before = search.incumbent.cost
    search.consider(plans[-1])
    assert not any(search.incumbent.missing)
    assert 10 * search.incumbent.cost <= 9 * before


def test_bars_are_filled_without_waste() -> None:
    """With three bars more than are needed, all pieces of 20 to 100 are made of the least number of bars."""
    case = list(recipes(34))[2].with_more()
    search = Search(case.job, Budget(seconds=600, began=NO_CLOCK), on_better=lambda search: None)
    search.begin()
    lengths = (
        sum(case.job.offcut(drawn.offcut).length for drawn in plan) // INCH for plan in plans(search, 60)
    )
    assert case.best in lengths


def test_equal_runs_yield_equal_plans() -> None:
    """Two runs of as many counted seconds yield the same drawings."""
    job = many_kinds(35, 50, "tens")
    assert built(job, 1)[1] == built(job, 1)[1]


def test_nothing_is_yielded_without_seconds() -> None:
    """A budget that is spent ends it at once."""
    assert built(many_kinds(36, 50, "tens"), 0)[1] == []


def test_spares_are_made_only_of_kinds_that_miss_nothing() -> None:
    """Where spares are wanted, the plans make them, and the recheck finds none of a kind that misses any."""
    job = many_kinds(37, 50, "tens")
    job = replace(job, blanks=tuple(replace(blank, spare=1) for blank in job.blanks))
    _, plans = built(job, 1)
    plan = assemble(job, plans[-1])
    assert verify(job, plan) == ()
    assert plan.spare_total > 0


def test_packing_finds_room_for_all() -> None:
    """Pieces that fill bars without waste are all laid, and no bar holds more than its room, long or short."""
    sizes = [*triplets(random.Random(5), 30).elements(), 300, 250]
    rooms = [1000] * 8 + [550] + [1000] * 2
    held = packed(sizes, rooms, Budget(seconds=60, began=NO_CLOCK))
    assert held is not None
    assert sorted(piece for row in held for piece in row) == list(range(32))
    assert [sum(sizes[piece] for piece in row) for row in held] == rooms


def test_packing_is_refused_where_there_is_no_room() -> None:
    """As much in all as the bars hold, but two pieces of 60 do not go on a bar of 100."""
    assert packed([60, 60, 60, 20], [100, 100], Budget(seconds=60, began=NO_CLOCK)) is None
