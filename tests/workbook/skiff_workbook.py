"""A small good workbook for the tests, as xlsx or csv folder, and ways of damaging it.

The scenario is invented: a community boat shed saws frames for a rowing skiff out of its rack of offcuts.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.utils.cell import column_index_from_string, coordinate_from_string

Sheets = dict[str, list[list[Any]]]
Maker = Callable[[Path], Path]

_GOOD: Sheets = {
    "Offcuts": [
        ["Offcut", "Length", "Width", "Thickness", "Qty", "Species", "Bow", "Ring angle", "Moisture", "Rack"],
        ["A1", "41 3/8", "5", "1 1/4", 2, "white oak", "1/8", 20, 11.5, "left"],
        ["A2", 60.5, 4, 1.5, None, "white oak", None, 75, None, None],
    ],
    "Defects": [
        ["Offcut", "Kind", "From", "To", "Edge from", "Edge to", "Face", "Depth"],
        ["A1", "knot", "10", "12 1/2", None, "1 1/2", None, None],
        ["A2", "check", "0", "3", None, None, 1, "3/8"],
    ],
    "Blanks": [
        ["Blank", "Need", "Length", "Width", "Thickness", "Species", "Ring from", "Ring to", "Clear end"],
        ["rib", 3, "18", "1 1/2", "3/4", "white oak", None, 45, None],
        ["cleat", 1, "14", "1", "3/4", None, None, None, "2"],
    ],
    "Shop": [["Setting", "Value"], ["units", "inch"], ["rip kerf", "3/32"]],
}


def good() -> Sheets:
    """Return the good workbook's cells, by sheet, free to be changed."""
    return {name: [list(row) for row in rows] for name, rows in _GOOD.items()}


def put(sheets: Sheets, cell: str, value: object) -> None:
    """Put a value into a cell named as in ``Offcuts!B2``, adding rows and columns as needed."""
    sheet, where = cell.split("!")
    letters, row = coordinate_from_string(where)
    column = column_index_from_string(letters)
    rows = sheets[sheet]
    while len(rows) < row:
        rows.append([])
    rows[row - 1].extend([None] * (column - len(rows[row - 1])))
    rows[row - 1][column - 1] = value


def save_xlsx(sheets: Sheets, path: Path, touch: Callable[[Any], None] | None = None) -> Path:
    """Write the sheets as a workbook; ``touch`` may do to it what cells alone cannot."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for number, row in enumerate(rows, 1):
            for column, value in enumerate(row, 1):
                if value is not None:
                    sheet.cell(number, column).value = value
    if touch:
        touch(book)
    book.save(path)
    return path


def csv_text(rows: list[list[Any]], separator: str = ",") -> str:
    """Return rows as csv, quoted where needed."""
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\n").writerows(
        [["" if value is None else value for value in row] for row in rows]
    )
    return out.getvalue()


def save_csv(sheets: Sheets, folder: Path, separator: str = ",", encoding: str = "utf-8") -> Path:
    """Write the sheets as a folder of csv files."""
    folder.mkdir()
    for name, rows in sheets.items():
        (folder / f"{name.lower()}.csv").write_bytes(csv_text(rows, separator).encode(encoding))
    return folder


def cells(**values: object) -> Maker:
    """Return a maker of the workbook with cells changed: ``Offcuts_B2="abc"``."""

    def make(folder: Path) -> Path:
        sheets = good()
        for cell, value in values.items():
            put(sheets, cell.replace("_", "!"), value)
        return save_xlsx(sheets, folder / "skiff.xlsx")

    return make


def touched(touch: Callable[[Any], None]) -> Maker:
    """Return a maker of the workbook with something done to it that is not the value of a cell."""
    return lambda folder: save_xlsx(good(), folder / "skiff.xlsx", touch)


def without(*sheets: str) -> Maker:
    """Return a maker of the workbook lacking some sheets."""
    return lambda folder: save_xlsx(
        {n: r for n, r in good().items() if n not in sheets}, folder / "skiff.xlsx"
    )


def file(name: str, data: bytes) -> Maker:
    """Return a maker of a single file with these bytes."""

    def make(folder: Path) -> Path:
        (folder / name).write_bytes(data)
        return folder / name

    return make


def folder(**changed: bytes | str | None) -> Maker:
    """Return a maker of the csv folder with files replaced (``offcuts=b"..."``) or left out (None)."""

    def make(parent: Path) -> Path:
        path = save_csv(good(), parent / "skiff")
        for name, data in changed.items():
            if data is None:
                (path / f"{name}.csv").unlink()
            else:
                (path / f"{name}.csv").write_bytes(data if isinstance(data, bytes) else data.encode())
        return path

    return make


def lines(name: str, old: str, new: str, separator: str = ",") -> Maker:
    """Return a maker of the csv folder with one thing replaced in one file."""

    def make(parent: Path) -> Path:
        path = save_csv(good(), parent / "skiff", separator)
        text = (path / f"{name}.csv").read_text()
        assert re.search(re.escape(old), text), text
        (path / f"{name}.csv").write_text(text.replace(old, new))
        return path

    return make


def wood(**values: object) -> Maker:
    """Return a maker of the workbook with the headings of the wood itself, and cells under them.

    Offcuts K is Ring angle far, L Grain slope, M Kink at; Blanks J is Max slope.
    """
    heads = {"Offcuts_K1": "Ring angle far", "Offcuts_L1": "Grain slope", "Offcuts_M1": "Kink at"}
    return cells(**heads, Blanks_J1="Max slope", **values)
