"""Cards of an old plan that still hold: boards that a new one cuts in the same way."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model.recut import refilled, sticks_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldplan.model.plan import OffcutPlan, Plan


def cards_that_hold(old: Plan, new: Plan) -> tuple[OffcutPlan, ...]:
    """Return the boards of a new plan that an old one cuts in the same way, whichever of their blanks are spares.

    A board goes by its name; of several like ones any may take the card. That the cutting is right for the wood as it
    is now is what the recheck of the new plan says.
    """
    before = Counter(map(nameless, old.offcuts))
    found = []
    for drawn in new.offcuts:
        key = nameless(drawn)
        if before[key]:
            before[key] -= 1
            found.append(drawn)
    return tuple(found)


def in_common(old: Iterable[OffcutPlan], new: Iterable[OffcutPlan]) -> int:
    """Return how many boards two plans cut in the same way."""
    return (Counter(map(nameless, old)) & Counter(map(nameless, new))).total()


def nameless(drawn: OffcutPlan) -> OffcutPlan:
    """Return a drawing as it is on any copy of its board."""
    return replace(as_cut(drawn), copy=1)


def as_cut(drawn: OffcutPlan) -> OffcutPlan:
    """Return a drawing with no blank of it called a spare: what the saw does is the same."""
    rows = (tuple(replace(cut, spare=False) for cut in stick.blanks) for _, stick in sticks_of(drawn))
    (found,) = refilled((drawn,), rows)
    return found
