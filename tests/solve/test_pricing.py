"""Pricing: the value of the best cutting of an offcut at given prices."""

from __future__ import annotations

import numpy as np
import pytest
from small_stocks import ready, small_stocks
from strategies import small_job

from yieldplan.model import Blank, Job, Offcut, worth
from yieldplan.solve.kernel import piece_worth
from yieldplan.solve.pricing import GRID, Priced, on_grid, price
from yieldplan.solve.settle import EXACT
from yieldplan.solve.stock import make_rule

INCH = 8128
STOCKS = small_stocks(range(12))
RIB = Blank(name="Rib", need=1, length=12 * INCH, width=2 * INCH, thickness=3 * INCH // 4)
PIECE = Offcut(name="P", length=20 * INCH, width=3 * INCH, thickness=INCH)


def test_prices_go_down_to_the_grid_and_to_their_limit() -> None:
    """Never above the limit, never 0 unless the limit is: a wanted blank beats waste."""
    prices = on_grid(np.array([1 / 3, 9.0, -1.0, 0.0]), np.array([np.inf, 5.0, np.inf, 0.0]))
    assert prices.tolist() == [(GRID // 3) / GRID, 5.0, 1 / GRID, 0.0]


def test_one_rib_by_hand() -> None:
    """A rib of 12 in comes out of a piece of 20 x 3 x 1 in once, and nothing is left to keep."""
    (stock,) = ready(Job(offcuts=(PIECE,), blanks=(RIB,)))
    assert price(stock, np.array([1000.0])).best == 1000.0


def test_a_rib_and_a_strip_that_is_kept_by_hand() -> None:
    """From 4 in of width a strip of 1 23/32 in goes back on the rack, 20 in long, 31/32 in thick."""
    piece = Offcut(name="P", length=20 * INCH, width=4 * INCH, thickness=INCH)
    job = Job(offcuts=(piece,), blanks=(RIB,))
    (stock,) = ready(job)
    kept = worth(
        20 * INCH, 4 * INCH - INCH // 32 - (2 * INCH + INCH // 8) - INCH // 8, 31 * INCH // 32, job.shop
    )
    assert price(stock, np.array([1000.0])).best == 1000.0 + kept


def test_a_leftover_is_worth_the_exact_floor() -> None:
    """The kernel's worth agrees with the integers over many sizes."""
    for job, stock, _ in STOCKS:
        rule = make_rule(job.shop)
        for length in range(INCH, stock.offcut.length, 5 * INCH + 77):
            for width in range(INCH // 2, stock.offcut.width, 3333):
                exact = worth(length, width, stock.offcut.thickness, job.shop)
                assert piece_worth(length, width, stock.offcut.thickness, rule) == exact


def test_dearer_blanks_never_lower_the_value() -> None:
    """More for every blank cannot make the best cutting worth less."""
    for _, stock, prices in STOCKS:
        assert price(stock, prices * 2).best >= price(stock, prices).best


def test_leftovers_counted_from_above_bound_the_value() -> None:
    """The value for bounds is never below the value itself."""
    for _, stock, prices in STOCKS:
        assert price(stock, prices, upper=True).best >= price(stock, prices).best


def test_without_keepers_only_blanks_count() -> None:
    """At one for each blank the value is a number of blanks, and no more than with keepers."""
    for job, stock, _ in STOCKS:
        ones = np.ones(len(job.blanks))
        value = price(stock, ones, keepers=False).best
        assert value == int(value)
        assert value <= price(stock, ones).best


@pytest.mark.parametrize("seed", range(3))
def test_priced_twice_is_priced_alike(seed: int) -> None:
    """The same prices give the same values at every level."""
    job = small_job(seed)
    prices = np.full(len(job.blanks), 500.0)
    for stock in ready(job):
        one, other = price(stock, prices), price(stock, prices)
        assert np.array_equal(one.worked.billets.value, other.worked.billets.value)
        assert np.array_equal(one.worked.nodes.rest, other.worked.nodes.rest)


def test_closer_looks_only_ever_lower_the_value() -> None:
    """A bound by area is never below the value without defects, nor that below the exact one."""
    lowered = 0
    for _, stock, prices in STOCKS:
        priced = Priced(stock, prices, upper=False, keepers=True)
        priced.find_best(np.inf)
        by_area = priced.worked.billets.value.copy()
        assert priced.find_all(-1.0)
        assert ((priced.worked.billets.level == EXACT) | (priced.worked.billets.value == 0)).all()
        assert (priced.worked.billets.value <= by_area).all()
        lowered += int((priced.worked.billets.value < by_area).sum())
    assert lowered


def test_the_best_value_needs_no_look_at_everything() -> None:
    """Looking only at what can be on the best path gives the same value as looking at every billet."""
    spared = 0
    for _, stock, prices in STOCKS:
        priced = price(stock, prices)
        spared += int((priced.worked.billets.level != EXACT).sum())
        best = priced.best
        priced.find_all(-1.0)
        assert priced.best == best
    assert spared


def test_no_closer_look_than_the_floor_asks_for() -> None:
    """Where an offcut cannot be worth cutting, the value is a bound at most the floor."""
    for _, stock, prices in STOCKS:
        best = price(stock, prices).best
        assert best <= price(stock, prices, floor=best + 100.0).best <= best + 100.0


def test_tables_that_were_given_up_are_worked_out_anew() -> None:
    """The value stays known meanwhile, the work stays counted, and every billet is valued as before."""
    for _, stock, prices in STOCKS:
        priced, fresh = price(stock, prices), Priced(stock, prices, upper=False, keepers=True)
        best, seconds = priced.best, priced.seconds
        priced.give_up()
        assert not hasattr(priced, "held")
        assert (priced.best, priced.seconds) == (best, seconds)
        assert priced.find_all(-1.0)
        assert fresh.find_all(-1.0)
        assert priced.best == best
        assert priced.seconds > seconds
        assert np.array_equal(priced.worked.billets.value, fresh.worked.billets.value)


def test_when_told_to_stop_the_value_is_a_bound() -> None:
    """Stopped at the first chance, it is not below the best value, and says that it was stopped."""
    for _, stock, prices in STOCKS:
        priced = Priced(stock, prices, upper=False, keepers=True)
        whole = priced.find_best(-1.0, 0.0)
        best = price(stock, prices).best
        assert priced.best == best if whole else priced.best >= best
