"""Plans like an older one: what they keep, what that costs, and that their claims stay honest."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest
from piles import pile
from strategies import small_job

from yieldplan.model.recut import cards_that_hold
from yieldplan.planning import still_right
from yieldplan.solve import Options, solve
from yieldplan.solve.alike import still_wanted
from yieldplan.verify import verify

if TYPE_CHECKING:
    from yieldplan.model import Job, OffcutPlan, Plan

SECONDS = Options(seconds=1)


@cache
def planned(seed: int) -> tuple[Job, Plan]:
    """Return a random job of 40 boards and 16 blanks, and a plan of it."""
    job = pile(seed, 40, 16, 4)
    return job, solve(job, options=SECONDS).plan


def without(job: Job, drawn: OffcutPlan) -> Job:
    """Return a job without one piece that is cut up."""
    left = (replace(one, qty=one.qty - (one.name == drawn.offcut)) for one in job.offcuts)
    return replace(job, offcuts=tuple(one for one in left if one.qty))


def lost_a_board(seed: int) -> tuple[Job, tuple[OffcutPlan, ...]]:
    """Return the job after one drawn board was spoiled, and the cuttings of the others."""
    job, plan = planned(seed)
    lost = random.Random(seed).choice(plan.offcuts)
    after = without(job, lost)
    return after, still_right(after, replace(plan, offcuts=tuple(d for d in plan.offcuts if d is not lost)))


def test_most_cards_hold_when_one_board_is_lost() -> None:
    """On random piles nine tenths of the untouched boards are cut as before, and every plan passes the recheck."""
    untouched = kept = 0
    for seed in (3, 9):
        job, old = lost_a_board(seed)
        found = solve(job, options=SECONDS, like=old).plan
        assert verify(job, found) == ()
        assert found.missing_total == 0
        untouched += len(old)
        kept += len(cards_that_hold(old, found.offcuts))
    assert 10 * kept >= 9 * untouched > 0


def test_the_same_job_keeps_every_card() -> None:
    """Nothing has changed, so nothing is cut anew, unless the search finds a plan that is a hundredth cheaper."""
    job, plan = planned(3)
    found = solve(job, options=SECONDS, like=plan.offcuts).plan
    assert found.proof.cost <= plan.proof.cost
    if 100 * found.proof.cost > 99 * plan.proof.cost:
        assert cards_that_hold(plan.offcuts, found.offcuts) == found.offcuts


@pytest.mark.parametrize("seed", [0, 7])
def test_likeness_costs_a_hundredth_at_most(seed: int) -> None:
    """On piles that are answered exactly: never more missing, never dearer than that, and the bound is the same."""
    job = small_job(seed)
    plan = solve(job, options=Options(seconds=1.5)).plan
    after = without(job, plan.offcuts[0])
    best = solve(after, options=Options(seconds=1.5)).plan.proof
    found = solve(after, options=Options(seconds=1.5), like=still_right(after, plan)).plan.proof
    assert found.missing == best.missing
    assert found.bound <= best.cost
    assert 100 * found.cost <= 101 * best.cost
    assert found.cost >= found.bound


def test_cuttings_that_nobody_wants_any_more_are_dropped() -> None:
    """A board that is gone, and one that holds more of a kind than is wanted now."""
    job, plan = planned(3)
    assert len(still_wanted(job, plan.offcuts)) == len(plan.offcuts)
    first = plan.offcuts[0]
    assert len(still_wanted(without(job, first), plan.offcuts)) == len(plan.offcuts) - 1
    held = {cut.blank for cut in first.blanks}
    sated = replace(job, blanks=tuple(replace(b, need=0 if b.name in held else b.need) for b in job.blanks))
    kept = still_wanted(sated, plan.offcuts)
    assert not any(cut.blank in held for drawn in kept for cut in drawn.blanks)


def test_cuttings_that_break_a_rule_now_are_not_right_any_more() -> None:
    """A board that was measured shorter, a blank that is longer, another mark: each by itself."""
    job, plan = planned(3)
    assert still_right(job, plan) == plan.offcuts
    first = plan.offcuts[0]
    shorter = tuple(
        replace(one, length=one.length // 2 // job.shop.mark * job.shop.mark)
        if one.name == first.offcut
        else one
        for one in job.offcuts
    )
    assert still_right(replace(job, offcuts=shorter), plan) == plan.offcuts[1:]
    kind = next(first.blanks).blank
    longer = tuple(replace(b, length=b.length + job.shop.mark) if b.name == kind else b for b in job.blanks)
    kept = still_right(replace(job, blanks=longer), plan)
    assert kept == tuple(one for one in plan.offcuts if all(cut.blank != kind for cut in one.blanks))
    assert still_right(job, replace(plan, mark=2 * plan.mark)) == ()


def test_copies_keep_the_number_of_their_card() -> None:
    """Of two like boards the second, cut as before, is the second still."""
    job, plan = planned(3)
    one = plan.offcuts[0]
    twice = tuple(replace(o, qty=2) if o.name == one.offcut else o for o in job.offcuts)
    found = solve(replace(job, offcuts=twice), options=SECONDS, like=(replace(one, copy=2),)).plan
    if one.billets in [drawn.billets for drawn in found.offcuts if drawn.offcut == one.offcut]:
        assert (2, one.billets) in [(d.copy, d.billets) for d in found.offcuts if d.offcut == one.offcut]
