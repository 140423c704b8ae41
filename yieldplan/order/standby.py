"""Stand-bys: which untouched board could take the place of a drawn one, and where a lost blank could come from."""

from __future__ import annotations

from functools import cache
from itertools import islice
from typing import TYPE_CHECKING

from yieldplan.model import Giver, worth

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Job, Offcut

MOST = 3
"""How many boards are named that could give a lost blank."""


class StandBys:
    """Untouched boards and keepers, asked for blanks one by one: they may not give as many.

    Parameters
    ----------
    left
        Offcuts that are not touched.
    kept
        Keepers as boards of their own.
    """

    def __init__(self, job: Job, left: Iterable[Offcut], kept: Iterable[Offcut]) -> None:
        self._job, shop = job, job.shop

        def sorted_by_worth(pile: Iterable[Offcut]) -> list[Giver]:
            ordered = sorted(
                pile, key=lambda one: (worth(one.length, one.width, one.thickness, shop), one.name)
            )
            return [Giver(offcut, shop) for offcut in ordered]

        self._left, self._kept = sorted_by_worth(left), sorted_by_worth(kept)
        self._gives = cache(self._asked)

    def _asked(self, giver: Giver, blank: str) -> bool:
        return giver.why_not(self._job.blank(blank)) is None

    def board(self, blanks: Sequence[str]) -> str:
        """Return the untouched board of least worth that gives every one of these kinds of blank, or ``""``."""
        found = (
            giver.offcut.name for giver in self._left if all(self._gives(giver, blank) for blank in blanks)
        )
        return next(found, "")

    def sources(self, blank: str) -> tuple[str, ...]:
        """Return where a lost blank could come from: keepers first, then untouched boards, of least worth first."""
        found = (giver.offcut.name for giver in (*self._kept, *self._left) if self._gives(giver, blank))
        return tuple(islice(found, MOST))
