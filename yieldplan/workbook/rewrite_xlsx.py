"""A workbook with some rows of one sheet changed, and every other part of it as it was, byte for byte.

A library that reads and saves a workbook drops what it does not know, and the stored values of formulas, without which
a workbook cannot be read again; so the rows are changed in the sheet's own xml.
"""

from __future__ import annotations

import io
import re
import zipfile
from typing import TYPE_CHECKING, Any
from xml.dom import minidom
from xml.parsers.expat import ExpatError

from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import column_index_from_string

from yieldplan.model.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.workbook.rewrite import Change, Value

Element = Any
"""A piece of xml: its nodes have no common type that says what they can do."""

_ROOT = re.compile(r"<(?:\w+:)?worksheet\b[^>]*>")
_ROWS = re.compile(r"<(?:\w+:)?sheetData\b[^>]*(?<!/)>(.*)</(?:\w+:)?sheetData\s*>", re.DOTALL)
_ROW = re.compile(r"<(?:\w+:)?row\b[^>]*?(?:/>|(?<!/)>.*?</(?:\w+:)?row\s*>)", re.DOTALL)
_NUMBER = re.compile(r"^<[^>]*?\sr\s*=\s*[\"']([0-9]{1,7})[\"']")
_EXTENT = re.compile(r"(<(?:\w+:)?dimension\b[^>]*\bref=\"[A-Z]+[0-9]+:[A-Z]+)([0-9]+)")
_SHEET = re.compile(r"<(?:\w+:)?sheet\b[^>]*>")
_RELATION = re.compile(r"<(?:\w+:)?Relationship\b[^>]*>")
_CHAIN = re.compile(r"<(?:\w+:)?(?:Relationship|Override)\b[^>]*calcChain\.xml[^>]*?(?:/>|></[^>]*>)")
_CALC = re.compile(r"<(?:\w+:)?calcPr\b(?![^>]*fullCalcOnLoad)")


