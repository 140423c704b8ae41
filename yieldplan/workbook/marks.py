"""Where lengths become whole marks, and what is said of those that were not on one."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from yieldplan.measure import INCH, write
from yieldplan.model import Problem

if TYPE_CHECKING:
    from yieldplan.measure import Unit
    from yieldplan.workbook.grid import Faults

_NAMED = 3
"""How many places of rounded lengths a warning names; the rest are counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What bare numbers mean in one input and how fine its lengths are; it remembers what it rounded much.

    ``mark`` is in steps.
    """

    unit: Unit = "inch"
    mark: int = INCH // 32
    _moved: list[str] = field(default_factory=list)

    def note(self, place: str) -> None:
        """Note where a length stood that was rounded by more than half a mark."""
        self._moved.append(place)

    def report(self, file: str, faults: Faults) -> None:
        """Warn once of all lengths of the input that were rounded by more than half a mark."""
        if not self._moved:
            return
        count, mark = len(self._moved), write(self.mark, self.unit)
        places = [place.removeprefix(f"{file}, ") for place in self._moved[:_NAMED]]
        more = [f"{count - _NAMED} more"] if count > _NAMED else []
        named = " and ".join(filter(None, (", ".join((places + more)[:-1]), (places + more)[-1])))
        lengths = "a length that was" if count == 1 else f"{count} lengths that were"
        faults.warning(
            Problem(
                file=file,
                found=f"has {lengths} rounded to the safe side by more than half a mark of {mark}: {named}",
            )
        )
