"""From a plan to its cutting order: what is done at each machine, in working order, as data."""

from __future__ import annotations

import hashlib
from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.model import Billet, SplitBillet, dump_plan
from yieldplan.order.data import Machine, Order, Sheet, Stage
from yieldplan.order.marks import Marks, segment_mark
from yieldplan.order.wood import planer_settings, wood_sentences
from yieldplan.order.worker import OffcutWorker, Workshop

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldplan.model import Job, Offcut, Plan
    from yieldplan.order.data import Line

_MACHINES = tuple(Machine)
_STAGES = tuple(Stage)


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
    workshop = Workshop(job, marks)
    workers = []
    for drawn in plan.offcuts:
        worker = OffcutWorker(workshop, job.offcut(drawn.offcut), marks.root(drawn.offcut, drawn.copy))
        for number, segment in enumerate(drawn.segments, 1):
            if isinstance(segment, Billet):
                worker.billet(segment, segment_mark(number))
            elif isinstance(segment, SplitBillet):
                worker.split_billet(segment, segment_mark(number))
            else:
                worker.whole_keeper(segment, segment_mark(number))
        workers.append(worker)
    taken = Counter(drawn.offcut for drawn in plan.offcuts)
    left = tuple(
        (offcut, offcut.qty - taken[offcut.name]) for offcut in job.offcuts if offcut.qty > taken[offcut.name]
    )
    return Order(
        job=job,
        plan=plan,
        fingerprint=hashlib.sha256(dump_plan(plan)).hexdigest()[:8],
        sign=marks.sign,
        copy_sign=marks.copy_sign,
        sheets=_sheets(workshop.lines),
        cards=tuple(worker.card() for worker in workers),
        blanks=tuple(piece for worker in workers for piece in worker.blanks),
        keepers=tuple(piece for worker in workers for piece in worker.keepers),
        left=left,
        notes=wood_sentences(job, _once(worker.offcut for worker in workers)) if workers else (),
        settings=planer_settings(workshop.sticks, job.shop, workshop.grid),
        margins=tuple(
            sorted(
                (margin for worker in workers for margin in worker.margins),
                key=lambda margin: margin.tightest,
            )
        ),
    )


def _once(offcuts: Iterable[Offcut]) -> list[Offcut]:
    return list({offcut.name: offcut for offcut in offcuts}.values())


def _sheets(lines: list[tuple[Stage, Machine, int | None, Line]]) -> tuple[Sheet, ...]:
    """Return the sheets by stage, machine and falling setting; lines keep their order."""
    grouped: dict[tuple[int, int, int], list[Line]] = {}
    for stage, machine, setting, line in lines:
        key = (_STAGES.index(stage), _MACHINES.index(machine), -(setting or 0))
        grouped.setdefault(key, []).append(line)
    return tuple(
        Sheet(
            stage=_STAGES[stage],
            machine=_MACHINES[machine],
            setting=-setting or None,
            lines=tuple(grouped[stage, machine, setting]),
        )
        for stage, machine, setting in sorted(grouped)
    )
