"""A workbook being changed inside its archive: only the sheets that are written to are, and the list of sheets."""

from __future__ import annotations

import io
import posixpath
import re
import warnings
import zipfile
from copy import deepcopy
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element, SubElement, TreeBuilder, tostring
from xml.parsers import expat
from xml.sax.saxutils import quoteattr

from openpyxl.formula.translate import Translator
from openpyxl.packaging.relationship import get_dependents
from openpyxl.reader.excel import ExcelReader
from openpyxl.utils.cell import column_index_from_string, coordinate_from_string, get_column_letter

from yieldplan.model.errors import OutputError
from yieldplan.model.words import fold
from yieldplan.workbook.edit import FolderEdit, SheetEdit, Value
from yieldplan.workbook.grid import Cell, Grid
from yieldplan.workbook.xlsx import FORMULA, grids_of_workbook

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_EMPTY_SHEET = (
    '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    f'<worksheet xmlns="{_MAIN}"><sheetData/></worksheet>'
).encode()
_LINK_KIND = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_STRICT_KIND = b"http://purl.oclc.org/ooxml/officeDocument/relationships"
_SHEET_TYPE = b"application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_CONTENTS = "[Content_Types].xml"
_DATA = re.compile(rb"<((?:\w+:)?)sheetData\b[^>]*(?:(?<=/)>|>.*</\1sheetData\s*>)", re.DOTALL)
_DIMENSION = re.compile(rb"<(?:\w+:)?dimension\s[^>]*/>")
_TABLE = re.compile(rb'ref="([A-Z]+1:[A-Z]+)([0-9]+)"')
_NOTE = re.compile(rb"""<(?:\w+:)?(?:comment|threadedComment)\s[^>]*?\bref\s*=\s*["'][A-Z]+([0-9]+)["']""")
_BOUND = re.compile(
    rb"<(?:\w+:)?(mergeCell|hyperlink|conditionalFormatting|drawing|oleObject|control|rowBreaks)\b"
)
"""What stands behind a sheet's cells and is bound to rows by their numbers."""


