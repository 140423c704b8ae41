"""The blank workbook to measure into."""

from __future__ import annotations

import io
import os
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from yieldplan.guide import sections
from yieldplan.model.errors import ArgumentError, OutputError
from yieldplan.workbook.grid import letter
from yieldplan.workbook.layouts import BLANKS, DEFECTS, LAYOUTS, OFFCUTS, SHOP, Layout
from yieldplan.workbook.shop_sheet import SETTINGS, UNITS, default_text, setting_note
from yieldplan.workbook.source import HOW_TO as HOW_TO_SHEET
from yieldplan.workbook.suggest import KINDS
from yieldplan.workbook.tally_words import NOTES
from yieldplan.workbook.wood import RING_WORDS

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

ROWS = 500
"""Rows made ready under the headings of each sheet."""

RULED = 40
"""Rows with lines round their cells, so that an empty sheet prints as a form to fill in by hand."""

_MEASURES = {
    *("Length", "Width", "Thickness", "Bow", "Crook", "Cup", "Twist"),
    *("From", "To", "Edge from", "Edge to", "Depth", "Clear end", "Value"),
    *("Kink at", "Grain slope", "Max slope"),
}
_AS_TEXT = {*_MEASURES, "Offcut", "Blank", "Face", "Kind", "Species", "Allows", "Rack"}
_FONT = "Calibri"
_WIDE = {"Note": 40, "Setting": 26, "Allows": 22, "Species": 18, "Kind": 14, "Offcut": 14, "Blank": 20}


