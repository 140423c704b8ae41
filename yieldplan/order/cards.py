"""The card of a drawn offcut: its drawings, what it must still measure, its pieces with their measures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.lib.colors import black
from reportlab.platypus import CondPageBreak, HRFlowable, Table

from yieldplan.model.grain import slope_words
from yieldplan.order.columns import figure
from yieldplan.order.paper import LARGE, SMALL, Column, height_of, para, table
from yieldplan.order.views import END_WIDTH, end_view, face_scale, face_view
from yieldplan.order.wording import per_cent, ring_text, size, unit_sign

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportlab.platypus import Flowable

    from yieldplan.order.data import Along, Card, Milled, Order, Section, StillMeasure
    from yieldplan.order.document import Document

LAID = (
    "Face 1 up, end A left, edge 1 towards you; ends seen from end B. Hatched: waste. Cross-hatched: defects."
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
        billets = [self._billet(*one) for one in zip(self.card.billets, self.card.measures, strict=True)]
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
        kinds = [f"{defect.kind} {self._defect(*(defect.x1, defect.x2))}" for defect in offcut.defects]
        step = self.order.job.shop.shown_steps
        bends = [self.fig(kink // step * step) for kink in offcut.kinks]
        if bends:
            kinds.append(f"kink at {' and '.join(bends)}")
        if kinds:
            head.append(para(f"Defects, from end A: {'; '.join(kinds)}.", SMALL))
        kept = [s for s in card.segments if s.kind == "keeper"]
        words = [f"{self._place(s.mark)}: keeper" for s in kept]
        view, unnamed = face_view(card, self.width, self.fig)
        head.append(view)
        if unnamed:
            head.append(para(f"Too narrow for their names, from edge 1 up: {', '.join(unnamed)}.", SMALL))
        return [*head, *(para(line, bold=True, after=4.0) for line in words)]

    def _place(self, mark: str, named: str = "") -> str:
        """Return the whole name of a segment, or of what is made of it, and where it lies along the offcut."""
        segment = next(s for s in self.card.segments if s.mark == mark)
        name = f"{self.card.root}{self.order.sign}{named or mark}"
        return f"{name}, {self._range(segment.start, segment.end)} from end A"

    def _defect(self, low: int, high: int) -> str:
        step = self.order.job.shop.shown_steps
        return f"{self.fig(low // step * step)} to {self.fig(-(-high // step) * step)}"

    def _billet(self, milled: Milled, measure: StillMeasure) -> Table:
        """Return a billet's end view with its words and its table of pieces beside it."""
        mark, cut = milled.mark, milled.billet
        room = self.width - END_WIDTH - GAP
        lost = (
            f"Planned to lose {self._up(cut.face_loss)} at face 1 and {self._up(cut.edge_loss)} at edge 1 "
            "(broken lines)."
        )
        sections = [section for section in self.card.sections if section.billet == mark]
        words = [
            para(f"{self._place(milled.segment, mark)}, {cut.layout}", bold=True),
            *([para(self._half(milled))] if milled.half else []),
            para(self._still(measure)),
            para(lost, SMALL),
            table(PARTS, [row for s in sections for row in self._section(s)], room, SMALL, air=1.0),
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
        at = milled.wood.width if not milled.low else milled.low - self.order.job.shop.bandsaw_kerf
        return f"The {milled.half} of {milled.segment}, split {self._up(at)} from edge 1 before jointing."

    def _still(self, measure: StillMeasure) -> str:
        unit = unit_sign(self.order.job.shop)
        return (
            f"After jointing at least {self.fig(measure.thick)} {unit} thick and {self.fig(measure.wide)} "
            f"{unit} wide, or stop and plan again. To spare: {self.fig(measure.spare_thick)} and "
            f"{self.fig(measure.spare_wide)} {unit}."
        )

    def _up(self, steps: int) -> str:
        step = self.order.job.shop.shown_steps
        return f"{self.fig(-(-steps // step) * step)} {unit_sign(self.order.job.shop)}"

    def _section(self, section: Section) -> list[tuple[str, ...]]:
        edge, face = f"edge 1: {self._range(*section.y)}", f"face 1: {self._range(*section.z)}"
        row = (section.mark, edge, face + (", keeper" if section.keeper else ""))
        return [row, *(self._piece(piece) for piece in self.card.pieces if piece.parent == section.mark)]

    def _piece(self, piece: Along) -> tuple[str, ...]:
        what = piece.blank or "keeper"
        if piece.clear_end:
            what += f", sound end {piece.clear_end}"
        return (piece.mark, f"its end A: {self._range(piece.start, piece.end)}", what)

    def _range(self, low: int, high: int) -> str:
        return f"{self.fig(low)} to {self.fig(high)}"
