"""The card of a drawn offcut: its drawings, what it must still measure, its pieces with their measures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.lib.colors import black
from reportlab.platypus import CondPageBreak, HRFlowable, Table

from yieldplan.model.grain import slope_words
from yieldplan.order.columns import figure
from yieldplan.order.paper import LARGE, SMALL, Column, height_of, para, table
from yieldplan.order.views import END_WIDTH, end_view, face_scale, face_view, short
from yieldplan.order.wording import per_cent, ring_text, size, unit_sign

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportlab.platypus import Flowable

    from yieldplan.order.data import Along, Card, Milled, Order, Section, Span
    from yieldplan.order.document import Document

LAID = (
    "Face 1 up, end A left, edge 1 towards you; ends seen from end A. Hatched: waste. Cross-hatched: defects."
)
PARTS = (Column("Piece", bold=True), Column("Where"), Column("Where, or what for"))
GAP = 14.0
"""Between the end view and what stands beside it."""
PADDINGS = ("LEFTPADDING", "RIGHTPADDING", "TOPPADDING", "BOTTOMPADDING")


def put_cards(document: Document, order: Order) -> None:
    """Put the card of every drawn offcut on the pages, whole where a page holds it."""
    for card in order.cards:
        _Card(order, card, document.measure).put(document)


class _Card:
    """Makes one card."""

    def __init__(self, order: Order, card: Card, width: float) -> None:
        self.order, self.card, self.width = order, card, width
        self.fig: Callable[[int], str] = figure(order.job.shop)

    def put(self, document: Document) -> None:
        """Put the card on this page if it fits there, else on the next; one higher than a page is parted."""
        again = para(f"{self.card.root} (continued)", LARGE, bold=True)
        rule = HRFlowable("100%", 1.0, color=black, spaceBefore=8.0, spaceAfter=8.0)
        head = self._head()
        billets = [self._billet(milled) for milled in self.card.milled]
        heights = [height_of([billet], self.width) for billet in billets]
        high = height_of([*head, rule], self.width) + sum(heights)
        document.story += [CondPageBreak(min(high, document.room)), *head]
        document.running(again)
        most = document.room - height_of([again], self.width)
        for billet, tall in zip(billets, heights, strict=True):
            document.story += [CondPageBreak(min(tall, most)), billet]
        document.running()
        if high <= document.room:
            document.story.append(rule)

    def _head(self) -> list[Flowable]:
        card, offcut, shop = self.card, self.card.offcut, self.order.job.shop
        facts = [f"{size(shop, offcut.length, offcut.width, offcut.thickness)} {unit_sign(shop)} as measured"]
        if offcut.species:
            facts.append(offcut.species)
        if offcut.rack:
            facts.append(f"rack {offcut.rack}")
        unread = offcut.rings is None
        facts.append("rings not read" if unread else f"rings at {ring_text(offcut)} to face 1")
        if offcut.moisture is not None:
            facts.append(f"moisture {per_cent(offcut.moisture)}")
        if offcut.grain_slope is not None:
            facts.append(f"grain {slope_words(offcut.grain_slope)}")
        scale = face_scale(card, self.width)
        head = [
            para(card.root, LARGE, bold=True),
            para(f"{', '.join(facts)}. Face drawn {scale.said}."),
        ]
        if offcut.note:
            head.append(para(f"Note: {offcut.note}"))
        kinds = [f"{defect.kind} {self._range((defect.x1, defect.x2))}" for defect in offcut.defects]
        bends = [self.fig(kink) for kink in offcut.kinks]
        if bends:
            kinds.append(f"kink at {' and '.join(bends)}")
        if kinds:
            head.append(para(f"Defects, from end A: {'; '.join(kinds)}.", SMALL))
        words = [f"{self._place(length.name, length.x)}: keeper" for length in card.lengths if length.keeper]
        view, unnamed = face_view(card, self.width, self.fig)
        head.append(view)
        if unnamed:
            head.append(para(f"Too narrow for their names, from edge 1 up: {', '.join(unnamed)}.", SMALL))
        return [*head, *(para(line, bold=True, after=4.0) for line in words)]

    def _place(self, name: str, x: Span) -> str:
        """Return the name of a length, or of what is made of it, and where it lies along the offcut."""
        return f"{name}, {self._range(x)} from end A"

    def _billet(self, milled: Milled) -> Table:
        """Return a billet's end view with its words and its table of pieces beside it."""
        cut = milled.billet
        room = self.width - END_WIDTH - GAP
        lost = (
            f"Planned to lose {self._long(cut.face_loss)} at face 1 and {self._long(cut.edge_loss)} at edge 1 "
            "(broken lines)."
        )
        words = [
            para(f"{self._place(milled.name, (cut.start, cut.end))}, {cut.layout}", bold=True),
            *([para(self._half(milled))] if milled.half else []),
            para(self._still(milled)),
            para(lost, SMALL),
            table(
                PARTS,
                [row for s in milled.sections for row in self._section(milled, s)],
                room,
                SMALL,
                air=1.0,
            ),
        ]
        return Table(
            [[end_view(self.card, milled), words]],
            [END_WIDTH + GAP, room],
            style=[("VALIGN", (0, 0), (-1, -1), "TOP"), *((side, (0, 0), (-1, -1), 0) for side in PADDINGS)],
            splitInRow=1,
            spaceAfter=6.0,
        )

    def _half(self, milled: Milled) -> str:
        """Say which half of a split billet this is, and where the split lies."""
        low, kerf = milled.wood.low, self.order.job.shop.bandsaw_kerf
        at = low - kerf if low else milled.wood.width
        return f"The {milled.half} half, split {self._long(at)} from edge 1 before jointing."

    def _still(self, milled: Milled) -> str:
        unit = unit_sign(self.order.job.shop)
        spare = (
            self.fig(has - need) for has, need in zip(milled.box, (milled.wide, milled.thick), strict=True)
        )
        spare_wide, spare_thick = spare
        return (
            f"After jointing at least {self.fig(milled.thick)} {unit} thick and {self.fig(milled.wide)} "
            f"{unit} wide, or stop and plan again. To spare: {spare_thick} and {spare_wide} {unit}."
        )

    def _long(self, steps: int) -> str:
        return f"{self.fig(steps)} {unit_sign(self.order.job.shop)}"

    def _section(self, milled: Milled, section: Section) -> list[tuple[str, ...]]:
        """Return the rows of a stick, or of a keeper beside sticks: where it lies, and what is cut from it."""
        edge, face = f"edge 1: {self._range(section.y)}", f"face 1: {self._range(section.z)}"
        row = (short(self.card, section.name), edge, face + (", keeper" if section.keeper else ""))
        return [row, *(self._piece(milled, piece) for piece in section.pieces)]

    def _piece(self, milled: Milled, piece: Along) -> tuple[str, ...]:
        what = piece.blank or "keeper"
        if piece.clear_end:
            what += f", sound end {piece.clear_end}"
        begin = milled.billet.start
        place = f"its end A: {self._range((piece.x[0] - begin, piece.x[1] - begin))}"
        return (short(self.card, piece.name) if piece.keeper else "", place, what)

    def _range(self, span: Span) -> str:
        return f"{self.fig(span[0])} to {self.fig(span[1])}"
