"""The parts of a workbook's archive: which holds which sheet, and what has to be told of a change in one."""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from typing import TYPE_CHECKING
from xml.etree import ElementTree
from xml.sax.saxutils import quoteattr

from openpyxl.utils.cell import coordinate_from_string

from yieldplan.workbook.xlsx_limits import FORMULA

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
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            self._old = {info.filename: info for info in archive.infolist()}
            self._parts = {name: archive.read(name) for name in self._old}
        self._book = next(part for _, kind, part in self._linked("") if kind.endswith("/officeDocument"))
        self._listed = dict(self._sheets())
        self.has_formulas = any(FORMULA.search(self._parts[part]) for part in self._listed.values())

    def _sheets(self) -> Iterator[tuple[str, str]]:
        """Yield the title of each worksheet and the part that holds it."""
        links = {own: part for own, _, part in self._linked(self._book)}
        for sheet in ElementTree.fromstring(self._parts[self._book]).iter():
            own = next((value for name, value in sheet.attrib.items() if name.endswith("}id")), "")
            if sheet.tag.endswith("}sheet") and own in links:
                yield sheet.get("name", ""), links[own]

    def _linked(self, part: str) -> list[tuple[str, str, str]]:
        """Return (id, type, part) of everything in the archive that a part, or ``""`` the archive, links to."""
        if _links_of(part) not in self._parts:
            return []
        folder = posixpath.dirname(part)
        return [
            (
                link.get("Id", ""),
                link.get("Type", ""),
                posixpath.normpath(posixpath.join("/" + folder, link.get("Target", "")))[1:],
            )
            for link in ElementTree.fromstring(self._parts[_links_of(part)])
            if link.get("TargetMode") != "External"
        ]

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
        notes = [self._parts.get(target, b"") for _, kind, target in links if "omment" in kind]
        places = [place.decode() for note in notes for place in _NOTE.findall(note)]
        return [coordinate_from_string(place)[1] for place in places]

    def lengthen_tables(self, title: str, last: int) -> None:
        """Let tables that a sheet's rows are formatted as reach down to its ``last`` row."""
        for _, kind, target in self._linked(self._listed[title]):
            found = _TABLE.search(self._parts.get(target, b"")) if kind.endswith("/table") else None
            if found and int(found[2]) < last:
                longer = b'ref="%s%d"' % (found[1], last)
                self._parts[target] = self._parts[target].replace(found[0], longer)

    def add_sheet(self, title: str) -> None:
        """Enter a new sheet in the workbook's list, its links and the archive's table of contents."""
        part = next(
            name for n in range(1, 10_000) if (name := f"xl/worksheets/sheet{n}.xml") not in self._parts
        )
        self._parts[part], self._listed[title] = b"", part
        book = self._parts[self._book]
        taken = {own for own, _, _ in self._linked(self._book)}
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
