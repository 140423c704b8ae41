"""What drawings share: boxes, lines clipped to them and kept off others, words, hatching that runs into no text."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from reportlab.graphics.shapes import Drawing, Line, Path, Rect, String
from reportlab.lib.colors import black

from yieldplan.pages.paper import FOOT, HAND, font, printable, width_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

THIN, FINE, FIRM, BOLD = 0.3, 0.5, 0.8, 1.3
"""Widths of lines, in points: hatching, defects, pieces, the board itself."""

HIGH = 0.75
"""How high capitals and figures stand, in parts of the size of the type."""


class Box(NamedTuple):
    """A rectangle from its lower left to its upper right corner, in points, y up."""

    x1: float
    y1: float
    x2: float
    y2: float

    def grown(self, by: float) -> Box:
        """Return the box, larger by ``by`` on every side."""
        return Box(self.x1 - by, self.y1 - by, self.x2 + by, self.y2 + by)

    def meets(self, other: Box) -> bool:
        """Return whether the two boxes overlap."""
        return self.x1 < other.x2 and other.x1 < self.x2 and self.y1 < other.y2 and other.y1 < self.y2


Stroke = tuple[float, float, float, float]
"""A straight line from one point to another."""

SHORTEST = 0.4
"""Shorter pieces of line, in points, are left out."""


def hatch(box: Box, degrees: float, spacing: float, keep_off: Sequence[Box] = ()) -> Iterator[Stroke]:
    """Yield parallel lines over a box, ``spacing`` apart, none inside the boxes to keep off.

    ``degrees`` is their angle to the horizontal, turning from right to up.
    """
    dx, dy = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    offsets = [y * dx - x * dy for x in (box.x1, box.x2) for y in (box.y1, box.y2)]
    for number in range(math.ceil(min(offsets) / spacing), math.floor(max(offsets) / spacing) + 1):
        x, y = -number * spacing * dy, number * spacing * dx  # the line's point that is nearest to the origin
        at, end = _inside(box, x, y, dx, dy)
        taken = sorted(_inside(other, x, y, dx, dy) for other in keep_off)
        for low, high in (*(one for one in taken if one[0] < one[1]), (end, end)):
            if min(low, end) - at >= SHORTEST:
                yield x + at * dx, y + at * dy, x + min(low, end) * dx, y + min(low, end) * dy
            at = max(at, high)


def _inside(box: Box, x: float, y: float, dx: float, dy: float) -> tuple[float, float]:
    """Return from where to where a line runs inside a box, in points from (x, y); from after to where it does not."""
    low, high = -math.inf, math.inf
    for place, step, near, far in ((x, dx, box.x1, box.x2), (y, dy, box.y1, box.y2)):
        if abs(step) > 1e-12:
            ends = sorted(((near - place) / step, (far - place) / step))
            low, high = max(low, ends[0]), min(high, ends[1])
        elif not near < place < far:
            return math.inf, -math.inf
    return low, high


def spread(centres: Sequence[float], widths: Sequence[float], low: float, high: float) -> list[float] | None:
    """Return left edges for labels near their centres, none touching, between two ends; None if there is no room.

    ``centres`` and the ``widths`` that belong to them stand in rising order of the centres.
    """
    gap = 5.0
    if sum(widths) + gap * max(0, len(widths) - 1) > high - low:
        return None
    lefts: list[float] = []
    for centre, width in zip(centres, widths, strict=True):
        least = lefts[-1] + widths[len(lefts) - 1] + gap if lefts else low
        lefts.append(max(least, centre - width / 2))
    limit = high
    for place in range(len(lefts) - 1, -1, -1):
        lefts[place] = min(lefts[place], limit - widths[place])
        limit = lefts[place] - gap
    return lefts


@dataclass(frozen=True, slots=True)
class Word:
    """A line of words at a place of a drawing: its left end, its base line, its size."""

    text: str
    x: float
    y: float
    size: float = HAND
    bold: bool = False

    @property
    def box(self) -> Box:
        """What it covers."""
        wide = width_of(printable(self.text), self.size, self.bold)
        return Box(self.x, self.y - 0.2 * self.size, self.x + wide, self.y + HIGH * self.size)


class Sketch:
    """A drawing to scale in black: collects shapes; hatching keeps off what was written before it."""

    def __init__(self, width: float, height: float) -> None:
        self.drawing = Drawing(width, height)
        self.words: list[Box] = []

    def rect(self, box: Box, width: float = FIRM, *, dashed: bool = False) -> None:
        """Draw the outline of a box."""
        x1, y1, x2, y2 = box
        self.drawing.add(Rect(x1, y1, x2 - x1, y2 - y1, fillColor=None, **_pen(width, dashed)))

    def line(self, stroke: Sequence[float], width: float = FIRM, *, dashed: bool = False) -> None:
        """Draw a straight line."""
        self.drawing.add(Line(*stroke, **_pen(width, dashed)))

    def strokes(self, strokes: Iterable[Stroke], width: float = THIN, *, dashed: bool = False) -> None:
        """Draw many fine lines as one shape."""
        path = Path(fillColor=None, **_pen(width, dashed))
        for x1, y1, x2, y2 in strokes:
            path.moveTo(x1, y1)
            path.lineTo(x2, y2)
        if path.points:
            self.drawing.add(path)

    def hatch(self, box: Box, angles: Sequence[float], spacing: float, off: Sequence[Box] = ()) -> None:
        """Hatch a box at some angles, off the words in it and off other boxes."""
        keep = [one for one in (*off, *(word.grown(1.0) for word in self.words)) if one.meets(box)]
        self.strokes(stroke for angle in angles for stroke in hatch(box, angle, spacing, keep))

    def write(self, word: Word) -> None:
        """Write a line of words."""
        self.words.append(word.box)
        self.drawing.add(
            String(word.x, word.y, printable(word.text), fontName=font(word.bold), fontSize=word.size)
        )

    def label(self, box: Box, texts: Sequence[str], off: Sequence[Box] = ()) -> None:
        """Write the first of some texts that stands clear in a box, at 11 pt or else at 9; nothing if none does."""
        for text in texts:
            for size in (HAND, FOOT):
                wide, high = width_of(printable(text), size), HIGH * size
                if wide + 4 > box.x2 - box.x1 or high + 2 > box.y2 - box.y1:
                    continue
                y = (box.y1 + box.y2 - high) / 2
                for x in ((box.x1 + box.x2 - wide) / 2, box.x1 + 3, box.x2 - wide - 3):
                    word = Word(text, x, y, size)
                    if not any(word.box.grown(1.0).meets(other) for other in off):
                        self.write(word)
                        return


def _pen(width: float, dashed: bool) -> dict[str, object]:
    """Return how a line is drawn, in the page maker's words."""
    return {
        "strokeColor": black,
        "strokeWidth": width,
        "strokeDashArray": [3, 2] if dashed else None,
    }
