"""The sheets Run, Points and Obstacles read into runs that can be divided, or every problem in them at once.

Each row is read as far as it can be, and checked against its run.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import InputError
from yieldplan.model.words import fold
from yieldplan.stations.division import MOST_STATIONS, Division, Obstacle, Point, Run, Survey, divide, lengths
from yieldplan.stations.tape import blank_rows
from yieldplan.workbook import cells
from yieldplan.workbook.grid import Faults, numbers
from yieldplan.workbook.layouts import BLANKS, OBSTACLES, POINTS, RUN, SHOP, Layout
from yieldplan.workbook.shop_sheet import read_shop
from yieldplan.workbook.source import Wanted, open_source
from yieldplan.workbook.suggest import Names
from yieldplan.workbook.table import Row, Table, table

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction


MOST_IN_ALL = 2000
"""Stations in all runs together."""

_SHEETS = Wanted(
    layouts=(RUN, POINTS, OBSTACLES, BLANKS, SHOP),
    required=(RUN,),
    hint="yieldplan guide stations says what is on it",
)


@dataclass(slots=True, kw_only=True)
class _Draft:
    """A run as far as it was read, with the rows that faults are named by."""

    run: Run
    row: Row
    points: list[tuple[Row, Point]] = field(default_factory=list)
    obstacles: list[Obstacle] = field(default_factory=list)
    all_points_read: bool = True


def read_survey(path: str | Path, *, linear: bool = False) -> Survey:
    """Return the runs of a workbook or of a folder of csv files, each divided into its spaces.

    Offcuts and defects are not read: stations can be set out before the pile is measured. With ``linear`` the lengths
    lie on straight lines from point to point.

    Raises InputError with every problem of these sheets, the questionable things behind them.
    """
    faults = Faults()
    source = open_source(Path(path), faults, _SHEETS)
    _, marks, _ = read_shop(source.grids.get(SHOP.name), faults)

    def sheet(layout: Layout) -> Table | None:
        grid = source.grids.get(layout.name)
        return table(grid, layout, faults, marks) if grid and (grid.rows or layout is RUN) else None

    runs, points, obstacles, blanks = (sheet(layout) for layout in (RUN, POINTS, OBSTACLES, BLANKS))
    drafts = _read_runs(runs) if runs else {}
    names = Names(draft.run.name for draft in drafts.values())
    _read_points(points.rows() if points else (), drafts, names)
    _read_obstacles(obstacles.rows() if obstacles else (), drafts, names)
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


def _read_runs(sheet: Table) -> dict[str, _Draft]:
    """Return the runs by folded name, without points and obstacles yet."""
    drafts: dict[str, _Draft] = {}
    first: dict[str, Row] = {}
    rows = sheet.rows()
    if sheet.grid.rows and not rows:
        sheet.fault("has no row under its headings", "at least one run")
    for row in rows:
        name = cells.own_name(row, "Run", "run", first)
        drafts.setdefault(fold(name), _Draft(run=_run(row, name), row=row))
    return drafts


def _run(row: Row, name: str) -> Run:
    length = cells.exact_length(row, "Length", above_nothing=True)
    parts = {
        heading: cells.exact_length(row, heading, default=0)
        for heading in ("Siding", "From start", "From end", "Allowance")
    }
    from_start, from_end = (
        None if row.cell(heading).empty else parts[heading] for heading in ("From start", "From end")
    )
    spacing, spaces = _spacing(row)
    run = Run(
        name=name,
        length=length,
        from_start=from_start,
        from_end=from_end,
        siding=parts["Siding"],
        spacing=spacing,
        spaces=spaces,
        sides=cells.whole(row, "Sides", 1, 2, default=2, expected="1, or 2 for port and starboard"),
        allowance=parts.pop("Allowance"),
        blank="" if row.cell("Blank").empty else cells.name(row, "Blank"),
    )
    if row.good("Length", *parts) and run.stretch <= run.siding:
        expected = f"less, the run being {_said(row, length)} long"
        row.fault(max(parts, key=parts.__getitem__), "leaves nothing of the run to divide", expected)
    return run


def _spacing(row: Row) -> tuple[Fraction | None, int | None]:
    """Return the spacing or the number of spaces: exactly one of the two is to be given."""
    given = [heading for heading in ("Spacing", "Spaces") if not row.cell(heading).empty]
    if len(given) == 2:
        row.fault("Spaces", "is given as well as Spacing", "one of the two", "empty the other cell")
    elif given == ["Spacing"]:
        return cells.exact_length(row, "Spacing", above_nothing=True), None
    elif given:
        spaces = cells.whole(row, "Spaces", 1, MOST_STATIONS)
        return None, spaces if row.good("Spaces") else None
    else:
        heading = "Spacing" if "Spacing" in row.table.columns else ""
        found = "is empty, and so is Spaces" if heading else "has neither Spacing nor Spaces"
        expected = "the largest distance from frame to frame in Spacing, or how many spaces in Spaces"
        row.fault(heading, found, expected)
    return None, None


def _said(row: Row, length: Fraction | int) -> str:
    """Return a length as it is said beside a cell: to the step."""
    return write(round(length), row.unit)


def _named_run(row: Row, drafts: dict[str, _Draft], names: Names) -> _Draft | None:
    name = cells.name(row, "Run")
    draft = drafts.get(fold(name))
    known = drafts and all(other.row.good("Run") for other in drafts.values())
    if draft is None and known and row.good("Run"):
        row.fault("Run", "is not a run", "a name from the sheet Run", names.did_you_mean(name))
    return draft


def _read_points(rows: Sequence[Row], drafts: dict[str, _Draft], names: Names) -> None:
    """Give the runs their points; those of a run stand in order, from its start to its end."""
    for row in rows:
        draft = _named_run(row, drafts, names)
        at, measure = _place(row, "At", [draft] if draft else []), cells.exact_length(row, "Measure")
        if draft is None:
            continue
        before, last = draft.points[-1] if draft.points else (row, None)
        if row.good("At") and last is not None and at <= last.at:
            how = "is where the point before it is" if at == last.at else "lies before the point above it"
            found, hint = f"{how} ({before.place('At')})", "put the points in order from the start"
            row.fault("At", found, f"above {_said(row, last.at)}", hint)
        if row.failed:
            draft.all_points_read = False
        else:
            draft.points.append((row, Point(at=at, measure=measure)))
    for draft in drafts.values():
        if draft.all_points_read:
            _check_points(draft)


def _place(row: Row, heading: str, near: Sequence[_Draft]) -> Fraction:
    """Return a place; report one that lies beyond the end of all runs that it is of."""
    place = cells.exact_length(row, heading)
    length = max((draft.run.length for draft in near if draft.row.good("Length")), default=place)
    if row.good(heading) and place > length:
        row.fault(heading, "lies beyond the end of the run", f"at most its length, {_said(row, length)}")
    return place


def _check_points(draft: _Draft) -> None:
    """Report a run with too few points for a curve, and warn of points that no batten goes through."""
    row, run = draft.row, draft.run
    if len(draft.points) == 1:
        found = f"is the only point of the run {run.name}"
        draft.points[0][0].fault("At", found, "two points at least; five are better")
    elif not draft.points and run.blank and row.good("Run", "Blank"):
        row.fault("Blank", "is to get its lengths from this run, which has no points", "rows on Points")
    for (_, one), (place, other) in pairwise(draft.points):
        rise, away = abs(other.measure - one.measure), other.at - one.at
        if 2 * rise > away:
            apart = f"{_said(place, rise)} from the point before it, {_said(place, away)} away"
            hint = "check the figure, or take the lengths near it off the boat"
            place.warn("Measure", f"differs by {apart}: too steep for a batten to lie fair", hint)


def _read_obstacles(rows: Sequence[Row], drafts: dict[str, _Draft], names: Names) -> None:
    """Give the runs what stands in the way; a row without a run stands in the way of all."""
    for row in rows:
        every = row.cell("Run").empty and not row.unread("Run")
        draft = None if every else _named_run(row, drafts, names)
        near = list(drafts.values()) if every else [draft] if draft else []
        obstacle = _obstacle(row, near)
        for draft in near:
            if not row.failed and obstacle.start <= draft.run.length:
                draft.obstacles.append(obstacle)
                _check_clear(row, obstacle, draft)


def _obstacle(row: Row, near: Sequence[_Draft]) -> Obstacle:
    start, clear = _place(row, "At", near), cells.exact_length(row, "Clear", default=0)
    end = start if row.cell("To").empty else _place(row, "To", near)
    if row.good("At", "To") and end < start:
        row.fault("To", "lies before At", f"at least {_said(row, start)}", "swap the two")
    if row.good("At", "To", "Clear") and end == start and not clear:
        row.fault(
            "Clear", "is nothing, so no frame could be too near it", "the room that a frame needs from it"
        )
    shift = cells.yes(row, "Shift", "yes where a station on it is to be shifted")
    name = cells.text(row, "Obstacle") or "the obstacle"
    return Obstacle(name=name, start=start, end=end, clear=clear, shift=shift)


def _check_clear(row: Row, obstacle: Obstacle, draft: _Draft) -> None:
    """Report an obstacle that leaves no room on the whole run."""
    run = draft.run
    if not draft.row.good("Length", "From start", "From end", "Siding"):
        return
    first, last = run.from_start or 0, run.length - (run.from_end or 0) - run.siding
    if obstacle.start - obstacle.clear - run.siding < first and obstacle.end + obstacle.clear > last:
        heading = "To" if obstacle.end - obstacle.start > 2 * obstacle.clear else "Clear"
        found = f"leaves no room for a frame anywhere on the run {run.name}"
        row.fault(heading, found, f"less, the run being {_said(row, run.length)} long")


def _divided(draft: _Draft, linear: bool) -> Division | None:
    """Return a run divided, if it could be read and its points reach all its stations."""
    row = draft.row
    if row.failed:
        return None
    points = tuple(point for _, point in draft.points)
    run = replace(draft.run, points=points, obstacles=tuple(draft.obstacles))
    if not _check_spaces(row, run):
        return None
    division = divide(run)
    if draft.all_points_read and len(points) > 1 and _check_reach(draft, division):
        found = zip(division.stations, lengths(division, linear=linear), strict=True)
        stations = tuple(replace(station, length=length) for station, length in found)
        division = replace(division, stations=stations)
        bare = [place.number for place in stations if place.length is not None and place.length <= 0]
        if bare:
            at = f"station {bare[0]}" if len(bare) == 1 else f"stations {numbers(tuple(bare))}"
            none = f"has no length left at {at}: the curve through its points falls to 0 or below there"
            row.fault("Run", none, "lengths above 0", "check its points, or measure at more of them")
    return division


def _check_spaces(row: Row, run: Run) -> bool:
    """Report a spacing that makes no frame, too many frames, or frames that have no room between them."""
    heading, stretch = "Spacing" if run.spacing is not None else "Spaces", _said(row, run.stretch)
    if run.spacing is not None and run.spacing > run.stretch:
        row.fault(heading, "is more than there is to divide", f"at most {stretch}")
    elif (count := run.frames(run.wanted)) < 1:
        expected = f"less than {stretch}" if heading == "Spacing" else "2 spaces or more"
        hint = "or type in From start and From end where the first and the last frame stand"
        row.fault(heading, f"makes one space of {stretch} and no frame", expected, hint)
    elif count > MOST_STATIONS:
        row.fault(heading, f"makes {count} stations", f"at most {MOST_STATIONS}", "check the unit")
    elif run.room(run.wanted) <= 0:
        found = f"leaves no room between frames of {_said(row, run.siding)} siding"
        row.fault(heading, found, "fewer frames, or a smaller siding")
    return row.good(heading)


def _check_reach(draft: _Draft, division: Division) -> bool:
    """Report points that do not reach the first or the last station; a mark's rounding is let pass."""
    run, stations = division.run, division.stations
    (first, one), (last, other) = draft.points[0], draft.points[-1]
    places = [place for one in stations for place in (one.exact, one.mark if one.shifted else one.exact)]
    begin, end = min(places), max(places) + run.siding
    if one.at > begin:
        expected = f"a point at {_said(first, begin)} or before"
        first.fault("At", f"lies past the first station of {run.name}", expected)
    if other.at < end:
        expected = f"a point at {_said(last, end)} or past it"
        last.fault("At", f"lies before the last station of {run.name}", expected)
    return one.at <= begin and other.at >= end
