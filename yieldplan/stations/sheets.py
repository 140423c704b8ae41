"""The rows of Run, Points and Obstacles, each read as far as it can be and checked against its run."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model.words import fold
from yieldplan.stations.division import MOST_STATIONS
from yieldplan.stations.run import Obstacle, Point, Run
from yieldplan.workbook import cells
from yieldplan.workbook.suggest import Names

if TYPE_CHECKING:
    from fractions import Fraction

    from yieldplan.workbook.table import Row, Table


@dataclass(slots=True, kw_only=True)
class Draft:
    """A run as far as it was read, with the rows that faults are named by."""

    run: Run
    row: Row
    points: list[tuple[Row, Point]]
    obstacles: list[Obstacle]
    all_points_read: bool = True


def read_runs(sheet: Table) -> dict[str, Draft]:
    """Return the runs by folded name, without points and obstacles yet."""
    drafts: dict[str, Draft] = {}
    first: dict[str, Row] = {}
    rows = sheet.rows()
    if sheet.grid.rows and not rows:
        sheet.faults.error(sheet.grid.problem("", "has no row under its headings", "at least one run"))
    for row in rows:
        name = cells.own_name(row, "Run", "run", first)
        drafts.setdefault(fold(name), Draft(run=_run(row, name), row=row, points=[], obstacles=[]))
    return drafts


def _run(row: Row, name: str) -> Run:
    length = cells.exact_length(row, "Length", above_nothing=True)
    from_start, from_end = (
        None if row.cell(heading).empty else cells.exact_length(row, heading)
        for heading in ("From start", "From end")
    )
    spacing, spaces = _spacing(row)
    run = Run(
        name=name,
        length=length,
        from_start=from_start,
        from_end=from_end,
        siding=cells.exact_length(row, "Siding", default=0),
        spacing=spacing,
        spaces=spaces,
        sides=cells.whole(row, "Sides", 1, 2, default=2, expected="1, or 2 for port and starboard"),
        allowance=cells.exact_length(row, "Allowance", default=0),
        blank="" if row.cell("Blank").empty else cells.name(row, "Blank"),
    )
    if row.good("Length", "From start", "From end", "Siding") and run.stretch <= run.siding:
        parts = {"Siding": run.siding, "From start": from_start or 0, "From end": from_end or 0}
        heading = max(parts, key=lambda heading: parts[heading])
        expected = f"less, the run being {said(row, length)} long"
        row.fault(heading, "leaves nothing of the run to divide", expected)
    return run


def _spacing(row: Row) -> tuple[Fraction | None, int | None]:
    """Return the spacing or the number of spaces: exactly one of the two is to be given."""
    given = [heading for heading in ("Spacing", "Spaces") if not row.cell(heading).empty]
    if len(given) == 2:
        row.fault("Spaces", "is given as well as Spacing", "one of the two", "empty the other cell")
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
        return cells.exact_length(row, "Spacing", above_nothing=True), None
    spaces = cells.whole(row, "Spaces", 1, MOST_STATIONS)
    return None, spaces if row.good("Spaces") else None


def said(row: Row, length: Fraction | int) -> str:
    """Return a length as it is said beside a cell: to the step."""
    return write(round(length), row.unit)


def _named_run(row: Row, drafts: dict[str, Draft], names: Names) -> Draft | None:
    name = cells.name(row, "Run")
    draft = drafts.get(fold(name))
    known = drafts and all(other.row.good("Run") for other in drafts.values())
    if draft is None and known and row.good("Run"):
        row.fault("Run", "is not a run", "a name from the sheet Run", names.did_you_mean(name))
    return draft


def read_points(sheet: Table | None, drafts: dict[str, Draft]) -> None:
    """Give the runs their points; those of a run stand in order, from its start to its end."""
    names = Names(draft.run.name for draft in drafts.values())
    for row in sheet.rows() if sheet else ():
        draft = _named_run(row, drafts, names)
        at, measure = cells.exact_length(row, "At"), cells.exact_length(row, "Measure")
        if draft is None:
            continue
        _check_on_run(row, "At", at, draft)
        before, last = draft.points[-1] if draft.points else (row, None)
        if row.good("At") and last is not None and at <= last.at:
            how = "is where the point before it is" if at == last.at else "lies before the point above it"
            found, hint = f"{how} ({before.place('At')})", "put the points in order from the start"
            row.fault("At", found, f"above {said(row, last.at)}", hint)
        if row.failed:
            draft.all_points_read = False
        else:
            draft.points.append((row, Point(at=at, measure=measure)))
    for draft in drafts.values():
        _check_points(draft)


def _check_on_run(row: Row, heading: str, place: Fraction, draft: Draft) -> None:
    length = draft.run.length
    if row.good(heading) and draft.row.good("Length") and place > length:
        row.fault(heading, "lies beyond the end of the run", f"at most its length, {said(row, length)}")


def _check_points(draft: Draft) -> None:
    """Report a run with too few points for a curve, and warn of points that no batten goes through."""
    row, run = draft.row, draft.run
    if not draft.all_points_read:
        return
    if len(draft.points) == 1:
        only, _ = draft.points[0]
        only.fault("At", f"is the only point of the run {run.name}", "two points at least, better five")
    elif not draft.points and run.blank and row.good("Run", "Blank"):
        row.fault("Blank", "is to get its lengths from this run, which has no points", "rows on Points")
    for (_, one), (place, other) in pairwise(draft.points):
        rise, away = abs(other.measure - one.measure), other.at - one.at
        if 2 * rise > away:
            apart = f"{said(place, rise)} from the point before it, {said(place, away)} away"
            hint = "check the figure, or take the lengths near it off the boat"
            place.warn("Measure", f"differs by {apart}: too steep for a batten to lie true", hint)


def read_obstacles(sheet: Table | None, drafts: dict[str, Draft]) -> None:
    """Give the runs what stands in the way; a row without a run stands in the way of all."""
    names = Names(draft.run.name for draft in drafts.values())
    for row in sheet.rows() if sheet else ():
        every = row.cell("Run").empty and not row.unread("Run")
        draft = None if every else _named_run(row, drafts, names)
        obstacle = _obstacle(row)
        near = list(drafts.values()) if every else [draft] if draft else []
        longest = max(near, key=lambda draft: draft.run.length, default=None)
        if longest is not None:
            _check_on_run(row, "At", obstacle.start, longest)
            if row.good("At") and not row.cell("To").empty:
                _check_on_run(row, "To", obstacle.end, longest)
        for draft in near:
            if not row.failed and obstacle.start <= draft.run.length:
                draft.obstacles.append(obstacle)
                _check_room(row, obstacle, draft)


def _obstacle(row: Row) -> Obstacle:
    start, clear = cells.exact_length(row, "At"), cells.exact_length(row, "Clear", default=0)
    end = start if row.cell("To").empty else cells.exact_length(row, "To")
    if row.good("At", "To") and end < start:
        row.fault("To", "lies before At", f"at least {said(row, start)}", "exchange the two")
    if row.good("At", "To", "Clear") and end == start and not clear:
        row.fault("Clear", "is nothing, so nothing could be too near", "the room that a frame needs from it")
    return Obstacle(
        name=cells.text(row, "Obstacle") or "the obstacle",
        start=start,
        end=end,
        clear=clear,
        shift=cells.yes(row, "Shift", "yes where a station on it is to be shifted"),
    )


def _check_room(row: Row, obstacle: Obstacle, draft: Draft) -> None:
    """Report an obstacle that leaves no room on the whole run."""
    run = draft.run
    if not draft.row.good("Length", "From start", "From end", "Siding"):
        return
    first, last = run.from_start or 0, run.length - (run.from_end or 0) - run.siding
    if obstacle.start - obstacle.clear - run.siding < first and obstacle.end + obstacle.clear > last:
        heading = "To" if obstacle.end - obstacle.start > 2 * obstacle.clear else "Clear"
        found = f"leaves no room for a frame on the whole run {run.name}"
        row.fault(heading, found, f"less, the run being {said(row, run.length)} long")
