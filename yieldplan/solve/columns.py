"""Columns: complete cuttings of one class of like offcuts, what they cost by the model's own counts, and their pool."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

from yieldplan.model import OffcutPlan, work_of
from yieldplan.model.rows import sawn_rows
from yieldplan.model.section import section_of
from yieldplan.model.wood import jointed
from yieldplan.model.work import net_worth, saw_settings

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Billet, SplitBillet
    from yieldplan.solve.classes import Batch

Cutting: TypeAlias = "tuple[Billet | SplitBillet, ...]"
Key = tuple[int, tuple[tuple[int, int], ...], frozenset[int]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One cutting of one offcut of a class.

    Attributes
    ----------
    counts
        Pairs (kind, how many blanks of it), sorted by kind, none of them 0.
    settings
        The saw and planer settings that it uses, as the master problem numbers them.
    cost
        Worth of the offcut less worth of its leftovers, and the price of its own work; settings are not in it.
    cutting
        Its billets, as a plan has them; the master problem never looks at them.
    """

    offcut_class: int
    counts: tuple[tuple[int, int], ...]
    settings: frozenset[int]
    cost: int
    cutting: Cutting = ()

    @property
    def key(self) -> Key:
        """What makes two columns the same to the master problem, cost apart."""
        return self.offcut_class, self.counts, self.settings


def column_of(batch: Batch, offcut_class: int, name: str, cutting: Cutting) -> Column:
    """Return the column of a cutting of an offcut: its cost is worth less keepers, and work but for settings."""
    job, price = batch.job, batch.price
    drawn = OffcutPlan(offcut=name, copy=1, billets=cutting)
    work = work_of(job, (drawn,))
    own = price.of(replace(work, saw_settings=work.odd_cuts, planer_settings=0, stop_settings=0))
    numbers = {blank.name: n for n, blank in enumerate(batch.blanks)}
    counts = Counter(numbers[cut.blank] for cut in drawn.blanks)
    return Column(
        offcut_class=offcut_class,
        counts=tuple(sorted(counts.items())),
        settings=frozenset(_settings(batch, drawn)),
        cost=net_worth(job, (drawn,)) + own,
        cutting=cutting,
    )


def _settings(batch: Batch, drawn: OffcutPlan) -> Iterator[int]:
    """Yield the numbers of the settings of saws and planer that a drawing uses."""
    job, mark = batch.job, batch.job.shop.mark
    offcut = job.offcut(drawn.offcut)
    for wood, part in jointed(job, drawn):
        for number, machine, size in saw_settings(list(sawn_rows(wood, part, job.shop))):
            yield 4 * batch.saw_sizes[size // mark] + 2 * (machine == "bandsaw") + number - 1
        for stick in part.sticks:
            made = section_of(job, offcut, stick)
            yield batch.saw_settings + batch.planer_sizes["width", made.planed_width // mark]
            yield batch.saw_settings + batch.planer_sizes["thickness", made.planed_thickness // mark]


def is_proper(column: Column, wanted: Sequence[int]) -> bool:
    """Return whether a column holds no more of any kind than is wanted."""
    return all(many <= wanted[kind] for kind, many in column.counts)


class Pool:
    """All columns found so far, in the order they were found: an index keeps its meaning for good.

    Of columns with the same class, counts and settings the cheapest counts. A dearer one that came before keeps its
    index, but is no longer among the :attr:`live`.
    """

    def __init__(self) -> None:
        self.columns: list[Column] = []
        self._best: dict[Key, int] = {}

    def add(self, column: Column) -> bool:
        """Add a column; return whether it is new, or cheaper than the same one before."""
        known = self._best.get(column.key)
        if known is not None and self.columns[known].cost <= column.cost:
            return False
        self._best[column.key] = len(self.columns)
        self.columns.append(column)
        return True

    @property
    def live(self) -> tuple[int, ...]:
        """Indices of the columns that no cheaper one has replaced."""
        return tuple(sorted(self._best.values()))
