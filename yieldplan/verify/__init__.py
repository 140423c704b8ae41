"""The recheck: a plan against R1-R11, its account of wood, its work and its own claims.

It shares nothing with the solver, and of the model only the data types and the table of species, so that a mistake
there is not repeated here: losses, sections, leftovers, passes and prices are worked out anew. Of the normal form (R12)
nothing is asked: a right plan is right wherever its pieces lie. Whatever a plan file can hold, the answer is a list
of breaches, never an exception.
"""

from __future__ import annotations

import sys
from collections import Counter
from types import ModuleType
from typing import TYPE_CHECKING

from yieldplan.verify.breach import Breach, Notebook
from yieldplan.verify.claims import check_counts, check_pairs, check_proof
from yieldplan.verify.cuts import check_offcut
from yieldplan.verify.reckoning import Reckoning

if TYPE_CHECKING:
    from yieldplan.model import Job, Plan

__all__ = ["Breach", "verify"]


def verify(job: Job, plan: Plan, *, cuts_alone: bool = False) -> tuple[Breach, ...]:
    """Return everything that is wrong with a plan for a job; nothing where it is right.

    In the order of the plan's offcuts and their pieces; then counts, account, work and proof. ``cuts_alone`` asks how
    boards are cut, marks and R1 to R10, and nothing else: the plan may have been made for an earlier input.
    """
    pile, times = {offcut.name: offcut for offcut in job.offcuts}, Counter[tuple[str, int]]()
    notes = Notebook(shop=job.shop, blanks={blank.name: blank for blank in job.blanks})
    reckoning = Reckoning(notes)
    if plan.input_sha256 != job.sha256 and not cuts_alone:
        made = f"it was made for an input of fingerprint {plan.input_sha256 or 'none'} ({plan.input_name})"
        notes.note("input", f"{made}; this input, {job.name}, has {job.sha256 or 'none'}")
    notes.sized("marks", "mark", plan.mark, job.shop.mark)
    for drawn in plan.offcuts:
        here, offcut = notes.at(f"offcut {drawn.offcut} copy {drawn.copy}"), pile.get(drawn.offcut)
        if offcut is None:
            here.note("input", "the pile has no offcut of this name")
            continue
        check_offcut(here, offcut, drawn)
        if cuts_alone:
            continue
        times[drawn.offcut, drawn.copy] += 1
        if not 1 <= drawn.copy <= offcut.qty:
            here.note("input", f"the pile has copies 1 to {offcut.qty} of it")
        if times[drawn.offcut, drawn.copy] > 1:
            here.note("input", "it is cut up twice; a piece can be drawn only once")
        if not any(True for _ in drawn.blanks):
            here.note("counts", "no blank is cut from it; an offcut is drawn only for one")
        reckoning.add_offcut(offcut, drawn)
    if not cuts_alone:
        check_counts(notes, job, plan)
        check_pairs(notes, job, plan)
        reckoning.check_account(plan)
        check_proof(notes, job, plan, net=reckoning.net_worth, work=reckoning.check_work(plan))
    return tuple(notes.found)


class _Room(ModuleType):
    """Package that can be called as its function, for ``from yieldplan import verify`` finds the package."""

    def __call__(self, job: Job, plan: Plan) -> tuple[Breach, ...]:
        """Return :func:`verify` of the two."""
        return verify(job, plan)


sys.modules[__name__].__class__ = _Room
