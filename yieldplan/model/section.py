"""R6: the planed and the rough section of a stick, in whole marks; how much wood still shrinks or swells.

Finished sizes are meant at the shop's target moisture. The change of a size D from moisture M1 to M2, all from the
USDA Wood Handbook, FPL-GTR-190, ch. 13:

- within 6 to 14 %: D C (M2 - M1) (Eq. 13-2, seen);
- else: D (M2 - M1) / (30 100/S - 30 + M1), nothing above 30 % (Eq. 13-3; scope seen, formula from memory).

Between the two directions it turns with the rings: C_T cos² + C_R sin² across a face at that angle to the rings
(rotation of a small strain). Everything is a fraction, so that no rounding decides whether a blank fits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Literal, NamedTuple

from yieldplan.model.shop import species_of

if TYPE_CHECKING:
    from yieldplan.model.pile import Blank, Job, Offcut, Rings
    from yieldplan.model.plan import Stick
    from yieldplan.model.shop import Shop
    from yieldplan.model.species import Species

LINEAR = (6, 14)
"""Moistures, per cent, within which the linear formula holds (Wood Handbook, ch. 13; seen)."""


def _squared_sines() -> tuple[Fraction, ...]:
    """Return sin² of 0 to 90 degrees to 15 places, in whole numbers alone: the same on every machine.

    sin² a = (1 - cos 2a)/2, and cos 2(a + 1) = 2 cos 2 cos 2a - cos 2(a - 1).
    """
    unit, places = 10**40, 10**15
    cosines = [unit, 9993908270190957300062434400439299644952]  # cos 2 to 40 places
    while len(cosines) < 91:
        cosines.append(2 * cosines[1] * cosines[-1] // unit - cosines[-2])
    return tuple(Fraction(round(Fraction(unit - cosine, 2 * unit) * places), places) for cosine in cosines)


SIN2 = _squared_sines()
"""Squared sine of each whole degree from 0 to 90, to 15 places; 30, 45, 60 and 90 are exact."""


def wide_range(shrinkage: Fraction, start: Fraction, end: Fraction, saturation: Fraction) -> Fraction:
    """Return the change from moisture ``start`` to ``end``, as a share of the size at ``start`` (Eq. 13-3)."""
    return (end - start) / (saturation * 100 / shrinkage - saturation + start) if shrinkage else Fraction(0)


def change(species: Species, start: Fraction, end: Fraction) -> tuple[Fraction, Fraction]:
    """Return the radial and the tangential change from one moisture to another, as shares of the size at ``start``.

    Below 0 where it shrinks. From above 14 % to within the linear range it never counts as less than from 14 %: the
    two formulas differ a little there, and a wetter piece must not seem to shrink less.
    """
    start, end = min(start, species.saturation), min(end, species.saturation)
    low, high = LINEAR
    if low <= start <= high and low <= end <= high:
        return species.radial * (end - start), species.tangential * (end - start)
    by_shrinkage = tuple(
        wide_range(shrinkage, start, end, species.saturation)
        for shrinkage in (species.radial_shrinkage, species.tangential_shrinkage)
    )
    if start > high and low <= end <= high:
        dry = (species.radial * (end - high), species.tangential * (end - high))
        by_shrinkage = tuple(map(min, by_shrinkage, dry))
    return by_shrinkage[0], by_shrinkage[1]


def at_angle(radial: Fraction, tangential: Fraction, angle: int) -> Fraction:
    """Return the change across a face whose rings stand at ``angle`` degrees to it: T cos² + R sin²."""
    return tangential * (1 - SIN2[angle]) + radial * SIN2[angle]


Range = tuple[Fraction, Fraction]
"""The least and the most that wood changes in one direction, as shares of the size at cutting; below 0 it shrinks."""


def movement(offcut: Offcut, shop: Shop) -> tuple[Range, Range] | None:
    """Return how an offcut's wood still changes across y and across z, whichever of its ring angles a piece has.

    None where moisture, target or coefficients are not known. Where no rings were read all angles count.
    """
    species = species_of(offcut.species, shop)
    if offcut.moisture is None or shop.target_moisture is None or species is None:
        return None
    return _movement(species, Fraction(offcut.moisture), Fraction(shop.target_moisture), offcut.rings)


@cache
def _movement(species: Species, start: Fraction, end: Fraction, rings: Rings | None) -> tuple[Range, Range]:
    moved = change(species, start, end)
    angles = (0, 90) if rings is None else (min(map(min, rings)), max(map(max, rings)))
    across = [at_angle(*moved, angle) for angle in angles]  # at the angles between it lies between
    deep = [at_angle(*moved, 90 - angle) for angle in angles]
    return (min(across), max(across)), (min(deep), max(deep))


def swelling(offcut: Offcut, blank: Blank, shop: Shop, *, turned: bool) -> tuple[int, int]:
    """Return by how much (steps, rounded up) width and thickness may grow over the finished ones by the target."""
    moves = movement(offcut, shop)
    if moves is None:
        return 0, 0
    (_, wide), (_, thick) = moves[::-1] if turned else moves
    return max(0, math.ceil(blank.width * wide)), max(0, math.ceil(blank.thickness * thick))


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


class PastMachines(NamedTuple):
    """Which size (steps) of a section lies beyond which limit of the machines, ``by`` how much."""

    what: Literal["thickness", "width", "rough size"]
    size: int
    beyond: str
    limit: int

    @property
    def by(self) -> int:
        """How far, in steps."""
        return abs(self.size - self.limit)


def past_machines(found: Section, shop: Shop) -> PastMachines | None:
    """Return the first limit of saws and planer that a section does not keep to (R2); None where they take it."""
    thick, wide = sorted((found.planed_width, found.planed_thickness))
    if thick < shop.thinnest_planed:
        return PastMachines("thickness", thick, "below the thinnest planed", shop.thinnest_planed)
    if wide > shop.planer_width:
        return PastMachines("width", wide, "over the planer width", shop.planer_width)
    rough = min(found.rough_width, found.rough_thickness)
    if rough < shop.narrowest_rip:
        return PastMachines("rough size", rough, "below the narrowest rip", shop.narrowest_rip)
    return None
