"""What comes nearest: for each offcut that gives no blank the nearest blank, and for each blank the nearest offcut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model import why_not

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Blank, Miss, Offcut, Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Near:
    """The pair that comes nearest of all that a row is in, and what stops it."""

    offcut: Offcut
    blank: Blank
    miss: Miss

    @property
    def rank(self) -> tuple[int, int]:
        """The higher, the nearer."""
        return self.miss.hindrance.value, -self.miss.amount


def nearest_misses(
    pile: Sequence[Offcut], batch: Sequence[Blank], shop: Shop
) -> tuple[list[Near | None], list[Near | None]]:
    """Return for each offcut and for each blank what comes nearest; None for one that has a partner.

    A pair is looked at only while one of the two has no partner, so the usual job costs little.
    """
    of_offcuts: list[list[Near] | None] = [[] for _ in pile]
    of_blanks: list[list[Near] | None] = [[] for _ in batch]
    for j, blank in enumerate(batch):
        for i, offcut in enumerate(pile):
            mine, its = of_offcuts[i], of_blanks[j]
            if mine is None and its is None:
                continue
            miss = why_not(offcut, blank, shop)
            if miss is None:
                of_offcuts[i] = of_blanks[j] = None
                continue
            for found in (mine, its):
                if found is not None:
                    found[:] = [
                        max((*found, Near(offcut=offcut, blank=blank, miss=miss)), key=lambda n: n.rank)
                    ]
    return _only(of_offcuts), _only(of_blanks)


def _only(found: list[list[Near] | None]) -> list[Near | None]:
    return [near[0] if near else None for near in found]
