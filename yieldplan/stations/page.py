"""The tape list as printed pages: each run drawn to scale over its list, the blanks at the end.

Frames are drawn as high as they are long, with the curve through the points, and what stands in the way below them.
"""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak, PageBreak

from yieldplan.measure import MM
from yieldplan.pages.document import Document
from yieldplan.pages.drawing import FINE, FIRM, Box, Sketch, Word
from yieldplan.pages.paper import BOX, FOOT, PROSE, SET, TOGETHER, grid, para, width_of
from yieldplan.stations import words
from yieldplan.stations.division import through

if TYPE_CHECKING:
    from yieldplan.pages.paper import Paper
    from yieldplan.stations.division import Division
    from yieldplan.stations.tape import TapeList

_POINTS_A_MM = 72 / 25.4
_HIGHEST = 170.0
"""Points of the page that the longest frame may take."""

_BARE = 24.0
"""How high marks are drawn that have no lengths."""

_CURVE = 80
"""Pieces that the curve is drawn in."""

_NUMBERS, _BAR, _NAME_ROW = FOOT + 8, 5.0, FOOT * 1.25
"""How high stations' numbers stand below the line of the run, an obstacle below them, a row of names below that."""

_NAME_ROWS = 3
"""Rows of obstacles' names; what finds no room in them is on the list alone."""

TICK, STATION, FIGURES = 18.0, 46.0, 71.0
"""Points for a box to tick, for a station's number, and for a column of figures."""

KINDS = (140.0, 40.0, 130.0)
"""Points for the columns of the blanks."""


def pdf_bytes(found: TapeList, *, paper: Paper = "letter") -> bytes:
    """Return the pages of a tape list, every run on its own; the same list gives the same bytes."""
    name = found.survey.name
    document = Document(paper, f"Stations of {name}", f"{name}: stations")
    document.story += [para("Stations", 22.0, bold=True), para(words.how(found), FOOT, after=8.0)]
    for tape in found.tapes:
        _put_tape(document, found, tape)
    if found.kinds:
        document.running()
        document.story += [CondPageBreak(TOGETHER), para("Blanks", SET, bold=True, before=14.0)]
        kinds = grid(words.KIND_HEADS, words.kind_rows(found), KINDS)
        document.story += [kinds, para(words.wood_words(found))]
    return document.drawn()


def _put_tape(document: Document, found: TapeList, tape: Division) -> None:
    """Put a run on the pages; those that it goes on to are headed by its name."""
    marks = found.survey.marks
    picture = _Picture(tape, document.measure)
    picture.draw_frames()
    picture.draw_curve(linear=found.survey.linear)
    picture.draw_obstacles()
    heads, rows = words.listed(tape, marks)
    widths = [TICK, STATION, *[FIGURES] * (len(heads) - 2)]
    if tape is not found.tapes[0]:
        document.running()
        document.story.append(PageBreak())
    document.story += [
        para(tape.run.name, SET, bold=True),
        para(words.division_words(tape, marks)),
        para(f"Drawn 1 : {picture.below}, the start on the left.", FOOT, after=6.0),
        picture.sketch.drawing,
    ]
    document.running(para(f"{tape.run.name} (continued)", SET, bold=True))
    document.story += [
        grid(("", *heads), [(BOX, *cells) for cells in rows], [*widths, document.measure - sum(widths)]),
        *(para(note, PROSE) for note in words.notes(tape, marks)),
    ]
    if picture.obstacles:
        near = (words.obstacle_words(obstacle, marks) for obstacle in picture.obstacles)
        document.story.append(para(f"In the way: {'; '.join(near)}.", FOOT, before=4.0))


