"""What is questionable about a job that can be read: wood that yields nothing, blanks that nothing yields.

Each test here is a necessary condition of the shop model and looks at one offcut and one blank at a time, so
a warning is always true; its absence promises nothing.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from yieldplan.measure import INCH, show
from yieldplan.model import Blank, Offcut, Shop, edge_loss, face_loss
from yieldplan.workbook.near import KINDS, Names, usual_kind

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldplan.workbook.table import Row

_LONG_STOCK = 20 * 12 * INCH
_REASONS = {
    "length": "is too short for every blank with its allowance between the end trims",
    "species": "is of a species that no blank takes",
    "ring": "has a ring angle that no blank takes",
    "section": "is too thin or too narrow for every blank once it is straightened",
}
_PLACES = {"length": "Length", "species": "Species", "ring": "Ring angle", "section": "Width"}


def doubt_offcuts(pile: list[tuple[Row, Offcut]], batch: list[Blank], shop: Shop) -> None:
    """Warn of each offcut that nothing can be cut from, naming the plainest reason."""
    for row, offcut in pile:
        typed = row.cell("Length").text
        if row.unit == "inch" and offcut.length > _LONG_STOCK and typed.replace(".", "").isdigit():
            row.warn("Length", "is read as inches, more than 20 ft", f"did you mean {typed} mm?")
        if offcut.width > shop.jointer_width:
            limit = show(shop.jointer_width, row.unit, direction="down")
            row.warn("Width", f"is wider than the jointer ({limit}), so nothing can be cut from it")
        elif offcut.length < shop.shortest_machined_length:
            limit = show(shop.shortest_machined_length, row.unit, direction="up")
            row.warn("Length", f"is below the shortest machined length ({limit}); nothing can be cut from it")
        elif batch:
            _doubt_offcut(row, offcut, batch, shop)


def _doubt_offcut(row: Row, offcut: Offcut, batch: list[Blank], shop: Shop) -> None:
    obstacles = _all_obstacles((offcut, blank, shop) for blank in batch)
    if not obstacles:
        return
    reason = next((reason for reason in _REASONS if all(reason in some for some in obstacles)), None)
    if reason is None:
        row.warn(
            "Offcut",
            "suits no blank in length, section, species and ring angle together; nothing can be cut from it",
        )
    elif reason in ("species", "ring") and row.cell(_PLACES[reason]).empty:
        what = "species" if reason == "species" else "ring angle"
        row.warn("Offcut", f"has no {what} given, and every blank asks for one; nothing can be cut from it")
    else:
        row.warn(_PLACES[reason], f"{_REASONS[reason]}; nothing can be cut from it")


def doubt_blanks(batch: list[tuple[Row, Blank]], pile: list[Offcut], shop: Shop) -> None:
    """Warn of blanks that no machine permits or no offcut can hold, and of words that no offcut has."""
    kinds = Names({*KINDS, *(defect.kind for offcut in pile for defect in offcut.defects)})
    species = Names(offcut.species for offcut in pile if offcut.species)
    if batch and not any(blank.need + blank.extra for _, blank in batch):
        row = batch[0][0]
        row.table.faults.warning(row.table.grid.problem("", "asks for no blank at all: every Need is 0"))
    for row, blank in batch:
        barred = _doubt_machines(row, blank, shop)
        lacking = _doubt_species(row, blank, species)
        ringless = False
        if blank.ring_from is not None or blank.ring_to is not None:
            wood = [offcut for offcut in pile if blank.takes_species(offcut.species)]
            ringless = bool(wood) and all(offcut.ring_angle is None for offcut in wood)
            if ringless:
                heading = "Ring from" if blank.ring_from is not None else "Ring to"
                row.warn(heading, "is asked for, but no offcut that could serve has its ring angle read")
        told = barred or lacking or ringless
        if not told:
            _doubt_blank(row, _all_obstacles((offcut, blank, shop) for offcut in pile))
        for word in blank.allows:
            _doubt_kind(row, word, kinds)


def _doubt_blank(row: Row, obstacles: list[set[str]]) -> None:
    if not obstacles:
        return
    if all("length" in some for some in obstacles):
        row.warn("Length", "is with its allowance too long for every offcut between its end trims")
    elif all("section" in some for some in obstacles):
        row.warn("Width", "is with the thickness too large for every offcut once it is straightened")
    else:
        row.warn("Blank", "fits no offcut in the pile")


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


def _doubt_kind(row: Row, word: str, kinds: Names) -> None:
    if word not in kinds and (likely := usual_kind(word)):
        row.warn("Allows", f"allows {word}, which no defect is", f"did you mean {likely}?")


def _all_obstacles(pairs: Iterable[tuple[Offcut, Blank, Shop]]) -> list[set[str]]:
    """Return the obstacles of every pair, or none at all as soon as one pair has none."""
    found = []
    for offcut, blank, shop in pairs:
        obstacles = _obstacles(offcut, blank, shop)
        if not obstacles:
            return []
        found.append(obstacles)
    return found


@lru_cache(maxsize=4096)
def _takes_species(blank: Blank, species: str) -> bool:
    return blank.takes_species(species)


def _obstacles(offcut: Offcut, blank: Blank, shop: Shop) -> set[str]:
    """Return what keeps this offcut from yielding this blank, by names of ``_REASONS``."""
    found = set()
    if not _takes_species(blank, offcut.species):
        found.add("species")
    takes = [blank.takes_ring(offcut.ring_angle, turned=turned) for turned in (False, True)]
    if not any(takes):
        found.add("ring")
    cut = blank.length + shop.length_allowance
    if cut > offcut.length - 2 * max(shop.end_trim, shop.snipe):
        found.add("length")
    elif not _holds_section(offcut, blank, shop, takes):
        found.add("section")
    return found


def _holds_section(offcut: Offcut, blank: Blank, shop: Shop, takes: list[bool]) -> bool:
    """Return whether the box of the shortest billet that could hold the blank takes its rough section."""
    billet = max(blank.length + shop.length_allowance + 2 * shop.snipe, shop.shortest_machined_length)
    billet = min(billet, offcut.length)
    across = offcut.width - edge_loss(offcut, billet, shop)
    deep = offcut.thickness - face_loss(offcut, billet, shop)
    wide, thin = blank.width + shop.width_allowance, blank.thickness + shop.thickness_allowance
    flat, turned = takes if any(takes) else (True, True)
    return (flat and wide <= across and thin <= deep) or (turned and thin <= across and wide <= deep)