class BookSheet(SheetEdit):
    """One sheet of a workbook being changed, as it stands in the archive and as it is read.

    What stands around its cells stays to the byte. Raises ValueError if it is not in UTF-8, or has no cells at all.

    Attributes
    ----------
    may_close
        Whether rows may move up where others were struck; where something is bound to their numbers they may not.
    last
        The last row that holds something, once it has been written.
    """

    def __init__(self, part: bytes, grid: Grid) -> None:
        head, self._body = grid.rows[0], [number for number, _ in grid.rows[1:]]
        super().__init__(
            head[0], [(column, cell.text) for column, cell in sorted(head[1].items()) if not cell.empty]
        )
        part.decode("utf-8")
        data = _DATA.search(part)
        if data is None:
            raise ValueError("not a sheet")
        self.around = (_DIMENSION.sub(b"", part[: data.start()]), part[data.end() :])
        self._data, self._p = _tree(data[0]), data[1].decode()
        self._rows: dict[int, Element] = {}
        self._cells: dict[int, dict[int, Element]] = {}
        number = 0
        for row in self._data.findall(f"{self._p}row"):
            number = int(row.get("r", number + 1))
            self._rows[number], self._cells[number], column = row, {}, 0
            for cell in row.findall(f"{self._p}c"):
                place = cell.get("r")
                column = column_index_from_string(coordinate_from_string(place)[0]) if place else column + 1
                self._cells[number][column] = cell
                row.remove(cell)
        self._widest = max(column for _, cells in grid.rows for column in cells)
        self._put_into, self.may_close, self.last = False, False, 0

    @property
    def changed(self) -> bool:
        """Whether anything of it is to be written."""
        return self._put_into or bool(self._struck or self._added)

    @property
    def hides_rows(self) -> bool:
        """Whether any of its rows is hidden."""
        return any(row.get("hidden") in ("1", "true") for row in self._rows.values())

    def _held(self, row: int, column: int) -> Element | None:
        """Return a copy of a cell, with the value that was worked out in place of a formula."""
        cell = deepcopy(self._cells.get(row, {}).get(column))
        if cell is None or not len(cell):
            return None
        for formula in cell.findall(f"{self._p}f"):
            cell.remove(formula)
        return cell

    def _put(self, row: int, column: int, value: Value | Element) -> None:
        self._put_into, p = True, self._p
        self._clear(row, column)
        self._rows.setdefault(row, Element(f"{p}row"))
        cells = self._cells.setdefault(row, {})
        if isinstance(value, Element):
            cells[column] = value
            return
        cell = cells.setdefault(column, Element(f"{p}c"))
        if isinstance(value, int | Decimal):
            SubElement(cell, f"{p}v").text = f"{Decimal(value):f}"
            return
        cell.set("t", "inlineStr")
        text = SubElement(SubElement(cell, f"{p}is"), f"{p}t", {"xml:space": "preserve"})
        text.text = value

    def _clear(self, row: int, column: int) -> None:
        """Empty a cell; its format stays."""
        cell = self._cells.get(row, {}).get(column)
        if cell is None:
            return
        formula = cell.find(f"{self._p}f")
        if formula is not None and formula.get("t") == "shared":
            self._unshare()
        cell.attrib.pop("t", None)
        cell[:] = []

    def _unshare(self) -> None:
        """Write out every formula that cells share, so that any one of them may go."""
        shared = [
            (f"{get_column_letter(column)}{number}", formula)
            for number, row in self._cells.items()
            for column, cell in row.items()
            if (formula := cell.find(f"{self._p}f")) is not None and formula.get("t") == "shared"
        ]
        origins = {formula.get("si"): (place, formula.text) for place, formula in shared if formula.text}
        for place, formula in shared:
            if formula.get("si") in origins:
                origin, text = origins[formula.get("si")]
                formula.text = Translator(f"={text}", origin=origin).translate_formula(place)[1:]
                formula.attrib.clear()

    def _add_heading(self, heading: str) -> int:
        before = max(column for column, _ in self.heads)
        self._widest += 1
        self._put(self.head, self._widest, heading)
        self.style(self.head, self._widest, self.format_of(self.head, before))
        return self._widest

    def format_of(self, row: int, column: int) -> str | None:
        """Return the number of a cell's format."""
        cell = self._cells.get(row, {}).get(column)
        return None if cell is None else cell.get("s")

    def style(self, row: int, column: int, number: str | None) -> None:
        """Give a cell a format."""
        if number is not None:
            self._cells[row][column].set("s", number)

    def data(self) -> bytes:
        """Return the sheet's XML."""
        last = self._body[-1] if self._body else self.head
        like = {column: cell.get("s") for column, cell in self._cells.get(last, {}).items() if self._body}
        for row in self._struck:
            for column in self._cells.get(row, {}):
                self._clear(row, column)
        if self.may_close and self._struck and self._body == list(range(self.head + 1, last + 1)):
            last = self._close_up()
        self.last = last + len(self._added)
        for number, cells in enumerate(self._added, last + 1):
            for column, value in cells.items():
                fresh = column not in self._cells.get(number, {}) and not isinstance(value, Element)
                self._put(number, column, value)
                if fresh:
                    self.style(number, column, like.get(column))
        self._data[:] = [self._row(number) for number in sorted(self._rows)]
        return tostring(self._data).join(self.around)

    def _row(self, number: int) -> Element:
        """Return a row with its cells, and behind them what else stands in it."""
        row, cells = self._rows[number], sorted(self._cells[number].items())
        row.set("r", str(number))
        row.attrib.pop("spans", None)
        for column, cell in cells:
            cell.set("r", f"{get_column_letter(column)}{number}")
        row[:] = [*(cell for _, cell in cells), *row]
        return row

    def _close_up(self) -> int:
        """Move rows up where others were struck, and return the last; struck ones lie emptied behind them."""
        kept = [number for number in self._body if number not in self._struck]
        order = [*kept, *sorted(self._struck)]
        for held in (self._rows, self._cells):
            moved: list[Any] = [held[number] for number in order]
            held.update(zip(self._body, moved, strict=True))
        return self._body[len(kept) - 1] if kept else self.head


