"""What is said of a sheet's headings: those that are missing, that nobody reads, that stand elsewhere or not at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model.words import fold
from yieldplan.workbook.grid import letter, numbers
from yieldplan.workbook.suggest import near

if TYPE_CHECKING:
    from yieldplan.workbook.grid import Faults, Grid
    from yieldplan.workbook.layouts import Layout


def head_place(grid: Grid, column: int) -> str:
    """Return where a heading stands, as :class:`Problem` has it."""
    row = grid.rows[0][0]
    return f"line {row}" if grid.separator else f"{letter(column)}{row}"


def report_headless(
    grid: Grid, layout: Layout, faults: Faults, columns: dict[str, int], unknown: dict[int, str]
) -> bool:
    """Report once a sheet whose first row holds nothing like its headings; return whether it has some."""
    if columns or not grid.rows or any(near(heading, unknown.values()) for heading in layout.required):
        return True
    step = _headings_below(grid, layout)
    if not step:
        step = (
            "if they are there, part the fields by commas, semicolons or tabs"
            if grid.separator and len(unknown) == 1
            else "put them above what you typed"
        )
    found = f"has none of its headings in {'line' if grid.separator else 'row'} {grid.rows[0][0]}"
    faults.error(grid.problem("", found, f"the headings {', '.join(layout.required)}", step))
    return False


def report_missing(
    grid: Grid, layout: Layout, faults: Faults, columns: dict[str, int], unknown: dict[int, str]
) -> set[int]:
    """Report required headings that are missing; return the columns that were probably meant for them."""
    meant: set[int] = set()
    headings = f"the headings {', '.join(layout.required)}"
    if not grid.rows:
        faults.error(grid.problem("", "is empty", headings))
        return meant
    for heading in layout.required:
        if heading in columns:
            continue
        spare = {text: column for column, text in unknown.items() if column not in meant}
        likely = near(heading, spare)
        suggestion = _headings_below(grid, layout)
        if likely is not None:
            meant.add(spare[likely])
            suggestion = f"is “{likely}” ({head_place(grid, spare[likely])}) meant for it?"
        faults.error(grid.problem("", f"has no heading {heading}", headings, suggestion))
    return meant


def _headings_below(grid: Grid, layout: Layout) -> str:
    """Return a hint where the headings stand not in the first row that holds something but soon after."""
    wanted = {fold(heading) for heading in layout.required}
    for number, cells in grid.rows[1:10]:
        if len(wanted & {fold(cell.text) for cell in cells.values()}) >= 2:
            word = "line" if grid.separator else "row"
            return f"{word} {number} looks like the headings: take out what stands above it"
    return ""


def report_unheaded(grid: Grid, heads: dict[int, str], faults: Faults) -> None:
    """Warn of columns with values but no heading (a csv line that is too long is an error of its own)."""
    seen = set(heads)
    for number, cells in grid.rows[1:]:
        for column, cell in cells.items():
            if cell.empty or column in seen or (grid.separator and column > grid.width):
                continue
            seen.add(column)
            place = f"line {number}" if grid.separator else f"{letter(column)}{number}"
            faults.warning(
                grid.problem(place, "has no heading over it, so the column is not read", value=cell.text)
            )


def report_hidden(grid: Grid, columns: dict[str, int], faults: Faults) -> None:
    """Warn of rows and columns that are read though the spreadsheet hides them, and of a hidden sheet."""
    rows = tuple(number for number, _ in grid.rows if number in grid.hidden_rows)
    if rows:
        few = f"row {rows[0]} is" if len(rows) == 1 else f"rows {numbers(rows)} are"
        faults.warning(grid.problem("", f"{few} hidden, and read all the same"))
    unseen = [heading for heading, column in columns.items() if column in grid.hidden_columns]
    if unseen:
        faults.warning(grid.problem("", f"hides the column {', '.join(unseen)}, which is read all the same"))
    if grid.hidden:
        faults.warning(grid.problem("", "is a hidden sheet, and read all the same"))
