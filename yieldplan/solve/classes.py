"""The batch and the pile as the graphs need them: kinds, sizes, settings; classes of like offcuts in marks."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import BOARD_FOOT, fits_machines, prices, ring_window, section, whole
from yieldplan.model.wood import sound_ends, split_range
from yieldplan.solve.course import outside_of, stops_of, sums_of
from yieldplan.solve.graph import SCALE, ShopMarks, Terms, Wooden
from yieldplan.solve.places import Course

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from yieldplan.model import Blank, Job, Offcut, Shop
    from yieldplan.model.work import Prices

    Ints = NDArray[np.int64]

MOST_DEFECTS = 48
"""Defects of one offcut that are told apart; of more, neighbours are taken together (bits of a machine word)."""

MOST_LIMITS = 8
"""Ring limits of one offcut that are told apart; a kind beyond is left out of what is looked at on that offcut."""


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
    made = [_offcut_class(batch, like, names, found, splits=splits) for like, names, found in drafts]
    return [one for one in made if one is not None]


def _stick_types(batch: Batch, offcut: Offcut) -> dict[StickType, list[int]]:
    """Return the stick types of an offcut with the kinds that each can carry (R2, R6, R7, R10)."""
    shop, mark = batch.job.shop, batch.job.shop.mark
    found: dict[StickType, list[int]] = {}
    longest = max(
        (
            min(high, sound_ends(offcut, shop)[1]) - max(low, sound_ends(offcut, shop)[0])
            for low, high in offcut.sides
        ),
        default=0,
    )
    for number, blank in enumerate(batch.blanks):
        if not blank.takes_species(offcut.species) or not blank.takes_slope(offcut.grain_slope):
            continue
        if blank.length + shop.length_allowance + 2 * shop.stick_trim > longest:
            continue
        for turned in (False, True):
            if ring_window(offcut, blank, turned=turned) is None:
                continue
            made = section(offcut, blank, shop, turned=turned)
            if not fits_machines(made, shop):
                continue
            stick = StickType(
                (blank.width // mark, blank.thickness // mark),
                (made.planed_width // mark, made.planed_thickness // mark),
                (made.rough_width // mark, made.rough_thickness // mark),
                turned,
            )
            wide, deep = stick.extents
            if (
                wide * mark <= offcut.width - shop.edge_skim
                and deep * mark <= offcut.thickness - shop.face_skim
            ):
                found.setdefault(stick, []).append(number)
    return found


def _ranks(sizes: Sequence[int]) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return the distinct sizes, which belong to each (indices in order), and where each one's begin."""
    distinct = sorted(set(sizes))
    members = [[n for n, size in enumerate(sizes) if size == one] for one in distinct]
    starts = np.cumsum([0, *map(len, members)])
    flat = [n for group in members for n in group]
    return np.array(distinct, np.int64), np.array(flat, np.int64), np.array(starts, np.int64)


def _offcut_class(
    batch: Batch,
    offcut: Offcut,
    names: list[str],
    found: dict[StickType, list[int]],
    *,
    splits: bool,
) -> OffcutClass | None:
    shop, types = batch.job.shop, tuple(found)
    kinds = sorted({number for numbers in found.values() for number in numbers})
    wood, coarse = _wooden(batch, offcut, found, kinds)
    course = _course(batch, offcut, wood, types, kinds, splits=splits)
    if course is None:
        return None
    batch.longest = max(batch.longest, wood.length)
    return OffcutClass(
        offcut=offcut,
        names=tuple(names),
        kinds=np.array(kinds, np.int64),
        types=types,
        wood=wood,
        course=course,
        bare=wood._replace(defects=np.zeros((0, 7), np.int64), allows=np.zeros((len(kinds), 0), np.bool_)),
        cost=offcut.cost(shop) + batch.price.offcut,
        coarse=coarse or course.grain > 1,
    )


