"""What comes nearest: for each offcut that gives no blank the nearest blank, and the other way round; why it fails."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import Hindrance, why_not
from yieldplan.model.gives import billet_needed
from yieldplan.model.words import slope_words
from yieldplan.workbook.grid import joined

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.model.gives import Miss

_LOOKED_AT = 20
"""Offcuts that are asked for a blank where the pile gives none of a shorter one: those nearest to that one."""


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

    A pair is looked at only while one of the two has no partner. An offcut that gives none of a blank gives none of a
    longer one of the kind, so of blanks that differ in length alone only the shortest is asked of the whole pile.
    """
    of_offcuts: list[list[Near] | None] = [[] for _ in pile]
    of_blanks: list[Near | None] = [None] * len(batch)
    for shortest, *longer in _alike(batch):
        partner, missed = False, {}
        for place, offcut in enumerate(pile):
            mine = of_offcuts[place]
            if partner and mine is None:
                continue
            near = _ask(offcut, batch[shortest], shop)
            if near is None:
                partner, of_offcuts[place] = True, None
            else:
                missed[place] = near
                if mine is not None:
                    mine.append(near)
        rising = sorted(missed, key=lambda place: missed[place].miss.nearness, reverse=True)
        of_blanks[shortest] = None if partner else missed[rising[0]]
        rest = (
            [place for place in range(len(pile)) if place not in missed] if partner else rising[:_LOOKED_AT]
        )
        for number in longer:
            of_blanks[number] = _nearest(_ask(pile[place], batch[number], shop) for place in rest)
    return [None if nears is None else _nearest(nears) for nears in of_offcuts], of_blanks


def _alike(batch: Sequence[Blank]) -> Iterator[list[int]]:
    """Yield the blanks that differ in length alone, as places in the batch, shortest first."""
    found: dict[Blank, list[int]] = {}
    for place in sorted(range(len(batch)), key=lambda place: batch[place].length):
        blank = batch[place]
        kind = replace(blank, name="", need=0, spare=0, length=0, priority=1, note="", other=())
        found.setdefault(kind, []).append(place)
    yield from sorted(found.values())


def _ask(offcut: Offcut, blank: Blank, shop: Shop) -> Near | None:
    miss = why_not(offcut, blank, shop)
    return None if miss is None else Near(offcut=offcut, blank=blank, miss=miss)


def _nearest(nears: Iterable[Near | None]) -> Near | None:
    """Return the nearest; None as soon as one is no miss at all."""
    nearest: Near | None = None
    for near in nears:
        if near is None:
            return None
        if nearest is None or near.miss.nearness > nearest.miss.nearness:
            nearest = near
    return nearest


_WHY: dict[Hindrance, tuple[tuple[str, str], tuple[str, str]]] = {
    Hindrance.SPECIES: (
        ("Species", "is a species that no blank takes; {blank} asks for {species}"),
        ("Species", "is what no offcut is"),
    ),
    Hindrance.NO_RINGS_READ: (
        ("Offcut", "has no ring angle, and {blank} asks for {rings}"),
        ("{ring}", "is asked for, but no offcut that could serve has its ring angle read"),
    ),
    Hindrance.GRAIN: (
        ("Ring angle", "is not what {blank} asks for ({rings}), lying flat or turned"),
        ("{ring}", "asks for rings that no offcut has, lying flat or turned"),
    ),
    Hindrance.NO_SLOPE_READ: (
        ("Offcut", "has no slope of grain, and {blank} asks for at most {slope}"),
        ("Max slope", "is asked for, but no offcut that could serve has its slope of grain read"),
    ),
    Hindrance.SLOPE: (
        ("Grain slope", "is steeper than {blank} takes ({slope})"),
        ("Max slope", "is less than the slope of every offcut that could serve"),
    ),
    Hindrance.LENGTH: (
        ("Length", "{too_short}"),
        (
            "Length",
            "is, with its trims, too long for every offcut; {offcut}, the nearest, is {short} too short",
        ),
    ),
    Hindrance.MACHINES: (
        ("Offcut", "would do for {blank} alone, and no machine here takes that size"),
        ("Width", "is, cut for the wood's moisture, more than the machines take"),
    ),
    Hindrance.JOINTER: (
        ("Width", "is {wide} wider than the jointer ({jointer}), and {split}"),
        (
            "Width",
            "fits only what the jointer does not take; {offcut}, the nearest, is {wide} too wide for it",
        ),
    ),
    Hindrance.SECTION: (
        ("{section}", "is, once straight and flat, {lacking} even for {blank}"),
        (
            "{section}",
            "is more than any offcut has once straight and flat; {offcut}, the nearest, is {lacking}",
        ),
    ),
    Hindrance.RINGS: (
        ("Ring angle", "is right for {blank} in only part of the width, {narrow} too narrow"),
        ("{ring}", "fits no offcut; the right rings of {offcut}, the nearest, are {narrow} too narrow"),
    ),
    Hindrance.SAWS: (
        ("Width", "is, {thick} thick, too high for the saws (bandsaw height {height}, resaw height {resaw})"),
        ("Blank", "cannot be sawn: every offcut that would do is too high for the saws"),
    ),
    Hindrance.DEFECTS: (
        ("Offcut", "has {kinds} in the way of every blank, even of {blank}, {length} long"),
        ("Blank", "fits no offcut clear of defects; {offcut}, the nearest, has {kinds} in the way"),
    ),
}
"""Under which heading and how it is said that an offcut gives no blank, and that a blank comes out of no offcut."""


