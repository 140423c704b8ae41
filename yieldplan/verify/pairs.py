"""Kinds that are made in pairs: an even number of each species (R10)."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.verify.boxes import same_word

if TYPE_CHECKING:
    from yieldplan.model import CutBlank, Job, Plan
    from yieldplan.verify.breach import Notebook


def is_paired(notes: Notebook, cut: CutBlank) -> bool:
    """Return whether a blank is of a kind in pairs."""
    return cut.blank in notes.blanks and notes.blanks[cut.blank].pairs


def check_pairs(notes: Notebook, job: Job, plan: Plan) -> None:
    """Check that each blank of such a kind has its like, but for one where need or spare is odd."""
    woods = {offcut.name: same_word(offcut.species) for offcut in job.offcuts}
    made = Counter(
        (cut.blank, woods[drawn.offcut])
        for drawn in plan.offcuts
        if drawn.offcut in woods
        for cut in drawn.blanks
        if is_paired(notes, cut)
    )
    for blank in job.blanks:
        odd = [
            f"{count} of {wood or 'no species'}"
            for (name, wood), count in made.items()
            if name == blank.name and count % 2
        ]
        alone = 1 if blank.need % 2 or blank.spare % 2 else 0
        if len(odd) > alone:
            may = "one may stand alone" if alone else "none may stand alone"
            cut = f"{', '.join(odd)} are cut"
            notes.note("R10", f"blank {blank.name}", f"it is made in pairs of one species; {cut}, {may}")
