"""The card of a board: its drawings, what is done with it step by step, and lines to write what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from reportlab.platypus import CondPageBreak, Spacer, Table

from yieldplan.model.pieces import counted
from yieldplan.order.endview import WIDE, end_view
from yieldplan.order.faceview import face_view
from yieldplan.order.names import short
from yieldplan.order.paper import FOOT, HAND, PADDINGS, Para, height_of, para, printable, rule, style, to_tick
from yieldplan.order.sentences import card_lines
from yieldplan.order.wording import figure, listed, per_cent, size, unit_sign

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportlab.platypus import Flowable

    from yieldplan.model import Defect
    from yieldplan.order.data import Card, Order
    from yieldplan.order.document import Document

LAID = (
    "Face 1 up, end A left, edge 1 towards you; ends seen from A. Hatched: waste. Cross-hatched: defects (broken "
    "lines: not on face 1)."
)
NAME = 16.0
MOST = 0.66
"""A card higher than so much of a page may be parted, so that no page is left with less than a third on it."""

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
        """Put the card on this page if it fits there, else on the next; a very high one is parted."""
        parts = [*self._head(), *self._body(), rule(1.2, 3.0, 4.0)]
        high = height_of(parts[:-1], self.width)
        document.story.append(CondPageBreak(min(high, MOST * document.room)))
        if high > MOST * document.room:
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
        yield Para(line, style(HAND, after=5.0))
        if card.notes:
            yield para(" ".join(card.notes), HAND, bold=True)
        if offcut.note:
            yield para(f"Note: {offcut.note}", HAND, after=1.0)
        view, unnamed = face_view(card, self.width, self.fig)
        yield view
        if unnamed:
            yield para(f"Too narrow for their names: {'; '.join(unnamed)}.", FOOT)
        if faults := [*(_defect(one, self.fig) for one in offcut.defects), *self._kinks()]:
            yield para(f"Faults: {'; '.join(faults)}.", HAND)

    def _kinks(self) -> list[str]:
        kinks = self.card.offcut.kinks
        return [f"kink at {' and '.join(map(self.fig, kinks))}"] if kinks else []

    def _body(self) -> Iterator[Flowable]:
        """Yield the steps, each with its box, beside the end of what they are done with and lines to write on."""
        lines, parts = list(card_lines(self.card, self.shop)), list(self.card.milled)
        for milled in parts:
            last = milled is parts[-1]
            own = short(milled.name, self.card.board)
            here = [line for line in lines if last or line.part in ("", own)]
            lines = [line for line in lines if line not in here]
            named = f"{own}: " if len(parts) > 1 else ""
            steps = [to_tick((named if line.part else "") + line.text) for line in here]
            yield Table(
                [[[end_view(self.card, milled), *(self._came_out() if last else ())], steps]],
                [WIDE + GAP, self.width - WIDE - GAP],
                style=[
                    ("VALIGN", (0, 0), (-1, -1), "TOP"),
                    *((side, (0, 0), (-1, -1), 0) for side in PADDINGS),
                ],
                splitInRow=1,
            )

    def _came_out(self) -> Iterator[Flowable]:
        """Yield the lines to write what came of the board: blanks, keepers as measured, where one was spoiled."""
        yield Spacer(0, 3)
        yield para(f"Blanks good {LINE} of {sum(count for _, count, _ in self.card.gives)}")
        yield para(f"Spoiled at {LINE}")
        for kept in self.kept:
            yield para(f"{kept.name} {LINE} × {LINE} × {LINE}")


LINE = "_" * 5


def _defect(defect: Defect, fig: Callable[[int], str]) -> str:
    """Say what a defect is, from where to where along the board, and on which face."""
    where = "" if defect.through else ", face 1" if defect.z1 == 0 else ", face 2"
    return f"{defect.kind} {fig(defect.x1)} to {fig(defect.x2)}{where}"
