"""A plan from the linear relaxation: rounded column by column, and relaxed anew for what is left of the batch.

The residual heuristic of the cutting stock problem (Waescher & Gau 1996, OR Spektrum 18; Poldi & Arenales 2009; from
memory). Its columns hold no more blanks than are left to make, so that few blanks of many lengths find their places.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from yieldplan.solve.columns import Column
    from yieldplan.solve.generate import Aim, Generator

ALMOST = 1e-6
"""How far below a whole number a share counts as whole."""


def dive(generator: Generator, aim: Aim, stop: Callable[[], bool]) -> list[Column] | None:
    """Return columns that make the whole batch, None where that does not come out or ``stop`` says so.

    Parameters
    ----------
    generator
        One for the whole batch; what is found goes into its pool.
    aim
        With cost, and with no blank missing in any class.
    stop
        Asked again and again.
    """
    wanted = generator.wanted
    found: list[Column] = []
    while any(wanted.need):
        rest = generator.rest(wanted)
        if not rest.run(aim, stop):
            return None
        need, copies = list(wanted.need), list(wanted.copies)
        for column, times in rounded(rest.shares(aim)):
            found += [column] * times
            copies[column.stock] -= times
            need = [max(0, n - times * count) for n, count in zip(need, column.counts, strict=True)]
        if tuple(need) == wanted.need:
            return None
        wanted = replace(wanted, need=tuple(need), copies=tuple(copies))
    return found


def rounded(shares: Sequence[tuple[Column, float]]) -> list[tuple[Column, int]]:
    """Return the columns that are used once or more, rounded down; where there is none, that of the largest share."""
    whole = [(column, int(share + ALMOST)) for column, share in shares if share >= 1 - ALMOST]
    if whole or not shares:
        return whole
    return [(max(shares, key=lambda each: each[1])[0], 1)]
