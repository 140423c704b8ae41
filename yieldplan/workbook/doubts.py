"""What is questionable about a job that can be read: wood that yields nothing, blanks that nothing yields."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.measure import INCH, show
from yieldplan.model import jointable
from yieldplan.model.species import BUILT_IN, species_key, species_of
from yieldplan.model.words import fold
from yieldplan.workbook.near import KINDS, Names, did_you_mean, usual_kind
from yieldplan.workbook.obstacles import LENGTH, RING, SECTION, SLOPE, SPECIES, common_obstacles

if TYPE_CHECKING:
    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.workbook.table import Row

_LONG_STOCK = 20 * 12 * INCH
_OF_OFFCUTS = {
    LENGTH: ("Length", "is too short for every blank with its allowance between the end trims"),
    SPECIES: ("Species", "is of a species that no blank takes"),
    RING: ("Ring angle", "is a ring angle that no blank takes"),
    SLOPE: ("Grain slope", "is a slope of grain that no blank takes"),
    SECTION: ("Width", "gives with the thickness too small a section for every blank once straightened"),
}
_OF_BLANKS = {
    LENGTH: ("Length", "is with its allowance too long for every offcut between its end trims"),
    SECTION: ("Width", "asks with the thickness for a larger section than any offcut has once straightened"),
}
_TOGETHER = "suits no blank in length, section, species and ring angle together"


def doubt(pile: list[tuple[Row, Offcut]], batch: list[tuple[Row, Blank]], shop: Shop) -> None:
    """Warn of offcuts that yield nothing, of blanks that nothing yields, and of words that no offcut has."""
    offcuts, blanks = [offcut for _, offcut in pile], [blank for _, blank in batch]
    of_offcuts, of_blanks = common_obstacles(offcuts, blanks, shop)
    allowed = {fold(word) for blank in blanks for word in blank.allows}
    for (row, offcut), common in zip(pile, of_offcuts, strict=True):
        _doubt_offcut(row, offcut, common, shop)
        if common is None:
            _doubt_sound(row, offcut, allowed)
    if not any(blank.need + blank.extra for blank in blanks):
        sheet = batch[0][0].table
        sheet.faults.warning(sheet.grid.problem("", "asks for no blank at all: every Need is 0"))
    _doubt_moisture(pile, shop)
    kinds = Names({*KINDS, *(defect.kind for offcut in offcuts for defect in offcut.defects)})
    species = Names(offcut.species for offcut in offcuts if offcut.species)
    for (row, blank), common in zip(batch, of_blanks, strict=True):
        barred = _doubt_machines(row, blank, shop)
        lacking = _doubt_species(row, blank, species)
        unread = _doubt_ring(row, blank, offcuts) or _doubt_slope(row, blank, offcuts)
        if common is not None and not (barred or lacking or unread):
            reasons = (place for bit, place in _OF_BLANKS.items() if common & bit)
            row.warn(*next(reasons, ("Blank", "fits no offcut in the pile")))
        for word in blank.allows:
            if word not in kinds and (likely := usual_kind(word)):
                row.warn("Allows", f"allows {word}, which no defect is", f"did you mean {likely}?")


def _doubt_offcut(row: Row, offcut: Offcut, common: int | None, shop: Shop) -> None:
    """Warn of an offcut that nothing can be cut from, naming the plainest reason."""
    typed = row.cell("Length").text
    if row.unit == "inch" and offcut.length > _LONG_STOCK and typed.replace(".", "").isdigit():
        row.warn("Length", "is read as inches, more than 20 ft", f"did you mean {typed} mm?")
    if common is None:
        return
    if not jointable(offcut, shop):
        limit = show(shop.jointer_width, row.unit, direction="down")
        heading, found = "Width", f"is wider than the jointer ({limit})"
    elif offcut.length < shop.shortest_machined_length:
        limit = show(shop.shortest_machined_length, row.unit, direction="up")
        heading, found = "Length", f"is below the shortest machined length ({limit})"
    else:
        heading, found = next(
            (_OF_OFFCUTS[bit] for bit in _OF_OFFCUTS if common & bit), ("Offcut", _TOGETHER)
        )
    if row.cell(heading).empty:
        heading, found = "Offcut", f"has no {heading.lower()} given, and every blank asks for one"
    row.warn(heading, f"{found}; nothing can be cut from it")


def _doubt_sound(row: Row, offcut: Offcut, allowed: set[str]) -> None:
    """Warn of a piece that one defect takes up whole."""
    for defect in offcut.defects:
        box = (defect.x1, defect.x2, defect.y1, defect.y2, defect.z1, defect.z2)
        whole = box == (0, offcut.length, 0, offcut.width, 0, offcut.thickness)
        if whole and fold(defect.kind) not in allowed:
            row.warn("Offcut", f"is all {defect.kind}, which no blank allows; nothing can be cut from it")
            return


def _doubt_ring(row: Row, blank: Blank, pile: list[Offcut]) -> bool:
    """Warn of a range of ring angles where none was read on any wood that will do; return whether so."""
    if blank.ring_from is None and blank.ring_to is None:
        return False
    wood = [offcut for offcut in pile if blank.takes_species(offcut.species)]
    if not wood or any(offcut.ring_angle is not None for offcut in wood):
        return False
    heading = "Ring from" if blank.ring_from is not None else "Ring to"
    row.warn(heading, "is asked for, but no offcut that could serve has its ring angle read")
    return True


def _doubt_slope(row: Row, blank: Blank, pile: list[Offcut]) -> bool:
    """Warn of a limit to the slope of grain where none was read on any wood that will do; return whether so."""
    wood = [offcut for offcut in pile if blank.takes_species(offcut.species)]
    if blank.max_slope is None or not wood or any(offcut.grain_slope is not None for offcut in wood):
        return False
    row.warn("Max slope", "is asked for, but no offcut that could serve has its slope of grain read")
    return True


def _doubt_moisture(pile: list[tuple[Row, Offcut]], shop: Shop) -> None:
    """Warn once of each species whose coefficients are not known, though its moisture should change sizes."""
    if shop.target_moisture is None:
        return
    warned = set()
    for row, offcut in pile:
        key = species_key(offcut.species)
        if offcut.moisture is None or key in warned or species_of(offcut.species, shop):
            continue
        warned.add(key)
        names = {species_key(name): name for name in (*BUILT_IN, *(own.name for own in shop.species))}
        heading = "Species" if key else "Offcut"
        found = "is a species whose movement with moisture is not known" if key else "has no species given"
        likely = did_you_mean(key, names, 0.8) if key else ""
        step = likely or "give its coefficients on the sheet Species"
        row.warn(heading, f"{found}, so no size is changed for its moisture", step)


def _doubt_machines(row: Row, blank: Blank, shop: Shop) -> bool:
    """Warn where a machine setting forbids the blank (R2); return whether one does."""
    rough = min(blank.width + shop.width_allowance, blank.thickness + shop.thickness_allowance)
    if blank.thickness < shop.thinnest_planed:
        limit = show(shop.thinnest_planed, row.unit, direction="up")
        row.warn("Thickness", f"is thinner than the thinnest planed ({limit}), so it cannot be made")
    elif blank.width > shop.planer_width:
        limit = show(shop.planer_width, row.unit, direction="down")
        row.warn("Width", f"is wider than the planer ({limit}), so it cannot be made")
    elif rough < shop.narrowest_rip:
        limit = show(shop.narrowest_rip, row.unit, direction="up")
        row.warn("Thickness", f"is with its allowance below the narrowest rip ({limit}); it cannot be made")
    else:
        return False
    return True


def _doubt_species(row: Row, blank: Blank, had: Names) -> bool:
    """Warn of species that no offcut has; return whether no offcut has any of them."""
    missing = [word for word in blank.species if word not in had]
    for word in missing:
        row.warn("Species", f"asks for {word}, which no offcut is", had.did_you_mean(word))
    return bool(missing) and len(missing) == len(blank.species)