def why_offcut(near: Near, shop: Shop) -> tuple[str, str]:
    """Return the heading that is questionable, and why nothing can be cut from an offcut; ``near`` comes nearest."""
    if near.miss.hindrance is Hindrance.SPECIES and not near.offcut.species:
        return "Offcut", "has no species, and every blank asks for one"
    return _filled(_WHY[near.miss.hindrance][0], near, shop)


def why_blank(near: Near, shop: Shop) -> tuple[str, str]:
    """Return the heading that is questionable, and why a blank comes out of no offcut; ``near`` comes nearest."""
    return _filled(_WHY[near.miss.hindrance][1], near, shop)


def _filled(words: tuple[str, str], near: Near, shop: Shop) -> tuple[str, str]:
    offcut, blank, miss = near.offcut, near.blank, near.miss
    low, high = blank.ring_range or (0, 90)
    figures = {
        "short": miss.short,
        "wide": miss.wide,
        "narrow": miss.narrow,
        "jointer": shop.jointer_width,
        "height": shop.bandsaw_height,
        "resaw": shop.resaw_height,
        "thick": offcut.thickness,
        "length": blank.length,
    }
    said = {
        **{name: write(steps, shop.units) for name, steps in figures.items()},
        "offcut": offcut.name,
        "blank": blank.name,
        "species": " or ".join(blank.species),
        "rings": f"{low}° to {high}°",
        "ring": "Ring to" if blank.ring_from is None else "Ring from",
        "slope": slope_words(blank.max_slope or Fraction(0)),
        "section": "Thickness" if miss.thin > miss.narrow else "Width",
        "lacking": " and ".join(
            f"{write(by, shop.units)} too {how}"
            for by, how in ((miss.narrow, "narrow"), (miss.thin, "thin"))
            if by
        ),
        "kinds": joined(dict.fromkeys(defect.kind for defect in offcut.defects)),
        "too_short": _too_short(near, shop),
        "split": _no_split(offcut, shop),
    }
    heading, found = words
    return heading.format_map(said), found.format_map(said)


def _too_short(near: Near, shop: Shop) -> str:
    offcut, limit = near.offcut, shop.shortest_machined_length
    if offcut.length < limit:
        return f"is below the shortest machined length ({write(limit, shop.units)})"
    left = billet_needed(near.blank, shop) - near.miss.short
    if left <= 0:
        return "has no wood left between its ends once they are trimmed"
    where = "between its trimmed ends and kinks" if offcut.kinks else "between its trimmed ends"
    short = write(near.miss.short, shop.units)
    return f"leaves {write(left, shop.units)} {where}, {short} too short even for {near.blank.name}"


def _no_split(offcut: Offcut, shop: Shop) -> str:
    """Return why a split does not help where an offcut is too wide for the jointer (R2)."""
    if offcut.kinks:
        return "with a kink it is not split"
    if offcut.ring_angle_far is not None:
        return "with a second ring reading it is not split"
    if offcut.thickness > shop.bandsaw_height:
        return f"the bandsaw ({write(shop.bandsaw_height, shop.units)}) is too low to split it"
    return "no split of it gives a blank either"
