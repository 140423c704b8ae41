"""The card of a board: its drawings, what is done with it step by step, and a line to write what came of it.

Like boards that are cut alike and leave no keeper share a card: each step has a box a board.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak, Table

from yieldplan.model.pieces import counted
from yieldplan.order.data import Stop
from yieldplan.order.explain import board_facts
from yieldplan.order.sentences import card_lines
from yieldplan.order.views import WIDE, end_view, face_view
from yieldplan.pages.paper import (
    BARE,
    FOOT,
    HAND,
    NO_BREAK,
    Para,
    height_of,
    marked,
    para,
    printable,
    rule,
    style,
    to_tick,
    width_of,
)
from yieldplan.pages.wording import figure, listed, size, unit_sign

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from reportlab.platypus import Flowable

    from yieldplan.model import Defect, Shop
    from yieldplan.order.data import Card, Order
    from yieldplan.pages.document import Document

LAID = (
    "Face 1 up, end A left, edge 1 towards you; ends seen from end A. Hatched: waste. Cross-hatched: defects (broken: "
    "not on face 1)."
)
NAME = 14.0
MOST = 0.66
"""A card higher than so much of a page may be parted, so that no page is left with less than a third on it."""

LOW, TALL = 28.0, 48.0
"""The most height of a face, in points; low ones where the cards take fewer pages then, by a tenth at least."""

SHARED = 4
"""At most so many boards share a card."""

LINE = "_" * 6


def put_cards(document: Document, order: Order) -> None:
    """Put the card of every board on the pages, whole where a page holds it."""
    document.section(para(LAID, FOOT, after=2.0))
    most, groups = MOST * document.room, list(_sharing(order))
    for alike, parts in zip(groups, _faced(document, order, groups, most), strict=True):
        high = height_of(parts, document.measure)
        document.story.append(CondPageBreak(min(high, most)))
        if high > most:
            document.running(para(f"{alike[0].board} (continued)", HAND, bold=True))
        document.story += parts
        document.running()


def _faced(
    document: Document, order: Order, groups: Sequence[Sequence[Card]], most: float
) -> list[list[Flowable]]:
    """Return the cards, their faces tall unless low ones save pages; then those that cost no page are raised again.

    First where the names of sticks ask for it, then all.
    """

    def cards(faces: Iterable[float]) -> list[list[Flowable]]:
        width = document.measure
        return [_card(order, alike, width, face) for alike, face in zip(groups, faces, strict=True)]

    def pages(heights: Iterable[float]) -> int:
        count, left = 1, document.room
        for high in heights:
            if min(high, most) > left:
                count, left = count + 1, document.room
            left -= high
            count, left = (count + 1, left + document.room) if left < 0 else (count, left)
        return count

    low = [LOW] * len(groups)
    asked = [min(max(LOW, _asked(alike[0])), TALL) for alike in groups]
    tried = [cards(faces) for faces in (low, asked, [TALL] * len(groups))]
    heights = [[height_of(parts, document.measure) for parts in own] for own in tried]
    if pages(heights[-1]) <= 1.1 * pages(heights[0]):
        return tried[-1]
    chosen, found, fewest = tried[0], heights[0], pages(heights[0])
    for own, its in zip(tried[1:], heights[1:], strict=True):
        for place, parts in enumerate(own):
            raised = [*found[:place], its[place], *found[place + 1 :]]
            if pages(raised) <= fewest:
                chosen[place], found = parts, raised
    return chosen


def _asked(card: Card) -> float:
    """Return how high a face must be for a name to find room in its narrowest stick, in points."""
    sticks = (one for milled in card.milled for one in milled.sections if not one.keeper)
    return 1.02 * FOOT * card.offcut.width / min(one.y[1] - one.y[0] for one in sticks)


def _sharing(order: Order) -> Iterator[Sequence[Card]]:
    """Yield the boards that share a card: of one kind, cut alike, with nothing to be named on one of them."""
    keeps = {kept.board for kept in order.rack}

    def cut_like(card: Card) -> object:
        own = card.board in keeps or any(isinstance(step, Stop) and step.marks for step in card.steps)
        return card.board if own else (card.offcut, card.drawn.billets)

    for _, group in groupby(order.cards, key=cut_like):
        alike = list(group)
        yield from (alike[at : at + SHARED] for at in range(0, len(alike), SHARED))


def _card(order: Order, alike: Sequence[Card], width: float, face: float) -> list[Flowable]:
    """Return the card of a board, or of several that are cut alike; its face is so many points high at most."""
    card, shop = alike[0], order.job.shop
    views = [
        face_view(card, (width - WIDE, face), shop),
        [end_view(card, milled) for milled in card.milled],
    ]
    looks = [*BARE, ("VALIGN", (0, 0), (-1, -1), "TOP")]
    parts: list[Flowable] = [_head(alike, shop), Table([views], [width - WIDE, WIDE], style=looks)]
    for line in card_lines(card, shop):
        part = f"{line.part[:1].upper()}{line.part[1:]}: " if len(card.milled) > 1 and line.part else ""
        parts.append(to_tick(part + line.text, boxes=len(alike)))
    said = [_outcome(order, one, named=len(alike) > 1) for one in alike]
    both = f"{NO_BREAK * 3} ".join(said)
    if len(said) == 2 and width_of(printable(both), HAND) <= width:
        said = [both]
    return [*parts, *(para(text, before=1.0, after=0.0) for text in said), rule(1.0, 1.0, 2.0)]


def _head(alike: Sequence[Card], shop: Shop) -> Para:
    """Return names and facts, what to take care of, defects, and the note."""
    card, offcut, fig = alike[0], alike[0].offcut, figure(shop)
    sizes = f"{size(shop, offcut.length, offcut.width, offcut.thickness)} {unit_sign(shop)}"
    gives = listed((counted(count, name) for name, count in card.gives.items()), 99)
    each = ", each" if len(alike) > 1 else ""
    defects = [_defect(one, fig) for one in offcut.defects] + [f"kink at {fig(one)}" for one in offcut.kinks]
    words = (
        marked(listed((one.board for one in alike), 99), size=NAME, bold=True) + NO_BREAK,
        marked(f"{', '.join((sizes, *board_facts(offcut)))}; gives {gives}{each}."),
        marked(" ".join(card.notes), bold=True) if card.notes else "",
        marked(f"Defects: {'; '.join(defects)}.") if defects else "",
        marked(f"Note: {offcut.note}") if offcut.note else "",
    )
    return Para(" ".join(filter(None, words)), style(HAND, after=1.0))


def _outcome(order: Order, card: Card, *, named: bool) -> str:
    """Return the line to write what came of a board: its blanks, its keepers as measured, where one was spoiled."""
    planned = card.gives.total()
    kept = [one.name for one in order.rack if one.board == card.board]
    keeps = [f"{name} measured {LINE} × {LINE} × {LINE}" for name in kept]
    good = f"{card.board}: blanks good" if named else "Blanks good"
    words = [f"{good} {LINE} of {planned}", *keeps, f"spoiled at {LINE}"]
    return f"{NO_BREAK}{NO_BREAK} ".join(word.replace(" ", NO_BREAK) for word in words)


def _defect(defect: Defect, fig: Callable[[int], str]) -> str:
    """Say what a defect is, from where to where along the board, and on which face."""
    where = "" if defect.through else ", face 1" if defect.z1 == 0 else ", face 2"
    return f"{defect.kind} {fig(defect.x1)} to {fig(defect.x2)}{where}"
