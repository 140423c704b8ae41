"""Bounds of aims 3 and 4: by hand, and against the plans that they stand beside."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_stocks import ready
from strategies import small_job
from test_aims import INCH, LONG, PIECE, RIB, TINY
from test_master import column

from yieldplan.model import Shop, count_crosscuts
from yieldplan.solve import Options, plan
from yieldplan.solve.aims import Search
from yieldplan.solve.lesser import abreast, fewest_crosscuts, fewest_offcuts, from_below, most_extras
from yieldplan.solve.master import Wanted


@pytest.mark.parametrize(
    ("dear", "extra", "room", "most"),
    [
        ((2.0, 5.0), (3, 3), 8.0, 3),
        ((5.0, 2.0), (3, 3), 11.0, 4),
        ((2.0, 5.0), (9, 9), 8.0, 4),
        ((2.0, 5.0), (3, 3), 0.0, 0),
        ((0.0, 5.0), (7, 3), 0.0, 7),
    ],
    ids=["the cheap ones", "one dear one too", "no more than there is room for", "no room", "free ones"],
)
def test_extras_cost_their_prices(
    dear: tuple[float, ...], extra: tuple[int, ...], room: float, most: int
) -> None:
    """The cheapest ones first, as many as are welcome, as far as the gap goes."""
    assert most_extras(np.array(dear), extra, room) == most


@pytest.mark.parametrize(
    ("blanks", "lengths", "offcuts", "abreast", "trimmed", "least"),
    [
        (1, 1, 1, 9, True, 2),
        (1, 1, 1, 9, False, 0),
        (9, 1, 1, 9, True, 2),
        (2, 2, 1, 9, True, 3),
        (5, 1, 1, 2, True, 4),
        (5, 5, 1, 9, True, 4),
        (4, 1, 2, 9, True, 4),
        (0, 0, 0, 1, True, 0),
    ],
)
def test_crosscuts_by_hand(
    blanks: int, lengths: int, offcuts: int, abreast: int, trimmed: bool, least: int
) -> None:
    """Two cuts free a billet of any number of like sticks; five lengths take four cuts: one billet, two sticks cut."""
    numbers = {"blanks": blanks, "lengths": lengths, "offcuts": offcuts, "abreast": abreast}
    assert fewest_crosscuts(**numbers, trimmed=trimmed) == least


@pytest.mark.parametrize("seed", range(25))
@pytest.mark.parametrize("trim", [Shop().end_trim, 0])
def test_no_plan_takes_fewer_crosscuts(seed: int, trim: int) -> None:
    """Each offcut of a plan takes at least as many as its blanks ask for, and so do all of them together."""
    job = small_job(seed)
    job = replace(job, shop=replace(job.shop, end_trim=trim))
    found = plan(job, options=Options(seconds=0.5))
    stocks = {stock.members[0][0]: stock for stock in ready(job)}
    blanks, lengths, cuts, most = 0, set[int](), 0, 1
    for drawn in found.offcuts:
        offcut = job.offcut(drawn.offcut)
        pieces = [
            cut
            for billet in drawn.billets
            for strip in billet.strips
            for stick in strip.sticks
            for cut in stick.blanks
        ]
        stock = next(
            stock for stock in stocks.values() if drawn.offcut in {name for name, _ in stock.members}
        )
        own = count_crosscuts(drawn.segments, offcut.length, job.shop.crosscut_kerf)
        its = {cut.end - cut.start for cut in pieces}
        assert own >= fewest_crosscuts(
            blanks=len(pieces), lengths=len(its), offcuts=1, abreast=abreast(stock), trimmed=trim > 0
        )
        blanks, lengths, cuts, most = (
            blanks + len(pieces),
            lengths | its,
            cuts + own,
            max(most, abreast(stock)),
        )
    assert cuts >= fewest_crosscuts(
        blanks=blanks, lengths=len(lengths), offcuts=len(found.offcuts), abreast=most, trimmed=trim > 0
    )


def test_offcuts_by_volume() -> None:
    """A rib takes 12 1/2 x 2 1/8 x 13/16 in, a piece is 20 x 3 x 1 in: at the least 1 piece for 2 ribs, 2 for 3."""
    stocks = ready(replace(TINY, offcuts=(replace(PIECE, qty=4),)))
    batch = Wanted(need=(3,), extra=(0,), priority=(1,), copies=(4,))
    assert [fewest_offcuts(stocks, batch, {1: missing}) for missing in range(4)] == [2, 1, 1, 0]


def test_columns_are_counted_from_below() -> None:
    """Cost falls to the least of any length, crosscuts to those that the numbers of blanks ask for."""
    stocks = ready(TINY)
    one = replace(column(0, (1,), 503), low=500, crosscuts=7)
    (found,) = from_below([one], stocks, TINY)
    assert (found.cost, found.crosscuts, found.counts) == (500, 2, (1,))


def test_all_is_proven_where_all_is_listed() -> None:
    """Three more ribs are welcome, a piece of 28 in has room for one: no plan has two, none draws nothing."""
    job = replace(TINY, offcuts=(replace(PIECE, length=28 * INCH),), blanks=(replace(RIB, extra=3),))
    job = replace(job, shop=replace(job.shop, keeper_length=100 * INCH))
    found = plan(job, options=LONG)
    lesser = found.proof.lesser
    assert lesser is not None
    assert (dict(found.extra), lesser.extras, lesser.offcuts) == ({"Rib": 1}, 1, 1)
    cuts = count_crosscuts(found.offcuts[0].segments, 28 * INCH, job.shop.crosscut_kerf)
    assert 2 <= lesser.crosscuts <= cuts == 3


def test_bounds_without_a_listing_follow_from_prices_and_volumes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where not all can be listed the bounds are weaker, but hold: the plan of the longer search keeps to them."""
    job = replace(
        TINY, offcuts=(replace(PIECE, qty=3, length=28 * INCH),), blanks=(replace(RIB, need=3, extra=2),)
    )
    best = plan(job, options=LONG)
    monkeypatch.setattr(Search, "_recut", lambda *_: False)
    found = plan(job, options=LONG)
    proof, sure = found.proof.lesser, best.proof.lesser
    assert proof is not None
    assert sure is not None
    assert proof.extras >= sure.extras >= sum(count for _, count in best.extra)
    assert 1 <= proof.offcuts <= sure.offcuts <= len(best.offcuts)
    assert 2 <= proof.crosscuts <= sure.crosscuts


def test_what_draws_nothing_has_no_extras() -> None:
    """With no piece that will do all is missing, and an extra never draws an offcut."""
    job = replace(TINY, offcuts=(replace(PIECE, length=5 * INCH),), blanks=(replace(RIB, extra=3),))
    lesser = plan(job).proof.lesser
    assert lesser is not None
    assert (lesser.extras, lesser.offcuts, lesser.crosscuts) == (0, 0, 0)
