"""The rack sheet: keepers as they lie now, with boxes for what was measured; and tickets to cut out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.lib.colors import black

from yieldplan.model.pieces import pieces
from yieldplan.order.explain import kept_words
from yieldplan.pages.paper import FOOT, NO_BREAK, PROSE, SET, Para, grid, height_of, marked, para, style
from yieldplan.pages.wording import size

if TYPE_CHECKING:
    from yieldplan.order.data import Order
    from yieldplan.pages.document import Document

NAME, BOX = 48.0, 54.0
"""Room for a new name, and for a box to write in, in points."""

SHORT = 1 / 3
"""A sheet that takes no more than so much of a page is kept whole."""

RULE_ROOM = 9.0
"""Room for the line above the sheet, in points."""

TICKETS = 3
"""Tickets beside one another."""


def put_rack(document: Document, order: Order) -> None:
    """Put the rack sheet below the machine lists, whole if it is short; without room there on a page of its own."""
    if not order.rack:
        return
    rows = [
        (
            para(one.name, SET, bold=True),
            kept_words(one, order.job.shop).removeprefix(f"{one.name}, "),
            "",
            "",
            "",
        )
        for one in order.rack
    ]
    widths = (NAME, document.measure - NAME - 3 * BOX, *[BOX] * 3)
    heads = ("Name", "What it is", "Length", "Width", "Thickness")
    large = marked("Rack sheet: what goes back", size=SET, bold=True)
    words = "Write the new name on end B, and what you measure into the boxes."
    title = Para(f"{large}{NO_BREAK} {words}", style(PROSE, after=1.0))
    sheet = [title, grid(heads, rows, widths, ("GRID", 0.6, black))]
    document.part(min(height_of(sheet, document.measure), SHORT * document.whole) + RULE_ROOM)
    document.story += sheet


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
    widths = [document.measure / TICKETS] * TICKETS
    document.story.append(grid((), rows, widths, ("GRID", 0.5, black, None, (3, 3))))
