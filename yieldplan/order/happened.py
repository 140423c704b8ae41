"""What happened: a row for every board, stick and keeper, ready to be filled in where something came otherwise."""

from __future__ import annotations

import csv
from io import StringIO
from typing import TYPE_CHECKING

from yieldplan.model.pieces import HAPPENED, pieces
from yieldplan.order.wording import size
from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from yieldplan.order.data import Order


def happened_rows(order: Order) -> list[tuple[str, ...]]:
    """Return the rows under :data:`yieldplan.model.pieces.HAPPENED`: each piece, what was planned, the rest empty."""
    sizes = {kept.name: kept.size for kept in order.rack}
    empty = ("",) * (len(HAPPENED) - 2)
    rows = []
    for piece in pieces(order.job, order.plan):
        planned = size(order.job.shop, *sizes[piece.name]) if piece.kind == "keeper" else piece.gives
        rows.append((sanitize(piece.name), sanitize(planned), *empty))
    return rows


def happened_csv(order: Order) -> bytes:
    """Return ``what-happened.csv``: UTF-8 with its mark, so that a spreadsheet reads every letter."""
    text = StringIO()
    csv.writer(text, lineterminator="\r\n").writerows([HAPPENED, *happened_rows(order)])
    return text.getvalue().encode("utf-8-sig")
