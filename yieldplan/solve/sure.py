"""Settings that every plan needs: those of kinds that may not all be missing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.master import MasterProblem


def sure_planers(batch: Batch, classes: Sequence[OffcutClass], problem: MasterProblem) -> frozenset[int]:
    """Return planer settings that every plan uses: all sticks of a kind that must be made have them."""
    found: set[int] = set()
    for kind in range(len(batch.blanks)):
        rows = [
            one.wood.types[(one.wood.fits[:, one.kinds == kind] >= -1).any(axis=1), 6:] for one in classes
        ]
        for used in map(set, np.concatenate(rows).T.tolist() if not _may_all_miss(problem, [kind]) else ()):
            found |= used if len(used) == 1 else set()
    return frozenset(found)


def sure_stops(batch: Batch, problem: MasterProblem) -> int:
    """Return how many stop settings every plan needs."""
    lengths: dict[int, list[int]] = {}
    for kind, blank in enumerate(batch.blanks):
        lengths.setdefault(blank.length, []).append(kind)
    return sum(not _may_all_miss(problem, kinds) for kinds in lengths.values())


def _may_all_miss(problem: MasterProblem, kinds: Sequence[int]) -> bool:
    """Return whether a plan that keeps the limits may make none of some kinds."""
    missed = 0
    for aim, members in enumerate(problem.aims):
        most = sum(problem.can_miss(aim, kind) for kind in kinds if kind in members)
        limit = problem.limits[aim]
        missed += most if limit is None else min(most, limit)
    return missed >= sum(problem.wanted[kind] for kind in kinds)
