"""Figures and words of the reports: lengths in the user's unit, volumes, lists of names, what is said of the wood."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import MM, write
from yieldplan.model import BOARD_FOOT, Shop, metric_shop
from yieldplan.model.kept import said_rings
from yieldplan.model.section import section, swelling
from yieldplan.model.shop import INCH, MINUTES, species_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from yieldplan.measure import Unit
    from yieldplan.model import Account, Blank, Job, Offcut

CUBIC_METRE = (1000 * MM) ** 3
"""Cubic steps in one cubic metre."""

VOLUMES: dict[Unit, tuple[str, int, int]] = {
    "inch": ("board feet", BOARD_FOOT, 2),
    "mm": ("m³", CUBIC_METRE, 4),
}
"""How a shop in either unit measures wood: the unit's name, cubic steps in one, the places that are printed."""

MOST_NAMES = 6
"""How many names a sentence gives before it only counts them."""

Planed = tuple[str, "Offcut", "Blank", bool]
"""Of a stick: its board's name, its offcut, a blank of it, and whether it lies turned."""

WORTH_SAYING = INCH // 64
"""Swelling below this is not mentioned: no rule shows it."""


def length(steps: int, shop: Shop) -> str:
    """Return a length with its unit, as in ``3/32"``."""
    return write(steps, shop.units)


def figure(shop: Shop) -> Callable[[int], str]:
    """Return what makes bare figures, without their unit, in the shop's unit."""
    return lambda steps: write(steps, shop.units, mark=False)


def size(shop: Shop, *sizes: int) -> str:
    """Return a size without its unit, as in ``17 1/2 × 2 1/4 × 1 5/16``; sizes in steps."""
    return " × ".join(write(steps, shop.units, mark=False) for steps in sizes)


def unit_word(shop: Shop) -> str:
    """Return the unit as it is said: inches, or millimetres."""
    return "inches" if shop.units == "inch" else "millimetres"


def unit_sign(shop: Shop) -> str:
    """Return the unit as it stands in the heading of a column."""
    return "in" if shop.units == "inch" else "mm"


def bare_volume(cubic_steps: int, units: Unit) -> str:
    """Return a volume without its unit: board feet where lengths are inches, else cubic metres."""
    _, one, places = VOLUMES[units]
    return f"{_rounded(Fraction(cubic_steps, one), places):,.{places}f}"


def volume(cubic_steps: int, shop: Shop) -> str:
    """Return a volume with its unit, by the shop's: board feet, or cubic metres."""
    return f"{bare_volume(cubic_steps, shop.units)} {VOLUMES[shop.units][0]}"


def wood_words(account: Account, shop: Shop) -> str:
    """Return the wood in one sentence: what is drawn and kept, and the waste figure."""
    if not account.volume_in:
        return "Wood: none drawn."
    keeps = f", {bare_volume(account.keepers, shop.units)} kept" if account.keepers else ""
    waste = percent(account.wasted, account.used)
    return f"Wood: {volume(account.volume_in, shop)} drawn{keeps}; waste figure {waste}."


def percent(part: int, whole: int) -> str:
    """Return part of whole in per cent with one place; ``-`` where there is no whole."""
    return f"{_rounded(Fraction(100 * part, whole), 1):.1f} %" if whole else "-"


def per_cent(value: Fraction) -> str:
    """Return a figure that is per cent already, as it was typed: ``12.5 %``."""
    return f"{float(value):g} %"


def gap_percent(gap: float) -> str:
    """Return a gap in per cent, rounded up to one place, so that it never looks smaller than it is."""
    return f"{math.ceil(round(gap * 1000, 9)) / 10:.1f} %"


def how_long(hundredths: int | Fraction) -> str:
    """Return a time, rounded up: in seconds below two minutes, else ``12 min`` or ``4 h 10 min``."""
    seconds = -(-hundredths * 60 // 100)
    if seconds < 120:
        return f"{seconds} s"
    hours, minutes = divmod(-(-seconds // 60), 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"


def _rounded(value: Fraction, places: int) -> float:
    return float(round(value, places))


def plural(count: int, one: str, many: str | None = None) -> str:
    """Return the word without its count: ``piece``, ``pieces``."""
    return one if count == 1 else many or one + "s"


def usual_shop(shop: Shop) -> Shop:
    """Return a shop in the same units, all its settings at their defaults."""
    return metric_shop() if shop.units == "mm" else Shop()


def shown_setting(units: Shop, shop: Shop, name: str) -> str:
    """Return a shop's setting as text, lengths in the unit of another (or the same) shop."""
    value = getattr(shop, name)
    if value is None:
        return "none"
    if name == "target_moisture":
        return per_cent(value)
    if name in ("flat_sawn_to", "quarter_sawn_from"):
        return f"{value}°"
    if name == "species":
        return listed(row.name for row in value) or "the built-in table"
    if name in MINUTES:
        return f"{value / 100:g} min"
    if isinstance(value, Fraction):
        return f"{float(value):g}"
    return write(value, units.units) if isinstance(value, int) else str(value)


def ring_text(offcut: Offcut) -> str:
    """Return an offcut's ring angles: ``40°``, ``30° to 60°``, or ``20° at edge 1, 50° at the far edge``."""
    if offcut.rings is None:
        return "not read"
    near, far = (f"{low}°" if low == high else f"{low}° to {high}°" for low, high in offcut.rings)
    return near if near == far else f"{near} at edge 1, {far} at the far edge"


def noted(piece: Offcut, shop: Shop) -> str:
    """Return what is noted of a keeper: to measure it again, and the rings where no cell of a pile can say them."""
    if said_rings(piece, shop) is not None:
        return "measure again"
    return f"measure again; rings {ring_text(piece)}: read again"


def listed(names: Iterable[str], most: int = MOST_NAMES) -> str:
    """Join names as a sentence does; past ``most`` the rest is counted."""
    words = list(names)
    if len(words) > most + 1:
        words = [*words[:most], f"{len(words) - most} more"]
    return ", ".join(words[:-1]) + " and " + words[-1] if len(words) > 1 else "".join(words)


def spare_words(count: int, spare: int) -> str:
    """Return how many of so many blanks are spares, to be said behind them; nothing where none is."""
    if not spare:
        return ""
    one = "a spare" if spare == 1 else "spares"
    return f", {one}" if spare == count else f", {spare} of them {one}"


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
