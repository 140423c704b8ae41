"""Kinds that are made in pairs of one species: how many of what is held are made, and what the master knows of them.

Only the integer step knows that pairs are of one species; the relaxation has the price of odd boards in its columns,
pricing has neither. What it leaves out costs something, so the bound holds, but is too low by that unless columns are
listed.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from yieldplan.model.words import fold

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from yieldplan.model import Blank
    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Column


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairs:
    """The kinds in pairs, the species of each class of offcuts, and what a board with an odd number of a kind costs.

    ``fixed`` is how many columns hold that are fixed already, by kind and species.
    """

    kinds: Mapping[int, Blank] = field(default_factory=dict)
    species: tuple[str, ...] = ()
    price: int = 0
    fixed: Mapping[tuple[int, str], int] = field(default_factory=dict)

    def held(self, columns: Iterable[Column]) -> Counter[tuple[int, str]]:
        """Return how many are held, by kind and species, the fixed ones among them."""
        found = Counter(self.fixed)
        for column in columns:
            for kind, count in column.counts:
                if kind in self.kinds:
                    found[kind, self.species[column.offcut_class]] += count
        return found


def pairs_of(batch: Batch, classes: Sequence[OffcutClass]) -> Pairs:
    """Return the kinds in pairs of a batch."""
    return Pairs(
        kinds={n: blank for n, blank in enumerate(batch.blanks) if blank.pairs},
        species=tuple(fold(batch.job.offcut(one.names[0]).species) for one in classes),
        price=batch.price.odd_board,
    )


def most_made(held: Sequence[int], blank: Blank) -> list[int]:
    """Return how many are made of what is held of each species: in twos, then one alone where it may stand so."""
    wanted, made = blank.need + blank.spare, list[int]()
    for many in held:
        made.append(min(many, wanted - sum(made)) // 2 * 2)
    over = [n for n, many in enumerate(held) if many > made[n]]
    if blank.may_be_odd and over and sum(made) < wanted:
        made[over[0]] += 1
    return made
