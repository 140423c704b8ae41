"""What is done with one piece of the pile: its card, its steps in order, and what its blanks have to spare."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet, keepers
from yieldplan.model.work import crosscuts
from yieldplan.order.careful import is_metal
from yieldplan.order.data import WASTE, Along, Card, Ends, Joint, Milled, Section, Split, meet
from yieldplan.order.margins import margin_of
from yieldplan.order.parts import parts_of, sticks_of
from yieldplan.order.sawing import passes_of, shaved
from yieldplan.order.sticks import lengths, planing

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from yieldplan.model import Job, OffcutPlan
    from yieldplan.model.pieces import PieceNames
    from yieldplan.order.data import Mark
    from yieldplan.order.parts import Part, Sawn

    Marks = Mapping[tuple[str, str], Sequence[Mark]]


def card_of(job: Job, drawn: OffcutPlan, names: PieceNames, marks: Marks) -> Card:
    """Return the card of a drawn piece of the pile, but for what other boards decide."""
    parts = list(parts_of(job, drawn, names, marks))
    sticks = [sticks_of(part) for part in parts]
    counts = Counter(cut.blank for cut in drawn.blanks)
    spares = Counter(cut.blank for cut in drawn.blanks if cut.spare)
    return Card(
        board=names.board(drawn),
        offcut=job.offcut(drawn.offcut),
        drawn=drawn,
        gives=tuple((name, count, spares[name]) for name, count in counts.items()),
        ends=_ends(job, drawn, names, parts),
        splits=tuple(_splits(drawn, parts)),
        milled=tuple(_milled(part, own) for part, own in zip(parts, sticks, strict=True)),
        margins=tuple(margin_of(one, cut) for own in sticks for one in own for cut in one.stick.blanks),
    )


def _ends(job: Job, drawn: OffcutPlan, names: PieceNames, parts: Sequence[Part]) -> Ends:
    """Return the rough crosscuts: what stays between them, from end A on."""
    offcut, billets = job.offcut(drawn.offcut), {part.x: part.rough for part in parts}
    found = zip(names.keepers(drawn), keepers(job, drawn), strict=True)
    metal = [(one.x1, one.x2) for one in offcut.defects if is_metal(one.kind)]
    return Ends(
        board=names.board(drawn),
        long=offcut.length,
        billets=tuple((name, x) for x, name in billets.items()),
        keepers=tuple((name, one.x) for name, one in found if one.form == "length"),
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
