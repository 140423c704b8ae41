"""Pieces packed into bars with next to no waste, exactly: so a bar fewer, or what is missing into the same bars.

Arc flow (Valerio de Carvalho 1999, from memory). Of pieces of size s there are d_s; x_as bars have one from a to a + s,
the larger before the smaller; e_a bars end at a: ::

    sum over a of x_as = d_s
    e_a = (x that end at a) - (x that begin at a) >= 0                      for every a > 0
    sum of e_a over a > t  <=  bars that hold more than t                   for t = 0 and what any bar holds

No bar wastes more than all may together, so few arcs are left where little may be wasted.
"""

from __future__ import annotations

import math
from collections import Counter
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from yieldplan.model.recut import refilled
from yieldplan.solve.bench import pushed_together

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Job, OffcutPlan
    from yieldplan.solve.budget import Budget

    Arc = tuple[int, int]

MOST_ARCS = 5_000
"""Arcs beyond which it is not tried: that may take long. Bench bars have 600 to 3,000, solved in a second."""

FOR_ARC = 2e-4
"""Seconds that an arc counts for (:class:`~yieldplan.solve.budget.Budget`), as measured on bench bars."""


def repacked(
    job: Job, drawn: Sequence[OffcutPlan], loose: Iterable[str], budget: Budget
) -> tuple[OffcutPlan, ...] | None:
    """Return drawings with their blanks and the loose ones (names) on their sticks; None where that was not found.

    All blanks have one section, and the wood is sound and suits any of them. Sticks without a blank go.
    """
    shop = job.shop
    sticks = [
        (part.start + shop.stick_trim, part.end - shop.stick_trim + shop.crosscut_kerf, stick)
        for piece in drawn
        for part in piece.jointed
        for strip in part.strips
        for stick in strip.sticks
    ]
    names = [cut.blank for _, _, stick in sticks for cut in stick.blanks]
    blanks = [job.blank(name) for name in (*names, *loose)]
    spans = [blank.length + shop.length_allowance + shop.crosscut_kerf for blank in blanks]
    unit = math.gcd(*spans)
    held = packed(
        [span // unit for span in spans], [(end - start) // unit for start, end, _ in sticks], budget
    )
    if held is None:
        return None
    return refilled(
        drawn,
        (
            pushed_together(shop, [blanks[n] for n in row], start)
            for (start, _, _), row in zip(sticks, held, strict=True)
        ),
    )


def packed(sizes: Sequence[int], rooms: Sequence[int], budget: Budget) -> list[list[int]] | None:
    """Return which pieces (indices) lie on each bar so that all are laid; None where that was not found."""
    arcs = _arcs(Counter(sizes), rooms)
    if not arcs or len(arcs) > MOST_ARCS:
        return None
    budget.spend(FOR_ARC * len(arcs))
    order, longest = sorted(set(sizes)), max(rooms)
    begins, size = np.array(arcs).T
    every = np.arange(len(arcs))
    ends = coo_array(
        (np.repeat((1, -1), len(arcs)), (np.append(begins + size, begins), np.append(every, every))),
        shape=(longest + 1, len(arcs)),
    ).tocsr()
    laid = coo_array((np.ones(len(arcs)), (np.searchsorted(order, size), every))).tocsr()
    steps = sorted({0, *rooms} - {longest})
    beyond = np.array([[at > step for at in range(longest + 1)] for step in steps], np.int64)
    count = [Counter(sizes)[one] for one in order]
    found = milp(
        np.zeros(len(arcs)),
        constraints=[
            LinearConstraint(ends[1:], 0, np.inf),
            LinearConstraint(laid, count, count),
            LinearConstraint(beyond @ ends, 0, [sum(room > step for room in rooms) for step in steps]),
        ],
        integrality=np.ones(len(arcs)),
        bounds=Bounds(0, np.inf),
        options={"time_limit": max(budget.left, 0.1)},
    )
    if found.x is None:
        return None
    return _laid(sizes, rooms, Counter(dict(zip(arcs, np.rint(found.x).astype(int).tolist(), strict=True))))


def _arcs(wanted: Counter[int], rooms: Sequence[int]) -> list[Arc]:
    """Return where pieces may begin on a bar, with their size; nothing where they are more than the bars hold."""
    waste, longest = sum(rooms) - sum(wanted.elements()), max(rooms)
    reached, found = {0}, list[tuple[int, int]]()
    for size in sorted(wanted, reverse=True):
        fresh = reached
        for _ in range(wanted[size]):
            fresh = {at + size for at in fresh if at + size <= longest} - reached
            reached = reached | fresh
        found += product((at for at in reached if at + size <= longest), (size,))
    ends = set(range(min(rooms) - waste, longest + 1))
    kept = []
    for at, size in sorted(found, reverse=True):
        if at + size in ends:
            ends.add(at)
            kept.append((at, size))
    return kept if waste >= 0 else []


def _laid(sizes: Sequence[int], rooms: Sequence[int], flow: Counter[Arc]) -> list[list[int]]:
    """Return which pieces lie on each bar, out of how many bars have a piece of each size from where on."""
    loose: dict[int, list[int]] = {}
    for piece, size in enumerate(sizes):
        loose.setdefault(size, []).append(piece)
    rows: list[tuple[int, list[int]]] = []
    while left := sorted(+flow):
        at, row = 0, list[int]()
        while arc := next((arc for arc in left if arc[0] == at and flow[arc]), None):
            flow[arc] -= 1
            row.append(loose[arc[1]].pop())
            at += arc[1]
        rows.append((at, row))
    rows.sort(reverse=True)
    found: list[list[int]] = [[] for _ in rooms]
    for bar, (_, row) in zip(sorted(range(len(rooms)), key=lambda bar: -rooms[bar]), rows, strict=False):
        found[bar] = row
    return found
