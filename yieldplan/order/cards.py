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
from yieldplan.order.views import END_WIDTH, end_view, face_view
from yieldplan.order.wording import size, unit_sign

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Billet
    from yieldplan.order.data import Along, Card, Order, Section, StillMeasure
    from yieldplan.order.paper import Flow

LENGTHS = (Column("Length", bold=True), Column("From end A"), Column("Becomes"))
PARTS = (
    Column("Piece", bold=True),
    Column("From edge 1"),
    Column("From face 1"),
    Column("From its end A"),
    Column("For"),
)


Part = tuple[list[Block], tuple[Block, list[Block]]]
"""A table, and the blocks that stand before it."""


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
        head, parts = self._head(), self._parts()
        blocks = [*head, *(block for before, (heading, rows) in parts for block in (*before, heading, *rows))]
        high = sum(block.height for block in blocks)
        if high <= self.flow.height - 40 or high <= self.flow.left:
            self.flow.put(blocks)
        else:
            again = text_block(f"{self.card.root} (continued)", self.width, LARGE, bold=True)
            self.flow.put(head)
            for before, table in parts:
                self.flow.put_table(before, table, (again,))
        if self.flow.left > 30:
            self.flow.put((_rule(self.width),))

    def _head(self) -> list[Block]:
        card, offcut, shop = self.card, self.card.offcut, self.order.job.shop
        facts = [f"{size(shop, offcut.length, offcut.width, offcut.thickness)} {unit_sign(shop)} as measured"]
        if offcut.species:
            facts.append(offcut.species)
        if offcut.rack:
            facts.append(f"rack {offcut.rack}")
        rings = "rings not read" if offcut.ring_angle is None else f"rings at {offcut.ring_angle}° to face 1"
        facts.append(rings)
        head = [
            text_block(card.root, self.width, LARGE, bold=True),
            text_block(", ".join(facts) + ".", self.width, BODY),
        ]
        if offcut.note:
            head.append(text_block(f"Note: {offcut.note}", self.width, BODY))
        kinds = [f"{defect.kind} {self._defect(*(defect.x1, defect.x2))}" for defect in offcut.defects]
        if kinds:
            head.append(text_block(f"Defects, from end A: {'; '.join(kinds)}.", self.width, SMALL))
        return [*head, face_view(card, self.width, self.fig)]

    def _defect(self, low: int, high: int) -> str:
        step = self.order.job.shop.shown_steps
        return f"{self.fig(low // step * step)} to {self.fig(-(-high // step) * step)}"

    def _parts(self) -> list[Part]:
        """Return what follows the face view: tables, each with the blocks that stand before it."""
        lengths = [
            (
                s.mark,
                self._range(s.start, s.end),
                s.kind,
            )
            for s in self.card.segments
        ]
        parts: list[Part] = [([], table_blocks(LENGTHS, lengths, self.width, SMALL))]
        for (mark, billet), measure in zip(self.card.billets, self.card.measures, strict=True):
            parts.append(self._billet(mark, billet, measure))
        return parts

    def _billet(self, mark: str, billet: Billet, measure: StillMeasure) -> Part:
        view = end_view(self.card, mark, billet)
        x = END_WIDTH + 14
        room = self.width - x
        lines = [
            text_block(f"{measure.piece}, {billet.layout}", room, BODY, bold=True),
            text_block(self._still(measure), room, BODY, after=4.0),
            text_block(
                f"Planned to lose {self._up(billet.face_loss)} at face 1 and {self._up(billet.edge_loss)} "
                "at edge 1 (broken lines).",
                room,
                SMALL,
            ),
        ]
        rows = [
            row for section in self.card.sections if section.billet == mark for row in self._section(section)
        ]
        before = [space(6.0), beside(view, _stacked(lines), x), space(2.0)]
        return before, table_blocks(PARTS, rows, self.width, SMALL)

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
        what = "keeper" if section.keeper else ""
        rows = [(section.mark, self._range(*section.y), self._range(*section.z), "", what)]
        pieces = (piece for piece in self.card.pieces if piece.parent == section.mark)
        return [*rows, *(self._piece(piece) for piece in pieces)]

    def _piece(self, piece: Along) -> tuple[str, ...]:
        what = piece.blank or "keeper"
        if piece.clear_end:
            what += f", sound end {piece.clear_end}"
        return (piece.mark, "", "", self._range(piece.start, piece.end), what)

    def _range(self, low: int, high: int) -> str:
        return f"{self.fig(low)} to {self.fig(high)}"


def _stacked(blocks: list[Block]) -> Block:
    """Return blocks one below the other as one."""
    y, marks = 0.0, []
    for block in blocks:
        marks += [moved(mark, 0.0, y) for mark in block.marks]
        y += block.height
    return Block(y, tuple(marks))


def _rule(width: float) -> Block:
    return Block(18.0, (Line(0, 8, width, 8, 1.0),))
