"""Kinds made in pairs: plans against the enumeration, what more minutes do, and what a plan without pairs is spared."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from brute import Answer, best
from hypothesis import given
from hypothesis import strategies as st
from tiny_piles import tiny

from yieldplan.model import Blank, Job, Offcut, Plan, Shop
from yieldplan.model.planfile import dump_plan, load_plan
from yieldplan.model.work import prices
from yieldplan.solve import Options, solve
from yieldplan.solve.assemble import without_surplus
from yieldplan.solve.pairs import most_made
from yieldplan.verify import verify

INCH = 8128
SEEDS = (9207, 9216, 9225, 9227, 9243, 9250, 9254, 9308, 9315, 9322, 9327, 9353)
"""Piles that the enumeration answers in a second, and that are proven without pairs."""


def paired(seed: int) -> Job:
    """Return a tiny pile of one or two species in which some kinds are in pairs."""
    job, pick = tiny(seed), random.Random(f"pairs {seed}").choice
    woods = pick((("oak",), ("oak", "ash")))
    return replace(
        job,
        blanks=tuple(
            replace(blank, pairs=pick((True, True, False)), spare=blank.spare or pick((0, 0, 1)))
            for blank in job.blanks
        ),
        offcuts=tuple(
            one if one.species else replace(one, species=pick((*woods, woods[0].upper())))
            for one in job.offcuts
        ),
        shop=replace(job.shop, pair_from_one_board=pick((0, 100, 500, 2000))),
    )


@cache
def solved(seed: int) -> Plan:
    """Return the plan that the solver finds."""
    return solve(paired(seed), options=Options(seconds=5)).plan


@cache
def answered(seed: int) -> Answer:
    """Return what the enumeration finds."""
    return best(paired(seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_tiny_pile_is_planned_as_well_as_the_enumeration_does(seed: int) -> None:
    """As few are missing, at the same cost; no bound is above it, and the recheck finds no fault."""
    proof, answer = solved(seed).proof, answered(seed)
    assert (proof.missing, proof.cost) == (answer.missing, answer.cost)
    assert proof.bound <= answer.cost
    assert all(a <= b for (_, a), (_, b) in zip(proof.missing_at_least, answer.missing, strict=True))
    assert verify(paired(seed), solved(seed)) == ()


def frames(*boards: tuple[str, int], need: int = 4, worth: int = 500, spare: int = 0) -> Job:
    """Return a pile of boards that give so many frames each, side by side, and frames in pairs."""
    wide = [2 * INCH + (many - 1) * (2 * INCH + INCH // 8) for _, many in boards]
    return Job(
        offcuts=tuple(
            Offcut(
                name=f"P{number}",
                length=26 * INCH,
                width=width + INCH // 2,
                thickness=7 * INCH // 4,
                species=species,
            )
            for number, ((species, _), width) in enumerate(zip(boards, wide, strict=True))
        ),
        blanks=(
            Blank(
                name="Frame",
                need=need,
                spare=spare,
                pairs=True,
                length=20 * INCH,
                width=15 * INCH // 8,
                thickness=21 * INCH // 16,
            ),
        ),
        shop=Shop(jointer_width=20 * INCH, width_allowance=INCH // 8, pair_from_one_board=worth),
        sha256="0" * 64,
    )


def planned(job: Job) -> Plan:
    """Return a plan that passes the recheck."""
    plan = solve(job, options=Options(seconds=5)).plan
    assert verify(job, plan) == ()
    return plan


def made_of(job: Job, plan: Plan) -> dict[str, int]:
    """Return how many blanks are made of each species."""
    return dict(Counter(job.offcut(drawn.offcut).species for drawn in plan.offcuts for _ in drawn.blanks))


def test_a_pair_is_of_one_species() -> None:
    """Of three oak frames and three of ash four make pairs, though six could be made."""
    job = frames(("oak", 3), ("ash", 3), need=6)
    assert made_of(job, planned(job)) == {"oak": 2, "ash": 2}
    alone = replace(job, blanks=(replace(job.blanks[0], pairs=False),))
    assert made_of(alone, planned(alone)) == {"oak": 3, "ash": 3}


def test_one_may_stand_alone_where_the_need_is_odd() -> None:
    """Of five frames one has no like."""
    job = frames(("oak", 3), ("ash", 3), need=5)
    assert sum(made_of(job, planned(job)).values()) == 5


def test_a_spare_may_stand_alone() -> None:
    """It takes the place of either of a pair."""
    job = frames(("oak", 5), need=4, spare=1)
    assert made_of(job, planned(job)) == {"oak": 5}


def test_a_pair_of_two_boards_costs_what_one_of_one_board_is_worth() -> None:
    """Two boards that give one frame each: at the price of 5 minutes, and no minute more of work."""
    cheap, dear = (planned(frames(("oak", 1), ("oak", 1), need=2, worth=worth)) for worth in (0, 500))
    assert dear.work.odd_boards == 2
    assert dear.proof.cost - cheap.proof.cost == 500
    assert dear.work.hundredths == cheap.work.hundredths


def test_half_a_price_is_rounded_up_once() -> None:
    """Half of 0.01 minutes at 7 minutes a board foot is more than nothing."""
    assert prices(Shop(pair_from_one_board=1, minutes_for_a_board_foot=700)).odd_board == 1
    assert prices(Shop(pair_from_one_board=500), at=0).odd_board == 0


@pytest.mark.parametrize("seed", [9216, 9225, 9250, 9254])
def test_more_minutes_for_pairs_never_give_more_odd_boards(seed: int) -> None:
    """Among plans that are proven, to the unit."""
    counts = []
    for worth in (0, 300, 3000):
        job = paired(seed)
        job = replace(job, shop=replace(job.shop, pair_from_one_board=worth))
        plan = solve(job, options=Options(seconds=5)).plan
        if plan.proof.bound == plan.proof.cost:
            counts.append(plan.work.odd_boards)
    assert len(counts) > 1
    assert counts == sorted(counts, reverse=True)


def test_the_setting_changes_no_plan_without_pairs() -> None:
    """Not a byte of it."""
    job = tiny(9000)
    other = replace(job, shop=replace(job.shop, pair_from_one_board=60000))
    one, two = (dump_plan(solve(each, options=Options(seconds=5)).plan) for each in (job, other))
    assert one == two
    assert b"odd_boards" not in one


def test_odd_boards_are_written_and_read() -> None:
    """The plan file has them in its work."""
    plan = planned(frames(("oak", 1), ("oak", 1), need=2))
    assert load_plan(dump_plan(plan)) == plan


def test_what_has_no_like_is_left_out() -> None:
    """Of an odd number of a species one goes, and a board with nothing else on it goes altogether."""
    job = frames(("oak", 2), ("oak", 1), ("ash", 2), need=6)
    loose = replace(job, blanks=(replace(job.blanks[0], pairs=False, need=5),))
    drawn = planned(loose).offcuts
    assert made_of(job, replace(planned(loose), offcuts=without_surplus(job, drawn))) == {"oak": 2, "ash": 2}


@given(st.lists(st.integers(0, 7), max_size=4), st.integers(0, 9), st.integers(0, 3))
def test_as_many_are_made_as_can_be(held: list[int], need: int, spare: int) -> None:
    """Never more than is held or wanted; the most that the rule allows, by trying all."""
    blank = replace(frames(("oak", 1)).blanks[0], need=need, spare=spare)
    made = most_made(held, blank)
    may = need % 2 or spare % 2
    assert all(one <= many for one, many in zip(made, held, strict=True))
    assert sum(one % 2 for one in made) <= may
    tries: list[tuple[int, int]] = [(0, 0)]
    for many in held:
        tries = [(total + n, odd + n % 2) for total, odd in tries for n in range(many + 1)]
    assert sum(made) == max(total for total, odd in tries if total <= need + spare and odd <= may)


def test_the_recheck_finds_what_has_no_like() -> None:
    """It names kind, species and counts, and counts what odd boards cost by itself."""
    job = frames(("oak", 3), ("ash", 3), need=6)
    plan = planned(replace(job, blanks=(replace(job.blanks[0], pairs=False),)))
    found = {breach.rule: breach.message for breach in verify(job, plan)}
    assert set(found) == {"R10", "work", "proof"}
    assert "3 of oak, 3 of ash are cut, none may stand alone" in found["R10"]
    assert "odd boards are said to be 0; they come to 2" in found["work"]
    one_fewer = replace(job, blanks=(replace(job.blanks[0], need=5),))
    plan = planned(one_fewer)
    assert sum(made_of(job, plan).values()) == 5
