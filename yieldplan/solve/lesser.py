"""Bounds of aims 3 and 4: how many extras there can be, how few offcuts and crosscuts there must be.

Each holds for all plans that are no worse than the one found in the aims before it. Where every cutting is listed that
such a plan can use, the integer step over those gives them, with the crosscuts of a cutting counted from below; else
they follow from prices, volumes and numbers.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.model import Lesser
from yieldplan.solve.generate import least_wood

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from yieldplan.model import Job
    from yieldplan.solve.columns import Column
    from yieldplan.solve.kernel import Floats
    from yieldplan.solve.master import Wanted
    from yieldplan.solve.stock import Stock


def most_extras(dear: Floats, extra: Sequence[int], room: float) -> int:
    """Return a number of extras that no plan exceeds which draws at most ``room`` more than the Lagrangian bound.

    ``dear`` (kinds,) is what an extra of each kind raises that bound by.
    """
    total = 0
    for k in np.argsort(dear, kind="stable").tolist():
        count = min(extra[k], int((room + 1e-6) / dear[k])) if dear[k] > 0 else extra[k]
        total += count
        room -= count * float(dear[k])
    return total


def fewest_offcuts(stocks: Sequence[Stock], wanted: Wanted, missing: Mapping[int, int]) -> int:
    """Return how many offcuts it takes at the least, by volume, if so many blanks of each class are missing."""
    least = [math.inf] * len(wanted.need)
    for stock in stocks:
        for k, wood in least_wood(stock):
            least[k] = min(least[k], wood)
    lacking = 0.0
    for priority, left_out in missing.items():
        kinds = wanted.members(priority)
        each = sorted(wood for k in kinds for wood in [least[k]] * wanted.need[k])
        lacking += sum(each[: len(each) - left_out])
    sizes = sorted(
        volume
        for stock, copies in zip(stocks, wanted.copies, strict=True)
        for volume in [stock.offcut.volume] * copies
    )
    count = 0
    while lacking > 0 and sizes:
        lacking -= sizes.pop()
        count += 1
    return count


def fewest_crosscuts(*, blanks: int, lengths: int, offcuts: int, abreast: int, trimmed: bool) -> int:
    """Return how many crosscuts it takes at the least.

    On one offcut B billets take B + 1 cuts; M more on their sticks make at most ``abreast`` B + M blanks, of at most
    B + 2 M lengths. A billet at an end saves a cut there, but with an end trim (R1) each of its sticks takes one more.

    Parameters
    ----------
    blanks, lengths
        How many blanks are cut, and of how many different lengths.
    offcuts
        From how many offcuts: no more than that if there is an end trim, else no fewer.
    abreast
        How many sticks there can be side by side.
    trimmed
        Whether there is an end trim.
    """
    whole = max(-(-(lengths + 3 * offcuts) // 2), -(-blanks // abreast) + offcuts)
    return max(0, whole - (0 if trimmed else 2 * offcuts))


def abreast(stock: Stock) -> int:
    """Return how many sticks an offcut may give side by side at the most, by area."""
    return stock.offcut.width * stock.offcut.thickness // min(s.across_y * s.across_z for s in stock.sticks)


def by_numbers(
    job: Job,
    stocks: Sequence[Stock],
    wanted: Wanted,
    missing: Mapping[int, int],
    *,
    drawn: int,
    extras: int,
) -> Lesser:
    """Return bounds by volumes and numbers, for plans that miss so many blanks of each class.

    ``drawn`` is how many offcuts the plan found draws, ``extras`` what is known to be the most.
    """
    offcuts, trimmed = min(drawn, fewest_offcuts(stocks, wanted, missing)), job.shop.end_trim > 0
    surely = {
        blank.length
        for blank, need in zip(job.blanks, wanted.need, strict=True)
        if need > missing[blank.priority]
    }
    crosscuts = fewest_crosscuts(
        blanks=sum(wanted.need) - sum(missing.values()),
        lengths=len(surely),
        offcuts=offcuts if trimmed else drawn,
        abreast=max(map(abreast, stocks)),
        trimmed=trimmed,
    )
    return Lesser(extras=extras, offcuts=offcuts, crosscuts=crosscuts)


def from_below(columns: Iterable[Column], stocks: Sequence[Stock], job: Job) -> list[Column]:
    """Return columns that cost what any of their kind do at the least, in net worth and in crosscuts."""
    most = [abreast(stock) for stock in stocks]
    return [
        replace(
            column,
            cost=column.low,
            crosscuts=fewest_crosscuts(
                blanks=sum(column.counts),
                lengths=len(
                    {blank.length for blank, count in zip(job.blanks, column.counts, strict=True) if count}
                ),
                offcuts=1,
                abreast=most[column.stock],
                trimmed=job.shop.end_trim > 0,
            ),
        )
        for column in columns
    ]
