"""Work: its counts on plans worked out by hand, and what they cost."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hand_plans import CUPPED, CUPPED_RAW, RICH, RICH_RAW, TINY, TINY_RAW, Raw, plan_of
from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Job, Shop, prices, work_of
from yieldplan.model.work import QUICK, WOOD_ALONE, crosscuts, final_cuts

GOOD = [(TINY, TINY_RAW), (RICH, RICH_RAW), (CUPPED, CUPPED_RAW)]
COUNTS = st.integers(0, 1000)


@pytest.mark.parametrize(("job", "raw"), GOOD, ids=["tiny", "rich", "cupped"])
def test_work_by_hand(job: Job, raw: Raw) -> None:
    """Every count and the minutes, as they stand in the plans worked out by hand."""
    plan = plan_of(raw)
    work = work_of(job, plan.offcuts)
    assert work == plan.work
    assert plan.proof.net_worth + prices(job.shop).of(work) == plan.proof.cost


def test_a_batch_shares_its_settings() -> None:
    """Drawn twice, everything doubles but the settings; an odd cut is set again."""
    plan = plan_of(RICH_RAW)
    one, two = work_of(RICH, plan.offcuts), work_of(RICH, plan.offcuts * 2)
    assert (two.offcuts, two.billets, two.sticks, two.passes, two.crosscuts) == (2, 4, 8, 14, 24)
    assert (two.saw_settings, two.planer_settings, two.stop_settings) == (one.saw_settings + 1, 3, 2)


def test_nothing_drawn_is_no_work() -> None:
    """An empty plan takes no minutes."""
    work = work_of(RICH, ())
    assert not any(getattr(work, name) for name in work.__slots__)
    assert prices(RICH.shop).of(work) == 0


@pytest.mark.parametrize(
    ("spans", "cuts"),
    [
        ((), 0),
        (((0, 100),), 0),
        (((1, 100),), 1),
        (((10, 90),), 2),
        (((10, 50), (53, 90)), 3),  # a kerf apart: one cut for both
        (((10, 50), (54, 90)), 4),
        (((0, 50), (53, 100)), 1),
    ],
)
def test_rough_crosscuts(spans: tuple[tuple[int, int], ...], cuts: int) -> None:
    """One at each end of a billet that is not the offcut's own."""
    assert crosscuts(spans, (0, 100), 3) == cuts


@pytest.mark.parametrize(
    ("spans", "cuts"),
    [(((5, 9),), 2), (((5, 9), (12, 20)), 3), (((5, 9), (13, 20)), 4), (((0, 9), (20, 30)), 4)],
)
def test_final_crosscuts(spans: tuple[tuple[int, int], ...], cuts: int) -> None:
    """One to square the stick, one a blank, and one more before a blank that stands off the one before."""
    assert final_cuts(spans, 3) == cuts


@pytest.mark.parametrize(
    ("foot", "setting", "cut", "stick"),
    [(1000, 200, 50, 150), (6000, 34, 9, 25), (100, 2000, 500, 1500), (7000, 29, 8, 22)],
)
def test_a_price_is_rounded_up_by_itself(foot: int, setting: int, cut: int, stick: int) -> None:
    """Minutes x 1000 / minutes for a board foot, up to a whole thousandth of a board foot, a price each."""
    shop = Shop(minutes_for_a_board_foot=foot)
    found = prices(shop)
    assert (found.setting, found.cut, found.stick) == (setting, cut, stick)
    assert prices(Shop(), foot) == found


def test_work_may_count_for_nothing_or_for_much() -> None:
    """By wood alone work is free; quick, it is five times as dear as in the shop's own list."""
    work = work_of(RICH, plan_of(RICH_RAW).offcuts)
    assert prices(RICH.shop, WOOD_ALONE).of(work) == 0
    assert prices(RICH.shop, QUICK).of(work) == 5 * prices(RICH.shop).of(work)


@given(st.lists(COUNTS, min_size=7, max_size=7), st.integers(1, 10_000))
def test_price_is_at_least_the_minutes(counts: list[int], foot: int) -> None:
    """Rounding up never makes work cheaper than its minutes, and costs at most a unit a count."""
    settings, stop, offcuts, billets, cuts, band, sticks = counts
    shop = Shop(minutes_for_a_board_foot=foot)
    hundredths = (
        settings * 200 + stop * 100 + offcuts * 400 + billets * 300 + cuts * 50 + band * 150 + sticks * 150
    )
    work = replace(
        work_of(RICH, ()),
        hundredths=hundredths,
        saw_settings=settings,
        stop_settings=stop,
        offcuts=offcuts,
        billets=billets,
        crosscuts=cuts,
        passes=band,
        bandsaw_passes=band,
        sticks=sticks,
    )
    price = prices(shop).of(work)
    assert hundredths * 1000 <= price * foot < hundredths * 1000 + foot * max(sum(counts), 1)
