"""The card of a drawn offcut: its drawings, what it must still measure, its pieces with their measures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.order.columns import figure
from yieldplan.order.paper import (
    BODY,
    LARGE,
    SMALL,
    Block,
    Column,
    Line,
    beside,
    moved,
    space,
    table_blocks,
    text_block,
)
from yieldplan.order.views import END_WIDTH, end_view, face_scale, face_view
from yieldplan.order.wording import size, unit_sign

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Billet
    from yieldplan.order.data import Along, Card, Order, Section, StillMeasure
    from yieldplan.order.flow import Flow
    from yieldplan.order.paper import Mark

LAID = (
    "Face 1 up, end A left, edge 1 towards you; ends seen from end B. Hatched: waste. Cross-hatched: defects."
)
PARTS = (Column("Piece", bold=True), Column("Where"), Column("Where, or what for"))
GAP = 14.0
"""Between the end view and what stands beside it."""


def put_cards(flow: Flow, order: Order) -> None:
    """Put the card of every drawn offcut on the pages, whole where a page holds it."""
    for card in order.cards:
        _Card(flow, order, card).put()


class _Card:
    """Makes one card."""

    def __init__(self, flow: Flow, order: Order, card: Card) -> None:
        self.flow, self.order, self.card = flow, order, card
        self.width = flow.width
        self.fig: Callable[[int], str] = figure(order.job.shop)

    def put(self) -> None:
        """Put the card on this page if it fits there, else on the next; one higher than a page is parted."""
        head = self._head()
        billets = [
            self._beside(*billet) for billet in zip(self.card.billets, self.card.measures, strict=True)
        ]
        rule = Block(16.0, (Line(0, 8, self.width, 8, 1.0),))
        if sum(block.height for block in (*head, *billets, rule)) <= self.flow.page_left:
            self.flow.put((*head, *billets, rule))
            return
        again = (text_block(f"{self.card.root} (continued)", self.width, LARGE, bold=True),)
        self.flow.put(head)
        for billet, beside_it in zip(
            zip(self.card.billets, self.card.measures, strict=True), billets, strict=True
        ):
            if beside_it.height <= self.flow.page_left - again[0].height:
                self.flow.put((beside_it,), again)
            else:
                (mark, cut), measure = billet
                lines = _stacked(self._words(mark, cut, measure, self.width - END_WIDTH - GAP))
                before = (beside(end_view(self.card, mark, cut), lines, END_WIDTH + GAP), space(4.0))
                self.flow.put_table(before, self._table(mark, self.width), again)

    def _head(self) -> list[Block]:
        card, offcut, shop = self.card, self.card.offcut, self.order.job.shop
        facts = [f"{size(shop, offcut.length, offcut.width, offcut.thickness)} {unit_sign(shop)} as measured"]
        if offcut.species:
            facts.append(offcut.species)
        if offcut.rack:
            facts.append(f"rack {offcut.rack}")
        rings = "rings not read" if offcut.ring_angle is None else f"rings at {offcut.ring_angle}° to face 1"
        facts.append(rings)
        scale = face_scale(card, self.width)
        head = [
            text_block(card.root, self.width, LARGE, bold=True),
            text_block(f"{', '.join(facts)}. Face drawn {scale.said}.", self.width, BODY),
        ]
        if offcut.note:
            head.append(text_block(f"Note: {offcut.note}", self.width, BODY))
        kinds = [f"{defect.kind} {self._defect(*(defect.x1, defect.x2))}" for defect in offcut.defects]
        if kinds:
            head.append(text_block(f"Defects, from end A: {'; '.join(kinds)}.", self.width, SMALL))
        kept = [s for s in card.segments if s.kind == "keeper"]
        words = [f"{self._place(s.mark)}: keeper" for s in kept]
        view = face_view(card, self.width, self.fig)
        return [*head, view, *(text_block(line, self.width, BODY, bold=True, after=4.0) for line in words)]

    def _place(self, mark: str) -> str:
        """Return the whole name of a segment and where it lies along the offcut."""
        segment = next(s for s in self.card.segments if s.mark == mark)
        name = f"{self.card.root}{self.order.sign}{mark}"
        return f"{name}, {self._range(segment.start, segment.end)} from end A"

    def _defect(self, low: int, high: int) -> str:
        step = self.order.job.shop.shown_steps
        return f"{self.fig(low // step * step)} to {self.fig(-(-high // step) * step)}"

    def _beside(self, billet: tuple[str, Billet], measure: StillMeasure) -> Block:
        """Return a billet's end view with its words and its table beside it."""
        mark, cut = billet
        room = self.width - END_WIDTH - GAP
        heading, rows = self._table(mark, room)
        column = _stacked([*self._words(mark, cut, measure, room), heading, *rows, space(6.0)])
        return beside(end_view(self.card, mark, cut), column, END_WIDTH + GAP)

    def _words(self, mark: str, billet: Billet, measure: StillMeasure, room: float) -> list[Block]:
        lost = (
            f"Planned to lose {self._up(billet.face_loss)} at face 1 and {self._up(billet.edge_loss)} at edge 1 "
            "(broken lines)."
        )
        return [
            text_block(f"{self._place(mark)}, {billet.layout}", room, BODY, bold=True),
            text_block(self._still(measure), room, BODY),
            text_block(lost, room, SMALL),
        ]

    def _table(self, mark: str, room: float) -> tuple[Block, list[Block]]:
        sections = [section for section in self.card.sections if section.billet == mark]
        return table_blocks(PARTS, [row for s in sections for row in self._section(s)], room, SMALL, air=1.0)

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


def _stacked(blocks: list[Block]) -> Block:
    """Return blocks one below the other as one."""
    y = 0.0
    marks: list[Mark] = []
    for block in blocks:
        marks += [moved(mark, 0.0, y) for mark in block.marks]
        y += block.height
    return Block(y, tuple(marks))
