"""An input edited in place of its user: rows struck, added and changed, and all else left as it is.

A workbook is changed cell by cell inside its archive, a csv file line by line, so that what no one here reads (other
sheets, notes, formats, lists to choose from, charts, values of formulas) is the same afterwards to the byte.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model.words import fold

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

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

    Attributes
    ----------
    heads
        (column, heading) of the heading row, from the left.
    """

    heads: list[tuple[int, str]]

    def column(self, heading: str) -> int | None:
        """Return the column of a heading, counted from 1."""
        return next((column for column, text in self.heads if fold(text) == fold(heading)), None)

    def need(self, headings: Iterable[str]) -> None:
        """Add those of the headings that are not there yet, on the right."""
        for heading in headings:
            if self.column(heading) is None:
                self._add_heading(heading)

    @abstractmethod
    def put(self, row: int, heading: str, value: Value) -> None:
        """Give a cell another value; its format stays."""

    @abstractmethod
    def make(self, row: int, values: Mapping[str, Value], copied: Copied) -> None:
        """Write a row that stands anew: like another but for some values."""

    @abstractmethod
    def strike(self, rows: Collection[int]) -> None:
        """Take rows out."""

    @abstractmethod
    def add(self, values: Mapping[str, Value], copied: Copied | None = None) -> None:
        """Add a row at the end; headings that are not there yet are added on the right."""

    @abstractmethod
    def _add_heading(self, heading: str) -> None: ...


class InputEdit(ABC):
    """A whole input being changed."""

    @abstractmethod
    def sheet(self, name: str) -> SheetEdit | None:
        """Return the sheet of this name, in capitals or not; None where there is none with a heading row."""

    @abstractmethod
    def new_sheet(self, name: str, headings: tuple[str, ...]) -> SheetEdit:
        """Add a sheet at the end."""

    @abstractmethod
    def contents(self) -> Mapping[str, bytes]:
        """Return the files of the changed input by their names; a workbook is one, under ``""``."""
