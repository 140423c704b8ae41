"""What a plan claims: blanks made, spare, missing, and their pairs (R10); net worth, cost, bound, gap, and proof."""

from __future__ import annotations

import math
from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import SPARES
from yieldplan.verify.boxes import same_word

if TYPE_CHECKING:
    from yieldplan.model import Job, OffcutPlan, Plan
    from yieldplan.verify.breach import Notebook

Classes = tuple[tuple[str, int], ...]


def count_cuts(plan: Plan) -> Counter[tuple[str, bool]]:
    """Return how many blanks the plan cuts, by name and by whether they are spares."""
    return Counter((cut.blank, bool(cut.spare)) for drawn in plan.offcuts for cut in drawn.blanks)


def check_counts(notes: Notebook, job: Job, plan: Plan) -> None:
    """Compare made, spare and missing with the blanks that the plan cuts, with needs and wanted spares."""
    cut = count_cuts(plan)
    lists = {"made": plan.made, "spare": plan.spare, "missing": plan.missing}
    for word, listed in lists.items():
        times = Counter(name for name, _ in listed)
        for name in dict.fromkeys((*times, *notes.blanks)):
            here = notes.at(f"blank {name}")
            if name not in notes.blanks:
                here.note("counts", f"it is listed under {word}; the input asks for no such blank")
            elif times[name] != 1:
                here.note("counts", f"it is listed {times[name]} times under {word}; expected once")
    for blank in job.blanks:
        here, made, spare = notes.at(f"blank {blank.name}"), cut[blank.name, False], cut[blank.name, True]
        short = blank.need - made
        for word, count in zip(lists, (made, spare, short), strict=True):
            here.counted("counts", f"blanks {word}", dict(lists[word]).get(blank.name, count), count)
        if short < 0:
            here.note("counts", f"{made} are cut as needed; only {blank.need} are")
        if spare > blank.spare:
            here.note("counts", f"{spare} spares are cut; only {blank.spare} are wanted")
        if spare and short > 0:
            here.note("counts", f"{spare} are cut as spares while {short} needed ones are missing")


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
        counts = {wood or "no species": many for (name, wood), many in made.items() if name == blank.name}
        odd = [f"{count} of {wood}" for wood, count in counts.items() if count % 2]
        alone = blank.need % 2 or blank.spare % 2
        if len(odd) > alone:
            may = "one may stand alone" if alone else "none may stand alone"
            cut = f"it is made in pairs of one species; {', '.join(odd)} are cut"
            notes.at(f"blank {blank.name}").note("R10", f"{cut}, {may}")


def check_proof(notes: Notebook, job: Job, plan: Plan, *, net: int, work: int) -> None:
    """Check the claims; ``net`` is the net worth and ``work`` the price of the work as they were added up here."""
    proof = plan.proof
    cost, bound, missing, least = proof.cost, proof.bound, proof.missing, proof.missing_at_least
    if plan.price is not None and plan.price < 0:
        notes.note("proof", f"a board foot is said to be worth {plan.price} hundredths of a minute")
    notes.counted("proof", "thousandths of net worth", proof.net_worth, net)
    notes.counted("proof", "thousandths of cost", cost, net + work)
    if bound > cost:
        beats = "no bound can beat the plan it stands beside"
        notes.note("proof", f"the bound {bound} is above the cost, {cost}; {beats}")
    _check_classes(notes, job, plan)
    gap = Fraction(cost - bound, cost) if cost > 0 else Fraction(0)
    if not (math.isfinite(proof.gap) and abs(Fraction(proof.gap) - gap) <= Fraction(1, 10**9)):
        notes.note("proof", f"the gap is said to be {proof.gap!r}; by the bound it is {float(gap):.6g}")
    if bool(proof.proven) != (missing == least and 1000 * (cost - bound) <= max(cost, 0)):
        word = "proven" if proof.proven else "not proven"
        notes.note(
            "proof",
            f"it is called {word} with {_said(missing)} missing of at least {_said(least)}, a cost of {cost} "
            f"and a bound of {bound}; proven is no fewer missing and a gap of at most 0.001",
        )


def _check_classes(notes: Notebook, job: Job, plan: Plan) -> None:
    """Check the classes of aim 1: priorities in order, spares last; and that no bound of theirs is beaten."""
    cut, short, spares = count_cuts(plan), Counter[int](), 0
    for blank in job.blanks:
        short[blank.priority] += max(blank.need - cut[blank.name, False], 0)
        spares += max(blank.spare - cut[blank.name, True], 0)
    found = (*((str(priority), short[priority]) for priority in sorted(short)), (SPARES, spares))
    said, least = plan.proof.missing, plan.proof.missing_at_least
    if said != found:
        give = f"the plan's cuts give {_said(found)}"
        notes.note("proof", f"missing by class are said to be {_said(said)}; {give}")
    if [name for name, _ in least] != [name for name, _ in found]:
        notes.note("proof", f"bounds are claimed for {_said(least)}; the classes are {_said(found)}")
    for (_, bound), one in zip(least, found, strict=False):
        if bound > one[1]:
            beats = f"which beats the bound that is claimed, {bound}"
            rule = "no bound can be beaten by the plan it stands beside"
            notes.note("proof", f"{_said((one,))} are missing, {beats}; {rule}")


def _said(classes: Classes) -> str:
    """Return classes in words: ``1 of class 1, 2 spares``."""
    words = (f"{count} {SPARES if name == SPARES else f'of class {name}'}" for name, count in classes)
    return ", ".join(words) or "nothing"
