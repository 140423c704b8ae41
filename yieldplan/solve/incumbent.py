"""The best plan so far, as columns: what it misses, what it costs, and how it becomes a plan."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from yieldplan.model import OffcutPlan
from yieldplan.solve.assemble import without_surplus
from yieldplan.solve.columns import column_of
from yieldplan.solve.integer import made_of, missing_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Column
    from yieldplan.solve.master import MasterProblem


class Incumbent(NamedTuple):
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


def rank_of(batch: Batch, problem: MasterProblem, columns: Sequence[Column]) -> tuple[tuple[int, ...], int]:
    """Return what a choice of columns misses, class by class, and what it costs."""
    made, cost = made_of(problem, columns)
    settings = {setting for column in columns for setting in column.settings}
    stops = {batch.blanks[kind].length for kind, count in enumerate(made) if count}
    cost += sum(column.cost for column in columns)
    cost += len(settings) * batch.price.setting + len(stops) * batch.price.stop
    return missing_of(problem, made), cost


def incumbent_of(
    batch: Batch, classes: Sequence[OffcutClass], problem: MasterProblem, drawn: Sequence[OffcutPlan]
) -> Incumbent:
    """Return the incumbent of drawings, what they hold too much left out; KeyError where a class has no such offcut."""
    numbers = {name: number for number, one in enumerate(classes) for name in one.names}
    kept = without_surplus(batch.job, drawn)
    columns = tuple(column_of(batch, numbers[d.offcut], d.offcut, d.billets) for d in kept)
    return Incumbent(columns, *rank_of(batch, problem, columns))


def without_more(
    batch: Batch, classes: Sequence[OffcutClass], rest: MasterProblem, column: Column
) -> Column | None:
    """Return a column without what it holds more than is left to make; None where nothing would be on it."""
    wanted = {blank.name: many for blank, many in zip(batch.blanks, rest.wanted, strict=True)}
    kept = without_surplus(batch.job, drawn_of(classes, [column]), wanted)
    return column_of(batch, column.offcut_class, kept[0].offcut, kept[0].billets) if kept else None
