"""A batch and its boards laid ready for :mod:`yieldplan.solve.fill`, and what was cut read back as a drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import Billet, CutBlank, Stick, Strip, whole
from yieldplan.solve.fill import MOST_STICKS, STICKS, Bench, Items, best_billet
from yieldplan.solve.graph import SCALE, keeper_worth, worth_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from yieldplan.model import Shop
    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.fill import Costs
    from yieldplan.solve.graph import ShopMarks

    Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The items of a batch: of which kind each is, whether it is a spare, how many, and a price to begin with."""

    kind: tuple[int, ...]
    spare: tuple[bool, ...]
    count: Ints
    price: NDArray[np.float64]


def wanted_of(batch: Batch) -> Wanted:
    """Return the items of a batch; a price is the worth of the wood that a blank takes and its share of the work."""
    shop, found = batch.job.shop, []
    mark = shop.mark
    for number, blank in enumerate(batch.blanks):
        wide = (blank.width + shop.width_allowance + shop.rip_kerf) // mark
        thick = (blank.thickness + shop.thickness_allowance + shop.rip_kerf) // mark
        long = (blank.length + shop.length_allowance + shop.crosscut_kerf) // mark
        premium = 1 + 0.5 * batch.shop.premium
        price = wide * thick * long * batch.shop.unit * premium * 1.5 + 4 * batch.price.cut
        for spare, count in ((False, blank.need), (True, blank.spare)):
            if count:
                found.append((number, spare, count, SCALE * max(price, 1) / (2 if spare else 1)))
    kinds, spares, counts, priced = zip(*found, strict=True)
    return Wanted(
        kind=kinds, spare=spares, count=np.array(counts, np.int64), price=np.array(priced, np.float64)
    )


def items_of(batch: Batch, one: OffcutClass, wanted: Wanted) -> tuple[Items, Ints] | None:
    """Return what a class can be cut into, and the batch's numbers of it; None where the wood is not sound everywhere.

    That is where there are defects or kinks, rings that suit only in places, or only some kinds of a section; or where
    it must be split.
    """
    if (
        len(one.wood.defects)
        or len(one.wood.limits)
        or one.offcut.kinks
        or one.wood.width > batch.shop.jointer
    ):
        return None
    finished = sorted({stick.finished for stick in one.types})
    kinds: list[set[int]] = [set() for _ in finished]
    section = [finished.index(stick.finished) for stick in one.types]
    for row, own in enumerate(section):
        members = {int(one.kinds[n]) for n in np.flatnonzero(one.wood.fits[row] >= -1)}
        if kinds[own] not in (set(), members):
            return None
        kinds[own] = members
    order, begin = [], [0]
    for own_kinds in kinds:
        order += [item for item, kind in enumerate(wanted.kind) if kind in own_kinds]
        begin.append(len(order))
    shop, wood = batch.job.shop, one.wood
    sizes = [
        (batch.blanks[wanted.kind[item]].length + shop.length_allowance + shop.crosscut_kerf) // shop.mark
        for item in order
    ]
    unit = math.gcd(*sizes)
    found = Items(
        size=np.array(sizes, np.int64) // unit,
        begin=np.array(begin, np.int64),
        section=np.array(section, np.int64),
        unit=unit,
        types=wood.types,
        sizes=_both(wood.sizes_y, wood.sizes_z),
        saws=_both(wood.saw_y, wood.saw_z),
        types_of=_both(wood.of_y, wood.of_z),
        first=_both(wood.from_y, wood.from_z),
        ranks=np.array([len(wood.sizes_y), len(wood.sizes_z)], np.int64),
        losses=_losses(one, shop),
        wood=np.array([wood.length, wood.width, wood.thickness], np.int64),
        ends=np.array([*one.course.sides[0, :2], one.course.shortest], np.int64),
    )
    return found, np.array(order, np.int64)


def _both(one: Ints, other: Ints) -> Ints:
    """Return two rows as one array, the shorter filled up with 0."""
    found = np.zeros((2, max(len(one), len(other))), np.int64)
    found[0, : len(one)], found[1, : len(other)] = one, other
    return found


