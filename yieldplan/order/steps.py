"""From a plan to its cutting order: what is done at each machine, in working order, as data."""

from __future__ import annotations

import hashlib
from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.model import dump_plan
from yieldplan.order.board import Board
from yieldplan.order.data import Machine, Order, Sheet, Stage
from yieldplan.order.marks import Marks
from yieldplan.order.schedule import in_turn
from yieldplan.order.standby import with_stand_bys
from yieldplan.order.wood import planer_settings, wood_sentences

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Job, Plan
    from yieldplan.order.schedule import Cut

RISING = frozenset({Stage.STOP})
"""Short blanks first, so that a short piece always comes off a long stick; elsewhere the largest setting first."""


def cutting_order(job: Job, plan: Plan) -> Order:
    """Return the cutting order of a plan that passed the recheck.

    Parameters
    ----------
    job, plan
        The plan was made for this job.

    Raises
    ------
    KeyError
        If the plan names an offcut or a blank that the job does not have.
    """
    marks = Marks(job.offcuts)
    works = [Board(job, drawn, marks).work() for drawn in plan.offcuts]
    drawn = {work.card.offcut.name: work.card.offcut for work in works}
    taken = Counter(work.card.offcut.name for work in works)
    left = tuple(
        (offcut, offcut.qty - taken[offcut.name]) for offcut in job.offcuts if offcut.qty > taken[offcut.name]
    )
    margins = [margin for work in works for margin in work.margins]
    return Order(
        job=job,
        plan=plan,
        fingerprint=hashlib.sha256(dump_plan(plan)).hexdigest()[:8],
        sign=marks.sign,
        copy_sign=marks.copy_sign,
        sheets=_sheets([chain for work in works for chain in work.chains]),
        cards=tuple(work.card for work in works),
        keepers=tuple(piece for work in works for piece in work.keepers),
        left=left,
        notes=wood_sentences(job, list(drawn.values())) if works else (),
        settings=planer_settings([stick for work in works for stick in work.planed], job.shop),
        margins=with_stand_bys(job, sorted(margins, key=lambda one: one.tightest), [one for one, _ in left]),
    )


def _sheets(chains: Iterable[tuple[Stage, Machine, Sequence[Cut]]]) -> tuple[Sheet, ...]:
    """Return the sheets by stage, machine and setting; boards keep their order on each."""
    by_machine: dict[tuple[Stage, Machine], list[Sequence[Cut]]] = {}
    for stage, machine, cuts in chains:
        by_machine.setdefault((stage, machine), []).append(cuts)
    return tuple(
        Sheet(
            stage=stage,
            machine=machine,
            setting=group.setting,
            lines=tuple(cut.line for cut in group.cuts),
            odd=group.odd,
            again=group.again,
        )
        for stage in Stage
        for machine in Machine
        for group in in_turn(by_machine.get((stage, machine), []), min if stage in RISING else max)
    )
