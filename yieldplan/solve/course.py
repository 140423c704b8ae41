"""Where blanks may stand against defects, and what lengths they come to, which ring limits matter: once for a class."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from yieldplan.solve.graph import Wooden


def stops_of(wood: Wooden) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return P+ and P-: where a blank may stand against a defect, behind it and before it."""
    behind, before = set(), set()
    for number, defect in enumerate(wood.defects):
        behind.add(int(defect[1]))
        before.add(int(defect[0]))
        for kind, (span, clear) in enumerate(zip(wood.spans, wood.clears, strict=True)):
            if 0 < clear < span and wood.allows[kind, number]:
                behind.add(int(defect[1] - (span - clear)))
                before.add(int(defect[0] + (span - clear)))
    return (
        np.array(sorted(x for x in behind if 0 < x < wood.length), np.int64),
        np.array(sorted(x for x in before if 0 < x < wood.length), np.int64),
    )


def sums_of(wood: Wooden, kerf: int) -> NDArray[np.int64]:
    """Return for each length the least that blanks pushed together come to and that is no less; -1 where none is."""
    reach = np.zeros(wood.length + 2, np.bool_)
    reach[0] = True
    for n in range(wood.length + 1):
        if reach[n]:
            for span in wood.spans:
                if n + span + kerf <= wood.length + 1:
                    reach[n + span + kerf] = True
    found = np.full(wood.length + 2, -1, np.int64)
    after = -1
    for length in range(wood.length + 1, -1, -1):
        if length + kerf <= wood.length + 1 and length > 0 and reach[length + kerf]:
            after = length
        found[length] = after
    return found


def outside_of(extent: int, width: int, losses: range, limits: NDArray[np.int64]) -> set[int]:
    """Return every set of ring limits that a stick of this extent across y may lie outside of, as bits."""
    if not len(limits):
        return {0}
    starts = np.arange(max(width - extent + 1, 1))
    found = {0}
    for loss in losses:
        bits = (starts[:, None] < limits[:, 0]) | (starts[:, None] + extent + loss > limits[:, 1])
        found |= set((bits @ (1 << np.arange(len(limits)))).tolist())
    return found
