"""Stand-bys: which untouched board could take the place of a drawn one, should it fail."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from yieldplan.model import Giver, worth

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Job, Offcut
    from yieldplan.order.margins import Margin


def with_stand_bys(job: Job, margins: Sequence[Margin], left: Sequence[Offcut]) -> tuple[Margin, ...]:
    """Return the margins, each with the untouched board of least worth that gives every kind of blank of its board.

    Kinds are asked for one by one: it may not give as many. The same board may stand by for several.
    """
    shop = job.shop
    spare = sorted(left, key=lambda one: (worth(one.length, one.width, one.thickness, shop), one.name))
    givers = [Giver(offcut, shop) for offcut in spare]
    kinds: dict[str, set[str]] = {}
    for margin in margins:
        kinds.setdefault(margin.root, set()).add(margin.blank)

    @cache
    def gives(place: int, blank: str) -> bool:
        return givers[place].why_not(job.blank(blank)) is None

    named = {
        root: next(
            (
                offcut.name
                for place, offcut in enumerate(spare)
                if all(gives(place, blank) for blank in blanks)
            ),
            "",
        )
        for root, blanks in kinds.items()
    }
    return tuple(replace(margin, stand_by=named[margin.root]) for margin in margins)
