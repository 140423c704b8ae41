"""Column generation: the pool, and a bound that holds at any prices."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from small_stocks import ready, some_prices
from strategies import small_job
from test_master import column
from test_room import heavy

from yieldplan.model import Blank, Job, Offcut
from yieldplan.solve import Options, plan
from yieldplan.solve.generate import Aim, Generator, Pool
from yieldplan.solve.master import Prices, Wanted

if TYPE_CHECKING:
    from yieldplan.solve.kernel import Floats

INCH = 8128


def generator(job: Job) -> Generator:
    """Return a generator with an empty pool and all the time in the world."""
    stocks = ready(job)
    wanted = Wanted(
        need=tuple(blank.need for blank in job.blanks),
        extra=tuple(blank.extra for blank in job.blanks),
        priority=tuple(blank.priority for blank in job.blanks),
        copies=tuple(len(stock.members) for stock in stocks),
    )
    return Generator(
        *(job, stocks, wanted, Pool()),
        left=lambda: math.inf,
        spend=lambda _: None,
        on_round=lambda _: None,
    )


def alike(found: Generator, blanks: Floats) -> Prices:
    """Return prices that are the same for all stocks."""
    return Prices.alike(blanks, len(found.stocks))


def least_worth(job: Job, missing: dict[int, int]) -> Aim:
    """Return aim 2 with the missing blanks of every class held."""
    return Aim(weights=(0.0,) * len(job.blanks), settled=missing, with_cost=True)


def test_the_pool_keeps_the_cheapest_of_equal_counts() -> None:
    """A dearer twin is not added; a cheaper one takes its place; another offcut's is another column."""
    pool = Pool()
    assert pool.add(column(0, (1, 2), 10))
    assert not pool.add(column(0, (1, 2), 12))
    assert pool.add(column(0, (1, 2), 9))
    assert pool.add(column(1, (1, 2), 20))
    assert [(c.stock, c.cost) for c in pool.columns] == [(0, 9), (1, 20)]


def test_the_pool_keeps_cuttings_without_blanks_apart() -> None:
    """No plan has any; the cheapest of each stock is kept for the prices."""
    pool = Pool()
    assert pool.add(column(0, (0, 0), 10))
    assert not pool.add(column(0, (0, 0), 11))
    assert pool.add(column(0, (0, 0), 9))
    assert not pool.columns
    assert [(c.stock, c.cost) for c in pool.empty.values()] == [(0, 9)]


def test_the_pool_prefers_fewer_crosscuts_at_the_same_cost() -> None:
    """It takes the place of the other but is no news to the linear solver."""
    pool = Pool()
    pool.add(column(0, (1,), 10, crosscuts=4))
    assert not pool.add(column(0, (1,), 10, crosscuts=2))
    assert [c.crosscuts for c in pool.columns] == [2]


def test_the_pool_forgets_no_lower_bound() -> None:
    """What is dearer may be cheaper at lengths that were not tried: it stays for the bound, whichever came first."""
    cheap, loose = column(0, (1,), 10), replace(column(0, (1,), 11), low=8)
    for first, second in ((cheap, loose), (loose, cheap)):
        pool = Pool()
        pool.add(first)
        pool.add(second)
        assert [c.cost for c in pool.columns] == [10]
        assert [c.low for c in pool.ghosts.values()] == [8]


