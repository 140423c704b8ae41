"""A bar given back, its blanks squeezed into the sticks of the others: fewer bars, or fewer blanks missing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model.recut import refilled
from yieldplan.solve.bench import pushed_together
from yieldplan.solve.cover import cover
from yieldplan.solve.pack import LOOKED, pack, packing_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Job, OffcutPlan

Asked = tuple[tuple[int, ...], int, int]
"""Sizes of pieces, room of a bar, number of bars."""


class Squeezed(NamedTuple):
    """The drawings with more blanks on their sticks, and what was looked at: moves, and an exact question or none."""

    drawn: tuple[OffcutPlan, ...]
    looked: int
    asked: Asked | None


def squeeze(
    job: Job,
    drawn: Sequence[OffcutPlan],
    loose: Sequence[str],
    *,
    most: int,
    seed: int,
    known: set[Asked] | frozenset[Asked] = frozenset(),
) -> Squeezed:
    """Pack the blanks of drawings and the loose ones (names) anew into the sticks that there are.

    All blanks have one section, and the wood is sound and suits any of them. Sticks without a blank go. Where all
    sticks are as long, and it was not ``known`` what comes of it, :func:`cover` is asked first.
    """
    shop = job.shop
    sticks = [
        (part.start + shop.stick_trim, part.end - shop.stick_trim + shop.crosscut_kerf, stick)
        for piece in drawn
        for part in piece.jointed
        for strip in part.strips
        for stick in strip.sticks
    ]
    blanks = [job.blank(cut.blank) for _, _, stick in sticks for cut in stick.blanks]
    where = [n for n, (_, _, stick) in enumerate(sticks) for _ in stick.blanks] + [-1] * len(loose)
    blanks += map(job.blank, loose)
    spans = [blank.length + shop.length_allowance + shop.crosscut_kerf for blank in blanks]
    unit = math.gcd(*spans)
    sizes = [span // unit for span in spans]
    rooms = [(end - start) // unit for start, end, _ in sticks]
    asked: Asked | None = (tuple(sorted(sizes)), rooms[0], len(rooms))
    held: list[list[int]] | None = None
    looked = 0
    if len(set(rooms)) == 1 and asked not in known and 2 * (sum(rooms) - sum(sizes)) < rooms[0]:
        held = cover(sizes, rooms[0], len(rooms))
    else:
        asked = None
    if held is None:
        packing = packing_of(np.array(sizes), np.array(rooms), np.array(where), seed)
        pack(packing, most)
        looked = int(packing.counts[LOOKED])
        held = [np.flatnonzero(packing.best == n).tolist() for n in range(len(sticks))]
    rows = (
        pushed_together(shop, [blanks[n] for n in row], start)
        for (start, _, _), row in zip(sticks, held, strict=True)
    )
    return Squeezed(refilled(drawn, rows), looked, asked)
