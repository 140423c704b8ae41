"""The rack sheet: keepers as they lie now, with boxes for what was measured; and tickets to cut out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.lib.colors import black
from reportlab.platypus import Table

from yieldplan.model.pieces import pieces
from yieldplan.order.explain import kept_words
from yieldplan.pages.paper import (
    FOOT,
    NO_BREAK,
    PROSE,
    SET,
    Para,
    height_of,
    marked,
    para,
    partable,
    style,
)
from yieldplan.pages.wording import size

if TYPE_CHECKING:
    from yieldplan.order.data import Order
    from yieldplan.pages.document import Document

NAME, BOX_WIDE, BOX_AIR = 48.0, 54.0, 2.0
"""Room for a new name, and a box that a pencil fits: with so much below the name it is some 22 points high."""

FEWEST = 3
"""So many keepers stand on a page at least."""

SHORT = 1 / 3
"""A sheet that takes no more than so much of a page is kept whole."""

RULE_ROOM = 9.0
"""Room for the line above the sheet, in points."""

TICKETS = 3
"""Tickets beside one another."""


def put_rack(document: Document, order: Order) -> None:
    """Put the rack sheet below the machine lists if its title and two keepers fit there, else on a page of its own."""
    if not order.rack:
        return
    heads = [
        para(head, FOOT, bold=True, after=0.0)
        for head in ("Name", "What it is", "Length", "Width", "Thickness")
    ]
    rows: list[list[Para | str]] = [[*heads]]
    for kept in order.rack:
        words = kept_words(kept, order.job.shop).removeprefix(f"{kept.name}, ")
        rows.append([para(kept.name, SET, bold=True), para(words), "", "", ""])
    made = Table(
        rows,
        [NAME, document.measure - NAME - 3 * BOX_WIDE, *[BOX_WIDE] * 3],
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *((side, (0, 0), (-1, -1), 2) for side in ("LEFTPADDING", "RIGHTPADDING", "TOPPADDING")),
            ("BOTTOMPADDING", (0, 1), (-1, -1), BOX_AIR),
            ("GRID", (0, 1), (-1, -1), 0.6, black),
        ],
        repeatRows=1,
        hAlign="LEFT",
    )
    if partable(made):
        made.setStyle([("NOSPLIT", (0, 0), (0, FEWEST)), ("NOSPLIT", (0, -FEWEST), (0, -1))])
    large = marked("Rack sheet: what goes back", size=SET, bold=True)
    words = "Write the new name on end B, and what you measure into the boxes."
    title = [Para(f"{large}{NO_BREAK} {words}", style(PROSE, after=1.0))]
    whole = height_of([*title, made], document.measure)
    most = document.whole * SHORT
    fewest = whole - sum(made._rowHeights[1 + FEWEST :])
    document.part((whole if whole <= most else min(fewest, most)) + RULE_ROOM)
    document.story += [*title, made]


def put_tickets(document: Document, order: Order) -> None:
    """Put a ticket to cut out for each stick and keeper on the pages."""
    sizes = {kept.name: size(order.job.shop, *kept.size) for kept in order.rack}
    found = [
        [para(piece.name, SET, bold=True), para(piece.gives or f"Keeper, {sizes[piece.name]}")]
        for piece in pieces(order.job, order.plan)
        if piece.kind != "board"
    ]
    found += [[]] * (-len(found) % TICKETS)
    rows = [found[at : at + TICKETS] for at in range(0, len(found), TICKETS)]
    document.section(para("Tickets to cut out", FOOT, after=4.0))
    looks = [("GRID", (0, 0), (-1, -1), 0.5, black, None, (3, 3)), ("VALIGN", (0, 0), (-1, -1), "TOP")]
    made = Table(rows, [document.measure / TICKETS] * TICKETS, style=looks)
    partable(made)
    document.story.append(made)
