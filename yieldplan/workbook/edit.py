"""An input edited in place of its user: rows struck, added and changed, and all else left as it is.

A workbook is changed cell by cell inside its archive, a csv file line by line, so that what no one here reads (other
sheets, notes, formats, lists to choose from, charts, values of formulas) is the same afterwards to the byte.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from yieldplan.measure import write
from yieldplan.model.words import fold

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping

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
