"""The blank workbook to measure into."""

from __future__ import annotations

import io
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter as letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.properties import PageSetupProperties

from yieldplan.files import check_new, unless_there, write_set
from yieldplan.guide import sections
from yieldplan.model.errors import ArgumentError
from yieldplan.workbook.layouts import EVERY_LAYOUT, SETTINGS, SHOP, WORDS, Layout
from yieldplan.workbook.shop_sheet import UNITS, default_text
from yieldplan.workbook.source import HOW_TO as HOW_TO_SHEET

if TYPE_CHECKING:
    from collections.abc import Mapping

    from openpyxl.worksheet.worksheet import Worksheet

ROWS = 500
"""Rows made ready under the headings of each sheet."""

RULED = 40
"""Rows with lines round their cells, so that an empty sheet prints as a form to fill in by hand."""

_NOT_AS_TEXT = {
    *("Qty", "Need", "Spare", "Priority", "Moisture", "Note", "Setting", "If empty"),
    *("Spaces", "Sides", "At most", "Faults"),
    *("Ring angle", "Ring angle far", "Ring from", "Ring to"),
    *("Radial coefficient", "Tangential coefficient", "Radial shrinkage", "Tangential shrinkage"),
}
"""Columns of plain numbers and of prose; all others hold measures and names, which a spreadsheet must leave alone."""

_FONT = "Calibri"
_SIGNS, _LINE = 110, 15
"""Of How to measure: signs on a line, and points that it is high: not every program gives a broken line more room."""

_WIDE = {"Note": 40, "Setting": 26, "Stock": 24, "Allows": 22, "Price": 22, "Blank": 20, "Species": 18}
_WIDE |= {"Kind": 14, "Offcut": 14}


def write_tally(path: str | Path, beside: Mapping[str, bytes] | None = None) -> tuple[Path, ...]:
    """Write an empty workbook to measure into, and return the files written.

    Parameters
    ----------
    path
        The new file, ending in ``.xlsx``.
    beside
        What else to write, all or none, by what follows the workbook's name without its ending:
        ``{"-sheet.pdf": data}``.

    Raises
    ------
    ArgumentError
        If something of that name is there already, or it does not end in ``.xlsx``.
    OutputError
        If the files cannot be written whole; nothing is left then.
    """
    path = Path(path)
    if path.suffix.lower() != ".xlsx":
        raise ArgumentError(f"{path.name} does not end in .xlsx; give the new workbook such a name.")
    check_new(path)
    book = Workbook()
    book.remove(book.worksheets[0])
    for layout in EVERY_LAYOUT:
        _fill(book.create_sheet(layout.name), layout)
    _fill_how_to(book.create_sheet(HOW_TO_SHEET))
    data = io.BytesIO()
    book.save(data)
    more = {f"{path.stem}{ending}": content for ending, content in (beside or {}).items()}
    files = {path.name: data.getvalue(), **more}
    contents = {name: unless_there(path.with_name(name), content) for name, content in files.items()}
    return write_set(path.parent, contents)


def _fill(sheet: Worksheet, layout: Layout) -> None:
    """Make a sheet ready to be filled in, on the screen or, printed, by hand."""
    _head(sheet, layout)
    for heading, offered in layout.offers.items():
        _offer(sheet, _span(layout, heading), heading, offered)
    if layout is SHOP:
        _fill_shop(sheet)
    else:
        thin = Side(style="thin")
        for row in range(2, RULED + 2):
            sheet.row_dimensions[row].height = 20
            for column in range(1, len(layout.headings) + 1):
                sheet.cell(row, column).border = Border(left=thin, right=thin, top=thin, bottom=thin)
    _print_setup(sheet)
    sheet.print_title_rows, sheet.print_options.gridLines = "1:1", True


