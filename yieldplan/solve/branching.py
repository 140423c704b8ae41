"""Branching on how many of a class are drawn, then on settings: the bound of all plans, raised node by node."""

from __future__ import annotations

import heapq
from itertools import count
from typing import TYPE_CHECKING

from yieldplan.solve.master import Bounds

if TYPE_CHECKING:
    from yieldplan.solve.column_generation import ColumnGeneration
    from yieldplan.solve.relaxation import Relaxed

SHARE = 0.1
"""Share of the gap within which a node's bound need not come closer to its relaxation."""


class Tree:
    """Branching, best bound first: on how many of a class are drawn, then on settings."""

    def __init__(self, generator: ColumnGeneration, stops: int) -> None:
        self.generator, self.stops = generator, stops
        self.open: list[tuple[int, int, Bounds, tuple[str, int, float] | None, float]] = []
        self._ticket = count()
        self._floor = 1 << 60

    @property
    def bound(self) -> int:
        """The least bound of what is open or cannot be branched on."""
        return min([self._floor, *(node[0] for node in self.open[:1])])

    def root(self, cost: int) -> int:
        """Work out the root, anew if it was before; return its bound."""
        self.open.clear()
        self._floor = 1 << 60
        self._look(Bounds(), -(1 << 60), cost)
        return self.bound

    def branch(self, cost: int) -> None:
        """Take the open node of the least bound and look at both of its sides."""
        bound, _, bounds, choice, objective = heapq.heappop(self.open)
        if objective - bound > 2 * SHARE * (cost - bound) or choice is None:
            self._look(bounds, bound, cost)
            return
        what, number, value = choice
        if bound >= cost:
            self._floor = min(self._floor, bound)
            self.open.clear()
            return
        for up in (True, False):
            classes, settings = dict(bounds.classes), dict(bounds.settings)
            if what == "class":
                low, high = bounds.of_class(number, self.generator.problem.copies[number])
                classes[number] = (int(value) + 1, high) if up else (low, int(value))
            else:
                settings[number] = int(up)
            self._look(Bounds(classes=classes, settings=settings), bound, cost)

    def _look(self, bounds: Bounds, least: int, cost: int) -> None:
        found, result = self.generator.run(bounds, enough=cost - self.stops, share=SHARE)
        bound = max(found + self.stops, least)
        choice, objective = self._choose(result), result.objective + self.stops
        if bound >= cost or (choice is None and objective - bound <= 2 * SHARE * (cost - bound)):
            self._floor = min(self._floor, bound)
            return
        heapq.heappush(self.open, (bound, next(self._ticket), bounds, choice, objective))

    def _choose(self, result: Relaxed) -> tuple[str, int, float] | None:
        """Return what to branch on: the class whose number drawn is least whole, the dear ones first, or a setting."""
        classes = self.generator.pricer.classes
        drawn: dict[int, float] = {}
        for number, x in result.x.items():
            c = self.generator.pool.columns[number].offcut_class
            drawn[c] = drawn.get(c, 0.0) + x
        for what, values in (("class", drawn), ("setting", result.y)):
            parts = [
                (min(v % 1, 1 - v % 1) * (classes[n].cost if what == "class" else 1), -n, v)
                for n, v in values.items()
                if 0.001 < v % 1 < 0.999
            ]
            if parts:
                _, number, value = max(parts)
                return what, -number, value
        return None
