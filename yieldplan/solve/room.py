"""How much is tried of an offcut: nearly always all that may matter; a share where a pile is so large that it must be.

A row is a billet or half that is tried, and what takes as much memory in the other tables of an offcut. The less room
the fewer places, defects and billets are told apart; then the plan is still right, and the bound goes by volume.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.solve.positions import FEW_ENDS, MOST_BILLETS, MOST_POSITIONS, MOST_STARTS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

MOST_IN_ALL = 3_200_000
"""Rows of a whole pile, about."""

LEAST = 100
"""Rows that every offcut may have, however large the pile."""

SPLIT = 36
"""Rows that a billet takes, about, that may be split before jointing."""

ROOMY = 2000
"""Rows from which it pays to try splits of boards that go over the jointer whole."""


@dataclass(frozen=True, slots=True)
class Room:
    """Rows that an offcut may have, and what follows of them."""

    rows: int = MOST_BILLETS

    def starts(self, kinds: int) -> int:
        """Return at how many places blanks may start."""
        return min(MOST_STARTS, max(LEAST // 4, 2 * self.rows // kinds))

    def ends(self) -> int:
        """Return how many starts and ends of billets are tried where starts are thinned out."""
        return min(FEW_ENDS, math.isqrt(self.rows // 4))

    @property
    def splits(self) -> bool:
        """Whether boards are split that need not be, and others at more than a few places."""
        return self.rows >= ROOMY

    def billets(self, *, split: bool) -> int:
        """Return how many billets are tried."""
        return max(LEAST // 10, self.rows // (SPLIT if split else 1))

    def positions(self, sizes: int) -> int:
        """Return at how many positions across pieces of so many sizes may start."""
        return min(MOST_POSITIONS, max(LEAST // 5, 12 * self.rows // sizes))

    def cases(self, cells: int) -> int:
        """Return how many sets of defects are told apart for which so many positions are held each."""
        return max(4, 48 * self.rows // max(cells, 1))


class Allowance:
    """The rows of a pile, shared out among its classes of like offcuts: those that need least come first.

    What one leaves of its share goes to those behind it.
    """

    def __init__(self, classes: int, rows: float) -> None:
        self.left, self.waiting = int(min(MOST_IN_ALL, rows)), classes

    def next(self) -> Room:
        """Return the room of the next class."""
        share = 3 * self.left // max(self.waiting, 1)
        self.waiting -= 1
        return Room(min(MOST_BILLETS, max(LEAST, share)))

    def turns(self, classes: Sequence[int], lacking: Callable[[int], bool]) -> Iterator[tuple[int, Room]]:
        """Yield each class and its room; then those that lack some once more, which share what is left by then."""
        for _ in range(2):
            self.waiting = len(classes)
            for one in classes:
                yield one, self.next()
            classes = [one for one in classes if lacking(one)] if self.left else []

    def take(self, rows: int) -> None:
        """Note the rows that a class has taken."""
        self.left = max(0, self.left - rows)
