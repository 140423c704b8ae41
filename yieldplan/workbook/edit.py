"""An input edited in place of its user: rows struck, added and changed, and all else left as it is.

A workbook is changed cell by cell inside its archive (:mod:`yieldplan.workbook.edit_xlsx`), a csv file line by line, so
that what no one here reads (other sheets, notes, formats, charts, values of formulas; separators, quotes, encoding and
line ends) is the same afterwards to the byte.
"""

from __future__ import annotations

import csv
import io
from abc import ABC, abstractmethod
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from yieldplan.measure import write
from yieldplan.model.words import fold
from yieldplan.workbook.csvfolder import decoded, dialect
from yieldplan.workbook.layouts import LAYOUTS

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping
    from pathlib import Path

    from yieldplan.measure import Unit

Value = str | int | Decimal
"""What a cell is given: text, or a number."""


def typed_length(steps: int, unit: Unit) -> Value:
    """Return a length as it is typed, exactly: inches as text with a fraction, millimetres as a number."""
    text = write(steps, unit, mark=False)
    return text if unit == "inch" else Decimal(text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Copied:
    """Cells that a new row takes over as they stand, format and all: from a row of a sheet, under their headings."""

    sheet: SheetEdit
    row: int
    headings: tuple[str, ...]


class SheetEdit(ABC):
    """One sheet or csv file being changed. Rows have the numbers that they had when it was opened.

    Parameters
    ----------
    head
        The number of the heading row.
    heads
        (column, heading) of the heading row, from the left.
    """

    def __init__(self, head: int, heads: list[tuple[int, str]]) -> None:
        self.head, self.heads = head, heads
        self._struck: set[int] = set()
        self._added: list[dict[int, Any]] = []

    def column(self, heading: str) -> int | None:
        """Return the column of a heading, counted from 1."""
        return next((column for column, text in self.heads if fold(text) == fold(heading)), None)

    def need(self, headings: Iterable[str]) -> None:
        """Add those of the headings that are not there yet, on the right."""
        for heading in headings:
            if self.column(heading) is None:
                self.heads.append((self._add_heading(heading), heading))

    def put(self, row: int, heading: str, value: Value) -> None:
        """Give a cell another value; its format stays."""
        self.need((heading,))
        column = self.column(heading)
        assert column is not None
        self._put(row, column, value)

    def strike(self, rows: Collection[int]) -> None:
        """Take rows out."""
        self._struck.update(rows)

    def add(self, values: Mapping[str, Value], copied: Copied | None = None) -> None:
        """Add a row at the end; headings that are not there yet are added on the right."""
        taken = dict(copied.sheet.taken(copied)) if copied else {}
        self.need((*values, *taken))
        found = {fold(heading): value for heading, value in (*taken.items(), *values.items())}
        self._added.append({column: found[fold(text)] for column, text in self.heads if fold(text) in found})

    def taken(self, copied: Copied) -> Iterator[tuple[str, Any]]:
        """Yield what a new row takes over of one of these, under its headings."""
        for heading in copied.headings:
            column = self.column(heading)
            if column is not None and (held := self._held(copied.row, column)) is not None:
                yield heading, held

    @abstractmethod
    def _held(self, row: int, column: int) -> Any:
        """Return what a new row takes over of a cell; None where nothing stands there."""

    @abstractmethod
    def _put(self, row: int, column: int, value: Any) -> None: ...

    @abstractmethod
    def _add_heading(self, heading: str) -> int:
        """Write a heading on the right, and return its column."""


class CsvEdit(SheetEdit):
    """One csv file being changed, from its bytes.

    ``headings`` may stand in its heading row; they tell what stands between the fields. It is written as another file,
    ``like``, is: in encoding, line ends and a line that names the separator.
    """

    def __init__(self, data: bytes, headings: tuple[str, ...], like: CsvEdit | None = None) -> None:
        found = decoded(data)
        assert found is not None  # it has been read
        text, self._encoding, self._bom = found
        self.separator, self._preface, text = dialect(text, headings)
        source, above = list(io.StringIO(text, newline="")), 1 if self._preface else 0
        reader, start = csv.reader(source, delimiter=self.separator, strict=True), 0
        self._fields: dict[int, list[str]] = {}
        self._texts: dict[int, str] = {}  # each record as it stands, with its line end
        for fields in reader:
            number = start + 1 + above
            self._fields[number], self._texts[number] = fields, "".join(source[start : reader.line_num])
            start = reader.line_num
        head = next(number for number, fields in self._fields.items() if any(map(str.strip, fields)))
        heads = [(at, field.strip()) for at, field in enumerate(self._fields[head], 1) if field.strip()]
        super().__init__(head, heads)
        self._end = "\r\n" if self._texts[head].endswith("\r\n") else "\n"
        if like:
            self._encoding, self._bom, self._preface = like._encoding, like._bom, like._preface
            self._end = like._end
            self._write(head)

    def _held(self, row: int, column: int) -> str | None:
        fields = self._fields[row]
        return fields[column - 1] if column <= len(fields) and fields[column - 1].strip() else None

    def _put(self, row: int, column: int, value: Value) -> None:
        fields, text = self._fields[row], str(value)
        fields += [""] * (column - len(fields))
        comma = self.separator == ";" and isinstance(value, Decimal)
        fields[column - 1] = text.replace(".", ",") if comma else text
        self._write(row)

    def _add_heading(self, heading: str) -> int:
        column = len(self._fields[self.head]) + 1
        self._put(self.head, column, heading)
        return column

    def _write(self, row: int) -> None:
        out = io.StringIO()
        lines = csv.writer(out, delimiter=self.separator, lineterminator="\r\n")  # quotes what ends a line
        lines.writerow(self._fields[row])
        self._texts[row] = out.getvalue().removesuffix("\r\n") + self._end

    def data(self) -> bytes:
        """Return the file's bytes."""
        last = max(self._fields)
        if self._added and not self._texts[last].endswith(("\n", "\r")):
            self._texts[last] += self._end
        for number, cells in enumerate(self._added, last + 1):
            self._fields[number] = [""] * max(column for column, _ in self.heads)
            for column, value in cells.items():
                self._put(number, column, value)
        left = "".join(text for number, text in sorted(self._texts.items()) if number not in self._struck)
        return self._bom + (self._preface + left).encode(self._encoding)


class FolderEdit:
    """A csv folder being changed; every other file that lies in it is taken along as it is."""

    def __init__(self, path: Path) -> None:
        files = (file for file in sorted(path.iterdir()) if file.is_file() and not file.name.startswith("."))
        self._files = {file.name: file.read_bytes() for file in files}
        self._sheets: dict[str, CsvEdit] = {}

    def sheet(self, name: str) -> CsvEdit | None:
        """Return the csv file of a sheet, in capitals or not; None without a heading row."""
        file = next((file for file in self._files if fold(file) == f"{fold(name)}.csv"), None)
        if file is None or not self._files[file].strip():
            return None
        if file not in self._sheets:
            headings = next((layout.headings for layout in LAYOUTS if layout.name == name), ("Offcut",))
            self._sheets[file] = CsvEdit(self._files[file], headings)
        return self._sheets[file]

    def new_sheet(self, name: str, headings: tuple[str, ...]) -> CsvEdit:
        """Add a csv file, written as that of the offcuts is."""
        like = self.sheet("Offcuts")
        assert like is not None
        made = CsvEdit(like.separator.join(headings).encode(), headings, like)
        self._files[f"{name.lower()}.csv"] = b""
        self._sheets[f"{name.lower()}.csv"] = made
        return made

    def contents(self) -> Mapping[str, bytes]:
        """Return every file of the folder by its name."""
        return {**self._files, **{name: sheet.data() for name, sheet in self._sheets.items()}}
