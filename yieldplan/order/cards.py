"""The card of a board: its drawings, what is done with it step by step, and a line to write what came of it.

Like boards that are cut alike and leave no keeper share a card: each step has a box a board.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak, Table

from yieldplan.model.pieces import counted
from yieldplan.order.data import Stop
from yieldplan.order.endview import WIDE, end_view
from yieldplan.order.explain import board_facts
from yieldplan.order.faceview import face_view
from yieldplan.order.sentences import card_lines
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
    from collections.abc import Callable, Iterator, Sequence

    from reportlab.platypus import Flowable

    from yieldplan.model import Defect
    from yieldplan.order.data import Card, Order
    from yieldplan.pages.document import Document

LAID = (
    "Face 1 up, end A left, edge 1 towards you; ends seen from A. Hatched: waste. Cross-hatched: defects (broken: not "
    "on face 1)."
)
NAME = 14.0
MOST = 0.66
"""A card higher than so much of a page may be parted, so that no page is left with less than a third on it."""

SHARED = 4
"""At most so many boards share a card."""

LINE = "_" * 6


def put_cards(document: Document, order: Order) -> None:
    """Put the card of every board on the pages, whole where a page holds it."""
    document.section(para(LAID, FOOT, after=2.0))
    keeps = {kept.board for kept in order.rack}

    def cut_like(card: Card) -> object:
        own = card.board in keeps or any(isinstance(step, Stop) and step.marks for step in card.steps)
        return card.board if own else (card.offcut, card.drawn.billets)

    for _, group in groupby(order.cards, key=cut_like):
        alike = list(group)
        for at in range(0, len(alike), SHARED):
            _Card(order, alike[at : at + SHARED], document.measure).put(document)


class _Card:
    """Makes the card of a board, or of several that are cut alike."""

    def __init__(self, order: Order, alike: Sequence[Card], width: float) -> None:
        self.order, self.alike, self.width = order, alike, width
        self.card, self.shop, self.fig = alike[0], order.job.shop, figure(order.job.shop)

    def put(self, document: Document) -> None:
        """Put the card on this page if it fits there, else on the next; a very high one is parted."""
        parts = [*self._head(), *self._steps(), *self._came_out(), rule(1.0, 1.0, 2.0)]
        high = height_of(parts, self.width)
        document.story.append(CondPageBreak(min(high, MOST * document.room)))
        if high > MOST * document.room:
            document.running(para(f"{self.card.board} (continued)", HAND, bold=True))
        document.story += parts
        document.running()

    def _head(self) -> Iterator[Flowable]:
        """Yield names, facts and drawings."""
        card, offcut = self.card, self.card.offcut
        sizes = f"{size(self.shop, offcut.length, offcut.width, offcut.thickness)} {unit_sign(self.shop)}"
        names = listed((card.board for card in self.alike), 99)
        gives = listed((counted(count, name) for name, count, _ in card.gives), 99)
        each = ", each" if len(self.alike) > 1 else ""
        words = [
            marked(f"{', '.join((sizes, *board_facts(offcut)))}; gives {gives}{each}."),
            *([marked(" ".join(card.notes), bold=True)] if card.notes else []),
            *map(marked, self._faults()),
        ]
        head = f"{marked(names, size=NAME, bold=True)}{NO_BREAK} "
        yield Para(head + " ".join(words), style(HAND, after=1.0))
        face = face_view(self.card, self.width - WIDE, self.shop)
        ends = [end_view(self.card, milled) for milled in self.card.milled]
        yield Table(
            [[face, ends]], [self.width - WIDE, WIDE], style=[*BARE, ("VALIGN", (0, 0), (-1, -1), "TOP")]
        )

    def _faults(self) -> Iterator[str]:
        """Yield its defects and kinks, and its note, a sentence each."""
        offcut = self.card.offcut
        faults = [_defect(one, self.fig) for one in offcut.defects]
        faults += [f"kink at {self.fig(kink)}" for kink in offcut.kinks]
        if faults:
            yield f"Faults: {'; '.join(faults)}."
        if offcut.note:
            yield f"Note: {offcut.note}"

    def _steps(self) -> Iterator[Flowable]:
        """Yield the steps, each with its box; where there are several billets each is named."""
        several = len(self.card.milled) > 1
        for line in card_lines(self.card, self.shop):
            named = f"{line.part[:1].upper()}{line.part[1:]}: " if several and line.part else ""
            yield to_tick(named + line.text, boxes=len(self.alike))

    def _came_out(self) -> Iterator[Flowable]:
        """Yield lines to write what came of each board; two that share a card stand on one line if they fit there."""
        said = [self._outcome(card) for card in self.alike]
        both = f"{NO_BREAK * 3} ".join(said)
        if len(said) == 2 and width_of(printable(both), HAND) <= self.width:
            said = [both]
        for text in said:
            yield para(text, before=1.0, after=0.0)

    def _outcome(self, card: Card) -> str:
        """Return the line of a board: its blanks, its keepers as measured, where one was spoiled."""
        planned = sum(count for _, count, _ in card.gives)
        named = f"{card.board}: " if len(self.alike) > 1 else ""
        kept = [one.name for one in self.order.rack if one.board == card.board]
        keeps = [f"{name} measured {LINE} × {LINE} × {LINE}" for name in kept]
        words = [f"{named}blanks good {LINE} of {planned}", *keeps, f"spoiled at {LINE}"]
        text = f"{NO_BREAK}{NO_BREAK} ".join(word.replace(" ", NO_BREAK) for word in words)
        return text if named else text[:1].upper() + text[1:]


def _defect(defect: Defect, fig: Callable[[int], str]) -> str:
    """Say what a defect is, from where to where along the board, and on which face."""
    where = "" if defect.through else ", face 1" if defect.z1 == 0 else ", face 2"
    return f"{defect.kind} {fig(defect.x1)} to {fig(defect.x2)}{where}"
