"""Classes of sound wood and their boards as :mod:`yieldplan.solve.fill` has them, and what was cut as a drawing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import Billet, CutBlank, Stick, Strip, whole
from yieldplan.solve.fill import MOST_STICKS, TRY, Bench, Items, best_billet
from yieldplan.solve.graph import SCALE, keeper_worth, worth_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from yieldplan.model import Blank, Shop
    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.graph import Terms

    Ints = NDArray[np.int64]


def items_of(batch: Batch, one: OffcutClass) -> tuple[Items, Ints] | None:
    """Return what a class can be cut into, and the batch's numbers of it; None where the wood is not sound everywhere.

    That is where there are defects or kinks, rings that suit only in places, or only some kinds of a section; or where
    it must be split.
    """
    wood, shop = one.wood, batch.job.shop
    if len(wood.defects) or len(wood.limits) or one.offcut.kinks or wood.width > batch.shop.jointer:
        return None
    sections: dict[tuple[int, int], set[int]] = {}
    for fits, stick in zip(wood.fits, one.types, strict=True):
        members = set(one.kinds[fits >= -1].tolist())
        if sections.setdefault(stick.finished, members) != members:
            return None
    order = [kind for members in sections.values() for kind in sorted(members)]
    sizes = [
        (batch.blanks[kind].length + shop.length_allowance + shop.crosscut_kerf) // shop.mark
        for kind in order
    ]
    unit, place = math.gcd(*sizes), list(sections)
    found = Items(
        size=np.array(sizes, np.int64) // unit,
        begin=np.cumsum([0, *map(len, sections.values())]).astype(np.int64),
        section=np.array([place.index(stick.finished) for stick in one.types], np.int64),
        unit=unit,
        types=wood.types,
        sizes=_both(wood.sizes_y, wood.sizes_z),
        saws=_both(wood.saw_y, wood.saw_z),
        types_of=_both(wood.of_y, wood.of_z),
        first=_both(wood.from_y, wood.from_z),
    )
    return found, np.array(order, np.int64)


def _both(one: Ints, other: Ints) -> Ints:
    """Return two rows as one array, the shorter filled up with 0."""
    found = np.zeros((2, max(len(one), len(other))), np.int64)
    found[0, : len(one)], found[1, : len(other)] = one, other
    return found


def new_bench(classes: Sequence[OffcutClass], kinds: int, settings: int) -> Bench:
    """Return room to work in that is large enough for every class."""
    length = max(one.wood.length for one in classes) + 8
    types = max(len(one.types) for one in classes)

    def zeros(*shape: int) -> Ints:
        return np.zeros(shape, np.int64)

    return Bench(
        left=zeros(kinds),
        spare=zeros(kinds),
        free=zeros(kinds),
        values=zeros(types, MOST_STICKS),
        gains=zeros(types, MOST_STICKS),
        lengths=zeros(types, MOST_STICKS),
        fills=zeros(types, MOST_STICKS, kinds),
        known=zeros(types),
        used=zeros(types),
        row=zeros(length),
        taken=zeros(kinds, length),
        rows=zeros(MOST_STICKS, 7),
        noise=np.zeros(2 * types, np.float64),
        made=zeros(settings),
        counts=zeros(3),
    )


class SawnBillet(NamedTuple):
    """A billet as it was cut, in marks: from, to, whether layers come first, its sticks (``Bench.rows``), kinds."""

    start: int
    end: int
    layers: bool
    rows: list[list[int]]
    kinds: list[list[int]]


def cut_board(
    batch: Batch, one: OffcutClass, known: tuple[Items, Ints], bench: Bench, terms: Terms, spread: int
) -> tuple[list[SawnBillet], float]:
    """Cut one board for what is left on the bench, billet by billet; return what its blanks are priced at for its cost.

    How far what is chosen may lie from the best: ``spread``, in thousandths.
    """
    items, order = known
    wood, shop, start, high = one.wood, batch.shop, int(one.course.sides[0, 0]), int(one.course.sides[0, 1])
    billets: list[SawnBillet] = []
    gains, kept = 0, 0
    cost = SCALE * terms.worth * worth_of(shop, wood.length, wood.width, wood.thickness)
    bench.counts[TRY] = 1
    while high - start >= one.course.shortest:
        end, axis, held, value, gain = map(
            int, best_billet(shop, terms, wood, items, bench, one.course, start, spread)
        )
        over = wood.length - end - shop.cross_kerf
        rest = SCALE * terms.worth * keeper_worth(shop, over, wood.width, wood.thickness)
        if not held or (billets and value + rest <= kept):
            break
        rows, kinds = bench.rows[:held].tolist(), []
        for line in rows:
            fill = bench.fills[items.section[line[4]], line[5], : len(order)]
            low, beyond = items.begin[items.section[line[4]]], items.begin[items.section[line[4]] + 1]
            bench.left[low:beyond] -= fill[low:beyond]
            kinds.append(np.repeat(order[low:beyond], fill[low:beyond]).tolist())
        billets.append(SawnBillet(start, end, bool(axis), rows, kinds))
        gains, cost, kept = gains + gain, cost + gain - value + terms.cut, rest
        start = end + shop.cross_kerf
    return billets, gains / max(cost - kept, 1)


def drawing_of(batch: Batch, one: OffcutClass, billets: Iterable[SawnBillet]) -> tuple[Billet, ...]:
    """Return billets as a drawing has them: neighbours with the same rows are one, so that sticks are long (bars)."""
    shop, wood = batch.job.shop, whole(one.offcut)
    mark, high = shop.mark, int(one.course.sides[0, 1])

    def losses(start: int, end: int) -> tuple[int, int]:
        length, place = (end - start) * mark, start * mark
        return wood.edge_loss(length, shop, place), wood.face_loss(length, shop, place)

    def row(billet: SawnBillet) -> object:
        return billet.layers, [(line[:4], one.types[line[4]][:3]) for line in billet.rows]

    sawn: list[SawnBillet] = []
    for billet in billets:
        last = sawn[-1] if sawn else None
        same = last and row(last) == row(billet)
        if last and same and losses(last.start, last.end) == losses(last.start, billet.end):
            kinds = [a + b for a, b in zip(last.kinds, billet.kinds, strict=True)]
            sawn[-1] = last._replace(end=billet.end, kinds=kinds)
        else:
            sawn.append(billet)
    last, rest = sawn[-1], one.offcut.length - sawn[-1].end * mark - shop.crosscut_kerf
    if rest < shop.keeper_length and losses(last.start, last.end) == losses(last.start, high):
        sawn[-1] = last._replace(end=high)  # what no keeper holds is better on the billet (R12)
    found = []
    for billet in sawn:
        strips: dict[tuple[int, int], list[Stick]] = {}
        for line, held in zip(billet.rows, billet.kinds, strict=True):
            blanks = [batch.blanks[kind] for kind in held]
            stick = Stick(
                start=line[2] * mark,
                end=line[3] * mark,
                turned=one.types[line[4]].turned,
                blanks=pushed_together(shop, blanks, billet.start * mark + shop.stick_trim),
            )
            strips.setdefault((line[0] * mark, line[1] * mark), []).append(stick)
        edge, face = losses(billet.start, billet.end)
        found.append(
            Billet(
                start=billet.start * mark,
                end=billet.end * mark,
                layout="resaw first" if billet.layers else "rip first",
                edge_loss=edge,
                face_loss=face,
                strips=tuple(Strip(start=a, end=b, sticks=tuple(row)) for (a, b), row in strips.items()),
            )
        )
    return tuple(found)


def pushed_together(shop: Shop, blanks: Iterable[Blank], start: int) -> tuple[CutBlank, ...]:
    """Return blanks a kerf apart from ``start`` on (steps), the shortest first (R12)."""
    found = []
    for blank in sorted(blanks, key=lambda blank: (blank.length, blank.name)):
        end = start + blank.length + shop.length_allowance
        found.append(CutBlank(blank=blank.name, start=start, end=end))
        start = end + shop.crosscut_kerf
    return tuple(found)