def _head(sheet: Worksheet, layout: Layout) -> None:
    """Write the heading row, required ones underlined, each with its note; measures are text: so 3/8 stays 3/8."""
    for column, heading in enumerate(layout.headings, 1):
        cell = sheet.cell(1, column, heading)
        needed = heading in layout.required
        cell.font = Font(name=_FONT, bold=True, underline="single" if needed else None)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        cell.border = Border(bottom=Side(style="medium"))
        words = layout.notes[heading]
        note = Comment(f"{words}{' Needed in every row.' if needed else ''}", "yieldplan")
        note.width, note.height = 300, 60 + 18 * (len(words) // 45)
        cell.comment = note
        dimension = sheet.column_dimensions[letter(column)]
        dimension.width = _WIDE.get(heading, max(11, len(heading) + 2))
        if heading not in _NOT_AS_TEXT:
            dimension.number_format = "@"
            for row in range(2, ROWS + 2):
                sheet.cell(row, column).number_format = "@"
    sheet.freeze_panes = "B2"


def _span(layout: Layout, heading: str, fixed: str = "") -> str:
    """Return the cells under a heading; with ``fixed`` ``$``, as a rule elsewhere names them."""
    column = f"{fixed}{letter(layout.headings.index(heading) + 1)}{fixed}"
    return f"{column}2:{column}{ROWS + 1}"


def _offer(sheet: Worksheet, cells: str, heading: str, offered: Mapping[str, Any]) -> None:
    """Let cells offer words, or refuse what is no whole number of a range (:class:`Layout` says how)."""
    rule, refusal = DataValidation(type="list", showErrorMessage=offered.get("strict", False)), ""
    if "least" in offered:
        low, high = str(offered["least"]), str(offered["most"])
        rule = DataValidation(type="whole", operator="between", formula1=low, formula2=high)
        rule.showErrorMessage, refusal = True, f"A whole number from {low} to {high}."
    elif "typed_on" in offered:
        name, other = offered["typed_on"]
        there = next(layout for layout in EVERY_LAYOUT if layout.name == name)
        rule.formula1 = f"{name}!{_span(there, other, fixed='$')}"
    else:
        words = offered["words"]
        rule.formula1 = f'"{",".join(WORDS[words] if isinstance(words, str) else words)}"'
    if "prompt" in offered:
        rule.promptTitle, rule.prompt, rule.showInputMessage = heading, offered["prompt"], True
    rule.allow_blank = True
    if rule.showErrorMessage:
        rule.errorTitle, rule.error = heading, refusal or "Choose one from the list."
    sheet.add_data_validation(rule)
    rule.add(cells)


def _fill_shop(sheet: Worksheet) -> None:
    """Write every setting with its default and what it means; the values stay empty, so that units may change."""
    for number, (name, said) in enumerate(SETTINGS.items(), 2):
        inch, metric = (default_text(name, unit) for unit in ("inch", "mm"))
        sheet.cell(number, 1, name)
        sheet.cell(number, 3, inch if inch == metric or name == UNITS else f"{inch} or {metric}")
        sheet.cell(number, 4, said["note"])
        if name == UNITS:
            sheet.cell(number, 2, "inch")
            _offer(sheet, f"B{number}", UNITS, {"words": ["inch", "mm"], "strict": True})
    sheet.column_dimensions["C"].width = 18
    sheet.column_dimensions["D"].width = max(len(said["note"]) for said in SETTINGS.values())


def _fill_how_to(sheet: Worksheet) -> None:
    how_to = sections("measure")
    lines = [(line, line in how_to) for heading, items in how_to.items() for line in (heading, *items)]
    for number, (line, is_heading) in enumerate(lines, 1):
        broken = textwrap.wrap(line, _SIGNS)
        cell = sheet.cell(number, 1, "\n".join(broken))
        cell.font = Font(name=_FONT, bold=is_heading)
        cell.alignment = Alignment(wrap_text=True, vertical="top", indent=0 if is_heading else 1)
        sheet.row_dimensions[number].height = _LINE * len(broken)
    sheet.column_dimensions["A"].width = 100
    _print_setup(sheet)
    sheet.sheet_view.showGridLines = False


def _print_setup(sheet: Worksheet) -> None:
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    if sheet.oddFooter is not None:
        sheet.oddFooter.center.text = "&A, page &P of &N"
