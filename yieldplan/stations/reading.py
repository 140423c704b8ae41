"""The sheets Run, Points and Obstacles read into runs that can be divided, or every problem in them at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from yieldplan.model import InputError
from yieldplan.stations.curve import lengths
from yieldplan.stations.division import MOST_STATIONS, Division, divide, fewest_spaces, frames, room
from yieldplan.stations.rows import BlankRows, blank_rows
from yieldplan.stations.sheets import Draft, read_obstacles, read_points, read_runs, said
from yieldplan.workbook.grid import Faults, numbers
from yieldplan.workbook.layouts import BLANKS, OBSTACLES, POINTS, RUN, SHOP, Layout
from yieldplan.workbook.shop_sheet import read_shop
from yieldplan.workbook.source import Wanted, open_source
from yieldplan.workbook.table import Row, Table, table

if TYPE_CHECKING:
    from yieldplan.model import Problem
    from yieldplan.stations.run import Run
    from yieldplan.workbook.grid import Marks

MOST_IN_ALL = 2000
"""Stations in all runs together."""

_SHEETS = Wanted(
    layouts=(RUN, POINTS, OBSTACLES, BLANKS, SHOP),
    required=(RUN,),
    hint="yieldplan guide stations says what is on it",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """What was read: the runs divided, the rows of Blanks that lengths go to, and what is questionable.

    ``linear``: lengths lie on straight lines from point to point.
    """

    name: str
    sha256: str
    divisions: tuple[Division, ...]
    blanks: BlankRows
    marks: Marks
    linear: bool = False
    warnings: tuple[Problem, ...] = ()


def read_survey(path: str | Path, *, linear: bool = False) -> Survey:
    """Return the runs of a workbook or of a folder of csv files, each divided into its spaces.

    Offcuts and defects are not read: stations can be set out before the pile is measured. With ``linear`` the lengths
    lie on straight lines from point to point.

    Raises
    ------
    InputError
        With every problem of these sheets, the questionable things behind them.
    """
    faults = Faults()
    source = open_source(Path(path), faults, _SHEETS)
    _, marks, _ = read_shop(source.grids.get(SHOP.name), faults)

    def sheet(layout: Layout) -> Table | None:
        grid = source.grids.get(layout.name)
        return table(grid, layout, faults, marks) if grid and (grid.rows or layout is RUN) else None

    runs, points, obstacles, blanks = (sheet(layout) for layout in (RUN, POINTS, OBSTACLES, BLANKS))
    drafts = read_runs(runs) if runs else {}
    read_points(points, drafts)
    read_obstacles(obstacles, drafts)
    rows = blank_rows(blanks, [(draft.row, draft.run.blank) for draft in drafts.values() if draft.run.blank])
    divisions = [division for draft in drafts.values() if (division := _divided(draft, linear)) is not None]
    if runs and (count := sum(len(division.stations) for division in divisions)) > MOST_IN_ALL:
        runs.fault(f"has {count} stations in all", f"at most {MOST_IN_ALL}")
    if faults.errors:
        raise InputError((*faults.errors, *faults.warnings))
    return Survey(
        name=source.name,
        sha256=source.sha256,
        divisions=tuple(divisions),
        blanks=rows,
        marks=marks,
        linear=linear,
        warnings=faults.warnings,
    )


def _divided(draft: Draft, linear: bool) -> Division | None:
    """Return a run divided, if it could be read and its points reach all its stations."""
    row = draft.row
    if row.failed:
        return None
    points = tuple(point for _, point in draft.points)
    run = replace(draft.run, points=points, obstacles=tuple(draft.obstacles))
    if not _check_spaces(row, run):
        return None
    division = divide(run)
    if draft.all_points_read and len(run.points) > 1 and _check_reach(draft, division):
        _check_lengths(row, division, linear)
    return division


def _check_spaces(row: Row, run: Run) -> bool:
    """Report a spacing that makes no frame, too many frames, or frames that have no room between them."""
    heading = "Spacing" if run.spacing is not None else "Spaces"
    stretch = said(row, run.stretch)
    if run.spacing is not None and run.spacing > run.stretch:
        row.fault(heading, "is more than there is to divide", f"at most {stretch}")
        return False
    spaces = run.spaces or fewest_spaces(run, run.spacing or run.stretch)
    count = frames(run, spaces)
    if count < 1:
        expected = f"less than {stretch}" if heading == "Spacing" else "2 spaces or more"
        hint = "or type in From start and From end where the first and the last frame stand"
        row.fault(heading, f"makes one space of {stretch} and no frame", expected, hint)
    elif count > MOST_STATIONS:
        row.fault(heading, f"makes {count} stations", f"at most {MOST_STATIONS}", "check the unit")
    elif room(run, spaces) <= 0:
        found = f"leaves no room between frames of {said(row, run.siding)} siding"
        row.fault(heading, found, "fewer frames, or a smaller siding")
    return row.good(heading)


def _check_reach(draft: Draft, division: Division) -> bool:
    """Report points that do not reach the first or the last station; a mark's rounding is let pass."""
    run, stations = division.run, division.stations
    (first, one), (last, other) = draft.points[0], draft.points[-1]
    places = [place for one in stations for place in (one.exact, one.mark if one.shifted else one.exact)]
    begin, end = min(places), max(places) + run.siding
    if one.at > begin:
        expected = f"a point at {said(first, begin)} or before"
        first.fault("At", f"lies past the first station of {run.name}", expected)
    if other.at < end:
        expected = f"a point at {said(last, end)} or past it"
        last.fault("At", f"lies before the last station of {run.name}", expected)
    return one.at <= begin and other.at >= end


def _check_lengths(row: Row, division: Division, linear: bool) -> None:
    """Report a curve that falls to nothing at a station."""
    found = lengths(division, linear=linear)
    bare = [place.number for place, length in zip(division.stations, found, strict=True) if length <= 0]
    if bare:
        stations = f"station {bare[0]}" if len(bare) == 1 else f"stations {numbers(tuple(bare))}"
        row.fault(
            "Run",
            f"has no length left at {stations}: the curve through its points falls to 0 or below there",
            "lengths above 0",
            "check its points, or measure at more of them",
        )
