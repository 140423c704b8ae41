"""The account of wood of a plan: where every cubic step goes.

in = blanks + keepers + kerf + shavings + trimmings. A row of pieces turns to dust at most a kerf before its first
piece and behind its last, at most two between neighbours. What the planer takes behind a row's last piece is
shavings (but for a keeper, in a shop that keeps what is so thin), and so are jointing and planing; a bandsaw's skim
counts with its kerf. Trimmings are the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.model import (
    Account,
    SplitBillet,
    is_keeper,
    is_sawn_off,
    jointed,
    keepers,
    sawn_rows,
    section,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Billet, Job, OffcutPlan, Wood
    from yieldplan.model.leftovers import Span


@dataclass(slots=True)
class _Sum:
    """Cubic steps added up so far."""

    blanks: int = 0
    kerf: int = 0
    shavings: int = 0


def account(job: Job, drawn: Sequence[OffcutPlan]) -> Account:
    """Return the account of what is drawn, in cubic steps."""
    shop, found = job.shop, _Sum()
    volume_in = kept = 0
    for piece in drawn:
        offcut = job.offcut(piece.offcut)
        cross = offcut.width * offcut.thickness
        volume_in += offcut.volume
        kept += sum(keeper.volume for keeper in keepers(job, piece))
        spans = [(billet.start, billet.end) for billet in piece.billets]
        found.kerf += cross * sawdust(spans, (0, offcut.length), shop.crosscut_kerf)
        for billet in piece.billets:
            if isinstance(billet, SplitBillet):
                found.kerf += (billet.end - billet.start) * offcut.thickness * shop.bandsaw_kerf
        for wood, part in jointed(job, piece):
            _add_billet(job, wood, part, found)
    return Account(
        volume_in=volume_in,
        blanks=found.blanks,
        keepers=kept,
        kerf=found.kerf,
        shavings=found.shavings,
        trimmings=volume_in - found.blanks - kept - found.kerf - found.shavings,
    )


def _add_billet(job: Job, wood: Wood, part: Billet, found: _Sum) -> None:
    shop, length = job.shop, part.end - part.start
    box = (wood.width - part.edge_loss) * (wood.thickness - part.face_loss)
    found.shavings += length * (wood.width * wood.thickness - box)
    for row in sawn_rows(wood, part, shop):
        depth = row.other[1] - row.other[0]
        over = 0 if is_sawn_off(row.spans[-1][1], row.end, shop) else row.end - row.spans[-1][1]
        kept = over - row.kerf if is_keeper(length, over - row.kerf, depth, shop) else 0
        found.shavings += length * depth * (over - kept)
        found.kerf += length * depth * sawdust(row.spans, (0, row.end - over), row.kerf)
    for strip in part.strips:
        for stick in strip.sticks:
            blanks = [job.blank(cut.blank) for cut in stick.blanks]
            sizes = section(wood.offcut, blanks[0], shop, turned=stick.turned)
            planed = sizes.planed_width * sizes.planed_thickness
            found.shavings += length * ((strip.end - strip.start) * (stick.end - stick.start) - planed)
            found.blanks += planed * sum(blank.length + shop.length_allowance for blank in blanks)
            cuts = [(cut.start, cut.end) for cut in stick.blanks]
            found.kerf += planed * sawdust(cuts, (part.start, part.end), shop.crosscut_kerf)


def sawdust(spans: Sequence[Span], room: Span, kerf: int) -> int:
    """Return how much of a row in ``room`` its cuts turn to dust, in steps along the row."""
    if not spans:
        return 0
    between = sum(min(after[0] - before[1], 2 * kerf) for before, after in pairwise(spans))
    return min(spans[0][0] - room[0], kerf) + between + min(room[1] - spans[-1][1], kerf)
