"""Seconds as counted work, so that equal runs do equal things; the clock only ends what takes far longer."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

ARC, COLUMN = 3.5e-9, 6e-4
"""Seconds that an arc of a graph, and a drawing counted anew, count for."""

PATIENCE = 2
"""Times the seconds given after which the clock ends a run, however little was counted."""


@dataclass(slots=True, kw_only=True)
class Budget:
    """How many seconds may be spent, and how many have been.

    ``parent`` is a budget that this one is a part of: what is spent here is spent there.
    """

    seconds: float
    stopped: Callable[[], bool] = lambda: False
    parent: Budget | None = None
    spent: float = 0.0
    began: float = field(default_factory=time.monotonic)

    def spend(self, seconds: float) -> None:
        """Count seconds."""
        self.spent += seconds
        if self.parent is not None:
            self.parent.spend(seconds)

    @property
    def left(self) -> float:
        """Seconds that are left, at most those of the parent."""
        own = self.seconds - self.spent
        return own if self.parent is None else min(own, self.parent.left)

    @property
    def whole(self) -> float:
        """Seconds of the run that it is a part of."""
        return self.seconds if self.parent is None else self.parent.whole

    @property
    def clock(self) -> float:
        """Seconds by the clock since it began."""
        return time.monotonic() - self.began

    def out(self) -> bool:
        """Return whether nothing is left, or the run was stopped, or the clock has run far beyond."""
        if self.parent is not None and self.parent.out():
            return True
        return self.spent >= self.seconds or self.stopped() or self.clock > PATIENCE * self.seconds + 1

    def part(self, seconds: float) -> Budget:
        """Return a part of it: at most so many seconds."""
        return Budget(seconds=max(min(seconds, self.left), 0.0), stopped=self.stopped, parent=self)
