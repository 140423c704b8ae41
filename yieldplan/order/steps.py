"""From a plan to its cutting order, as data: what is done with each board and at each machine, in working order."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model import dump_plan
from yieldplan.model.pieces import PieceNames
from yieldplan.model.shop import INCH, MM
from yieldplan.order.board import Board
from yieldplan.order.data import Kind, Order
from yieldplan.order.lists import machine_lists
from yieldplan.order.rack import rack_of
from yieldplan.order.standby import with_stand_bys
from yieldplan.order.wood import wood_sentences

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Job, Plan
    from yieldplan.order.data import Card

TIGHT = {"inch": INCH // 16, "mm": 3 * MM // 2}
"""Margins below this stand on the card: 1/16 in, or 1.5 mm."""


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
    names = PieceNames(job, plan)
    works = [Board(job, drawn, names).worked() for drawn in plan.offcuts]
    taken = Counter(drawn.offcut for drawn in plan.offcuts)
    left = tuple(
        (offcut, offcut.qty - taken[offcut.name]) for offcut in job.offcuts if offcut.qty > taken[offcut.name]
    )
    margins = [margin for work in works for margin in work.margins]
    margins = list(
        with_stand_bys(job, sorted(margins, key=lambda one: one.tightest), [one for one, _ in left])
    )
    cards = []
    for work in works:
        own = [margin for margin in margins if margin.root == work.card.board]
        tight = tuple(one for one in own if one.tightest[0] < TIGHT[job.shop.units])
        cards.append(replace(work.card, tight=tight, stand_by=own[0].stand_by))
    return Order(
        job=job,
        plan=plan,
        fingerprint=hashlib.sha256(dump_plan(plan)).hexdigest()[:8],
        cards=tuple(cards),
        lists=machine_lists(cards),
        rack=tuple(kept for drawn in plan.offcuts for kept in rack_of(job, drawn, names)),
        kinds=tuple(_kinds(job, plan, cards)),
        left=left,
        margins=tuple(margins),
        planing=(),
        notes=wood_sentences(job, [card.offcut for card in cards]) if cards else (),
    )


def _kinds(job: Job, plan: Plan, cards: Sequence[Card]) -> Iterator[Kind]:
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
            boards=tuple(card.board for card in sources),
            species=tuple(dict.fromkeys(card.offcut.species for card in sources)),
            another=(),
        )