def test_generating_by_hand() -> None:
    """Two ribs, two pieces that give one each: both are needed, and their worth is the bound."""
    rib = Blank(name="Rib", need=2, length=12 * INCH, width=2 * INCH, thickness=3 * INCH // 4)
    piece = Offcut(name="P", length=20 * INCH, width=3 * INCH, thickness=INCH, qty=2)
    found = generator(Job(offcuts=(piece,), blanks=(rib,)))
    aim = least_worth(found.job, {1: 0})
    assert found.run(aim, lambda: False)
    assert [c.counts for c in found.pool.columns] == [(1,)]
    bound, _ = found.sure_bound(aim)
    assert np.isclose(bound, 2 * 503)


def test_it_stops_when_told_to() -> None:
    """A run that was stopped does not claim to have looked at everything."""
    found = generator(small_job(8))
    assert not found.run(least_worth(found.job, {1: 0, 2: 0}), lambda: True)


def test_what_takes_long_at_first_is_tried_with_less() -> None:
    """A board too large for the seconds of the first look gives a column all the same; small ones stay whole."""
    job = heavy()
    found, aim = generator(job), Aim(weights=(1e6,) * len(job.blanks), settled={}, with_cost=True)
    before = found.size(0)
    found.look_once(np.full(len(job.blanks), 1e5), aim, 0.1)
    assert found.pool.columns
    assert found.size(0) < before / 10
    assert not found.stocks[0].complete


def test_what_takes_no_long_look_stays_as_it_is() -> None:
    """Small offcuts are looked at as they are."""
    job = small_job(8)
    found, aim = generator(job), Aim(weights=(1e6,) * len(job.blanks), settled={}, with_cost=True)
    before = list(found.stocks)
    found.look_once(np.full(len(job.blanks), 1e5), aim, 3.0)
    assert found.pool.columns
    assert found.stocks == before


@pytest.mark.parametrize("seed", range(12))
def test_the_bound_holds_at_any_prices(seed: int) -> None:
    """Whatever the blanks are priced at, by all stocks or by each, no plan that misses as few draws less."""
    job, rng = small_job(seed), np.random.default_rng(seed)
    best = plan(job, options=Options(seconds=2))
    found = generator(job)
    aim = least_worth(job, dict(best.proof.missing))
    for trial in range(6):
        prices = alike(found, some_prices(job, 100 * seed + trial) / (trial + 1))
        lower = rng.choice([0.0, 0.5, 1.0], prices.own.shape) if trial % 2 else 1.0
        found.best_prices = prices._replace(own=prices.own * lower)
        bound, _ = found.sure_bound(aim)
        assert bound <= best.proof.net_worth + 1e-6


def test_where_places_were_left_out_the_bound_goes_by_volume() -> None:
    """Pricing that is not complete enters no bound: the wood at its dearest use does, and bounds lower."""
    found = generator(small_job(8))
    aim = least_worth(found.job, {1: 0, 2: 0})
    found.best_prices = alike(found, some_prices(found.job, 8))
    exact, _ = found.sure_bound(aim)
    found.stocks = [replace(stock, complete=False) for stock in found.stocks]
    by_volume, _ = found.sure_bound(aim)
    assert by_volume < exact


def test_listing_near_the_bound_adds_every_cutting_within_the_slack() -> None:
    """What is listed at a larger slack holds all that is listed at a smaller one."""
    job = small_job(8)
    pools = []
    for slack in (5.0, 400.0):
        found = generator(job)
        aim = least_worth(job, {1: 0, 2: 0})
        found.run(aim, lambda: False)
        _, priced = found.sure_bound(aim)
        assert found.near(priced, aim, slack, seconds=20.0)
        pools.append({(c.stock, c.counts) for c in found.pool.columns})
    assert pools[0] <= pools[1]
    assert len(pools[0]) < len(pools[1])


def test_a_lower_need_never_has_a_bound_above_the_plan_for_more() -> None:
    """At whatever prices, the bound of the lesser batch is one for the greater batch as well."""
    job = small_job(8)
    best = plan(job, options=Options(seconds=2))
    less = replace(job, blanks=(replace(job.blanks[0], need=job.blanks[0].need - 1), *job.blanks[1:]))
    for divisor in (1, 4, 16):
        found = generator(less)
        found.best_prices = alike(found, some_prices(job, 8) / divisor)
        bound, _ = found.sure_bound(least_worth(less, dict(best.proof.missing)))
        assert bound <= best.proof.net_worth


@pytest.mark.parametrize("seed", [46, 92])
def test_proper_stocks_bound_what_is_missing(seed: int) -> None:
    """A part of a cutting with a surplus makes up for nothing: in some class more must be missing than without them."""
    job = small_job(seed)
    missing = dict(plan(job, options=Options(seconds=5)).proof.missing)
    settled: dict[int, int] = {}
    higher = 0
    for priority, count in missing.items():
        weights = tuple(float(blank.priority == priority) for blank in job.blanks)
        found, aim = generator(job), Aim(weights=weights, settled=dict(settled), with_cost=False)
        found.run(aim, lambda: False)
        first, priced = found.sure_bound(aim)
        last = first
        while found.make_proper(priced, aim):
            found.run(aim, lambda: False)
            bound, priced = found.sure_bound(aim)
            last = max(last, bound)
        assert last <= count + 1e-6
        higher += math.ceil(last - 1e-6) - math.ceil(first - 1e-6)
        settled[priority] = count
    assert higher > 0


@pytest.mark.parametrize("seed", range(12))
def test_proper_bounds_hold(seed: int) -> None:
    """However many stocks are proper, no proven plan draws less than the bound."""
    job = small_job(seed)
    best = plan(job, options=Options(seconds=5))
    found = generator(job)
    aim = least_worth(job, dict(best.proof.missing))
    found.run(aim, lambda: False)
    bound, priced = found.sure_bound(aim)
    found.surplus = set(range(len(found.stocks)))
    while found.make_proper(priced, aim):
        assert found.proper
        found.run(aim, lambda: False)
        bound, priced = found.sure_bound(aim)
        assert bound <= best.proof.net_worth + 1e-6


def test_a_stock_that_takes_long_to_list_is_not_made_proper(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is asked once, and goes on at prices of its own."""
    job = small_job(46)
    found = generator(job)
    aim = Aim(weights=(1.0,) * len(job.blanks), settled={}, with_cost=False)
    found.run(aim, lambda: False)
    _, priced = found.sure_bound(aim)
    monkeypatch.setattr("yieldplan.solve.generate.MOST_PROPER", 0.0)
    assert not found.make_proper(priced, aim)
    assert found.refused
    assert not found.proper
    monkeypatch.setattr("yieldplan.solve.generate.MOST_PROPER", 1.0)
    assert not found.make_proper(priced, aim)
