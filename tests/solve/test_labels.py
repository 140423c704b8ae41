"""Listing cuttings: the best of them are worth what the kernels say, and none is lost on the way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_stocks import ready, small_stocks, value

from yieldplan.model import Blank, Job, Offcut, Shop
from yieldplan.solve.columns import make_column
from yieldplan.solve.labels import Opener, OutOfTimeError
from yieldplan.solve.pricing import price
from yieldplan.solve.trace import best_cutting

INCH = 8128
STOCKS = small_stocks(range(16))
FEW = STOCKS[:24]


def test_the_best_cutting_is_worth_the_value_of_the_kernels() -> None:
    """Kernel value = value of the best label = worth of the cutting made of it, blanks at their prices.

    Both for the one read back from the kernels and for the listed ones. Where the best is to keep all, there is none.
    """
    listed = 0
    for job, stock, prices in STOCKS:
        priced = price(stock, prices)
        one = best_cutting(priced)
        found = Opener(priced).cuttings(priced.best)
        assert bool(found) == any(one.counts)
        for label in (*found, one):
            column = make_column(0, stock, label, job)
            assert value(label, priced) == priced.best
            assert stock.cost - column.cost + float(np.dot(prices, column.counts)) == priced.best
            listed += 1
    assert listed > 30


def test_a_wider_slack_lists_the_same_cuttings_and_more() -> None:
    """A listing with a small slack is one with a larger slack, filtered."""
    more = 0
    for _, stock, prices in FEW:
        priced = price(stock, prices)
        near, far = 0.98 * priced.best, 0.95 * priced.best
        few, many = (
            {(label.counts, label.worth) for label in Opener(priced).cuttings(least)} for least in (near, far)
        )
        assert few == {
            (counts, kept) for counts, kept in many if float(np.dot(counts, priced.prices)) + kept >= near
        }
        more += len(many) > len(few)
    assert more


def test_no_listed_cutting_beats_another_in_everything() -> None:
    """A cutting with no more of any blank and no more kept is left out."""
    for _, stock, prices in FEW:
        priced = price(stock, prices)
        rows = [(*label.counts, label.worth) for label in Opener(priced).cuttings(0.95 * priced.best)]
        for one in rows:
            better = [o for o in rows if o is not one and all(a >= b for a, b in zip(o, one, strict=True))]
            assert not better


def test_no_more_blanks_are_listed_than_are_wanted() -> None:
    """Caps hold for every listed cutting."""
    for _, stock, prices in FEW:
        caps = tuple(1 for _ in stock.kinds)
        priced = price(stock, prices)
        for label in Opener(priced, caps).cuttings(0.8 * priced.best):
            assert max(label.counts) <= 1


def test_caps_lose_no_cutting_to_one_with_a_surplus_blank() -> None:
    """One A and two B: a stick of A and B beats one of B alone, but two such sticks hold an A too many.

    Both strips of the piece hold a stick of 12 + 15 in; only one A is wanted.
    """
    shop = Shop(length_allowance=0, keeper_length=1000 * INCH)
    one = Blank(name="A", need=1, length=12 * INCH, width=2 * INCH, thickness=3 * INCH // 4)
    blanks = (one, replace(one, name="B", need=2, length=15 * INCH))
    piece = Offcut(name="P", length=29 * INCH, width=9 * INCH // 2, thickness=INCH)
    (stock,) = ready(Job(offcuts=(piece,), blanks=blanks, shop=shop))
    priced = price(stock, np.array([100.0, 100.0]))
    assert priced.best == 400.0
    listed = {label.counts for label in Opener(priced, (1, 2)).cuttings(300.0)}
    assert (1, 2) in listed


def test_leftovers_counted_from_above_hide_no_cutting() -> None:
    """Every cutting near the best is also listed when leftovers count for more."""
    for _, stock, prices in FEW:
        priced, upper = price(stock, prices), price(stock, prices, upper=True)
        least = 0.97 * priced.best
        loose = [label.counts for label in Opener(upper).cuttings(least)]
        for label in Opener(priced).cuttings(least):
            assert any(all(a >= b for a, b in zip(c, label.counts, strict=True)) for c in loose)


def test_beyond_its_limit_it_gives_up() -> None:
    """A listing that takes too much work ends with an error instead of a partial list."""
    _, stock, prices = next((j, s, p) for j, s, p in STOCKS if price(s, p).best > s.cost)
    with pytest.raises(OutOfTimeError):
        Opener(price(stock, prices), limit=0.0).cuttings(0.0)


def test_it_says_when_labels_were_left_out() -> None:
    """With room for a single label at a node the listing is no longer whole."""
    for _, stock, prices in FEW:
        priced = price(stock, prices)
        opener = Opener(priced, most=1)
        fewer = opener.cuttings(0.9 * priced.best)
        every = Opener(priced).cuttings(0.9 * priced.best)
        if len(every) > len(fewer):
            assert not opener.whole
            return
    pytest.fail("no listing was long enough")


def test_billets_that_share_their_labels_are_worth_the_same() -> None:
    """Without a defect in the way a billet's value depends on its length and trims alone, where it is rooted."""
    shared = 0
    for _, stock, prices in STOCKS:
        priced = price(stock, prices)
        like = stock.alike[0]
        for one in np.unique(like):
            arcs = [int(arc) for arc in np.nonzero(like == one)[0][:4] if stock.arcs.relevant[arc] == 0]
            values = set()
            for arc in arcs:
                row, n = priced.row_of_strips(arc, 0)
                values.add(float(row.spots.best[n]))
            assert len(values) <= 1
            shared += len(arcs) > 1
    assert shared > 30
