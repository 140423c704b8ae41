"""Longest paths in row graphs, against every path of small random graphs."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest

from yieldplan.solve.paths import NEVER, best_path, open_graph, paths_within, put

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

NODES = 8
Arc = tuple[int, int, int, int]
Paths = list[tuple[int, tuple[int, ...]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Graph:
    """A random acyclic graph, its arcs as they were meant, and as they were put."""

    meant: list[Arc]
    arcs: Ints
    count: int
    best: Ints
    via: Ints

    def paths(self, end: int) -> Iterator[tuple[int, tuple[int, ...]]]:
        """Yield the value and the labels of every path from node 0 to a node."""
        if not end:
            yield 0, ()
        for tail, head, value, label in self.meant:
            if head == end:
                for before, labels in self.paths(tail):
                    yield before + value, (*labels, label)


def random_graph(seed: int) -> Graph:
    """Return a graph whose arcs, in order of their tails, go up; some nodes cannot be reached."""
    rng = random.Random(seed)
    pairs = [(a, b) for a in range(NODES) for b in range(a + 1, NODES) if rng.random() < 0.4]
    meant = [(a, b, rng.randrange(-6, 10), label) for label, (a, b) in enumerate(pairs)]
    meant.extend((a, b, rng.randrange(-6, 10), 100 + label) for label, (a, b) in enumerate(pairs[::3]))
    meant.sort()
    arcs, best, via = np.zeros((99, 4), np.int64), np.zeros(NODES, np.int64), np.zeros(NODES, np.int64)
    open_graph(best, via, NODES)
    count = 0
    for arc in meant:
        count = put(arcs, count, best, via, arc)
    return Graph(meant=meant, arcs=arcs, count=count, best=best, via=via)


@pytest.mark.parametrize("seed", range(40))
def test_the_best_value_is_that_of_the_best_of_all_paths(seed: int) -> None:
    """What the graph says of each node is the most that any path to it comes to; NEVER where there is none."""
    graph = random_graph(seed)
    for node in range(NODES):
        assert graph.best[node] == max((value for value, _ in graph.paths(node)), default=NEVER)


@pytest.mark.parametrize("seed", range(40))
def test_the_best_path_comes_to_the_best_value(seed: int) -> None:
    """The labels that are read back are those of a path of the best value."""
    graph = random_graph(seed)
    for node in range(NODES):
        if graph.best[node] > NEVER:
            assert (graph.best[node], tuple(best_path(graph.arcs, graph.via, node))) in set(graph.paths(node))


def test_a_node_that_cannot_be_reached_has_no_best_path() -> None:
    """Asking for it is an error, not an empty path."""
    best, via = np.zeros(3, np.int64), np.zeros(3, np.int64)
    open_graph(best, via, 3)
    with pytest.raises(ValueError, match="cannot be reached"):
        best_path(np.zeros((1, 4), np.int64), via, 2)


@pytest.mark.parametrize("slack", [0, 1, 5, 1000])
@pytest.mark.parametrize("seed", range(20))
def test_paths_within_a_slack_are_all_that_come_so_near(seed: int, slack: int) -> None:
    """Every path that falls short by no more than the slack is given once, with what it falls short by; no other is."""
    graph = random_graph(seed)

    def follow(there: Paths | None, here: Paths, short: int, label: int) -> Paths | None:
        more = [(less + short, (label, *labels)) for less, labels in here if less + short <= slack]
        return [*(there or []), *more] or None

    for node in range(1, NODES):
        top = int(graph.best[node])
        near = sorted((top - value, labels) for value, labels in graph.paths(node) if top - value <= slack)
        begin: Paths = [(0, ())]
        found = paths_within((graph.arcs, graph.count, graph.best), node, slack, begin, follow)
        assert sorted(found or []) == near
