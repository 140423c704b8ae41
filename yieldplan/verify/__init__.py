"""The recheck: a plan against R1-R11, the account of wood and its own claims.

It shares nothing with the solver but the data types and the two losses of R3, so that a mistake there is not
repeated here. Whatever the plan holds, the answer is a list of breaches, never an exception.
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING

from yieldplan.verify.breach import Breach, Notebook, plain
from yieldplan.verify.cuts import check_offcut
from yieldplan.verify.figures import Tally, check_account, check_counts, check_proof

if TYPE_CHECKING:
    from yieldplan.model import Job, OffcutPlan, Plan

__all__ = ["Breach", "verify"]


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
        In the order of the plan's offcuts and their pieces, then counts, account and proof.
    """
    notes = Notebook(shop=job.shop, blanks={blank.name: blank for blank in job.blanks})
    if plan.input_sha256 != job.sha256:
        notes.note(
            "input",
            "plan",
            f"it was made for an input of fingerprint {plan.input_sha256 or 'none'} ({plan.input_name}); "
            f"this input, {job.name}, has {job.sha256 or 'none'}",
        )
    pile = {offcut.name: offcut for offcut in job.offcuts}
    tally = Tally(notes)
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
        _check_needed(notes, drawn, where)
        tally.add_offcut(offcut, drawn.segments)
    check_counts(notes, job, plan)
    check_account(notes, plan, tally)
    check_proof(notes, plan, tally)
    return tuple(notes.found)


def _check_needed(notes: Notebook, drawn: OffcutPlan, where: str) -> None:
    pieces = (
        piece
        for billet in drawn.billets
        for strip in billet.strips
        for stick in strip.sticks
        for piece in stick.blanks
    )
    if all(piece.extra for piece in pieces):
        notes.note("counts", where, "it gives no needed blank; an extra never draws an offcut")


class _Room(ModuleType):
    """Package that can be called as its function, for ``from yieldplan import verify`` finds the package."""

    def __call__(self, job: Job, plan: Plan) -> tuple[Breach, ...]:
        """Return :func:`verify` of the two."""
        return verify(job, plan)


sys.modules[__name__].__class__ = _Room
