"""The order as data: stages in working order, settings once, boards in one order, each figure the plan's."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from random_plans import nothing_made, random_plan
from tiny import INCH, tiny_drawn, tiny_job, tiny_plan

from yieldplan.model import Billet, Defect, keepers
from yieldplan.model.planfile import dump_plan
from yieldplan.model.shop import MM
from yieldplan.order import cutting_order
from yieldplan.order.data import Flag, Order, Stage
from yieldplan.solve.assemble import assemble

SEEDS = range(40)
STAGES = tuple(Stage)
SAWN = (Stage.FIRST, Stage.SECOND)


@pytest.mark.parametrize("seed", SEEDS)
def test_stages_come_in_working_order(seed: int) -> None:
    """Ends off before jointing, first cuts before second, planing before the final crosscuts."""
    sheets = cutting_order(*random_plan(seed)).sheets
    assert [STAGES.index(sheet.stage) for sheet in sheets] == sorted(STAGES.index(s.stage) for s in sheets)


@pytest.mark.parametrize("seed", SEEDS)
def test_boards_keep_one_order_on_every_sheet(seed: int) -> None:
    """A stack of pieces stays in order: on each sheet their boards come as on the cards."""
    order = cutting_order(*random_plan(seed))
    places = {card.root: place for place, card in enumerate(order.cards)}
    for sheet in order.sheets:
        found = [places[line.root] for line in sheet.lines]
        assert found == sorted(found)


@pytest.mark.parametrize("seed", SEEDS)
def test_passes_and_settings_are_those_that_the_plan_counts(seed: int) -> None:
    """Every saw pass of the plan has its place on a list; settings made once more are said to be."""
    job, plan = random_plan(seed)
    sheets = [sheet for sheet in cutting_order(job, plan).sheets if sheet.stage in (*SAWN, Stage.SPLIT)]
    jointed_off = [sheet for sheet in sheets if sheet.odd and sheet.setting is None]
    passes = sum(line.times for sheet in sheets for line in sheet.lines) - len(jointed_off)
    assert plan.work.passes - len(jointed_off) <= passes <= plan.work.passes
    fences = {
        (sheet.stage, sheet.machine, sheet.setting)
        for sheet in sheets
        if sheet.stage in SAWN and not sheet.odd
    }
    assert len(fences) <= plan.work.saw_settings
    assert all(
        sheet.again
        == (
            (sheet.stage, sheet.machine, sheet.setting)
            in {(s.stage, s.machine, s.setting) for s in sheets[:place] if not s.odd}
        )
        for place, sheet in enumerate(sheets)
        if sheet.stage in SAWN and not sheet.odd
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_every_keeper_of_the_plan_has_a_name_of_its_own(seed: int) -> None:
    """No two keepers share a name, even where boards are named like each other's parts; none is left out."""
    job, plan = random_plan(seed, names=("P", "P-K1", "P-1", "P#1"))
    order = cutting_order(job, plan)
    names = [piece.name for piece in order.keepers]
    assert len(set(names)) == len(names) == sum(1 for drawn in plan.offcuts for _ in keepers(job, drawn))
    sticks = {margin.name for margin in order.margins}
    assert not sticks & set(names)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_figure_is_a_whole_mark(seed: int) -> None:
    """What is shown is exactly what is meant."""
    job, plan = random_plan(seed)
    for sheet in cutting_order(job, plan).sheets:
        for line in sheet.lines:
            figures = (line.size, line.start or 0, line.before or 0, sheet.setting or 0)
            assert all(figure % job.shop.mark == 0 for figure in figures), line


@pytest.mark.parametrize("seed", SEEDS)
def test_stops_rise_along_a_stick_that_stands_shortest_first(seed: int) -> None:
    """A short blank always comes off a long stick: no stop is set again unless blanks stand otherwise."""
    job, plan = random_plan(seed)
    stops = [sheet for sheet in cutting_order(job, plan).sheets if sheet.stage is Stage.STOP]
    lengths = [
        [cut.end - cut.start for cut in stick.blanks]
        for drawn in plan.offcuts
        for billet in drawn.jointed
        for strip in billet.strips
        for stick in strip.sticks
    ]
    if all(row == sorted(row) for row in lengths):
        assert not any(sheet.again for sheet in stops)
        assert all(before.setting < after.setting for before, after in pairwise(stops))  # type: ignore[operator]
    cut = Counter(
        line.blank for sheet in stops for line in sheet.lines for _ in range(line.times) if line.blank
    )
    assert cut == Counter(cut.blank for drawn in plan.offcuts for cut in drawn.blanks)


