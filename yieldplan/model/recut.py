"""What is cut: with other blanks on its sticks, as another plan cuts it too, and what it leaves of a pile."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model.plan import Billet

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model.pile import Job, Offcut
    from yieldplan.model.plan import CutBlank, OffcutPlan, SplitBillet


def untouched(job: Job, drawn: Iterable[OffcutPlan]) -> tuple[Offcut, ...]:
    """Return the rows of a pile from which pieces are left when these are drawn, with how many."""
    used = Counter(piece.offcut for piece in drawn)
    left = (replace(offcut, qty=offcut.qty - used[offcut.name]) for offcut in job.offcuts)
    return tuple(offcut for offcut in left if offcut.qty > 0)


def refilled(drawn: Sequence[OffcutPlan], rows: Iterable[Sequence[CutBlank]]) -> tuple[OffcutPlan, ...]:
    """Return drawings whose sticks, in order, carry these blanks; a stick that carries none goes, and what it was in.

    Rows are asked for as the sticks come.
    """
    each = iter(rows)

    def layout(billet: Billet | None) -> Billet | None:
        strips = []
        for strip in billet.strips if billet else ():
            anew = [replace(stick, blanks=tuple(next(each))) for stick in strip.sticks]
            if sticks := tuple(stick for stick in anew if stick.blanks):
                strips.append(replace(strip, sticks=sticks))
        return replace(billet, strips=tuple(strips)) if billet and strips else None

    def anew(billet: Billet | SplitBillet) -> Billet | SplitBillet | None:
        if isinstance(billet, Billet):
            return layout(billet)
        near, far = map(layout, billet.halves)
        return replace(billet, halves=(near, far)) if near or far else None

    found = []
    for piece in drawn:
        billets = tuple(billet for billet in map(anew, piece.billets) if billet is not None)
        if billets:
            found.append(replace(piece, billets=billets))
    return tuple(found)


def cards_that_hold(old: Iterable[OffcutPlan], new: Iterable[OffcutPlan]) -> tuple[OffcutPlan, ...]:
    """Return the boards of a new plan that an old one cuts in the same way, whichever of their blanks are spares.

    A board goes by its name; of several like ones any may take the card. That the cutting is right for the wood as it
    is now is what the recheck of the new plan says.
    """
    before, found = Counter(map(nameless, old)), []
    for drawn in new:
        key = nameless(drawn)
        if before[key]:
            before[key] -= 1
            found.append(drawn)
    return tuple(found)


def nameless(drawn: OffcutPlan) -> OffcutPlan:
    """Return a drawing as it is on any copy of its board."""
    return replace(as_cut(drawn), copy=1)


def as_cut(drawn: OffcutPlan) -> OffcutPlan:
    """Return a drawing with no blank of it called a spare: what the saw does is the same."""
    rows = (tuple(replace(cut, spare=False) for cut in stick.blanks) for stick in drawn.sticks)
    (found,) = refilled((drawn,), rows)
    return found
