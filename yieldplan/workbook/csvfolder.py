"""A folder of csv files as grids: whatever a spreadsheet program or a text editor made of them."""

from __future__ import annotations

import codecs
import csv
import io
import re

from yieldplan.model import Problem
from yieldplan.model.words import fold
from yieldplan.workbook.grid import Cell, Faults, Grid

_SEPARATORS = (",", ";", "\t")
_SEPARATOR_LINE = re.compile(r"sep=([,;\t])\r?\n?", re.IGNORECASE)
MOST_FIELDS = 1_000_000
"""Fields that the lines of a file may have together, empty ones among them."""


def grid_of_csv(data: bytes, file: str, headings: tuple[str, ...], faults: Faults) -> Grid | None:
    """Return what a csv file holds, or None where it cannot be read (``faults`` says why).

    ``headings`` may stand in its heading row; they tell what stands between the fields.
    """
    read = decoded(data)

    def fault(found: str, expected: str = "", suggestion: str = "", line: int = 0) -> None:
        cell = f"line {line}" if line else ""
        faults.error(Problem(file=file, cell=cell, found=found, expected=expected, suggestion=suggestion))

    if read is None:
        fault("is not text", "a csv file, UTF-8", "save it as csv, UTF-8")
        return None
    separator, preface, text = dialect(read[0], headings)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[tuple[int, dict[int, Cell]]] = []
    skipped = line = 1 if preface else 0
    count = 0
    try:
        for fields in reader:
            count += len(fields)
            if count > MOST_FIELDS:
                step = "save only the lines and columns that are filled"
                fault(f"has more than {MOST_FIELDS} fields", "", step)
                return None
            if any(field.strip() for field in fields):
                rows.append((line + 1, {column: Cell(value=field) for column, field in enumerate(fields, 1)}))
            line = reader.line_num + skipped
    except csv.Error as error:
        if "field larger" in str(error):
            found, expected = f"has a value of more than {csv.field_size_limit()} characters", "a short one"
            step = "a quotation mark that does not close does this too"
        else:
            found = "has a quotation mark that does not close or that text follows"
            expected = "each quoted value to end in a quotation mark"
            step = 'write an inch mark inside a quoted value twice, as in "41 3/8"""'
        fault(found, expected, step, line + 1)
        return None
    return Grid(file=file, rows=tuple(rows), separator=separator)


_MARKS = {codecs.BOM_UTF8: "utf-8", codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}


def decoded(data: bytes) -> tuple[str, str, bytes] | None:
    """Return the text of the bytes, its encoding and the mark before it; None where they are no text.

    UTF-8, UTF-16, or else Windows-1252.
    """
    mark = next((mark for mark in _MARKS if data.startswith(mark)), b"")
    if mark:
        encodings = [_MARKS[mark]]
    elif b"\0" in data:
        pairs = data[: len(data) // 2 * 2]
        encodings = ["utf-16-le" if pairs[1::2].count(0) > pairs[0::2].count(0) else "utf-16-be"]
    else:
        encodings = ["utf-8"]
    for encoding in (*encodings, "cp1252") if "utf-8" in encodings else encodings:
        try:
            text = data[len(mark) :].decode(encoding)
        except UnicodeDecodeError:
            mark = b""
            continue
        return None if re.search(r"[\x00-\x08\x0e-\x1f]", text) else (text, encoding, mark)
    return None


def dialect(text: str, headings: tuple[str, ...]) -> tuple[str, str, str]:
    """Return what parts the fields, a first line that says so (or nothing), and the text behind it.

    Without such a line it is the sign that makes most known headings of the heading line.
    """
    if match := _SEPARATOR_LINE.match(text):
        return match[1], match[0], text[match.end() :]
    line = next((line for line in text.splitlines() if line.strip(" ,;\t")), "")
    known = {fold(heading) for heading in headings}

    def score(sign: str) -> tuple[int, int]:
        fields = next(csv.reader([line], delimiter=sign), [])
        return sum(fold(field) in known for field in fields), len(fields)

    return max(_SEPARATORS, key=score), "", text
