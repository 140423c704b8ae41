"""Whole searches on tiny piles: what the enumeration finds, laws that hold between searches, and how they end."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from enumerated import SEEDS, SHORT, SPLIT, answered
from tiny_piles import tiny

from yieldplan.model import SPARES, Job, why_not
from yieldplan.model.planfile import dump_plan
from yieldplan.model.work import prices
from yieldplan.solve import Options, Progress, Solution, solve
from yieldplan.solve.assemble import assemble
from yieldplan.solve.simple import by_hand
from yieldplan.verify import verify

SECONDS = 10.0
"""Longest time for a plan; nearly all take a third of a second."""
NEAR = 0.001
"""The gap at which a cost counts as proven."""


@cache
def solved(seed: int) -> Solution:
    """Return what the solver finds for a seed."""
    return searched(tiny(seed))


def searched(
    job: Job, seconds: float = SECONDS, *, splits: bool = True, price: int | None = None
) -> Solution:
    """Return what the solver finds for a job."""
    return solve(job, options=Options(seconds=seconds, splits=splits, price=price))


def rank(solution: Solution) -> tuple[tuple[int, ...], int]:
    """Return what is compared: missing by class, then cost."""
    proof = solution.plan.proof
    return tuple(count for _, count in proof.missing), proof.cost


# -- the enumeration -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_a_tiny_pile_is_planned_as_well_as_the_enumeration_does(seed: int) -> None:
    """As few blanks are missing, class by class, at the same cost to the unit."""
    proof = solved(seed).plan.proof
    assert (proof.missing, proof.cost) == (answered(seed).missing, answered(seed).cost)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_said_to_be_proven_is_true(seed: int) -> None:
    """No bound lies above what can be done; a plan called proven is within a tenth of a per cent of the best."""
    answer, proof = answered(seed), solved(seed).plan.proof
    assert all(a <= b for (_, a), (_, b) in zip(proof.missing_at_least, answer.missing, strict=True))
    if proof.missing == answer.missing:
        assert proof.bound <= answer.cost
    if proof.proven:
        assert proof.missing == answer.missing
        assert (1 - NEAR) * proof.cost <= answer.cost


def test_tiny_piles_are_proven() -> None:
    """Nearly every one."""
    assert sum(solved(seed).plan.proof.proven for seed in SEEDS) >= 0.9 * len(SEEDS)


@pytest.mark.parametrize("seed", SEEDS)
def test_plans_keep_every_rule(seed: int) -> None:
    """The recheck finds no fault, neither with the cuts nor with what is claimed."""
    assert verify(tiny(seed), solved(seed).plan) == ()


# -- laws ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS[::3])
def test_more_stock_is_never_worse(seed: int) -> None:
    """With each offcut there twice, no more is missing; where as much is, the cost is no higher."""
    job = tiny(seed)
    more = replace(job, offcuts=tuple(replace(offcut, qty=offcut.qty + 1) for offcut in job.offcuts))
    assert rank(searched(more)) <= rank(solved(seed))


@pytest.mark.parametrize("seed", SEEDS[1::3])
def test_a_lower_need_never_misses_more_nor_costs_more(seed: int) -> None:
    """With one blank of each kind less wanted, no more is missing in all; where nothing was, the cost is no higher."""
    job = tiny(seed)
    less = replace(job, blanks=tuple(replace(blank, need=max(blank.need - 1, 1)) for blank in job.blanks))
    (missing, cost), (fewer, cheaper) = rank(solved(seed)), rank(searched(less))
    assert sum(fewer) <= sum(missing)
    if not any(missing):
        assert cheaper <= cost


@pytest.mark.parametrize("seed", SPLIT)
def test_to_allow_splits_is_never_worse(seed: int) -> None:
    """What is found without splits is found where they are allowed; without them no billet is split."""
    whole = searched(tiny(seed), splits=False)
    assert rank(searched(tiny(seed))) <= rank(whole)
    assert not any(hasattr(billet, "split") for drawn in whole.plan.offcuts for billet in drawn.billets)


def test_splits_decide_some_piles() -> None:
    """So the test before means something."""
    assert any(rank(searched(tiny(seed))) < rank(searched(tiny(seed), splits=False)) for seed in SPLIT)


@pytest.mark.parametrize("seed", SEEDS[2::4])
def test_more_seconds_are_never_worse(seed: int) -> None:
    """Ten seconds give no worse a plan than a twentieth of one, and no lower a bound where as much is missing."""
    short, long = searched(tiny(seed), 0.05), solved(seed)
    assert rank(long) <= rank(short)
    if short.plan.proof.missing == long.plan.proof.missing:
        assert long.plan.proof.bound >= short.plan.proof.bound


@pytest.mark.parametrize("seed", SEEDS[::4])
def test_no_plan_is_worse_than_by_hand(seed: int) -> None:
    """Not even where the seconds are next to none."""
    job = tiny(seed)
    plan = assemble(job, by_hand(job))
    assert rank(searched(job, 1e-6)) <= (tuple(count for _, count in plan.proof.missing), plan.proof.cost)


@pytest.mark.parametrize("seed", SEEDS[3::4])
def test_another_price_of_work_is_what_the_cost_is_counted_at(seed: int) -> None:
    """At the price asked for no plan costs less than the one found at it: the shop's own does not."""
    job = tiny(seed)
    for price in (100, 6000):
        own, other = solved(seed).plan, searched(job, price=price).plan
        at_price = own.proof.net_worth + prices(job.shop, price).of(own.work)
        assert (other.proof.missing, other.price) == (own.proof.missing, price)
        assert other.proof.cost <= at_price


