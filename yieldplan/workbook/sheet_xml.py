"""One worksheet of a workbook's archive, changed cell by cell; all that stands around its cells stays to the byte."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from openpyxl.formula.translate import Translator
from openpyxl.utils.cell import column_index_from_string, coordinate_from_string, get_column_letter

if TYPE_CHECKING:
    from yieldplan.workbook.edit import Value

_DATA = re.compile(rb"<((?:\w+:)?)sheetData\b[^>]*(?:(?<=/)>|>(.*)</\1sheetData\s*>)", re.DOTALL)
_ATTRIBUTE = re.compile(rb"""([\w:.-]+)\s*=\s*("[^"]*"|'[^']*')""")
_FORMULA = re.compile(rb"<(?:\w+:)?f(?:\s[^>]*?)?(?:/>|>(?P<text>.*?)</(?:\w+:)?f\s*>)", re.DOTALL)
_SHARED = re.compile(rb"""\bsi\s*=\s*["']([0-9]+)["']""")
_DIMENSION = re.compile(rb"<(?:\w+:)?dimension\s[^>]*/>")

Attributes = dict[bytes, bytes]
"""Names, and values as they stand in their quotes."""


@dataclass(slots=True)
class CellXml:
    """A cell: attributes but for its place, and what stands in it."""

    attributes: Attributes = field(default_factory=dict)
    inner: bytes = b""

    def valued(self) -> CellXml:
        """Return it with the value that was worked out in place of a formula."""
        return CellXml(dict(self.attributes), _FORMULA.sub(b"", self.inner))


@dataclass(slots=True)
class RowXml:
    """A row: attributes but for its number, its cells by column, and what stands behind them."""

    attributes: Attributes = field(default_factory=dict)
    cells: dict[int, CellXml] = field(default_factory=dict)
    rest: bytes = b""


class SheetXml:
    """The cells of a worksheet.

    Parameters
    ----------
    part
        The sheet's XML, which has been read.

    Raises
    ------
    ValueError
        If it is not in UTF-8, holds no cells at all, or remarks of a programmer among them.

    Attributes
    ----------
    rows
        By their numbers, those without any cell among them.
    dropped
        Whether a formula was taken out.
    """

    def __init__(self, part: bytes) -> None:
        part.decode("utf-8")
        data = _DATA.search(part)
        if data is None or b"<!" in data[0]:
            raise ValueError("not a sheet")
        self._before, self._prefix, self._after = part[: data.start()], data[1], part[data.end() :]
        self.rows: dict[int, RowXml] = {}
        self.dropped = False
        number = 0
        for row, inner in self._elements(b"row", data[2] or b""):
            number = int(row.pop(b"r", b"'%d'" % (number + 1))[1:-1])
            row.pop(b"spans", None)
            self.rows[number] = RowXml(row, rest=self._element(b"c").sub(b"", inner))
            column = 0
            for cell, value in self._elements(b"c", inner):
                place = cell.pop(b"r", b"")[1:-1].decode()
                column = column_index_from_string(coordinate_from_string(place)[0]) if place else column + 1
                self.rows[number].cells[column] = CellXml(cell, value)

    def _element(self, name: bytes) -> re.Pattern[bytes]:
        tag = self._prefix + name
        head = rb"""<%s((?:\s+[\w:.-]+\s*=\s*(?:"[^"]*"|'[^']*'))*)\s*""" % tag
        return re.compile(rb"%s(?:/>|>(.*?)</%s\s*>)" % (head, tag), re.DOTALL)

    def _elements(self, name: bytes, text: bytes) -> list[tuple[Attributes, bytes]]:
        found = self._element(name).findall(text)
        return [(dict(_ATTRIBUTE.findall(attributes)), inner) for attributes, inner in found]

    @property
    def around(self) -> bytes:
        """What stands before and behind the cells."""
        return self._before + self._after

    def put(self, row: int, column: int, value: Value | CellXml) -> None:
        """Give a cell a value, its format stays; or put a whole cell there, format and all."""
        self.clear(row, column)
        cells = self.rows.setdefault(row, RowXml()).cells
        if isinstance(value, CellXml):
            cells[column] = value
            return
        cell, p = cells.setdefault(column, CellXml()), self._prefix
        if isinstance(value, int | Decimal):
            cell.inner = b"<%sv>%s</%sv>" % (p, f"{Decimal(value):f}".encode(), p)
            return
        cell.attributes[b"t"] = b'"inlineStr"'
        text = escape(value).encode()
        cell.inner = b'<%sis><%st xml:space="preserve">%s</%st></%sis>' % (p, p, text, p, p)

    def clear(self, row: int, column: int) -> None:
        """Empty a cell; its format stays."""
        cell = self.rows[row].cells.get(column) if row in self.rows else None
        if cell is None:
            return
        if _FORMULA.search(cell.inner):
            self.dropped = True
            if _SHARED.search(cell.inner):
                self._unshare()
        cell.attributes.pop(b"t", None)
        cell.inner = b""

    def _unshare(self) -> None:
        """Write out every formula that cells share, so that any one of them may go."""
        shared = [
            (own[1], f"{get_column_letter(column)}{number}", cell, _FORMULA.search(cell.inner))
            for number, row in self.rows.items()
            for column, cell in row.cells.items()
            if (own := _SHARED.search(cell.inner))
        ]
        origins = {
            key: (place, found["text"].decode()) for key, place, _, found in shared if found and found["text"]
        }
        for key, place, cell, _ in shared:
            if key in origins:
                origin, text = origins[key]
                moved = Translator("=" + text, origin=origin).translate_formula(place)[1:].encode()
                formula = b"<%sf>%s</%sf>" % (self._prefix, moved, self._prefix)
                cell.inner = formula.join(_FORMULA.split(cell.inner)[::2])

    def data(self) -> bytes:
        """Return the sheet's XML."""
        rows = []
        for number, row in sorted(self.rows.items()):
            cells = [
                self._tag(b"c", f"{get_column_letter(column)}{number}", cell.attributes, cell.inner)
                for column, cell in sorted(row.cells.items())
            ]
            rows.append(self._tag(b"row", str(number), row.attributes, b"".join((*cells, row.rest))))
        used = [(row, column) for row, one in self.rows.items() for column in one.cells] or [(1, 1)]
        last = f"{get_column_letter(max(column for _, column in used))}{max(row for row, _ in used)}"
        p = self._prefix
        before = _DIMENSION.sub(b'<%sdimension ref="A1:%s"/>' % (p, last.encode()), self._before)
        return b"%s<%ssheetData>%s</%ssheetData>%s" % (before, p, b"".join(rows), p, self._after)

    def _tag(self, name: bytes, place: str, attributes: Attributes, inner: bytes) -> bytes:
        p, said = self._prefix, b"".join(b" %s=%s" % attribute for attribute in attributes.items())
        head = b'<%s%s r="%s"%s' % (p, name, place.encode(), said)
        return b"%s>%s</%s%s>" % (head, inner, p, name) if inner else b"%s/>" % head
