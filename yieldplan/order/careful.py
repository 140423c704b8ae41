"""What a board asks to be careful with: metal, loose knots, short blanks, tight margins, no spare board."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model.shop import INCH, MM
from yieldplan.model.words import fold
from yieldplan.order.data import Stop, meet
from yieldplan.order.names import several, short

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Shop
    from yieldplan.order.data import Card, Margin

METAL = frozenset({"nail", "screw", "bolt", "metal"})
"""Words of a defect's kind that mean metal."""

CLAMPED = {"inch": 12 * INCH, "mm": 300 * MM}
"""What is shorter is clamped at the crosscut saw."""

TIGHT = {"inch": INCH // 16, "mm": 3 * MM // 2}
"""Margins below this stand on the card: 1/16 in, or 1.5 mm."""


def is_metal(kind: str) -> bool:
    """Return whether a defect's kind has a word for metal in it."""
    return bool(METAL & set(fold(kind).split()))


def is_loose_knot(kind: str) -> bool:
    """Return whether a defect's kind has the words loose and knot in it."""
    return {"loose", "knot"} <= set(fold(kind).split())


def tight_ones(margins: Sequence[Margin], shop: Shop) -> tuple[Margin, ...]:
    """Return the margins of which one is below 1/16 in (1.5 mm)."""
    return tuple(one for one in margins if one.tightest[0] < TIGHT[shop.units])


def notes_of(card: Card, shop: Shop) -> tuple[str, ...]:
    """Return what has to be minded with this very board, a sentence each; its moisture stands on the card."""
    return tuple(_notes(card, shop))


def _notes(card: Card, shop: Shop) -> Iterator[str]:
    if card.ends.metal:
        yield "Metal in it: pull it first."
    billets = [length.x for length in card.ends.lengths if not length.keeper]
    loose = [one for one in card.offcut.defects if is_loose_knot(one.kind)]
    if any(meet((one.x1, one.x2), x) for one in loose for x in billets):
        yield "Knock the loose knots out before jointing."
    clamped = [step for step in card.steps if isinstance(step, Stop) and step.stop < CLAMPED[shop.units]]
    if clamped:
        yield f"Blanks under {write(CLAMPED[shop.units], shop.units)}: clamp them."
    if not card.stand_by:
        yield "No spare board."
    yield from _tight(card, shop)


def _tight(card: Card, shop: Shop) -> Iterator[str]:
    """Yield where little is to spare, alike sticks together."""
    found: dict[str, list[str]] = {}
    for one in card.tight:
        sides = (("thickness", one.thickness), ("width", one.width), ("length", one.length))
        said = (
            f"{write(spare, shop.units) if spare else 'nothing'} in {side}"
            for side, spare in sides
            if spare < TIGHT[shop.units]
        )
        found.setdefault(" and ".join(said), []).append(one.name)
    for words, names in found.items():
        sticks = tuple(dict.fromkeys(names))
        head = "Stick" if len(sticks) == 1 else "Sticks"
        yield f"{head} {short(several(sticks), card.board)}: {words} to spare."
