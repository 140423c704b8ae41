"""The card of a board: its drawings, what is done with it step by step, and lines to write what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from reportlab.platypus import CondPageBreak, Paragraph, Spacer, Table

from yieldplan.model.pieces import counted
from yieldplan.order.columns import figure
from yieldplan.order.endview import WIDE, end_view
from yieldplan.order.faceview import face_view
from yieldplan.order.paper import FOOT, HAND, height_of, para, printable, rule, style, to_tick
from yieldplan.order.wording import listed, per_cent, plural, size, unit_sign
from yieldplan.order.words import defect_words, step_words, tight_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportlab.platypus import Flowable

    from yieldplan.order.data import Card, Kept, Milled, Order
    from yieldplan.order.document import Document

LAID = (
    "Face 1 up, end A on the left, edge 1 towards you; ends seen from end A. Measures run from end A. Hatched: waste. "
    "Cross-hatched: defects; with broken lines where they do not reach face 1."
)
NAME = 16.0
GAP = 10.0
"""Between the end views and the steps beside them."""


def put_cards(document: Document, order: Order) -> None:
    """Put the card of every board on the pages, whole where a page holds it."""
    document.section(para(LAID, FOOT, after=4.0))
    for card in order.cards:
        _Card(order, card, document.measure).put(document)


class _Card:
    """Makes one card."""

    def __init__(self, order: Order, card: Card, width: float) -> None:
        self.order, self.card, self.width = order, card, width
        self.shop, self.fig = order.job.shop, figure(order.job.shop)
        self.kept = [kept for kept in order.rack if kept.board == card.board]

    def put(self, document: Document) -> None:
        """Put the card on this page if it fits there, else on the next; one higher than a page is parted."""
        parts = [*self._head(), *self._body(), *self._came_out(), rule(1.2, 5.0, 7.0)]
        high = height_of(parts[:-1], self.width)
        document.story.append(CondPageBreak(min(high, document.room)))
        if high > document.room:
            document.running(para(f"{self.card.board} (continued)", HAND, bold=True))
        document.story += parts
        document.running()

    def _head(self) -> Iterator[Flowable]:
        card, offcut = self.card, self.card.offcut
        facts = [f"{size(self.shop, offcut.length, offcut.width, offcut.thickness)} {unit_sign(self.shop)}"]
        facts += [fact for fact in (offcut.species, offcut.rack and f"rack {offcut.rack}") if fact]
        if offcut.moisture is not None:
            facts.append(f"moisture {per_cent(offcut.moisture)}")
        gives = listed((counted(count, name) for name, count, _ in card.gives), 99)
        line = (
            f'<font name="{style(NAME, True).fontName}" size="{NAME:g}">{escape(printable(card.board))}</font>&nbsp; '
            f"{escape(printable(', '.join(facts)))}.&nbsp; <b>{escape(printable(gives))}</b>"
        )
        yield Paragraph(line, style(HAND, after=2.0))
        for words in (*card.notes, *tight_words(card, self.shop)):
            yield para(words, HAND, bold=True, after=1.0)
        if offcut.note:
            yield para(f"Note: {offcut.note}", HAND, after=1.0)
        view, unnamed = face_view(card, self.width, self.fig)
        yield view
        if unnamed:
            yield para(f"Too narrow for their names: {'; '.join(unnamed)}.", FOOT)
        if words := defect_words(offcut, self.shop):
            yield para(words, HAND)

    def _body(self) -> Iterator[Flowable]:
        """Yield the steps, each with its box, beside the end of what they are done with."""
        first = [to_tick(step_words(step, self.shop)) for step in (*self._ends(), *self.card.splits)]
        for number, milled in enumerate(self.card.milled):
            lines = [*(first if number == 0 else []), *self._steps(milled)]
            yield Table(
                [[[end_view(self.card, milled)], lines]],
                [WIDE + GAP, self.width - WIDE - GAP],
                style=[("VALIGN", (0, 0), (-1, -1), "TOP"), *((side, (0, 0), (-1, -1), 0) for side in PADDINGS)],
                splitInRow=1,
            )

    def _ends(self) -> Sequence[object]:
        return self.card.steps[:1] if self.card.steps and self.card.steps[0] is self.card.ends else ()

    def _steps(self, milled: Milled) -> Iterator[Flowable]:
        if len(self.card.milled) > 1:
            yield para(milled.name, HAND, bold=True, after=1.0)
        for step in milled.steps:
            yield to_tick(step_words(step, self.shop))

    def _came_out(self) -> Iterator[Flowable]:
        """Yield the lines to write what came of the board: blanks, keepers as measured, where one was spoiled."""
        planned = sum(count for _, count, _ in self.card.gives)
        words = [f"Blanks good {LINE} of {planned}", *map(_measured, self.kept), f"Spoiled at {LINE}"]
        yield Spacer(0, 6)
        yield para("    ".join(words), HAND, after=0.0)


PADDINGS = ("LEFTPADDING", "RIGHTPADDING", "TOPPADDING", "BOTTOMPADDING")
LINE = "_" * 6


def _measured(kept: Kept) -> str:
    return f"Keeper {kept.name} measured {LINE} × {LINE} × {LINE}"
