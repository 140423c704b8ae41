"""The best plan so far, as columns: what it misses, what it costs, and how it becomes a plan."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model import OffcutPlan
from yieldplan.solve.assemble import without_surplus
from yieldplan.solve.costing import column_of
from yieldplan.solve.integer import missing_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Column
    from yieldplan.solve.master import MasterProblem


@dataclass(frozen=True, slots=True, kw_only=True)
class Incumbent:
    """A choice of columns without surplus blanks; of two the one with fewer missing, then of less cost, is better."""

    columns: tuple[Column, ...]
    missing: tuple[int, ...]
    cost: int

    @property
    def rank(self) -> tuple[tuple[int, ...], int]:
        """What is compared: missing by class of aim 1, then cost."""
        return self.missing, self.cost


def drawn_of(classes: Sequence[OffcutClass], columns: Iterable[Column]) -> tuple[OffcutPlan, ...]:
    """Return the drawings of columns, each of a piece of its own."""
    taken: Counter[int] = Counter()
    found = []
    for column in columns:
        name = classes[column.offcut_class].names[taken[column.offcut_class]]
        taken[column.offcut_class] += 1
        found.append(OffcutPlan(offcut=name, copy=1, billets=column.cutting))
    return tuple(found)


def incumbent_of(
    batch: Batch,
    classes: Sequence[OffcutClass],
    problem: MasterProblem,
    drawn: Sequence[OffcutPlan],
) -> Incumbent:
    """Return the incumbent of drawings, what they hold too much left out."""
    of_name = {name: number for number, one in enumerate(classes) for name in one.names}
    kept = without_surplus(batch.job, drawn)
    columns = tuple(column_of(batch, of_name[d.offcut], d.offcut, d.billets) for d in kept)
    held = [0] * len(batch.blanks)
    settings: set[int] = set()
    for column in columns:
        settings |= column.settings
        for kind, count in column.counts:
            held[kind] += count
    stops = {batch.blanks[kind].length for kind, count in enumerate(held) if count}
    cost = sum(column.cost for column in columns)
    cost += len(settings) * batch.price.setting + len(stops) * batch.price.stop
    return Incumbent(columns=columns, missing=missing_of(problem, held), cost=cost)
