"""Figures and words of the terminal reports: lengths in the user's unit, volumes, lists of names."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import MM, write
from yieldplan.model import BOARD_FOOT, Shop, metric_shop
from yieldplan.model.kept import said_rings
from yieldplan.model.shop import MINUTES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from yieldplan.measure import Unit
    from yieldplan.model import Account, Offcut

CUBIC_METRE = (1000 * MM) ** 3
"""Cubic steps in one cubic metre."""

VOLUMES: dict[Unit, tuple[str, int, int]] = {
    "inch": ("board feet", BOARD_FOOT, 2),
    "mm": ("m³", CUBIC_METRE, 4),
}
"""How a shop in either unit measures wood: the unit's name, cubic steps in one, the places that are printed."""

MOST_NAMES = 6
"""How many names a sentence gives before it only counts them."""


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
