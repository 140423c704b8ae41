"""R6: the planed and the rough section of a stick, in whole marks."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model.moisture import movement

if TYPE_CHECKING:
    from yieldplan.model.pile import Blank, Job, Offcut
    from yieldplan.model.plan import Stick
    from yieldplan.model.shop import Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A stick's sizes (steps): what the planer leaves, and what it is sawn to."""

    planed_width: int
    planed_thickness: int
    rough_width: int
    rough_thickness: int

    @property
    def area(self) -> int:
        """The planed section, in square steps."""
        return self.planed_width * self.planed_thickness


def section(offcut: Offcut, blank: Blank, shop: Shop, *, turned: bool) -> Section:
    """Return the section of a stick for a blank out of an offcut, lying flat or turned.

    Planed: s/(1 - d) to the nearest mark, halves up, never below the finished size s. Rough: s and its allowance, or
    the planed size and *least planing* where that is more.
    """
    moves = movement(offcut, shop) or ((0, 0), (0, 0))
    wide, thick = (max(0, -least) for least, _ in (moves[::-1] if turned else moves))
    width, thickness = _planed(blank.width, wide, shop.mark), _planed(blank.thickness, thick, shop.mark)
    return Section(
        planed_width=width,
        planed_thickness=thickness,
        rough_width=max(blank.width + shop.width_allowance, width + shop.least_planing),
        rough_thickness=max(blank.thickness + shop.thickness_allowance, thickness + shop.least_planing),
    )


def section_of(job: Job, offcut: Offcut, stick: Stick) -> Section:
    """Return the section of a stick of a plan: that of its first blank."""
    return section(offcut, job.blank(stick.blanks[0].blank), job.shop, turned=stick.turned)


def _planed(size: int, shrinks: Fraction | int, mark: int) -> int:
    if not shrinks:
        return size
    marks = Fraction(size) / (1 - shrinks) / mark
    return max(size, int(marks + Fraction(1, 2)) * mark)


def fits_machines(found: Section, shop: Shop) -> bool:
    """Return whether saws and planer take a section at all (R2)."""
    small = min(found.planed_width, found.planed_thickness)
    large = max(found.planed_width, found.planed_thickness)
    rough = min(found.rough_width, found.rough_thickness)
    return rough >= shop.narrowest_rip and small >= shop.thinnest_planed and large <= shop.planer_width