def test_the_fingerprint_is_the_plan_files() -> None:
    """The first eight digits of the plan file's sha256, so that sheets of two plans are told apart."""
    job = tiny_job()
    plan = tiny_plan(job)
    assert cutting_order(job, plan).fingerprint == hashlib.sha256(dump_plan(plan)).hexdigest()[:8]
    other = replace(plan, proof=replace(plan.proof, proven=not plan.proof.proven))
    assert cutting_order(job, other).fingerprint != cutting_order(job, plan).fingerprint


def test_what_a_billet_must_still_measure() -> None:
    """The tiny billet needs 1 3/8 in thickness of 1 11/16 and 4 7/8 in width of 5 15/16."""
    job = tiny_job()
    (milled,) = cutting_order(job, tiny_plan(job)).cards[0].milled
    assert (milled.thick, milled.wide) == (11 * INCH // 8, 39 * INCH // 8)
    assert milled.box == (95 * INCH // 16, 27 * INCH // 16)


def test_left_alone_counts_every_copy_not_drawn() -> None:
    """Drawn and left pieces add up to the pile."""
    job, plan = random_plan(7)
    order = cutting_order(job, plan)
    assert len(order.cards) + sum(count for _, count in order.left) == sum(o.qty for o in job.offcuts)


def test_a_plan_that_draws_nothing_has_no_sheets() -> None:
    """Then everything is left alone."""
    job, plan = nothing_made(2)
    order = cutting_order(job, plan)
    assert (order.sheets, order.cards, order.margins, order.keepers) == ((), (), (), ())
    assert len(order.left) == len(job.offcuts)


def test_what_the_planer_takes_is_not_sawn() -> None:
    """A box 3/16 in deeper than its sticks is not resawn: no saw list for it, and the planer takes it all."""
    job = tiny_job()
    thin = replace(job.offcuts[0], thickness=13 * INCH // 8)
    job = replace(job, offcuts=(thin, *job.offcuts[1:]))
    order = cutting_order(job, assemble(job, [tiny_drawn(job)]))
    assert Stage.SECOND not in {sheet.stage for sheet in order.sheets}
    (flat,) = [sheet for sheet in order.sheets if sheet.stage is Stage.PLANE_FLAT]
    assert [(line.before, line.size) for line in flat.lines] == [(25 * INCH // 16, 21 * INCH // 16)] * 2


def test_metal_is_pulled_before_the_ends_come_off() -> None:
    """A screw in a billet is said beside the rough crosscut."""
    job = tiny_job()
    screw = Defect(kind="old Screw", x1=20 * INCH, x2=21 * INCH, y1=5 * INCH, y2=6 * INCH, z1=0, z2=INCH)
    job = replace(job, offcuts=(replace(job.offcuts[0], defects=(screw,)), *job.offcuts[1:]))
    ends = cutting_order(job, assemble(job, [tiny_drawn(job)])).sheets[0]
    assert [line.note for line in ends.lines] == ["pull the metal first", "keep"]


def short_order() -> Order:
    """Return the order of a billet of 290 mm that gives one blank of 5 in."""
    job = tiny_job()
    drawn = tiny_drawn(job)
    (billet,) = drawn.billets
    assert isinstance(billet, Billet)
    strip = billet.strips[0]
    rib = replace(strip.sticks[0].blanks[0], end=6 * INCH)
    stick = replace(strip.sticks[0], blanks=(rib,))
    end = billet.start + 290 * MM // job.shop.mark * job.shop.mark
    short = replace(billet, end=end, strips=(replace(strip, sticks=(stick,)),))
    job = replace(
        job,
        blanks=(replace(job.blanks[0], length=5 * INCH),),
        shop=replace(job.shop, shortest_machined_length=10 * INCH),
    )
    return cutting_order(job, assemble(job, [replace(drawn, billets=(short,))]))


def flagged(order: Order, flag: Flag) -> set[Stage]:
    """Return the stages that have a line with this flag."""
    return {sheet.stage for sheet in order.sheets for line in sheet.lines if flag in line.flags}


def test_work_under_300_mm_is_flagged_at_jointer_saws_and_planer() -> None:
    """HSE's figure, as machine makers repeat it; work of a foot and more is not flagged."""
    machining = {Stage.FACE, Stage.EDGE, Stage.FIRST, Stage.SECOND, Stage.PLANE_EDGE, Stage.PLANE_FLAT}
    assert flagged(short_order(), Flag.SHORT) == machining
    job = tiny_job()
    assert flagged(cutting_order(job, tiny_plan(job)), Flag.SHORT) == set()


def test_pieces_under_six_inches_are_flagged_at_the_crosscut_saw() -> None:
    """After a saw maker's manual: not to be crosscut without a clamp."""
    assert flagged(short_order(), Flag.SHORT_CROSSCUT) == {Stage.STOP}


def test_the_order_is_a_pure_function_of_job_and_plan() -> None:
    """The same plan gives an equal order."""
    job, plan = random_plan(11)
    assert cutting_order(job, plan) == cutting_order(job, plan)
