"""Pieces packed into bars of one length with next to no waste, out of a list of every way to fill a bar.

With Q the ways q to fill a bar (a_iq pieces of size i) that waste no more than all m bars may together, and d_i the
pieces of each size:

    x_q >= 0 whole:   sum over q of a_iq x_q = d_i for every i,   sum over q of x_q <= m

Where so little may be wasted that Q is short, that is solved to the end; else nothing is said (ways as columns:
Gilmore & Gomory 1961, from memory).
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

if TYPE_CHECKING:
    from collections.abc import Sequence

MOST_WAYS = 5000
"""Ways to fill a bar beyond which they are not listed, nor are more than a hundred times as many begun, in a second.
Bench bars: without this the triplets of 120 miss a piece; what other limits give was not measured."""


def ways_to_fill(room: int, waste: int, pieces: Counter[int]) -> list[Counter[int]] | None:
    """Return every way to fill a bar that wastes no more; None where there are too many, or too many to begin."""
    sizes = sorted(pieces, reverse=True)
    found: list[Counter[int]] = []
    begun = 0
    stack: list[tuple[int, int, tuple[int, ...]]] = [(0, room, ())]
    while stack:
        at, left, held = stack.pop()
        begun += 1
        if left <= waste:
            found.append(Counter(held))
        if begun > 100 * MOST_WAYS or len(found) > MOST_WAYS:
            return None
        for n in range(at, len(sizes)):
            for count in range(1, min(pieces[sizes[n]], left // sizes[n]) + 1):
                rest = left - count * sizes[n]
                if rest <= waste or (rest >= sizes[-1] and n + 1 < len(sizes)):
                    stack.append((n + 1, rest, (*held, *(sizes[n],) * count)))
    return found


def cover(sizes: Sequence[int], room: int, bars: int) -> list[list[int]] | None:
    """Return which pieces (indices) lie on each bar so that all are laid; None where that was not found."""
    waste, pieces = bars * room - sum(sizes), Counter(sizes)
    ways = None if waste < 0 else ways_to_fill(room, waste, pieces)
    if ways is None:
        return None
    model = cp_model.CpModel()
    taken = [model.new_int_var(0, bars, "") for _ in ways]
    for size, count in sorted(pieces.items()):
        model.add(sum(way[size] * one for way, one in zip(ways, taken, strict=True) if way[size]) == count)
    model.add(sum(taken) <= bars)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = 4
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    left: dict[int, list[int]] = {}
    for number, size in enumerate(sizes):
        left.setdefault(size, []).append(number)
    chosen = [way for way, one in zip(ways, taken, strict=True) for _ in range(solver.value(one))]
    return [[left[size].pop() for size in way.elements()] for way in chosen] + [[]] * (bars - len(chosen))
