"""The tape list in words and figures: on the screen, as text, as csv, and what the page shares with them."""

from __future__ import annotations

import csv
import io
import math
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from yieldplan.measure import MM, Rounding, write
from yieldplan.model.pieces import counted
from yieldplan.pages.renderables import heading, plain_text, row, table
from yieldplan.sanitize import sanitize
from yieldplan.stations.division import blank_length

if TYPE_CHECKING:
    from rich.console import RenderableType

    from yieldplan.stations.division import Division, Obstacle, Station
    from yieldplan.stations.tape import TapeList
    from yieldplan.workbook.grid import Marks

HEADS = ("Station", "Mark, mm", "Mark, in", "Unshifted, mm", "Length, mm", "Length, in", "Blank")
KIND_HEADS = ("Blank", "Need", "Length")
_WIDTH = 100


def shown(length: Fraction | int, marks: Marks) -> str:
    """Return a length that was typed or worked out, in the workbook's units: inches to the mark, mm to a tenth."""
    if marks.unit == "inch":
        return write(Rounding.PLACE.steps(Fraction(length), marks.mark), "inch")
    return f"{round(float(length / Fraction(MM)), 1):g} mm"


def both(length: Fraction | int, marks: Marks) -> str:
    """Return a length in millimetres, in an inch workbook with the inches behind."""
    metric = f"{round(float(length / Fraction(MM)), 1):g} mm"
    return metric if marks.unit == "mm" else f"{metric} ({shown(length, marks)})"


