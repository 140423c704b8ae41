"""Made, spare and missing blanks against the plan's own cuts, needs and wanted spares, and pairs (R10)."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.verify.boxes import same_word
from yieldplan.verify.breach import plain

if TYPE_CHECKING:
    from yieldplan.model import Job, OffcutPlan, Plan
    from yieldplan.verify.breach import Notebook

Cut = Counter[tuple[str, bool]]
"""How many blanks are cut, by name and by whether they are spares."""


def count_cuts(plan: Plan) -> Cut:
    """Return how many blanks the plan cuts."""
    return Counter((cut.blank, bool(cut.spare)) for drawn in plan.offcuts for cut in drawn.blanks)


def check_counts(notes: Notebook, job: Job, plan: Plan) -> None:
    """Compare made, spare and missing with the blanks that the plan cuts, with needs and wanted spares."""
    cut = count_cuts(plan)
    lists = {"made": plan.made, "spare": plan.spare, "missing": plan.missing}
    for word, listed in lists.items():
        _check_list(notes, word, listed)
    for blank in job.blanks:
        here, made, spare = notes.at(f"blank {blank.name}"), cut[blank.name, False], cut[blank.name, True]
        for word, count in zip(lists, (made, spare, blank.need - made), strict=True):
            stated = dict(lists[word]).get(blank.name, count)
            if stated != count:
                gives = f"the plan's cuts give {count}"
                here.note("counts", f"{plain(stated)} are said to be {word}; {gives}")
        if made > blank.need:
            here.note("counts", f"{made} are cut as needed; only {blank.need} are")
        if spare > blank.spare:
            here.note("counts", f"{spare} spares are cut; only {blank.spare} are wanted")
        if spare and made < blank.need:
            here.note(
                "counts", f"{spare} are cut as spares while {blank.need - made} needed ones are missing"
            )


def _check_list(notes: Notebook, word: str, listed: tuple[tuple[str, int], ...]) -> None:
    """Check that a list has every kind of blank of the batch once, and no other."""
    times = Counter(name for name, _ in listed)
    for name in dict.fromkeys((*times, *notes.blanks)):
        here = notes.at(f"blank {name}")
        if name not in notes.blanks:
            here.note("counts", f"it is listed under {word}; the input asks for no such blank")
        elif times[name] != 1:
            here.note("counts", f"it is listed {times[name]} times under {word}; expected once")


def pairs_cut(notes: Notebook, drawn: OffcutPlan) -> Counter[str]:
    """Return how many blanks a board gives of each kind that is made in pairs, by name."""
    names = (cut.blank for cut in drawn.blanks)
    return Counter(name for name in names if name in notes.blanks and notes.blanks[name].pairs)


def check_pairs(notes: Notebook, job: Job, plan: Plan) -> None:
    """Check that each blank of such a kind has its like in species, but for one where need or spare is odd (R10)."""
    woods = {offcut.name: same_word(offcut.species) for offcut in job.offcuts}
    made = Counter[tuple[str, str]]()
    for drawn in plan.offcuts:
        if drawn.offcut in woods:
            for name, count in pairs_cut(notes, drawn).items():
                made[name, woods[drawn.offcut]] += count
    for blank in job.blanks:
        odd = [
            f"{count} of {wood or 'no species'}"
            for (name, wood), count in made.items()
            if name == blank.name and count % 2
        ]
        alone = 1 if blank.need % 2 or blank.spare % 2 else 0
        if len(odd) > alone:
            may = "one may stand alone" if alone else "none may stand alone"
            notes.at(f"blank {blank.name}").note(
                "R10", f"it is made in pairs of one species; {', '.join(odd)} are cut, {may}"
            )
