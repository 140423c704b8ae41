"""How much longer to look, counted in work instead of on the clock, so that equal runs do equal things.

The kernels, the listing and the integer solver count what they do; the counts are turned into the seconds that they
took on the machine of tests/bench/RESULTS.md. The clock is asked only on a machine that is much slower.
"""

from __future__ import annotations

import time

SLOWEST = 3.0
"""How many times the seconds given a search may take on the clock; where this ends it, runs may differ."""

PRICING = 0.9e-6
"""Seconds that a unit of the kernels' work takes."""

LISTING = 0.4e-6
"""Seconds that a label takes."""

STARTING, PREPARING = 2e-3, 0.3e-5
"""Seconds that it takes to prepare an offcut, and for each of its billets and halves more."""

TRYING = 0.9e-5
"""Seconds that a billet or half takes to be prepared and priced, about: for how many there is time."""

CHOOSING = 1.5
"""Seconds that a unit of the integer solver's own work takes."""

BUILDING = 3e-5
"""Seconds that a column takes to be put before the integer solver."""

RELAXING = 1e-5
"""Seconds that a column takes in a linear relaxation."""

READING = 5e-5
"""Seconds that it takes to read a cutting back from a listing."""

SLIDING = 1.5e-2
"""Seconds that it takes to look where more of a column is kept."""

TIDYING = 5e-4
"""Seconds that it takes to look for fewer crosscuts in a column."""

TOGETHER = 0.8
"""Share of the work of two threads that shows on the clock."""


def preparing(tried: int) -> float:
    """Return the seconds that it takes to prepare an offcut with so many billets and halves."""
    return STARTING + PREPARING * tried


class Budget:
    """Seconds of work that a search may take, and what it has spent."""

    def __init__(self, seconds: float) -> None:
        self.seconds, self.spent = seconds, 0.0
        self._latest = time.monotonic() + SLOWEST * seconds

    def spend(self, seconds: float) -> None:
        """Note work done."""
        self.spent += seconds

    def left(self) -> float:
        """Return the seconds left; 0 or less where there is no more to spend."""
        return 0.0 if self.late() else self.seconds - self.spent

    def late(self) -> bool:
        """Return whether the clock has run far beyond what the work should have taken."""
        return time.monotonic() > self._latest
