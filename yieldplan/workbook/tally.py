"""The blank workbook to measure into."""

from __future__ import annotations

import io
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter as letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.properties import PageSetupProperties

from yieldplan.files import check_new, write_set
from yieldplan.guide import sections
from yieldplan.model.errors import ArgumentError
from yieldplan.workbook.layouts import (
    BLANKS,
    DEFECTS,
    EVERY_LAYOUT,
    OBSTACLES,
    OFFCUTS,
    POINTS,
    RUN,
    SHOP,
    YARD,
    Layout,
)
from yieldplan.workbook.shop_sheet import SETTINGS, UNITS, default_text, setting_note
from yieldplan.workbook.source import HOW_TO as HOW_TO_SHEET
from yieldplan.workbook.suggest import KINDS
from yieldplan.workbook.wood import RING_WORDS

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


class _Offer(NamedTuple):
    """A drop-down: words of its own, or what is typed in a column of a sheet; ``strict`` takes no other word."""

    prompt: str
    words: tuple[str, ...] = ()
    typed: tuple[Layout, str] | None = None
    strict: bool = False


class _Range(NamedTuple):
    """Whole numbers that a cell may hold."""

    low: int
    high: int


_SPECIES = (OFFCUTS, "Species")
_RINGS = _Offer("Whole degrees, 0 to 90, or one of these.", RING_WORDS)
_SLOPES = ("1 in 25", "1 in 20", "1 in 15", "1 in 12", "1 in 10", "1 in 8")
_RULES: dict[str, dict[str, _Offer | _Range]] = {
    OFFCUTS.name: {
        "Species": _Offer("A new word, or one typed before.", typed=_SPECIES),
        "Qty": _Range(1, 500),
        "Ring angle": _RINGS,
        "Ring angle far": _RINGS,
        "Grain slope": _Offer("1 in 12 and the like, or straight. Empty: not read.", _SLOPES),
    },
    DEFECTS.name: {
        "Offcut": _Offer("A name typed on Offcuts.", typed=(OFFCUTS, "Offcut")),
        "Kind": _Offer("One of these, or a word of your own.", KINDS),
        "Face": _Offer("Empty means through.", ("through", "1", "2"), strict=True),
    },
    BLANKS.name: {
        "Species": _Offer("Empty means any; several with commas.", typed=_SPECIES),
        "Allows": _Offer("Empty means none; several with commas.", KINDS),
        "Need": _Range(0, 10_000),
        "Pairs": _Offer("Empty means no.", ("yes", "no"), strict=True),
        "Priority": _Range(1, 99),
        "Ring from": _RINGS,
        "Ring to": _RINGS,
        "Max slope": _Offer("The steepest that will do. Empty means any.", _SLOPES),
    },
    YARD.name: {
        "Species": _Offer("A word typed on Blanks.", typed=(BLANKS, "Species")),
        "At most": _Range(0, 500),
        "Ring angle": _RINGS,
        "Ring angle far": _RINGS,
        "Grain slope": _Offer("The steepest that you will take home.", _SLOPES),
    },
    RUN.name: {
        "Spaces": _Range(1, 500),
        "Sides": _Range(1, 2),
        "Blank": _Offer("A name typed on Blanks.", typed=(BLANKS, "Blank")),
    },
    POINTS.name: {"Run": _Offer("A name typed on Run.", typed=(RUN, "Run"))},
    OBSTACLES.name: {
        "Run": _Offer("A name typed on Run. Empty means all.", typed=(RUN, "Run")),
        "Shift": _Offer("Empty means no.", ("yes", "no"), strict=True),
    },
}
"""What a spreadsheet program offers, and refuses, in a column of a sheet."""


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
        raise ArgumentError(f"{path.name} does not end in .xlsx; give the new workbook such a name")
    check_new(path)
    data = io.BytesIO()
    _workbook().save(data)
    more = {f"{path.stem}{ending}": content for ending, content in (beside or {}).items()}
    return write_set(path.parent, {path.name: data.getvalue(), **more}, new=True)


def _workbook() -> Workbook:
    book = Workbook()
    book.remove(book.worksheets[0])
    for layout in EVERY_LAYOUT:
        sheet = book.create_sheet(layout.name)
        _head(sheet, layout)
        for heading, rule in _RULES.get(layout.name, {}).items():
            _validate(sheet, _span(layout, heading), heading, rule)
        if layout is SHOP:
            _fill_shop(sheet)
        else:
            _rule(sheet, layout)
        _print_setup(sheet)
        sheet.print_title_rows, sheet.print_options.gridLines = "1:1", True
    _fill_how_to(book.create_sheet(HOW_TO_SHEET))
    return book


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


def _rule(sheet: Worksheet, layout: Layout) -> None:
    """Draw lines round the cells of the first rows, tall enough to write in."""
    thin = Side(style="thin")
    for row in range(2, RULED + 2):
        sheet.row_dimensions[row].height = 20
        for column in range(1, len(layout.headings) + 1):
            sheet.cell(row, column).border = Border(left=thin, right=thin, top=thin, bottom=thin)


def _print_setup(sheet: Worksheet) -> None:
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    if sheet.oddFooter is not None:
        sheet.oddFooter.center.text = "&A, page &P of &N"


def _span(layout: Layout, heading: str, fixed: str = "") -> str:
    """Return the cells under a heading; with ``fixed`` ``$``, as a rule elsewhere names them."""
    column = f"{fixed}{letter(layout.headings.index(heading) + 1)}{fixed}"
    return f"{column}2:{column}{ROWS + 1}"


def _validate(sheet: Worksheet, cells: str, heading: str, given: _Offer | _Range) -> None:
    """Let cells offer words, or refuse what is no whole number of their range."""
    if isinstance(given, _Offer):
        source = f'"{",".join(given.words)}"'
        if given.typed:
            source = f"{given.typed[0].name}!{_span(*given.typed, fixed='$')}"
        rule = DataValidation(type="list", formula1=source, showErrorMessage=given.strict)
        if given.prompt:
            rule.promptTitle, rule.prompt, rule.showInputMessage = heading, given.prompt, True
        error = "Choose one from the list."
    else:
        low, high = map(str, given)
        rule = DataValidation(type="whole", operator="between", formula1=low, formula2=high)
        rule.showErrorMessage, error = True, f"A whole number from {low} to {high}."
    rule.allow_blank = True
    if rule.showErrorMessage:
        rule.errorTitle, rule.error = heading, error
    sheet.add_data_validation(rule)
    rule.add(cells)


def _fill_shop(sheet: Worksheet) -> None:
    """Write every setting with its default and what it means; the values stay empty, so that units may change."""
    for number, name in enumerate(SETTINGS, 2):
        inch, metric = (default_text(name, unit) for unit in ("inch", "mm"))
        sheet.cell(number, 1, name)
        sheet.cell(number, 3, inch if inch == metric or name == UNITS else f"{inch} or {metric}")
        sheet.cell(number, 4, setting_note(name))
        if name == UNITS:
            sheet.cell(number, 2, "inch")
            _validate(sheet, f"B{number}", UNITS, _Offer("", ("inch", "mm"), strict=True))
    sheet.column_dimensions["C"].width = 18
    sheet.column_dimensions["D"].width = max(len(setting_note(name)) for name in SETTINGS)


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
