"""What one sheet or csv file holds, before anyone asks what it means: numbered rows of cells."""

from __future__ import annotations

import datetime
import unicodedata
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from yieldplan.measure import INCH, write
from yieldplan.model import Problem

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from yieldplan.measure import Unit

CellKind = Literal["plain", "percent", "error", "formula", "unread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One cell: its value, and what the spreadsheet says it is besides.

    ``formula`` is a formula with no stored value. ``unread`` lies under a merged range, or in a line with too many
    fields, which has been reported.
    """

    value: object = None
    kind: CellKind = "plain"

    @property
    def empty(self) -> bool:
        """Whether nothing is typed here."""
        return self.kind == "plain" and (
            self.value is None or (isinstance(self.value, str) and not self.value.strip())
        )

    @property
    def text(self) -> str:
        """The value as a person would type it, spacing tidied; an accent is one sign with its letter."""
        value = self.value
        if value is None:
            return ""
        if isinstance(value, bool):
            return "TRUE" if value else "FALSE"
        if isinstance(value, (int, float)) and self.kind == "percent":
            return f"{round(100 * value, 10):g}%"
        if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
            return str(int(value))
        if isinstance(value, datetime.datetime):
            return str(value.date() if value.time() == datetime.time() else value)
        return " ".join(unicodedata.normalize("NFC", str(value)).split())


EMPTY = Cell()


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """The cells of one sheet or csv file.

    Attributes
    ----------
    file, sheet
        As the user knows them; ``sheet`` is ``""`` for a csv file.
    rows
        (row or line number, cells by column counted from 1), only rows that hold something, top down. Of a
        csv file every field is there, of a workbook only cells that are not empty.
    separator
        What stands between the fields of a csv file; ``""`` in a workbook.
    merged
        (first row, first column, last row, last column) of each merged range.
    hidden_rows, hidden_columns, hidden
        What the spreadsheet does not show.
    """

    file: str
    sheet: str = ""
    rows: tuple[tuple[int, Mapping[int, Cell]], ...] = ()
    separator: str = ""
    merged: tuple[tuple[int, int, int, int], ...] = ()
    hidden_rows: tuple[int, ...] = ()
    hidden_columns: Collection[int] = ()
    hidden: bool = False

    @property
    def head(self) -> Mapping[int, Cell]:
        """The heading row."""
        return self.rows[0][1] if self.rows else {}

    @property
    def width(self) -> int:
        """How many columns the heading row has, empty ones among them in a csv file."""
        return max(self.head, default=0)

    @property
    def decimal_comma(self) -> bool:
        """Whether a comma can only be a decimal comma: semicolons part the fields."""
        return self.separator == ";"

    def place(self, row: int, column: int = 0, heading: str = "") -> str:
        """Return where a row or one of its cells stands, as :class:`Problem` has it."""
        if self.separator:
            return f"line {row}, {heading}" if heading and column else f"line {row}"
        return f"{letter(column)}{row}" if column else f"row {row}"

    def problem(
        self, cell: str, found: str, expected: str = "", suggestion: str = "", value: str = ""
    ) -> Problem:
        """Return a problem of this sheet or file."""
        return Problem(
            file=self.file,
            sheet=self.sheet,
            cell=cell,
            value=shorten(value),
            found=found,
            expected=expected,
            suggestion=suggestion,
        )


class Faults:
    """Every problem found so far, those that ``others`` have first; readers add to it and go on."""

    def __init__(self, others: Faults | None = None) -> None:
        self._errors: list[Problem] = [*others._errors] if others else []
        self._warnings: dict[Problem, tuple[int, int, int]] = {**others._warnings} if others else {}

    def error(self, problem: Problem) -> None:
        """Add a problem that stops the run when everything has been read."""
        self._errors.append(problem)

    def warning(self, problem: Problem, place: tuple[int, int, int] = (-1, 0, 0)) -> None:
        """Add once something questionable but usable; ``place`` is its sheet, row and column, to tell it in order."""
        self._warnings.setdefault(replace(problem, severity="warning"), place)

    @property
    def errors(self) -> tuple[Problem, ...]:
        """The problems that stop the run, in the order found."""
        return tuple(self._errors)

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """The questionable things: of the whole input first, then from sheet to sheet and down the rows."""
        return tuple(sorted(self._warnings, key=self._warnings.__getitem__))


_NAMED = 3
"""How many places of rounded lengths a warning names; the rest are counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What bare numbers mean in one input and how fine its lengths are; it remembers what it rounded much.

    ``mark`` is in steps.
    """

    unit: Unit = "inch"
    mark: int = INCH // 32
    _moved: list[str] = field(default_factory=list)

    def note(self, place: str) -> None:
        """Note where a length stood that was rounded by more than half a mark."""
        self._moved.append(place)

    def report(self, file: str, faults: Faults) -> None:
        """Warn once of all lengths of the input that were rounded by more than half a mark."""
        if not self._moved:
            return
        count, mark = len(self._moved), write(self.mark, self.unit)
        places = [place.removeprefix(f"{file}, ") for place in self._moved[:_NAMED]]
        more = [f"{count - _NAMED} more"] if count > _NAMED else []
        lengths = "a length that was" if count == 1 else f"{count} lengths that were"
        found = f"has {lengths} rounded on the safe side by more than half a mark of {mark}"
        faults.warning(Problem(file=file, found=f"{found}: {joined(places + more)}"))


def letter(column: int) -> str:
    """Return the letters of a column counted from 1: 1 is A, 28 is AB."""
    from openpyxl.utils import get_column_letter  # noqa: PLC0415 - slow to load, and not needed for csv

    return get_column_letter(column)


def joined(parts: Iterable[str]) -> str:
    """Return words as a list: one, two and three."""
    *most, last = ("", *parts)
    return " and ".join(filter(None, (", ".join(filter(None, most)), last)))


def shorten(text: str, most: int = 60) -> str:
    """Return the text fit to be shown: on one line, without control characters, cut where it is long."""
    shown = "".join(sign if sign.isprintable() else "\ufffd" for sign in text)
    return shown if len(shown) <= most else shown[: most - 1] + "…"


def numbers(values: tuple[int, ...], most: int = 6) -> str:
    """Return whole numbers as a list with ranges, shortened: 4, 7-9, 12."""
    runs: list[list[int]] = []
    for value in values:
        if runs and value == runs[-1][1] + 1:
            runs[-1][1] = value
        else:
            runs.append([value, value])
    parts = [str(first) if first == last else f"{first}-{last}" for first, last in runs]
    return ", ".join(parts[:most]) + (", ..." if len(parts) > most else "")
