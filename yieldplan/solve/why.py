"""What was tried on one offcut: the cuttings that came up, and what the batch would draw with each of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.model import WholeKeeper, billets_of

if TYPE_CHECKING:
    from yieldplan.solve.aims import Search
    from yieldplan.solve.columns import Column


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One cutting of the offcut.

    ``blanks`` are (name, count); ``keepers`` how many it leaves; ``draws`` its net worth. No plan that uses it and
    misses no more blanks draws less than ``least`` (None where the search never came to a bound).
    """

    blanks: tuple[tuple[str, int], ...]
    keepers: int
    draws: int
    least: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What was tried on an offcut.

    ``sections`` kinds of stick, ``billets`` places and lengths of billets, ``cuttings`` found in the search; ``chosen``
    how often each is in the plan among offcuts like it; ``best`` alternatives, cheapest for the batch first.
    """

    offcut: str
    alike: int
    sections: int
    billets: int
    cuttings: int
    net_worth: int
    chosen: tuple[tuple[Alternative, int], ...]
    best: tuple[Alternative, ...]


def tried(search: Search, offcut: str, most: int = 5) -> Tried:
    """Return what a finished search tried on an offcut, with at most so many alternatives.

    The least that a plan draws with a cutting is the Lagrangian bound with that cutting's reduced cost in place of the
    offcut's best one.
    """
    found = [i for i, stock in enumerate(search.stocks) if any(name == offcut for name, _ in stock.members)]
    net_worth = search.cost or 0
    if not found:
        return Tried(
            offcut=offcut, alike=0, sections=0, billets=0, cuttings=0, net_worth=net_worth, chosen=(), best=()
        )
    index = found[0]
    stock = search.stocks[index]
    columns = [column for column in search.pool.columns if column.stock == index]
    used = [column for column in search.best or () if column.stock == index]
    others = [_alternative(search, column) for column in columns if column not in used]
    others.sort(key=lambda one: (one.draws if one.least is None else one.least, one.draws, one.blanks))
    return Tried(
        offcut=offcut,
        alike=len(stock.members),
        sections=len(stock.sticks),
        billets=len(stock.arcs),
        cuttings=len(columns),
        net_worth=net_worth,
        chosen=tuple((_alternative(search, column), used.count(column)) for column in dict.fromkeys(used)),
        best=tuple(others[:most]),
    )


def _alternative(search: Search, column: Column) -> Alternative:
    blanks = search.job.blanks
    least = None
    if search.relaxed is not None:
        bound, priced, asked, _ = search.relaxed
        own, stock = priced[column.stock], search.stocks[column.stock]
        prices = asked.own[column.stock]
        if bound > -math.inf and own is not None and stock.complete:
            reduced = column.low - float(np.dot(prices, column.counts)) - own.relief
            best = min(0.0, stock.cost - own.most - stock.slack)
            least = max(math.ceil(bound - best + reduced - 1e-6), int(search.bound), 0)
    return Alternative(
        blanks=tuple(
            (blank.name, count) for blank, count in zip(blanks, column.counts, strict=True) if count
        ),
        keepers=_keepers(column),
        draws=column.cost,
        least=least,
    )


def _keepers(column: Column) -> int:
    """Return how many keepers a cutting leaves."""
    count = 0
    for segment in column.cutting():
        if isinstance(segment, WholeKeeper):
            count += 1
        for strip in (strip for billet in billets_of(segment) for strip in billet.strips):
            count += strip.keeper
            count += sum(stick.keeper + len(stick.keepers) for stick in strip.sticks)
    return count
