"""What is questionable about a job: wood that yields nothing, blanks that nothing yields, species named in two ways."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import Hindrance, Offcut, past_machines, section
from yieldplan.model.shop import species_of
from yieldplan.model.species import BUILT_IN, species_key
from yieldplan.model.words import fold
from yieldplan.workbook.layouts import WORDS
from yieldplan.workbook.nearest import nearest_misses, why
from yieldplan.workbook.suggest import Names, did_you_mean, one_letter_apart, usual_kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Blank, Shop
    from yieldplan.workbook.nearest import Near
    from yieldplan.workbook.table import Row

    Pile = Sequence[tuple[Row, Offcut]]
    Batch = Sequence[tuple[Row, Blank]]

_MOST_NAMES = 100
"""Different names past which they are no longer compared in pairs: then the column holds something else."""

_DRY = Offcut(name="", length=1, width=1, thickness=1)
"""Wood that asks for no change of size."""


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