def _links_of(part: str) -> str:
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{name}.rels")


def _tree(data: bytes) -> Element:
    """Return XML as elements that are named as they are written, prefix and all."""
    builder, parser = TreeBuilder(), expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = builder.start, builder.end
    parser.CharacterDataHandler = builder.data
    parser.Parse(data, True)
    return builder.close()


class BookEdit:
    """A workbook being changed, from its bytes; it has been read without a problem."""

    def __init__(self, data: bytes) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what openpyxl does not keep; it keeps nothing here
            reader: Any = ExcelReader(io.BytesIO(data), keep_links=False)
            reader.read_manifest()
            reader.read_workbook()
            self._book: str = reader.parser.workbook_part_name
            self._listed = {sheet.name: link.target for sheet, link in reader.parser.find_sheets()}
        self._names = [one for one in reader.parser.defined_names.definedName if not one.is_reserved]
        self._archive: zipfile.ZipFile = reader.archive
        self._parts = {name: self._archive.read(name) for name in self._archive.namelist()}
        self._has_formulas = any(FORMULA.search(self._parts[part]) for part in self._listed.values())
        self._grids = {grid.sheet: grid for grid in grids_of_workbook(data, "")}
        self._sheets: dict[str, BookSheet] = {}

    def sheet(self, name: str) -> BookSheet | None:
        """Return a sheet that has a heading row."""
        title = self._title(name)
        if title is None or not self._grids[title].rows:
            return None
        if title not in self._sheets:
            try:
                sheet = BookSheet(self._parts[self._listed[title]], self._grids[title])
            except ValueError:
                raise OutputError(
                    f"The sheet {title} is stored in a way that rows cannot be put into; open the workbook in a "
                    "spreadsheet program, save it as .xlsx and run the same command again."
                ) from None
            sheet.may_close = not self._is_bound(title, sheet)
            self._sheets[title] = sheet
        return self._sheets[title]

    def _title(self, name: str) -> str | None:
        return next((title for title in self._grids if fold(title) == fold(name)), None)

    def _is_bound(self, title: str, sheet: BookSheet) -> bool:
        """Return whether anything is bound to the numbers of a sheet's rows."""
        notes = [self._parts[link.target] for link in self._linked(title) if "omment" in link.Type]
        noted = any(int(row) > sheet.head for note in notes for row in _NOTE.findall(note))
        named = any(title in (one.value or "") for one in self._names)
        other = sheet.hides_rows or self._has_formulas or any(map(_BOUND.search, sheet.around))
        return noted or named or other

    def _linked(self, title: str) -> list[Any]:  # openpyxl's links have no types
        """Return the links of a sheet to other parts of the archive."""
        listed = _links_of(self._listed[title])
        links = get_dependents(self._archive, listed) if listed in self._archive.namelist() else []
        return [link for link in links if link.target in self._parts]

    def new_sheet(self, name: str, headings: tuple[str, ...]) -> BookSheet:
        """Add a sheet behind the others, or take an empty one; its headings look as those of the offcuts do."""
        empty, like = self._title(name), self.sheet("Offcuts")
        assert like is not None
        if empty is None:
            self._list_sheet(name)
        name = empty or name
        cells = {column: Cell(value=heading) for column, heading in enumerate(headings, 1)}
        self._grids[name] = Grid(file="", sheet=name, rows=((1, cells),))
        part = self._parts[self._listed[name]] if empty else _EMPTY_SHEET
        sheet = self._sheets[name] = BookSheet(part, self._grids[name])
        for column, heading in enumerate(headings, 1):
            sheet.put(1, heading, heading)
            sheet.style(1, column, like.format_of(like.head, like.heads[0][0]))
        return sheet

    def _list_sheet(self, title: str) -> None:
        """Enter a new sheet in the workbook's list, its links and the archive's table of contents."""
        part = next(
            name for n in range(1, 10_000) if (name := f"xl/worksheets/sheet{n}.xml") not in self._parts
        )
        self._parts[part], self._listed[title] = b"", part
        book, links = self._parts[self._book], self._parts[_links_of(self._book)]
        own = next(key for n in range(1, 10_000) if (key := b'"rId%d"' % n) not in links)
        kind = _STRICT_KIND if _STRICT_KIND in book else _LINK_KIND
        last = max(int(n) for n in re.findall(rb"""\bsheetId\s*=\s*["']([0-9]+)["']""", book))
        link = b'<Relationship Id=%s Type="%s/worksheet" Target="/%s"/>' % (own, kind, part.encode())
        self._insert(_links_of(self._book), b"Relationships", link)
        entry = b'<Override PartName="/%s" ContentType="%s"/>' % (part.encode(), _SHEET_TYPE)
        self._insert(_CONTENTS, b"Types", entry)
        sheet = b'<sheet xmlns:r="%s" name=%s sheetId="%d" r:id=%s/>'
        self._insert(self._book, b"sheets", sheet % (kind, quoteattr(title).encode(), last + 1, own))

    def _insert(self, part: str, parent: bytes, element: bytes, *, behind: bool = False) -> None:
        """Put an element at the end of another, or behind it, with that one's prefix."""
        whole = self._parts[part]
        close = [*re.finditer(rb"</(\w+:)?(?:%s)\s*>" % parent, whole)][-1]
        place = close.end() if behind else close.start()
        self._parts[part] = whole[:place] + b"<" + (close[1] or b"") + element[1:] + whole[place:]

    def contents(self) -> Mapping[str, bytes]:
        """Return the workbook's bytes under ``""``: the same changes give the same bytes."""
        changed = {title: sheet for title, sheet in self._sheets.items() if sheet.changed}
        for title, sheet in changed.items():
            self._parts[self._listed[title]] = sheet.data()
            for link in self._linked(
                title
            ):  # a table that its rows are formatted as reaches down to the last
                table = _TABLE.search(self._parts[link.target]) if link.Type.endswith("/table") else None
                if table and int(table[2]) < sheet.last:
                    reach = b'ref="%s%d"' % (table[1], sheet.last)
                    self._parts[link.target] = self._parts[link.target].replace(table[0], reach)
        if changed and self._has_formulas:
            self._work_out_anew()
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            for name, part in self._parts.items():
                old = self._archive.NameToInfo.get(name)
                info = zipfile.ZipInfo(name, old.date_time if old else (1980, 1, 1, 0, 0, 0))
                info.compress_type = old.compress_type if old else zipfile.ZIP_DEFLATED
                archive.writestr(info, part)
        return {"": out.getvalue()}

    def _work_out_anew(self) -> None:
        """Ask spreadsheet programs to work out all formulas, in an order of their own, when they open the workbook."""
        if chain := next((part for part in self._parts if part.endswith("/calcChain.xml")), None):
            del self._parts[chain]
            entry = re.compile(rb"<(?:\w+:)?(?:Override|Relationship)\s[^>]*calcChain\.xml[^>]*/>")
            for listed in (_CONTENTS, _links_of(self._book)):
                self._parts[listed] = entry.sub(b"", self._parts[listed])
        book = self._parts[self._book]
        asked = re.search(rb"<(?:\w+:)?calcPr\b[^>]*?(?=/?>)", book)
        if asked and b"fullCalcOnLoad" not in asked[0]:
            self._parts[self._book] = book.replace(asked[0], asked[0] + b' fullCalcOnLoad="1"')
        elif not asked:
            before = b"sheets|externalReferences|definedNames"
            self._insert(self._book, before, b'<calcPr fullCalcOnLoad="1"/>', behind=True)


InputEdit = FolderEdit | BookEdit
"""A whole input being changed: ``sheet`` and ``new_sheet`` are its sheets, ``contents`` its files by their names."""


def edit_input(path: Path) -> InputEdit:
    """Open an input that has been read without a problem, to be changed.

    Raises
    ------
    OSError
        If it can no longer be read.
    """
    return FolderEdit(path) if path.is_dir() else BookEdit(path.read_bytes())