def listed(tape: Division, marks: Marks) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return the headings and rows of a tape list; columns that would be empty are left out."""
    rows = [_figures(station, marks) for station in tape.stations]
    heads = tuple(head for head in HEADS if any(row[head] for row in rows))
    return heads, [tuple(row[head] for head in heads) for row in rows]


def _figures(station: Station, marks: Marks) -> dict[str, str]:
    """Return a station's figures: its mark to the nearest millimetre, its length up to the next one.

    Inches, in an inch workbook, are rounded from the exact place and length, not from the millimetres.
    """
    length, inch = station.length, marks.unit == "inch"
    place = Fraction(station.mark) if station.shifted else station.exact
    return {
        "Station": str(station.number),
        "Mark, mm": str(station.mark // MM),
        "Mark, in": write(Rounding.PLACE.steps(place, marks.mark), "inch") if inch else "",
        "Unshifted, mm": str(station.unshifted // MM) if station.shifted else "",
        "Length, mm": "" if length is None else str(math.ceil(length / MM)),
        "Length, in": write(blank_length(length, marks), "inch") if inch and length is not None else "",
        "Blank": station.blank,
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


def notes(tape: Division, marks: Marks) -> list[str]:
    """Return what is to be said of stations that were shifted, and of those that clash."""
    found = [_shift_words(tape, station, marks) for station in tape.stations if station.shifted]
    left = [station for station in tape.stations if station.left]
    for station in left:
        stuck = any(obstacle.shift for obstacle, _ in station.left)
        none = " It could not be shifted: there is no free place between its neighbours." if stuck else ""
        found.append(
            f"Station {station.number} at {both(station.mark, marks)} {_clash_words(station, marks)}.{none}"
        )
    if found:
        found.append(_offer_words(tape, marks))
    if left and not all(obstacle.shift for station in left for obstacle, _ in station.left):
        found.append("Or let a station give way: type yes under Shift beside the obstacle.")
    return found


def obstacle_words(obstacle: Obstacle, marks: Marks) -> str:
    """Return what stands in the way, from where to where, and how much room it needs."""
    to = f" to {both(obstacle.end, marks)}" if obstacle.end > obstacle.start else ""
    needs = f", which needs {both(obstacle.clear, marks)} clear" if obstacle.clear else ""
    return f"{obstacle.name} at {both(obstacle.start, marks)}{to}{needs}"


def _clash_words(station: Station, marks: Marks) -> str:
    """Return what the unshifted mark of a station is too near to."""
    clashes = []
    for obstacle, distance in station.clashes:
        where = f"is {both(distance, marks)} from" if distance else "falls on"
        clashes.append(f"{where} {obstacle_words(obstacle, marks)}")
    return " and ".join(clashes)


def _shift_words(tape: Division, station: Station, marks: Marks) -> str:
    """Return from where to where a station was shifted and why, and which space it made too large."""
    unshifted, mark = both(station.unshifted, marks), both(station.mark, marks)
    near = f"where it {_clash_words(station, marks)}"
    words = f"Station {station.number} is shifted from {unshifted}, {near}, to {mark}."
    spaces = [after - before for before, after in pairwise(one.mark for one in tape.stations)]
    widest = max(spaces[max(station.number - 2, 0) : station.number], default=0)
    if (wanted := tape.run.spacing) is not None and widest > wanted + MM:
        now = f"The largest space beside it is now {both(widest, marks)}"
        words += f" {now}; {both(wanted, marks)} was wanted."
    return words


def _offer_words(division: Division, marks: Marks) -> str:
    """Return which other numbers of spaces are free of clashes."""
    if not division.offers:
        return "No number of spaces near this one is free of clashes."
    wanted, offers = division.run.spacing, []
    for spaces in division.offers:
        pitch = division.run.pitch(spaces)
        above = ", above the spacing wanted" if wanted is not None and pitch > wanted else ""
        offers.append(f"{counted(spaces, 'space')} of {both(pitch, marks)}{above}")
    return f"Free of clashes, nearest first: {'; '.join(offers)}."


def how(found: TapeList) -> str:
    """Return how marks and lengths were worked out."""
    curve = "straight lines" if found.survey.linear else "a batten"
    return (
        "Marks are running measure from the start, each rounded to a millimetre by itself: hook the tape once and "
        f"mark them all. Lengths are those of {curve} through the points, with the allowance, rounded up."
    )


def kind_rows(found: TapeList) -> list[tuple[str, str, str]]:
    """Return name, need and length of each row that Blanks gets."""
    return [(kind.name, str(kind.need), both(kind.length, found.survey.marks)) for kind in found.kinds]


def wood_words(found: TapeList) -> str:
    """Return how much longer the blanks are, all together, than the frames."""
    lengths, needed = counted(len(found.kinds), "length"), sum(kind.needed for kind in found.kinds)
    over = sum(kind.need * kind.length for kind in found.kinds) - needed
    if not over:
        return f"The blanks, in {lengths}, are as long as the frames."
    longer = (
        f"{shown(over, found.survey.marks)} longer than the frames: {100 * over / needed:.1f} % more wood"
    )
    return f"The blanks, in {lengths}, are altogether {longer}."


def report(found: TapeList) -> Group:
    """Return the tape list to be shown: each run, then the blanks."""
    marks = found.survey.marks
    parts: list[RenderableType] = []
    for tape in found.tapes:
        said = Text(sanitize(division_words(tape, marks)))
        parts += [heading(tape.run.name, first=not parts), said, Text("")]
        heads, rows = listed(tape, marks)
        narrow = [head.replace(", ", ",\n") for head in heads]  # all of them stand in 80 columns
        parts.append(shown_rows := table(*narrow, right={*narrow} - {"Blank"}, whole=("Blank",)))
        for cells in rows:
            row(shown_rows, *cells)
        if noted := notes(tape, marks):
            parts += [Text(""), Text("\n".join(map(sanitize, noted)))]
    if found.kinds:
        blanks = table(*KIND_HEADS, right=("Need", "Length"), whole=("Blank",))
        for kind in kind_rows(found):
            row(blanks, *kind)
        parts += [heading("Blanks"), blanks, Text(""), Text(wood_words(found))]
    return Group(*parts, Text(""), Text(how(found)))


def tape_text(found: TapeList, copied: str) -> str:
    """Return the tape list as text; ``copied`` says which copy of the input it belongs to."""
    return f"{found.survey.name}\n\n{plain_text(report(found), _WIDTH)}{copied}"


def tape_csv(found: TapeList) -> str:
    """Return the tape list as csv, a row for each station."""
    marks, out = found.survey.marks, io.StringIO()
    heads = [head for head in HEADS if marks.unit == "inch" or not head.endswith(", in")]
    lines = csv.DictWriter(out, ["Run", *heads], extrasaction="ignore", lineterminator="\n")
    lines.writeheader()
    for tape in found.tapes:
        lines.writerows({"Run": tape.run.name, **_figures(station, marks)} for station in tape.stations)
    return out.getvalue()
