"""Lines clipped to boxes and kept off others: hatching and growth rings that run into no text."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence


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
