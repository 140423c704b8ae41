"""The cutting order as printed pages: set-up sheet, board cards, machine lists, rack sheet, tickets."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from yieldplan.files import write_set
from yieldplan.order.cards import put_cards
from yieldplan.order.document import Document
from yieldplan.order.front import put_front
from yieldplan.order.listpages import put_lists
from yieldplan.order.rackpage import put_rack, put_tickets

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from yieldplan.order.data import Order
    from yieldplan.order.paper import Paper


def write_pdf(
    order: Order,
    path: Path,
    *,
    paper: Paper = "letter",
    reasons: Mapping[str, str] | None = None,
    tickets: bool = False,
) -> None:
    """Write the cutting order as printed pages, whole or not at all.

    Parameters
    ----------
    order
        From :func:`yieldplan.order.steps.cutting_order`.
    path
        Written under another name in the same folder first, then renamed.
    paper
        ``"letter"`` or ``"a4"``.
    reasons
        Blank name to the reason why the pile does not make the missing ones.
    tickets
        Whether tickets to cut out follow, one for each stick and keeper.

    Raises
    ------
    OutputError
        If it could not be written.
    """
    data = pdf_bytes(order, paper=paper, reasons=reasons, tickets=tickets)
    write_set(path.parent, {path.name: data})


def pdf_bytes(
    order: Order,
    *,
    paper: Paper = "letter",
    reasons: Mapping[str, str] | None = None,
    tickets: bool = False,
) -> bytes:
    """Return the pages' bytes; the same order gives the same bytes. See :func:`write_pdf`."""
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