# -- the same again --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS[::5])
def test_equal_runs_give_equal_bytes(seed: int) -> None:
    """The plan file of a second search in the same process is the same to the byte."""
    assert dump_plan(searched(tiny(seed)).plan) == dump_plan(solved(seed).plan)


def test_equal_runs_in_another_process_give_equal_bytes() -> None:
    """Nor does it matter how strings are hashed there, or how often it has been searched before."""
    seeds = SEEDS[1::5]
    program = (
        "import sys; from tiny_piles import tiny; from yieldplan.model.planfile import dump_plan\n"
        "from yieldplan.solve import Options, solve\n"
        f"for seed in {seeds!r}:\n"
        f"    plan = solve(tiny(seed), options=Options(seconds={SECONDS})).plan\n"
        "    sys.stdout.buffer.write(dump_plan(plan))\n"
    )
    root = Path(__file__).resolve().parents[2]
    given = b"".join(dump_plan(solved(seed).plan) for seed in seeds)
    done = subprocess.run(
        [sys.executable, "-c", program],
        env={
            **os.environ,
            "PYTHONHASHSEED": "2026",
            "PYTHONPATH": os.pathsep.join([str(root), str(root / "tests")]),
        },
        capture_output=True,
        check=True,
        timeout=300,
    )
    assert done.stdout == given


# -- what comes first ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SHORT)
def test_spares_come_after_all_needs(seed: int) -> None:
    """Asking for spares as well takes no needed blank away, and a kind that misses any has no spare."""
    job = tiny(seed)
    plain = replace(job, blanks=tuple(replace(blank, spare=0) for blank in job.blanks))
    greedy = replace(job, blanks=tuple(replace(blank, spare=2) for blank in job.blanks))
    with_spares, without = searched(greedy).plan, searched(plain).plan
    assert [m for m in with_spares.proof.missing if m[0] != SPARES] == [
        m for m in without.proof.missing if m[0] != SPARES
    ]
    missing = dict(with_spares.missing)
    assert not any(count and missing[name] for name, count in with_spares.spare)


@pytest.mark.parametrize("seed", SHORT)
def test_the_first_priority_comes_first(seed: int) -> None:
    """What a kind misses as the only one of the first priority is what it misses alone."""
    job = tiny(seed)
    for first in job.blanks:
        alone = replace(job, blanks=(replace(first, priority=1, spare=0),))
        ranked = tuple(replace(b, priority=1 if b is first else 2, spare=0) for b in job.blanks)
        all_of_them = searched(replace(job, blanks=ranked)).plan
        assert all_of_them.proof.missing[0] == searched(alone).plan.proof.missing[0]


# -- nothing vanishes ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_every_blank_is_accounted_for(seed: int) -> None:
    """Of each kind what is made and what is missing is what was wanted; no more spares than asked for."""
    plan = solved(seed).plan
    made, missing, spare = dict(plan.made), dict(plan.missing), dict(plan.spare)
    for blank in tiny(seed).blanks:
        drawn = [cut for piece in plan.offcuts for cut in piece.blanks if cut.blank == blank.name]
        assert made[blank.name] + missing[blank.name] == blank.need
        assert sum(not cut.spare for cut in drawn) == made[blank.name]
        assert sum(cut.spare for cut in drawn) == spare[blank.name] <= blank.spare


