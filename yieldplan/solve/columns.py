"""Columns: complete cuttings of one class of like offcuts, and the pool that holds them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.model import Billet, SplitBillet

Key = tuple[int, tuple[tuple[int, int], ...], frozenset[int]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One cutting of one offcut of a class.

    Attributes
    ----------
    offcut_class
        Index of the class of like offcuts.
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
    cutting: tuple[Billet | SplitBillet, ...] = ()

    @property
    def key(self) -> Key:
        """What makes two columns the same to the master problem, cost apart."""
        return self.offcut_class, self.counts, self.settings


def is_proper(column: Column, wanted: Sequence[int]) -> bool:
    """Return whether a column holds no more of any kind than is wanted."""
    return all(many <= wanted[kind] for kind, many in column.counts)


class Pool:
    """All columns found so far, in the order they were found: an index keeps its meaning for good.

    Of columns with the same class, counts and settings the cheapest counts. A dearer one that came before keeps its
    index, but is no longer among the :attr:`live`.
    """

    def __init__(self, columns: Iterable[Column] = ()) -> None:
        self.columns: list[Column] = []
        self._best: dict[Key, int] = {}
        for column in columns:
            self.add(column)

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

    def __len__(self) -> int:
        return len(self.columns)

    def __getitem__(self, index: int) -> Column:
        return self.columns[index]

    def __iter__(self) -> Iterator[Column]:
        return iter(self.columns)
