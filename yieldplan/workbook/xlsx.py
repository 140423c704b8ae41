"""An .xlsx workbook as grids: values, and of formulas the values that were stored with them."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from typing import TYPE_CHECKING, Any

from yieldplan.model import InputError, Problem
from yieldplan.workbook.grid import Cell, Grid
from yieldplan.workbook.xlsx_limits import Slim, TooMuchError, check_size, slimmed

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

_QUOTED = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')
_SAVE_AS = "open it in a spreadsheet program and save it as .xlsx"


def grids_of_workbook(data: bytes, file: str) -> list[Grid]:
    """Return the sheets of a workbook, from its bytes.

    Raises
    ------
    InputError
        If the bytes are not an .xlsx workbook that can be opened; the problem says what they are.
    """
    slim = _look_inside(data, file)
    shown = _load(slim.data, file, values=True)
    written = _load(slim.data, file, values=False) if slim.has_formulas else {}
    return [_grid(sheet, written.get(title), file) for title, sheet in shown.items()]


def _refuse(file: str, found: str, suggestion: str = "") -> InputError:
    return InputError((Problem(file=file, found=found, expected="an .xlsx workbook", suggestion=suggestion),))


def _look_inside(data: bytes, file: str) -> Slim:
    """Refuse what is no workbook, by name where it is a known kind; return the rest without what no one reads."""
    if not data:
        raise _refuse(file, "is empty")
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise _refuse(
                file, "is protected by a password", "take the password off in the spreadsheet program"
            )
        raise _refuse(file, "is an old .xls workbook or another old office file", _SAVE_AS)
    if not data.startswith(b"PK"):
        raise _refuse(file, "is not a workbook", _SAVE_AS)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            fault = _archive_fault(archive)
            slim = Slim(b"", False) if fault else slimmed(archive)
    except TooMuchError as error:
        raise _refuse(file, str(error), "save only the sheets that are read, without empty cells") from None
    except Exception:  # zip archives can be damaged in more ways than zipfile has names for
        raise _refuse(file, "is damaged: its zip archive cannot be read", _SAVE_AS) from None
    if fault:
        raise _refuse(file, *fault)
    return slim


def _archive_fault(archive: zipfile.ZipFile) -> tuple[str, str] | None:
    """Return what keeps a zip archive from being a workbook, and the next step."""
    entries = archive.infolist()
    names = {entry.filename for entry in entries}
    if any(entry.flag_bits & 1 for entry in entries):
        return "is protected by a password", "take the password off"
    check_size(entries)
    if "mimetype" in names and b"opendocument" in archive.read("mimetype")[:200]:
        return "is an OpenDocument file", _SAVE_AS
    if "xl/workbook.bin" in names:
        return "is a binary .xlsb workbook", _SAVE_AS
    return None


def _load(data: bytes, file: str, *, values: bool) -> dict[str, Worksheet]:
    import openpyxl  # noqa: PLC0415 - slow to load, and not needed for csv

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of what it does not keep; nothing is kept here
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=values, keep_links=False)
            return {sheet.title: sheet for sheet in book.worksheets}
    except Exception:  # openpyxl raises whatever damaged XML leads it to
        raise _refuse(file, "is not a workbook that can be read", _SAVE_AS) from None


def _grid(sheet: Worksheet, written: Worksheet | None, file: str) -> Grid:
    rows: dict[int, dict[int, Cell]] = {}
    formulas = {
        at for at, cell in (written._cells.items() if written is not None else ()) if cell.data_type == "f"
    }
    for at, shown in sorted(sheet._cells.items()):
        cell = _cell(shown, at in formulas)
        if not cell.empty:
            rows.setdefault(at[0], {})[at[1]] = cell
    return Grid(
        file=file,
        sheet=sheet.title,
        rows=tuple(rows.items()),
        merged=tuple(sorted((r.min_row, r.min_col, r.max_row, r.max_col) for r in sheet.merged_cells.ranges)),
        hidden_rows=tuple(number for number in rows if sheet.row_dimensions[number].hidden),
        hidden_columns=_hidden_columns(sheet),
        hidden=sheet.sheet_state != "visible",
    )


def _hidden_columns(sheet: Worksheet) -> tuple[int, ...]:
    hidden: set[int] = set()
    for dimension in sheet.column_dimensions.values():
        if dimension.hidden and dimension.min and dimension.max:
            hidden.update(range(dimension.min, min(dimension.max, 1000) + 1))
    return tuple(sorted(hidden))


def _cell(shown: Any, formula: bool) -> Cell:  # openpyxl's cells share no type
    value = shown.value
    if value is None:
        # A formula whose stored result is empty text keeps its type, "str"; one never worked out has none.
        return Cell(kind="formula") if formula and shown.data_type != "str" else Cell()
    if shown.data_type == "e":
        return Cell(value=value, kind="error")
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if number and "%" in _QUOTED.sub("", shown.number_format or ""):
        return Cell(value=value, kind="percent")
    return Cell(value=value)
