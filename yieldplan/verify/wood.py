"""The wood itself, worked out afresh: sections enlarged for moisture (R6), rings and slope of grain (R7).

The formulas are those of the rules, written once more: nothing here comes from where the solver gets them but the
table of species, which is data.
"""

from __future__ import annotations

import math
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

from yieldplan.model.section import Section
from yieldplan.model.shop import species_of

if TYPE_CHECKING:
    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.model.species import Species

Reading = tuple[int, int]
"""Between which two angles a reading lies."""


def readings(offcut: Offcut) -> tuple[Reading, Reading] | None:
    """Return the readings at edge 1 and at the far edge; None where there is none."""
    near, far = offcut.ring_angle, offcut.ring_angle_far
    if near is None:
        return None
    first = near if isinstance(near, tuple) else (near, near)
    if far is None:
        return first, first
    return first, far if isinstance(far, tuple) else (far, far)


@cache
def squared_sine(degrees: int) -> Fraction:
    """Return sin² of an angle to 15 places: (1 - cos 2a)/2, the cosine by its power series."""
    with localcontext() as context:
        context.prec = 60
        angle = Decimal(2 * degrees) * Decimal("3.14159265358979323846264338327950288419716939937511") / 180
        term = cosine = Decimal(1)
        for n in range(2, 100, 2):
            term *= -angle * angle / (n * (n - 1))
            cosine += term
        return Fraction(((1 - cosine) / 2).quantize(Decimal("1e-15")))


def shrinkage(species: Species, wet: Fraction, dry: Fraction) -> tuple[Fraction, Fraction]:
    """Return how much wood shrinks across and along its rings from one moisture to a drier one; 0 where it swells."""
    start, end = min(wet, species.saturation), min(dry, species.saturation)

    def one_way(per_cent: Fraction, total: Fraction) -> Fraction:
        if start <= end:
            return Fraction(0)
        if 6 <= end <= start <= 14:
            return per_cent * (start - end)
        by_total = Fraction(0)
        if total:
            by_total = (start - end) / (100 * species.saturation / total - species.saturation + start)
        return max(by_total, per_cent * (14 - end)) if 6 <= end <= 14 else by_total

    return (
        one_way(species.radial, species.radial_shrinkage),
        one_way(species.tangential, species.tangential_shrinkage),
    )


def enlargement(offcut: Offcut, shop: Shop) -> tuple[Fraction, Fraction]:
    """Return by what sizes across y and across z are multiplied (R6): 1 where moisture changes nothing."""
    species = species_of(offcut.species, shop)
    if offcut.moisture is None or shop.target_moisture is None or species is None:
        return Fraction(1), Fraction(1)
    radial, tangential = shrinkage(species, Fraction(offcut.moisture), Fraction(shop.target_moisture))
    both = readings(offcut)
    angles = (0, 90) if both is None else (min(map(min, both)), max(map(max, both)))
    upright = [squared_sine(angle) for angle in angles]
    across = max(tangential - (tangential - radial) * share for share in upright)
    deep = max(radial + (tangential - radial) * share for share in upright)
    return 1 / (1 - across), 1 / (1 - deep)


def stocked(offcut: Offcut, blank: Blank, shop: Shop, *, turned: bool) -> Section:
    """Return the sizes of a blank's stick: enlarged for moisture to the nearest mark, never below the finished."""

    def planed(size: int, by: Fraction) -> int:
        under = math.floor(size * by / shop.mark) * shop.mark
        return max(size, under if 2 * (size * by - under) < shop.mark else under + shop.mark)

    across, deep = enlargement(offcut, shop)
    width = planed(blank.width, deep if turned else across)
    thickness = planed(blank.thickness, across if turned else deep)
    return Section(
        planed_width=width,
        planed_thickness=thickness,
        rough_width=max(blank.width + shop.width_allowance, width + shop.least_planing),
        rough_thickness=max(blank.thickness + shop.thickness_allowance, thickness + shop.least_planing),
    )


def ring_span(
    both: tuple[Reading, Reading], width: int, span: tuple[int, int], *, turned: bool
) -> tuple[Fraction, Fraction]:
    """Return the least and the greatest ring angle between two places across y, seen from a blank's wide face (R7)."""
    (low, high), (low_far, high_far) = both
    least = [low + Fraction((low_far - low) * y, width) for y in span]
    most = [high + Fraction((high_far - high) * y, width) for y in span]
    if turned:
        return 90 - max(most), 90 - min(least)
    return min(least), max(most)
