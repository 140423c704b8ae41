"""Figures as they are read at the machine: on the shop's grid, rounded to the safe side.

Every figure of the cutting order lies on the grid (1/32 in, 0.5 mm, or the shop's own), so what is shown is
exactly what is meant. A plan's exact place that falls between two marks is moved

- inward for a piece between two crosscuts, so that it never reaches into a defect or its neighbour; the
  loss, less than a mark at each end, comes out of the length allowance; where that is too small for it, to
  the nearest mark;
- down for the rough size of a piece, but never below what its finished size needs; the planing allowance
  bears it;
- up for a finished size, and for what a billet must still measure;
- down for a keeper.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """The marks that figures lie on, every ``step`` steps of 1/320 mm."""

    step: int

    def down(self, value: int) -> int:
        """Return the mark at or below ``value``."""
        return value // self.step * self.step

    def up(self, value: int) -> int:
        """Return the mark at or above ``value``."""
        return -(-value // self.step) * self.step

    def near(self, value: int) -> int:
        """Return the nearest mark, the upper one of two."""
        return self.down(value + self.step // 2)

    def span(self, start: int, end: int, need: int) -> tuple[int, int]:
        """Return marks inside ``start`` to ``end``; if ``need`` asks for more, from the nearest mark on."""
        low, high = self.up(start), self.down(end)
        if high - low >= need:
            return low, high
        low = self.near(start)
        return low, low + self.up(need)

    def rough(self, size: int, planed: int) -> int:
        """Return the mark for a rough size: below it, but not below what it is planed to."""
        return max(self.down(size), self.up(planed))