_WINDOWS_OWN = frozenset(
    ("CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10)))
)
"""Names of devices, whatever follows after a full stop."""


def write_tally(path: str | Path) -> None:
    """Write an empty workbook to measure into.

    Parameters
    ----------
    path
        The new file, ending in ``.xlsx``.

    Raises
    ------
    ArgumentError
        If something of that name is there already, or it does not end in ``.xlsx``.
    OutputError
        If the file cannot be written whole; nothing is left then.
    """
    path = Path(path)
    if path.suffix.lower() != ".xlsx":
        raise ArgumentError(f"{path.name} does not end in .xlsx; give the new workbook such a name")
    if path.stem.split(".")[0].rstrip().upper() in _WINDOWS_OWN:
        raise ArgumentError(f"{path.name} is a name that Windows keeps for itself; choose another name")
    if os.path.lexists(path):
        raise ArgumentError(f"{path.name} is there already and is left as it is; choose another name")
    data = io.BytesIO()
    _workbook().save(data)
    _write_new(path, data.getvalue())


def _write_new(path: Path, data: bytes) -> None:
    """Write the bytes under a passing name beside the file, then give them the file's name."""
    passing = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with passing.open("xb") as file:
            file.write(data)
        _name(passing, path)
    except FileExistsError:
        raise ArgumentError(
            f"{path.name} is there already and is left as it is; choose another name"
        ) from None
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise OutputError(f"{path.name} cannot be written ({reason}); check the folder it goes to") from None
    finally:
        with suppress(OSError):  # a disk that cannot be written to
            passing.unlink(missing_ok=True)


def _name(passing: Path, path: Path) -> None:
    """Give a file its name; never over another one, should that have come in the meantime."""
    try:
        os.link(passing, path)
    except FileExistsError:
        raise
    except OSError:  # a disk without hard links
        if os.path.lexists(path):
            raise FileExistsError from None
        passing.rename(path)


def _workbook() -> Workbook:
    from openpyxl import Workbook  # noqa: PLC0415 - slow to load

    book = Workbook()
    first = book.active
    for layout in LAYOUTS:
        sheet = book.create_sheet(layout.name)
        _head(sheet, layout)
        _format(sheet, layout)
        if layout is not SHOP:
            _rule(sheet, layout)
        _print_setup(sheet)
    if first is not None:
        book.remove(first)
    _offcut_lists(book[OFFCUTS.name])
    _defect_lists(book[DEFECTS.name])
    _blank_lists(book[BLANKS.name])
    _fill_shop(book[SHOP.name])
    _fill_how_to(book.create_sheet(HOW_TO_SHEET))
    return book


def _head(sheet: Worksheet, layout: Layout) -> None:
    """Write the heading row: required ones in bold and underlined, each with its note."""
    from openpyxl.comments import Comment  # noqa: PLC0415
    from openpyxl.styles import Alignment, Border, Font, Side  # noqa: PLC0415

    for column, heading in enumerate(layout.headings, 1):
        cell = sheet.cell(1, column, heading)
        needed = heading in layout.required
        cell.font = Font(name=_FONT, bold=True, underline="single" if needed else None)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        cell.border = Border(bottom=Side(style="medium"))
        words = NOTES[layout.name][heading]
        note = Comment(f"{words}{' Needed in every row.' if needed else ''}", "yieldplan")
        note.width, note.height = 300, 60 + 18 * (len(words) // 45)
        cell.comment = note
        sheet.column_dimensions[letter(column)].width = _WIDE.get(heading, max(11, len(heading) + 2))
    sheet.freeze_panes = "B2"


def _format(sheet: Worksheet, layout: Layout) -> None:
    """Format measures and names as text, so that 3/8 stays 3/8."""
    for column, heading in enumerate(layout.headings, 1):
        if heading in _AS_TEXT:
            sheet.column_dimensions[letter(column)].number_format = "@"
            for row in range(2, ROWS + 2):
                sheet.cell(row, column).number_format = "@"


def _rule(sheet: Worksheet, layout: Layout) -> None:
    """Draw lines round the cells of the first rows, tall enough to write in."""
    from openpyxl.styles import Border, Side  # noqa: PLC0415

    thin = Side(style="thin")
    for row in range(2, RULED + 2):
        sheet.row_dimensions[row].height = 20
        for column in range(1, len(layout.headings) + 1):
            sheet.cell(row, column).border = Border(left=thin, right=thin, top=thin, bottom=thin)


def _print_setup(sheet: Worksheet) -> None:
    from openpyxl.worksheet.properties import PageSetupProperties  # noqa: PLC0415

    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.print_title_rows = "1:1"
    sheet.print_options.gridLines = True
    if sheet.oddFooter is not None:
        sheet.oddFooter.center.text = "&A, page &P of &N"


def _span(layout: Layout, heading: str) -> str:
    column = letter(layout.headings.index(heading) + 1)
    return f"{column}2:{column}{ROWS + 1}"


def _list(sheet: Worksheet, layout: Layout, heading: str, source: str, *, strict: bool, prompt: str) -> None:
    """Add a drop-down; one that is not ``strict`` offers its words and takes others as well."""
    from openpyxl.worksheet.datavalidation import DataValidation  # noqa: PLC0415

    rule = DataValidation(type="list", formula1=source, allow_blank=True, showErrorMessage=strict)
    rule.promptTitle, rule.prompt, rule.showInputMessage = heading, prompt, True
    if strict:
        rule.errorTitle, rule.error = heading, "Choose one of the list."
    sheet.add_data_validation(rule)
    rule.add(_span(layout, heading))


def _whole(sheet: Worksheet, layout: Layout, heading: str, low: int, high: int) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation  # noqa: PLC0415

    rule = DataValidation(
        type="whole", operator="between", formula1=str(low), formula2=str(high), allow_blank=True
    )
    rule.errorTitle, rule.error = heading, f"A whole number from {low} to {high}."
    rule.showErrorMessage = True
    sheet.add_data_validation(rule)
    rule.add(_span(layout, heading))


def _words(words: tuple[str, ...]) -> str:
    return f'"{",".join(words)}"'


def _typed(layout: Layout, heading: str) -> str:
    """Return the reference to what has been typed in a column of another sheet, or of the same."""
    column = letter(layout.headings.index(heading) + 1)
    return f"{layout.name}!${column}$2:${column}${ROWS + 1}"


def _offcut_lists(sheet: Worksheet) -> None:
    species = _typed(OFFCUTS, "Species")
    _list(sheet, OFFCUTS, "Species", species, strict=False, prompt="A new word, or one typed before.")
    _whole(sheet, OFFCUTS, "Qty", 1, 500)
    for heading in ("Ring angle", "Ring angle far"):
        _ring_list(sheet, OFFCUTS, heading)
    _slope_list(sheet, OFFCUTS, "Grain slope", "1 in so much, or straight. Empty: not read.")


def _defect_lists(sheet: Worksheet) -> None:
    names = _typed(OFFCUTS, "Offcut")
    _list(sheet, DEFECTS, "Offcut", names, strict=False, prompt="A name typed on Offcuts.")
    _list(sheet, DEFECTS, "Kind", _words(KINDS), strict=False, prompt="One of these, or a word of your own.")
    faces = _words(("through", "1", "2"))
    _list(sheet, DEFECTS, "Face", faces, strict=True, prompt="Empty means through.")


def _blank_lists(sheet: Worksheet) -> None:
    species = _typed(OFFCUTS, "Species")
    _list(sheet, BLANKS, "Species", species, strict=False, prompt="Empty means any; several with commas.")
    _list(
        sheet, BLANKS, "Allows", _words(KINDS), strict=False, prompt="Empty means none; several with commas."
    )
    for heading, low, high in (("Need", 0, 10_000), ("Priority", 1, 99)):
        _whole(sheet, BLANKS, heading, low, high)
    for heading in ("Ring from", "Ring to"):
        _ring_list(sheet, BLANKS, heading)
    _slope_list(sheet, BLANKS, "Max slope", "The steepest that will do. Empty means any.")


def _ring_list(sheet: Worksheet, layout: Layout, heading: str) -> None:
    words = _words(RING_WORDS)
    _list(sheet, layout, heading, words, strict=False, prompt="Whole degrees, 0 to 90, or one of these.")


def _slope_list(sheet: Worksheet, layout: Layout, heading: str, prompt: str) -> None:
    slopes = _words(("1 in 25", "1 in 20", "1 in 15", "1 in 12", "1 in 10", "1 in 8"))
    _list(sheet, layout, heading, slopes, strict=False, prompt=prompt)


def _fill_shop(sheet: Worksheet) -> None:
    """Write every setting with its default and what it means; the values stay empty, so that units may change."""
    from openpyxl.worksheet.datavalidation import DataValidation  # noqa: PLC0415

    for number, name in enumerate(SETTINGS, 2):
        sheet.cell(number, 1, name)
        sheet.cell(number, 3, _if_empty(name))
        sheet.cell(number, 4, setting_note(name))
        if name == UNITS:
            sheet.cell(number, 2, "inch")
            rule = DataValidation(type="list", formula1=_words(("inch", "mm")), allow_blank=True)
            rule.showErrorMessage = True
            sheet.add_data_validation(rule)
            rule.add(f"B{number}")
    sheet.column_dimensions["C"].width = 18
    sheet.column_dimensions["D"].width = 80


def _if_empty(name: str) -> str:
    """Return what a setting is where its value is left empty, in an inch and in a metric workbook."""
    inch, metric = (default_text(name, unit) for unit in ("inch", "mm"))
    return inch if inch == metric or name == UNITS else f"{inch} or {metric}"


def _fill_how_to(sheet: Worksheet) -> None:
    from openpyxl.styles import Alignment, Font  # noqa: PLC0415

    how_to = sections("measure")
    lines = [(line, line in how_to) for heading, items in how_to.items() for line in (heading, *items)]
    for number, (line, is_heading) in enumerate(lines, 1):
        cell = sheet.cell(number, 1, line)
        cell.font = Font(name=_FONT, bold=is_heading)
        cell.alignment = Alignment(wrap_text=True, vertical="top", indent=0 if is_heading else 1)
    sheet.column_dimensions["A"].width = 100
    _print_setup(sheet)
    sheet.print_title_rows = None
    sheet.print_options.gridLines = False
    sheet.sheet_view.showGridLines = False
