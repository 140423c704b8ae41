"""Tiny piles against plain enumeration.

The enumeration (:mod:`brute`) is written from the rules alone: every cutting of the normal form, at every mark across.
What the solver says of a tiny pile is exact: as few missing, no unit dearer, and no bound above what can be done.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import pytest
from brute import Answer, best
from tiny_piles import FLAVOURS, tiny

from yieldplan.solve import Options, solve
from yieldplan.solve.assemble import assemble
from yieldplan.verify import verify

if TYPE_CHECKING:
    from yieldplan.model import Plan

SLOW = frozenset({14, 17, 18, 33, 34, 44})
"""Seeds whose enumeration takes more than a second; they are left out."""

SEEDS = sorted(set(range(3 * len(FLAVOURS))) - SLOW)
SECONDS = 20.0
"""Longest time for a plan; nearly all take a tenth of a second."""


class Compared(NamedTuple):
    """The enumeration's answer and the tool's plan for one tiny pile."""

    answer: Answer
    plan: Plan


@cache
def answered(seed: int) -> Answer:
    """Return the enumeration's answer for a seed; each is worked out once for all tests."""
    return best(tiny(seed))


@cache
def compared(seed: int) -> Compared:
    """Return both answers for a seed."""
    return Compared(answered(seed), solve(tiny(seed), options=Options(seconds=SECONDS)).plan)


@pytest.mark.parametrize("seed", SEEDS)
def test_fewest_blanks_are_missing(seed: int) -> None:
    """Aim 1: the plan misses as few as the enumeration, class after class, spares last."""
    both = compared(seed)
    assert both.plan.proof.missing == both.answer.missing


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_costs_more_than_it_must(seed: int) -> None:
    """Aim 2: with as few missing, the plan costs not a unit more than the enumeration's."""
    both = compared(seed)
    assert both.plan.proof.cost <= both.answer.cost


@pytest.mark.parametrize("seed", SEEDS)
def test_no_bound_lies_above_what_can_be_done(seed: int) -> None:
    """Both bounds hold: fewest missing, class by class, and least cost where no more are missing."""
    answer, proof = compared(seed).answer, compared(seed).plan.proof
    assert [count for _, count in proof.missing_at_least] <= [count for _, count in answer.missing]
    assert proof.missing != answer.missing or proof.bound <= answer.cost


def test_tiny_piles_are_proven() -> None:
    """The bounds are no mere limits: of these piles nearly every plan is called proven."""
    proven = sum(compared(seed).plan.proof.proven for seed in SEEDS)
    assert proven >= 0.95 * len(SEEDS)


@pytest.mark.parametrize("seed", SEEDS)
def test_plans_of_tiny_piles_pass_the_recheck(seed: int) -> None:
    """Whatever the flavour of the pile, the plan keeps every rule and its claims hold."""
    assert verify(tiny(seed), compared(seed).plan) == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_the_enumeration_itself_passes_the_recheck(seed: int) -> None:
    """What the tool is held to can be done: the enumeration's cuttings keep every rule and cost what it says."""
    job, answer = tiny(seed), answered(seed)
    plan = assemble(job, answer.drawn)
    assert verify(job, plan) == ()
    assert (plan.proof.missing, plan.proof.cost) == (answer.missing, answer.cost)


@pytest.mark.parametrize("seed", SEEDS[::4])
def test_the_normal_form_loses_next_to_nothing(seed: int) -> None:
    """With billets at every mark no fewer blanks are missing, and the cost is at most three per cent less."""
    answer, anywhere = answered(seed), best(tiny(seed), "every")
    assert anywhere.missing == answer.missing
    assert 0.97 * answer.cost <= anywhere.cost <= answer.cost


def test_every_flavour_gives_something() -> None:
    """Of each flavour some pile here gives a plan with blanks, so the tests before mean something."""
    given = {tiny(seed).name for seed in SEEDS if answered(seed).drawn}
    assert given == set(FLAVOURS)
