"""Known answers that take longer than a test may: triplets of 60, and more carved offcuts."""

from __future__ import annotations

from typing import NamedTuple

from bars import bars, pieces, sheets
from carved import carve, triplets


class Known(NamedTuple):
    """A case with the number of offcuts that its best plan draws, by construction."""

    name: str
    sheets: dict[str, list[tuple[str | int | float, ...]]]
    drawn: int


def known() -> list[Known]:
    """Return the cases."""
    found = [
        Known(
            f"triplets, n = {number}, seed {seed}",
            sheets(bars({"1000": number // 3 + 5}, "mm"), pieces(triplets(seed, number), "mm")),
            number // 3,
        )
        for number, seed in ((30, 1), (30, 2), (60, 1), (60, 2))
    ]
    for number, seed in ((2, 2), (3, 0), (3, 1), (4, 1)):
        carved = carve(seed, number)
        found.append(
            Known(f"carved, {number} offcuts, seed {seed}", sheets(carved.offcuts, carved.blanks), number)
        )
    return found
