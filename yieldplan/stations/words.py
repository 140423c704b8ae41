"""What the tape list says, in words and figures that the text, the page and the csv file share."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.measure import MM, Rounding, write
from yieldplan.model.pieces import counted
from yieldplan.stations.curve import blank_length
from yieldplan.stations.division import pitch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.stations.division import Division, Station
    from yieldplan.stations.run import Obstacle
    from yieldplan.stations.tape import Tape, TapeList, TapeRow
    from yieldplan.workbook.grid import Marks


def shown(length: Fraction | int, marks: Marks) -> str:
    """Return a length that was typed or worked out, in the workbook's units: inches to the mark, mm to a tenth."""
    if marks.unit == "inch":
        return write(Rounding.PLACE.steps(Fraction(length), marks.mark), "inch")
    return f"{round(float(length / Fraction(MM)), 1):g} mm"


def both(length: Fraction | int, marks: Marks) -> str:
    """Return a length in millimetres, in an inch workbook with the inches behind."""
    if marks.unit == "mm":
        return shown(length, marks)
    return f"{round(float(length / Fraction(MM)), 1):g} mm ({shown(length, marks)})"


HEADS = ("Station", "Mark, mm", "Mark, in", "Unshifted, mm", "Length, mm", "Length, in", "Blank")


def listed(tape: Tape, marks: Marks) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return the headings and rows of a tape list; columns that would be empty are left out."""
    rows = [figures(row, marks) for row in tape.rows]
    heads = tuple(head for head in HEADS if any(row[head] for row in rows))
    return heads, [tuple(row[head] for head in heads) for row in rows]


def figures(row: TapeRow, marks: Marks) -> dict[str, str]:
    """Return a station's figures: its mark to the nearest millimetre, its length up to the next one.

    Inches, in an inch workbook, are rounded from the exact place and length, not from the millimetres.
    """
    station, length, inch = row.station, row.length, marks.unit == "inch"
    place = Fraction(station.mark) if station.shifted else station.exact
    return {
        "Station": str(station.number),
        "Mark, mm": str(station.mark // MM),
        "Mark, in": write(Rounding.PLACE.steps(place, marks.mark), "inch") if inch else "",
        "Unshifted, mm": str(station.unshifted // MM) if station.shifted else "",
        "Length, mm": "" if length is None else str(math.ceil(length / MM)),
        "Length, in": write(blank_length(length, marks), "inch") if inch and length is not None else "",
        "Blank": row.blank.name if row.blank else "",
    }


def division_words(division: Division, marks: Marks) -> str:
    """Return how a run is divided, in a sentence."""
    run, spaces = division.run, counted(division.spaces, "space")
    stations = counted(len(division.stations), "station")
    words = f"{both(run.length, marks)} long: {spaces} of {both(division.pitch, marks)}, {stations}"
    if run.siding:
        words += f", frames sided {shown(run.siding, marks)} from the mark on"
    if run.points:
        words += ", one to port and one to starboard" if run.sides == 2 else ", one of each"
    return f"{words}."


def notes(tape: Tape, marks: Marks) -> list[str]:
    """Return what is to be said of stations that were shifted, and of those that clash."""
    found = [_shift_words(tape, row.station, marks) for row in tape.rows if row.station.shifted]
    left = [row.station for row in tape.rows if row.station.left]
    for station in left:
        near = " and ".join(_clash_words(*clash, marks) for clash in station.left)
        stuck = any(obstacle.shift for obstacle, _ in station.left)
        none = " It could not be shifted: there is no free place between its neighbours." if stuck else ""
        found.append(f"Station {station.number} at {both(station.mark, marks)} {near}.{none}")
    if left or found:
        found.append(_offer_words(tape.division, marks))
    if left and not all(obstacle.shift for station in left for obstacle, _ in station.left):
        found.append("Or let a station give way: type yes under Shift beside the obstacle.")
    return found


def obstacle_words(obstacle: Obstacle, marks: Marks) -> str:
    """Return what stands in the way, and from where to where."""
    to = f" to {both(obstacle.end, marks)}" if obstacle.end > obstacle.start else ""
    return f"{obstacle.name} at {both(obstacle.start, marks)}{to}"


def _clash_words(obstacle: Obstacle, distance: Fraction, marks: Marks) -> str:
    named = obstacle_words(obstacle, marks)
    where = f"is {both(distance, marks)} from {named}" if distance else f"falls on {named}"
    return f"{where}, which needs {both(obstacle.clear, marks)} clear" if obstacle.clear else where


def _shift_words(tape: Tape, station: Station, marks: Marks) -> str:
    """Return from where to where a station was shifted and why, and which space it made too large."""
    near = " and ".join(_clash_words(*clash, marks) for clash in station.clashes)
    words = (
        f"Station {station.number} is shifted from {both(station.unshifted, marks)}, where it {near}, "
        f"to {both(station.mark, marks)}."
    )
    wanted = tape.run.spacing
    spaces = list(pairwise(row.station.mark for row in tape.rows))[
        max(station.number - 2, 0) : station.number
    ]
    widest = max((after - before for before, after in spaces), default=0)
    if wanted is not None and widest > wanted + MM:
        words += (
            f" The largest space beside it is now {both(widest, marks)}; wanted were {both(wanted, marks)}."
        )
    return words


def _offer_words(division: Division, marks: Marks) -> str:
    """Return which other numbers of spaces are free of clashes."""
    if not division.offers:
        return "No number of spaces near this one is free of clashes."
    wanted, offers = division.run.spacing, []
    for spaces in division.offers:
        between = pitch(division.run, spaces)
        above = ", above the spacing wanted" if wanted is not None and between > wanted else ""
        offers.append(f"{counted(spaces, 'space')} of {both(between, marks)}{above}")
    return f"Free of clashes, nearest first: {'; '.join(offers)}."


def how(found: TapeList) -> str:
    """Return how marks and lengths were worked out."""
    curve = "straight lines" if found.survey.linear else "a batten"
    return (
        "Marks are running measure from the start, each rounded to a millimetre by itself: hook the tape once and "
        f"mark them all. Lengths are those of {curve} through the points, with the allowance, rounded up."
    )


def kind_rows(found: TapeList) -> Iterator[tuple[str, str, str, str]]:
    """Yield name, need, length and stations of each row that Blanks gets."""
    marks = found.survey.marks
    for kind in found.kinds:
        served = [
            f"{tape.run.name} {', '.join(numbers)}"
            for tape in found.tapes
            if (numbers := [str(row.station.number) for row in tape.rows if row.blank == kind])
        ]
        yield kind.name, str(kind.need), both(kind.length, marks), "; ".join(served)


KIND_HEADS = ("Blank", "Need", "Length", "Run and stations")


def wood_words(found: TapeList) -> str:
    """Return how much longer the blanks are, all together, than the frames."""
    marks = found.survey.marks
    needed = sum(kind.needed for kind in found.kinds)
    ordered = sum(kind.need * kind.length for kind in found.kinds)
    lengths = counted(len(found.kinds), "length")
    if ordered == needed:
        return f"The blanks, in {lengths}, are as long as the frames."
    more = 100 * (ordered - needed) / needed
    return (
        f"The blanks, in {lengths}, are all together {shown(ordered - needed, marks)} longer than the frames: "
        f"{more:.1f} % more wood."
    )
