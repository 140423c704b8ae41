"""Facts of the trade as check values. All of them: common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from bars import planned

from yieldplan.model import Blank, Job, Offcut, Plan
from yieldplan.model.shop import INCH
from yieldplan.order import Order, cutting_order
from yieldplan.order.data import Ends, Joint, Saw

if TYPE_CHECKING:
    from yieldplan.order.data import Setting

FRAME = Blank(
    name="Frame",
    need=5,
    length=14 * INCH,
    width=INCH * 9 // 4,
    thickness=INCH * 21 // 16,
    ring_from=30,
    ring_to=60,
)
"""A small frame, finished 2 1/4 by 1 5/16 in, its rings about 45 degrees to its faces."""


def offcut(name: str, length: int, ring_angle: int | None, *, width: int = 6, thickness: int = 3) -> Offcut:
    """Return an offcut with a little bow, sizes in inches."""
    return Offcut(
        name=name,
        length=length * INCH,
        width=width * INCH,
        thickness=thickness * INCH,
        bow=INCH // 16,
        ring_angle=ring_angle,
    )


def frames(*pile: Offcut, need: int = 5) -> Job:
    """Return a job for frames in a shop with the settings that it has if none is named."""
    return Job(offcuts=pile, blanks=(replace(FRAME, need=need),), name="frames", sha256="0" * 64)


@pytest.fixture(scope="module")
def worked() -> tuple[Plan, Order]:
    """Return a plan for five frames from three offcuts, and its cutting order."""
    job = frames(
        offcut("Slab", 32, 10), offcut("Chunk", 34, 45), offcut("Plank", 36, 50, width=4, thickness=2)
    )
    plan = planned(job, seconds=3)
    assert plan.missing_total == 0
    return plan, cutting_order(job, plan)


def settings(order: Order, kind: str) -> list[Setting]:
    """Return the settings of a machine's list, in the order in which they are made."""
    return [setting for one in order.lists if one.kind == kind for setting in one.settings]


def test_every_frame_stick_is_sawn_2_3_8_by_1_3_8(worked: tuple[Plan, Order]) -> None:
    """Frames finished 2 1/4 by 1 5/16 in are ripped 2 3/8 by 1 3/8 in first, then planed."""
    plan, _ = worked
    sawn = {
        tuple(sorted((strip.end - strip.start, stick.end - stick.start)))
        for drawn in plan.offcuts
        for billet in drawn.jointed
        for strip in billet.strips
        for stick in strip.sticks
    }
    assert sawn == {(INCH * 11 // 8, INCH * 19 // 8)}


def test_saws_are_set_to_the_rough_sizes_of_the_frame(worked: tuple[Plan, Order]) -> None:
    """Every fence setting that gives a frame is 2 3/8 or 1 3/8 in."""
    _, order = worked
    assert {one.size for one in settings(order, "saws") if not one.odd} == {INCH * 11 // 8, INCH * 19 // 8}


def test_the_planer_is_set_to_the_finished_sizes_of_the_frame(worked: tuple[Plan, Order]) -> None:
    """It is planed to 2 1/4 in on edge before it is planed to 1 5/16 in flat."""
    _, order = worked
    assert [one.size for one in settings(order, "planer")] == [INCH * 9 // 4, INCH * 21 // 16]


def test_ends_come_off_before_any_cutter(worked: tuple[Plan, Order]) -> None:
    """Every drawn offcut is crosscut at both ends, and that is the first thing on its card."""
    _, order = worked
    assert order.lists[0].kind == "ends"
    for card in order.cards:
        assert isinstance(card.steps[0], Ends)
        assert card.steps[0].cuts >= 2


def test_a_billet_is_jointed_true_before_anything_is_sawn_from_it(worked: tuple[Plan, Order]) -> None:
    """One face and one edge, before any rip or resaw, and once."""
    plan, order = worked
    assert sum(len(card.milled) for card in order.cards) == sum(len(drawn.jointed) for drawn in plan.offcuts)
    for milled in (milled for card in order.cards for milled in card.milled):
        assert [at for at, step in enumerate(milled.steps) if isinstance(step, Joint)] == [0]
        assert any(isinstance(step, Saw) for step in milled.steps)


@pytest.mark.parametrize("ring_angle", [30, 45, 60])
def test_rings_about_45_degrees_make_a_frame(ring_angle: int) -> None:
    """A small frame's rings run about 45 degrees to its faces; such an offcut gives frames."""
    assert planned(frames(offcut("Chunk", 34, ring_angle), need=1), seconds=2).missing_total == 0


@pytest.mark.parametrize("ring_angle", [0, 10, 80, 90, None])
def test_flat_sawn_and_quarter_sawn_stock_make_no_frame(ring_angle: int | None) -> None:
    """Rings along or square to the faces make no frame, however it is turned; nor do rings that no one read."""
    assert planned(frames(offcut("Chunk", 34, ring_angle), need=1), seconds=2).missing_total == 1
