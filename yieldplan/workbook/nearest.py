"""What comes nearest: for each offcut that gives no blank the nearest blank, and the other way round; why it fails."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import Hindrance, why_not
from yieldplan.model.gives import billet_needed
from yieldplan.model.words import slope_words
from yieldplan.workbook.grid import joined

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.model.gives import Miss


@dataclass(frozen=True, slots=True, kw_only=True)
class Near:
    """The pair that comes nearest of all that a row is in, and what stops it."""

    offcut: Offcut
    blank: Blank
    miss: Miss


def nearest_misses(
    pile: Sequence[Offcut], batch: Sequence[Blank], shop: Shop
) -> tuple[list[Near | None], list[Near | None]]:
    """Return for each offcut and for each blank what comes nearest; None for one that has a partner.

    A pair is looked at only while one of the two has no partner.
    """
    of_offcuts: list[list[Near] | None] = [[] for _ in pile]
    of_blanks: list[list[Near] | None] = [[] for _ in batch]
    for place, offcut in enumerate(pile):
        for number, blank in enumerate(batch):
            mine, its = of_offcuts[place], of_blanks[number]
            if mine is None and its is None:
                continue
            miss = why_not(offcut, blank, shop)
            if miss is None:
                of_offcuts[place] = of_blanks[number] = None
                continue
            near = Near(offcut=offcut, blank=blank, miss=miss)
            for nears in (mine, its):
                if nears is not None:
                    nears.append(near)
    return [_nearest(nears) for nears in of_offcuts], [_nearest(nears) for nears in of_blanks]


def _nearest(nears: list[Near] | None) -> Near | None:
    return max(nears, key=lambda near: near.miss.nearness) if nears else None


_WHY: dict[Hindrance, tuple[str, str, str]] = {
    Hindrance.SPECIES: ("Species", "Species", "is not {species}, as {blank} asks"),
    Hindrance.NO_RINGS_READ: ("Offcut", "{ring}", "has no ring angle, and {blank} asks for {rings}"),
    Hindrance.GRAIN: (
        "Ring angle",
        "{ring}",
        "gives the wrong ring angle for {blank} ({rings}), flat or turned",
    ),
    Hindrance.NO_SLOPE_READ: ("Offcut", "Max slope", "has no slope of grain; {blank} takes at most {slope}"),
    Hindrance.SLOPE: ("Grain slope", "Max slope", "slopes more than {blank} takes ({slope})"),
    Hindrance.LENGTH: ("Length", "Length", "{too_short}"),
    Hindrance.MACHINES: ("Offcut", "Width", "is so wet that no machine takes {blank} as it must be cut"),
    Hindrance.JOINTER: ("Width", "Width", "is {wide} wider than the jointer ({jointer}), and {split}"),
    Hindrance.SECTION: ("{section}", "{section}", "is, once straight and flat, {lacking} for {blank}"),
    Hindrance.RINGS: (
        "Ring angle",
        "{ring}",
        "suits {blank} across part of its width only, {narrow} too narrow",
    ),
    Hindrance.SAWS: (
        "Width",
        "Blank",
        "is, {thick} thick, too high for the saws (bandsaw height {height}, resaw height {resaw})",
    ),
    Hindrance.DEFECTS: ("Offcut", "Blank", "has {kinds} in the way of {blank}, {length} long"),
}
"""Under which headings it is said that an offcut gives no blank, and a blank comes out of no offcut; and why."""


def why(near: Near, shop: Shop) -> tuple[str, str, str]:
    """Return the questionable headings of Offcuts and of Blanks, and why an offcut does not give a blank."""
    offcut, blank, miss = near.offcut, near.blank, near.miss
    if miss.hindrance is Hindrance.SPECIES and not offcut.species:
        return "Offcut", "Species", f"has no species, and {blank.name} asks for one"
    figures = {
        "wide": miss.wide,
        "narrow": miss.narrow,
        "jointer": shop.jointer_width,
        "height": shop.bandsaw_height,
        "resaw": shop.resaw_height,
        "thick": offcut.thickness,
        "length": blank.length,
    }
    low, high = blank.ring_range or (0, 90)
    lacks = (("narrow", miss.narrow), ("thin", miss.thin))
    said = {
        **{name: write(steps, shop.units) for name, steps in figures.items()},
        "blank": blank.name,
        "species": " or ".join(blank.species),
        "rings": f"{low}° to {high}°",
        "ring": "Ring to" if blank.ring_from is None else "Ring from",
        "slope": slope_words(blank.max_slope or Fraction(0)),
        "section": "Thickness" if miss.thin > miss.narrow else "Width",
        "lacking": " and ".join(f"{write(by, shop.units)} too {how}" for how, by in lacks if by),
        "kinds": joined(dict.fromkeys(defect.kind for defect in offcut.defects)),
        "too_short": _too_short(near, shop),
        "split": _no_split(offcut, shop),
    }
    on_offcuts, on_blanks, clause = (words.format_map(said) for words in _WHY[miss.hindrance])
    return on_offcuts, on_blanks, clause


def _too_short(near: Near, shop: Shop) -> str:
    offcut, limit = near.offcut, shop.shortest_machined_length
    if offcut.length < limit:
        return f"is below the shortest machined length ({write(limit, shop.units)})"
    left = billet_needed(near.blank, shop) - near.miss.short
    if left <= 0:
        return "has no wood left between its ends once they are trimmed"
    where = "between its trimmed ends and kinks" if offcut.kinks else "between its trimmed ends"
    short = write(near.miss.short, shop.units)
    return f"leaves {write(left, shop.units)} {where}, {short} too short for {near.blank.name}"


def _no_split(offcut: Offcut, shop: Shop) -> str:
    """Return why a split does not help where an offcut is too wide for the jointer (R2)."""
    if offcut.kinks:
        return "with a kink it is not split"
    if offcut.ring_angle_far is not None:
        return "with a second ring reading it is not split"
    if offcut.thickness > shop.bandsaw_height:
        return f"the bandsaw ({write(shop.bandsaw_height, shop.units)}) is too low to split it"
    return "no split of it gives a blank either"
