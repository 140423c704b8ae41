"""A folder of csv files being changed, line by line: separators, quotes, encoding and line ends stay as they are."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from yieldplan.model.words import fold
from yieldplan.workbook.csvfolder import decoded, dialect
from yieldplan.workbook.edit import Copied, InputEdit, SheetEdit, Value
from yieldplan.workbook.layouts import LAYOUTS

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping
    from pathlib import Path


@dataclass(slots=True)
class _Line:
    """One record: its text as it stands with its line end, and its fields."""

    text: str
    fields: list[str]


class CsvEdit(SheetEdit):
    """One csv file being changed.

    Parameters
    ----------
    data
        Its bytes.
    headings
        What its heading row may hold; tells what stands between the fields.
    """

    def __init__(self, data: bytes, headings: tuple[str, ...]) -> None:
        found = decoded(data)
        assert found is not None  # it has been read
        text, self._encoding, self._bom = found
        self.separator, self._preface, text = dialect(text, headings)
        source, above = list(io.StringIO(text, newline="")), 1 if self._preface else 0
        reader, start = csv.reader(source, delimiter=self.separator, strict=True), 0
        self._lines: dict[int, _Line] = {}
        self._struck: set[int] = set()
        for fields in reader:
            self._lines[start + 1 + above] = _Line("".join(source[start : reader.line_num]), fields)
            start = reader.line_num
        self._head = next(number for number, line in self._lines.items() if any(map(str.strip, line.fields)))
        head = self._lines[self._head]
        self._end = "\r\n" if head.text.endswith("\r\n") else "\n"
        self.heads = [(at, field.strip()) for at, field in enumerate(head.fields, 1) if field.strip()]

    def like(self, other: CsvEdit) -> CsvEdit:
        """Return it written as another file is: encoding, line ends, a line that names the separator."""
        self._encoding, self._bom, self._preface = other._encoding, other._bom, other._preface
        self._end = other._end
        for number in self._lines:
            self._write(number)
        return self

    def fields(self, row: int) -> list[str]:
        """Return the fields of a line."""
        return self._lines[row].fields

    def put(self, row: int, heading: str, value: Value) -> None:
        """Give a field another value."""
        self.need((heading,))
        column = self.column(heading)
        assert column is not None
        fields = self._lines[row].fields
        fields += [""] * (column - len(fields))
        fields[column - 1] = self._said(value)
        self._write(row)

    def make(self, row: int, values: Mapping[str, Value], copied: Copied) -> None:
        """Write a line anew."""
        self._lines[row].fields = self._fields(values, copied)
        self._write(row)

    def strike(self, rows: Collection[int]) -> None:
        """Take lines out when the file is written."""
        self._struck.update(rows)

    def add(self, values: Mapping[str, Value], copied: Copied | None = None) -> None:
        """Add a line at the end."""
        last = max(self._lines)
        if not self._lines[last].text.endswith(("\n", "\r")):
            self._lines[last].text += self._end
        self._lines[last + 1] = _Line("", self._fields(values, copied))
        self._write(last + 1)

    def _fields(self, values: Mapping[str, Value], copied: Copied | None) -> list[str]:
        taken = dict(_taken(copied)) if copied else {}
        self.need((*values, *taken))
        found = {fold(head): self._said(value) for head, value in {**taken, **values}.items()}
        by_column = {column: found.get(fold(text), "") for column, text in self.heads}
        return [by_column.get(at, "") for at in range(1, max(by_column) + 1)]

    def data(self) -> bytes:
        """Return the file's bytes."""
        left = sorted(number for number in self._lines if number not in self._struck)
        text = "".join((self._preface, *(self._lines[number].text for number in left)))
        return self._bom + text.encode(self._encoding)

    def _said(self, value: Value) -> str:
        text = str(value)
        return text.replace(".", ",") if self.separator == ";" and isinstance(value, Decimal) else text

    def _add_heading(self, heading: str) -> None:
        fields = self._lines[self._head].fields
        fields.append(heading)
        self.heads.append((len(fields), heading))
        self._write(self._head)

    def _write(self, row: int) -> None:
        out, line = io.StringIO(), self._lines[row]
        csv.writer(out, delimiter=self.separator, lineterminator="\r\n").writerow(
            line.fields
        )  # quotes what ends a line
        line.text = out.getvalue().removesuffix("\r\n") + self._end


def _taken(copied: Copied) -> Iterable[tuple[str, str]]:
    """Yield what a new line takes over from another, where there is anything."""
    assert isinstance(copied.sheet, CsvEdit)
    fields = copied.sheet.fields(copied.row)
    for heading in copied.headings:
        column = copied.sheet.column(heading)
        if column is not None and column <= len(fields) and fields[column - 1].strip():
            yield heading, fields[column - 1]


class FolderEdit(InputEdit):
    """A csv folder being changed; every other file that lies in it is taken along as it is."""

    def __init__(self, path: Path) -> None:
        self._files = {
            file.name: file.read_bytes()
            for file in sorted(path.iterdir())
            if file.is_file() and not file.name.startswith(".")
        }
        self._sheets: dict[str, CsvEdit] = {}

    def sheet(self, name: str) -> SheetEdit | None:
        """Return the csv file of a sheet."""
        file = next((file for file in self._files if fold(file) == f"{fold(name)}.csv"), None)
        if file is None or not self._files[file].strip():
            return None
        if file not in self._sheets:
            headings = next((layout.headings for layout in LAYOUTS if layout.name == name), ("Offcut",))
            self._sheets[file] = CsvEdit(self._files[file], headings)
        return self._sheets[file]

    def new_sheet(self, name: str, headings: tuple[str, ...]) -> SheetEdit:
        """Add a csv file, written as that of the offcuts is."""
        like = self.sheet("Offcuts")
        assert isinstance(like, CsvEdit)
        made = CsvEdit(like.separator.join(headings).encode(), headings).like(like)
        self._files[f"{name.lower()}.csv"] = b""
        self._sheets[f"{name.lower()}.csv"] = made
        return made

    def contents(self) -> Mapping[str, bytes]:
        """Return every file of the folder."""
        return {**self._files, **{name: sheet.data() for name, sheet in self._sheets.items()}}
