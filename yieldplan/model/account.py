"""The account of wood of a plan: where every cubic step goes.

in = blanks + keepers + kerf + shavings + trimmings. A row of pieces turns to dust at most a kerf before its first
piece and behind its last, at most two between neighbours. What the planer takes behind a row's last piece is
shavings (but for a keeper, in a shop that keeps what is so thin), and so are jointing and planing; a bandsaw's skim
counts with its kerf. Trimmings are the rest.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.model.leftovers import gaps, is_keeper, keepers
from yieldplan.model.plan import Account, SplitBillet
from yieldplan.model.rows import is_sawn_off, sawn_rows
from yieldplan.model.section import section_of
from yieldplan.model.wood import milled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model.pile import Job, Offcut
    from yieldplan.model.plan import Billet, OffcutPlan, Span, Stick
    from yieldplan.model.wood import Wood

Parts = Counter[str]
"""What becomes of some wood but for what is kept and what is trimmings: blanks, kerf, shavings, in cubic steps."""


def net_worth(job: Job, drawn: Sequence[OffcutPlan]) -> int:
    """Return the worth (or price) of the offcuts drawn less the worth of their keepers."""
    kept = sum(keeper.worth(job.shop) for piece in drawn for keeper in keepers(job, piece))
    return sum(job.offcut(piece.offcut).cost(job.shop) for piece in drawn) - kept


def account(job: Job, drawn: Sequence[OffcutPlan]) -> Account:
    """Return the account of what is drawn, in cubic steps."""
    found, volume_in = Parts(), 0
    for piece in drawn:
        offcut = job.offcut(piece.offcut)
        volume_in += offcut.volume
        spans = [(billet.start, billet.end) for billet in piece.billets]
        dust = sawdust(spans, (0, offcut.length), job.shop.crosscut_kerf)
        found["kerf"] += offcut.width * offcut.thickness * dust
        for billet in piece.billets:
            found.update(of_billet(job, offcut, billet))
    kept = sum(keeper.volume for piece in drawn for keeper in keepers(job, piece))
    return Account(
        volume_in=volume_in,
        blanks=found["blanks"],
        keepers=kept,
        kerf=found["kerf"],
        shavings=found["shavings"],
        trimmings=volume_in - found.total() - kept,
    )


def of_billet(job: Job, offcut: Offcut, billet: Billet | SplitBillet) -> Parts:
    """Return what becomes of a billet, a split and what is done with both halves among it."""
    found = Parts()
    if isinstance(billet, SplitBillet):
        found["kerf"] = (billet.end - billet.start) * offcut.thickness * job.shop.bandsaw_kerf
    for wood, part in milled(offcut, billet, job.shop):
        found.update(of_part(job, wood, part))
    return found


def of_part(job: Job, wood: Wood, part: Billet) -> Parts:
    """Return what becomes of a billet, or of a half that is jointed by itself."""
    shop, length = job.shop, part.end - part.start
    box = (wood.width - part.edge_loss) * (wood.thickness - part.face_loss)
    found = Parts(shavings=length * (wood.width * wood.thickness - box))
    for row in sawn_rows(wood, part, shop):
        depth = row.other[1] - row.other[0]
        over = 0 if is_sawn_off(row.spans[-1][1], row.end, shop) else row.end - row.spans[-1][1]
        kept = over - row.kerf if is_keeper(length, over - row.kerf, depth, shop) else 0
        dust = sawdust(row.spans, (0, row.end - over), row.kerf)
        found.update(kerf=length * depth * dust, shavings=length * depth * (over - kept))
    for stick, across, deep in part.placed:
        rough = (across[1] - across[0]) * (deep[1] - deep[0])
        found.update(of_stick(job, wood.offcut, stick, (part.start, part.end), rough))
    return found


def of_stick(job: Job, offcut: Offcut, stick: Stick, along: Span, rough: int) -> Parts:
    """Return what becomes of a stick that lies ``along`` its board and has so ``rough`` a section (square steps)."""
    planed, cuts = section_of(job, offcut, stick).area, [(cut.start, cut.end) for cut in stick.blanks]
    lengths = sum(job.blank(cut.blank).length + job.shop.length_allowance for cut in stick.blanks)
    dust = sawdust(cuts, along, job.shop.crosscut_kerf)
    return Parts(
        blanks=planed * lengths, kerf=planed * dust, shavings=(along[1] - along[0]) * (rough - planed)
    )


def sawdust(spans: Sequence[Span], room: Span, kerf: int) -> int:
    """Return how much of a row in ``room`` its cuts turn to dust, in steps along the row: no piece, no leftover."""
    return room[1] - room[0] - sum(end - start for start, end in (*spans, *gaps(spans, room, kerf)))
