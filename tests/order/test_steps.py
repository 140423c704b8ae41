"""The order as data: names, settings, boards in one order, each figure the plan's, what a board asks to mind."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import fields, is_dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from random_plans import nothing_made, random_plan
from tiny import INCH, tiny_drawn, tiny_job, tiny_plan

from yieldplan.model import Billet, Defect, keepers
from yieldplan.model.planfile import dump_plan
from yieldplan.order import Order, cutting_order
from yieldplan.order.data import Joint, Plane, Saw, Step, Stop
from yieldplan.order.sentences import card_lines
from yieldplan.solve.assemble import assemble

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job, Strip

SEEDS = range(20)
MARK = INCH // 32


def steps_of(order: Order, kind: type[Step]) -> list[Step]:
    """Return the steps of a kind on all cards."""
    return [step for card in order.cards for step in card.steps if isinstance(step, kind)]


@pytest.mark.parametrize("seed", SEEDS)
def test_boards_keep_their_stack_order_on_every_list(seed: int) -> None:
    """A stack of pieces stays in order: at each setting their boards come as on the cards."""
    order = cutting_order(*random_plan(seed))
    places = {card.board: place for place, card in enumerate(order.cards)}
    for one in order.lists:
        for setting in one.settings:
            found = [places[step.board] for step in setting.steps]
            assert found == sorted(found)


@pytest.mark.parametrize("seed", SEEDS)
def test_sticks_are_numbered_through_the_board_as_they_come_off_the_saw(seed: int) -> None:
    """From billet to billet and strip to strip no number is left out, and in every row they rise."""
    for card in cutting_order(*random_plan(seed)).cards:
        numbers = [
            s.name.rsplit("-", 1)[1] for milled in card.milled for s in milled.sections if not s.keeper
        ]
        assert numbers == [str(number) for number in range(1, len(numbers) + 1)]
        for step in card.steps:
            names = (*step.gives, step.rest) if isinstance(step, Saw) else ()
            sawn = [int(name.rsplit("-", 1)[1]) for name in names if name.rsplit("-", 1)[-1].isdecimal()]
            assert sawn == sorted(sawn)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_keeper_of_the_plan_has_a_new_name_of_its_own(seed: int) -> None:
    """No keeper is called what a board or a stick is called, drawn or not; none is left out."""
    job, plan = random_plan(seed, names=("P", "K1", "P-1", "K2"))
    order = cutting_order(job, plan)
    names = [kept.name for kept in order.rack]
    assert len(set(names)) == len(names) == sum(1 for drawn in plan.offcuts for _ in keepers(job, drawn))
    assert not set(names) & {margin.name for card in order.cards for margin in card.margins}
    assert not set(names) & {offcut.name for offcut in job.offcuts}


@pytest.mark.parametrize("seed", SEEDS)
def test_a_keeper_is_as_large_on_paper_as_it_is(seed: int) -> None:
    """Its size is the plan's, exactly: what settling writes where nothing was measured; the width is the larger."""
    job, plan = random_plan(seed)
    sizes = [keeper.size for drawn in plan.offcuts for keeper in keepers(job, drawn)]
    wanted = [(length, max(across), min(across)) for length, *across in sizes]
    assert [kept.size for kept in cutting_order(job, plan).rack] == wanted


def figures(value: object) -> Iterator[int]:
    """Yield every length of a step."""
    counts = {"passes", "stage", "chain", "each", "first", "spare", "cuts"}
    if is_dataclass(value) and not isinstance(value, type):
        for part in fields(value):
            if part.name not in counts or isinstance(value, Joint):
                yield from figures(getattr(value, part.name))
    elif isinstance(value, tuple):
        for one in value:
            yield from figures(one)
    elif isinstance(value, int) and not isinstance(value, bool):
        yield value


@pytest.mark.parametrize("seed", SEEDS)
def test_every_figure_is_a_whole_mark(seed: int) -> None:
    """What is shown is exactly what is meant: no length of any step is between two marks of the rule."""
    job, plan = random_plan(seed)
    order = cutting_order(job, plan)
    found = [figure for card in order.cards for step in card.steps for figure in figures(step)]
    assert found or not order.cards
    assert not [figure for figure in found if figure % job.shop.mark]


