"""A run along the boat in equal spaces: how many, where marks fall and could go, how long the frames there are.

With S spaces and n = S - 1 + (framed ends) frames of siding w in a stretch R, the room between two frames is
``g = (R - n w) / S`` and from mark to mark it is ``p = g + w``. The fewest spaces whose p is not above the wanted one
are ``S = ceil((R + (1 - framed ends) w) / wanted)``. Mark k of n stands, in a run with a bare start, at
``g + k p``; with a frame at its start, at ``from start + k p``.

Every position and length is an exact number of steps (1/320 mm), seldom whole. Each mark is rounded to a whole
millimetre by itself, from its exact place, so no rounding is added to another.

A thin batten held at points takes, at small slopes, the shape of a cubic spline whose ends are straight (second
derivative 0): the natural spline (beam theory). The curve is worked out in floats; a length is taken to the nearest
1/320 mm first, far above their error, and only then up to a mark, so that a length on a mark stays on it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.measure import MM, Rounding

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Problem
    from yieldplan.workbook.grid import Marks
    from yieldplan.workbook.table import Row

Bools = np.ndarray[tuple[int], np.dtype[np.bool_]]
Clash = tuple["Obstacle", Fraction]
"""An obstacle that leaves a station too little room, and how far from it that is (steps); 0 where it stands in it."""

MOST_STATIONS = 500
"""Stations in one run: with more, its spacing is a slip."""

_OFFERED = 4
"""Numbers of spaces that are offered where one has clashes."""

_TIMES = 2
"""Other numbers of spaces are looked for up to so many times this one, and down to its part: no further ones help."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """What a side, girth or half-breadth measures at one place of a run."""

    at: Fraction
    measure: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """A mould, thwart or centreboard case from ``start`` to ``end`` of the run, and the room that it needs round it.

    ``shift`` says whether a station that falls on it gives way.
    """

    name: str
    start: Fraction
    end: Fraction
    clear: Fraction
    shift: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A stretch along keel or chine that is divided into equal spaces.

    The first and the last frame stand ``from_start`` and ``from_end`` from that end of it; None: no frame stands there,
    and the space next to it begins at the end itself (a stem, a transom, a mould). ``siding`` is how much of the run a
    frame takes; its mark is the face nearer the start. ``spacing`` is the largest distance from mark to mark that is
    wanted, ``spaces`` how many spaces; one of the two is None. ``sides`` is 2 where there is one of each frame to port
    and one to starboard; ``allowance`` is added to each length for fitting. The lengths go to the row of Blanks of the
    name ``blank``; empty: only the marks are wanted. ``points`` rise by place; none where no lengths are wanted.
    """

    name: str
    length: Fraction
    from_start: Fraction | None = None
    from_end: Fraction | None = None
    siding: Fraction = Fraction(0)
    spacing: Fraction | None = None
    spaces: int | None = None
    sides: int = 2
    allowance: Fraction = Fraction(0)
    blank: str = ""
    points: tuple[Point, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()

    @property
    def framed_ends(self) -> int:
        """How many ends of the divided stretch have a frame at them."""
        return (self.from_start is not None) + (self.from_end is not None)

    @property
    def stretch(self) -> Fraction:
        """What is divided: the run without what lies beyond its outermost frames."""
        return self.length - (self.from_start or 0) - (self.from_end or 0)

    @property
    def wanted(self) -> int:
        """How many spaces are wanted: the fewest that are from mark to mark not above its spacing, if it has one."""
        over = (1 - self.framed_ends) * self.siding
        return self.spaces or math.ceil((self.stretch + over) / (self.spacing or self.stretch))

    def frames(self, spaces: int) -> int:
        """Return how many frames part it into so many spaces."""
        return spaces - 1 + self.framed_ends

    def room(self, spaces: int) -> Fraction:
        """Return the room between two frames; not above 0 where so many find none."""
        return (self.stretch - self.frames(spaces) * self.siding) / spaces

    def pitch(self, spaces: int) -> Fraction:
        """Return how far it is from mark to mark in so many spaces."""
        return self.room(spaces) + self.siding

    def places(self, spaces: int) -> list[Fraction]:
        """Return where the marks of equal spaces fall, exactly."""
        step, first = self.pitch(spaces), self.room(spaces) if self.from_start is None else self.from_start
        return [first + number * step for number in range(self.frames(spaces))]


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """One frame's mark: ``exact`` in steps, ``unshifted`` the same in whole millimetres, ``mark`` where it is put.

    The two last differ where the station was shifted; all are steps from the start of the run. ``clashes`` are those
    of the unshifted mark. Without points the frame has no ``length``, without a row of Blanks no ``blank``.
    """

    number: int
    exact: Fraction
    unshifted: int
    mark: int
    clashes: tuple[Clash, ...] = ()
    length: Fraction | None = None
    blank: str = ""

    @property
    def shifted(self) -> bool:
        """Whether it stands elsewhere than in equal spaces; then nothing is in its way any more."""
        return self.mark != self.unshifted

    @property
    def left(self) -> tuple[Clash, ...]:
        """What is in the way of the mark itself."""
        return () if self.shifted else self.clashes


@dataclass(frozen=True, slots=True, kw_only=True)
class Division:
    """A run divided: its stations, and other numbers of spaces, nearest first, where some of them clash."""

    run: Run
    spaces: int
    stations: tuple[Station, ...]
    offers: tuple[int, ...] = ()

    @property
    def pitch(self) -> Fraction:
        """How far it is from mark to mark, but for shifted ones."""
        return self.run.pitch(self.spaces)


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """What was read: the runs divided, the rows of Blanks that lengths go to, and what is questionable.

    ``blanks`` has them by the blank's folded name without a number; others are made like the first. ``linear``: lengths
    lie on straight lines from point to point.
    """

    name: str
    sha256: str
    divisions: tuple[Division, ...]
    blanks: dict[str, list[Row]]
    marks: Marks
    linear: bool = False
    warnings: tuple[Problem, ...] = ()


def divide(run: Run) -> Division:
    """Return the run in the fewest spaces that are not above its spacing, or in as many as it asks for."""
    blocked, spaces = _blocked(run), run.wanted
    places = run.places(spaces)
    marks = [Rounding.PLACE.steps(place, MM) for place in places]
    placed: list[Station] = []
    for number, (exact, unshifted) in enumerate(zip(places, marks, strict=True), 1):
        away = (
            (one, max(one.start - (unshifted + run.siding), unshifted - one.end)) for one in run.obstacles
        )
        clashes = tuple((one, max(distance, Fraction(0))) for one, distance in away if distance < one.clear)
        mark = unshifted
        if any(obstacle.shift for obstacle, _ in clashes):
            before = placed[-1].mark if placed else None
            after = marks[number] if number < len(marks) else None
            mark = _nearest_free(run, blocked, unshifted, before, after)
        placed.append(Station(number=number, exact=exact, unshifted=unshifted, mark=mark, clashes=clashes))
    clashing = any(station.clashes for station in placed)
    offers = tuple(_offers(run, spaces, blocked)) if clashing else ()
    return Division(run=run, spaces=spaces, stations=tuple(placed), offers=offers)


def _offers(run: Run, spaces: int, blocked: Bools) -> Iterator[int]:
    """Yield numbers of spaces without clashes, nearest first; of two as near the larger, for its spaces are smaller."""
    count = 0
    for away in range(1, (_TIMES - 1) * spaces + 1):
        for other in (spaces + away, spaces - away):
            number = run.frames(other) if _TIMES * other >= spaces else 0
            if not 0 < number <= MOST_STATIONS or run.room(other) <= 0:
                continue
            if not any(blocked[Rounding.PLACE.steps(place, MM) // MM] for place in run.places(other)):
                yield other
                count += 1
            if count == _OFFERED:
                return


def _blocked(run: Run) -> Bools:
    """Return which whole millimetres from the start of a run no frame may have its mark at."""
    blocked = np.zeros(math.ceil(run.length / MM) + 1, dtype=np.bool_)
    for obstacle in run.obstacles:
        low = math.floor((obstacle.start - obstacle.clear - run.siding) / MM) + 1
        high = math.ceil((obstacle.end + obstacle.clear) / MM)
        blocked[max(low, 0) : max(high, 0)] = True
    return blocked


def _nearest_free(run: Run, blocked: Bools, unshifted: int, before: int | None, after: int | None) -> int:
    """Return the free mark nearest to that of equal spaces, of two the nearer to the start; that one where none is.

    It lies in the stretch that is divided, and no frame comes over the one before or after it.
    """
    least, most = run.from_start or Fraction(0), run.length - (run.from_end or 0) - run.siding
    if before is not None:
        least = max(least, before + run.siding + MM)
    if after is not None:
        most = min(most, after - run.siding - MM)
    places = np.arange(math.ceil(least / MM), math.floor(most / MM) + 1)
    free = places[~blocked[places]]
    return int(free[np.abs(free * MM - unshifted).argmin()]) * MM if free.size else unshifted


def through(points: Sequence[Point], places: Sequence[Fraction], *, linear: bool = False) -> list[Fraction]:
    """Return what the curve through the points measures at the places, to the nearest step.

    There are at least two points, rising by place, and the places lie between the first and the last. ``linear``:
    straight lines from point to point, as if a string were drawn instead of a batten.
    """
    at = np.array([float(point.at) for point in points])
    measures = np.array([float(point.measure) for point in points])
    wanted = np.array([float(place) for place in places])
    if linear:
        found = np.interp(wanted, at, measures)
    else:
        from scipy.interpolate import CubicSpline  # noqa: PLC0415 - slow to load

        found = CubicSpline(at, measures, bc_type="natural")(wanted)
    return [Fraction(round(float(value))) for value in found]


def lengths(division: Division, *, linear: bool = False) -> tuple[Fraction, ...]:
    """Return the length of the frame at each station, with the allowance, in steps; it may not be above 0.

    A frame with a siding is as long as the longer of its two faces.
    """
    run = division.run
    if not run.points:
        return ()
    near = [Fraction(station.mark) for station in division.stations]
    far = [place + run.siding for place in near]
    low, high = run.points[0].at, run.points[-1].at
    # A mark rounded to a millimetre may lie a little past the last point: the curve ends there.
    faces = [[min(max(place, low), high) for place in places] for places in (near, far)]
    one, other = (through(run.points, places, linear=linear) for places in faces)
    return tuple(max(pair) + run.allowance for pair in zip(one, other, strict=True))


def blank_length(length: Fraction, marks: Marks) -> int:
    """Return the shortest blank that a frame comes out of, in whole marks (steps).

    In a metric input it is no shorter than the whole millimetres on the tape list.
    """
    if marks.unit == "mm":
        length = Fraction(Rounding.WANTED.steps(length, MM))
    return Rounding.WANTED.steps(length, marks.mark)
