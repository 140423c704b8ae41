"""Laws of the wood itself, on random tiny piles: against plain enumeration, and against turning and wetting them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from brute import best
from strategies import wood_job

from yieldplan.solve import Options, solve
from yieldplan.verify import verify

if TYPE_CHECKING:
    from yieldplan.model import Defect, Job, Offcut, Plan

COMPARED = (
    *(4, 5, 11, 12, 13, 16, 17, 18, 20, 23, 24, 25, 26, 30, 33, 34, 40, 41, 42, 44, 48, 50, 52, 53, 58, 59),
    *(60, 61),
)
"""Seeds at which blanks are made and that are enumerated within a second."""


def planned(job: Job) -> Plan:
    """Return the plan, which passes the recheck."""
    found = solve(job, options=Options(seconds=10)).plan
    assert verify(job, found) == ()
    return found


@pytest.mark.parametrize("seed", COMPARED)
def test_plans_are_as_good_as_the_enumeration(seed: int) -> None:
    """Rings across the width, moisture, slope, kinks: as few missing, as little cost, no bound too high."""
    job = wood_job(seed)
    found, answer = planned(job), best(job)
    assert found.proof.missing == answer.missing
    assert found.proof.cost == answer.cost
    assert found.proof.bound <= answer.cost
    assert all(
        least <= count
        for (_, least), (_, count) in zip(found.proof.missing_at_least, answer.missing, strict=True)
    )


def end_for_end(offcut: Offcut) -> Offcut:
    """Return a piece measured from end B instead of end A, with all its defects through the thickness."""

    def turned(defect: Defect) -> Defect:
        return replace(defect, x1=offcut.length - defect.x2, x2=offcut.length - defect.x1)

    return replace(
        offcut,
        defects=tuple(map(turned, offcut.defects)),
        kinks=tuple(sorted(offcut.length - kink for kink in offcut.kinks)),
    )


def with_through_defects(job: Job) -> Job:
    """Return a job whose defects all go through: those look the same from either face."""
    return replace(
        job,
        offcuts=tuple(
            replace(
                offcut,
                defects=tuple(
                    replace(defect, z1=0, z2=offcut.thickness, through=True) for defect in offcut.defects
                ),
            )
            for offcut in job.offcuts
        ),
    )


@pytest.mark.parametrize("seed", [4, 11, 18, 30, 52, 60])
def test_it_does_not_matter_which_end_is_called_a(seed: int) -> None:
    """Turned end for end about its edge 1 every piece gives what it gave, at the same cost."""
    job = with_through_defects(wood_job(seed))
    mirrored = replace(job, offcuts=tuple(map(end_for_end, job.offcuts)))
    one, other = planned(job), planned(mirrored)
    assert one.proof.missing == other.proof.missing
    assert one.proof.cost == other.proof.cost


@pytest.mark.parametrize("seed", [4, 11, 20, 24, 30])
def test_wetter_wood_never_makes_more_blanks(seed: int) -> None:
    """From the target on upwards, the missing blanks never grow fewer, first priority first."""
    job = wood_job(seed)
    job = replace(job, shop=replace(job.shop, target_moisture=Fraction(12)))
    before: tuple[int, ...] = ()
    for moisture in (8, 14, Fraction("14.1"), 19, 60):
        wet = tuple(replace(offcut, moisture=Fraction(moisture)) for offcut in job.offcuts)
        missing = tuple(count for _, count in planned(replace(job, offcuts=wet)).proof.missing)
        assert missing >= before
        before = missing