@pytest.mark.parametrize("seed", SEEDS)
def test_stops_rise_where_every_stick_stands_shortest_first(seed: int) -> None:
    """A short blank always comes off a long stick: no stop is set again unless blanks stand otherwise."""
    job, plan = random_plan(seed)
    order = cutting_order(job, plan)
    stops = [s for one in order.lists for s in one.settings if isinstance(s.steps[0], Stop)]
    rows = [
        [cut.end - cut.start for cut in stick.blanks]
        for drawn in plan.offcuts
        for billet in drawn.jointed
        for strip in billet.strips
        for stick in strip.sticks
    ]
    if all(row == sorted(row) for row in rows):
        assert all((before.size or 0) < (after.size or 0) for before, after in pairwise(stops))
    cut = Counter({step.blank: 0 for s in stops for step in s.steps if isinstance(step, Stop)})
    for step in (step for s in stops for step in s.steps):
        assert isinstance(step, Stop)
        assert step.first == cut[step.blank]  # the running count goes on where it stood
        cut[step.blank] += step.count
    assert cut == Counter(cut.blank for drawn in plan.offcuts for cut in drawn.blanks)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_step_of_a_card_is_said_once(seed: int) -> None:
    """A card's lines name every fence, planed size and stop of its steps, and end as sentences do."""
    job, plan = random_plan(seed)
    for card in cutting_order(job, plan).cards:
        lines = [line.text for line in card_lines(card, job.shop)]
        assert all(line.endswith(".") for line in lines)
        stops = sum(line.count("stop ") for line in lines)
        assert stops == sum(isinstance(step, Stop) for step in card.steps)
        assert sum("plane " in line.lower() for line in lines) == sum(
            isinstance(s, Plane) and s.on_edge for s in card.steps
        )


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
    order = cutting_order(job, tiny_plan(job))
    (joint,) = steps_of(order, Joint)
    assert isinstance(joint, Joint)
    assert (joint.thick, joint.wide) == (11 * INCH // 8, 39 * INCH // 8)
    assert joint.spare == (17 * INCH // 16, 5 * INCH // 16)


def test_left_alone_counts_every_copy_not_drawn() -> None:
    """Drawn and left pieces add up to the pile."""
    job, plan = random_plan(7)
    order = cutting_order(job, plan)
    assert len(order.cards) + sum(count for _, count in order.left) == sum(o.qty for o in job.offcuts)


def test_a_plan_that_draws_nothing_has_no_cards_and_no_lists() -> None:
    """Then everything is left alone."""
    job, plan = nothing_made(2)
    order = cutting_order(job, plan)
    assert (order.lists, order.cards, order.rack) == ((), (), ())
    assert len(order.left) == len(job.offcuts)


def test_what_the_planer_takes_is_not_sawn() -> None:
    """A box 3/16 in deeper than its sticks is not resawn: no second cuts, and the planer takes it all."""
    job = tiny_job()
    thin = replace(job.offcuts[0], thickness=13 * INCH // 8)
    job = replace(job, offcuts=(thin, *job.offcuts[1:]))
    order = cutting_order(job, tiny_plan(job))
    assert {step.stage for step in steps_of(order, Saw) if isinstance(step, Saw)} == {1}
    planes = [step for step in steps_of(order, Plane) if isinstance(step, Plane)]
    (planed,) = {(step.before, step.to) for step in planes if not step.on_edge}
    assert planed == (25 * INCH // 16, 21 * INCH // 16)


def with_strips(job: Job, *starts: int, deep: int = 0) -> Order:
    """Return the order of the tiny billet with one stick in each strip, strips and sticks beginning where said."""
    drawn = tiny_drawn(job)
    (billet,) = drawn.billets
    assert isinstance(billet, Billet)

    def moved(strip: Strip, start: int) -> Strip:
        sticks = tuple(replace(s, start=deep, end=s.end - s.start + deep) for s in strip.sticks)
        return replace(strip, start=start, end=start + 19 * INCH // 8, sticks=sticks)

    strips = tuple(moved(strip, start) for strip, start in zip(billet.strips, starts, strict=False))
    return cutting_order(job, assemble(job, [replace(drawn, billets=(replace(billet, strips=strips),))]))


def test_a_first_piece_that_begins_within_a_kerf_is_jointed_to() -> None:
    """No saw takes 3/32 in: it comes off edge 1 at the jointer, in the same breath, and the billet is so much less."""
    order = with_strips(tiny_job(), 3 * MARK)
    (joint,) = steps_of(order, Joint)
    assert isinstance(joint, Joint)
    assert joint.more == (3 * MARK, 0)
    assert joint.wide == 19 * INCH // 8
    assert "straight and square, then 3/32 more off it" in card_lines(order.cards[0], order.job.shop)[1].text


def test_sticks_that_all_begin_within_a_kerf_are_jointed_to_before_they_are_parted() -> None:
    """One pass over face 1 of the billet does for all of them."""
    order = with_strips(tiny_job(), 0, 5 * INCH // 2, deep=2 * MARK)
    (joint,) = steps_of(order, Joint)
    assert isinstance(joint, Joint)
    assert joint.more == (0, 2 * MARK)
    assert not [step for step in steps_of(order, Saw) if isinstance(step, Saw) and step.off]


def test_between_one_kerf_and_two_the_jointer_takes_what_no_saw_takes() -> None:
    """A strip 5/32 in behind the one before leaves 1/32 beyond the blade: joint it off, said on card and list."""
    order = with_strips(tiny_job(), 0, 19 * INCH // 8 + 5 * MARK)
    (off,) = [step for step in steps_of(order, Saw) if isinstance(step, Saw) and step.off]
    assert (off.fence, off.passes) == (MARK, 1)
    assert any(
        "joint 1/32 more off fresh edge" in line.text for line in card_lines(order.cards[0], order.job.shop)
    )
    odd = [setting for one in order.lists for setting in one.settings if setting.odd]
    assert [setting.machine.value for setting in odd] == ["jointer"]


def with_defect(kind: str) -> Order:
    """Return the order of the tiny plan with a defect in the billet's waste."""
    job = tiny_job()
    defect = Defect(kind=kind, x1=20 * INCH, x2=21 * INCH, y1=5 * INCH, y2=6 * INCH, z1=0, z2=INCH)
    job = replace(job, offcuts=(replace(job.offcuts[0], defects=(defect,)), *job.offcuts[1:]))
    return cutting_order(job, tiny_plan(job))


@pytest.mark.parametrize(("kind", "pulled"), [("old Screw", True), ("bolt", True), ("knot", False)])
def test_metal_is_pulled_before_the_ends_come_off(kind: str, pulled: bool) -> None:
    """Metal in a billet is said first of all on its card, and beside its rough crosscut."""
    order = with_defect(kind)
    (card,) = order.cards
    assert card.ends.metal == pulled
    assert ("Metal in it: pull it first." in card.notes) == pulled
    assert card_lines(card, order.job.shop)[0].text.startswith("Pull the metal" if pulled else "Cut out")


def test_loose_knots_are_knocked_out_before_jointing() -> None:
    """A loose knot in a billet is said on its card; a sound one is not."""
    said = "Knock the loose knots out before jointing."
    assert said in with_defect("loose knot").cards[0].notes
    assert said not in with_defect("knot").cards[0].notes


def test_short_blanks_are_clamped() -> None:
    """Below 12 in the card says so; the tiny plan's ribs of 12 in are not."""
    job = tiny_job()
    assert not [note for note in cutting_order(job, tiny_plan(job)).cards[0].notes if "clamp" in note]
    drawn = tiny_drawn(job)
    short = replace(job, blanks=(replace(job.blanks[0], length=6 * INCH),))
    (billet,) = drawn.billets
    assert isinstance(billet, Billet)
    strip = billet.strips[0]
    stick = replace(strip.sticks[0], blanks=(replace(strip.sticks[0].blanks[0], end=7 * INCH),))
    drawn = replace(drawn, billets=(replace(billet, strips=(replace(strip, sticks=(stick,)),)),))
    order = cutting_order(short, assemble(short, [drawn]))
    assert 'Blanks under 12": clamp them.' in order.cards[0].notes


@pytest.mark.parametrize(("moisture", "thickness", "rests"), [(16, 7, True), (14, 7, False), (8, 12, True)])
def test_wet_and_thick_and_thinned_wood_rests_before_it_is_planed(
    moisture: int, thickness: int, rests: bool
) -> None:
    """Above 15 % moisture, or resawn to less than half of the board: let it rest, sight it, joint it again."""
    job = tiny_job()
    board = replace(job.offcuts[0], moisture=Fraction(moisture), thickness=thickness * INCH // 4)
    job = replace(job, offcuts=(board, *job.offcuts[1:]))
    order = cutting_order(job, tiny_plan(job))
    said = [
        line.text
        for line in card_lines(order.cards[0], job.shop)
        if "rest" in line.text and "sight" in line.text
    ]
    assert bool(said) == rests
    assert all(("overnight" in text) == (thickness > 8) for text in said)


def test_a_lost_blank_could_come_from_keepers_first() -> None:
    """Where it could come from: what goes back on the rack, then boards that are left alone."""
    job = tiny_job()
    spare = replace(job.offcuts[0], name="P9")
    job = replace(job, offcuts=(*job.offcuts, spare))
    order = cutting_order(job, tiny_plan(job))
    (kind,) = order.kinds
    assert kind.another == ("P9",)
    long = replace(job, shop=replace(job.shop, shortest_machined_length=10 * INCH, end_trim=0, stick_trim=0))
    (kind,) = cutting_order(long, tiny_plan(long)).kinds
    assert kind.another[0].startswith("K")
    assert kind.another[-1] == "P9"


def test_no_spare_board_stands_on_the_card() -> None:
    """Nothing else in the tiny pile gives ribs, and the card and the first lines say so."""
    job = tiny_job()
    order = cutting_order(job, tiny_plan(job))
    assert "No spare board." in order.cards[0].notes


def test_the_order_is_a_pure_function_of_job_and_plan() -> None:
    """The same plan gives an equal order."""
    job, plan = random_plan(11)
    assert cutting_order(job, plan) == cutting_order(job, plan)


def test_a_board_may_be_called_waste() -> None:
    """What falls is told from what is kept by no word that a user could type."""
    job = tiny_job(offcut="waste")
    order = cutting_order(job, tiny_plan(job))
    first, *_ = (step for step in steps_of(order, Saw) if isinstance(step, Saw))
    assert first.hand == "waste"
    assert "the rest is waste" in card_lines(order.cards[0], job.shop)[2].text
