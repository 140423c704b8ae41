"""Random small jobs made ready for pricing, and random prices for them."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import numpy as np
from strategies import small_job

from yieldplan.model import worth
from yieldplan.solve.pricing import on_grid
from yieldplan.solve.stock import Stock, classes, prepare

if TYPE_CHECKING:
    from yieldplan.model import Job
    from yieldplan.solve.kernel import Floats
    from yieldplan.solve.labels import Label
    from yieldplan.solve.pricing import Priced


def ready(job: Job) -> list[Stock]:
    """Return the classes of like offcuts from which something can be cut, prepared."""
    prepared = (prepare(offcut, members, job, thorough=True) for offcut, members in classes(job))
    return [stock for stock in prepared if stock is not None]


def some_prices(job: Job, seed: int) -> Floats:
    """Return a price for each blank, between nothing and five times what its wood is worth."""
    pick = random.Random(seed)
    prices = [
        pick.choice((0.0, 2.0, 3 + pick.random(), 5.0))
        * worth(blank.length, blank.width, blank.thickness, job.shop)
        for blank in job.blanks
    ]
    return on_grid(np.array(prices), np.full(len(prices), np.inf))


def small_stocks(seeds: range) -> list[tuple[Job, Stock, Floats]]:
    """Return the stocks of some small jobs, each with prices."""
    found = []
    for seed in seeds:
        job = small_job(seed)
        prices = some_prices(job, seed)
        found += [(job, stock, prices) for stock in ready(job)]
    return found


def value(label: Label, priced: Priced) -> float:
    """Return what a label is worth: its blanks at their prices, and its keepers."""
    return float(np.dot(label.counts, priced.prices)) + label.worth
