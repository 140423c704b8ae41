"""A workbook being changed inside its archive: only the sheets that are written to are, and the list of sheets."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from yieldplan.model.errors import OutputError
from yieldplan.model.words import fold
from yieldplan.workbook.book_parts import BookParts
from yieldplan.workbook.edit import Copied, InputEdit, SheetEdit, Value
from yieldplan.workbook.grid import Cell, Grid
from yieldplan.workbook.sheet_xml import CellXml, SheetXml
from yieldplan.workbook.xlsx import grids_of_workbook

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_EMPTY_SHEET = (
    '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    f'<worksheet xmlns="{_MAIN}"><sheetData/></worksheet>'
).encode()
_BOUND = re.compile(
    rb"<(?:\w+:)?(mergeCell|hyperlink|conditionalFormatting|drawing|oleObject|control|rowBreaks)\b"
)
"""What stands behind a sheet's cells and is bound to rows by their numbers."""


class BookSheet(SheetEdit):
    """One sheet of a workbook being changed.

    Parameters
    ----------
    xml, grid
        Its cells as they stand in the archive, and as they are read.
    may_close
        Whether rows may move up where others were struck; where something is bound to their numbers they may not.

    Attributes
    ----------
    last
        The last row that holds something, once it has been written.
    """

    def __init__(self, xml: SheetXml, grid: Grid, *, may_close: bool) -> None:
        self.xml, self._may_close = xml, may_close
        head, self._body = grid.rows[0], [number for number, _ in grid.rows[1:]]
        self._head, self._widest = head[0], max(column for _, cells in grid.rows for column in cells)
        self.heads = [(column, cell.text) for column, cell in sorted(head[1].items()) if not cell.empty]
        self._struck: set[int] = set()
        self._added: list[dict[int, CellXml | Value]] = []
        self._put, self.last = False, 0

    @property
    def changed(self) -> bool:
        """Whether anything of it is to be written."""
        return self._put or bool(self._struck or self._added)

    def put(self, row: int, heading: str, value: Value) -> None:
        """Give a cell another value."""
        self.need((heading,))
        column = self.column(heading)
        assert column is not None
        self.xml.put(row, column, value)
        self._put = True

    def make(self, row: int, values: Mapping[str, Value], copied: Copied) -> None:
        """Write a row anew; it takes over the other row's formats with its cells."""
        cells = self._new_row(values, copied)
        for column in list(self._cells(row)):
            self.xml.clear(row, column)
        for column, value in cells.items():
            self._fill(row, column, value, {})
        self._put = True

    def strike(self, rows: Collection[int]) -> None:
        """Take rows out when the sheet is written."""
        self._struck.update(rows)

    def add(self, values: Mapping[str, Value], copied: Copied | None = None) -> None:
        """Add a row; it is written below the last one, in the format that stands there or that of the last row."""
        self._added.append(self._new_row(values, copied))

    def _new_row(self, values: Mapping[str, Value], copied: Copied | None) -> dict[int, CellXml | Value]:
        taken = _taken(copied) if copied else {}
        self.need((*values, *taken))
        found: dict[str, CellXml | Value] = {fold(heading): cell for heading, cell in taken.items()}
        found |= {fold(heading): value for heading, value in values.items()}
        return {column: found[fold(text)] for column, text in self.heads if fold(text) in found}

    def data(self) -> bytes:
        """Return the sheet's XML."""
        like = self._body[-1] if self._body else 0
        styles = {column: dict(cell.attributes) for column, cell in self._cells(like).items()}
        for row in self._struck:
            for column in list(self._cells(row)):
                self.xml.clear(row, column)
        last = self._body[-1] if self._body else self._head
        if self._may_close and self._struck and self._body == list(range(self._head + 1, last + 1)):
            last = self._close_up()
        self.last = last + len(self._added)
        for number, cells in enumerate(self._added, last + 1):
            for column, value in cells.items():
                self._fill(number, column, value, styles.get(column, {}))
        return self.xml.data()

    @property
    def head_style(self) -> str | None:
        """The number of the style of its first heading."""
        return self._cells(self._head)[self.heads[0][0]].attributes.get("s")

    def _close_up(self) -> int:
        """Move rows up where others were struck, and return the last; struck ones lie emptied behind them."""
        kept = [number for number in self._body if number not in self._struck]
        order = [*kept, *sorted(self._struck)]
        rows = [self.xml.rows[number] for number in order]
        self.xml.rows.update(zip(self._body, rows, strict=True))
        return self._body[len(kept) - 1] if kept else self._head

    def _cells(self, row: int) -> Mapping[int, CellXml]:
        return self.xml.rows[row].cells if row in self.xml.rows else {}

    def _fill(self, row: int, column: int, value: CellXml | Value, style: dict[str, str]) -> None:
        if isinstance(value, CellXml):
            self.xml.place(row, column, value)
            return
        fresh = column not in self._cells(row)
        self.xml.put(row, column, value)
        if fresh and "s" in style:
            self._cells(row)[column].attributes["s"] = style["s"]

    def _add_heading(self, heading: str) -> None:
        before = max(column for column, _ in self.heads)
        self._widest += 1
        self.xml.put(self._head, self._widest, heading)
        style = self._cells(self._head).get(before, CellXml()).attributes.get("s")
        if style is not None:
            self._cells(self._head)[self._widest].attributes["s"] = style
        self.heads.append((self._widest, heading))


