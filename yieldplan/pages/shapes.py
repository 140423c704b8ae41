"""Lines clipped to boxes and kept off others: hatching and growth rings that run into no text."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence


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


class Stroke(NamedTuple):
    """A straight line from one point to another."""

    x1: float
    y1: float
    x2: float
    y2: float


SHORTEST = 0.4
"""Shorter pieces of line, in points, are left out."""


def hatch(box: Box, degrees: float, spacing: float, keep_off: Sequence[Box] = ()) -> Iterator[Stroke]:
    """Yield parallel lines over a box, none inside the boxes to keep off.

    Parameters
    ----------
    degrees
        Their angle to the horizontal, turning from right to up.
    spacing
        The distance from line to line.
    """
    angle = math.radians(degrees)
    dx, dy = math.cos(angle), math.sin(angle)
    nx, ny = -dy, dx
    corners = [(x, y) for x in (box.x1, box.x2) for y in (box.y1, box.y2)]
    offsets = [x * nx + y * ny for x, y in corners]
    reach = math.hypot(box.x2 - box.x1, box.y2 - box.y1)
    cx, cy = (box.x1 + box.x2) / 2, (box.y1 + box.y2) / 2
    along = cx * dx + cy * dy
    for number in range(math.ceil(min(offsets) / spacing), math.floor(max(offsets) / spacing) + 1):
        px, py = number * spacing * nx + along * dx, number * spacing * ny + along * dy
        line = Stroke(px - reach * dx, py - reach * dy, px + reach * dx, py + reach * dy)
        inside = _inside(line, box)
        if inside is not None:
            for low, high in _left_over(inside, (_inside(line, other) for other in keep_off)):
                stroke = _cut(line, low, high)
                if math.hypot(stroke.x2 - stroke.x1, stroke.y2 - stroke.y1) >= SHORTEST:
                    yield stroke


def _cut(line: Stroke, low: float, high: float) -> Stroke:
    dx, dy = line.x2 - line.x1, line.y2 - line.y1
    return Stroke(line.x1 + low * dx, line.y1 + low * dy, line.x1 + high * dx, line.y1 + high * dy)


def _inside(line: Stroke, box: Box) -> tuple[float, float] | None:
    """Return the part of a line inside a box, as fractions of its length (Liang-Barsky, from memory)."""
    dx, dy = line.x2 - line.x1, line.y2 - line.y1
    low, high = 0.0, 1.0
    for step, room in (
        (-dx, line.x1 - box.x1),
        (dx, box.x2 - line.x1),
        (-dy, line.y1 - box.y1),
        (dy, box.y2 - line.y1),
    ):
        if abs(step) < 1e-12:
            if room < 0:
                return None
        elif step < 0:
            low = max(low, room / step)
        else:
            high = min(high, room / step)
    return (low, high) if low < high else None


def _left_over(
    whole: tuple[float, float], taken: Iterable[tuple[float, float] | None]
) -> Iterator[tuple[float, float]]:
    at = whole[0]
    for low, high in sorted(part for part in taken if part is not None):
        if low > at:
            yield at, min(low, whole[1])
        at = max(at, high)
        if at >= whole[1]:
            return
    if at < whole[1]:
        yield at, whole[1]


def spread(centres: Sequence[float], widths: Sequence[float], low: float, high: float) -> list[float] | None:
    """Return left edges for labels near their centres, in order, none touching; None if there is no room.

    Parameters
    ----------
    centres, widths
        In rising order of their centres.
    low, high
        Where the row of labels begins and ends.
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
