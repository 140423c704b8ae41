"""What an order says of the wood itself, and the planer settings that moisture makes differ."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from pages import read_pages
from tiny import INCH, tiny_drawn, tiny_job, tiny_plan

from yieldplan.model import Billet, Strip, section
from yieldplan.order import cutting_order, order_text
from yieldplan.order.data import Plane
from yieldplan.order.pdf import pdf_bytes
from yieldplan.pages.wording import pile_sentences
from yieldplan.solve.assemble import assemble

if TYPE_CHECKING:
    from yieldplan.model import Job, OffcutPlan, Plan
    from yieldplan.order.data import Order

TARGET = Fraction(12)


def wet_job(moisture: int | None = 18, *, target: Fraction | None = TARGET) -> Job:
    """Return the tiny job with a moisture read on its offcut."""
    job = tiny_job()
    first = replace(job.offcuts[0], moisture=None if moisture is None else Fraction(moisture))
    return replace(job, offcuts=(first, *job.offcuts[1:]), shop=replace(job.shop, target_moisture=target))


def wet_order(job: Job) -> Order:
    """Return the tiny plan's order, its strips and sticks as wide as this job's wood needs them."""
    return cutting_order(job, wet_plan(job))


def wet_plan(job: Job) -> Plan:
    """Return the tiny plan with sticks as large as the moisture asks for."""
    return assemble(job, [wet_drawn(job)])


def wet_drawn(job: Job) -> OffcutPlan:
    """Return what is cut in it."""
    sizes = section(job.offcuts[0], job.blanks[0], job.shop, turned=False)
    drawn = tiny_drawn(job)
    (billet,) = drawn.billets
    assert isinstance(billet, Billet)

    def sized(strip: Strip, start: int) -> Strip:
        sticks = tuple(replace(stick, start=0, end=sizes.rough_thickness) for stick in strip.sticks)
        return replace(strip, start=start, end=start + sizes.rough_width, sticks=sticks)

    far = sizes.rough_width + job.shop.rip_kerf
    strips = sized(billet.strips[0], 0), sized(billet.strips[1], far)
    return replace(drawn, billets=(replace(billet, strips=strips),))


def planed(order: Order) -> set[tuple[int, int]]:
    """Return the width and thickness to which sticks are planed."""
    steps = [step for card in order.cards for step in card.steps if isinstance(step, Plane)]
    return {(edge.to, flat.to) for edge, flat in zip(steps[::2], steps[1::2], strict=True)}


def set_to(order: Order) -> list[int | None]:
    """Return what the planer is set to, in the order in which that is done."""
    return [setting.size for one in order.lists if one.kind == "planer" for setting in one.settings]


def test_the_planer_is_set_to_what_will_shrink_to_the_finished_size() -> None:
    """Rings at 45 degrees, 18 to 12 %: 2 1/4 in is planed to 2 9/32, 1 5/16 to 1 11/32, each set and said."""
    order = wet_order(wet_job())
    thirty_second = INCH // 32
    assert planed(order) == {(73 * thirty_second, 43 * thirty_second)}
    assert set_to(order) == [73 * thirty_second, 43 * thirty_second]
    assert order.notes == ("Wetter than 12 %, so planed larger by what they will shrink: P1.",)


def test_a_drier_piece_is_planed_to_size_and_said_to_swell() -> None:
    """At 6 % nothing is reduced; it will swell by a mark and more: 2.25 x 6 x 0.002725 = 0.037 in."""
    order = wet_order(wet_job(6))
    assert planed(order) == {(9 * INCH // 4, 21 * INCH // 16)}
    assert order.notes == ("Drier than 12 %, so they will swell; leave room where it fits tightly: P1.",)


def test_one_setting_for_each_moisture() -> None:
    """Sticks of one section from wood of two moistures are planed at two settings; the dry one needs no mention."""
    job = wet_job()
    dry = replace(job.offcuts[0], name="P3", moisture=Fraction(12))
    both = replace(job, offcuts=(*job.offcuts, dry), blanks=(replace(job.blanks[0], need=6),))
    drawn = [wet_drawn(job), replace(tiny_drawn(job), offcut="P3")]
    order = cutting_order(both, assemble(both, drawn))
    assert set_to(order) == [73 * INCH // 32, 9 * INCH // 4, 43 * INCH // 32, 21 * INCH // 16]
    assert "P3" not in " ".join(order.notes)


def test_swelling_that_no_rule_shows_is_not_mentioned() -> None:
    """At 11 % a piece grows by less than 1/64 in until it is at 12, and no word is lost on it."""
    assert wet_order(wet_job(11)).notes == ()


@pytest.mark.parametrize(
    ("moisture", "target", "words"),
    [
        (None, TARGET, "Moisture not read, so no size is changed for it: P1."),
        (18, TARGET, "Wetter than 12 %, so planed larger"),
    ],
)
def test_moisture_is_spoken_of_once(moisture: int | None, target: Fraction | None, words: str) -> None:
    """No reading, or what is changed: one sentence each, in text and on the page."""
    order = wet_order(wet_job(moisture, target=target))
    text = " ".join(order_text(order).split())
    assert text.count(words) == 1
    pages = read_pages(pdf_bytes(order))
    printed = " ".join(line for page in pages for _, line, _ in page.lines())
    assert " ".join(printed.split()).count(words) == 1


def test_without_a_target_no_word_is_lost_on_moisture() -> None:
    """The order says nothing of it; the report on the pile does, for there it can still be set."""
    job = wet_job(target=None)
    assert wet_order(job).notes == ()
    assert "sets no target moisture" in pile_sentences(job)[0]


def test_wood_whose_movement_is_not_known_is_named() -> None:
    """A species that no table has is said to be left as it is, in the order and in the report on the pile."""
    job = wet_job()
    bog = replace(job.offcuts[0], species="Bog oak")
    job = replace(job, offcuts=(bog, *job.offcuts[1:]))
    said = "How these move with moisture is not known, so no size is changed for it: Bog oak."
    assert wet_order(job).notes == (said,)
    assert said in pile_sentences(job)


def test_the_ring_bounds_in_force_are_the_shops() -> None:
    """Bounds that the shop sets are stated where a blank asks for rings, and only there."""
    job = tiny_job()
    shop = replace(job.shop, flat_sawn_to=45, quarter_sawn_from=75)
    assert cutting_order(job, tiny_plan(job)).notes == ()
    job = replace(job, shop=shop, blanks=(replace(job.blanks[0], ring_from=30, ring_to=60),))
    (note,) = cutting_order(job, tiny_plan(job)).notes
    assert note.endswith("flat sawn 0° to 45°, rift 45° to 75°, quarter sawn 75° to 90°.")