def _losses(one: OffcutClass, shop: Shop) -> Ints:
    """Return edge and face loss (marks) of a billet by its length."""
    offcut, mark, wood = one.offcut, shop.mark, whole(one.offcut)
    lengths = range(one.wood.length + 2)
    if not (offcut.bow or offcut.crook or offcut.twist):
        lengths = range(1)
    losses = [
        (wood.edge_loss(n * mark, shop) // mark, wood.face_loss(n * mark, shop) // mark) for n in lengths
    ]
    losses += losses[-1:] * (one.wood.length + 2 - len(losses))
    return np.array(losses, np.int64).T.copy()


def new_bench(classes: Sequence[OffcutClass], items: int, settings: int) -> Bench:
    """Return room to work in that is large enough for every class."""
    length = max(one.wood.length for one in classes) + 8
    types = max(len(one.types) for one in classes)
    room = MOST_STICKS

    def zeros(*shape: int) -> Ints:
        return np.zeros(shape, np.int64)

    return Bench(
        left=zeros(items),
        free=zeros(items),
        prices=zeros(items),
        values=zeros(types, room),
        gains=zeros(types, room),
        lengths=zeros(types, room),
        fills=zeros(types, room, items),
        known=zeros(types),
        used=zeros(types),
        row=zeros(length),
        taken=zeros(items, length),
        strip=zeros(room, 7),
        best_strip=zeros(room, 7),
        rows=zeros(room, 7),
        best_rows=zeros(room, 7),
        drawn=zeros(2 * room, 8),
        cuts=zeros(3 * room, items),
        noise=np.zeros(3 * types + 8, np.float64),
        settings=zeros(settings + 1),
        fresh=zeros(settings + 1),
        counts=zeros(8),
    )


class Sawn(NamedTuple):
    """A board as it was cut: billets (from, to, axis of their strips); the price of its blanks and its cost, scaled."""

    billets: list[tuple[int, int, int]]
    gain: int
    cost: int


def cut_board(shop: ShopMarks, costs: Costs, items: Items, bench: Bench, spread: int) -> Sawn:
    """Cut one board for what is left, billet by billet; its sticks are left on the bench."""
    length, width, thickness = items.wood.tolist()
    start, high, shortest = items.ends.tolist()
    billets: list[tuple[int, int, int]] = []
    gains, cost, kept = 0, SCALE * worth_of(shop, length, width, thickness), 0
    bench.counts[STICKS] = 0
    while high - start >= shortest and bench.counts[STICKS] + MOST_STICKS <= len(bench.drawn):
        end, axis, held, value, gain = map(int, best_billet(shop, costs, items, bench, start, spread))
        rest = SCALE * keeper_worth(shop, length - end - shop.cross_kerf, width, thickness)
        if not held or (billets and value + rest <= kept):
            break
        _take(items, bench, len(billets), held)
        billets.append((start, end, axis))
        _join(items, bench, billets)
        gains, cost, kept = gains + gain, cost + gain - value + costs.cut, rest
        start = end + shop.cross_kerf
    if billets:
        start, end, axis = billets[-1]
        stays = (items.losses[:, high - start] == items.losses[:, end - start]).all()
        if stays and length - end - shop.cross_kerf < shop.keeper_length:
            billets[-1] = start, high, axis  # what no keeper holds is better on the billet (R12)
    return Sawn(billets, gains, cost - kept)


def _take(items: Items, bench: Bench, billet: int, held: int) -> None:
    """Add the best billet's sticks to the board's, and count what lies on them off what is left."""
    count = int(bench.counts[STICKS])
    bench.drawn[count : count + held, :7] = bench.best_rows[:held]
    bench.drawn[count : count + held, 7] = billet
    for n in range(count, count + held):
        low, high = items.begin[bench.drawn[n, 5]], items.begin[bench.drawn[n, 5] + 1]
        bench.left[low:high] -= bench.cuts[n, low:high]
    bench.counts[STICKS] += held


def _join(items: Items, bench: Bench, billets: list[tuple[int, int, int]]) -> None:
    """Make one billet of the last two, if their rows and losses are the same."""
    if len(billets) < 2:
        return
    (start, _, axis), (_, end, other) = billets[-2:]
    drawn, cuts = bench.drawn[: bench.counts[STICKS]], bench.cuts
    before, behind = (np.flatnonzero(drawn[:, 7] == n) for n in (len(billets) - 2, len(billets) - 1))
    if axis != other or not np.array_equal(drawn[before, :5], drawn[behind, :5]):
        return
    lengths = [end - start, *(b - a for a, b, _ in billets[-2:])]
    if (items.losses[:, lengths] != items.losses[:, lengths[:1]]).any():
        return
    for one, more in zip(before, behind, strict=True):
        low, high = items.begin[drawn[one, 5]], items.begin[drawn[one, 5] + 1]
        cuts[one, low:high] += cuts[more, low:high]
    bench.counts[STICKS] -= len(behind)
    billets[-2:] = [(start, end, axis)]


def drawing_of(
    batch: Batch,
    one: OffcutClass,
    wanted: Wanted,
    found: tuple[Items, Ints],
    bench: Bench,
    places: Sequence[tuple[int, int, int]],
) -> tuple[Billet, ...]:
    """Return billets whose sticks lie on the bench as a drawing has them."""
    items, order = found
    mark, count = batch.job.shop.mark, int(bench.counts[STICKS])
    rows: list[dict[tuple[int, int], list[Stick]]] = [{} for _ in places]
    for n, line in enumerate(bench.drawn[:count].tolist()):
        low, high = items.begin[line[5]], items.begin[line[5] + 1]
        kinds = [wanted.kind[item] for item in np.repeat(order[low:high], bench.cuts[n, low:high])]
        stick = Stick(
            start=line[2] * mark,
            end=line[3] * mark,
            turned=one.types[line[4]].turned,
            blanks=_pushed_together(batch, kinds, places[line[7]][0]),
        )
        rows[line[7]].setdefault((line[0] * mark, line[1] * mark), []).append(stick)
    return tuple(
        Billet(
            start=start * mark,
            end=end * mark,
            layout="resaw first" if axis else "rip first",
            edge_loss=int(items.losses[0, end - start]) * mark,
            face_loss=int(items.losses[1, end - start]) * mark,
            strips=tuple(Strip(start=a, end=b, sticks=tuple(sticks)) for (a, b), sticks in row.items()),
        )
        for (start, end, axis), row in zip(places, rows, strict=True)
    )


def _pushed_together(batch: Batch, kinds: Sequence[int], start: int) -> tuple[CutBlank, ...]:
    """Return blanks from a billet's start (marks) on, the shortest first (R12)."""
    shop, found = batch.job.shop, []
    at = start * shop.mark + shop.stick_trim
    for blank in sorted((batch.blanks[kind] for kind in kinds), key=lambda blank: (blank.length, blank.name)):
        end = at + blank.length + shop.length_allowance
        found.append(CutBlank(blank=blank.name, start=at, end=end))
        at = end + shop.crosscut_kerf
    return tuple(found)
