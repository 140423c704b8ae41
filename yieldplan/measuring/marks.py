"""Drawings that are laid out from the top down: lines, boxes and words, each at its place, in points."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.pages.drawing import Sketch, Word
from yieldplan.pages.paper import PROSE
from yieldplan.pages.shapes import Box

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportlab.graphics.shapes import Drawing

DROP = 0.93
"""How far below its upper edge a line of words stands, in parts of its size."""


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text whose top left corner is at ``x``, ``y``."""

    x: float
    y: float
    text: str
    size: float = PROSE
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line; ``dash`` makes it broken."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.5
    dash: bool = False


@dataclass(frozen=True, slots=True)
class Rect:
    """An unfilled rectangle, from its upper left corner ``x1``, ``y1`` to its lower right one."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.5


Mark = Text | Line | Rect


def drawing(width: float, height: float, marks: Iterable[Mark]) -> Drawing:
    """Return a drawing of marks that are placed from its upper left corner, x to the right and y down."""
    sketch = Sketch(width, height)
    for mark in marks:
        if isinstance(mark, Text):
            at = height - mark.y - DROP * mark.size
            sketch.write(Word(mark.text, mark.x, at, mark.size, mark.bold))
        elif isinstance(mark, Line):
            stroke = (mark.x1, height - mark.y1, mark.x2, height - mark.y2)
            sketch.line(stroke, mark.width, dashed=mark.dash)
        else:
            sketch.rect(Box(mark.x1, height - mark.y2, mark.x2, height - mark.y1), mark.width)
    return sketch.drawing
