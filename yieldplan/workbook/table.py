"""A sheet under its headings: which column is which, and rows that answer by heading."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model.words import fold
from yieldplan.workbook.grid import EMPTY, Cell, Faults, Grid, letter, numbers
from yieldplan.workbook.layouts import EVERY_LAYOUT
from yieldplan.workbook.suggest import did_you_mean, near

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from yieldplan.measure import Unit
    from yieldplan.workbook.grid import Marks
    from yieldplan.workbook.layouts import Layout


class Row:
    """One row of a table; it knows the place of each of its cells and which of them are at fault."""

    __slots__ = ("_cells", "doubted", "failed", "lengths", "marks", "number", "table")

    def __init__(self, table: Table, number: int, cells: Mapping[int, Cell]) -> None:
        self.table, self.number, self._cells = table, number, cells
        self.failed: set[str] = set()
        self.doubted: set[str] = set()
        self.lengths: dict[str, Fraction] = {}
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
        if gone or self.cell(heading).kind == "unread":
            self.failed.add(heading)
            return True
        return False

    def good(self, *headings: str) -> bool:
        """Return whether these cells were read without fault."""
        return not self.failed.intersection(headings)

    def place(self, heading: str = "") -> str:
        """Return where the cell under a heading stands, as :class:`Problem` has it."""
        return self.table.grid.place(self.number, self.table.columns.get(heading, 0), heading)

    def fault(self, heading: str, found: str, expected: str = "", suggestion: str = "") -> None:
        """Report what is wrong with a cell."""
        self.failed.add(heading)
        value = self.cell(heading).text
        problem = self.table.grid.problem(self.place(heading), found, expected, suggestion, value)
        self.table.faults.error(problem)

    def warn(self, heading: str, found: str, suggestion: str = "") -> None:
        """Report once what is questionable about a cell, or about the row where ``heading`` is empty."""
        value, layout = self.cell(heading).text, self.table.layout
        problem = self.table.grid.problem(self.place(heading), found, "", suggestion, value)
        sheet = EVERY_LAYOUT.index(layout) if layout in EVERY_LAYOUT else 0
        self.table.faults.warning(problem, (sheet, self.number, self.table.columns.get(heading, 0)))

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
    """A sheet whose heading row has been understood; ``others`` are columns that are kept and shown back."""

    grid: Grid
    layout: Layout
    faults: Faults
    columns: dict[str, int]
    others: tuple[tuple[int, str], ...]
    marks: Marks

    def rows(self) -> list[Row]:
        """Return the rows under the headings, the first ``most_rows`` of them."""
        grid, body = self.grid, self.grid.rows[1:]
        if len(body) > self.layout.most_rows:
            self.fault(f"has {len(body)} rows", f"at most {self.layout.most_rows}")
        covered = self._covered()
        rows = []
        for number, cells in body[: self.layout.most_rows]:
            lost = covered.get(number, set())
            if grid.separator and max(cells, default=0) > grid.width:
                sign = {",": "comma", ";": "semicolon", "\t": "tab"}[grid.separator]
                found, expected = f"has {max(cells)} fields", f"{grid.width}, one under each heading"
                step = f"a value with a {sign} in it needs quotation marks round it"
                self.faults.error(grid.problem(grid.place(number), found, expected, step))
                lost = {*cells}
            rows.append(Row(self, number, {**cells, **dict.fromkeys(lost, Cell(kind="unread"))}))
        return rows

    def fault(self, found: str, expected: str, suggestion: str = "") -> None:
        """Report what is wrong with the whole sheet."""
        self.faults.error(self.grid.problem("", found, expected, suggestion))

    def _covered(self) -> dict[int, set[int]]:
        """Report merged ranges on columns that are read; return the columns of cells that lie under them, by row."""
        covered: dict[int, set[int]] = {}
        read = {*self.columns.values(), *(column for column, _ in self.others)}
        last = self.grid.rows[-1][0] if self.grid.rows else 0
        for top, left, bottom, right in self.grid.merged:
            columns = {column for column in read if left <= column <= right}
            if not columns or top > last:
                continue
            place, step = f"{letter(left)}{top}:{letter(right)}{bottom}", "unmerge them and fill in each cell"
            self.faults.error(self.grid.problem(place, "are merged cells", "a cell for each value", step))
            for row in range(top, min(bottom, last) + 1):
                covered.setdefault(row, set()).update(columns - {left} if row == top else columns)
        return covered


def table(grid: Grid, layout: Layout, faults: Faults, marks: Marks) -> Table:
    """Return the sheet under its headings; what is wrong with the headings goes to ``faults``."""
    known = {fold(heading): heading for heading in layout.headings}
    gone = {fold(heading): step for heading, step in layout.gone.items()}
    columns: dict[str, int] = {}
    others: dict[int, str] = {}
    for column, text in ((column, cell.text) for column, cell in grid.head.items() if not cell.empty):
        heading, place = known.get(fold(text)), grid.place(grid.rows[0][0], column)
        if heading and heading not in columns:
            columns[heading] = column
        elif heading:
            found, expected = "is a heading already", "each heading once"
            faults.error(grid.problem(place, found, expected, value=text))
        elif fold(text) in gone:
            faults.error(grid.problem(place, "is no longer read", "", gone[fold(text)], text))
        else:
            others[column] = text
    _report_headings(grid, layout, faults, columns, others)
    _report_hidden(grid, columns, faults)
    kept = tuple(others.items()) if layout.keeps else ()
    return Table(grid=grid, layout=layout, faults=faults, columns=columns, others=kept, marks=marks)


def _report_headings(
    grid: Grid, layout: Layout, faults: Faults, columns: dict[str, int], others: dict[int, str]
) -> None:
    """Report headings that are missing, that are not read, and values under none."""
    expected = f"the headings {', '.join(layout.required)}"
    if not grid.rows:
        faults.error(grid.problem("", "is empty", expected))
        return
    head, below = grid.rows[0][0], _headings_below(grid, layout)
    if not columns and not any(near(heading, others.values()) for heading in layout.required):
        part = "if they are there, separate the fields with commas, semicolons or tabs"
        step = part if grid.separator and len(others) == 1 else "put them above what you typed"
        found = f"has none of its headings in {'line' if grid.separator else 'row'} {head}"
        faults.error(grid.problem("", found, expected, below or step))
        return
    unread = dict(others)
    for heading in layout.required:
        if heading not in columns:
            spare = {text: column for column, text in unread.items()}
            likely, step = near(heading, spare), below
            if likely is not None:
                unread.pop(spare[likely])
                step = f"is “{likely}” ({grid.place(head, spare[likely])}) meant for it?"
            faults.error(grid.problem("", f"has no heading {heading}", expected, step))
    found = f"is a heading that is not read{'; the column is kept and shown back' if layout.keeps else ''}"
    free = [heading for heading in layout.optional if heading not in columns]
    for column, text in unread.items():
        faults.warning(grid.problem(grid.place(head, column), found, "", did_you_mean(text, free), text))
    headed = {column for column, cell in grid.head.items() if not cell.empty}
    for number, cells in grid.rows[1:]:
        for column, cell in cells.items():
            if not (cell.empty or column in headed or (grid.separator and column > grid.width)):
                headed.add(column)
                told, place = "has no heading over it, so the column is not read", grid.place(number, column)
                faults.warning(grid.problem(place, told, value=cell.text))


def _headings_below(grid: Grid, layout: Layout) -> str:
    """Return a hint where the headings stand not in the first row that holds something but soon after."""
    wanted = {fold(heading) for heading in layout.required}
    for number, cells in grid.rows[1:10]:
        if len(wanted & {fold(cell.text) for cell in cells.values()}) >= 2:
            word = "line" if grid.separator else "row"
            return f"{word} {number} looks like the headings: take out what stands above it"
    return ""


def _report_hidden(grid: Grid, columns: dict[str, int], faults: Faults) -> None:
    """Warn of rows and columns that are read though the spreadsheet hides them, and of a hidden sheet."""
    rows = tuple(number for number, _ in grid.rows if number in grid.hidden_rows)
    unseen = [heading for heading, column in columns.items() if column in grid.hidden_columns]
    few = f"row {rows[0]} is" if len(rows) == 1 else f"rows {numbers(rows)} are"
    for there, told in (
        (rows, f"{few} hidden, and read all the same"),
        (unseen, f"hides the column {', '.join(unseen)}, which is read all the same"),
        (grid.hidden, "is a hidden sheet, and read all the same"),
    ):
        if there:
            faults.warning(grid.problem("", told))
