"""What stations are set out from: a run along the boat, what was measured along it, what stands in the way.

Every position and length is an exact number of steps (1/320 mm), seldom whole: nothing is rounded before the marks on
the tape list and the lengths on Blanks are.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


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

    Attributes
    ----------
    from_start, from_end
        How far from that end of the run the first or the last frame stands; None: no frame stands at that end, and
        the space next to it begins at the end itself (a stem, a transom, a mould).
    siding
        How much of the run a frame takes; its mark is the face nearer the start.
    spacing, spaces
        The largest distance from mark to mark that is wanted, or how many spaces; one of the two is None.
    sides
        How many of each frame the boat has: 2 where there is one to port and one to starboard.
    allowance
        What is added to each length for fitting.
    blank
        The row of Blanks that the lengths go to; empty: only the marks are wanted.
    points
        Rising by place; none where no lengths are wanted.
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
