"""One worksheet of a workbook's archive, changed cell by cell; all that stands around its cells stays to the byte."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING
from xml.parsers.expat import ExpatError, ParserCreate
from xml.sax.saxutils import escape, quoteattr

from openpyxl.formula.translate import Translator
from openpyxl.utils.cell import column_index_from_string, coordinate_from_string, get_column_letter

if TYPE_CHECKING:
    from yieldplan.workbook.edit import Value

_FORMULA = re.compile(rb"<(?:\w+:)?f(?:\s[^>]*?)?(?:/>|>(?P<text>.*?)</(?:\w+:)?f\s*>)", re.DOTALL)
_SHARED = re.compile(rb"""\bsi\s*=\s*["']([0-9]+)["']""")
_DIMENSION = re.compile(rb"<(?:\w+:)?dimension\s[^>]*/>")


@dataclass(slots=True)
class CellXml:
    """A cell: attributes but for its place, and what stands in it."""

    attributes: dict[str, str] = field(default_factory=dict)
    inner: bytes = b""

    @property
    def formula(self) -> bool:
        """Whether it is worked out."""
        return _FORMULA.search(self.inner) is not None

    def valued(self) -> CellXml:
        """Return it with the value that was worked out in place of a formula."""
        return CellXml(dict(self.attributes), _FORMULA.sub(b"", self.inner))


@dataclass(slots=True)
class RowXml:
    """A row: attributes but for its number, its cells by column, and what stands behind them."""

    attributes: dict[str, str] = field(default_factory=dict)
    cells: dict[int, CellXml] = field(default_factory=dict)
    rest: bytes = b""


class SheetXml:
    """The cells of a worksheet.

    Parameters
    ----------
    part
        The sheet's XML.

    Raises
    ------
    ValueError
        If it is not in UTF-8, or holds no cells at all.

    Attributes
    ----------
    rows
        By their numbers, those without any cell among them.
    dropped
        Whether a formula was taken out.
    """

    def __init__(self, part: bytes) -> None:
        self.rows: dict[int, RowXml] = {}
        self.dropped = False
        self._prefix = b""
        self._part, self._data = part, (0, 0)
        self._read()

    @property
    def around(self) -> bytes:
        """What stands before and behind the cells."""
        return self._part[: self._data[0]] + self._part[self._data[1] :]

    def put(self, row: int, column: int, value: Value) -> None:
        """Give a cell a value; its format stays."""
        self.clear(row, column)
        cell = self.rows.setdefault(row, RowXml()).cells.setdefault(column, CellXml())
        p = self._prefix
        if isinstance(value, int | Decimal):
            cell.inner = b"<%sv>%s</%sv>" % (p, f"{Decimal(value):f}".encode(), p)
            return
        cell.attributes["t"] = "inlineStr"
        text = escape(value).encode()
        cell.inner = b'<%sis><%st xml:space="preserve">%s</%st></%sis>' % (p, p, text, p, p)

    def place(self, row: int, column: int, cell: CellXml) -> None:
        """Put a whole cell, format and all, where another may have been."""
        self.clear(row, column)
        self.rows.setdefault(row, RowXml()).cells[column] = cell

    def clear(self, row: int, column: int) -> None:
        """Empty a cell; its format stays."""
        cell = self.rows[row].cells.get(column) if row in self.rows else None
        if cell is None:
            return
        if cell.formula:
            self.dropped = True
            if _SHARED.search(cell.inner):
                self._unshare()
        cell.attributes.pop("t", None)
        cell.inner = b""

    def data(self) -> bytes:
        """Return the sheet's XML."""
        p = self._prefix
        rows = b"".join(self._row(number) for number in sorted(self.rows))
        data = b"<%ssheetData>%s</%ssheetData>" % (p, rows, p)
        used = [(row, column) for row, one in self.rows.items() for column in one.cells] or [(1, 1)]
        last = f"{get_column_letter(max(column for _, column in used))}{max(row for row, _ in used)}"
        before = _DIMENSION.sub(
            b'<%sdimension ref="A1:%s"/>' % (p, last.encode()), self._part[: self._data[0]]
        )
        return before + data + self._part[self._data[1] :]

    def _row(self, number: int) -> bytes:
        row, p = self.rows[number], self._prefix
        cells = b"".join(
            self._cell(f"{get_column_letter(column)}{number}", row.cells[column])
            for column in sorted(row.cells)
        )
        head = _tag({"r": str(number), **row.attributes})
        return b"<%srow%s>%s%s</%srow>" % (p, head, cells, row.rest, p)

    def _cell(self, place: str, cell: CellXml) -> bytes:
        p, head = self._prefix, _tag({"r": place, **cell.attributes})
        return b"<%sc%s>%s</%sc>" % (p, head, cell.inner, p) if cell.inner else b"<%sc%s/>" % (p, head)

    def _unshare(self) -> None:
        """Write out every formula that cells share, so that any one of them may go."""
        texts: dict[bytes, tuple[str, str]] = {}
        cells = [
            (f"{get_column_letter(column)}{number}", cell)
            for number, row in sorted(self.rows.items())
            for column, cell in sorted(row.cells.items())
            if _SHARED.search(cell.inner)
        ]
        for place, cell in cells:
            found, shared = _FORMULA.search(cell.inner), _SHARED.search(cell.inner)
            if found and shared and found["text"]:
                texts[shared[1]] = (place, found["text"].decode())
        for place, cell in cells:
            shared = _SHARED.search(cell.inner)
            if shared is None or shared[1] not in texts:
                continue
            origin, text = texts[shared[1]]
            moved = Translator("=" + text, origin=origin).translate_formula(place)[1:].encode()
            formula = b"<%sf>%s</%sf>" % (self._prefix, moved, self._prefix)
            cell.inner = formula.join(_FORMULA.split(cell.inner)[::2])

    def _read(self) -> None:
        parser = ParserCreate()
        parser.buffer_text = True
        reader = _Reader(self._part, parser)
        parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
        try:
            self._part.decode("utf-8")
            parser.Parse(self._part, True)
        except ExpatError:
            raise ValueError("not a sheet") from None
        if not reader.last:
            raise ValueError("not a sheet in UTF-8")
        self.rows, self._data, self._prefix = reader.rows, (reader.first, reader.last), reader.prefix.encode()


class _Reader:
    """Takes the rows and cells of a sheet as expat meets them."""

    def __init__(self, part: bytes, parser: object) -> None:
        self.part, self.parser = part, parser
        self.rows: dict[int, RowXml] = {}
        self.first = self.last = 0
        self.prefix = ""
        self._depth = 0
        self._row, self._number, self._column = RowXml(), 0, 0
        self._cell: CellXml | None = None
        self._from = 0
        self._empty = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take a tag that opens."""
        self._depth += 1
        at = self.parser.CurrentByteIndex  # type: ignore[attr-defined]
        self._empty = self.part[self._after(at) - 2 : self._after(at)] == b"/>"
        if self._depth == 2 and name.rsplit(":", maxsplit=1)[-1] == "sheetData":
            self.prefix, self.first = name[: -len("sheetData")], at
        elif not self.first or self.last:
            return
        elif self._depth == 3 and name == f"{self.prefix}row":
            self._number = int(attributes.pop("r", self._number + 1))
            attributes.pop("spans", None)
            self._row, self._column = RowXml(attributes), 0
            self.rows[self._number] = self._row
        elif self._depth == 4 and name == f"{self.prefix}c":
            place = attributes.pop("r", "")
            self._column = (
                column_index_from_string(coordinate_from_string(place)[0]) if place else self._column + 1
            )
            self._cell = CellXml(attributes)
            self._row.cells[self._column] = self._cell
            self._from = self._after(at)
        elif self._depth == 4:
            self._from = at

    def end(self, _name: str) -> None:
        """Take a tag that closes."""
        at = self.parser.CurrentByteIndex  # type: ignore[attr-defined]
        behind = at if self._empty else self._after(at)  # of <c/> expat gives the end
        self._empty = False
        inside = self.first and not self.last
        if inside and self._depth == 4 and self._cell is not None:
            self._cell.inner = self.part[self._from : at]
            self._cell = None
        elif inside and self._depth == 4:
            self._row.rest += self.part[self._from : behind]
        elif inside and self._depth == 2:
            self.last = behind
        self._depth -= 1

    def _after(self, at: int) -> int:
        return self.part.index(b">", at) + 1


def _tag(attributes: dict[str, str]) -> bytes:
    return "".join(f" {name}={quoteattr(value)}" for name, value in attributes.items()).encode()
