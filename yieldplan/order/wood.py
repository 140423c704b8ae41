"""What the order says of the wood itself: moisture and planer settings, ring bounds in force, slope of grain."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model.grain import SLOPES_SOURCE, slope_words, strength_left
from yieldplan.model.moisture import movement, swelling
from yieldplan.model.section import section
from yieldplan.model.shop import species_of
from yieldplan.order.wording import listed, per_cent

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Blank, Job, Offcut, Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanerSetting:
    """One setting of the planer for one species at one moisture (steps).

    ``finished`` width and thickness become ``planed`` ones at cutting; ``grows`` is by how much they may still swell.
    ``sticks`` are names.
    """

    species: str
    moisture: str
    finished: tuple[int, int]
    planed: tuple[int, int]
    grows: tuple[int, int]
    sticks: tuple[str, ...]


def planer_settings(
    sticks: Iterable[tuple[str, Offcut, Blank, bool]], shop: Shop
) -> tuple[PlanerSetting, ...]:
    """Return the settings by species, moisture and section, each with its sticks.

    ``sticks`` gives name, offcut, a blank of the stick, and whether it lies turned. Empty where moisture changes
    nothing at all.
    """
    found: dict[tuple[str, str, tuple[int, int], tuple[int, int], tuple[int, int]], list[str]] = {}
    moving = False
    for name, offcut, blank, turned in sticks:
        sizes = section(offcut, blank, shop, turned=turned)
        planed = sizes.planed_width, sizes.planed_thickness
        grows = swelling(offcut, blank, shop, turned=turned)
        moving |= planed != (blank.width, blank.thickness) or any(grows)
        moisture = "not read" if offcut.moisture is None else per_cent(offcut.moisture)
        key = (offcut.species, moisture, (blank.width, blank.thickness), planed, grows)
        found.setdefault(key, []).append(name)
    if not moving:
        return ()
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
    words = [moisture_sentence(job.shop, drawn), ring_sentence(job.shop)]
    sloping = [offcut for offcut in drawn if offcut.grain_slope is not None]
    if sloping:
        words += [*_slopes(sloping), _SLOPE_NOTE]
    return tuple(words)


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
    if any(any(move.shrinks) for move in moves):
        text += " Wetter wood is planed larger, by what it will shrink until then: mind the list of planer settings."
    if any(any(move.swells) for move in moves):
        text += (
            " Drier wood is planed to finished size and swells until then, by up to what the list says: leave it room "
            "where it fits tightly."
        )
    return (
        text + " Coefficients: USDA Wood Handbook, Tables 13-5 and 4-3, unless the Species sheet has its own."
    )


def ring_sentence(shop: Shop) -> str:
    """Return which ring angles the words mean here."""
    spans = ", ".join(f"{word} {low}° to {high}°" for word, (low, high) in shop.ring_words.items())
    return f"Rings to wide face, bounds in force here (usage differs): {spans}."


_SLOPE_NOTE = (
    f"Slope of grain: shares of the bending strength of straight-grained clear wood ({SLOPES_SOURCE}). Information "
    "only: it rates no part."
)


def _slopes(offcuts: Sequence[Offcut]) -> list[str]:
    """Return a sentence for each share of strength that is left, the least first, with its offcuts."""
    shares: dict[tuple[int, int], list[str]] = {}
    for offcut in offcuts:
        slope = offcut.grain_slope or Fraction(0)
        shares.setdefault(strength_left(slope), []).append(f"{offcut.name} ({slope_words(slope)})")
    said = {
        (low, high): f"{low} %" if low == high else f"{low} to {high} %" if low else f"less than {high} %"
        for low, high in shares
    }
    return [
        f"Grain slope of {', '.join(shares[share])}: about {said[share]} of the bending strength is left."
        for share in sorted(shares)
    ]
