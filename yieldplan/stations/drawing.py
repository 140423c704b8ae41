"""A run drawn to scale: its frames as high as they are long, the curve through the points, what stands in the way."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.measure import MM
from yieldplan.measuring.marks import Line, Rect, Text, drawing
from yieldplan.pages.paper import FOOT, width_of
from yieldplan.stations.curve import through

if TYPE_CHECKING:
    from reportlab.graphics.shapes import Drawing

    from yieldplan.measuring.marks import Mark
    from yieldplan.stations.run import Run
    from yieldplan.stations.tape import Tape

_POINTS_A_MM = 72 / 25.4
_HIGHEST = 170.0
"""Points of the page that the longest frame may take."""

_BARE = 24.0
"""How high marks are drawn that have no lengths."""

_CURVE = 80
"""Pieces that the curve is drawn in."""

_BAR = 5.0
"""How high an obstacle is drawn, below the line of the run."""

_NAME_ROWS = 3
"""Rows of obstacles' names; what finds no room in them is on the list alone."""


class _Scale:
    """Where steps of the run and of a measure lie on the drawing; ``below`` is 1 mm in so many."""

    def __init__(self, tape: Tape, width: float) -> None:
        run = tape.run
        heights = [row.length or Fraction(0) for row in tape.rows] + [one.measure for one in run.points]
        tallest = max(heights)
        self.below = max(1, math.ceil(_POINTS_A_MM * max(run.length / width, tallest / _HIGHEST) / MM))
        self._factor = _POINTS_A_MM / self.below / MM
        self.left = (width - float(run.length) * self._factor) / 2
        self.base = (float(tallest) * self._factor if run.points else _BARE) + 6.0

    def x(self, place: Fraction | int) -> float:
        return self.left + float(place) * self._factor

    def y(self, length: Fraction) -> float:
        return self.base - float(length) * self._factor


def drawn(tape: Tape, width: float, *, linear: bool = False) -> tuple[Drawing, int]:
    """Return the drawing of a run, and that it is drawn 1 to how much."""
    run, scale = tape.run, _Scale(tape, width)
    ends = (scale.x(0), scale.x(run.length))
    marks: list[Mark] = [Line(ends[0], scale.base, ends[1], scale.base, 1.2)]
    marks += [Line(end, scale.base - 8, end, scale.base + 8, 1.2) for end in ends]
    obstacles, low = _obstacles(run, scale, scale.base + FOOT + 8, width)
    marks += [*_frames(tape, scale), *_curve(run, scale, linear), *obstacles]
    return drawing(width, low + 8, marks), scale.below


def _frames(tape: Tape, scale: _Scale) -> list[Mark]:
    """Return every frame with its number; where a station was shifted, also where it stood, broken."""
    marks: list[Mark] = []
    taken = -math.inf
    for row in tape.rows:
        station = row.station
        top = scale.base - _BARE if row.length is None else scale.y(row.length)
        x = scale.x(station.mark)
        marks.append(Rect(x, top, scale.x(station.mark + tape.run.siding), scale.base, 0.6))
        if station.shifted:
            unshifted = scale.x(station.unshifted)
            marks.append(Line(unshifted, top, unshifted, scale.base, 0.5, True))
        label = str(station.number)
        wide = width_of(label, FOOT)
        if x - wide / 2 > taken + 2:
            marks.append(Text(x - wide / 2, scale.base + 4, label, FOOT))
            taken = x + wide / 2
    return marks


def _curve(run: Run, scale: _Scale, linear: bool) -> list[Mark]:
    """Return the curve through the points, without the allowance, and a small square at each point."""
    if not run.points:
        return []
    first, last = run.points[0].at, run.points[-1].at
    evenly = (first + (last - first) * number / _CURVE for number in range(_CURVE))
    places = sorted({*evenly, *(point.at for point in run.points)})
    heights = through(run.points, places, linear=linear)
    line = [(scale.x(place), scale.y(height)) for place, height in zip(places, heights, strict=True)]
    marks: list[Mark] = [Line(*one, *other, 0.6) for one, other in pairwise(line)]
    for point in run.points:
        x, y = scale.x(point.at), scale.y(point.measure)
        marks.append(Rect(x - 1.8, y - 1.8, x + 1.8, y + 1.8, 0.6))
    return marks


def _obstacles(run: Run, scale: _Scale, top: float, width: float) -> tuple[list[Mark], float]:
    """Return the obstacles below the run, each with the room it needs as a broken line; and where they end."""
    marks: list[Mark] = []
    ends = [-math.inf] * _NAME_ROWS
    for obstacle in sorted(run.obstacles, key=lambda obstacle: obstacle.start):
        left, right = scale.x(obstacle.start), scale.x(obstacle.end)
        middle = top + _BAR / 2
        near, far = (
            max(Fraction(0), obstacle.start - obstacle.clear),
            min(run.length, obstacle.end + obstacle.clear),
        )
        marks.append(Line(scale.x(near), middle, scale.x(far), middle, 0.5, True))
        marks.append(Rect(left - 0.6, top, right + 0.6, top + _BAR, 0.8))
        wide = width_of(obstacle.name, FOOT)
        x = min(max(0.0, (left + right - wide) / 2), max(0.0, width - wide))
        place = next((row for row, end in enumerate(ends) if x > end + 4), None)
        if place is not None:
            marks.append(Text(x, top + _BAR + 2 + place * FOOT * 1.25, obstacle.name, FOOT))
            ends[place] = x + wide
    rows = sum(end >= 0 for end in ends)
    return marks, top + (_BAR + 2 if marks else 0) + rows * FOOT * 1.25
