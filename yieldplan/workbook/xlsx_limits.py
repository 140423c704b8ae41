"""A workbook's archive without what no one reads, and within limits, before a library unpacks it.

A few kilobytes can unpack to gigabytes, name a range of all cells there are, or hold a million empty rows that were
once given a colour; a library that reads workbooks makes an object of each cell. So empty cells and rows are taken out
first, and what stands behind a sheet's cells (links, pictures, remarks, rules of validation) but for its merged
ranges.
"""

from __future__ import annotations

import io
import re
import zipfile
from typing import NamedTuple

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


class TooMuchError(ValueError):
    """The workbook is beyond a limit; the text is a clause that names it."""


class Slim(NamedTuple):
    """What is left of a workbook: an archive again, and whether any of its cells has a formula."""

    data: bytes
    has_formulas: bool


def check_size(entries: list[zipfile.ZipInfo]) -> None:
    """Raise :class:`TooMuchError` where the parts unpack to more than is ever read."""
    if sum(entry.file_size for entry in entries) > MOST_UNPACKED:
        raise TooMuchError(f"unpacks to more than {MOST_UNPACKED // 1_000_000} MB")


def slimmed(archive: zipfile.ZipFile) -> Slim:
    """Return the archive without empty cells, and without what belongs to a sheet but its cells and merged ranges.

    Raises
    ------
    TooMuchError
        If more is left than is ever read.
    """
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
                raise TooMuchError(
                    f"has more than {MOST_BESIDES // 1_000_000} MB of texts and styles, unpacked"
                )
            if cells > MOST_CELLS:
                raise TooMuchError(f"has more than {MOST_CELLS} filled cells")
            slim.writestr(name, part)
    return Slim(data.getvalue(), has_formulas)


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
            raise TooMuchError(f"merges the cells {place.decode()}, more than {MOST_MERGED}")
    cells = _EMPTY_ROW.sub(b"", _EMPTY_CELL.sub(b"", part[:end]))
    return b"".join((cells, part[end:after], merged[0] if merged else b"", close[0]))
