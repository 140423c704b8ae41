"""The order as data: stages in working order, settings once, pieces in one order, names that are unique."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from itertools import pairwise

import pytest
from random_plans import nothing_made, random_plan
from tiny import tiny_job, tiny_plan

from yieldplan.model import Billet, dump_plan
from yieldplan.model.shop import INCH, MM
from yieldplan.order import cutting_order
from yieldplan.order.data import Flag, Order, Stage

SEEDS = range(40)
STAGES = tuple(Stage)


@pytest.mark.parametrize("seed", SEEDS)
def test_stages_come_in_working_order_and_settings_fall(seed: int) -> None:
    """Sheets follow the work; within a stage a machine's settings fall, so each is made once."""
    sheets = cutting_order(*random_plan(seed)).sheets
    assert [STAGES.index(sheet.stage) for sheet in sheets] == sorted(STAGES.index(s.stage) for s in sheets)
    for before, after in pairwise(sheets):
        if (before.stage, before.machine) == (after.stage, after.machine):
            assert before.setting is not None
            assert after.setting is not None
            assert before.setting > after.setting


@pytest.mark.parametrize("seed", SEEDS)
def test_offcuts_keep_one_order_on_every_sheet(seed: int) -> None:
    """A stack of pieces stays in order: on each sheet their offcuts come as on the cards."""
    order = cutting_order(*random_plan(seed))
    places = {card.root: place for place, card in enumerate(order.cards)}
    for sheet in order.sheets:
        found = [places[line.root] for line in sheet.lines]
        assert found == sorted(found)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_blank_and_keeper_has_a_name_of_its_own(seed: int) -> None:
    """No two final pieces share a name, even where offcuts are named like each other's parts."""
    order = cutting_order(*random_plan(seed, names=("P", "P-A", "P-A1", "P#1")))
    names = [piece.name for piece in (*order.blanks, *order.keepers)]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_figure_lies_on_the_rule(seed: int) -> None:
    """What is shown is exactly what is meant: all figures are whole marks."""
    job, plan = random_plan(seed)
    for sheet in cutting_order(job, plan).sheets:
        for line in sheet.lines:
            figures = (line.size, line.start or 0, line.before or 0, sheet.setting or 0)
            assert all(figure % job.shop.shown_steps == 0 for figure in figures), line


def test_the_fingerprint_is_the_plan_files() -> None:
    """The first eight digits of the plan file's sha256, so that sheets of two plans are told apart."""
    job = tiny_job()
    plan = tiny_plan(job)
    assert cutting_order(job, plan).fingerprint == hashlib.sha256(dump_plan(plan)).hexdigest()[:8]
    other = replace(plan, proof=replace(plan.proof, proven=False))
    assert cutting_order(job, other).fingerprint != cutting_order(job, plan).fingerprint


def test_what_a_billet_must_still_measure() -> None:
    """The tiny billet needs 1 3/8 in thickness of 1 23/32 and 4 7/8 in width of 5 31/32."""
    job = tiny_job()
    (measure,) = cutting_order(job, tiny_plan(job)).cards[0].measures
    assert (measure.thick, measure.wide) == (11 * INCH // 8, 39 * INCH // 8)
    assert (measure.spare_thick, measure.spare_wide) == (11 * INCH // 32, 35 * INCH // 32)


def test_left_alone_counts_every_copy_not_drawn() -> None:
    """Drawn and left pieces add up to the pile."""
    job, plan = random_plan(7)
    order = cutting_order(job, plan)
    assert len(order.cards) + sum(count for _, count in order.left) == sum(o.qty for o in job.offcuts)


def test_a_plan_that_draws_nothing_has_no_sheets() -> None:
    """Then everything is left alone."""
    job, plan = nothing_made(2)
    order = cutting_order(job, plan)
    assert (order.sheets, order.cards, order.blanks, order.keepers) == ((), (), (), ())
    assert len(order.left) == len(job.offcuts)


def short_order() -> Order:
    """Return the order of a billet of 290 mm that gives one blank of 5 in."""
    job = tiny_job()
    plan = tiny_plan(job)
    billet = plan.offcuts[0].segments[0]
    assert isinstance(billet, Billet)
    strip = billet.strips[0]
    rib = replace(strip.sticks[0].blanks[0], end=6 * INCH)
    stick = replace(strip.sticks[0], blanks=(rib,), keepers=())
    short = replace(billet, end=290 * MM, strips=(replace(strip, sticks=(stick,)),))
    return cutting_order(
        replace(
            job,
            blanks=(replace(job.blanks[0], length=5 * INCH),),
            shop=replace(job.shop, shortest_machined_length=250 * MM),
        ),
        replace(plan, offcuts=(replace(plan.offcuts[0], segments=(short,)),)),
    )


def flagged(order: Order, flag: Flag) -> set[Stage]:
    """Return the stages that have a line with this flag."""
    return {sheet.stage for sheet in order.sheets for line in sheet.lines if flag in line.flags}


def test_work_under_300_mm_is_flagged_at_jointer_saws_and_planer() -> None:
    """HSE's figure, as machine makers repeat it; work of a foot and more is not flagged."""
    machining = {Stage.FACE, Stage.EDGE, Stage.RIP, Stage.RESAW_STRIPS, Stage.PLANE_EDGE, Stage.PLANE_FLAT}
    assert flagged(short_order(), Flag.SHORT) == machining
    job = tiny_job()
    assert flagged(cutting_order(job, tiny_plan(job)), Flag.SHORT) == set()


def test_pieces_under_six_inches_are_flagged_at_the_crosscut_saw() -> None:
    """After a saw maker's manual: not to be crosscut without a clamp."""
    assert flagged(short_order(), Flag.SHORT_CROSSCUT) == {Stage.PART, Stage.LENGTH}


def test_two_plans_of_one_job_differ_only_in_their_own_way() -> None:
    """The same plan gives an equal order: it is a pure function of job and plan."""
    job, plan = random_plan(11)
    assert cutting_order(job, plan) == cutting_order(job, plan)
