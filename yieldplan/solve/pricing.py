"""Pricing: the best value of an offcut at given prices, and with it the bound.

Prices are whole multiples of 2**-20 of a unit of worth, so that every sum below is exact in float64.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.solve import kernel

if TYPE_CHECKING:
    from yieldplan.solve.kernel import Floats
    from yieldplan.solve.stock import Stock

GRID = 2**20
"""Prices are multiples of 1/GRID; that is also the least price of a blank that is wanted at all."""


def on_grid(prices: Floats, limits: Floats) -> Floats:
    """Return prices rounded down to the grid, none above its limit, none below the least unless the limit is."""
    floored = np.floor(np.minimum(prices, limits) * GRID) / GRID
    least = np.where(limits > 0, 1 / GRID, 0.0)
    return np.asarray(np.maximum(floored, least), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Priced:
    """The dynamic programme of one offcut at given prices.

    ``sticks`` (R, arcs), ``billets`` (2, arcs) and ``rest`` (n + 1,) are the values of each level; ``best`` is
    the most that the offcut can give: prices of its blanks plus worth of its keepers.
    """

    prices: Floats
    sticks: Floats
    billets: Floats
    rest: Floats

    @property
    def best(self) -> float:
        """Largest value over all ways to cut the offcut."""
        return float(self.rest[0])


def price(stock: Stock, prices: Floats, *, upper: bool = False, keepers: bool = True) -> Priced:
    """Return the best value of an offcut.

    Parameters
    ----------
    stock
        The offcut, prepared.
    prices
        (kinds of the whole batch,) price of a blank of each, on the grid.
    upper
        Ask for an upper bound that holds for every length in between the tried ones too.
    keepers
        Whether keepers are worth anything (not while aim 1 is in hand).
    """
    own = np.ascontiguousarray(prices[list(stock.kinds)])
    rule = stock.rule if keepers else stock.rule._replace(per_volume=0.0, keeper_length=1 << 60)
    growth = stock.growth if upper and keepers else np.zeros_like(stock.growth)
    sticks = kernel.contents(stock.grain, stock.arcs, own, rule)
    offcut = stock.offcut
    values = np.array(
        [
            kernel.billets(
                layout,
                stock.arcs,
                offcut.width,
                offcut.thickness,
                stock.defects,
                stock.masks,
                stock.row_of,
                growth,
                rule,
                sticks,
            )
            for layout in stock.layouts
        ]
    )
    rest = kernel.along(
        stock.nodes,
        stock.anchor,
        stock.first_arc,
        stock.next_node,
        values.max(axis=0),
        offcut.length,
        offcut.width,
        offcut.thickness,
        rule,
    )
    return Priced(own, sticks, values, rest)
