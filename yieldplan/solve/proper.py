"""The best cutting of a class that holds no more of any kind than is wanted, exact where it can be listed.

Prices are o_b, already less what branching and caps say; a cutting a holds a_b blanks, costs w_a, and its charged
settings q_a. Blanks beyond the d_b that are wanted are priced out by multipliers::

    max { o a - w_a - q_a : a <= d }  <=  min over m >= 0 of  max { (o - m) a - w_a - q_a } + m d

The right side is asked of the graph, m from a small linear programme over the cuttings that are known (Kelley's cutting
planes, from memory). What is left between both sides no multiplier closes: mixtures of cuttings, one with too many and
one with too few. So all proper cuttings in between are listed, and the best of them is the best.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy.optimize import linprog

from yieldplan.solve.columns import is_proper
from yieldplan.solve.enumeration import TooManyError, held_of
from yieldplan.solve.graph import SCALE
from yieldplan.solve.paths import NEVER

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence

    from numpy.typing import NDArray

    from yieldplan.solve.budget import Budget
    from yieldplan.solve.columns import Column
    from yieldplan.solve.enumeration import Key
    from yieldplan.solve.pricing import Pricer

    Ints = NDArray[np.int64]

TRIES = 3
"""How often multipliers are asked anew before what they give is taken as it is."""

MOST_NEAR = 20
"""Proper columns that are taken at a time of those that come near the best."""

LISTING = 0.06
"""Share of all seconds that finding the best of a class may take; one that takes more is given up."""

SHARES = (16, 4, 1)
"""Parts of what is between the outer value and the best known that are listed, one after the other."""

LINEAR = 3e-3
"""Seconds that the small linear programme counts for (:class:`~yieldplan.solve.budget.Budget`)."""


class Best(NamedTuple):
    """What no proper cutting gives more than (scaled), whether one gives it, and proper columns that come near it."""

    value: int
    exact: bool
    columns: tuple[Column, ...]


class ProperPricer:
    """Asks a pricer for proper cuttings; what it comes across is kept as cutting planes for the next time.

    ``told`` are the kinds that are counted while a class is listed, ``multipliers`` those that it had last.
    """

    def __init__(self, pricer: Pricer, wanted: Sequence[int]) -> None:
        self.pricer, self.wanted = pricer, tuple(wanted)
        self.told: defaultdict[int, set[int]] = defaultdict(set)
        self.multipliers: dict[int, Ints] = {}

    def best(
        self,
        number: int,
        own: Ints,
        charges: Mapping[int, int],
        known: Sequence[Column],
        allowed: NDArray[np.bool_],
        budget: Budget,
        enough: int = 0,
    ) -> Best:
        """Return the best proper cutting of a class; what gives no more than ``enough`` need not be found.

        ``known`` are columns of the class, over-full ones among them; at prices ``own`` and charges, all scaled.
        """
        self.allowed, self.budget, self.enough = allowed, budget, enough
        unit = SCALE if self.pricer.terms.worth else 0

        def value(column: Column) -> int:
            gives = sum(int(own[kind]) * many for kind, many in column.counts)
            due = sum(charges.get(setting, 0) for setting in column.settings)
            return gives - column.cost * unit - due

        before = self.budget.spent
        most, multipliers, columns = self._outer(number, own, charges, list(known), value)
        long = self.budget.spent - before > LISTING * self.budget.whole
        proper = [column for column in columns if is_proper(column, self.wanted)]
        floor = max([enough, *map(value, proper)])
        if most <= floor + SCALE:
            return Best(most, True, tuple(proper))
        if long or floor <= NEVER:
            return Best(most, False, tuple(proper))
        told, self.multipliers[number] = self.told[number], multipliers
        told |= set(np.flatnonzero(multipliers).tolist())
        for share in SHARES:
            least = most - (most - floor) // share
            while True:
                try:
                    near = self._listed(number, own, least, multipliers, charges, told)
                except TooManyError:
                    return Best(most, False, tuple(proper))
                proper += [column for column in near if is_proper(column, self.wanted)]
                top = max(map(value, near), default=NEVER)
                if top < least:
                    most = least
                    break
                first = max(near, key=value)
                if is_proper(first, self.wanted):
                    return Best(top, True, tuple(proper))
                most = min(most, top)
                told |= {kind for kind, many in first.counts if many > self.wanted[kind]}
        return Best(floor, True, tuple(proper))

    def _listed(
        self,
        number: int,
        own: Ints,
        least: int,
        multipliers: Ints,
        charges: Mapping[int, int],
        told: Collection[int],
    ) -> list[Column]:
        """Return the best columns that give so much at prices ``own`` and hold no more than is wanted of kinds told."""

        def rate(key: Key) -> int:
            counts, settings = key
            gives = int(multipliers @ np.array(held_of(counts, len(self.wanted))))
            return gives - sum(due for setting, due in charges.items() if settings >> setting & 1)

        return self.pricer.within(
            number,
            own - multipliers,
            least - int(multipliers @ np.array(self.wanted)),
            self.wanted,
            self.budget.part(LISTING * self.budget.whole),
            apart=tuple(charges),
            told=told,
            allowed=self.allowed,
            rate=rate,
            most=MOST_NEAR,
        )

    def _outer(
        self,
        number: int,
        own: Ints,
        charges: Mapping[int, int],
        columns: list[Column],
        value: Callable[[Column], int],
    ) -> tuple[int, Ints, list[Column]]:
        """Return the least outer value, its multipliers, and all columns known by then."""
        best: tuple[int, Ints] | None = None
        near = max(2 * SCALE, self.pricer.base(number) // 2000)
        for _ in range(TRIES):
            multipliers, aim = self._multipliers(columns, value)
            extra = int(multipliers @ np.array(self.wanted))
            came = len(self.pricer.columns)
            found = self.pricer.best(
                number,
                enough=max(self.enough - extra, NEVER),
                charges=charges,
                own=own - multipliers,
                allowed=self.allowed,
            )
            self.budget.spend(LINEAR)
            columns += self.pricer.columns[came:]
            most = max(found.value + extra, self.enough)
            if best is None or most < best[0]:
                best = most, multipliers
            if most <= aim + near or self.budget.out():
                break
        assert best is not None
        return *best, columns

    def _multipliers(self, columns: Sequence[Column], value: Callable[[Column], int]) -> tuple[Ints, float]:
        """Return the multipliers at which the known columns give least, and how much that is (scaled)."""
        held = np.zeros((len(columns), len(self.wanted)))
        for row, column in zip(held, columns, strict=True):
            for kind, many in column.counts:
                row[kind] = many
        over = held - np.array(self.wanted)
        kinds = np.flatnonzero((over > 0).any(axis=0))
        found = np.zeros(len(self.wanted), np.int64)
        if not len(kinds):
            return found, float(max([self.enough, *map(value, columns)]))
        gives = np.array([value(column) for column in columns]) / SCALE
        solved = linprog(
            [1.0, *(0.0 for _ in kinds)],
            A_ub=np.hstack([-np.ones((len(columns), 1)), -over[:, kinds]]),
            b_ub=-gives,
            bounds=[(None if self.enough <= NEVER else 0, None), *((0, None) for _ in kinds)],
            method="highs",
        )
        found[kinds] = np.maximum(np.rint(solved.x[1:] * SCALE), 0).astype(np.int64)
        return found, float(solved.x[0]) * SCALE
