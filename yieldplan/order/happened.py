"""What happened: a row for every board, stick and keeper, to be filled in where something came otherwise."""

from __future__ import annotations

import csv
from io import BytesIO, StringIO
from typing import TYPE_CHECKING
from zipfile import BadZipFile

from openpyxl import load_workbook

from yieldplan.model.pieces import HAPPENED, HAPPENED_SHEET, pieces
from yieldplan.pages.wording import size
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


def is_filled_in(data: bytes) -> bool:
    """Return whether a workbook or csv of an order has anything written back in it; what cannot be read has not."""
    rows: list[list[object]]
    try:
        if data.startswith(b"PK"):
            sheet = load_workbook(BytesIO(data), read_only=True)[HAPPENED_SHEET]
            rows = [list(row) for row in sheet.iter_rows(values_only=True)]
        else:
            text = data.decode("utf-8-sig")
            sign = ";" if text.startswith(f"{HAPPENED[0]};") else ","
            rows = [[*row] for row in csv.reader(StringIO(text), delimiter=sign)]
    except (ValueError, KeyError, OSError, csv.Error, BadZipFile):
        return False
    heads = next((at for at, row in enumerate(rows) if row[: len(HAPPENED)] == list(HAPPENED)), len(rows))
    return any(cell not in (None, "") for row in rows[heads + 1 :] for cell in row[2:])
