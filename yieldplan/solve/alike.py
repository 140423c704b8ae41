"""A plan as much like an old one as may be without costing much more, so that cards which are printed still hold.

The old cuttings, with what was missing cut out of the other boards, are where the search begins. When it has ended, one
more board at a time is cut as before and what is wanted then out of the others, within a share of the least cost that
was found. Bound and fewest missing are the search's own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model.recut import as_cut, cards_that_hold, nameless, untouched
from yieldplan.solve.assemble import without_surplus
from yieldplan.solve.incumbent import drawn_of, incumbent_of
from yieldplan.solve.search import Search

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Job, OffcutPlan
    from yieldplan.solve.budget import Budget

WITHIN = 100
"""Likeness may cost one part in so many of the least cost that was found."""


def still_wanted(job: Job, old: Iterable[OffcutPlan]) -> tuple[OffcutPlan, ...]:
    """Return old drawings for which the pile has the board and the batch wants every blank, as if none was a spare."""
    wanted = Counter({blank.name: blank.need + blank.spare for blank in job.blanks})
    copies = Counter({offcut.name: offcut.qty for offcut in job.offcuts})
    found = []
    for drawn in old:
        cut = Counter(blank.blank for blank in drawn.blanks)
        if copies[drawn.offcut] and all(wanted[name] >= count for name, count in cut.items()):
            copies[drawn.offcut] -= 1
            wanted -= cut
            found.append(as_cut(drawn))
    return tuple(found)


def without(job: Job, drawn: Sequence[OffcutPlan]) -> Job:
    """Return what is left of a job when these boards are cut: other boards, and blanks that are wanted still."""
    cut = Counter(blank.blank for piece in drawn for blank in piece.blanks)
    blanks = tuple(
        replace(
            blank,
            need=max(blank.need - cut[blank.name], 0),
            spare=max(min(blank.spare, blank.need + blank.spare - cut[blank.name]), 0),
        )
        for blank in job.blanks
    )
    return replace(job, blanks=blanks, offcuts=untouched(job, drawn))


def completed(
    job: Job, kept: tuple[OffcutPlan, ...], budget: Budget, at: int | None
) -> tuple[OffcutPlan, ...]:
    """Return what is kept, and what else is wanted cut out of the other boards."""
    rest = without(job, kept)
    if not any(blank.need + blank.spare for blank in rest.blanks):
        return kept
    search = Search(rest, budget, at=at)
    search.run()
    return (*kept, *(drawn_of(search.classes, search.incumbent.columns) if search.incumbent else ()))


def most_alike(search: Search, old: tuple[OffcutPlan, ...], budget: Budget) -> tuple[OffcutPlan, ...]:
    """Return the drawings of a search that has ended, those of a plan as near to the old one as its cost allows.

    They become the incumbent of the search.
    """
    best = search.incumbent
    if best is None:
        return ()
    most = best.cost + best.cost // WITHIN

    def rank(drawn: tuple[OffcutPlan, ...]) -> tuple[bool, int, int]:
        found = incumbent_of(search.batch, search.classes, search.problem, drawn)
        alike = len(cards_that_hold(old, drawn))
        return found.missing > best.missing or found.cost > most, -alike, found.cost

    drawn = min(drawn_of(search.classes, best.columns), without_surplus(search.job, search.start), key=rank)
    for number, more in enumerate(old):
        kept = (*(piece for piece in drawn if cards_that_hold(old, (piece,))), more)
        if not budget.out() and len(cards_that_hold(kept, old)) == len(kept):
            part = budget.part(budget.left / (len(old) - number))
            trial = completed(search.job, kept, part, at=search.at)
            drawn = min(drawn, without_surplus(search.job, trial), key=rank)
    search.incumbent = incumbent_of(search.batch, search.classes, search.problem, drawn)
    return _numbered(search.job, old, drawn)


def _numbered(job: Job, old: Sequence[OffcutPlan], drawn: Sequence[OffcutPlan]) -> tuple[OffcutPlan, ...]:
    """Return drawings with their copies told apart: those cut as before keep the number of their card if they can."""
    found: list[OffcutPlan] = []
    for offcut in job.offcuts:
        here = [nameless(piece) for piece in drawn if piece.offcut == offcut.name]
        free = set(range(1, offcut.qty + 1))
        for before in old:
            if before.offcut == offcut.name and before.copy in free and nameless(before) in here:
                here.remove(nameless(before))
                free.remove(before.copy)
                found.append(before)
        found += (replace(piece, copy=copy) for piece, copy in zip(here, sorted(free), strict=False))
    return tuple(found)
