"""What is questionable about a job: wood that yields nothing, blanks that nothing yields, species named in two ways."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import Hindrance, Offcut, section
from yieldplan.model.section import past_machines
from yieldplan.model.shop import species_of
from yieldplan.model.species import BUILT_IN, species_key
from yieldplan.model.words import fold
from yieldplan.workbook.layouts import WORDS
from yieldplan.workbook.nearest import why_blank, why_offcut
from yieldplan.workbook.suggest import Names, did_you_mean, one_letter_apart, usual_kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Blank, Shop
    from yieldplan.workbook.nearest import Near
    from yieldplan.workbook.table import Row

_MOST_NAMES = 100
"""Different names past which they are no longer compared in pairs: then the column holds something else."""

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
    batch: Sequence[tuple[Row, Blank]], nears: Sequence[Near | None], offcuts: Sequence[Offcut], shop: Shop
) -> None:
    """Warn of blanks that nothing yields, and of words that no offcut has."""
    if not any(blank.need + blank.spare for _, blank in batch):
        sheet = batch[0][0].table
        sheet.faults.warning(sheet.grid.problem("", "asks for no blank at all: every Need is 0"))
    kinds = Names({*WORDS["kinds"], *(defect.kind for offcut in offcuts for defect in offcut.defects)})
    species = Names(offcut.species for offcut in offcuts if offcut.species)
    for (row, blank), near in zip(batch, nears, strict=True):
        if blank.pairs and (blank.need + blank.spare) % 2:
            many = f"{blank.need}{f' and {blank.spare} spare' if blank.spare else ''}"
            step = "one more, or one fewer, makes pairs of all"
            row.warn("Pairs", f"makes {many} in twos, so one stands alone", step)
        barred = _doubt_machines(row, blank, shop)
        lacking = _doubt_species(row, blank, species)
        told = barred or lacking or row.doubted
        if near is not None and blank.need + blank.spare and not told:
            row.warn(*why_blank(near, shop))
        for word in blank.allows:
            if word not in kinds and (likely := usual_kind(word)):
                row.warn("Allows", f"allows {word}, which no defect is", f"did you mean {likely}?")


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
    past = past_machines(section(_DRY, blank, shop, turned=False), shop)
    if row.doubted or past is None:
        return bool(row.doubted)
    heading, limit = "Width" if past.what == "width" else "Thickness", write(past.limit, row.unit)
    row.warn(heading, f"gives a {past.what} {past.beyond} ({limit}), so it cannot be made")
    return True


def _doubt_species(row: Row, blank: Blank, had: Names) -> bool:
    """Warn of species that no offcut has; return whether no offcut has any of them."""
    missing = [word for word in blank.species if word not in had]
    for word in missing:
        row.warn("Species", f"asks for {word}, which no offcut is", had.did_you_mean(word))
    return bool(missing) and len(missing) == len(blank.species)


def doubt_species(rows: Sequence[Row]) -> None:
    """Warn of offcuts without a species in a pile that has them, and of names that are probably one."""
    by_name: dict[str, list[Row]] = {}
    empty: list[Row] = []
    for row in rows:
        if row.unread("Species") or not row.good("Species"):
            continue
        name = row.cell("Species").text
        (by_name.setdefault(fold(name), []) if name else empty).append(row)
    _doubt_empty(by_name, empty)
    if len(by_name) <= _MOST_NAMES:
        _doubt_pairs(by_name)


def _doubt_empty(by_name: dict[str, list[Row]], empty: list[Row]) -> None:
    """Warn of each row without a species, or once where they are the most."""
    named = sum(map(len, by_name.values()))
    count = named + len(empty)
    if not named or not empty:
        return
    if len(empty) <= named:
        for row in empty:
            row.doubt(
                "Species",
                f"is empty, though {named} of {count} offcuts have their species",
                "a blank that asks for one passes this offcut over",
            )
        return
    found = (
        f"is empty here and on {len(empty) - 1} more of {count} offcuts, though the others have their species"
    )
    empty[0].warn("Species", found, "a blank that asks for one passes them over")
    for row in empty:
        row.doubted.add("Species")


def _doubt_pairs(by_name: dict[str, list[Row]]) -> None:
    """Warn of the rarer of two names that are a letter or a word apart, at its first row."""
    for one, other in combinations(by_name, 2):
        if not _alike(one, other):
            continue
        rare, usual = sorted((other, one), key=lambda name: (len(by_name[name]), len(name.split())))
        row, first = by_name[rare][0], by_name[usual][0].cell("Species").text
        more = len(by_name[rare]) - 1
        here = f", here and on {more} more {'row' if more == 1 else 'rows'}" if more else ""
        row.doubt("Species", f"counts as a different species from {first}{here}", f"did you mean {first}?")


def _alike(one: str, other: str) -> bool:
    """Return whether two names may be one: a letter apart and not both known, or one with a word more."""
    words, others = set(one.replace("-", " ").split()), set(other.replace("-", " ").split())
    if words == others:
        return True
    if (words < others or others < words) and abs(len(words) - len(others)) == 1:
        return True
    known = species_key(one) in BUILT_IN and species_key(other) in BUILT_IN
    return not known and one_letter_apart(one, other)
