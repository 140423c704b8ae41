"""A sheet under its headings: which column is which, and rows that answer by heading."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.workbook.grid import EMPTY, Cell, Faults, Grid, letter
from yieldplan.workbook.headings import read_headings
from yieldplan.workbook.layouts import EVERY_LAYOUT

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from yieldplan.measure import Unit
    from yieldplan.workbook.grid import Marks
    from yieldplan.workbook.layouts import Layout

_BROKEN = "the whole row"


class Row:
    """One row of a table; it knows the place of each of its cells and which of them are at fault."""

    __slots__ = ("_cells", "_warned", "doubted", "failed", "lengths", "marks", "number", "table")

    def __init__(self, table: Table, number: int, cells: Mapping[int, Cell]) -> None:
        self.table, self.number, self._cells = table, number, cells
        self.failed: set[str] = set()
        self.doubted: set[str] = set()
        self.lengths: dict[str, Fraction] = {}
        self._warned: set[tuple[str, str]] = set()
        self.marks = table.marks

    @property
    def unit(self) -> Unit:
        """What a bare number means in it."""
        return self.marks.unit

    def cell(self, heading: str) -> Cell:
        """Return the cell under a heading; an empty one where there is no such column."""
        return self._cells.get(self.table.columns.get(heading, 0), EMPTY)

    def unread(self, heading: str) -> bool:
        """Return whether nothing can be said of this cell, its fault having been reported; note it failed."""
        gone = heading in self.table.layout.required and heading not in self.table.columns
        if gone or _BROKEN in self.failed or self.cell(heading).kind == "merged":
            self.failed.add(heading)
            return True
        return False

    def spoil(self) -> None:
        """Give up the whole row: its fields do not stand under their headings."""
        self.failed.add(_BROKEN)

    def good(self, *headings: str) -> bool:
        """Return whether these cells were read without fault."""
        return not self.failed.intersection((*headings, _BROKEN))

    def place(self, heading: str = "") -> str:
        """Return where the cell under a heading stands, as :class:`Problem` has it."""
        column = self.table.columns.get(heading)
        if self.table.grid.separator:
            return f"line {self.number}, {heading}" if column else f"line {self.number}"
        return f"{letter(column)}{self.number}" if column else f"row {self.number}"

    def fault(self, heading: str, found: str, expected: str = "", suggestion: str = "") -> None:
        """Report what is wrong with a cell."""
        self.failed.add(heading)
        value = self.cell(heading).text
        problem = self.table.grid.problem(self.place(heading), found, expected, suggestion, value)
        self.table.faults.error(problem)

    def warn(self, heading: str, found: str, suggestion: str = "") -> None:
        """Report once what is questionable about a cell, or about the row where ``heading`` is empty."""
        if (heading, found) in self._warned:
            return
        self._warned.add((heading, found))
        value = self.cell(heading).text
        problem = self.table.grid.problem(self.place(heading), found, "", suggestion, value)
        self.table.faults.warning(
            problem, (EVERY_LAYOUT.index(self.table.layout), self.number, self.table.columns.get(heading, 0))
        )

    def doubt(self, heading: str, found: str, suggestion: str = "") -> None:
        """Report a figure that is hardly the one that was meant; what follows from it need not be said as well."""
        self.doubted.add(heading)
        self.warn(heading, found, suggestion)

    def typed(self, heading: str) -> Fraction | None:
        """Return a measure that was read without fault, as typed, in steps; None where there is none."""
        return self.lengths.get(heading) if self.good(heading) else None

    @property
    def others(self) -> tuple[tuple[str, str], ...]:
        """Extra columns as (heading, text) pairs, those that hold something."""
        pairs = ((heading, self._cells.get(column, EMPTY).text) for column, heading in self.table.others)
        return tuple(
            (heading, "".join(sign for sign in text if sign.isprintable())) for heading, text in pairs if text
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A sheet whose heading row has been understood."""

    grid: Grid
    layout: Layout
    faults: Faults
    columns: dict[str, int]
    others: tuple[tuple[int, str], ...]
    marks: Marks

    def rows(self) -> list[Row]:
        """Return the rows under the headings, the first ``most_rows`` of them."""
        body = self.grid.rows[1:]
        if len(body) > self.layout.most_rows:
            self.fault(f"has {len(body)} rows", f"at most {self.layout.most_rows}")
        covered = self._covered()
        rows = []
        for number, cells in body[: self.layout.most_rows]:
            under = {column: Cell(kind="merged") for at, column in covered if at == number}
            rows.append(Row(self, number, {**cells, **under}))
            if self.grid.separator and max(cells, default=0) > self.grid.width:
                self._report_width(rows[-1], max(cells))
        return rows

    def fault(self, found: str, expected: str, suggestion: str = "") -> None:
        """Report what is wrong with the whole sheet."""
        self.faults.error(self.grid.problem("", found, expected, suggestion))

    def _covered(self) -> set[tuple[int, int]]:
        """Report merged ranges on columns that are read; return the cells that lie under them."""
        covered: set[tuple[int, int]] = set()
        read = {*self.columns.values(), *(column for column, _ in self.others)}
        last = self.grid.rows[-1][0] if self.grid.rows else 0
        for top, left, bottom, right in self.grid.merged:
            columns = [column for column in read if left <= column <= right]
            if not columns or top > last:
                continue
            place, step = f"{letter(left)}{top}:{letter(right)}{bottom}", "unmerge them and fill in each cell"
            self.faults.error(self.grid.problem(place, "are merged cells", "a cell for each value", step))
            cells = {(row, column) for row in range(top, min(bottom, last) + 1) for column in columns}
            covered |= cells - {(top, left)}
        return covered

    def _report_width(self, row: Row, fields: int) -> None:
        sign = {",": "comma", ";": "semicolon", "\t": "tab"}[self.grid.separator]
        expected = f"{self.grid.width}, one under each heading"
        step = f"a value with a {sign} in it needs quotation marks round it"
        row.fault("", f"has {fields} fields", expected, step)
        row.spoil()


def table(grid: Grid, layout: Layout, faults: Faults, marks: Marks) -> Table:
    """Return the sheet under its headings; what is wrong with the headings goes to ``faults``."""
    columns, unknown = read_headings(grid, layout, faults)
    others = tuple(unknown.items()) if layout.keeps else ()
    return Table(grid=grid, layout=layout, faults=faults, columns=columns, others=others, marks=marks)
