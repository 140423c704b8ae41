"""Billets split before jointing, against plain enumeration: tiny piles of wide, cupped and twisted boards.

Every place at which a billet may be split is enumerated; the shop draws lines at quarter inches, so there are few.
"""

from __future__ import annotations

from functools import cache

import pytest
from brute import Answer, brute_force, witness
from strategies import cupped_job

from yieldplan.model import Plan, SplitBillet
from yieldplan.solve import Options, plan
from yieldplan.verify import verify

SLOW = frozenset({4, 12, 13, 17, 18, 20, 21, 27})
"""Seeds whose enumeration takes long; they are left out."""

SEEDS = sorted(set(range(30)) - SLOW)
ROUNDING = 3
"""By how many units a plan may beat the enumeration."""

LOOSE = 0.03
"""By how much the enumeration may beat a plan that claims no proof: not every split is tried at every length."""


@cache
def compared(seed: int) -> tuple[Answer, Plan]:
    """Return the enumeration's answer and the tool's plan for a seed."""
    job = cupped_job(seed)
    return brute_force(job), plan(job, options=Options(seconds=5))


@pytest.mark.parametrize("seed", SEEDS)
def test_plan_is_as_good_as_the_enumeration(seed: int) -> None:
    """As few are missing, as little is drawn but for the rounding of worth, and no bound or proof says more."""
    answer, found = compared(seed)
    assert verify(cupped_job(seed), found) == ()
    assert found.proof.missing == answer.missing
    loose = 0 if found.proof.proven else ROUNDING + LOOSE * answer.net_worth
    assert -ROUNDING <= found.proof.net_worth - answer.net_worth <= loose
    assert found.proof.bound <= answer.net_worth
    assert not found.proof.proven or found.proof.net_worth <= answer.net_worth


@pytest.mark.parametrize("seed", [1074, 1764, 1809])
def test_the_best_of_what_can_be_cut_is_listed(seed: int) -> None:
    """Of cuttings that match, one at a split that only promises more once stood for the best one."""
    assert plan(cupped_job(seed), options=Options(seconds=5)).proof.net_worth == compared(seed)[0].net_worth


def test_a_split_billet_is_drawn_out_as_far_as_a_half_allows() -> None:
    """To a length at which the twist of the half, not that of the board, begins to cost another step."""
    found = plan(cupped_job(1304), options=Options(seconds=5))
    assert found.proof.net_worth == compared(1304)[0].net_worth
    (drawn,) = found.offcuts
    (segment,) = drawn.segments
    assert isinstance(segment, SplitBillet)
    assert segment.end - segment.start == 112221


@pytest.mark.parametrize("seed", SEEDS)
def test_the_enumeration_itself_passes_the_recheck(seed: int) -> None:
    """What the tool is held to can be done: the recheck splits billets by arithmetic of its own."""
    job = cupped_job(seed)
    assert verify(job, witness(job, compared(seed)[0])) == ()


def test_splits_are_among_them() -> None:
    """Most of these plans split a billet, so the two tests before mean something."""
    split = [
        any(isinstance(s, SplitBillet) for drawn in compared(seed)[1].offcuts for s in drawn.segments)
        for seed in SEEDS
    ]
    assert sum(split) > len(SEEDS) // 3
