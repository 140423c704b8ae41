"""From a plan to its cutting order, as data: what is done with each board and at each machine, in working order."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model import keepers
from yieldplan.model.kept import as_offcut, jointed_sides
from yieldplan.model.pieces import PieceNames
from yieldplan.model.planfile import dump_plan
from yieldplan.model.words import fold
from yieldplan.order.board import card_of
from yieldplan.order.careful import notes_of, spare_boards
from yieldplan.order.data import Kept, Kind, Order
from yieldplan.order.explain import holding
from yieldplan.order.lists import machine_lists
from yieldplan.pages.wood import wood_sentences

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from yieldplan.model import Blank, Job, Offcut, OffcutPlan, Plan
    from yieldplan.order.data import Card, Mark


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
    rack = tuple(kept for drawn in plan.offcuts for kept in _kept(job, drawn, names))
    spare, sources = spare_boards(job, [offcut for offcut, _ in left], [kept.offcut for kept in rack])
    marks = _marks(job, plan, names)
    cards = []
    for drawn in plan.offcuts:
        card = card_of(job, drawn, names, marks)
        card = replace(card, stand_by=spare([blank for blank, _, _ in card.gives]))
        cards.append(replace(card, notes=tuple(notes_of(card, job.shop))))
    return Order(
        job=job,
        plan=plan,
        fingerprint=hashlib.sha256(dump_plan(plan)).hexdigest()[:8],
        cards=tuple(cards),
        lists=machine_lists(cards),
        rack=rack,
        kinds=tuple(_kinds(job, plan, cards, sources)),
        left=left,
        notes=(
            *((holding(job, like, plan),) if like else ()),
            *wood_sentences(job, list(_planed(job, cards))),
        ),
    )


def _marks(job: Job, plan: Plan, names: PieceNames) -> dict[tuple[str, str], list[Mark]]:
    """Return the marks on a board's blanks of a kind in pairs, by board and blank; each kind is numbered from 1.

    Both of a pair come from one board where they can; what is left is paired over two boards of one species.
    """
    found: dict[tuple[str, str], list[Mark]] = {}
    for name in (blank.name for blank in job.blanks if blank.pairs):
        number, single = 0, dict[str, list[str]]()
        for drawn in plan.offcuts:
            board, many = names.board(drawn), sum(cut.blank == name for cut in drawn.blanks)
            first, number = number + 1, number + many // 2
            found[board, name] = [(n, board) for n in range(first, number + 1) for _ in range(2)]
            if many % 2:
                single.setdefault(fold(job.offcut(drawn.offcut).species), []).append(board)
        for boards in single.values():
            for one, other in zip(boards[::2], boards[1::2], strict=False):
                number += 1
                found[one, name].append((number, other))
                found[other, name].append((number, one))
            if len(boards) % 2:
                found[boards[-1], name].append((0, ""))
    return found


def _kept(job: Job, drawn: OffcutPlan, names: PieceNames) -> Iterator[Kept]:
    """Yield a drawn board's keepers, in the order in which the model finds them."""
    for name, keeper in zip(names.keepers(drawn), keepers(job, drawn), strict=True):
        yield Kept(
            board=names.board(drawn),
            offcut=as_offcut(job.offcut(drawn.offcut), keeper, name, job.shop),
            jointed=jointed_sides(keeper),
        )


def _planed(job: Job, cards: Sequence[Card]) -> Iterator[tuple[str, Offcut, Blank, bool]]:
    """Yield board, offcut, a blank, and whether it lies turned, of each stick."""
    for card in cards:
        for stick in card.drawn.sticks:
            yield card.board, card.offcut, job.blank(stick.blanks[0].blank), stick.turned


def _kinds(
    job: Job, plan: Plan, cards: Sequence[Card], lost: Callable[[str], tuple[str, ...]]
) -> Iterator[Kind]:
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
            another=lost(blank.name) if sources else (),
        )
