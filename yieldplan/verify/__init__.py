"""The recheck: a plan against R1-R11, its account of wood, its work and its own claims.

It shares nothing with the solver, and of the model only the data types and the table of species, so that a mistake
there is not repeated here: losses, sections, leftovers, passes and prices are worked out anew. Of the normal form (R12)
nothing is asked: a right plan is right wherever its pieces lie. Whatever the plan holds, the answer is a list of
breaches, never an exception.
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING

from yieldplan.verify.account import Ledger, check_account
from yieldplan.verify.breach import Breach, Notebook, plain
from yieldplan.verify.claims import check_proof
from yieldplan.verify.counts import check_counts
from yieldplan.verify.cuts import check_offcut
from yieldplan.verify.marks import check_marks
from yieldplan.verify.pairs import check_pairs
from yieldplan.verify.work import Tally, check_work

if TYPE_CHECKING:
    from yieldplan.model import Job, Plan

__all__ = ["Breach", "verify", "verify_cuttings"]


def verify(job: Job, plan: Plan) -> tuple[Breach, ...]:
    """Return everything that is wrong with a plan; nothing where it is right.

    Parameters
    ----------
    job
        The input, as it was read.
    plan
        The plan, from the solver or from a plan file.

    Returns
    -------
    tuple of Breach
        Marks first, then in the order of the plan's offcuts and their pieces, then counts, account, work and proof.
    """
    notes = Notebook(shop=job.shop, blanks={blank.name: blank for blank in job.blanks})
    if plan.input_sha256 != job.sha256:
        notes.note(
            "input",
            "plan",
            f"it was made for an input of fingerprint {plan.input_sha256 or 'none'} ({plan.input_name}); "
            f"this input, {job.name}, has {job.sha256 or 'none'}",
        )
    check_marks(notes, plan)
    pile = {offcut.name: offcut for offcut in job.offcuts}
    ledger, tally = Ledger(notes), Tally(notes)
    seen: set[tuple[str, int]] = set()
    for drawn in plan.offcuts:
        where = f"offcut {drawn.offcut} copy {plain(drawn.copy)}"
        offcut = pile.get(drawn.offcut)
        if offcut is None:
            notes.note("input", where, "the pile has no offcut of this name")
            continue
        if not 1 <= drawn.copy <= offcut.qty:
            notes.note("input", where, f"the pile has copies 1 to {offcut.qty} of it")
        if (drawn.offcut, drawn.copy) in seen:
            notes.note("input", where, "it is cut up twice; a piece can be drawn only once")
        seen.add((drawn.offcut, drawn.copy))
        check_offcut(notes, offcut, drawn, where)
        if not any(True for _ in drawn.blanks):
            notes.note("counts", where, "no blank is cut from it; an offcut is drawn only for one")
        ledger.add_offcut(offcut, drawn)
        tally.add_offcut(offcut, drawn)
    check_counts(notes, job, plan)
    check_pairs(notes, job, plan)
    check_account(notes, plan, ledger)
    check_work(notes, plan, tally)
    check_proof(notes, job, plan, net=ledger.drawn - ledger.kept, work=tally.price(plan.price))
    return tuple(notes.found)


def verify_cuttings(job: Job, plan: Plan) -> tuple[Breach, ...]:
    """Return what is wrong with how a plan cuts its boards: marks and R1 to R10, whatever else it says.

    Nothing is asked of counts, account, work and claims: the plan may have been made for an earlier input.
    """
    notes = Notebook(shop=job.shop, blanks={blank.name: blank for blank in job.blanks})
    check_marks(notes, plan)
    pile = {offcut.name: offcut for offcut in job.offcuts}
    for drawn in plan.offcuts:
        where, offcut = f"offcut {drawn.offcut}", pile.get(drawn.offcut)
        if offcut is None:
            notes.note("input", where, "the pile has no offcut of this name")
        else:
            check_offcut(notes, offcut, drawn, where)
    return tuple(notes.found)


class _Room(ModuleType):
    """Package that can be called as its function, for ``from yieldplan import verify`` finds the package."""

    def __call__(self, job: Job, plan: Plan) -> tuple[Breach, ...]:
        """Return :func:`verify` of the two."""
        return verify(job, plan)


sys.modules[__name__].__class__ = _Room
