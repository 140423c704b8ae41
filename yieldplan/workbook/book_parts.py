"""The parts of a workbook's archive: which holds which sheet, and what has to be told of a change in one."""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree
from xml.sax.saxutils import quoteattr

from openpyxl.packaging.relationship import get_dependents
from openpyxl.utils.cell import coordinate_from_string

from yieldplan.workbook.xlsx import FORMULA

if TYPE_CHECKING:
    from collections.abc import Iterator

_LINK_KIND = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_STRICT_KIND = "http://purl.oclc.org/ooxml/officeDocument/relationships"
_SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_CONTENTS = "[Content_Types].xml"
_NAMES = re.compile(rb"<(?:\w+:)?definedNames.*</(?:\w+:)?definedNames>", re.DOTALL)
_TABLE = re.compile(rb'ref="([A-Z]+1:[A-Z]+)([0-9]+)"')
_NOTE = re.compile(rb"""<(?:\w+:)?(?:comment|threadedComment)\s[^>]*?\bref\s*=\s*["']([A-Z]+[0-9]+)["']""")


class BookParts:
    """The parts of a workbook.

    Parameters
    ----------
    data
        Its bytes; it has been read without a problem.

    Attributes
    ----------
    has_formulas
        Whether any cell of any sheet is worked out.
    """

    def __init__(self, data: bytes) -> None:
        self._archive = zipfile.ZipFile(io.BytesIO(data))
        self._old = {info.filename: info for info in self._archive.infolist()}
        self._parts = {name: self._archive.read(name) for name in self._old}
        self._book = next(link.target for link in self._linked("") if link.Type.endswith("/officeDocument"))
        self._listed = dict(self._sheets())
        self.has_formulas = any(FORMULA.search(self._parts[part]) for part in self._listed.values())

    def _sheets(self) -> Iterator[tuple[str, str]]:
        """Yield the title of each worksheet and the part that holds it."""
        links = {link.Id: link.target for link in self._linked(self._book)}
        for sheet in ElementTree.fromstring(self._parts[self._book]).iter():
            own = next((value for name, value in sheet.attrib.items() if name.endswith("}id")), "")
            if sheet.tag.endswith("}sheet") and own in links:
                yield sheet.get("name", ""), links[own]

    def _linked(self, part: str) -> list[Any]:  # openpyxl's links have no types
        """Return the links of a part, or ``""`` the archive, to others in the archive."""
        listed = _links_of(part)
        return [*get_dependents(self._archive, listed)] if listed in self._old else []

    def sheet(self, title: str) -> bytes:
        """Return a sheet's XML."""
        return self._parts[self._listed[title]]

    def put_sheet(self, title: str, part: bytes) -> None:
        """Give a sheet other XML."""
        self._parts[self._listed[title]] = part

    def is_named(self, title: str) -> bool:
        """Return whether names are given to cells of a sheet, those aside that programs give: printing, filters."""
        names = _NAMES.search(self._parts[self._book])
        own = re.findall(rb"<(?:\w+:)?definedName\s[^>]*>[^<]*", names[0]) if names else []
        return any(title.encode() in name and b"_xlnm." not in name for name in own)

    def noted_rows(self, title: str) -> list[int]:
        """Return the rows that have a note on a cell."""
        links = self._linked(self._listed[title])
        notes = [self._parts.get(link.target, b"") for link in links if "omment" in link.Type]
        places = [place.decode() for note in notes for place in _NOTE.findall(note)]
        return [coordinate_from_string(place)[1] for place in places]

    def lengthen_tables(self, title: str, last: int) -> None:
        """Let tables that a sheet's rows are formatted as reach down to its ``last`` row."""
        for link in self._linked(self._listed[title]):
            table = self._parts.get(link.target, b"") if link.Type.endswith("/table") else b""
            found = _TABLE.search(table)
            if found and int(found[2]) < last:
                self._parts[link.target] = table.replace(found[0], b'ref="%s%d"' % (found[1], last))

    def add_sheet(self, title: str) -> None:
        """Enter a new sheet in the workbook's list, its links and the archive's table of contents."""
        part = next(
            name for n in range(1, 10_000) if (name := f"xl/worksheets/sheet{n}.xml") not in self._parts
        )
        self._parts[part], self._listed[title] = b"", part
        book = self._parts[self._book]
        taken = {link.Id for link in self._linked(self._book)}
        own = next(name for n in range(1, 10_000) if (name := f"rId{n}") not in taken)
        kind = _STRICT_KIND if _STRICT_KIND.encode() in book else _LINK_KIND
        link = f'<Relationship Id="{own}" Type="{kind}/worksheet" Target="/{part}"/>'
        self._insert(_links_of(self._book), "Relationships", link)
        self._insert(_CONTENTS, "Types", f'<Override PartName="/{part}" ContentType="{_SHEET_TYPE}"/>')
        last = max(int(n) for n in re.findall(rb"""\bsheetId\s*=\s*["']([0-9]+)["']""", book))
        sheet = f'<sheet xmlns:r="{kind}" name={quoteattr(title)} sheetId="{last + 1}" r:id="{own}"/>'
        self._insert(self._book, "sheets", sheet)

    def _insert(self, part: str, parent: str, text: str) -> None:
        """Put an element at the end of another, with that one's prefix."""
        whole = self._parts[part]
        close = re.search(rb"</(\w+:)?%s\s*>" % parent.encode(), whole)
        assert close is not None
        element = b"<" + (close[1] or b"") + text[1:].encode()
        self._parts[part] = whole[: close.start()] + element + whole[close.start() :]

    def data(self, *, dropped: bool) -> bytes:
        """Return the workbook's bytes; ``dropped``: a formula was taken out. The same parts give the same bytes."""
        if dropped:
            self._forget_order_of_formulas()
        if self.has_formulas:
            self._work_out_anew()
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            for name, part in self._parts.items():
                old = self._old.get(name)
                info = zipfile.ZipInfo(name, old.date_time if old else (1980, 1, 1, 0, 0, 0))
                info.compress_type = old.compress_type if old else zipfile.ZIP_DEFLATED
                archive.writestr(info, part)
        return out.getvalue()

    def _forget_order_of_formulas(self) -> None:
        """Leave out the list of formulas in the order in which they are worked out; programs make it anew."""
        part = next((part for part in self._parts if part.endswith("/calcChain.xml")), None)
        if part is None:
            return
        del self._parts[part]
        entry = re.compile(rb"<(?:\w+:)?(?:Override|Relationship)\s[^>]*calcChain\.xml[^>]*/>")
        for listed in (_CONTENTS, _links_of(self._book)):
            self._parts[listed] = entry.sub(b"", self._parts[listed])

    def _work_out_anew(self) -> None:
        """Ask spreadsheet programs to work out all formulas when they open the workbook."""
        whole = self._parts[self._book]
        tag = re.search(rb"<(\w+:)?calcPr\b([^>]*?)(/?)>", whole)
        if tag and b"fullCalcOnLoad" in tag[0]:
            return
        if tag:
            start, end = tag.span()
            new = b'<%scalcPr%s fullCalcOnLoad="1"%s>' % (tag[1] or b"", tag[2], tag[3])
        else:
            before = [*re.finditer(rb"</(\w+:)?(?:sheets|externalReferences|definedNames)\s*>", whole)][-1]
            start = end = before.end()
            new = b'<%scalcPr fullCalcOnLoad="1"/>' % (before[1] or b"")
        self._parts[self._book] = whole[:start] + new + whole[end:]


def _links_of(part: str) -> str:
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{name}.rels")
