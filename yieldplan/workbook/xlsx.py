"""An .xlsx workbook as grids: values, and of formulas the values that were stored with them.

A few kilobytes can unpack to gigabytes, name a range of all cells there are, or hold a million empty rows that were
once given a colour; a library that reads workbooks makes an object of each cell. So empty cells and rows are taken out
first, and what stands behind a sheet's cells (links, pictures, remarks, rules of validation) but for its merged
ranges.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from typing import TYPE_CHECKING, Any

from yieldplan.model import InputError, Problem
from yieldplan.workbook.grid import Cell, Grid

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

MOST_UNPACKED = 300_000_000
"""Bytes that all parts of a workbook may have together, unpacked."""

MOST_BESIDES = 30_000_000
"""Bytes that those may have that hold no cells: texts, styles, the list of sheets."""

MOST_CELLS = 400_000
"""Filled cells that all sheets may have together: twice what the largest readable input needs."""

MOST_MERGED = 20_000
"""Cells that one merged range may cover."""

_END = rb"</(?:\w+:)?sheetData\s*>|<(?:\w+:)?sheetData\s*/>"
_EMPTY_CELL = re.compile(rb"<(?:\w+:)?c(?:\s[^>]*)?(?:/>|(?<!/)>\s*</(?:\w+:)?c\s*>)")
_EMPTY_ROW = re.compile(rb"<(?:\w+:)?row(?:\s[^>]*)?(?:/>|(?<!/)>\s*</(?:\w+:)?row\s*>)")
_CELL = re.compile(rb"<(?:\w+:)?c[\s>]")
FORMULA = re.compile(rb"<(?:\w+:)?f[\s>/]")
"""How the formula of a cell begins."""

_MERGED = re.compile(rb"<(?:\w+:)?mergeCells.*</(?:\w+:)?mergeCells\s*>", re.DOTALL)
_RANGE = re.compile(
    rb"<(?:\w+:)?mergeCell\s[^>]*?ref\s*=\s*[\"']([A-Z]{1,3})([0-9]{1,7}):([A-Z]{1,3})([0-9]{1,7})[\"']"
)
_CLOSE = re.compile(rb"</(?:\w+:)?worksheet\s*>\s*\Z")

_QUOTED = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')
_SAVE_LESS = "save only the sheets that are read, without empty cells"
_SAVE_AS = "open it in a spreadsheet program and save it as .xlsx"


class _RefusedError(ValueError):
    """The bytes are no workbook that is read: what is found, and the next step."""


def grids_of_workbook(data: bytes, file: str) -> list[Grid]:
    """Return the sheets of a workbook, from its bytes.

    Raises
    ------
    InputError
        If the bytes are not an .xlsx workbook that can be opened; the problem says what they are.
    """
    try:
        slim, has_formulas = _slimmed(data)
        shown = _load(slim, values=True)
        written = _load(slim, values=False) if has_formulas else {}
    except _RefusedError as error:
        found, step = error.args
        problem = Problem(file=file, found=found, expected="an .xlsx workbook", suggestion=step)
        raise InputError((problem,)) from None
    return [_grid(sheet, written.get(title), file) for title, sheet in shown.items()]


def _slimmed(data: bytes) -> tuple[bytes, bool]:
    """Return a workbook without what no one reads, and whether any of its cells has a formula.

    Raises
    ------
    _RefusedError
        If it is none, by name where it is a known kind, or if more is left of it than is ever read.
    """
    if not data:
        raise _RefusedError("is empty", "")
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise _RefusedError(
                "is protected by a password", "take the password off in the spreadsheet program"
            )
        raise _RefusedError("is an old .xls workbook or another old office file", _SAVE_AS)
    if not data.startswith(b"PK"):
        raise _RefusedError("is not a workbook", _SAVE_AS)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            _check_kind(archive)
            return _without_the_rest(archive)
    except _RefusedError:
        raise
    except Exception:  # zip archives can be damaged in more ways than zipfile has names for
        raise _RefusedError("is damaged: its zip archive cannot be read", _SAVE_AS) from None


def _check_kind(archive: zipfile.ZipFile) -> None:
    """Refuse what no one could read, or what is another kind of workbook."""
    entries = archive.infolist()
    names = {entry.filename for entry in entries}
    if any(entry.flag_bits & 1 for entry in entries):
        raise _RefusedError("is protected by a password", "take the password off")
    if sum(entry.file_size for entry in entries) > MOST_UNPACKED:
        raise _RefusedError(f"unpacks to more than {MOST_UNPACKED // 1_000_000} MB", _SAVE_LESS)
    if "mimetype" in names and b"opendocument" in archive.read("mimetype")[:200]:
        raise _RefusedError("is an OpenDocument file", _SAVE_AS)
    if "xl/workbook.bin" in names:
        raise _RefusedError("is a binary .xlsb workbook", _SAVE_AS)


def _load(data: bytes, *, values: bool) -> dict[str, Worksheet]:
    import openpyxl  # noqa: PLC0415 - slow to load, and not needed for csv

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of what it does not keep; nothing is kept here
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=values, keep_links=False)
            return {sheet.title: sheet for sheet in book.worksheets}
    except Exception:  # openpyxl raises whatever damaged XML leads it to
        raise _RefusedError("is not a workbook that can be read", _SAVE_AS) from None


def _grid(sheet: Worksheet, written: Worksheet | None, file: str) -> Grid:
    rows: dict[int, dict[int, Cell]] = {}
    formulas = {
        at for at, cell in (written._cells.items() if written is not None else ()) if cell.data_type == "f"
    }
    for at, shown in sorted(sheet._cells.items()):
        cell = _cell(shown, at in formulas)
        if not cell.empty:
            rows.setdefault(at[0], {})[at[1]] = cell
    hidden = {
        column
        for dimension in sheet.column_dimensions.values()
        if dimension.hidden and dimension.min and dimension.max
        for column in range(dimension.min, min(dimension.max, 1000) + 1)
    }
    return Grid(
        file=file,
        sheet=sheet.title,
        rows=tuple(rows.items()),
        merged=tuple(sorted((r.min_row, r.min_col, r.max_row, r.max_col) for r in sheet.merged_cells.ranges)),
        hidden_rows=tuple(number for number in rows if sheet.row_dimensions[number].hidden),
        hidden_columns=hidden,
        hidden=sheet.sheet_state != "visible",
    )


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


def _without_the_rest(archive: zipfile.ZipFile) -> tuple[bytes, bool]:
    """Return an archive without empty cells, and without what belongs to a sheet but its cells and merged ranges."""
    data = io.BytesIO()
    cells = besides = 0
    has_formulas = False
    with zipfile.ZipFile(data, "w") as slim:
        for name in dict.fromkeys(archive.namelist()):
            if "worksheets/_rels/" in name or not name.endswith((".xml", ".rels")):
                continue
            part = archive.read(name)
            end = re.search(_END, part)
            if end is None:
                besides += len(part)
            else:
                part = _sheet(part, end.start(), end.end())
                cells += sum(1 for _ in _CELL.finditer(part))
                has_formulas = has_formulas or bool(FORMULA.search(part))
            if besides > MOST_BESIDES:
                found = f"has more than {MOST_BESIDES // 1_000_000} MB of texts and styles, unpacked"
                raise _RefusedError(found, _SAVE_LESS)
            if cells > MOST_CELLS:
                raise _RefusedError(f"has more than {MOST_CELLS} filled cells", _SAVE_LESS)
            slim.writestr(name, part)
    return data.getvalue(), has_formulas


def _sheet(part: bytes, end: int, after: int) -> bytes:
    """Return a sheet without its empty cells and rows, and without what follows them but merged ranges."""
    from openpyxl.utils import column_index_from_string  # noqa: PLC0415 - slow to load

    merged, close = _MERGED.search(part, after), _CLOSE.search(part, after)
    if close is None:
        return part
    for left, top, right, bottom in _RANGE.findall(part, after):
        columns = column_index_from_string(right.decode()) - column_index_from_string(left.decode()) + 1
        covered = columns * (int(bottom) - int(top) + 1)
        if covered > MOST_MERGED:
            place = b"%s%s:%s%s" % (left, top, right, bottom)
            found = f"merges the cells {place.decode()}, more than {MOST_MERGED}"
            raise _RefusedError(found, _SAVE_LESS)
    cells = _EMPTY_ROW.sub(b"", _EMPTY_CELL.sub(b"", part[:end]))
    return b"".join((cells, part[end:after], merged[0] if merged else b"", close[0]))
