"""In words, with the figure: why nothing can be cut from an offcut, and why a blank comes out of none."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import Hindrance
from yieldplan.model.gives import billet_needed
from yieldplan.model.words import slope_words

if TYPE_CHECKING:
    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.workbook.nearest import Near

Misfit = tuple[str, str]
"""The heading of the cell that is questionable, and what is said of it."""


def why_offcut(near: Near, shop: Shop) -> Misfit:
    """Return why nothing can be cut from an offcut; ``near`` is the blank that comes nearest."""
    offcut, blank, miss = near.offcut, near.blank, near.miss
    name, narrow = blank.name, write(miss.narrow, shop.units)
    if miss.hindrance is Hindrance.LENGTH:
        return "Length", _too_short(near, shop)
    words: dict[Hindrance, Misfit] = {
        Hindrance.SPECIES: (
            ("Species", f"is a species that no blank takes; {name} asks for {' or '.join(blank.species)}")
            if offcut.species
            else ("Offcut", "has no species, and every blank asks for one")
        ),
        Hindrance.NO_RINGS_READ: ("Offcut", f"has no ring angle, and {name} asks for {_rings(blank)}"),
        Hindrance.GRAIN: (
            "Ring angle",
            f"is not what {name} asks for ({_rings(blank)}), lying flat or turned",
        ),
        Hindrance.NO_SLOPE_READ: (
            "Offcut",
            f"has no slope of grain, and {name} asks for at most {_max_slope(blank)}",
        ),
        Hindrance.SLOPE: ("Grain slope", f"is steeper than {name} takes ({_max_slope(blank)})"),
        Hindrance.MACHINES: ("Offcut", f"would do for {name} alone, and no machine here takes that size"),
        Hindrance.JOINTER: ("Width", _too_wide(near, shop)),
        Hindrance.SECTION: (
            _section_heading(near),
            f"is, once straight and flat, {_lacking(near, shop)} even for {name}",
        ),
        Hindrance.RINGS: (
            "Ring angle",
            f"is right for {name} in only part of the width, {narrow} too narrow",
        ),
        Hindrance.SAWS: ("Width", _too_high(offcut, shop)),
        Hindrance.DEFECTS: (
            "Offcut",
            f"has {_kinds(offcut)} in the way of every blank, even of {name}, {write(blank.length, shop.units)} long",
        ),
    }
    return words[miss.hindrance]


def why_blank(near: Near, shop: Shop) -> Misfit:
    """Return why a blank comes out of no offcut; ``near`` is the offcut that comes nearest."""
    name, miss = near.offcut.name, near.miss
    short, wide, narrow = (write(steps, shop.units) for steps in (miss.short, miss.wide, miss.narrow))
    rings = "Ring to" if near.blank.ring_from is None else "Ring from"
    words: dict[Hindrance, Misfit] = {
        Hindrance.SPECIES: ("Species", "is what no offcut is"),
        Hindrance.NO_RINGS_READ: (
            rings,
            "is asked for, but no offcut that could serve has its ring angle read",
        ),
        Hindrance.GRAIN: (rings, "asks for rings that no offcut has, lying flat or turned"),
        Hindrance.NO_SLOPE_READ: ("Max slope", "is asked for, but was not read where the rings would do"),
        Hindrance.SLOPE: ("Max slope", "is less than the slope of every offcut that could serve"),
        Hindrance.LENGTH: (
            "Length",
            f"is, with its trims, too long for every offcut; {name}, the nearest, is {short} too short",
        ),
        Hindrance.MACHINES: (
            "Width",
            "is, cut for the wood's moisture, more than the machines take",
        ),
        Hindrance.JOINTER: (
            "Width",
            f"fits only what the jointer does not take; {name}, the nearest, is {wide} too wide for it",
        ),
        Hindrance.SECTION: (
            _section_heading(near),
            f"is more than any offcut has once straight and flat; {name}, the nearest, is {_lacking(near, shop)}",
        ),
        Hindrance.RINGS: (
            rings,
            f"fits no offcut; the right rings of {name}, the nearest, are {narrow} too narrow",
        ),
        Hindrance.SAWS: ("Blank", "cannot be sawn: every offcut that would do is too high for the saws"),
        Hindrance.DEFECTS: (
            "Blank",
            f"fits no offcut clear of defects; {name}, the nearest, has {_kinds(near.offcut)} in the way",
        ),
    }
    return words[miss.hindrance]


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


def _too_wide(near: Near, shop: Shop) -> str:
    """Return by how much an offcut is too wide for the jointer, and why a split does not help (R2)."""
    offcut = near.offcut
    jointer, height = (write(steps, shop.units) for steps in (shop.jointer_width, shop.bandsaw_height))
    split = "no split of it gives a blank either"
    if offcut.kinks:
        split = "with a kink it is not split"
    elif offcut.ring_angle_far is not None:
        split = "with a second ring reading it is not split"
    elif offcut.thickness > shop.bandsaw_height:
        split = f"the bandsaw ({height}) is too low to split it"
    return f"is {write(near.miss.wide, shop.units)} wider than the jointer ({jointer}), and {split}"


def _too_high(offcut: Offcut, shop: Shop) -> str:
    thick, saw, resaw = (
        write(steps, shop.units) for steps in (offcut.thickness, shop.bandsaw_height, shop.resaw_height)
    )
    return f"is, {thick} thick, too high for the saws (bandsaw height {saw}, resaw height {resaw})"


def _rings(blank: Blank) -> str:
    low, high = blank.ring_range or (0, 90)
    return f"{low}° to {high}°"


def _max_slope(blank: Blank) -> str:
    return slope_words(blank.max_slope or Fraction(0))


def _section_heading(near: Near) -> str:
    return "Thickness" if near.miss.thin > near.miss.narrow else "Width"


def _lacking(near: Near, shop: Shop) -> str:
    """Return by how much an offcut is too narrow and too thin."""
    amounts = ((near.miss.narrow, "too narrow"), (near.miss.thin, "too thin"))
    return " and ".join(f"{write(by, shop.units)} {how}" for by, how in amounts if by)


def _kinds(offcut: Offcut) -> str:
    kinds = list(dict.fromkeys(defect.kind for defect in offcut.defects))
    return " and ".join(filter(None, (", ".join(kinds[:-1]), *kinds[-1:])))
