"""Billets split before jointing, against plain enumeration: tiny piles of wide, cupped and twisted boards.

Every mark at which a billet may be split is enumerated.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from brute import Answer, best
from tiny_piles import FLAVOURS, tiny

from yieldplan.model import Job, Plan, SplitBillet
from yieldplan.solve import Options, solve
from yieldplan.verify import verify

CUPPED = list(FLAVOURS).index("cupped")
SEEDS = range(CUPPED, 24 * len(FLAVOURS), len(FLAVOURS))
FAR = 8128 * 100
"""A warp that no board has: with it nothing is split but for its width."""


@cache
def compared(seed: int) -> tuple[Answer, Plan]:
    """Return the enumeration's answer and the tool's plan for a seed."""
    job = tiny(seed)
    return best(job), solve(job, options=Options(seconds=20)).plan


def unsplit(job: Job) -> Job:
    """Return the same pile in a shop that splits nothing for its warp."""
    return replace(job, shop=replace(job.shop, split_warp=FAR))


def is_split(answer: Answer) -> bool:
    """Return whether a best plan splits a billet."""
    return any(isinstance(billet, SplitBillet) for drawn in answer.drawn for billet in drawn.billets)


@pytest.mark.parametrize("seed", SEEDS)
def test_plan_is_as_good_as_the_enumeration(seed: int) -> None:
    """As few are missing, it costs not a unit more, and no bound says more; the recheck agrees."""
    answer, found = compared(seed)
    assert verify(tiny(seed), found) == ()
    assert found.proof.missing == answer.missing
    assert found.proof.bound <= answer.cost
    assert found.proof.cost <= answer.cost


@pytest.mark.parametrize("seed", [seed for seed in SEEDS if seed % 3 == 0])
def test_leave_to_split_never_makes_it_worse(seed: int) -> None:
    """A shop that may split misses no more blanks than one that may not, and costs no more where as few are missing."""
    proof = compared(seed)[1].proof
    without = solve(unsplit(tiny(seed)), options=Options(seconds=20)).plan.proof
    assert (proof.missing, proof.cost) <= (without.missing, without.cost)


def test_splits_are_among_them() -> None:
    """A third of these best plans split a billet, so the tests before mean something."""
    assert sum(is_split(compared(seed)[0]) for seed in SEEDS) >= len(SEEDS) // 3
