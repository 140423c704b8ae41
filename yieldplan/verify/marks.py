"""Every length of a plan is a whole number of marks: what no rule can show is not planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import Billet

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import OffcutPlan, Plan
    from yieldplan.verify.breach import Notebook

Length = tuple[str, str, int]
"""Place, what it is, and the length in steps."""


def check_marks(notes: Notebook, plan: Plan) -> None:
    """Check the plan's mark against the shop's, and every length of the plan against that."""
    mark = notes.shop.mark
    if plan.mark != mark:
        notes.note(
            "marks",
            "plan",
            f"its mark is said to be {notes.size(plan.mark)}; the shop works to {notes.size(mark)}",
        )
    for drawn in plan.offcuts:
        for where, what, steps in _lengths(drawn):
            if steps % mark:
                notes.note(
                    "marks",
                    where,
                    f"its {what} is {notes.size(steps)}, no whole number of marks of {notes.size(mark)}",
                )


def _lengths(drawn: OffcutPlan) -> Iterator[Length]:
    for number, billet in enumerate(drawn.billets, 1):
        where = f"offcut {drawn.offcut}, billet {number}"
        yield where, "start", billet.start
        yield where, "end", billet.end
        if isinstance(billet, Billet):
            yield from _of_layout(where, billet)
            continue
        yield where, "split", billet.split
        for word, half in zip(("near half", "far half"), billet.halves, strict=False):
            if half is not None:
                yield from _of_layout(f"{where}, {word}", half)


def _of_layout(where: str, billet: Billet) -> Iterator[Length]:
    yield where, "face loss", billet.face_loss
    yield where, "edge loss", billet.edge_loss
    for number, strip in enumerate(billet.strips, 1):
        place = f"{where}, strip {number}"
        yield place, "start", strip.start
        yield place, "end", strip.end
        for at, stick in enumerate(strip.sticks, 1):
            yield f"{place}, stick {at}", "start", stick.start
            yield f"{place}, stick {at}", "end", stick.end
            for n, cut in enumerate(stick.blanks, 1):
                yield f"{place}, stick {at}, blank {cut.blank} ({n})", "start", cut.start
                yield f"{place}, stick {at}, blank {cut.blank} ({n})", "end", cut.end
