"""What is made, spare and missing, counted afresh."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.verify.breach import plain

if TYPE_CHECKING:
    from yieldplan.model import Blank, Job, Plan
    from yieldplan.verify.breach import Notebook

Cut = Counter[tuple[str, bool]]
"""How many blanks are cut, by name and by whether they are spares."""


def count_cuts(plan: Plan) -> Cut:
    """Return how many blanks the plan cuts."""
    return Counter((cut.blank, bool(cut.spare)) for drawn in plan.offcuts for cut in drawn.blanks)


def check_counts(notes: Notebook, job: Job, plan: Plan) -> None:
    """Compare made, spare and missing with the blanks that the plan cuts, with needs and wanted spares."""
    cut = count_cuts(plan)
    said = {
        word: _table(notes, job, word, pairs)
        for word, pairs in (("made", plan.made), ("spare", plan.spare), ("missing", plan.missing))
    }
    for blank in job.blanks:
        made, spare = cut[blank.name, False], cut[blank.name, True]
        for word, count in (("made", made), ("spare", spare), ("missing", blank.need - made)):
            stated = said[word].get(blank.name)
            if stated is not None and stated != count:
                notes.note(
                    "counts",
                    f"blank {blank.name}",
                    f"{plain(stated)} are said to be {word}; the plan's cuts give {count}",
                )
        _check_wanted(notes, blank, made, spare)


def _check_wanted(notes: Notebook, blank: Blank, made: int, spare: int) -> None:
    where = f"blank {blank.name}"
    if made > blank.need:
        notes.note("counts", where, f"{made} are cut as needed; only {blank.need} are")
    if spare > blank.spare:
        notes.note("counts", where, f"{spare} spares are cut; only {blank.spare} are wanted")
    if spare and made < blank.need:
        notes.note(
            "counts", where, f"{spare} are cut as spares while {blank.need - made} needed ones are missing"
        )


def _table(notes: Notebook, job: Job, word: str, pairs: tuple[tuple[str, int], ...]) -> dict[str, int]:
    known = {blank.name for blank in job.blanks}
    times = Counter(name for name, _ in pairs)
    for name, count in times.items():
        if name not in known:
            notes.note(
                "counts", f"blank {name}", f"it is listed under {word}; the input asks for no such blank"
            )
        elif count > 1:
            notes.note("counts", f"blank {name}", f"it is listed {count} times under {word}; expected once")
    for blank in job.blanks:
        if blank.name not in times:
            notes.note(
                "counts", f"blank {blank.name}", f"it is not listed under {word}; expected every blank"
            )
    return dict(pairs)
