"""What a board asks to be careful with: metal, loose knots, short blanks, tight margins, no spare board."""

from __future__ import annotations

from functools import cache
from itertools import islice
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import why_not, worth
from yieldplan.model.shop import INCH, MM
from yieldplan.model.words import fold
from yieldplan.order.data import Stop, meet
from yieldplan.order.names import called

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from yieldplan.model import Job, Offcut, Shop
    from yieldplan.order.data import Card, Margin

METAL = frozenset({"nail", "screw", "bolt", "metal"})
"""Words of a defect's kind that mean metal."""

CLAMPED = {"inch": 12 * INCH, "mm": 300 * MM}
"""What is shorter is clamped at the crosscut saw."""

TIGHT = {"inch": INCH // 16, "mm": 3 * MM // 2}
"""Margins below this stand on the card: 1/16 in, or 1.5 mm."""

MOST = 3
"""How many boards are named that could give a lost blank."""


def is_metal(kind: str) -> bool:
    """Return whether a defect's kind has a word for metal in it."""
    return bool(METAL & set(fold(kind).split()))


def tight_ones(card: Card, shop: Shop) -> list[Margin]:
    """Return the margins of a card of which one is below 1/16 in (1.5 mm)."""
    few = TIGHT[shop.units]
    return [one for one in card.margins if one.tightest[0] < few]


def notes_of(card: Card, shop: Shop) -> Iterator[str]:
    """Yield what to take care of with this very board, a sentence each; its moisture stands on the card."""
    if card.ends.metal:
        yield "Metal in it: pull it first."
    loose = [one for one in card.offcut.defects if {"loose", "knot"} <= set(fold(one.kind).split())]
    if any(meet((one.x1, one.x2), x) for one in loose for _, x in card.ends.billets):
        yield "Knock the loose knots out before jointing."
    if any(isinstance(step, Stop) and step.stop < CLAMPED[shop.units] for step in card.steps):
        yield f"Blanks under {write(CLAMPED[shop.units], shop.units)}: clamp them."
    if not card.stand_by:
        yield "No spare board."
    found: dict[str, dict[str, None]] = {}
    for one in tight_ones(card, shop):
        sides = (("thickness", one.thickness), ("width", one.width), ("length", one.length))
        said = (
            f"{write(spare, shop.units) if spare else 'nothing'} in {side}"
            for side, spare in sides
            if spare < TIGHT[shop.units]
        )
        found.setdefault(" and ".join(said), {})[one.name] = None
    for words, names in found.items():
        sticks = called(tuple(names), card.board)
        yield f"{sticks[:1].upper()}{sticks[1:]}: {words} to spare."


def spare_boards(
    job: Job, left: Iterable[Offcut], kept: Iterable[Offcut]
) -> tuple[Callable[[Sequence[str]], str], Callable[[str], tuple[str, ...]]]:
    """Return two functions: which board is spare for a drawn one, and where a lost blank could come from.

    The first returns the untouched board (of ``left``) of least worth that gives every one of some kinds of blank, or
    ``""``; the second keepers (``kept``, boards of their own), then untouched boards, of least worth first. Each is
    asked for blanks one by one: it may not give as many.
    """

    def worth_of(one: Offcut) -> tuple[int, str]:
        return worth(one.length, one.width, one.thickness, job.shop), one.name

    @cache
    def gives(offcut: Offcut, blank: str) -> bool:
        return why_not(offcut, job.blank(blank), job.shop) is None

    untouched = sorted(left, key=worth_of)
    whole = (*sorted(kept, key=worth_of), *untouched)

    def spare(blanks: Sequence[str]) -> str:
        return next((one.name for one in untouched if all(gives(one, blank) for blank in blanks)), "")

    def sources(blank: str) -> tuple[str, ...]:
        return tuple(islice((one.name for one in whole if gives(one, blank)), MOST))

    return spare, sources