def _wooden(
    batch: Batch, offcut: Offcut, found: dict[StickType, list[int]], kinds: list[int]
) -> tuple[Wooden, bool]:
    """Return an offcut for the graphs, and whether some of its defects were taken together."""
    shop, mark, types = batch.job.shop, batch.job.shop.mark, tuple(found)
    local = {number: n for n, number in enumerate(kinds)}
    limits, fits = _ring_limits(batch, offcut, found, local)
    sizes_y, of_y, from_y = _ranks([stick.extents[0] for stick in types])
    sizes_z, of_z, from_z = _ranks([stick.extents[1] for stick in types])
    saws = batch.saw_settings
    rows = [
        (
            *stick.extents,
            *stick.planed,
            int(np.searchsorted(sizes_y, stick.extents[0])),
            int(np.searchsorted(sizes_z, stick.extents[1])),
            saws + batch.planer_sizes["width", stick.planed[0]],
            saws + batch.planer_sizes["thickness", stick.planed[1]],
        )
        for stick in types
    ]
    defects, allows, coarse = _defects(batch, offcut, kinds)
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
        saw_y=np.array([batch.saw_sizes[int(size)] for size in sizes_y], np.int64),
        saw_z=np.array([batch.saw_sizes[int(size)] for size in sizes_z], np.int64),
        fits=fits,
        spans=np.array([(blank.length + shop.length_allowance) // mark for blank in blanks], np.int64),
        clears=np.array([blank.clear_end // mark for blank in blanks], np.int64),
        allows=allows,
        defects=defects,
        limits=limits,
        tables=_tables(
            batch,
            types,
            kinds,
            fits,
            limits,
            width=offcut.width // mark,
            losses=range(batch.shop.edge_skim, batch.shop.edge_skim + -(-offcut.crook // mark) + 1),
        ),
    )
    return wood, coarse


def _ring_limits(
    batch: Batch, offcut: Offcut, found: dict[StickType, list[int]], local: dict[int, int]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return where across y rings suit (N, 2), and which of these each kind has on each stick type (S, K)."""
    mark = batch.job.shop.mark
    limits: dict[tuple[int, int], int] = {}
    fits = np.full((len(found), len(local)), -2, np.int64)
    for row, (stick, numbers) in enumerate(found.items()):
        for number in numbers:
            window = ring_window(offcut, batch.blanks[number], turned=stick.turned)
            if window is None:
                continue
            if window == (0, offcut.width):
                fits[row, local[number]] = -1
                continue
            bounds = (-(-window[0] // mark), window[1] // mark)
            if bounds in limits or len(limits) < MOST_LIMITS:
                fits[row, local[number]] = limits.setdefault(bounds, len(limits))
    return np.array(list(limits), np.int64).reshape(-1, 2), fits


def _defects(
    batch: Batch, offcut: Offcut, kinds: list[int]
) -> tuple[NDArray[np.int64], NDArray[np.bool_], bool]:
    """Return the defects as boxes in marks, outward, which kinds allow which, and whether some were taken together."""
    shop, mark = batch.job.shop, batch.job.shop.mark
    seen = sorted(whole(offcut).defects(shop), key=lambda d: (d.x1, d.x2, d.y1, d.z1, d.kind))
    rows = [
        [
            d.x1 // mark,
            -(-d.x2 // mark),
            d.y1 // mark,
            -(-d.y2 // mark),
            d.z1 // mark,
            -(-d.z2 // mark),
            int(d.through),
        ]
        for d in seen
    ]
    allowed = [[batch.blanks[kind].allows_kind(d.kind) for kind in kinds] for d in seen]
    coarse = len(rows) > MOST_DEFECTS
    while len(rows) > MOST_DEFECTS:
        near = min(range(len(rows) - 1), key=lambda n: rows[n + 1][1] - rows[n][0])
        one, other = rows[near], rows[near + 1]
        both = [
            pick(a, b) for pick, a, b in zip((min, max, min, max, min, max, max), one, other, strict=True)
        ]
        rows[near : near + 2] = [both]
        allowed[near : near + 2] = [[a and b for a, b in zip(allowed[near], allowed[near + 1], strict=True)]]
    allows = np.array(allowed, np.bool_).reshape(len(rows), len(kinds)).T
    return np.array(rows, np.int64).reshape(-1, 7), np.ascontiguousarray(allows), coarse


def _tables(
    batch: Batch,
    types: tuple[StickType, ...],
    kinds: list[int],
    fits: NDArray[np.int64],
    limits: NDArray[np.int64],
    *,
    width: int,
    losses: range,
) -> NDArray[np.int64]:
    """Return which table of clean sticks holds for each stick type outside each set of ring limits; -1 for none."""
    found = np.full((len(types), 1 << len(limits)), -1, np.int64)
    for row, stick in enumerate(types):
        own = [(number, int(limit)) for number, limit in zip(kinds, fits[row], strict=True) if limit >= -1]
        for outside in outside_of(stick.extents[0], width, losses, limits):
            left = tuple(number for number, limit in own if limit < 0 or not outside >> limit & 1)
            if left:
                found[row, outside] = batch.tables.setdefault((left, stick.planed), len(batch.tables))
    return found


MOST_PLACES = 1500
"""Marks along an offcut at which billets may begin: longer offcuts get a coarser grain of their own."""

COARSE_PLACES = 400
"""Places along an offcut that gets a coarser grain, at most: what is long is priced in time rather than exactly."""


def _course(
    batch: Batch,
    offcut: Offcut,
    wood: Wooden,
    types: tuple[StickType, ...],
    kinds: list[int],
    *,
    splits: bool,
) -> Course | None:
    shop, mark = batch.job.shop, batch.job.shop.mark
    low, high = (
        -(-sound_ends(offcut, shop)[0] // mark),
        sound_ends(offcut, shop)[1] // mark,
    )
    shortest = max(-(-shop.shortest_machined_length // mark), 1)
    sides = [
        (max(low, -(-a // mark)), min(high, b // mark), (b - a) // mark)
        for a, b in offcut.sides
        if min(high, b // mark) - max(low, -(-a // mark)) >= shortest
    ]
    places = split_range(offcut, shop) if splits else range(0)
    if not sides or (wood.width > batch.shop.jointer and not places):
        return None
    stops, back = stops_of(wood)
    longest = max(b - a for a, b, _ in sides)
    room = max(longest - 2 * shortest, 0)
    grain = 1
    if room > MOST_PLACES:
        while room // grain > COARSE_PLACES:
            grain *= 2
    tables = sorted(
        {int(table) for table in wood.tables.ravel() if table >= 0} | _step_tables(batch, wood, types, kinds)
    )
    return Course(
        sides=np.array(sides, np.int64),
        stops=stops,
        back_stops=back,
        sums=sums_of(wood, batch.shop.cross_kerf),
        steps=np.array(tables, np.int64),
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


def _step_tables(batch: Batch, wood: Wooden, types: tuple[StickType, ...], kinds: list[int]) -> set[int]:
    """Return tables for the kinds that may lie over a defect: their rows end elsewhere than those of all kinds."""
    found = set()
    for row, stick in enumerate(types):
        for d in range(len(wood.defects)):
            left = tuple(
                number
                for local, number in enumerate(kinds)
                if wood.fits[row, local] >= -1 and wood.allows[local, d]
            )
            if left:
                found.add(batch.tables.setdefault((left, stick.planed), len(batch.tables)))
    return found
