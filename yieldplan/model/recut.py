"""What is cut: the same with other blanks on its sticks, and what it leaves untouched of a pile."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model.plan import Billet

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.model.pile import Job, Offcut
    from yieldplan.model.plan import CutBlank, OffcutPlan, SplitBillet, Stick


def untouched(job: Job, drawn: Iterable[OffcutPlan]) -> tuple[Offcut, ...]:
    """Return the rows of a pile from which pieces are left when these are drawn, with how many."""
    used = Counter(piece.offcut for piece in drawn)
    left = (replace(offcut, qty=offcut.qty - used[offcut.name]) for offcut in job.offcuts)
    return tuple(offcut for offcut in left if offcut.qty > 0)


def sticks_of(piece: OffcutPlan) -> Iterator[tuple[int, Stick]]:
    """Yield the sticks of a drawing in order, each with the number of what is jointed as one piece."""
    return (
        (number, stick)
        for number, part in enumerate(piece.jointed)
        for strip in part.strips
        for stick in strip.sticks
    )


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
