"""What is questionable about a job that can be read: wood that yields nothing, blanks that nothing yields."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import Hindrance, Offcut, section
from yieldplan.model.shop import species_of
from yieldplan.model.species import BUILT_IN, species_key
from yieldplan.workbook.misfits import why_blank, why_offcut
from yieldplan.workbook.suggest import KINDS, Names, did_you_mean, usual_kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Blank, Shop
    from yieldplan.workbook.nearest import Near
    from yieldplan.workbook.table import Row

_DRY = Offcut(name="", length=1, width=1, thickness=1)
"""Wood that asks for no change of size."""


def warn_of_offcuts(pile: Sequence[tuple[Row, Offcut]], nears: Sequence[Near | None], shop: Shop) -> None:
    """Warn of offcuts that yield nothing, and of species whose movement is not known."""
    for (row, _), near in zip(pile, nears, strict=True):
        if near is not None and not _is_told(row, near):
            heading, found = why_offcut(near, shop)
            row.warn(heading, f"{found}; nothing can be cut from it")
    _doubt_moisture(pile, shop)


def _is_told(row: Row, near: Near) -> bool:
    """Return whether what stops an offcut may come of a figure or a word that is doubted already."""
    if near.miss.hindrance is Hindrance.SPECIES:
        return "Species" in row.doubted
    return bool(row.doubted - {"Species", "Moisture", "Grain slope"})


def warn_of_blanks(
    batch: Sequence[tuple[Row, Blank]],
    nears: Sequence[Near | None],
    offcuts: Sequence[Offcut],
    shop: Shop,
) -> None:
    """Warn of blanks that nothing yields, and of words that no offcut has."""
    if not any(blank.need + blank.spare for _, blank in batch):
        sheet = batch[0][0].table
        sheet.faults.warning(sheet.grid.problem("", "asks for no blank at all: every Need is 0"))
    kinds = Names({*KINDS, *(defect.kind for offcut in offcuts for defect in offcut.defects)})
    species = Names(offcut.species for offcut in offcuts if offcut.species)
    for (row, blank), near in zip(batch, nears, strict=True):
        if blank.pairs and (blank.need + blank.spare) % 2:
            many = f"{blank.need}{f' and {blank.spare} spare' if blank.spare else ''}"
            step = "one more, or one fewer, makes pairs of all"
            row.warn("Pairs", f"makes {many} in twos, so one stands alone", step)
        barred = _doubt_machines(row, blank, shop)
        lacking = _doubt_species(row, blank, species)
        unread = _doubt_ring(row, blank, offcuts) or _doubt_slope(row, blank, offcuts)
        told = barred or lacking or unread or row.doubted
        if near is not None and blank.need + blank.spare and not told:
            row.warn(*why_blank(near, shop))
        for word in blank.allows:
            if word not in kinds and (likely := usual_kind(word)):
                row.warn("Allows", f"allows {word}, which no defect is", f"did you mean {likely}?")


def _doubt_ring(row: Row, blank: Blank, pile: Sequence[Offcut]) -> bool:
    """Warn of a range of ring angles where none was read on any wood that will do; return whether so."""
    if blank.ring_range is None:
        return False
    wood = [offcut for offcut in pile if blank.takes_species(offcut.species)]
    if not wood or any(offcut.ring_angle is not None for offcut in wood):
        return False
    heading = "Ring from" if blank.ring_from is not None else "Ring to"
    row.warn(heading, "is asked for, but no offcut that could serve has its ring angle read")
    return True


def _doubt_slope(row: Row, blank: Blank, pile: Sequence[Offcut]) -> bool:
    """Warn of a limit to the slope of grain where none was read on any wood that will do; return whether so."""
    wood = [offcut for offcut in pile if blank.takes_species(offcut.species)]
    if blank.max_slope is None or not wood or any(offcut.grain_slope is not None for offcut in wood):
        return False
    row.warn("Max slope", "is asked for, but no offcut that could serve has its slope of grain read")
    return True


def _doubt_moisture(pile: Sequence[tuple[Row, Offcut]], shop: Shop) -> None:
    """Warn once of each species whose coefficients are not known, though its moisture should change sizes."""
    if shop.target_moisture is None:
        return
    warned = set()
    for row, offcut in pile:
        key = species_key(offcut.species)
        if offcut.moisture is None or key in warned or species_of(offcut.species, shop):
            continue
        if "Species" in row.doubted:
            continue
        warned.add(key)
        names = {species_key(name): name for name in (*BUILT_IN, *(own.name for own in shop.species))}
        heading = "Species" if key else "Offcut"
        found = "is a species whose movement with moisture is not known" if key else "has no species given"
        likely = did_you_mean(key, names, 0.8) if key else ""
        step = likely or ("give its coefficients on the sheet Species" if key else "write its species")
        row.warn(heading, f"{found}, so no size is changed for its moisture", step)


def _doubt_machines(row: Row, blank: Blank, shop: Shop) -> bool:
    """Warn where a machine setting forbids the blank whatever the wood (R2); return whether one does, or may."""
    sizes = section(_DRY, blank, shop, turned=False)
    if row.doubted:
        return True
    if sizes.planed_thickness < shop.thinnest_planed:
        limit = write(shop.thinnest_planed, row.unit)
        row.warn("Thickness", f"is thinner than the thinnest planed ({limit}), so it cannot be made")
    elif sizes.planed_width > shop.planer_width:
        limit = write(shop.planer_width, row.unit)
        row.warn("Width", f"is wider than the planer ({limit}), so it cannot be made")
    elif min(sizes.rough_width, sizes.rough_thickness) < shop.narrowest_rip:
        limit = write(shop.narrowest_rip, row.unit)
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
