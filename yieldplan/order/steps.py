"""From a plan to its cutting order, as data: what is done with each board and at each machine, in working order."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet
from yieldplan.model.kept import as_offcut, jointed_sides
from yieldplan.model.pieces import PieceNames
from yieldplan.model.planfile import dump_plan
from yieldplan.model.words import fold
from yieldplan.model.work import crosscuts
from yieldplan.order.careful import is_metal, margin_of, notes_of, spare_boards
from yieldplan.order.data import (
    WASTE,
    Along,
    Card,
    Ends,
    Joint,
    Kept,
    Kind,
    Milled,
    Order,
    Section,
    Split,
    meet,
)
from yieldplan.order.explain import holding
from yieldplan.order.lists import machine_lists
from yieldplan.order.parts import parts_of, sticks_of
from yieldplan.order.sawing import lengths, passes_of, planing, shaved
from yieldplan.pages.wording import wood_sentences

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from yieldplan.model import Job, OffcutPlan, Plan
    from yieldplan.order.data import Mark
    from yieldplan.order.parts import Part, Sawn

    Marks = Mapping[tuple[str, str], Sequence[Mark]]


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
    cards, planed = [], []
    for drawn in plan.offcuts:
        card = _card(job, drawn, names, marks)
        card = replace(card, stand_by=spare(card.gives))
        cards.append(replace(card, notes=tuple(notes_of(card, job.shop))))
        planed += [
            (card.board, card.offcut, job.blank(stick.blanks[0].blank), stick.turned)
            for part in drawn.jointed
            for stick in part.sticks
        ]
    return Order(
        job=job,
        plan=plan,
        fingerprint=hashlib.sha256(dump_plan(plan)).hexdigest()[:8],
        cards=tuple(cards),
        lists=machine_lists(cards),
        rack=rack,
        kinds=tuple(_kinds(job, plan, cards, sources)),
        left=left,
        notes=(*((holding(job, like, plan),) if like else ()), *wood_sentences(job, planed)),
    )


def _card(job: Job, drawn: OffcutPlan, names: PieceNames, marks: Marks) -> Card:
    """Return the card of a drawn piece of the pile, but for what other boards decide."""
    parts = list(parts_of(job, drawn, names, marks))
    sticks = [sticks_of(part) for part in parts]
    return Card(
        board=names.board(drawn),
        offcut=job.offcut(drawn.offcut),
        drawn=drawn,
        ends=_ends(job, drawn, names, parts),
        splits=tuple(_splits(drawn, parts)),
        milled=tuple(_milled(part, own) for part, own in zip(parts, sticks, strict=True)),
        margins=tuple(margin_of(one, cut) for own in sticks for one in own for cut in one.stick.blanks),
    )


def _ends(job: Job, drawn: OffcutPlan, names: PieceNames, parts: Sequence[Part]) -> Ends:
    """Return the rough crosscuts: what stays between them, from end A on."""
    offcut, billets = job.offcut(drawn.offcut), {part.x: part.rough for part in parts}
    metal = [(one.x1, one.x2) for one in offcut.defects if is_metal(one.kind)]
    return Ends(
        board=names.board(drawn),
        long=offcut.length,
        billets=tuple((name, x) for x, name in billets.items()),
        keepers=tuple((name, one.x) for name, one in names.keepers(drawn) if one.form == "length"),
        cuts=crosscuts(list(billets), (0, offcut.length), job.shop.crosscut_kerf),
        metal=any(meet(one, x) for one in metal for x in billets),
    )


def _splits(drawn: OffcutPlan, parts: Sequence[Part]) -> Iterator[Split]:
    for billet in drawn.billets:
        if isinstance(billet, SplitBillet):
            found = {part.half: part for part in parts if part.billet.start == billet.start}
            near, far = (found[half].name if half in found else WASTE for half in ("near", "far"))
            one = next(iter(found.values()))
            yield Split(board=one.board, piece=one.rough, line=billet.split, near=near, far=far)


def _milled(part: Part, sticks: Sequence[Sawn]) -> Milled:
    """Return all that is done with a part from the jointer on."""
    billet, wood = part.billet, part.wood
    box = wood.width - billet.edge_loss, wood.thickness - billet.face_loss
    wide, thick = (
        max(span[1] for row in part.rows if row.axis == axis for span in row.spans) for axis in "yz"
    )
    more = shaved(part)
    joint = Joint(
        board=part.board,
        piece=part.name,
        wide=wide - more[0],
        thick=thick - more[1],
        takes=(billet.edge_loss, billet.face_loss),
        spare=(box[0] - wide, box[1] - thick),
        more=more,
    )
    return Milled(
        name=part.name,
        half=part.half,
        billet=billet,
        wood=wood,
        sections=(
            *map(_section, sticks),
            *(
                Section(name=name, keeper=True, y=keeper.across, z=keeper.deep)
                for name, keeper in part.kept.items()
                if keeper.form != "end"
            ),
        ),
        steps=(joint, *passes_of(part), *planing(sticks), *lengths(sticks)),
    )


def _section(sawn: Sawn) -> Section:
    """Return a stick for the drawings, with its blanks and its ends that are kept, from end A on."""
    y, z = sawn.yz
    pieces = [Along(name=cut.blank, x=(cut.start, cut.end)) for cut in sawn.stick.blanks]
    pieces += [
        Along(name=name, x=keeper.x, keeper=True)
        for name, keeper in sawn.part.kept.items()
        if (keeper.form, keeper.across, keeper.deep) == ("end", y, z)
    ]
    pieces.sort(key=lambda piece: piece.x)
    return Section(name=sawn.name, keeper=False, y=y, z=z, turned=sawn.stick.turned, pieces=tuple(pieces))


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
    for name, keeper in names.keepers(drawn):
        yield Kept(
            board=names.board(drawn),
            offcut=as_offcut(job.offcut(drawn.offcut), keeper, name, job.shop),
            jointed=jointed_sides(keeper),
        )


def _kinds(
    job: Job, plan: Plan, cards: Sequence[Card], lost: Callable[[str], tuple[str, ...]]
) -> Iterator[Kind]:
    made, spare, missing = (Counter(dict(pairs)) for pairs in (plan.made, plan.spare, plan.missing))
    for blank in job.blanks:
        name, sources = blank.name, [card for card in cards if blank.name in card.gives]
        yield Kind(
            blank=blank,
            made=made[name],
            spare=spare[name],
            missing=missing[name],
            species=tuple(dict.fromkeys(card.offcut.species for card in sources)),
            another=lost(name) if sources else (),
        )
