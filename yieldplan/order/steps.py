"""From a plan to its cutting order, as data: what is done with each board and at each machine, in working order."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model import dump_plan
from yieldplan.model.pieces import PieceNames
from yieldplan.order.board import Board
from yieldplan.order.careful import notes_of, tight_ones
from yieldplan.order.data import Kind, Order
from yieldplan.order.explain import holding
from yieldplan.order.lists import machine_lists
from yieldplan.order.mates import marks_of
from yieldplan.order.rack import rack_of
from yieldplan.order.standby import StandBys
from yieldplan.pages.wood import wood_sentences

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Job, Plan
    from yieldplan.order.board import Worked
    from yieldplan.order.data import Card


def cutting_order(job: Job, plan: Plan, like: Plan | None = None) -> Order:
    """Return the cutting order of a plan that passed the recheck.

    Parameters
    ----------
    job, plan
        The plan was made for this job.
    like
        An older plan that it was made like: then it is said which cards still hold.

    Raises
    ------
    KeyError
        If the plan names an offcut or a blank that the job does not have.
    """
    names = PieceNames(job, plan)
    taken = Counter(drawn.offcut for drawn in plan.offcuts)
    left = tuple(
        (offcut, offcut.qty - taken[offcut.name]) for offcut in job.offcuts if offcut.qty > taken[offcut.name]
    )
    rack = tuple(kept for drawn in plan.offcuts for kept in rack_of(job, drawn, names))
    standbys = StandBys(job, [offcut for offcut, _ in left], [kept.offcut for kept in rack])
    marks = marks_of(job, plan, names)
    works = [_finished(Board(job, drawn, names, marks).worked(), job, standbys) for drawn in plan.offcuts]
    cards = tuple(work.card for work in works)
    planed = [stick for work in works for stick in work.planed]
    return Order(
        job=job,
        plan=plan,
        fingerprint=hashlib.sha256(dump_plan(plan)).hexdigest()[:8],
        cards=cards,
        lists=machine_lists(cards),
        rack=rack,
        kinds=tuple(_kinds(job, plan, cards, standbys)),
        left=left,
        margins=tuple(sorted((one for work in works for one in work.margins), key=lambda one: one.tightest)),
        notes=(*((holding(job, like, plan),) if like else ()), *wood_sentences(job, planed)),
    )


def _finished(work: Worked, job: Job, standbys: StandBys) -> Worked:
    """Return a board's work with what other boards decide, and what to be careful with."""
    name = standbys.board([blank for blank, _, _ in work.card.gives])
    margins = tuple(replace(margin, stand_by=name) for margin in work.margins)
    card = replace(work.card, tight=tight_ones(margins, job.shop), stand_by=name)
    return replace(work, card=replace(card, notes=notes_of(card, job.shop)), margins=margins)


def _kinds(job: Job, plan: Plan, cards: Sequence[Card], standbys: StandBys) -> Iterator[Kind]:
    made, spare, missing = (dict(pairs) for pairs in (plan.made, plan.spare, plan.missing))
    for blank in job.blanks:
        sources = [card for card in cards if any(name == blank.name for name, _, _ in card.gives)]
        yield Kind(
            name=blank.name,
            size=(blank.length, blank.width, blank.thickness),
            need=blank.need,
            made=made.get(blank.name, 0),
            spare=spare.get(blank.name, 0),
            missing=missing.get(blank.name, 0),
            species=tuple(dict.fromkeys(card.offcut.species for card in sources)),
            another=standbys.sources(blank.name) if sources else (),
        )
