"""A workbook being changed inside its archive: only the sheets that are written to are, and the list of sheets."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from yieldplan.model.errors import OutputError
from yieldplan.model.words import fold
from yieldplan.workbook.book_parts import BookParts
from yieldplan.workbook.edit import SheetEdit, Value
from yieldplan.workbook.grid import Cell, Grid
from yieldplan.workbook.sheet_xml import CellXml, SheetXml
from yieldplan.workbook.xlsx import grids_of_workbook

if TYPE_CHECKING:
    from collections.abc import Mapping

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
        head, self._body = grid.rows[0], [number for number, _ in grid.rows[1:]]
        super().__init__(
            head[0], [(column, cell.text) for column, cell in sorted(head[1].items()) if not cell.empty]
        )
        self.xml, self._may_close = xml, may_close
        self._widest = max(column for _, cells in grid.rows for column in cells)
        self._put_into, self.last = False, 0

    @property
    def changed(self) -> bool:
        """Whether anything of it is to be written."""
        return self._put_into or bool(self._struck or self._added)

    def _held(self, row: int, column: int) -> CellXml | None:
        cell = self._cells(row).get(column)
        return cell.valued() if cell is not None and cell.inner else None

    def _put(self, row: int, column: int, value: Value | CellXml) -> None:
        self.xml.put(row, column, value)
        self._put_into = True

    def _add_heading(self, heading: str) -> int:
        before = max(column for column, _ in self.heads)
        self._widest += 1
        self._put(self.head, self._widest, heading)
        self.style(self.head, self._widest, self._cells(self.head).get(before))
        return self._widest

    def data(self) -> bytes:
        """Return the sheet's XML."""
        like = dict(self._cells(self._body[-1])) if self._body else {}
        like = {column: CellXml(dict(cell.attributes)) for column, cell in like.items()}
        for row in self._struck:
            for column in self._cells(row):
                self.xml.clear(row, column)
        last = self._body[-1] if self._body else self.head
        if self._may_close and self._struck and self._body == list(range(self.head + 1, last + 1)):
            last = self._close_up()
        self.last = last + len(self._added)
        for number, cells in enumerate(self._added, last + 1):
            for column, value in cells.items():
                fresh = column not in self._cells(number) and not isinstance(value, CellXml)
                self._put(number, column, value)
                if fresh:
                    self.style(number, column, like.get(column))
        return self.xml.data()

    def style(self, row: int, column: int, like: CellXml | None) -> None:
        """Give a cell the format of another."""
        if like is not None and b"s" in like.attributes:
            self._cells(row)[column].attributes[b"s"] = like.attributes[b"s"]

    def _close_up(self) -> int:
        """Move rows up where others were struck, and return the last; struck ones lie emptied behind them."""
        kept = [number for number in self._body if number not in self._struck]
        order = [*kept, *sorted(self._struck)]
        rows = [self.xml.rows[number] for number in order]
        self.xml.rows.update(zip(self._body, rows, strict=True))
        return self._body[len(kept) - 1] if kept else self.head

    def _cells(self, row: int) -> Mapping[int, CellXml]:
        return self.xml.rows[row].cells if row in self.xml.rows else {}


class BookEdit:
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

    def sheet(self, name: str) -> BookSheet | None:
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
        hidden = any(row.attributes.get(b"hidden", b"")[1:-1] in (b"1", b"true") for row in xml.rows.values())
        if hidden or self._book.has_formulas or _BOUND.search(xml.around) or self._book.is_named(title):
            return False
        head = self._grids[title].rows[0][0]
        return all(row <= head for row in self._book.noted_rows(title))

    def new_sheet(self, name: str, headings: tuple[str, ...]) -> BookSheet:
        """Add a sheet behind the others, or take an empty one; its headings look as those of the offcuts do."""
        empty = next((title for title in self._grids if fold(title) == fold(name)), None)
        if empty is None:
            self._book.add_sheet(name)
        name = empty or name
        xml, like = SheetXml(self._book.sheet(name) if empty else _EMPTY_SHEET), self.sheet("Offcuts")
        assert like is not None
        cells = {column: Cell(value=heading) for column, heading in enumerate(headings, 1)}
        self._grids[name] = Grid(file="", sheet=name, rows=((1, cells),))
        sheet = self._sheets[name] = BookSheet(xml, self._grids[name], may_close=False)
        for column, heading in enumerate(headings, 1):
            xml.put(1, column, heading)
            sheet.style(1, column, like.xml.rows[like.head].cells[like.heads[0][0]])
        return sheet

    def contents(self) -> Mapping[str, bytes]:
        """Return the workbook's bytes under ``""``: the same changes give the same bytes."""
        for title, sheet in self._sheets.items():
            if sheet.changed:
                self._book.put_sheet(title, sheet.data())
                self._book.lengthen_tables(title, sheet.last)
        return {"": self._book.data(dropped=any(sheet.xml.dropped for sheet in self._sheets.values()))}
