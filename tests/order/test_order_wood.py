"""What an order says of the wood itself, and the planer settings that moisture makes differ."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from pages import read_pages
from tiny import INCH, tiny_drawn, tiny_job

from yieldplan.model import Billet, Strip, section
from yieldplan.order import cutting_order, order_text
from yieldplan.order.data import Stage
from yieldplan.order.pdf import pdf_bytes
from yieldplan.order.wood import moisture_sentence, ring_sentence
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


def test_the_planer_is_set_to_what_will_shrink_to_the_finished_size() -> None:
    """Rings at 45 degrees, 18 to 12 %: 2 1/4 in is planed to 2 9/32, 1 5/16 to 1 11/32, each listed and set."""
    order = wet_order(wet_job())
    (setting,) = order.settings
    thirty_second = INCH // 32
    assert (setting.species, setting.moisture) == ("White oak", "18 %")
    assert setting.finished == (72 * thirty_second, 42 * thirty_second)
    assert setting.planed == (73 * thirty_second, 43 * thirty_second)
    assert setting.sticks == ("P1-1", "P1-2")
    settings = {sheet.stage: sheet.setting for sheet in order.sheets if sheet.stage.name.startswith("PLANE")}
    assert settings == {Stage.PLANE_EDGE: setting.planed[0], Stage.PLANE_FLAT: setting.planed[1]}


def test_a_drier_piece_is_planed_to_size_and_said_to_grow() -> None:
    """At 8 % nothing is reduced; what it may grow by stands in thousandths of an inch, rounded up."""
    order = wet_order(wet_job(8))
    (setting,) = order.settings
    assert setting.planed == setting.finished
    row = next(line for line in order_text(order).splitlines() if line.startswith("White oak"))
    assert "0.025 × 0.015" in row  # 2.25 x 4 x 0.002725 = 0.0245 in, 1.3125 x 4 x 0.002725 = 0.0143 in
    assert "swells until then" in " ".join(order.notes)


def test_one_sheet_of_settings_for_each_moisture() -> None:
    """Sticks of one section from wood of two moistures are planed at two settings; the dry one needs no mention."""
    job = wet_job()
    dry = replace(job.offcuts[0], name="P3", moisture=Fraction(12))
    both = replace(job, offcuts=(*job.offcuts, dry), blanks=(replace(job.blanks[0], need=6),))
    drawn = [wet_drawn(job), replace(tiny_drawn(job), offcut="P3")]
    order = cutting_order(both, assemble(both, drawn))
    assert [(s.moisture, len(s.sticks)) for s in order.settings] == [("18 %", 2)]
    flat = [sheet.setting for sheet in order.sheets if sheet.stage is Stage.PLANE_FLAT]
    assert flat == [order.settings[0].planed[1], 21 * INCH // 16]


def test_swelling_that_no_rule_shows_is_not_mentioned() -> None:
    """At 11.9 % a piece grows by less than 1/64 in until it is at 12."""
    job = wet_job()
    nearly = replace(job.offcuts[0], moisture=Fraction(119, 10))
    order = wet_order(replace(job, offcuts=(nearly, *job.offcuts[1:])))
    assert order.settings == ()


@pytest.mark.parametrize(
    ("moisture", "target", "words"),
    [
        (18, None, "sets no target moisture, so no size is changed"),
        (None, TARGET, "Not read on P1, so no size is changed there"),
        (18, TARGET, "Wetter wood is planed larger"),
    ],
)
def test_moisture_is_spoken_of_once(moisture: int | None, target: Fraction | None, words: str) -> None:
    """No target, no reading, or what is changed: one sentence each, in text and on the page."""
    order = wet_order(wet_job(moisture, target=target))
    text = " ".join(order_text(order).split())
    assert text.count(words) == 1
    pages = read_pages(pdf_bytes(order))
    printed = " ".join(line for page in pages for _, line, _ in page.lines())
    assert " ".join(printed.split()).count(words) == 1


def test_wood_without_coefficients_is_named() -> None:
    """A species that no table has is said to be left as it is."""
    job = wet_job()
    bog = replace(job.offcuts[0], species="Bog oak")
    assert "Coefficients are not known for Bog oak" in moisture_sentence(job.shop, [bog])


def test_the_ring_bounds_in_force_are_the_shops() -> None:
    """Bounds that the shop sets are those that the order states."""
    shop = replace(tiny_job().shop, flat_sawn_to=45, quarter_sawn_from=75)
    assert ring_sentence(shop).endswith("flat sawn 0° to 45°, rift 45° to 75°, quarter sawn 75° to 90°.")
