"""What the order says of the wood itself: moisture and planer settings, ring bounds in force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model.moisture import movement, swelling
from yieldplan.model.section import section
from yieldplan.model.shop import INCH, species_of
from yieldplan.order.wording import listed, per_cent

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Blank, Job, Offcut, Shop


Sizes = tuple[int, int]
"""Width and thickness, in steps."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanerSetting:
    """One setting of the planer for one species at one moisture (steps).

    ``finished`` width and thickness become ``planed`` ones at cutting; ``grows`` is by how much they may still swell.
    ``sticks`` are names.
    """

    species: str
    moisture: str
    finished: Sizes
    planed: Sizes
    grows: Sizes
    sticks: tuple[str, ...]


WORTH_SAYING = INCH // 64
"""Swelling below this is not mentioned: no rule shows it."""


def planer_settings(
    sticks: Iterable[tuple[str, Offcut, Blank, bool]], shop: Shop
) -> tuple[PlanerSetting, ...]:
    """Return the settings that moisture changes, by species, moisture and section, each with its sticks.

    ``sticks`` gives name, offcut, a blank of the stick, and whether it lies turned.
    """
    found: dict[tuple[str, str, Sizes, Sizes, Sizes], list[str]] = {}
    for name, offcut, blank, turned in sticks:
        sizes = section(offcut, blank, shop, turned=turned)
        finished, planed = (blank.width, blank.thickness), (sizes.planed_width, sizes.planed_thickness)
        grows = swelling(offcut, blank, shop, turned=turned)
        if max(grows) < WORTH_SAYING:
            grows = (0, 0)
        if planed != finished or any(grows):
            moisture = "not read" if offcut.moisture is None else per_cent(offcut.moisture)
            found.setdefault((offcut.species, moisture, finished, planed, grows), []).append(name)
    order = sorted(found, key=lambda key: (-key[3][0], -key[3][1], key[0], key[1], key[4]))
    return tuple(
        PlanerSetting(
            species=key[0],
            moisture=key[1],
            finished=key[2],
            planed=key[3],
            grows=key[4],
            sticks=tuple(found[key]),
        )
        for key in order
    )


def wood_sentences(job: Job, drawn: Sequence[Offcut]) -> tuple[str, ...]:
    """Return what is to be said once about the wood of the offcuts that are cut up."""
    return moisture_sentence(job.shop, drawn), ring_sentence(job.shop)


def moisture_sentence(shop: Shop, drawn: Sequence[Offcut]) -> str:
    """Return what moisture changes on these offcuts, and where it changes nothing and why."""
    if shop.target_moisture is None:
        return "Moisture: the Shop sheet sets no target moisture, so no size is changed for it."
    text = f"Moisture: finished sizes are meant at {per_cent(shop.target_moisture)}."
    unread = [offcut.name for offcut in drawn if offcut.moisture is None]
    unknown = sorted(
        {
            offcut.species or "no species given"
            for offcut in drawn
            if offcut.moisture is not None and species_of(offcut.species, shop) is None
        }
    )
    if unread:
        text += f" Not read on {listed(unread)}, so no size is changed there."
    if unknown:
        text += f" Coefficients are not known for {listed(unknown)}, so no size is changed there."
    moves = [move for offcut in drawn if (move := movement(offcut, shop))]
    if any(any((*move.shrinks, *move.swells)) for move in moves):
        text += (
            " Wetter wood is planed larger, by what it will shrink until then; drier wood swells until then: leave it "
            "room where it fits tightly. The list of planer settings says where a rule shows it."
        )
    return text


def ring_sentence(shop: Shop) -> str:
    """Return which ring angles the words mean here."""
    spans = ", ".join(f"{word} {low}° to {high}°" for word, (low, high) in shop.ring_words.items())
    return f"Rings to wide face, bounds in force here (usage differs): {spans}."
