"""The cutting order as printed pages: set-up sheet, board cards, machine lists, rack sheet, tickets."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from yieldplan.order.cards import put_cards
from yieldplan.order.front import put_front
from yieldplan.order.listpages import put_lists
from yieldplan.order.rackpage import put_rack, put_tickets
from yieldplan.pages.document import Document

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldplan.order.data import Order
    from yieldplan.pages.paper import Paper


def pdf_bytes(
    order: Order,
    *,
    paper: Paper = "letter",
    reasons: Mapping[str, str] | None = None,
    tickets: bool = False,
) -> bytes:
    """Return the printed pages as a pdf file; the same order gives the same bytes.

    ``reasons`` say by blank name why the pile does not make the missing ones. With ``tickets`` one to cut out follows
    for each stick and keeper.
    """
    foot = f"{order.job.name}, plan {order.fingerprint}"
    document = Document(paper, f"Cutting order {order.fingerprint}", foot)
    put_front(document, order, reasons or {})
    if order.cards:
        put_cards(document, order)
        put_lists(document, order)
        put_rack(document, order)
    if tickets and order.cards:
        put_tickets(document, order)
    return document.drawn()


def page_count(data: bytes) -> int:
    """Return how many pages a file of :func:`pdf_bytes` has."""
    found = re.search(rb"/Count (\d+)", data)
    return int(found[1]) if found else 0
