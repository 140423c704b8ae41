"""The rack sheet: keepers with their new names, as they lie now, and boxes for what was measured; and tickets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.lib.colors import black
from reportlab.platypus import CondPageBreak, Table

from yieldplan.model.pieces import pieces
from yieldplan.order.columns import RACK, cells
from yieldplan.order.paper import FOOT, GAP, HAND, SET, cell, font, height_of, para, rule
from yieldplan.order.wording import size, unit_sign

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from yieldplan.order.data import Kept, Order
    from yieldplan.order.document import Document

BOX_WIDE, BOX_HIGH = 52.0, 26.0
"""A box that a pencil fits."""

TICKETS = 3
"""Tickets beside one another."""


def put_rack(document: Document, order: Order) -> None:
    """Put the rack sheet on the pages: below the machine lists if it fits there whole, else on a page of its own."""
    if not order.rack:
        return
    title = [
        para("Rack sheet: what goes back", SET, bold=True, after=1.0),
        para("Write the new name on end B, and what you measure into the boxes.", HAND, after=4.0),
    ]
    lines = _table(order, document.measure)
    document.running()
    document.story += [
        rule(1.5, 6.0, 6.0),
        CondPageBreak(height_of([*title, lines], document.measure)),
        *title,
        lines,
    ]


def _table(order: Order, width: float) -> Table:
    """Return a row a keeper."""
    widths = [36.0, 138.0, width - 174.0 - 3 * BOX_WIDE, *[BOX_WIDE] * 3]
    heads = ("Name", f"Size, {unit_sign(order.job.shop)}", "What it is", "Length", "Width", "Thickness")
    rows: list[list[str | Flowable]] = [[para(head, FOOT, bold=True, after=0.0) for head in heads]]
    for kept in order.rack:
        words = (kept.name, size(order.job.shop, *kept.size), _what(order, kept))
        rows.append(
            [cell(text, wide - GAP) for text, wide in zip(words, widths, strict=False)] + ["", "", ""]
        )
    return Table(
        rows,
        widths,
        [None, *[None] * len(order.rack)],
        style=[
            ("FONT", (0, 0), (-1, -1), font(), HAND),
            ("FONT", (0, 1), (0, -1), font(bold=True), HAND),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *((side, (0, 0), (-1, -1), 0) for side in ("LEFTPADDING", "TOPPADDING")),
            ("RIGHTPADDING", (0, 0), (-1, -1), GAP),
            ("BOTTOMPADDING", (0, 1), (-1, -1), BOX_HIGH - HAND * 1.5),
            ("LINEBELOW", (0, 0), (2, -1), 0.3, black),
            ("GRID", (3, 1), (-1, -1), 0.8, black),
        ],
        repeatRows=1,
        hAlign="LEFT",
        splitInRow=0,
    )


def _what(order: Order, kept: Kept) -> str:
    """Say what wood a keeper is, where it comes from, which of its sides are true, and its defects."""
    (row,) = cells(RACK, [kept], order.job.shop)
    said = {column.heading: text for column, text in zip(RACK, row, strict=True)}
    facts = [f"{said['Species'] or 'wood'} from {said['From']}", said["Moisture"]]
    facts += [f"{word} {said[head]}" for word, head in (("rings", "Rings"), ("grain", "Slope")) if said[head]]
    jointed = f"jointed: {said['Jointed']}" if said["Jointed"] else "rough all round"
    return "; ".join(filter(None, (", ".join(filter(None, facts)), jointed, said["Defects"])))


def put_tickets(document: Document, order: Order) -> None:
    """Put a ticket to cut out for each stick and keeper on the pages."""
    wide = document.measure / TICKETS
    found = []
    sizes = {kept.name: size(order.job.shop, *kept.size) for kept in order.rack}
    for piece in pieces(order.job, order.plan):
        if piece.kind != "board":
            words = (
                f"Keeper, {sizes[piece.name]} {unit_sign(order.job.shop)}"
                if piece.kind == "keeper"
                else piece.gives
            )
            found.append([para(piece.name, SET, bold=True), para(words, HAND)])
    found += [[]] * (-len(found) % TICKETS)
    document.section(para("Tickets to cut out", FOOT, after=4.0))
    document.story.append(
        Table(
            [found[at : at + TICKETS] for at in range(0, len(found), TICKETS)],
            [wide] * TICKETS,
            style=[("GRID", (0, 0), (-1, -1), 0.5, black, None, (3, 3)), ("VALIGN", (0, 0), (-1, -1), "TOP")],
        )
    )
