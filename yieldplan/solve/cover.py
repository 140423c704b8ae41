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
    from collections.abc import Iterator, Sequence

MOST_WAYS = 5000
"""Ways to fill a bar beyond which they are not listed: the model would take longer than trying."""

MOST_LOOKS = 600_000
"""Rows of pieces that are looked at for ways, about a second."""

MOST_WORK = 4.0
"""Deterministic seconds that the model may take."""


def ways_to_fill(room: int, waste: int, pieces: Counter[int]) -> list[dict[int, int]] | None:
    """Return every way to fill a bar that wastes no more; None where there are too many, or looking takes too long."""
    sizes = sorted(pieces, reverse=True)
    found: list[dict[int, int]] = []
    looked = 0
    stack: list[tuple[int, int, tuple[tuple[int, int], ...]]] = [(0, room, ())]
    while stack:
        at, left, held = stack.pop()
        looked += 1
        if left <= waste:
            found.append(dict(held))
        if looked > MOST_LOOKS or len(found) > MOST_WAYS:
            return None
        for n in range(at, len(sizes)):
            size = sizes[n]
            rests = ((count, left - count * size) for count in range(1, min(pieces[size], left // size) + 1))
            stack.extend(
                (n + 1, rest, (*held, (size, count)))
                for count, rest in rests
                if rest <= waste or (rest >= sizes[-1] and n + 1 < len(sizes))
            )
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
        held = [(way[size], one) for way, one in zip(ways, taken, strict=True) if size in way]
        if not held:
            return None
        model.add(sum(a * one for a, one in held) == count)
    model.add(sum(taken) <= bars)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = MOST_WORK
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    chosen = [way for way, one in zip(ways, taken, strict=True) for _ in range(solver.value(one))]
    return list(_dealt(sizes, chosen, bars))


def _dealt(sizes: Sequence[int], ways: Sequence[dict[int, int]], bars: int) -> Iterator[list[int]]:
    """Yield the pieces of each bar: those that a way holds too many of are left away."""
    left: dict[int, list[int]] = {}
    for number, size in enumerate(sizes):
        left.setdefault(size, []).append(number)
    for way in ways:
        yield [left[size].pop() for size, count in way.items() for _ in range(min(count, len(left[size])))]
    for _ in range(bars - len(ways)):
        yield []
