"""Rings that vary across an offcut (R7), as the kernels take defects: boxes that some kinds mind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.model import Defect, ring_window

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Blank, Offcut, Shop
    from yieldplan.solve.kernel import Ints
    from yieldplan.solve.stock import StickKind

RINGS = "\0rings"
"""Kind of the boxes; nobody can type it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Barrier:
    """Part of an offcut's width whose rings do not suit some kinds lying flat, or turned (R7), as a defect all along.

    ``box`` counts as lying, once straightened, just where a strip may not reach (see
    :func:`yieldplan.model.ring_window`); ``kinds`` are those it stops.
    """

    box: Defect
    turned: bool
    kinds: frozenset[int]


MOST_BARRIERS = 4
"""Barriers for each way of lying on each side of an offcut; of more, neighbours are taken together."""


def ring_barriers(offcut: Offcut, blanks: Sequence[Blank], shop: Shop) -> tuple[tuple[Barrier, ...], bool]:
    """Return where across an offcut its rings suit which blanks not, and whether none were taken together."""
    edges: dict[tuple[bool, bool], dict[int, set[int]]] = {}
    for k, blank in enumerate(blanks):
        for turned in (False, True):
            window = ring_window(offcut, blank, turned=turned) or (0, offcut.width)  # else it has no stick
            for far, edge, none in ((False, window[0], 0), (True, window[1], offcut.width)):
                if edge != none:
                    edges.setdefault((turned, far), {}).setdefault(edge, set()).add(k)
    found = []
    for (turned, far), places in edges.items():
        row = sorted(places)
        size = -(-len(row) // MOST_BARRIERS)
        for group in (row[at : at + size] for at in range(0, len(row), size)):
            y1, y2 = (group[0], offcut.width) if far else (0, group[-1])
            box = Defect(
                kind=RINGS,
                x1=0,
                x2=offcut.length,
                y1=y1,
                y2=y2 + shop.edge_skim,
                z1=0,
                z2=offcut.thickness,
            )
            kinds = frozenset().union(*(places[edge] for edge in group))
            found.append(Barrier(box=box, turned=turned, kinds=kinds))
    return tuple(found), all(len(places) <= MOST_BARRIERS for places in edges.values())


def cares(sticks: Sequence[StickKind], barriers: Sequence[Barrier], defects: int) -> Ints:
    """Return for each kind of stick the set of defects and barriers that matter to it."""
    every = (1 << defects) - 1
    return np.array(
        [
            every | sum(1 << at for at, b in enumerate(barriers, defects) if b.turned == stick.turned)
            for stick in sticks
        ],
        np.int64,
    )
