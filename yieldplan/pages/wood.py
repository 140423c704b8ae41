"""What is said of the wood itself: what moisture changes, and which ring bounds are in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model.section import section, swelling
from yieldplan.model.shop import INCH, species_of
from yieldplan.pages.wording import listed, per_cent

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from yieldplan.model import Blank, Job, Offcut, Shop

Planed = tuple[str, "Offcut", "Blank", bool]
"""Of a stick: its board's name, its offcut, a blank of it, and whether it lies turned."""

WORTH_SAYING = INCH // 64
"""Swelling below this is not mentioned: no rule shows it."""


def wood_sentences(job: Job, sticks: Sequence[Planed]) -> tuple[str, ...]:
    """Return what is to be said once about the wood of the sticks: moisture, then rings where a blank asks for them."""
    asked = any(blank.ring_range is not None for blank in job.blanks)
    return (*_moisture(job.shop, sticks), *((ring_sentence(job.shop),) if asked else ()))


def pile_sentences(job: Job) -> tuple[str, ...]:
    """Return what is understood of the pile's moisture and of ring words, whatever will be cut of it."""
    if job.shop.target_moisture is None:
        meant = "Moisture: the Shop sheet sets no target moisture, so no size is changed for it."
        return meant, ring_sentence(job.shop)
    meant = f"Moisture: finished sizes are meant at {per_cent(job.shop.target_moisture)}."
    pile = {offcut.name: offcut for offcut in job.offcuts}
    return (meant, *_unknown(job.shop, pile), ring_sentence(job.shop))


def _moisture(shop: Shop, sticks: Sequence[Planed]) -> Iterator[str]:
    """Yield what moisture changes on these boards by a mark or more, and where it could not be reckoned and why."""
    if shop.target_moisture is None:
        return
    target = per_cent(shop.target_moisture)
    larger, swells = _boards(shop, sticks)
    if larger:
        yield f"Wetter than {target}, so planed larger by what they will shrink: {listed(larger)}."
    if swells:
        yield f"Drier than {target}, so they will swell; leave room where it fits tightly: {listed(swells)}."
    yield from _unknown(shop, {board: offcut for board, offcut, _, _ in sticks})


def _unknown(shop: Shop, boards: Mapping[str, Offcut]) -> Iterator[str]:
    """Yield on which boards no size is changed for moisture, because it or the wood's movement is not known."""
    unread = [board for board, offcut in boards.items() if offcut.moisture is None]
    if unread:
        yield f"Moisture not read, so no size is changed for it: {listed(unread)}."
    read = [offcut for offcut in boards.values() if offcut.moisture is not None]
    unknown = {one.species or "no species given" for one in read if species_of(one.species, shop) is None}
    if unknown:
        yield f"How these move with moisture is not known, so no size is changed for it: {listed(sorted(unknown))}."


def _boards(shop: Shop, sticks: Iterable[Planed]) -> tuple[list[str], list[str]]:
    """Return the boards with sticks that are planed larger, and those with sticks that will swell enough to say so."""
    larger, swells = {}, {}
    for board, offcut, blank, turned in sticks:
        found = section(offcut, blank, shop, turned=turned)
        if (found.planed_width, found.planed_thickness) != (blank.width, blank.thickness):
            larger[board] = True
        if max(swelling(offcut, blank, shop, turned=turned)) >= max(WORTH_SAYING, shop.mark):
            swells[board] = True
    return list(larger), list(swells)


def ring_sentence(shop: Shop) -> str:
    """Return which ring angles the words mean here."""
    spans = ", ".join(f"{word} {low}° to {high}°" for word, (low, high) in shop.ring_words.items())
    return f"Rings to the wide face, as this shop uses the words: {spans}."
