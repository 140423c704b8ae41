"""The batch and the pile as the graphs need them: kinds, sizes, settings; classes of like offcuts, all in marks."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import BOARD_FOOT, past_machines, prices, ring_window, section, whole
from yieldplan.model.wood import sound_ends, split_range
from yieldplan.solve.graph import SCALE, ShopMarks, Terms, Wooden
from yieldplan.solve.places import Course

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from yieldplan.model import Blank, Job, Offcut, Shop
    from yieldplan.model.work import Prices

    Ints = NDArray[np.int64]


MOST_DEFECTS = 48
"""Defects of one offcut that are told apart; of more, neighbours are taken together (bits of a machine word)."""

MOST_LIMITS = 8
"""Ring limits of one offcut that are told apart; a kind beyond is left out of what is looked at on that offcut."""

MOST_PLACES = 1500
"""Marks along an offcut at which billets may begin: longer offcuts get a coarser grain of their own."""

COARSE_PLACES = 400
"""Places along an offcut that gets a coarser grain, at most: what is long is priced in time rather than exactly."""


class StickType(NamedTuple):
    """What a stick is: finished section, planed section, rough section, in marks, and how it lies."""

    finished: tuple[int, int]
    planed: tuple[int, int]
    rough: tuple[int, int]
    turned: bool

    @property
    def extents(self) -> tuple[int, int]:
        """Its size across y and across z."""
        return self.rough[::-1] if self.turned else self.rough


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutClass:
    """Like offcuts: one of them, how many, and what they can give.

    ``kinds`` are the batch's numbers of the kinds that it can give; ``types`` its stick types; ``wood`` and ``course``
    the same for the graphs. ``bare`` is the wood without its defects; ``cost`` is what drawing one
    costs: worth (or price) and handling, unscaled.
    """

    offcut: Offcut
    names: tuple[str, ...]
    kinds: NDArray[np.int64]
    types: tuple[StickType, ...]
    wood: Wooden
    course: Course
    cost: int
    bare: Wooden
    coarse: bool = False

    @property
    def copies(self) -> int:
        """How many there are."""
        return len(self.names)


@dataclass(slots=True, kw_only=True)
class Batch:
    """What is wanted, and everything that classes share: sizes, settings, tables of clean sticks.

    ``tables`` holds for each table of clean sticks the kinds in it and the planed section.
    """

    job: Job
    shop: ShopMarks
    price: Prices
    blanks: tuple[Blank, ...]
    saw_sizes: dict[int, int] = field(default_factory=dict)
    planer_sizes: dict[tuple[str, int], int] = field(default_factory=dict)
    tables: dict[tuple[tuple[int, ...], tuple[int, int]], int] = field(default_factory=dict)
    longest: int = 0

    @property
    def saw_settings(self) -> int:
        """How many saw settings there could be."""
        return 4 * len(self.saw_sizes)

    @property
    def settings(self) -> int:
        """How many settings of saws and planer there could be."""
        return self.saw_settings + len(self.planer_sizes)

    def terms(self, prices: Ints, tables: tuple[Ints, Ints], *, missing: bool = False) -> Terms:
        """Return the terms of these prices, all settings allowed; work and wood cost nothing if ``missing``."""
        factor, price = 0 if missing else SCALE, self.price
        return Terms(
            saw=np.array([price.cut * factor, price.bandsaw * factor]),
            setting=price.setting * factor,
            cut=price.cut * factor,
            stick=price.stick * factor,
            billet=price.billet * factor,
            worth=0 if missing else 1,
            prices=prices,
            clean=tables[0],
            steps=tables[1],
            allowed=np.ones(self.settings, np.bool_),
        )


def new_batch(job: Job, at: int | None = None) -> Batch:
    """Return the batch of a job, at the shop's price of work or another (:func:`yieldplan.model.prices`)."""
    return Batch(
        job=job,
        shop=_shop_marks(job.shop),
        price=prices(job.shop, at),
        blanks=tuple(blank for blank in job.blanks if blank.need + blank.spare),
    )


