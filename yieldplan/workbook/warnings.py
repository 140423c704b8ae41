"""What is questionable about a job: wood that yields nothing, blanks that nothing yields, species named in two ways."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import Hindrance, Offcut, past_machines, section, why_not
from yieldplan.model.gives import billet_needed
from yieldplan.model.shop import species_of
from yieldplan.model.species import BUILT_IN, species_key
from yieldplan.model.words import fold, slope_words
from yieldplan.workbook.grid import joined
from yieldplan.workbook.layouts import WORDS
from yieldplan.workbook.suggest import Names, did_you_mean, one_letter_apart, usual_kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Blank, Shop
    from yieldplan.model.gives import Miss
    from yieldplan.workbook.table import Row

    Pile = Sequence[tuple[Row, Offcut]]
    Batch = Sequence[tuple[Row, Blank]]

_MOST_NAMES = 100
"""Different names past which they are no longer compared in pairs: then the column holds something else."""

_DRY = Offcut(name="", length=1, width=1, thickness=1)
"""Wood that asks for no change of size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Near:
    """The pair that comes nearest of all that a row is in, and what stops it."""

    offcut: Offcut
    blank: Blank
    miss: Miss


def warn_of_misfits(pile: Pile, batch: Batch, shop: Shop, *, offcuts: bool, blanks: bool) -> None:
    """Warn of offcuts that yield nothing, and of blanks that nothing yields.

    ``offcuts`` and ``blanks`` say which of the two can be known: an offcut gives none of all blanks whatever other
    offcuts there are, and the other way round.
    """
    of_offcuts, of_blanks = nearest_misses([one for _, one in pile], [one for _, one in batch], shop)
    if offcuts:
        for (row, _), near in zip(pile, of_offcuts, strict=True):
            if near is not None and not _is_told(row, near):
                heading, _, clause = why(near, shop)
                row.warn(heading, f"{clause}; nothing can be cut from it")
        _doubt_moisture(pile, shop)
    if blanks:
        _warn_of_blanks(batch, of_blanks, pile, shop)


def _is_told(row: Row, near: Near) -> bool:
    """Return whether what stops an offcut may come of a figure or a word that is doubted already."""
    if near.miss.hindrance is Hindrance.SPECIES:
        return "Species" in row.doubted
    return bool(row.doubted - {"Species", "Moisture", "Grain slope"})


def _warn_of_blanks(batch: Batch, nears: Sequence[Near | None], pile: Pile, shop: Shop) -> None:
    """Warn of blanks that nothing yields, and of words that no offcut has."""
    if not any(blank.need + blank.spare for _, blank in batch):
        sheet = batch[0][0].table
        sheet.faults.warning(sheet.grid.problem("", "asks for no blank at all: every Need is 0"))
    kinds = Names({*WORDS["kinds"], *(defect.kind for _, offcut in pile for defect in offcut.defects)})
    species = Names(offcut.species for _, offcut in pile if offcut.species)
    for (row, blank), near in zip(batch, nears, strict=True):
        if blank.pairs and (blank.need + blank.spare) % 2:
            many = f"{blank.need}{f' and {blank.spare} spare' if blank.spare else ''}"
            step = "one more, or one fewer, makes pairs of all"
            row.warn("Pairs", f"makes {many} in pairs, so one stands alone", step)
        missing = [word for word in blank.species if word not in species]
        for word in missing:
            row.warn("Species", f"asks for {word}, which no offcut is", species.did_you_mean(word))
        for word in blank.allows:
            if word not in kinds and (likely := usual_kind(word)):
                row.warn("Allows", f"allows {word}, but no defect is called that", f"did you mean {likely}?")
        barred = not row.doubted and _is_barred(row, blank, shop)
        told = barred or row.doubted or (missing and len(missing) == len(blank.species))
        if near is not None and blank.need + blank.spare and not told:
            _, heading, clause = why(near, shop)
            row.warn(heading, f"comes out of no offcut: {near.offcut.name}, the nearest, {clause}")


def _is_barred(row: Row, blank: Blank, shop: Shop) -> bool:
    """Warn where a machine setting forbids the blank whatever the wood (R2); return whether one does."""
    past = past_machines(section(_DRY, blank, shop, turned=False), shop)
    if past is not None:
        heading = "Width" if past.what == "width" else "Thickness"
        limit = write(past.limit, row.unit)
        row.warn(heading, f"gives a {past.what} {past.beyond} ({limit}), so it cannot be made")
    return past is not None


def _doubt_moisture(pile: Pile, shop: Shop) -> None:
    """Warn once of each species whose coefficients are not known, though its moisture should change sizes."""
    if shop.target_moisture is None:
        return
    warned = set()
    names = {species_key(name): name for name in (*BUILT_IN, *(own.name for own in shop.species))}
    for row, offcut in pile:
        key = species_key(offcut.species)
        if offcut.moisture is None or key in warned or species_of(offcut.species, shop):
            continue
        if "Species" in row.doubted:
            continue
        warned.add(key)
        found = "is a species whose movement with moisture is not known" if key else "has no species given"
        likely = did_you_mean(key, names, 0.8) if key else "write its species"
        step = likely or "give its coefficients on the sheet Species"
        heading = "Species" if key else "Offcut"
        row.warn(heading, f"{found}, so no size is changed for its moisture", step)


def doubt_species(rows: Sequence[Row]) -> None:
    """Warn of offcuts without a species in a pile that has them, and of names that are probably one."""
    by_name: dict[str, list[Row]] = {}
    for row in rows:
        if not row.unread("Species") and row.good("Species"):
            by_name.setdefault(fold(row.cell("Species").text), []).append(row)
    empty = by_name.pop("", [])
    named = sum(map(len, by_name.values()))
    count = named + len(empty)
    if named and len(empty) > named:  # said once
        found = f"is empty here and on {len(empty) - 1} more of {count} offcuts, though the others have their species"
        empty[0].warn("Species", found, "a blank that asks for one passes them over")
        for row in empty:
            row.doubted.add("Species")
    elif named:
        found = f"is empty, though {named} of {count} offcuts have their species"
        for row in empty:
            row.doubt("Species", found, "a blank that asks for one passes this offcut over")
    for one, other in combinations(by_name, 2) if len(by_name) <= _MOST_NAMES else ():
        if _alike(one, other):
            rare, usual = sorted((other, one), key=lambda name: (len(by_name[name]), len(name.split())))
            row, first = by_name[rare][0], by_name[usual][0].cell("Species").text
            more = len(by_name[rare]) - 1
            here = f", here and on {more} more {'row' if more == 1 else 'rows'}" if more else ""
            found = f"counts as a different species from {first}{here}"
            row.doubt("Species", found, f"did you mean {first}?")


def _alike(one: str, other: str) -> bool:
    """Return whether two names may be one: a letter apart and not both known, or one with a word more."""
    words, others = set(one.replace("-", " ").split()), set(other.replace("-", " ").split())
    if len(words ^ others) <= 1:  # a word more, or the same words
        return True
    known = species_key(one) in BUILT_IN and species_key(other) in BUILT_IN
    return not known and one_letter_apart(one, other)


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
