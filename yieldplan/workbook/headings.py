"""What is said of a sheet's headings: those that are missing, that nobody reads, that stand elsewhere or not at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model.words import fold
from yieldplan.workbook.grid import letter, numbers
from yieldplan.workbook.suggest import did_you_mean, near

if TYPE_CHECKING:
    from yieldplan.workbook.grid import Faults, Grid
    from yieldplan.workbook.layouts import Layout


def read_headings(grid: Grid, layout: Layout, faults: Faults) -> tuple[dict[str, int], dict[int, str]]:
    """Return the columns of the headings that are read, and the others by column; ``faults`` takes what is wrong."""
    heads = {column: cell.text for column, cell in grid.head.items() if not cell.empty}
    known = {fold(heading): heading for heading in layout.headings}
    columns: dict[str, int] = {}
    others: dict[int, str] = {}
    for column, text in heads.items():
        heading = known.get(fold(text))
        if heading and heading not in columns:
            columns[heading] = column
        elif heading:
            found, expected = "is a heading for the second time", "each heading once"
            faults.error(grid.problem(_place(grid, column), found, expected, value=text))
        elif told := next((step for gone, step in layout.gone.items() if fold(gone) == fold(text)), ""):
            faults.error(grid.problem(_place(grid, column), "is no longer read", "", told, text))
        else:
            others[column] = text
    if not columns and grid.rows and not any(near(heading, others.values()) for heading in layout.required):
        _report_headless(grid, layout, faults, len(others))
    else:
        meant = _report_missing(grid, layout, faults, columns, others)
        kept = "; the column is kept and shown back" if layout.keeps else ""
        spare = [heading for heading in layout.optional if heading not in columns]
        for column in (column for column in others if column not in meant):
            found, step = f"is a heading that is not read{kept}", did_you_mean(others[column], spare)
            faults.warning(grid.problem(_place(grid, column), found, "", step, others[column]))
        _report_unheaded(grid, set(heads), faults)
    _report_hidden(grid, columns, faults)
    return columns, others


def _place(grid: Grid, column: int, row: int = 0) -> str:
    """Return where a heading stands, or what is under it, as :class:`Problem` has it."""
    row = row or grid.rows[0][0]
    return f"line {row}" if grid.separator else f"{letter(column)}{row}"


def _report_headless(grid: Grid, layout: Layout, faults: Faults, count: int) -> None:
    """Report once a sheet whose first row holds nothing like its headings."""
    step = _headings_below(grid, layout)
    if not step:
        step = (
            "if they are there, part the fields by commas, semicolons or tabs"
            if grid.separator and count == 1
            else "put them above what you typed"
        )
    found = f"has none of its headings in {'line' if grid.separator else 'row'} {grid.rows[0][0]}"
    faults.error(grid.problem("", found, f"the headings {', '.join(layout.required)}", step))


def _report_missing(
    grid: Grid, layout: Layout, faults: Faults, columns: dict[str, int], others: dict[int, str]
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
        spare = {text: column for column, text in others.items() if column not in meant}
        likely = near(heading, spare)
        suggestion = _headings_below(grid, layout)
        if likely is not None:
            meant.add(spare[likely])
            suggestion = f"is “{likely}” ({_place(grid, spare[likely])}) meant for it?"
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


def _report_unheaded(grid: Grid, seen: set[int], faults: Faults) -> None:
    """Warn of columns with values but no heading (a csv line that is too long is an error of its own)."""
    for number, cells in grid.rows[1:]:
        for column, cell in cells.items():
            if not cell.empty and column not in seen and not (grid.separator and column > grid.width):
                seen.add(column)
                found = "has no heading over it, so the column is not read"
                faults.warning(grid.problem(_place(grid, column, number), found, value=cell.text))


def _report_hidden(grid: Grid, columns: dict[str, int], faults: Faults) -> None:
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