def _taken(copied: Copied) -> dict[str, CellXml]:
    """Return what a new row takes over from another, where there is anything; of a formula its value."""
    assert isinstance(copied.sheet, BookSheet)
    row = copied.sheet.xml.rows.get(copied.row)
    found = {}
    for heading in copied.headings:
        cell = row.cells.get(copied.sheet.column(heading) or 0) if row else None
        if cell is not None and cell.inner:
            found[heading] = cell.valued()
    return found


class BookEdit(InputEdit):
    """A workbook being changed.

    Parameters
    ----------
    data
        Its bytes; it has been read without a problem.
    """

    def __init__(self, data: bytes) -> None:
        self._book = BookParts(data)
        self._grids = {grid.sheet: grid for grid in grids_of_workbook(data, "")}
        self._sheets: dict[str, BookSheet] = {}

    def sheet(self, name: str) -> SheetEdit | None:
        """Return a sheet that has a heading row."""
        title = next((title for title in self._grids if fold(title) == fold(name)), None)
        if title is None or not self._grids[title].rows:
            return None
        if title not in self._sheets:
            try:
                xml = SheetXml(self._book.sheet(title))
            except ValueError:
                raise OutputError(
                    f"the sheet {title} is stored in a way that rows cannot be put into; open the workbook in a "
                    "spreadsheet program, save it as .xlsx and run the same command again"
                ) from None
            self._sheets[title] = BookSheet(xml, self._grids[title], may_close=self._may_close(title, xml))
        return self._sheets[title]

    def _may_close(self, title: str, xml: SheetXml) -> bool:
        """Return whether nothing is bound to the numbers of a sheet's rows."""
        hidden = any(row.attributes.get("hidden") in ("1", "true") for row in xml.rows.values())
        if hidden or self._book.has_formulas or _BOUND.search(xml.around) or self._book.is_named(title):
            return False
        head = self._grids[title].rows[0][0]
        return all(row <= head for row in self._book.noted_rows(title))

    def new_sheet(self, name: str, headings: tuple[str, ...]) -> SheetEdit:
        """Add a sheet behind the others, or take an empty one; its headings look as those of the offcuts do."""
        empty = next((title for title in self._grids if fold(title) == fold(name)), None)
        if empty is None:
            self._book.add_sheet(name)
        name = empty or name
        xml, like = SheetXml(self._book.sheet(name) if empty else _EMPTY_SHEET), self.sheet("Offcuts")
        assert isinstance(like, BookSheet)
        for column, heading in enumerate(headings, 1):
            xml.put(1, column, heading)
            style = like.head_style
            if style is not None:
                xml.rows[1].cells[column].attributes["s"] = style
        cells = {column: Cell(value=heading) for column, heading in enumerate(headings, 1)}
        grid = Grid(file="", sheet=name, rows=((1, cells),))
        self._grids[name] = grid
        self._sheets[name] = BookSheet(xml, grid, may_close=False)
        return self._sheets[name]

    def contents(self) -> Mapping[str, bytes]:
        """Return the workbook's bytes under ``""``: the same changes give the same bytes."""
        for title, sheet in self._sheets.items():
            if sheet.changed:
                self._book.put_sheet(title, sheet.data())
                self._book.lengthen_tables(title, sheet.last)
        return {"": self._book.data(dropped=any(sheet.xml.dropped for sheet in self._sheets.values()))}