@pytest.mark.parametrize("seed", SEEDS)
def test_every_offcut_is_used_left_or_refused(seed: int) -> None:
    """No copy is drawn twice, and none that could give no blank; while some are missing, the rest could not help."""
    job, plan = tiny(seed), solved(seed).plan
    drawn = [(piece.offcut, piece.copy) for piece in plan.offcuts]
    assert len(set(drawn)) == len(drawn)
    for offcut in job.offcuts:
        used = [copy for name, copy in drawn if name == offcut.name]
        assert set(used) <= set(range(1, offcut.qty + 1))
        left = offcut.qty - len(used)
        short = [blank for blank in job.blanks if dict(plan.missing)[blank.name]]
        could = [blank for blank in job.blanks if why_not(offcut, blank, job.shop) is None]
        assert could or not used
        assert not left or not any(blank in could for blank in short)


# -- how it ends -----------------------------------------------------------------------------------------------------


def test_a_proven_search_says_so() -> None:
    """It ends because it is proven, and the plan's own proof says the same."""
    for seed in SEEDS[:12]:
        solution = solved(seed)
        assert (solution.ended == "it is proven") == solution.plan.proof.proven


def large() -> Job:
    """Return a job that takes longer than a moment: a tiny pile many times over, each time a mark longer."""
    job: Job = tiny(SEEDS[0])
    offcuts = tuple(
        replace(offcut, name=f"{offcut.name}-{n}", length=offcut.length + n * job.shop.mark, qty=2)
        for offcut in job.offcuts
        for n in range(8)
    )
    blanks = tuple(
        replace(blank, name=f"{blank.name}-{n}", length=blank.length + n * job.shop.mark, need=7)
        for blank in job.blanks
        for n in range(6)
    )
    return replace(job, offcuts=offcuts, blanks=blanks)


def test_a_search_without_time_says_that_the_seconds_are_spent() -> None:
    """A plan is there all the same."""
    solution = searched(large(), 0.01)
    assert solution.ended == "the time is up"
    assert solution.plan.offcuts


def test_a_search_that_is_stopped_returns_what_it_has() -> None:
    """Once it is told to stop it ends, says so, and the plan keeps every rule."""
    solution = solve(large(), options=Options(seconds=60), stopped=lambda: True)
    assert solution.ended == "it was stopped"
    assert solution.plan.offcuts
    assert verify(large(), solution.plan) == ()


def test_each_step_that_is_told_of_is_better_than_the_last() -> None:
    """Fewer missing, or as many at less cost; the last is the plan that is returned."""
    told: list[Progress] = []
    job = large()
    solution = solve(job, options=Options(seconds=0.3), on_event=told.append)
    assert told
    missing = [event.missing for event in told]
    assert missing == sorted(missing, reverse=True)
    last = told[-1]
    assert (last.missing, last.used) == (solution.plan.missing_total, solution.plan.account.used)


@pytest.mark.parametrize("asked", [{"seconds": 0}, {"seconds": -1.0}, {"price": -1}])
def test_options_say_what_they_expect(asked: dict[str, int]) -> None:
    """No seconds, and a price below 0, are refused."""
    with pytest.raises(ValueError, match=r"must be (more than 0|0 or more), not"):
        Options(**asked)  # type: ignore[arg-type]


def test_a_pile_that_gives_nothing_misses_everything_and_is_proven() -> None:
    """No offcut is long enough for any blank: nothing is drawn, and that is known to be all that can be done."""
    job = tiny(SEEDS[0])
    longest = max(offcut.length for offcut in job.offcuts)
    job = replace(job, blanks=tuple(replace(blank, length=2 * longest) for blank in job.blanks))
    solution = searched(job)
    assert solution.plan.offcuts == ()
    assert solution.plan.missing_total == sum(blank.need for blank in job.blanks)
    assert (solution.ended, solution.plan.proof.proven) == ("it is proven", True)


def test_a_class_of_which_nothing_is_needed_any_more_is_planned_around() -> None:
    """A blank of a priority of its own, with need 0, is missing none; the others are planned as without it."""
    job = tiny(SEEDS[0])
    done = replace(job.blanks[0], name="made already", need=0, spare=0, priority=7)
    more = searched(replace(job, blanks=(*job.blanks, done))).plan
    assert dict(more.proof.missing)["7"] == 0
    assert more.proof.cost == solved(SEEDS[0]).plan.proof.cost
    assert verify(replace(job, blanks=(*job.blanks, done)), more) == ()
