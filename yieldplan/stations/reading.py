"""The sheets Run, Points and Obstacles read into runs that can be divided, or every problem in them at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import InputError
from yieldplan.model.words import fold
from yieldplan.stations.curve import lengths
from yieldplan.stations.division import MOST_STATIONS, Division, divide, fewest_spaces, frames, room
from yieldplan.stations.rows import BlankRows, blank_rows
from yieldplan.stations.run import Obstacle, Point, Run, Settings
from yieldplan.workbook import cells
from yieldplan.workbook.grid import Faults, numbers
from yieldplan.workbook.layouts import BLANKS, OBSTACLES, POINTS, RUN, SHOP, Layout
from yieldplan.workbook.shop_sheet import read_shop
from yieldplan.workbook.source import Wanted, open_source
from yieldplan.workbook.suggest import Names
from yieldplan.workbook.table import Row, Table, table

if TYPE_CHECKING:
    from fractions import Fraction

    from yieldplan.model import Problem

MOST_IN_ALL = 2000
"""Stations in all runs together."""

_SHEETS = Wanted(layouts=(RUN, POINTS, OBSTACLES, BLANKS, SHOP), required=(RUN,))
_YES_NO = {"yes": True, "y": True, "no": False, "n": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """What was read: the runs divided, the rows of Blanks that lengths go to, and what is questionable."""

    name: str
    sha256: str
    divisions: tuple[Division, ...]
    blanks: BlankRows
    settings: Settings
    warnings: tuple[Problem, ...] = ()


@dataclass(slots=True, kw_only=True)
class _Draft:
    """A run as far as it was read, with the rows that faults are named by."""

    run: Run
    row: Row
    points: list[tuple[Row, Point]]
    obstacles: list[Obstacle]
    all_points_read: bool = True


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
    shop, marks = read_shop(source.grids.get(SHOP.name), faults)

    def sheet(layout: Layout) -> Table | None:
        grid = source.grids.get(layout.name)
        return table(grid, layout, faults, marks) if grid and (grid.rows or layout is RUN) else None

    runs, points, obstacles, blanks = (sheet(layout) for layout in (RUN, POINTS, OBSTACLES, BLANKS))
    drafts = _read_runs(runs) if runs else {}
    _read_points(points, drafts)
    _read_obstacles(obstacles, drafts)
    rows = blank_rows(blanks, [(draft.row, draft.run.blank) for draft in drafts.values() if draft.run.blank])
    divisions = [division for draft in drafts.values() if (division := _divided(draft, linear)) is not None]
    if runs and (count := sum(len(division.stations) for division in divisions)) > MOST_IN_ALL:
        runs.too_much(f"has {count} stations in all", f"at most {MOST_IN_ALL}")
    if faults.errors:
        raise InputError((*faults.errors, *faults.warnings))
    return Survey(
        name=source.name,
        sha256=source.sha256,
        divisions=tuple(divisions),
        blanks=rows,
        settings=Settings(units=shop.units, mark=shop.mark),
        warnings=faults.warnings,
    )


def _read_runs(sheet: Table) -> dict[str, _Draft]:
    drafts: dict[str, _Draft] = {}
    rows = sheet.rows()
    if sheet.grid.rows and not rows:
        sheet.faults.error(sheet.grid.problem("", "has no row under its headings", "at least one run"))
    for row in rows:
        name = cells.name(row, "Run")
        if name and fold(name) in drafts:
            place = drafts[fold(name)].row.place("Run")
            row.fault("Run", f"is the name of another run ({place})", "a name of its own")
        drafts.setdefault(fold(name), _Draft(run=_run(row, name), row=row, points=[], obstacles=[]))
    return drafts


def _run(row: Row, name: str) -> Run:
    length = _above_nothing(row, "Length")
    clear_start, clear_end = _optional(row, "Clear start"), _optional(row, "Clear end")
    spacing, spaces = _spacing(row)
    run = Run(
        name=name,
        length=length,
        clear_start=clear_start,
        clear_end=clear_end,
        siding=cells.exact_length(row, "Siding", default=0),
        spacing=spacing,
        spaces=spaces,
        sides=cells.whole(row, "Sides", 1, 2, default=2, expected="1, or 2 for port and starboard"),
        allowance=cells.exact_length(row, "Allowance", default=0),
        blank="" if row.cell("Blank").empty else cells.name(row, "Blank"),
    )
    if row.good("Length", "Clear start", "Clear end", "Siding") and run.stretch <= run.siding:
        heading = next((h for h in ("Clear end", "Clear start") if not row.cell(h).empty), "Siding")
        row.fault(heading, "leaves nothing of the run to divide", f"less of its length, {_said(row, length)}")
    return run


def _spacing(row: Row) -> tuple[Fraction | None, int | None]:
    """Return the spacing or the number of spaces: exactly one of the two is to be given."""
    given = [heading for heading in ("Spacing", "Spaces") if not row.cell(heading).empty]
    if len(given) == 2:
        row.fault("Spaces", "is given besides Spacing", "one of the two", "empty the other cell")
        return None, None
    if not given:
        heading = "Spacing" if "Spacing" in row.table.columns else ""
        row.fault(
            heading,
            "is empty, and so is Spaces" if heading else "has neither Spacing nor Spaces",
            "the largest distance from frame to frame in Spacing, or how many spaces in Spaces",
        )
        return None, None
    if given == ["Spacing"]:
        return _above_nothing(row, "Spacing"), None
    spaces = cells.whole(row, "Spaces", 1, MOST_STATIONS)
    return None, spaces if row.good("Spaces") else None


def _optional(row: Row, heading: str) -> Fraction | None:
    return None if row.cell(heading).empty else cells.exact_length(row, heading)


def _above_nothing(row: Row, heading: str) -> Fraction:
    found = cells.exact_length(row, heading)
    if row.good(heading) and not found:
        row.fault(heading, "is no length at all", "a length above 0")
    return found


def _said(row: Row, length: Fraction | int) -> str:
    return write(round(length), row.unit)


def _named_run(row: Row, drafts: dict[str, _Draft], names: Names) -> _Draft | None:
    name = cells.name(row, "Run")
    draft = drafts.get(fold(name))
    if draft is None and row.good("Run"):
        row.fault("Run", "is not a run", "a name from the sheet Run", names.did_you_mean(name))
    return draft


def _read_points(sheet: Table | None, drafts: dict[str, _Draft]) -> None:
    """Give the runs their points; those of a run stand in order, from its start to its end."""
    names = Names(draft.run.name for draft in drafts.values())
    for row in sheet.rows() if sheet else ():
        draft = _named_run(row, drafts, names)
        at, measure = cells.exact_length(row, "At"), cells.exact_length(row, "Measure")
        if draft is None:
            continue
        if row.good("At"):
            _check_on_run(row, "At", at, draft)
        if row.good("At") and draft.points and at <= draft.points[-1][1].at:
            before, point = draft.points[-1]
            place = before.place("At")
            how = "is where the point before it is" if at == point.at else "lies before the point above it"
            row.fault(
                "At",
                f"{how} ({place})",
                f"above {_said(row, point.at)}",
                "put the points in order from the start",
            )
        if row.failed:
            draft.all_points_read = False
        else:
            draft.points.append((row, Point(at=at, measure=measure)))
    for draft in drafts.values():
        _check_points(draft)


def _check_on_run(row: Row, heading: str, place: Fraction, draft: _Draft) -> None:
    length = draft.run.length
    if draft.row.good("Length") and place > length:
        row.fault(heading, "lies beyond the end of the run", f"at most its length, {_said(row, length)}")


def _check_points(draft: _Draft) -> None:
    """Report a run with too few points for a curve, and warn of points that no batten goes through."""
    row, run = draft.row, draft.run
    if not draft.all_points_read:
        return
    if len(draft.points) == 1:
        only, _ = draft.points[0]
        only.fault("At", f"is the only point of the run {run.name}", "two points at least, better five")
    elif not draft.points and run.blank and row.good("Blank"):
        row.fault("Blank", "is to get its lengths from this run, which has no points", "rows on Points")
    for (_, one), (place, other) in zip(draft.points, draft.points[1:], strict=False):
        rise, away = abs(other.measure - one.measure), other.at - one.at
        if 2 * rise > away:
            place.warn(
                "Measure",
                f"differs by {_said(place, rise)} from the point before it, {_said(place, away)} away: no batten "
                "lies so steep",
                "check the figure, or measure at more points",
            )


def _read_obstacles(sheet: Table | None, drafts: dict[str, _Draft]) -> None:
    """Give the runs what stands in the way; a row without a run stands in the way of all."""
    names = Names(draft.run.name for draft in drafts.values())
    for row in sheet.rows() if sheet else ():
        every = row.cell("Run").empty and not row.unread("Run")
        draft = None if every else _named_run(row, drafts, names)
        obstacle = _obstacle(row)
        near = list(drafts.values()) if every else [draft] if draft else []
        if row.good("At") and near:
            nearest = max(near, key=lambda draft: draft.run.length)
            _check_on_run(row, "At", obstacle.start, nearest)
            if row.good("To", "At"):
                _check_on_run(row, "To" if not row.cell("To").empty else "At", obstacle.end, nearest)
        for draft in near:
            if not row.failed and obstacle.start <= draft.run.length:
                draft.obstacles.append(obstacle)
                _check_room(row, obstacle, draft)


def _obstacle(row: Row) -> Obstacle:
    start, clear = cells.exact_length(row, "At"), cells.exact_length(row, "Clear", default=0)
    end = start if row.cell("To").empty else cells.exact_length(row, "To")
    if row.good("At", "To") and end < start:
        row.fault("To", "lies before At", f"at least {_said(row, start)}", "exchange the two")
    if row.good("At", "To", "Clear") and end == start and not clear:
        row.fault("Clear", "is nothing, so nothing could be too near", "the room that a frame needs from it")
    word = fold(row.cell("Shift").text)
    if word and word not in _YES_NO:
        row.fault("Shift", "is neither yes nor no", "yes where a station on it is to be shifted")
    return Obstacle(
        name=cells.text(row, "Obstacle") or f"the obstacle at {_said(row, start)}",
        start=start,
        end=end,
        clear=clear,
        shift=_YES_NO.get(word, False),
    )


def _check_room(row: Row, obstacle: Obstacle, draft: _Draft) -> None:
    """Report an obstacle that leaves no room on the whole run."""
    run = draft.run
    if not draft.row.good("Length", "Clear start", "Clear end", "Siding"):
        return
    first, last = run.clear_start or 0, run.length - (run.clear_end or 0) - run.siding
    if obstacle.start - obstacle.clear - run.siding < first and obstacle.end + obstacle.clear > last:
        heading = "Clear" if obstacle.clear else "To"
        row.fault(
            heading,
            f"leaves no room for a frame on the whole run {run.name}",
            f"less of its length, {_said(row, run.length)}",
        )


def _divided(draft: _Draft, linear: bool) -> Division | None:
    """Return a run divided, if it could be read and its points reach all its stations."""
    row = draft.row
    if row.failed:
        return None
    run = replace(
        draft.run, points=tuple(point for _, point in draft.points), obstacles=tuple(draft.obstacles)
    )
    if not _check_spaces(row, run):
        return None
    division = divide(run)
    if draft.all_points_read and len(run.points) > 1 and _check_reach(draft, division):
        _check_lengths(row, division, linear)
    return division


def _check_spaces(row: Row, run: Run) -> bool:
    """Report a spacing that makes no frame, too many frames, or frames that have no room between them."""
    heading = "Spacing" if run.spacing is not None else "Spaces"
    stretch = _said(row, run.stretch)
    if run.spacing is not None and run.spacing > run.stretch:
        row.fault(heading, "is more than there is to divide", f"at most {stretch}")
        return False
    spaces = run.spaces or fewest_spaces(run, run.spacing or run.stretch)
    count = frames(run, spaces)
    if count < 1:
        row.fault(
            heading,
            f"makes one space of {stretch} and no frame",
            f"less than {stretch}" if heading == "Spacing" else "2 spaces or more",
            "or type in Clear start and Clear end where the first and the last frame stand",
        )
    elif count > MOST_STATIONS:
        row.fault(heading, f"makes {count} stations", f"at most {MOST_STATIONS}", "check the unit")
    elif room(run, spaces) <= 0:
        said = _said(row, run.siding)
        row.fault(
            heading, f"leaves no room between frames of {said} siding", "fewer frames, or a smaller siding"
        )
    return row.good(heading)


def _check_reach(draft: _Draft, division: Division) -> bool:
    """Report points that do not reach the first or the last station; a mark's rounding is let pass."""
    run, stations = division.run, division.stations
    (first, one), (last, other) = draft.points[0], draft.points[-1]
    begin = min(stations[0].exact, stations[0].mark if stations[0].shifted else stations[0].exact)
    end = max(stations[-1].exact, stations[-1].mark if stations[-1].shifted else stations[-1].exact)
    end += run.siding
    if one.at > begin:
        first.fault(
            "At", f"lies past the first station of {run.name}", f"a point at {_said(first, begin)} or before"
        )
    if other.at < end:
        last.fault(
            "At", f"lies before the last station of {run.name}", f"a point at {_said(last, end)} or past it"
        )
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
