"""What a board asks to be careful with: metal, loose knots, short blanks, tight margins, no spare board.

Margins say how much may still go wrong across, through and along before a blank is lost, after jointing as planned. A
margin is what the stick has over the section it is planed to (the planing allowance) and the free wood beside it: gaps
up to a kerf from its neighbours, up to the sides of the box, or up to a defect or to rings that do not suit it. Along
the stick the other blanks may move as well, since all are cut to a stop. Each blank is looked at by itself: two
neighbours may count on the same gap.
"""

from __future__ import annotations

from functools import cache
from itertools import islice
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import ring_window, why_not, worth
from yieldplan.model.shop import INCH, MM
from yieldplan.model.words import fold
from yieldplan.order.data import Margin, Stop, meet
from yieldplan.order.sentences import called

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from yieldplan.model import Blank, CutBlank, Job, Offcut, Shop
    from yieldplan.order.data import Card, Span
    from yieldplan.order.parts import Part, Sawn

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
) -> tuple[Callable[[Iterable[str]], str], Callable[[str], tuple[str, ...]]]:
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

    def spare(blanks: Iterable[str]) -> str:
        return next((one.name for one in untouched if all(gives(one, blank) for blank in blanks)), "")

    def sources(blank: str) -> tuple[str, ...]:
        return tuple(islice((one.name for one in whole if gives(one, blank)), MOST))

    return spare, sources


def margin_of(sawn: Sawn, cut: CutBlank) -> Margin:
    """Return what one blank of a stick has to spare."""
    own, blank = ((cut.start, cut.end), *sawn.yz), sawn.part.job.blank(cut.blank)
    low, high = _room(sawn, cut, blank)
    for box in _defects(sawn.part, blank):
        for axis in range(3):
            if all(meet(box[a], own[a]) for a in range(3) if a != axis):
                if box[axis][1] <= own[axis][0]:
                    low[axis] = max(low[axis], box[axis][1])
                elif box[axis][0] >= own[axis][1]:
                    high[axis] = min(high[axis], box[axis][0])
    along, *across = (
        max(0, start - least) + max(0, most - end)
        for (start, end), least, most in zip(own, low, high, strict=True)
    )
    wide, thick = (gap + end - start for gap, (start, end) in zip(across, own[1:], strict=True))
    if sawn.stick.turned:
        wide, thick = thick, wide
    return Margin(
        name=sawn.name,
        blank=blank.name,
        thickness=thick - sawn.sizes.planed_thickness,
        width=wide - sawn.sizes.planed_width,
        length=along,
    )


def _room(sawn: Sawn, cut: CutBlank, blank: Blank) -> tuple[list[int], list[int]]:
    """Return from where to where a blank could lie along x, y and z, its neighbours left where they are."""
    part, blanks = sawn.part, sawn.stick.blanks
    billet, wood, shop = part.billet, part.wood, part.job.shop
    taken = [other.end - other.start + shop.crosscut_kerf for other in blanks]
    number = blanks.index(cut)
    low = [billet.start + shop.stick_trim + sum(taken[:number]), 0, 0]
    high = [billet.end - shop.stick_trim - sum(taken[number + 1 :]), 0, 0]
    for row, place in sawn.rows:
        axis, own = "xyz".index(row.axis), row.spans[place]
        low[axis] = max((end + row.kerf for _, end in row.spans if end <= own[0]), default=0)
        high[axis] = min((start - row.kerf for start, _ in row.spans if start >= own[1]), default=row.end)
    window = ring_window(wood.offcut, blank, turned=sawn.stick.turned) or (0, wood.offcut.width)
    low[1] = max(low[1], window[0] - wood.low)
    high[1] = min(high[1], window[1] - wood.low - billet.edge_loss)
    return low, high


def _defects(part: Part, blank: Blank) -> Iterator[tuple[Span, Span, Span]]:
    """Yield the defects that a blank cannot have anywhere, in the frame of the part's box, as large as they may be."""
    billet, shop = part.billet, part.job.shop
    for one in part.wood.defects(shop):
        if blank.clear_end or not blank.allows_kind(one.kind):
            through = (0, part.wood.thickness - billet.face_loss)
            z = through if one.through else (one.z1 - billet.face_loss, one.z2 - shop.face_skim)
            yield (one.x1, one.x2), (one.y1 - billet.edge_loss, one.y2 - shop.edge_skim), z
