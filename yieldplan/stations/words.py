"""What the tape list says, in words and figures that the text, the page and the csv file share."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.measure import MM, Rounding, write
from yieldplan.stations.curve import blank_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.stations.division import Clash, Division, Offer, Station
    from yieldplan.stations.run import Obstacle, Settings
    from yieldplan.stations.tape import Tape, TapeList, TapeRow


def shown(length: Fraction | int, settings: Settings) -> str:
    """Return a length that was typed or worked out, in the workbook's units: inches to the mark, mm to a tenth."""
    if settings.units == "inch":
        return write(Rounding.PLACE.steps(Fraction(length), settings.mark), "inch")
    return f"{round(float(length / Fraction(MM)), 1):g} mm"


def both(length: Fraction | int, settings: Settings) -> str:
    """Return a length in millimetres, in an inch workbook with the inches behind."""
    if settings.units == "mm":
        return shown(length, settings)
    return f"{round(float(length / Fraction(MM)), 1):g} mm ({shown(length, settings)})"


def columns(tape: Tape, settings: Settings) -> tuple[str, ...]:
    """Return the headings of a tape list; those that would be empty are left out."""
    inch = settings.units == "inch"
    heads = ["Station", "Mark, mm"]
    heads += ["Mark, in"] * inch
    heads += ["Unshifted, mm"] * any(row.station.shifted for row in tape.rows)
    if tape.run.points:
        heads += ["Length, mm"]
        heads += ["Length, in"] * inch
    if tape.run.blank:
        heads += ["Blank"]
    return tuple(heads)


def cells(row: TapeRow, heads: tuple[str, ...], settings: Settings) -> tuple[str, ...]:
    """Return a station's figures: its mark to the nearest millimetre, its length up to the next one.

    Inches are rounded from the exact place and length, not from the millimetres.
    """
    station, length = row.station, row.length
    place = Fraction(station.mark) if station.shifted else station.exact
    found = {
        "Station": str(station.number),
        "Mark, mm": str(station.mark // MM),
        "Mark, in": write(Rounding.PLACE.steps(place, settings.mark), "inch"),
        "Unshifted, mm": str(station.unshifted // MM) if station.shifted else "",
        "Length, mm": "" if length is None else str(math.ceil(length / MM)),
        "Length, in": "" if length is None else write(blank_length(length, settings), "inch"),
        "Blank": row.blank.name if row.blank else "",
    }
    return tuple(found[head] for head in heads)


def division_words(division: Division, settings: Settings) -> str:
    """Return how a run is divided, in a sentence."""
    run, count = division.run, len(division.stations)
    spaces = "1 space" if division.spaces == 1 else f"{division.spaces} spaces"
    stations = "1 station" if count == 1 else f"{count} stations"
    words = f"{both(run.length, settings)} long: {spaces} of {both(division.pitch, settings)}, {stations}"
    if run.siding:
        words += f", frames sided {shown(run.siding, settings)} from the mark on"
    if run.points:
        words += ", one to port and one to starboard" if run.sides == 2 else ", one of each"
    return f"{words}."


def notes(tape: Tape, settings: Settings) -> list[str]:
    """Return what is to be said of stations that were shifted, and of those that clash."""
    found = [_shift_words(tape, row.station, settings) for row in tape.rows if row.station.shifted]
    left = [row.station for row in tape.rows if row.station.left]
    for station in left:
        near = " and ".join(_clash_words(clash, settings) for clash in station.left)
        stuck = any(clash.obstacle.shift for clash in station.left)
        none = " It could not be shifted: there is no free place between its neighbours." if stuck else ""
        found.append(f"Station {station.number} at {both(station.mark, settings)} {near}.{none}")
    if left or found:
        found.append(_offer_words(tape.division, settings))
    if left and not all(clash.obstacle.shift for station in left for clash in station.left):
        found.append("Or let a station give way: type yes under Shift beside the obstacle.")
    return found


def obstacle_words(obstacle: Obstacle, settings: Settings) -> str:
    """Return what stands in the way, and from where to where."""
    to = f" to {both(obstacle.end, settings)}" if obstacle.end > obstacle.start else ""
    return f"{obstacle.name} at {both(obstacle.start, settings)}{to}"


def _clash_words(clash: Clash, settings: Settings) -> str:
    obstacle = clash.obstacle
    named = obstacle_words(obstacle, settings)
    where = f"falls on {named}" if clash.inside else f"is {both(clash.distance, settings)} from {named}"
    return f"{where}, which needs {both(obstacle.clear, settings)} clear" if obstacle.clear else where


def _shift_words(tape: Tape, station: Station, settings: Settings) -> str:
    """Return from where to where a station was shifted and why, and which space it made too large."""
    near = " and ".join(_clash_words(clash, settings) for clash in station.clashes)
    words = (
        f"Station {station.number} is shifted from {both(station.unshifted, settings)}, where it {near}, "
        f"to {both(station.mark, settings)}."
    )
    wanted = tape.run.spacing
    marks = [row.station.mark for row in tape.rows]
    spaces = list(pairwise(marks))[max(station.number - 2, 0) : station.number]
    widest = max((after - before for before, after in spaces), default=0)
    if wanted is not None and widest > wanted + MM:
        words += f" The largest space beside it is now {both(widest, settings)}; wanted were {both(wanted, settings)}."
    return words


def _offer_words(division: Division, settings: Settings) -> str:
    """Return which other numbers of spaces are free of clashes."""
    if not division.offers:
        return "No number of spaces near this one is free of clashes."
    return f"Free of clashes, nearest first: {'; '.join(_one_offer(o, division, settings) for o in division.offers)}."


def _one_offer(offer: Offer, division: Division, settings: Settings) -> str:
    wanted = division.run.spacing
    above = ", above the spacing wanted" if wanted is not None and offer.pitch > wanted else ""
    word = "space" if offer.spaces == 1 else "spaces"
    return f"{offer.spaces} {word} of {both(offer.pitch, settings)}{above}"


def how(found: TapeList) -> str:
    """Return how marks and lengths were worked out."""
    curve = "straight lines" if found.gathering.linear else "a batten"
    return (
        "Marks are running measure from the start, each rounded to a millimetre by itself: hook the tape once and "
        f"mark them all. Lengths are those of {curve} through the points, with the allowance, rounded up."
    )


def kind_rows(found: TapeList) -> Iterator[tuple[str, str, str, str]]:
    """Yield name, need, length and stations of each row that Blanks gets."""
    settings = found.survey.settings
    for kind in found.kinds:
        served = [
            f"{tape.run.name} {', '.join(numbers)}"
            for tape in found.tapes
            if (numbers := [str(row.station.number) for row in tape.rows if row.blank == kind])
        ]
        yield kind.name, str(kind.need), both(kind.length, settings), "; ".join(served)


KIND_HEADS = ("Blank", "Need", "Length", "Run and stations")


def wood_words(found: TapeList) -> str:
    """Return how much longer the blanks are, all together, than the frames."""
    settings = found.survey.settings
    needed = sum(kind.needed for kind in found.kinds)
    ordered = sum(kind.need * kind.length for kind in found.kinds)
    count = len(found.kinds)
    lengths = "1 length" if count == 1 else f"{count} lengths"
    if ordered == needed:
        return f"The blanks, in {lengths}, are as long as the frames."
    more = 100 * (ordered - needed) / needed
    return (
        f"The blanks, in {lengths}, are all together {shown(ordered - needed, settings)} longer than the frames: "
        f"{more:.1f} % more wood."
    )
