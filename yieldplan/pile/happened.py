"""What happened, as it was written down: the sheet of the cutting order, or its csv, filled in where it differs.

Read cell by cell here; whether the rows agree with each other, :mod:`yieldplan.pile.agreement` says.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, NoReturn

from yieldplan.model import InputError, Problem
from yieldplan.model.pieces import HAPPENED, HAPPENED_CSV, HAPPENED_SHEET
from yieldplan.model.words import fold
from yieldplan.pile.entries import Reader
from yieldplan.workbook.csvfolder import grid_of_csv
from yieldplan.workbook.grid import Marks
from yieldplan.workbook.layouts import Layout
from yieldplan.workbook.source import MOST_BYTES
from yieldplan.workbook.table import table
from yieldplan.workbook.xlsx import grids_of_workbook

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from yieldplan.model import Job
    from yieldplan.model.pieces import Piece
    from yieldplan.pile.entries import Entry
    from yieldplan.workbook.grid import Faults, Grid

_LAYOUT = Layout(
    name=HAPPENED_SHEET,
    required=("Piece", "Outcome"),
    optional=HAPPENED[1:2] + HAPPENED[3:],
    most_rows=200_000,
)
_PLAN = re.compile(r"\bplan ([0-9a-f]{8})\b")


def read_entries(
    path: Path, job: Job, found: Sequence[Piece], fingerprint: str, faults: Faults
) -> dict[str, Entry]:
    """Return what the rows say, by the name of their piece; what is wrong with any goes to ``faults``.

    Parameters
    ----------
    path
        The order's workbook, or its csv file.
    job, found, fingerprint
        The input, the plan's pieces, and the first eight hex digits of the plan file's sha256.

    Raises
    ------
    InputError
        If there is no such sheet to be read at all.
    """
    grids = _grids(path, faults)
    sheet = next((grid for grid in grids if not grid.sheet or fold(grid.sheet) == fold(HAPPENED_SHEET)), None)
    if sheet is None:
        if not faults.errors:
            have = ", ".join(grid.sheet for grid in grids) or "none"
            _stop(path, f"has no sheet {HAPPENED_SHEET}", "the order's workbook or csv", f"it has {have}")
        raise InputError(faults.errors)
    _check_plan(path, grids, fingerprint)
    known = table(_from_headings(sheet), _LAYOUT, faults, Marks(unit=job.shop.units, mark=job.shop.mark))
    reader = Reader(job, found, fingerprint)
    entries = (reader.read(row) for row in known.rows())
    return {entry.piece.name: entry for entry in entries if entry is not None}


def _grids(path: Path, faults: Faults) -> list[Grid]:
    if path.is_dir():
        inside = next((name for name in ("cutting-order.xlsx", HAPPENED_CSV) if (path / name).is_file()), "")
        _stop(path, "is a folder", "cutting-order.xlsx or its csv", f"name {inside} in it" if inside else "")
    try:
        data = path.read_bytes()
    except OSError as error:
        _stop(
            path, f"cannot be read: {(error.strerror or str(error)).lower()}", "cutting-order.xlsx or its csv"
        )
    if len(data) > MOST_BYTES:
        _stop(path, "is larger than 50 MB", "cutting-order.xlsx or its csv")
    if path.suffix.lower() == ".csv":
        grid = grid_of_csv(data, path.name, HAPPENED, faults)
        return [] if grid is None else [grid]
    return grids_of_workbook(data, path.name)


def _stop(path: Path, found: str, expected: str = "", suggestion: str = "") -> NoReturn:
    raise InputError(
        (Problem(file=path.name, found=found, expected=expected, suggestion=suggestion),)
    ) from None


def _check_plan(path: Path, grids: Sequence[Grid], fingerprint: str) -> None:
    """Raise if the file says of itself that it belongs to another plan."""
    cells_seen = (cell.text for grid in grids for _, row in grid.rows for cell in row.values())
    named = {plan for text in cells_seen for plan in _PLAN.findall(text)}
    if named and fingerprint not in named:
        _stop(
            path,
            f"is of plan {min(named)}, and the plan file given is {fingerprint}",
            "what happened with this plan",
            "name the plan.json that lies beside it",
        )


def _from_headings(grid: Grid) -> Grid:
    """Return the sheet from its headings on, whatever sentences stand above them."""
    for at, (_, row) in enumerate(grid.rows[:20]):
        if {fold("Piece"), fold("Outcome")} <= {fold(cell.text) for cell in row.values()}:
            return replace(grid, rows=grid.rows[at:])
    return grid
