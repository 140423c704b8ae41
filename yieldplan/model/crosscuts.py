"""Crosscuts of a plan: those of an offcut into segments, and of its sticks into blanks (aim 4)."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.model.plan import billets_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model.pile import Job
    from yieldplan.model.plan import Plan, Segment


def plan_crosscuts(job: Job, plan: Plan) -> int:
    """Return how many crosscuts a whole plan takes."""
    kerf = job.shop.crosscut_kerf
    return sum(
        count_crosscuts(drawn.segments, job.offcut(drawn.offcut).length, kerf) for drawn in plan.offcuts
    )


def count_crosscuts(segments: Sequence[Segment], length: int, kerf: int) -> int:
    """Return how many crosscuts a cutting takes: on the offcut, and on every stick that carries blanks."""
    cuts = crosscuts([(s.start, s.end) for s in segments], 0, length, kerf)
    for segment in segments:
        for billet in billets_of(segment):
            for strip in billet.strips:
                for stick in strip.sticks:
                    pieces = sorted(
                        [(cut.start, cut.end) for cut in stick.blanks]
                        + [(k.start, k.end) for k in stick.keepers]
                    )
                    cuts += crosscuts(pieces, segment.start, segment.end, kerf)
    return cuts


def crosscuts(pieces: Sequence[tuple[int, int]], start: int, end: int, kerf: int) -> int:
    """Return how many crosscuts part pieces in a row from wood from ``start`` to ``end``; of neighbours one or two."""
    if not pieces:
        return 0
    between = sum(1 if after[0] - before[1] <= kerf else 2 for before, after in pairwise(pieces))
    return between + (pieces[0][0] > start) + (pieces[-1][1] < end)
