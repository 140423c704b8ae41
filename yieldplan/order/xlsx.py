"""The cutting order as a workbook: every sheet of :mod:`yieldplan.order.sheets`, set up to be printed and filled in."""

from __future__ import annotations

import re
import zipfile
from io import BytesIO
from typing import TYPE_CHECKING

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, NamedStyle, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.properties import PageSetupProperties

from yieldplan.model.pieces import HAPPENED, HAPPENED_SHEET, OUTCOMES
from yieldplan.order.sheets import sheets
from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from openpyxl.worksheet.worksheet import Worksheet

    from yieldplan.model import Plan
    from yieldplan.order.data import Order
    from yieldplan.order.sheets import Cell, Sheet
    from yieldplan.pages.paper import Paper

_PAPER = {"letter": "1", "a4": "9"}
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)
_MADE = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
_FORMULA = ("=", "+", "-", "@")
_NARROWEST, _WIDEST = 7, 36
_WIDE = {"Outcome": 14, "Note": 30}
"""How wide a column is that is written into, in signs; others to be filled in are as wide as their headings."""

_MOST_UPRIGHT = 6
"""A sheet with more columns is printed on its side."""

_LINE, _HIGHEST = 15, 400
"""How high a line of text is and a row may be, in points (a workbook takes 409)."""

_LONGEST_NAME = 200
"""A longer input name finds no room in a footer, which holds 255 signs."""

WORDS, HEADING, ROW = "order words", "order heading", "order row"


def xlsx_bytes(
    order: Order,
    *,
    paper: Paper = "letter",
    reasons: Mapping[str, str] | None = None,
    others: Sequence[Plan] = (),
) -> bytes:
    """Return the workbook; the same order gives the same bytes.

    Parameters
    ----------
    order
        From :func:`yieldplan.order.steps.cutting_order`.
    paper
        What the sheets are set up to be printed on.
    reasons
        Blank name to the reason why the pile does not make the missing ones.
    others
        What other prices of work give.
    """
    book = Workbook()
    book.remove(book.worksheets[0])
    for style, bold, below in (
        (WORDS, False, None),
        (HEADING, True, Side("medium")),
        (ROW, False, Side("thin")),
    ):
        book.add_named_style(
            NamedStyle(
                name=style,
                font=Font(name="Calibri", size=11, bold=bold),
                alignment=Alignment(horizontal="left", vertical="top", wrap_text=True),
                border=Border(bottom=below),
                number_format="@",
            )
        )
    book.properties.creator = "yieldplan"
    name = sanitize(order.job.name).replace("&", "&&")
    foot = f"{name if len(name) <= _LONGEST_NAME else 'a long name'}, plan {order.fingerprint}"
    for content in sheets(order, reasons or {}, others):
        sheet = book.create_sheet(content.title)
        _fill(sheet, content)
        if content.title == HAPPENED_SHEET and content.rows:
            _offer_outcomes(sheet, 1 + len(content.rows))
        sheet.page_setup.orientation = "landscape" if len(content.heads) > _MOST_UPRIGHT else "portrait"
        sheet.page_setup.paperSize = _PAPER[paper]
        sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
        sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
        sheet.oddFooter.left.text, sheet.oddFooter.right.text = foot, "page &P of &N"
    raw = BytesIO()
    book.save(raw)
    return _timeless(raw.getvalue())


def _fill(sheet: Worksheet, content: Sheet) -> None:
    """Write sentences, headings and rows; the columns are as wide as what stands in them, the rows as high."""
    widths = [
        max(
            7,
            _WIDE.get(head, 0),
            min(_WIDEST, 2 + max(len(str(row[place])) for row in (content.heads, *content.rows))),
        )
        for place, head in enumerate(content.heads)
    ]
    for place, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    for number, line in enumerate(content.lines, 1):
        _write(sheet, number, (line,), (sum(widths),), WORDS)
        sheet.merge_cells(start_row=number, start_column=1, end_row=number, end_column=len(widths))
    top = len(content.lines) + 1
    _write(sheet, top, content.heads, widths, HEADING)
    for number, row in enumerate(content.rows, top + 1):
        _write(sheet, number, row, widths, ROW)
    sheet.print_title_rows = f"{top}:{top}"
    sheet.freeze_panes = f"A{top + 1}"


def _write(sheet: Worksheet, number: int, row: Sequence[Cell], widths: Sequence[int], style: str) -> None:
    """Write a row of text and whole numbers as high as it needs; nothing that a user typed becomes a formula."""
    for place, value in enumerate(row, 1):
        cell = sheet.cell(number, place)
        cell.style = style
        if isinstance(value, int):
            cell.value = value
        elif value:
            text = sanitize(value)
            cell.value = text
            cell.data_type = "s"
            if text.startswith(_FORMULA):
                cell.quotePrefix = True
    lines = max(-(-len(str(value)) // width) for value, width in zip(row, widths, strict=True))
    if lines > 1:
        sheet.row_dimensions[number].height = min(_LINE * lines, _HIGHEST)


def _offer_outcomes(sheet: Worksheet, last: int) -> None:
    """Offer a list of outcomes in that column down to the last row, and take only whole numbers of good blanks."""
    outcomes = DataValidation(type="list", formula1=f'"{",".join(OUTCOMES)}"', allow_blank=True)
    outcomes.error = f"Choose {', '.join(OUTCOMES[:-1])} or {OUTCOMES[-1]}; left empty it is as planned."
    good = DataValidation(type="whole", operator="greaterThanOrEqual", formula1="0", allow_blank=True)
    good.error = "How many blanks of a short piece are good, a whole number."
    for validation, heading in ((outcomes, "Outcome"), (good, "Good")):
        letter = get_column_letter(HAPPENED.index(heading) + 1)
        validation.add(f"{letter}2:{letter}{last}")
        sheet.add_data_validation(validation)


def _timeless(data: bytes) -> bytes:
    """Return the workbook without the times of its making, so that like orders give like bytes."""
    out = BytesIO()
    with zipfile.ZipFile(BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename == "docProps/core.xml":
                content = _MADE.sub(rb"\g<1>2000-01-01T00:00:00Z", content)
            new.writestr(zipfile.ZipInfo(entry.filename, _ZIP_DATE), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()
