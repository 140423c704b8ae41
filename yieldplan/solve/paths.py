"""Longest paths in the row graphs, and the three questions that are asked of them.

A row of pieces is a path through an acyclic graph whose nodes are numbered so that every arc goes up. An arc a from u
to v has a value w(a): a piece, a gap, a leftover. With

    F(0) = 0,   F(v) = max { F(u) + w(a) : a = (u, v) }

the best value is F(END) (Gilmore & Gomory 1965, from memory; with defects Hahn 1968, from memory). Arcs are put in
order of their tails, so that F(u) is final when the arcs out of u are put, and putting an arc is relaxing it.

1. best value: F(END); 2. best path: back along the arc that set F; 3. all paths within a slack s: back along every
arc a = (u, v), which falls short by F(v) - F(u) - w(a), as long as the sum is at most s.
"""

from __future__ import annotations

import heapq
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

T = TypeVar("T")

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


@compiled
def arcs_within(arcs, count, best, end, slack, behind, kept):  # type: ignore[no-untyped-def]
    """List in ``kept`` the arcs on paths to ``end`` that fall short by no more than ``slack``; return how many.

    ``behind`` is scratch: by how much the rest of the best path through a node falls short, -1 where there is none.
    """
    for node in range(end):
        behind[node] = -1
    behind[end] = 0
    many = 0
    for arc in range(count - 1, -1, -1):
        tail, head = arcs[arc, TAIL], arcs[arc, HEAD]
        if head <= end and behind[head] >= 0:
            short = best[head] - best[tail] - arcs[arc, VALUE] + behind[head]
            if short <= slack:
                kept[many] = arc
                many += 1
                if behind[tail] < 0 or short < behind[tail]:
                    behind[tail] = short
    return many


def paths_within(
    graph: tuple[Ints, int, Ints],
    end: int,
    slack: int,
    begin: T,
    follow: Callable[[T | None, T, int, int], T | None],
) -> T | None:
    """Gather all paths to a node that fall short of its best by no more than ``slack``, from the node back to 0.

    ``graph`` is (arcs, how many, best values). What is gathered at a node is ``begin`` at the end;
    ``follow(there, here, short, label)`` adds to what is ``there`` at an arc's tail (None at first) what is ``here`` at
    its head and falls ``short`` by so much more along it; it drops what falls short by too much in all.
    """
    arcs, count, best = graph
    kept = np.empty(count, np.int64)
    arcs = arcs[kept[: arcs_within(arcs, count, best, end, slack, np.empty(end + 1, np.int64), kept)]]
    short = best[arcs[:, HEAD]] - best[arcs[:, TAIL]] - arcs[:, VALUE]
    into: dict[int, list[tuple[int, int, int]]] = {}
    for (tail, head, _, label), less in zip(arcs.tolist(), short.tolist(), strict=True):
        into.setdefault(head, []).append((tail, less, label))
    found, waiting = {end: begin}, [-end]
    while waiting and waiting[0]:
        node = -heapq.heappop(waiting)
        here = found.pop(node)
        for tail, less, label in into.get(node, ()):
            known = found.get(tail)
            more = follow(known, here, less, label)
            if more is not None:
                if known is None:
                    heapq.heappush(waiting, -tail)
                found[tail] = more
    return found.get(0)
