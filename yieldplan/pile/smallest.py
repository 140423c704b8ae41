"""Where there is no Yard: the smallest board that would give a missing blank."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.model import Offcut, length_needed, section, why_not

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Blank, Job, Plan, Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallestBoard:
    """The smallest board that gives one of a kind: sound, straight, flat and dry, with the rings that it asks for.

    Attributes
    ----------
    missing
        How many of the blank the plan misses.
    length, width, thickness
        Rough sizes in steps; all three 0 where no board would do, because the machines do not make the blank.
    length_for_all
        How long a board of this section is that gives all that are missing, one behind the other; 0 likewise.
    """

    blank: Blank
    missing: int
    length: int = 0
    width: int = 0
    thickness: int = 0
    length_for_all: int = 0


def smallest_boards(job: Job, plan: Plan) -> tuple[SmallestBoard, ...]:
    """Return the smallest board for each kind of blank that a plan misses, in the batch's order."""
    missing = dict(plan.missing)
    return tuple(_smallest(b, missing[b.name], job.shop) for b in job.blanks if missing.get(b.name))


def _smallest(blank: Blank, missing: int, shop: Shop) -> SmallestBoard:
    found = [board for board in _candidates(blank, shop) if why_not(board, blank, shop) is None]
    if not found:
        return SmallestBoard(blank=blank, missing=missing)
    board = min(found, key=lambda board: board.volume)
    others = (missing - 1) * (blank.length + shop.length_allowance + shop.crosscut_kerf)
    alone = blank.length + shop.length_allowance + 2 * (shop.stick_trim + shop.end_trim)
    return SmallestBoard(
        blank=blank,
        missing=missing,
        length=board.length,
        width=board.width,
        thickness=board.thickness,
        length_for_all=max(board.length, alone + others),
    )


def _candidates(blank: Blank, shop: Shop) -> Iterator[Offcut]:
    """Yield boards that leave the blank's rough section after the skims and nothing more, lying flat and turned."""
    low, high = blank.ring_range or (0, 90)
    like = Offcut(
        name="",
        length=length_needed(blank, shop),
        width=1,
        thickness=1,
        species=next(iter(blank.species), ""),
        ring_angle=(low + high) // 2,
        grain_slope=blank.max_slope,
    )
    for turned in (False, True):
        lying = replace(like, ring_angle=90 - (low + high) // 2) if turned else like
        rough = section(lying, blank, shop, turned=turned)
        sizes = (rough.rough_width, rough.rough_thickness)
        across, deep = sizes[::-1] if turned else sizes
        width, thickness = across + shop.edge_skim, deep + shop.face_skim
        yield replace(lying, width=max(width, thickness), thickness=thickness)
