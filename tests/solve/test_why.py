"""What was tried on an offcut: its alternatives, and what a plan with them draws at least."""

from __future__ import annotations

import pytest
from strategies import small_job

from yieldplan.model import Blank, Job, Offcut
from yieldplan.model.shop import INCH
from yieldplan.solve import Options, searched, tried
from yieldplan.verify import verify

RIB = Blank(name="Rib", need=2, length=14 * INCH, width=2 * INCH, thickness=INCH)
GOOD = Offcut(name="Good", length=20 * INCH, width=6 * INCH, thickness=2 * INCH)
LONG = Offcut(name="Long", length=60 * INCH, width=7 * INCH, thickness=2 * INCH)
THIN = Offcut(name="Thin", length=60 * INCH, width=6 * INCH, thickness=INCH)
JOB = Job(offcuts=(GOOD, LONG, THIN), blanks=(RIB,))


def test_the_cutting_in_the_plan_is_marked_and_draws_what_the_plan_draws() -> None:
    """Both ribs come out of the short piece; with that cutting the batch draws no more than planned."""
    plan, search = searched(JOB, options=Options(seconds=5))
    assert [drawn.offcut for drawn in plan.offcuts] == ["Good"]
    found = tried(search, "Good")
    ((chosen, count),) = found.chosen
    assert (chosen.blanks, count) == ((("Rib", 2),), 1)
    assert chosen.draws == found.net_worth == plan.proof.net_worth


def test_an_offcut_left_alone_would_have_cost_more() -> None:
    """A plan that cuts the long piece draws at least as much as the search found for it."""
    _, search = searched(JOB, options=Options(seconds=5))
    found = tried(search, "Long")
    assert found.chosen == ()
    alone, _ = searched(Job(offcuts=(LONG,), blanks=(RIB,)), options=Options(seconds=5))
    for one in found.best:
        assert one.least is not None
        assert found.net_worth <= one.least <= max(alone.proof.net_worth, one.draws)


def test_an_offcut_that_gives_nothing_was_not_tried() -> None:
    """Too thin for any blank: no section, no billet, no cutting."""
    _, search = searched(JOB, options=Options(seconds=5))
    found = tried(search, "Thin")
    assert (found.sections, found.billets, found.cuttings, found.best) == (0, 0, 0, ())


@pytest.mark.parametrize("seed", range(6))
def test_no_plan_with_a_cutting_draws_less_than_is_said(seed: int) -> None:
    """The cutting that the plan itself uses is one with which a plan draws the plan's net worth."""
    job = small_job(seed)
    plan, search = searched(job, options=Options(seconds=5))
    assert verify(job, plan) == ()
    for drawn in plan.offcuts:
        for one, _ in tried(search, drawn.offcut).chosen:
            assert one.least is None or one.least <= plan.proof.net_worth
