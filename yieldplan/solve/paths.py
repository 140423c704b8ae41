"""Longest paths in the row graphs, and the three questions that are asked of them.

A row of pieces is a path through an acyclic graph whose nodes are numbered so that every arc goes up. An arc a from u
to v has a value w(a): a piece, a gap, a leftover. With

    F(0) = 0,   F(v) = max { F(u) + w(a) : a = (u, v) }

the best value is F(END) (Gilmore & Gomory 1965, from memory; with defects Hahn 1968, from memory). Arcs are put in
order of their tails, so that F(u) is final when the arcs out of u are put, and putting an arc is relaxing it.

1. best value: F(END); 2. best path: back along the arc that set F; 3. all paths within a slack s: back along every
arc a = (u, v) with F(u) + w(a) >= F(v) - what is left of s.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np  # noqa: TC002 - kernels read it
from numba import njit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

_OPTIONS: dict[str, Any] = {"cache": True, "nogil": True, "no_cfunc_wrapper": True, "_nrt": False}

compiled: Any = njit(**_OPTIONS)
"""Compiles a function that makes no arrays, and calls none that returns one it made: nobody counts then who holds the
arrays that it is given, which takes longer than what most of these functions do."""

NEVER = -(1 << 60)
"""The value of what cannot be reached, scaled as all values are."""

TAIL, HEAD, VALUE, LABEL = 0, 1, 2, 3


@compiled
def open_graph(best, via, nodes):  # type: ignore[no-untyped-def]
    """Forget the last graph: only node 0 can be reached."""
    for node in range(nodes):
        best[node] = NEVER
        via[node] = -1
    best[0] = 0


@compiled
def put(arcs, count, best, via, arc):  # type: ignore[no-untyped-def]
    """Put an arc (tail, head, value, label) behind the ``count`` that there are and relax it; return how many are.

    It is not put where its tail cannot be reached or there is no room: a caller sees to it that there is.
    """
    tail, head, value, label = arc
    if best[tail] <= NEVER or value <= NEVER:
        return count
    arcs[count, TAIL] = tail
    arcs[count, HEAD] = head
    arcs[count, VALUE] = value
    arcs[count, LABEL] = label
    if best[tail] + value > best[head]:
        best[head] = best[tail] + value
        via[head] = count
    return count + 1


def best_path(arcs: Ints, via: Ints, end: int) -> list[int]:
    """Return the labels along the best path to a node."""
    found = []
    while end:
        arc = via[end]
        if arc < 0:
            raise ValueError("the node cannot be reached")
        found.append(int(arcs[arc, LABEL]))
        end = int(arcs[arc, TAIL])
    return found[::-1]


def paths_within(
    arcs: Ints, count: int, best: Ints, end: int, slack: int
) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Yield what each path to a node falls short of the best by, at most ``slack``, and its labels."""
    into: dict[int, list[int]] = {}
    for number in range(count):
        into.setdefault(int(arcs[number, HEAD]), []).append(number)
    stack: list[tuple[int, int, tuple[int, ...]]] = [(end, 0, ())]
    while stack:
        node, short, labels = stack.pop()
        if not node:
            yield short, labels
            continue
        for number in into.get(node, ()):
            tail = int(arcs[number, TAIL])
            more = short + int(best[node] - best[tail] - arcs[number, VALUE])
            if more <= slack:
                stack.append((tail, more, (int(arcs[number, LABEL]), *labels)))
