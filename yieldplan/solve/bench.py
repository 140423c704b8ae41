"""Boards of sound wood, cut billet by billet by :mod:`yieldplan.solve.fill`."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.model import Billet, SplitBillet
from yieldplan.solve.drawn import cutting_of, shortest_first
from yieldplan.solve.fill import Bench, Items, best_billet
from yieldplan.solve.graph import SCALE, Box, keeper_worth
from yieldplan.solve.places import losses

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.columns import Cutting
    from yieldplan.solve.drawn import SawnStick
    from yieldplan.solve.graph import Terms

    Ints = NDArray[np.int64]

MOST_STICKS = 160
"""Sticks of one section, and of one billet, that there is room for."""


def items_of(batch: Batch, one: OffcutClass) -> tuple[Items, Ints] | None:
    """Return what a class can be cut into, and the batch's numbers of it; None where the wood is not sound everywhere.

    That is where there are defects or kinks, rings that suit only in places, or only some kinds of a section; or where
    it must be split.
    """
    wood = one.wood
    if len(wood.defects) or len(wood.limits) or one.offcut.kinks or wood.width > batch.shop.jointer:
        return None
    sections: dict[tuple[int, int], set[int]] = {}
    for fits, stick in zip(wood.fits, one.types, strict=True):
        members = set(np.flatnonzero(fits >= -1).tolist())
        if sections.setdefault(stick.finished, members) != members:
            return None
    order = [local for members in sections.values() for local in sorted(members)]
    sizes, place = wood.spans[order] + batch.shop.cross_kerf, list(sections)
    found = Items(
        size=sizes // math.gcd(*sizes.tolist()),
        begin=np.cumsum([0, *map(len, sections.values())]).astype(np.int64),
        section=np.array([place.index(stick.finished) for stick in one.types], np.int64),
        unit=math.gcd(*sizes.tolist()),
    )
    return found, one.kinds[order]


def new_bench(classes: Sequence[OffcutClass], kinds: int) -> Bench:
    """Return room to work in that is large enough for every class."""
    length = max(one.wood.length for one in classes) + 8
    types = max(len(one.types) for one in classes)
    shapes = {
        "left": (kinds,),
        "free": (kinds,),
        "values": (types, MOST_STICKS),
        "gains": (types, MOST_STICKS),
        "lengths": (types, MOST_STICKS),
        "fills": (types, MOST_STICKS, kinds),
        "known": (types,),
        "used": (types,),
        "row": (length,),
        "taken": (kinds, length),
        "rows": (MOST_STICKS, 6),
        "work": (1,),
    }
    return Bench(**{name: np.zeros(shape, np.int64) for name, shape in shapes.items()})


def cut_board(
    batch: Batch, one: OffcutClass, known: tuple[Items, Ints], bench: Bench, terms: Terms
) -> Cutting:
    """Cut one board for what is left on the bench, billet by billet, as long as that is worth it."""
    items, order = known
    wood, shop, (start, high) = one.wood, batch.shop, one.course.sides[0, :2].tolist()
    billets, kept = list[Billet | SplitBillet](), 0
    while high - start >= one.course.shortest:
        found = best_billet(shop, terms, wood, items, bench, one.course, start)
        end, held, value = map(int, found)
        over = wood.length - end - shop.cross_kerf
        rest = SCALE * terms.worth * keeper_worth(shop, over, wood.width, wood.thickness)
        if not held or (billets and value + rest <= kept):
            break
        strips: dict[tuple[int, int], list[SawnStick]] = {}
        for low, up, first, last, kind, j in bench.rows[:held].tolist():
            here = slice(*items.begin[items.section[kind] : items.section[kind] + 2])
            fill = bench.fills[items.section[kind], j, here]
            bench.left[here] -= fill
            spans = items.size[here] * items.unit - shop.cross_kerf
            cuts = [
                (0, span, of, "A")
                for span, of, many in zip(spans.tolist(), order[here].tolist(), fill.tolist(), strict=True)
                for _ in range(many)
            ]
            row = shortest_first(cuts, shop.stick_trim, shop.cross_kerf)
            strips.setdefault((low, up), []).append((kind, first, last, row))
        face, edge = map(int, losses(wood, shop, one.course, 0, end - start, wood.width))
        same = (face, edge) == losses(wood, shop, one.course, 0, high - start, wood.width)
        if same and over < shop.keeper_length and high - end - shop.cross_kerf < one.course.shortest:
            end = high  # what no keeper holds is better on the billet (R12)
        box, laid = Box(start, end, 0, wood.width, face, edge), [(*y, sticks) for y, sticks in strips.items()]
        billets.append(cutting_of(batch, one, ((start, end), None, ((box, True, laid),))))
        start, kept = end + shop.cross_kerf, rest
    return tuple(billets)
