"""Smaller losses never make the best plan worse, on random tiny piles.

For every loss below a plan for the harsher shop, or the same with its pieces moved a little, is a plan for the milder
one, with keepers at least as large. So the best plan of the milder one misses no more, and with as few missing draws no
more; to the unit, for worth is rounded down piece by piece and each keeper is still there. Hence also, whatever is
proven: where both plans miss as few, no bound for the milder shop lies above what the plan for the harsher one draws.

Kerfs, snipe, end trim, length allowance, shortest machined length, keeper length
    Every piece may stay where it is. (A blank with its clear end at B is shortened at A.)
A defect that is not there, bow, crook, cup, twist
    The box of a billet grows at its far side, and a defect covers no more of it than before: all may stay where it is.
Skims
    The box grows by as much as a defect moves in it: all moves on by that much.
Allowances of width and thickness
    Every strip and stick shrinks at its far side. A keeper stick shrinks with its strip, so this holds without keepers
    only; and a smaller strip may go to the other saw, so it holds where both saws take the same.

In general it is not so where no saw reaches (a strip that just fills its box leaves a little of a larger one, and
cannot be ripped off), nor with billets split before jointing (a smaller bandsaw kerf leaves a wider half, which is
cupped more), nor for rough sizes at the narrowest rip. So these shops have saws and a jointer that take everything,
split nothing and rip as narrow as one likes.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest
from strategies import tiny_job, varied_job

from yieldplan.solve import Options, plan
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Job, Offcut, Plan

INCH = 8128
SEEDS = range(20)
"""Even ones are of the tiny piles, odd ones of the varied."""


def harsh_job(seed: int) -> Job:
    """Return a tiny pile in a shop with losses of every kind."""
    job = varied_job(seed) if seed % 2 else tiny_job(seed)
    shop = replace(
        job.shop,
        rip_kerf=INCH // 8,
        bandsaw_kerf=INCH // 8,
        crosscut_kerf=INCH // 4,
        snipe=INCH // 2,
        end_trim=INCH,
        length_allowance=INCH // 2,
        bandsaw_height=100 * INCH,
        jointer_width=100 * INCH,
        split_warp=100 * INCH,
        narrowest_rip=INCH // 8,
    )
    offcuts = tuple(
        replace(
            offcut,
            bow=INCH // 8,
            crook=INCH // 8,
            cup=INCH // 16,
            twist=INCH // 8,
            length=offcut.length + INCH,
        )
        for offcut in job.offcuts[:2]
    )
    return replace(job, shop=shop, offcuts=offcuts, blanks=job.blanks[:2])


def without_keepers(job: Job) -> Job:
    """Return the job for a shop where nothing is worth keeping."""
    return replace(job, shop=replace(job.shop, keeper_length=1000 * INCH))


def setting(name: str, steps: int) -> Callable[[Job], Job]:
    """Return what gives a setting of the shop another value."""
    return lambda job: replace(job, shop=replace(job.shop, **{name: steps}))  # type: ignore[arg-type]


def of_offcuts(change: Callable[[Offcut], Offcut]) -> Callable[[Job], Job]:
    """Return what changes every offcut."""
    return lambda job: replace(job, offcuts=tuple(map(change, job.offcuts)))


SMALLER: dict[str, Callable[[Job], Job]] = {
    "both kerfs of ripping": lambda job: setting("rip_kerf", INCH // 16)(
        setting("bandsaw_kerf", INCH // 16)(job)
    ),
    "crosscut kerf": setting("crosscut_kerf", INCH // 8),
    "face skim": setting("face_skim", 0),
    "edge skim": setting("edge_skim", 0),
    "length allowance": setting("length_allowance", INCH // 8),
    "snipe": setting("snipe", INCH // 8),
    "end trim": setting("end_trim", INCH // 4),
    "shortest machined length": setting("shortest_machined_length", 3 * INCH),
    "keeper length": setting("keeper_length", 8 * INCH),
    "bow": of_offcuts(lambda offcut: replace(offcut, bow=INCH // 32)),
    "crook": of_offcuts(lambda offcut: replace(offcut, crook=0)),
    "cup": of_offcuts(lambda offcut: replace(offcut, cup=0)),
    "twist": of_offcuts(lambda offcut: replace(offcut, twist=0)),
    "defects": of_offcuts(lambda offcut: replace(offcut, defects=offcut.defects[1:])),
}

ALLOWANCES: dict[str, Callable[[Job], Job]] = {
    "width allowance": setting("width_allowance", INCH // 16),
    "thickness allowance": setting("thickness_allowance", 0),
}


@cache
def planned(job: Job) -> Plan:
    """Return the plan, which passes the recheck."""
    found = plan(job, options=Options(seconds=5))
    assert verify(job, found) == ()
    return found


def compare(harsher: Job, milder: Job) -> bool:
    """Compare the plans for two shops; return whether both are proven."""
    before, after = planned(harsher).proof, planned(milder).proof
    if before.missing == after.missing:
        assert after.bound <= before.net_worth
    if before.proven and after.proven:
        assert (after.missing, after.net_worth) <= (before.missing, before.net_worth)
    return before.proven and after.proven


@pytest.mark.parametrize("loss", SMALLER)
def test_a_smaller_loss_is_never_worse(loss: str) -> None:
    """No more missing, and with as few missing no more drawn; most pairs are proven, so that this says something."""
    jobs = [harsh_job(seed) for seed in SEEDS]
    both = [compare(job, SMALLER[loss](job)) for job in jobs]
    assert sum(both) > len(both) // 2


@pytest.mark.parametrize("loss", ALLOWANCES)
def test_a_smaller_allowance_is_never_worse_without_keepers(loss: str) -> None:
    """The same of the allowances that make strips and sticks larger, in a shop that keeps nothing."""
    jobs = [without_keepers(harsh_job(seed)) for seed in SEEDS]
    both = [compare(job, ALLOWANCES[loss](job)) for job in jobs]
    assert sum(both) > len(both) // 2


def test_smaller_losses_do_make_plans_better() -> None:
    """Each of them betters some plan, so none of the comparisons is idle."""
    idle = []
    for loss, milden in (SMALLER | ALLOWANCES).items():
        jobs = [harsh_job(seed) for seed in SEEDS]
        if loss in ALLOWANCES:
            jobs = [without_keepers(job) for job in jobs]
        pairs = [(planned(job).proof, planned(milden(job)).proof) for job in jobs]
        if not any((b.missing, b.net_worth) < (a.missing, a.net_worth) for a, b in pairs):
            idle.append(loss)
    assert idle == []
