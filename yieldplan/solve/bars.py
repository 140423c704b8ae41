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
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import LinearConstraint, milp
from scipy.sparse import coo_array

from yieldplan.solve.boards import Milled
from yieldplan.solve.budget import COLUMN
from yieldplan.solve.columns import column_of
from yieldplan.solve.master import left_of
from yieldplan.solve.simple import sawn_for

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.solve.boards import Board
    from yieldplan.solve.budget import Budget
    from yieldplan.solve.columns import Column
    from yieldplan.solve.master import MasterProblem
    from yieldplan.solve.pricing import Pricer

    Arc = tuple[int, int]


def are_bars(pricer: Pricer) -> bool:
    """Return whether any blank may lie on any stick: one section, all wood sound and right for every kind."""
    blanks = pricer.batch.blanks
    return len({(blank.width, blank.thickness) for blank in blanks}) == 1 and not any(
        len(one.wood.defects) or len(one.wood.limits) or len(one.kinds) < len(blanks)
        for one in pricer.classes
    )


def on_fewer_bars(
    pricer: Pricer, problem: MasterProblem, columns: Sequence[Column], budget: Budget
) -> list[Column] | None:
    """Return a plan that makes all out of as few of these bars as can be, milled whole; None if none is found.

    The bars that are dearest for what they hold go first.
    """
    batch, classes, shop = pricer.batch, pricer.classes, pricer.batch.shop
    pieces = [kind for kind, many in enumerate(problem.wanted) for _ in range(many)]
    spans = [int(span) + shop.cross_kerf for span in classes[0].wood.spans]
    unit = math.gcd(*spans)

    def bar(number: int) -> Board:
        """Return a bar that is sawn into as many sticks as it holds, with nothing on them."""
        board, _ = sawn_for(Milled(batch, classes[number]), 0, len(pieces))
        for stick in board.sticks:
            stick.laid.clear()
        return board

    order = sorted(columns, key=lambda column: column.cost / sum(made for _, made in column.counts))
    for many in range(1, len(order) + any(left_of(problem, order).wanted)):
        bars = [(column.offcut_class, bar(column.offcut_class)) for column in order[:many]]
        sticks = [stick for _, board in bars for stick in board.sticks]
        rooms = [(stick.milled.long - 2 * shop.stick_trim + shop.cross_kerf) // unit for stick in sticks]
        held = packed([spans[kind] // unit for kind in pieces], rooms, budget)
        if held is not None:
            for stick, row in zip(sticks, held, strict=True):
                for piece in row:
                    stick.fill(pieces[piece], 1)
            return [
                column_of(batch, number, classes[number].names[0], (billet,))
                for number, board in bars
                if (billet := board.billet())
            ]
    return None


def packed(sizes: Sequence[int], rooms: Sequence[int], budget: Budget) -> list[list[int]] | None:
    """Return which pieces (indices) lie on each bar so that all are laid; None where that was not found."""
    wanted = Counter(sizes)
    arcs = _arcs(wanted, rooms)
    seconds = COLUMN * len(arcs) / 3
    if not arcs or seconds > budget.left:
        return None
    budget.spend(seconds)
    begins, size = np.array(arcs).T
    every, longest = np.arange(len(arcs)), max(rooms)
    ends = coo_array(
        (np.repeat((1, -1), len(arcs)), (np.append(begins + size, begins), np.append(every, every))),
        shape=(longest + 1, len(arcs)),
    ).tocsr()
    order, count = np.unique(sizes, return_counts=True)
    laid = coo_array((np.ones(len(arcs)), (np.searchsorted(order, size), every))).tocsr()
    steps = np.array(sorted({0, *rooms} - {longest}))
    beyond = (np.arange(longest + 1) > steps[:, None]).astype(np.int64)
    found = milp(
        np.zeros(len(arcs)),
        constraints=[
            LinearConstraint(ends[1:], 0, np.inf),
            LinearConstraint(laid, count, count),
            LinearConstraint(beyond @ ends, 0, [sum(room > step for room in rooms) for step in steps]),
        ],
        integrality=np.ones(len(arcs)),
        options={"node_limit": 1},  # those of the bench are solved at the root
    )
    if found.x is None:
        return None
    return _laid(sizes, rooms, Counter(dict(zip(arcs, np.rint(found.x).astype(int).tolist(), strict=True))))


def _arcs(wanted: Counter[int], rooms: Sequence[int]) -> list[Arc]:
    """Return where pieces may begin on a bar, with their size; nothing where they are more than the bars hold."""
    waste, longest = sum(rooms) - sum(wanted.elements()), max(rooms)
    reached = {0}
    found: list[Arc] = []
    kept: list[Arc] = []
    if waste < 0:
        return kept
    for size in sorted(wanted, reverse=True):
        fresh = reached
        for _ in range(wanted[size]):
            fresh = {at + size for at in fresh if at + size <= longest} - reached
            reached = reached | fresh
        found += ((at, size) for at in reached if at + size <= longest)
    ends = set(range(min(rooms) - waste, longest + 1))
    for at, size in sorted(found, reverse=True):
        if at + size in ends:
            ends.add(at)
            kept.append((at, size))
    return kept


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
