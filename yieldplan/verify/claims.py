"""What a plan claims: blanks missing a class, its net worth and cost, the bound, the gap, and whether it is proven."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import SPARES
from yieldplan.verify.breach import plain
from yieldplan.verify.counts import count_cuts

if TYPE_CHECKING:
    from yieldplan.model import Job, Plan
    from yieldplan.verify.breach import Notebook

Classes = tuple[tuple[str, int], ...]


def check_proof(notes: Notebook, job: Job, plan: Plan, *, net: int, work: int) -> None:
    """Check the claims; ``net`` is the net worth and ``work`` the price of the work as they were added up here."""
    proof = plan.proof
    cost, bound = plain(proof.cost), plain(proof.bound)
    if plan.price is not None and plan.price < 0:
        notes.note("proof", f"a board foot is said to be worth {plain(plan.price)} hundredths of a minute")
    for word, said, found in (("net worth", proof.net_worth, net), ("cost", proof.cost, net + work)):
        if said != found:
            notes.note("proof", f"{word} is said to be {plain(said)}; it comes to {plain(found)}")
    if proof.bound > proof.cost:
        beats = "no bound can beat the plan it stands beside"
        notes.note("proof", f"the bound {bound} is above the cost, {cost}; {beats}")
    _check_classes(notes, job, plan)
    gap = Fraction(proof.cost - proof.bound, proof.cost) if proof.cost > 0 else Fraction(0)
    if not (math.isfinite(proof.gap) and abs(Fraction(proof.gap) - gap) <= Fraction(1, 10**9)):
        shown = f"{float(gap):.6g}" if abs(gap) < 10**300 else "beyond measure"
        notes.note("proof", f"the gap is said to be {proof.gap!r}; by the bound it is {shown}")
    known = proof.missing == proof.missing_at_least
    near = 1000 * (proof.cost - proof.bound) <= max(proof.cost, 0)
    if bool(proof.proven) != (known and near):
        word = "proven" if proof.proven else "not proven"
        notes.note(
            "proof",
            f"it is called {word} with {_said(proof.missing)} missing of at least {_said(proof.missing_at_least)}, "
            f"a cost of {cost} and a bound of {bound}; proven is no fewer missing and a gap of at most 0.001",
        )


def _check_classes(notes: Notebook, job: Job, plan: Plan) -> None:
    """Check the classes of aim 1: priorities in order, spares last; and that no bound of theirs is beaten."""
    cut, short, spares = count_cuts(plan), dict[int, int](), 0
    for blank in job.blanks:
        short[blank.priority] = short.get(blank.priority, 0) + max(blank.need - cut[blank.name, False], 0)
        spares += max(blank.spare - cut[blank.name, True], 0)
    found = (*((str(priority), short[priority]) for priority in sorted(short)), (SPARES, spares))
    said, least = plan.proof.missing, plan.proof.missing_at_least
    if said != found:
        notes.note(
            "proof", f"missing a class are said to be {_said(said)}; the plan's cuts give {_said(found)}"
        )
    if [name for name, _ in least] != [name for name, _ in found]:
        notes.note("proof", f"bounds are claimed for {_said(least)}; the classes are {_said(found)}")
    for (_, bound), one in zip(least, found, strict=False):
        if bound > one[1]:
            beats = f"which beats the bound that is claimed, {plain(bound)}"
            rule = "no bound can be beaten by the plan it stands beside"
            notes.note("proof", f"{_said((one,))} are missing, {beats}; {rule}")


def _said(classes: Classes) -> str:
    """Return classes in words: ``1 of class 1, 2 spares``."""
    words = (f"{plain(count)} {SPARES if name == SPARES else f'of class {name}'}" for name, count in classes)
    return ", ".join(words) or "nothing"
