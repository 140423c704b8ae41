"""What comes nearest: for each offcut that gives no blank the nearest blank, and for each blank the nearest offcut."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.model import why_not

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.model.gives import Miss

_LOOKED_AT = 20
"""Offcuts that are asked for a blank where the pile gives none of a shorter one: those nearest to that one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Near:
    """The pair that comes nearest of all that a row is in, and what stops it."""

    offcut: Offcut
    blank: Blank
    miss: Miss


def nearest_misses(
    pile: Sequence[Offcut], batch: Sequence[Blank], shop: Shop
) -> tuple[list[Near | None], list[Near | None]]:
    """Return for each offcut and for each blank what comes nearest; None for one that has a partner.

    A pair is looked at only while one of the two has no partner. An offcut that gives none of a blank gives none of a
    longer one of the kind, so of blanks that differ in length alone only the shortest is asked of the whole pile.
    """
    of_offcuts: list[list[Near] | None] = [[] for _ in pile]
    of_blanks: list[Near | None] = [None] * len(batch)
    for shortest, *longer in _alike(batch):
        partner, missed = False, {}
        for place, offcut in enumerate(pile):
            mine = of_offcuts[place]
            if partner and mine is None:
                continue
            near = _ask(offcut, batch[shortest], shop)
            if near is None:
                partner, of_offcuts[place] = True, None
            else:
                missed[place] = near
                if mine is not None:
                    mine.append(near)
        rising = sorted(missed, key=lambda place: missed[place].miss.nearness, reverse=True)
        of_blanks[shortest] = None if partner else missed[rising[0]]
        rest = (
            [place for place in range(len(pile)) if place not in missed] if partner else rising[:_LOOKED_AT]
        )
        for number in longer:
            of_blanks[number] = _nearest(_ask(pile[place], batch[number], shop) for place in rest)
    return [None if nears is None else _nearest(nears) for nears in of_offcuts], of_blanks


def _alike(batch: Sequence[Blank]) -> Iterator[list[int]]:
    """Yield the blanks that differ in length alone, as places in the batch, shortest first."""
    found: dict[Blank, list[int]] = {}
    for place in sorted(range(len(batch)), key=lambda place: batch[place].length):
        blank = batch[place]
        kind = replace(blank, name="", need=0, spare=0, length=0, priority=1, note="", other=())
        found.setdefault(kind, []).append(place)
    yield from sorted(found.values())


def _ask(offcut: Offcut, blank: Blank, shop: Shop) -> Near | None:
    miss = why_not(offcut, blank, shop)
    return None if miss is None else Near(offcut=offcut, blank=blank, miss=miss)


def _nearest(nears: Iterable[Near | None]) -> Near | None:
    """Return the nearest; None as soon as one is no miss at all."""
    nearest: Near | None = None
    for near in nears:
        if near is None:
            return None
        if nearest is None or near.miss.nearness > nearest.miss.nearness:
            nearest = near
    return nearest