def xlsx_with(data: bytes, sheet: str, changes: Sequence[Change], last: int) -> bytes:
    """Return a workbook with rows of one sheet changed; new ones follow below its row ``last``.

    Raises
    ------
    OutputError
        If the sheet is written in a way that rows cannot be put into, or a cell to be changed holds a formula that
        others share.
    """
    if not changes:
        return data
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = [(entry, archive.read(entry)) for entry in archive.infolist()]
    texts = {entry.filename: part for entry, part in parts}
    try:
        name = _part_of(texts, sheet)
        page = _Page(texts[name].decode("utf-8"), sheet)
        for change in changes:
            if change.row is None:
                last += 1
            page.apply(change, change.row or last)
        texts[name] = page.text().encode("utf-8")
        _recalculated(texts, dropped=page.lost_formula)
    except (KeyError, UnicodeDecodeError, ExpatError, IndexError, AttributeError):
        raise OutputError(
            f"the sheet {sheet} is stored in a way that rows cannot be put into; open the workbook in a spreadsheet "
            "program, save it as .xlsx and run the same command again"
        ) from None
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for entry, _ in parts:
            if entry.filename in texts:
                archive.writestr(entry, texts[entry.filename], zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _part_of(texts: dict[str, bytes], sheet: str) -> str:
    """Return the name of the part that holds a sheet."""
    book = texts["xl/workbook.xml"].decode("utf-8")
    tag = next(tag for tag in map(_attributes, _SHEET.findall(book)) if tag["name"] == sheet)
    relations = map(_attributes, _RELATION.findall(texts["xl/_rels/workbook.xml.rels"].decode("utf-8")))
    target = next(relation["Target"] for relation in relations if relation["Id"] == tag["id"])
    return target.removeprefix("/") if target.startswith("/") else f"xl/{target}"


def _attributes(tag: str) -> dict[str, str]:
    """Return the attributes of a tag, by their names without a namespace."""
    name = tag[1:].split(maxsplit=1)[0].rstrip("/>")
    bare = (
        re.sub(r"(\s)\w+:(\w+\s*=)", r"\1\2", tag.replace(name, "tag", 1)).removesuffix(">").removesuffix("/")
    )
    element: Any = minidom.parseString(f"{bare}/>").documentElement
    return dict(element.attributes.items())


def _recalculated(texts: dict[str, bytes], *, dropped: bool) -> None:
    """Have a spreadsheet program work out all formulas when it opens the workbook; forget the order it did so in."""
    book = texts["xl/workbook.xml"].decode("utf-8")
    texts["xl/workbook.xml"] = _CALC.sub(lambda found: f'{found[0]} fullCalcOnLoad="1"', book).encode("utf-8")
    if dropped and texts.pop("xl/calcChain.xml", None) is not None:
        for name in ("[Content_Types].xml", "xl/_rels/workbook.xml.rels"):
            texts[name] = _CHAIN.sub("", texts[name].decode("utf-8")).encode("utf-8")


class _Page:
    """A sheet's xml as text; only the rows that are changed are taken apart."""

    def __init__(self, text: str, title: str) -> None:
        self._text, self._title = text, title
        self._root = _ROOT.search(text)[0]  # type: ignore[index] # reported by the caller
        self._span = _ROWS.search(text).span(1)  # type: ignore[union-attr] # same
        self._rows: dict[int, str] = {}
        number = 0
        for raw in _ROW.findall(text, *self._span):
            match = _NUMBER.match(raw)
            number = int(match[1]) if match else number + 1
            self._rows[number] = raw
        self._original = dict(self._rows)
        self.lost_formula = False

    def text(self) -> str:
        """Return the sheet's xml as it is now."""
        start, end = self._span
        rows = "".join(self._rows[number] for number in sorted(self._rows))
        last = max(self._rows)
        head = _EXTENT.sub(lambda ref: f"{ref[1]}{max(int(ref[2]), last)}", self._text[:start])
        return head + rows + self._text[end:]

    def apply(self, change: Change, number: int) -> None:
        """Do one change to the row ``number``."""
        same = number == change.like
        if number in self._rows and not (same and change.values is not None):
            old = self._parsed(self._rows[number])
            for cell in _cells(old):
                self._empty(cell)
            self._rows[number] = old.toxml()
        if change.values is None:
            return
        row = self._parsed(self._original[change.like])
        _number(row, number)
        for column, value in sorted(change.values.items()):
            self._set(row, number, column, value)
        if not same:
            for cell in _cells(row):
                for formula in _children(cell, "f"):
                    cell.removeChild(formula)
        self._rows[number] = row.toxml()

    def _parsed(self, raw: str) -> Element:
        name = self._root[1:].split(maxsplit=1)[0].rstrip(">")
        whole: Any = minidom.parseString(f"{self._root}{raw}</{name}>".encode())
        return whole.documentElement.firstChild

    def _set(self, row: Element, number: int, column: int, value: Value) -> None:
        place = f"{get_column_letter(column)}{number}"
        cell = next((cell for cell in _cells(row) if cell.getAttribute("r") == place), None)
        prefix = row.tagName.removesuffix("row")
        document: Any = row.ownerDocument
        if cell is None:
            cell = document.createElement(f"{prefix}c")
            cell.setAttribute("r", place)
            row.insertBefore(cell, next((other for other in _cells(row) if _column(other) > column), None))
        self._empty(cell)
        if value is None:
            return
        text = document.createTextNode(str(value))
        if isinstance(value, int):
            holder = cell.appendChild(document.createElement(f"{prefix}v"))
        else:
            cell.setAttribute("t", "inlineStr")
            holder = cell.appendChild(document.createElement(f"{prefix}is"))
            holder = holder.appendChild(document.createElement(f"{prefix}t"))
            holder.setAttribute("xml:space", "preserve")
        holder.appendChild(text)

    def _empty(self, cell: Element) -> None:
        """Take the value and the formula out of a cell; how it looks stays."""
        for formula in _children(cell, "f"):
            if formula.getAttribute("t") in ("shared", "array") and formula.hasAttribute("ref"):
                raise OutputError(
                    f"{self._title}!{cell.getAttribute('r')} holds a formula that other cells share, so nothing can "
                    "be written there; type its value and run the same command again"
                )
            self.lost_formula = True
        while cell.firstChild:
            cell.removeChild(cell.firstChild)
        if cell.hasAttribute("t"):
            cell.removeAttribute("t")


def _children(of: Element, name: str) -> list[Element]:
    return [child for child in of.childNodes if child.nodeName.split(":")[-1] == name]


def _cells(row: Element) -> list[Element]:
    return _children(row, "c")


def _column(cell: Element) -> int:
    return column_index_from_string(cell.getAttribute("r").rstrip("0123456789"))


def _number(row: Element, number: int) -> None:
    """Give a row and its cells their number, whether they had one or not."""
    row.setAttribute("r", str(number))
    column = 0
    for cell in _cells(row):
        column = _column(cell) if cell.hasAttribute("r") else column + 1
        cell.setAttribute("r", f"{get_column_letter(column)}{number}")
