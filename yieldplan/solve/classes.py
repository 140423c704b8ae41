"""The batch and the pile as the graphs need them: kinds, sizes, settings; classes of like offcuts, in marks."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import BOARD_FOOT, fits_machines, prices, ring_window, section
from yieldplan.solve.graph import SCALE, ShopMarks, Terms
from yieldplan.solve.wooden import MOST_DEFECTS, course, sides, wooden

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from yieldplan.model import Blank, Job, Offcut, Shop
    from yieldplan.model.work import Prices
    from yieldplan.solve.graph import Wooden
    from yieldplan.solve.places import Course

    Ints = NDArray[np.int64]


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
    wood = wooden(batch, offcut, found, kinds.tolist())
    along = course(batch, offcut, wood, kinds.tolist(), splits=splits)
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
    longest = max((high - low for low, high, _ in sides(offcut, shop)), default=0)
    found: dict[StickType, list[int]] = {}
    for number, blank in enumerate(batch.blanks):
        long = blank.length + shop.length_allowance + 2 * shop.stick_trim
        if long > longest or not (
            blank.takes_species(offcut.species) and blank.takes_slope(offcut.grain_slope)
        ):
            continue
        for turned in (False, True):
            made = section(offcut, blank, shop, turned=turned)
            if ring_window(offcut, blank, turned=turned) is None or not fits_machines(made, shop):
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
