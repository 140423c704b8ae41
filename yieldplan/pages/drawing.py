"""What the drawings on the cards share: lines, boxes, words that keep off each other, hatching, scales."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.graphics.shapes import Drawing, Line, Path, Rect, String
from reportlab.lib.colors import black

from yieldplan.pages.paper import FOOT, HAND, font, printable, width_of
from yieldplan.pages.shapes import Box, hatch

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.pages.shapes import Stroke

THIN, FINE, FIRM, BOLD = 0.3, 0.5, 0.8, 1.3
"""Widths of lines, in points: hatching, defects, pieces, the board itself."""

HIGH = 0.75
"""How high capitals and figures stand, in parts of the size of the type."""


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
