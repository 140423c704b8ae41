"""In words, with the figure: why nothing can be cut from an offcut, and why a blank comes out of none."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import Hindrance
from yieldplan.model.grain import slope_words

if TYPE_CHECKING:
    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.workbook.nearest import Near

Doubt = tuple[str, str]
"""The heading of the cell that is questionable, and what is said of it."""


def why_offcut(near: Near, shop: Shop) -> Doubt:
    """Return why nothing can be cut from an offcut; ``near`` is the blank that comes nearest."""
    offcut, name, miss = near.offcut, near.blank.name, near.miss
    short, wide, narrow = (write(steps, shop.units) for steps in (miss.short, miss.wide, miss.narrow))
    words: dict[Hindrance, Doubt] = {
        Hindrance.SPECIES: (
            ("Species", "is a species that no blank takes")
            if offcut.species
            else ("Offcut", "has no species given, and every blank asks for one")
        ),
        Hindrance.NO_RINGS_READ: ("Offcut", f"has no ring angle given, which {name} asks for"),
        Hindrance.GRAIN: ("Ring angle", f"gives no rings that {name} takes, lying flat or turned"),
        Hindrance.NO_SLOPE_READ: ("Offcut", f"has no slope of grain given, which {name} asks for"),
        Hindrance.SLOPE: ("Grain slope", f"is steeper than {name} takes ({_max_slope(near.blank)})"),
        Hindrance.LENGTH: ("Length", f"is {_between(offcut)} too short by {short} even for {name}"),
        Hindrance.MACHINES: ("Offcut", f"suits {name} alone, which no machine here makes"),
        Hindrance.JOINTER: (
            "Width",
            f"is wider than the jointer ({write(shop.jointer_width, shop.units)}) by {wide}",
        ),
        Hindrance.SECTION: (
            _section_heading(near),
            f"is {_lacking(near, shop)} even for {name} once straightened",
        ),
        Hindrance.RINGS: (
            "Ring angle",
            f"suits {name} in a part of the width that is too narrow by {narrow}",
        ),
        Hindrance.SAWS: ("Width", f"is with the thickness too high for every saw, even for {name}"),
        Hindrance.DEFECTS: ("Offcut", f"has {_kinds(offcut)} in the way of every blank that would fit"),
    }
    if miss.hindrance is Hindrance.LENGTH and offcut.length < shop.shortest_machined_length:
        limit = write(shop.shortest_machined_length, shop.units)
        return "Length", f"is below the shortest machined length ({limit})"
    return words[miss.hindrance]


def why_blank(near: Near, shop: Shop) -> Doubt:
    """Return why a blank comes out of no offcut; ``near`` is the offcut that comes nearest."""
    name, miss = near.offcut.name, near.miss
    short, wide, narrow = (write(steps, shop.units) for steps in (miss.short, miss.wide, miss.narrow))
    rings = "Ring to" if near.blank.ring_from is None else "Ring from"
    words: dict[Hindrance, Doubt] = {
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
            f"is with its trims too long for every offcut; {name} is too short by {short}",
        ),
        Hindrance.MACHINES: (
            "Width",
            "is, cut for the wood's moisture, more than the machines take",
        ),
        Hindrance.JOINTER: ("Width", f"fits only what the jointer does not take; {name} is wider by {wide}"),
        Hindrance.SECTION: (
            _section_heading(near),
            f"is more than any offcut that would do has once straightened; {name} is {_lacking(near, shop)}",
        ),
        Hindrance.RINGS: (
            rings,
            f"suits {name} in a part of the width too narrow by {narrow}, and no offcut better",
        ),
        Hindrance.SAWS: ("Blank", "cannot be sawn: every offcut that would do is too high for the saws"),
        Hindrance.DEFECTS: (
            "Blank",
            f"fits no offcut clear of defects; {name} has {_kinds(near.offcut)} in the way",
        ),
    }
    return words[miss.hindrance]


def _max_slope(blank: Blank) -> str:
    return slope_words(blank.max_slope or Fraction(0))


def _section_heading(near: Near) -> str:
    return "Thickness" if near.miss.thin > near.miss.narrow else "Width"


def _lacking(near: Near, shop: Shop) -> str:
    """Return by how much an offcut is too narrow and too thin."""
    amounts = ((near.miss.narrow, "too narrow"), (near.miss.thin, "too thin"))
    return " and ".join(f"{how} by {write(by, shop.units)}" for by, how in amounts if by)


def _kinds(offcut: Offcut) -> str:
    kinds = list(dict.fromkeys(defect.kind for defect in offcut.defects))
    return " and ".join(filter(None, (", ".join(kinds[:-1]), *kinds[-1:])))


def _between(offcut: Offcut) -> str:
    return "between its sound ends and kinks" if offcut.kinks else "between its sound ends"
