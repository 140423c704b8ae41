"""Lines set in columns of one height: what they stand under is said again where a column or page parts them."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable

from yieldplan.pages.paper import height_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.pages.paper import Para

GAP = 14.0
"""Between the columns, in points."""

STEP = 2.0
"""Columns are made higher by so many points until all finds room."""

FEWEST = 4
"""So many lines go on to a further page at least, if that makes the columns little lower."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One paragraph: ``above`` is never parted from it.

    ``again`` stands above what is left of it in a further column; without ``above`` above all of it.
    """

    text: Para
    above: tuple[Para, ...] | None = None
    again: tuple[Para, ...] = ()


class Columns(Flowable):  # type: ignore[misc] # the page maker has no types
    """Sets lines in columns, as high as one another where they all find room on the page."""

    def __init__(self, lines: Sequence[Line], count: int, laid: Sequence[Sequence[Para]] = ()) -> None:
        super().__init__()
        self.lines, self.count, self.laid = lines, count, laid

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return its width and the least height at which all finds room; more than there is where it does not."""
        self.wide = (width + GAP) / self.count - GAP
        whole = sum(height_of((*(line.above or ()), line.text), self.wide) for line in self.lines)
        high, rest = min(whole / self.count, height), self.lines
        if self.lines:
            self.laid, rest = self._laid(high)
        while rest and high < height:
            high = min(high + STEP, height)
            self.laid, rest = self._laid(high)
        self.high = max((height_of(column, self.wide) for column in self.laid), default=0.0)
        return width, height + 1.0 if rest else self.high

    def split(self, width: float, height: float) -> list[Flowable]:
        """Return what finds room in a height, and the rest; nothing where the first line finds none."""
        self.wide = (width + GAP) / self.count - GAP
        for lower in (0.0, 20.0, 40.0, 60.0):
            laid, rest = self._laid(height - lower)
            if laid[0] and len(rest) >= FEWEST:
                break
        else:
            laid, rest = self._laid(height)
        return [Columns((), self.count, laid), Columns(rest, self.count)] if laid[0] else []

    def draw(self) -> None:
        """Draw the columns side by side, each from the top."""
        for number, column in enumerate(self.laid):
            y = self.high
            for one in column:
                _, high = one.wrap(self.wide, self.high)
                y -= one.getSpaceBefore() + high
                one.drawOn(self.canv, number * (self.wide + GAP), y)
                y -= one.getSpaceAfter()

    def _laid(self, high: float) -> tuple[list[list[Para]], list[Line]]:
        """Return what stands in each column of a height, and the lines that find no room; long ones are parted."""
        left, columns = deque(self.lines), []
        for _ in range(self.count):
            column: list[Para] = []
            room = high
            while left:
                line = left.popleft()
                above = line.above if line.above is not None else () if column else line.again
                found = [*above, line.text]
                need = height_of(found, self.wide)
                if need > room:
                    rest = room - height_of(found[:-1], self.wide)
                    parts = line.text.split(self.wide, rest)
                    left.extendleft(Line(text=part, again=line.again) for part in reversed(parts[1:]))
                    if len(parts) < 2:
                        left.appendleft(line)
                        break
                    found[-1] = parts[0]
                    need = room
                column += found
                room -= need
            columns.append(column)
        return columns, list(left)