class _Picture:
    """A run being drawn; ``below`` is 1 mm in so many, ``base`` how high the line of the run stands."""

    def __init__(self, tape: Division, width: float) -> None:
        self.tape, self.run, self.width = tape, tape.run, width
        heights = [station.length or Fraction(0) for station in tape.stations] + [
            one.measure for one in self.run.points
        ]
        tallest = max(heights)
        self.below = max(1, math.ceil(_POINTS_A_MM * max(self.run.length / width, tallest / _HIGHEST) / MM))
        self._factor = _POINTS_A_MM / self.below / MM
        self.left = (width - float(self.run.length) * self._factor) / 2
        self.obstacles = sorted(self.run.obstacles, key=lambda obstacle: obstacle.start)
        self.base = _NUMBERS + 8.0 + (_BAR + 2.0 + _NAME_ROWS * _NAME_ROW if self.obstacles else 0.0)
        high = float(tallest) * self._factor if self.run.points else _BARE
        self.sketch = Sketch(width, self.base + high + 6.0)
        ends = (self._x(0), self._x(self.run.length))
        self.sketch.line((ends[0], self.base, ends[1], self.base), 1.2)
        for end in ends:
            self.sketch.line((end, self.base - 8, end, self.base + 8), 1.2)

    def _x(self, place: Fraction | int) -> float:
        return self.left + float(place) * self._factor

    def _y(self, length: Fraction) -> float:
        return self.base + float(length) * self._factor

    def _label(self, text: str, middle: float, *bases: float) -> None:
        """Write a line of words on the first base line where it stands clear of the others; nowhere if on none."""
        wide = width_of(text, FOOT)
        x = min(max(0.0, middle - wide / 2), max(0.0, self.width - wide))
        clear = (
            word
            for word in (Word(text, x, base, FOOT) for base in bases)
            if not any(word.box.grown(1.0).meets(other) for other in self.sketch.words)
        )
        if (found := next(clear, None)) is not None:
            self.sketch.write(found)

    def draw_frames(self) -> None:
        """Draw every frame with its number; where a station was shifted, also where it stood, broken."""
        for station in self.tape.stations:
            top = self.base + _BARE if station.length is None else self._y(station.length)
            x, far = self._x(station.mark), self._x(station.mark + self.run.siding)
            self.sketch.rect(Box(x, self.base, far, top), 0.6)
            self._label(str(station.number), x, self.base - 4 - FOOT)
            if station.shifted:
                unshifted = self._x(station.unshifted)
                self.sketch.line((unshifted, self.base, unshifted, top), FINE, dashed=True)

    def draw_curve(self, *, linear: bool) -> None:
        """Draw the curve through the points, without the allowance, and a small square at each point."""
        points = self.run.points
        if not points:
            return
        first, last = points[0].at, points[-1].at
        evenly = (first + (last - first) * number / _CURVE for number in range(_CURVE))
        places = sorted({*evenly, *(point.at for point in points)})
        heights = through(points, places, linear=linear)
        line = [(self._x(place), self._y(height)) for place, height in zip(places, heights, strict=True)]
        self.sketch.strokes(((*one, *other) for one, other in pairwise(line)), 0.6)
        for point in points:
            x, y = self._x(point.at), self._y(point.measure)
            self.sketch.rect(Box(x - 1.8, y - 1.8, x + 1.8, y + 1.8), 0.6)

    def draw_obstacles(self) -> None:
        """Draw the obstacles below the run, each with the room it needs as a broken line."""
        top = self.base - _NUMBERS
        rows = [top - _BAR - 2 - FOOT - row * _NAME_ROW for row in range(_NAME_ROWS)]
        for obstacle in self.obstacles:
            start, end, middle = self._x(obstacle.start), self._x(obstacle.end), top - _BAR / 2
            near = self._x(max(Fraction(0), obstacle.start - obstacle.clear))
            far = self._x(min(self.run.length, obstacle.end + obstacle.clear))
            self.sketch.line((near, middle, far, middle), FINE, dashed=True)
            self.sketch.rect(Box(start - 0.6, top - _BAR, end + 0.6, top), FIRM)
            self._label(obstacle.name, (start + end) / 2, *rows)