def _shop_marks(shop: Shop) -> ShopMarks:
    mark = shop.mark
    small, large = sorted((shop.keeper_width // mark, shop.keeper_thickness // mark))
    return ShopMarks(
        kerf=np.array([shop.rip_kerf // mark, (shop.bandsaw_kerf + shop.bandsaw_skim) // mark]),
        saw_depth=shop.saw_depth // mark,
        band_height=shop.bandsaw_height // mark,
        resaw_height=shop.resaw_height // mark,
        plane_off=shop.plane_off // mark,
        cross_kerf=shop.crosscut_kerf // mark,
        stick_trim=shop.stick_trim // mark,
        keeper_length=max(shop.keeper_length // mark, 1),
        keeper_small=small,
        keeper_large=large,
        edge_skim=shop.edge_skim // mark,
        face_skim=shop.face_skim // mark,
        jointer=shop.jointer_width // mark,
        premium=float(shop.length_premium),
        full=shop.full_length / mark,
        unit=1000 * mark**3 / BOARD_FOOT,
    )


def classes_of(batch: Batch, *, splits: bool = True) -> list[OffcutClass]:
    """Return the classes of a pile that can give anything, in the pile's order."""
    groups: dict[Offcut, list[str]] = {}
    for offcut in batch.job.offcuts:
        defects = tuple(sorted((replace(defect, note="") for defect in offcut.defects), key=repr))
        like = replace(offcut, name="", qty=1, rack="", origin="", note="", other=(), defects=defects)
        groups.setdefault(like, []).extend([offcut.name] * offcut.qty)
    drafts = [(like, names, found) for like, names in groups.items() if (found := _stick_types(batch, like))]
    for _, _, found in drafts:
        for stick in found:
            for size in stick.rough:
                batch.saw_sizes.setdefault(size, len(batch.saw_sizes))
            for word, size in zip(("width", "thickness"), stick.planed, strict=True):
                batch.planer_sizes.setdefault((word, size), len(batch.planer_sizes))
    made = [_offcut_class(batch, like, tuple(names), found, splits) for like, names, found in drafts]
    return [one for one in made if one is not None]


def _offcut_class(
    batch: Batch, offcut: Offcut, names: tuple[str, ...], found: dict[StickType, list[int]], splits: bool
) -> OffcutClass | None:
    kinds = np.array(sorted({number for numbers in found.values() for number in numbers}), np.int64)
    wood = _wooden(batch, offcut, found, kinds.tolist())
    along = _course(batch, offcut, wood, kinds.tolist(), splits=splits)
    if along is None:
        return None
    batch.longest = max(batch.longest, wood.length)
    return OffcutClass(
        offcut=offcut,
        names=names,
        kinds=kinds,
        types=tuple(found),
        wood=wood,
        course=along,
        bare=wood._replace(defects=wood.defects[:0], allows=wood.allows[:, :0]),
        cost=offcut.cost(batch.job.shop) + batch.price.offcut,
        coarse=len(offcut.defects) > MOST_DEFECTS or along.grain > 1,
    )


def _stick_types(batch: Batch, offcut: Offcut) -> dict[StickType, list[int]]:
    """Return the stick types of an offcut with the kinds that each can carry (R2, R6, R7, R10)."""
    shop, mark = batch.job.shop, batch.job.shop.mark
    longest = max((high - low for low, high, _ in _sides(offcut, shop)), default=0)
    found: dict[StickType, list[int]] = {}
    for number, blank in enumerate(batch.blanks):
        long = blank.length + shop.length_allowance + 2 * shop.stick_trim
        if long > longest or not (
            blank.takes_species(offcut.species) and blank.takes_slope(offcut.grain_slope)
        ):
            continue
        for turned in (False, True):
            made = section(offcut, blank, shop, turned=turned)
            if ring_window(offcut, blank, turned=turned) is None or past_machines(made, shop):
                continue
            stick = StickType(
                (blank.width // mark, blank.thickness // mark),
                (made.planed_width // mark, made.planed_thickness // mark),
                (made.rough_width // mark, made.rough_thickness // mark),
                turned,
            )
            wide, deep = (size * mark for size in stick.extents)
            if wide <= offcut.width - shop.edge_skim and deep <= offcut.thickness - shop.face_skim:
                found.setdefault(stick, []).append(number)
    return found


def _sides(offcut: Offcut, shop: Shop) -> Iterator[tuple[int, int, int]]:
    """Yield from where to where billets may lie between ends and kinks, in steps, and over what warp was measured."""
    first, last = sound_ends(offcut, shop)
    for low, high in offcut.sides:
        yield max(first, low), min(last, high), high - low


def _wooden(batch: Batch, offcut: Offcut, found: dict[StickType, list[int]], kinds: Sequence[int]) -> Wooden:
    """Return an offcut for the graphs: ``found`` are its stick types with the ``kinds`` that each can carry."""
    shop, mark, types = batch.job.shop, batch.job.shop.mark, tuple(found)
    limits, fits = _ring_limits(batch, offcut, found, kinds)
    sizes_y, of_y, from_y = _ranks([stick.extents[0] for stick in types])
    sizes_z, of_z, from_z = _ranks([stick.extents[1] for stick in types])
    rows = [
        (
            *stick.extents,
            *stick.planed,
            int(np.searchsorted(sizes_y, stick.extents[0])),
            int(np.searchsorted(sizes_z, stick.extents[1])),
            batch.saw_settings + batch.planer_sizes["width", stick.planed[0]],
            batch.saw_settings + batch.planer_sizes["thickness", stick.planed[1]],
        )
        for stick in types
    ]
    defects, allows = _defects(batch, offcut, kinds)
    blanks = [batch.blanks[number] for number in kinds]
    wood = Wooden(
        length=offcut.length // mark,
        width=offcut.width // mark,
        thickness=offcut.thickness // mark,
        types=np.array(rows, np.int64),
        sizes_y=sizes_y,
        sizes_z=sizes_z,
        of_y=of_y,
        from_y=from_y,
        of_z=of_z,
        from_z=from_z,
        saw_y=np.array([batch.saw_sizes[size] for size in sizes_y.tolist()], np.int64),
        saw_z=np.array([batch.saw_sizes[size] for size in sizes_z.tolist()], np.int64),
        fits=fits,
        spans=np.array([(blank.length + shop.length_allowance) // mark for blank in blanks], np.int64),
        clears=np.array([blank.clear_end // mark for blank in blanks], np.int64),
        allows=allows,
        defects=defects,
        limits=limits,
        tables=np.full((len(types), 1 << len(limits)), -1, np.int64),
    )
    most = batch.shop.edge_skim - (-offcut.crook // mark)
    for row, (across, *_) in enumerate(rows):
        for outside in _outside(across, wood.width, range(batch.shop.edge_skim, most + 1), limits):
            suit = [fit == -1 or (fit >= 0 and not outside >> fit & 1) for fit in fits[row].tolist()]
            wood.tables[row, outside] = _table(batch, wood, row, kinds, np.array(suit))
    return wood


def _ranks(sizes: Sequence[int]) -> tuple[Ints, Ints, Ints]:
    """Return the distinct sizes, which belong to each (indices in order), and where each one's begin."""
    distinct, counts = np.unique(np.array(sizes, np.int64), return_counts=True)
    return distinct, np.argsort(sizes, kind="stable").astype(np.int64), np.append(0, np.cumsum(counts))


def _ring_limits(
    batch: Batch, offcut: Offcut, found: dict[StickType, list[int]], kinds: Sequence[int]
) -> tuple[Ints, Ints]:
    """Return where across y rings suit (N, 2), and which of these each kind has on each stick type (S, K)."""
    mark = batch.job.shop.mark
    limits: dict[tuple[int, int], int] = {(0, offcut.width // mark): -1}
    fits = np.full((len(found), len(kinds)), -2, np.int64)
    for row, (stick, numbers) in enumerate(found.items()):
        for number in numbers:
            window = ring_window(offcut, batch.blanks[number], turned=stick.turned)
            bounds = (-(-window[0] // mark), window[1] // mark) if window else ()
            if bounds and (bounds in limits or len(limits) <= MOST_LIMITS):
                fits[row, kinds.index(number)] = limits.setdefault(bounds, len(limits) - 1)
    return np.array(list(limits)[1:], np.int64).reshape(-1, 2), fits


def _defects(batch: Batch, offcut: Offcut, kinds: Sequence[int]) -> tuple[Ints, NDArray[np.bool_]]:
    """Return the defects as boxes in marks, outward (D, 7), and which kinds allow which (K, D)."""
    mark = batch.job.shop.mark
    seen = sorted(whole(offcut).defects(batch.job.shop), key=lambda d: (d.x1, d.x2, d.y1, d.z1, d.kind))
    lows = np.array([(d.x1, d.y1, d.z1) for d in seen], np.int64).reshape(-1, 3) // mark
    highs = -(-np.array([(d.x2, d.y2, d.z2) for d in seen], np.int64).reshape(-1, 3) // mark)
    allowed = np.array([[batch.blanks[kind].allows_kind(d.kind) for kind in kinds] for d in seen], np.bool_)
    rows, allows = [], []
    for near in np.array_split(np.arange(len(seen)), min(len(seen), MOST_DEFECTS)) if seen else ():
        (x1, y1, z1), (x2, y2, z2) = lows[near].min(axis=0), highs[near].max(axis=0)
        rows.append((x1, x2, y1, y2, z1, z2, any(seen[n].through for n in near)))
        allows.append(allowed[near].all(axis=0))
    return (
        np.array(rows, np.int64).reshape(-1, 7),
        np.ascontiguousarray(np.array(allows, np.bool_).reshape(len(rows), len(kinds)).T),
    )


def _outside(extent: int, width: int, losses: range, limits: Ints) -> set[int]:
    """Return every set of ring limits that a stick of this extent across y may lie outside of, as bits."""
    starts, found = np.arange(max(width - extent + 1, 1))[:, None], {0}
    for loss in losses if len(limits) else ():
        bits = (starts < limits[:, 0]) | (starts + extent + loss > limits[:, 1])
        found |= set((bits @ (1 << np.arange(len(limits)))).tolist())
    return found


def _table(batch: Batch, wood: Wooden, row: int, kinds: Sequence[int], suit: NDArray[np.bool_]) -> int:
    """Return the table of clean sticks of a type for those kinds that it carries and that suit; -1 where none does."""
    held = tuple(kinds[local] for local in np.flatnonzero(suit & (wood.fits[row] >= -1)).tolist())
    key = held, (int(wood.types[row, 2]), int(wood.types[row, 3]))
    return batch.tables.setdefault(key, len(batch.tables)) if held else -1


def _course(
    batch: Batch, offcut: Offcut, wood: Wooden, kinds: Sequence[int], *, splits: bool
) -> Course | None:
    """Return what an offcut is along x; None where no billet may lie on it, or it may not be split as it must."""
    shop, mark = batch.job.shop, batch.job.shop.mark
    shortest = max(-(-shop.shortest_machined_length // mark), 1)
    found = [(-(-low // mark), high // mark, whole // mark) for low, high, whole in _sides(offcut, shop)]
    found = [(low, high, whole) for low, high, whole in found if high - low >= shortest]
    places = split_range(offcut, shop) if splits else range(0)
    if not found or (wood.width > batch.shop.jointer and not places):
        return None
    stops, back = _stops(wood)
    grain, room = 1, max(high - low for low, high, _ in found) - 2 * shortest
    while room > MOST_PLACES and room // grain > COARSE_PLACES:
        grain *= 2
    # the kinds that may lie over a defect: their rows end elsewhere than those of all kinds
    over = [
        _table(batch, wood, row, kinds, allows) for row in range(len(wood.types)) for allows in wood.allows.T
    ]
    return Course(
        sides=np.array(found, np.int64),
        stops=stops,
        back_stops=back,
        sums=_sums(wood, batch.shop.cross_kerf),
        steps=np.array(sorted({*wood.tables.ravel().tolist(), *over} - {-1}), np.int64),
        bow=offcut.bow,
        crook=offcut.crook,
        cup=offcut.cup,
        twist=offcut.twist,
        splits=np.array([places[0] // mark, places[-1] // mark] if places else [1, 0], np.int64),
        band_kerf=shop.bandsaw_kerf // mark,
        mark=mark,
        shortest=shortest,
        grain=grain,
    )


def _stops(wood: Wooden) -> tuple[Ints, Ints]:
    """Return P+ and P-: where a blank may stand against a defect, behind it and before it."""
    behind, before = set(wood.defects[:, 1].tolist()), set(wood.defects[:, 0].tolist())
    for kind, number in np.argwhere(wood.allows):
        rest = wood.spans[kind] - wood.clears[kind]
        if wood.clears[kind] and rest > 0:
            behind.add(int(wood.defects[number, 1] - rest))
            before.add(int(wood.defects[number, 0] + rest))
    found = (np.array(sorted(places), np.int64) for places in (behind, before))
    after, back = (places[(places > 0) & (places < wood.length)] for places in found)
    return after, back


def _sums(wood: Wooden, kerf: int) -> Ints:
    """Return for each length the least that blanks pushed together come to and that is no less; -1 where none is."""
    reached, found = 1, np.full(wood.length + 2, -1, np.int64)  # bit n: blanks, each with a kerf, come to n
    within = (1 << (wood.length + 2 + kerf)) - 1
    for span in set(wood.spans.tolist()):
        step = span + kerf
        while step <= wood.length + kerf:
            reached |= reached << step & within
            step *= 2
    after = -1
    for length in range(wood.length + 1, -1, -1):
        if length > 0 and length + kerf <= wood.length + 1 and reached >> (length + kerf) & 1:
            after = length
        found[length] = after
    return found
