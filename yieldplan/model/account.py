"""What is drawn and where it goes: its net worth, and the account of wood, in which every cubic step has its place.

in = blanks + keepers + kerf + shavings + trimmings. A row of pieces turns to dust at most a kerf before its first
piece and behind its last, at most two between neighbours. What the planer takes behind a row's last piece is
shavings (but for a keeper, in a shop that keeps what is so thin), and so are jointing and planing; a bandsaw's skim
counts with its kerf. Trimmings are the rest.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.model.leftovers import is_keeper, keepers
from yieldplan.model.plan import Account, SplitBillet
from yieldplan.model.rows import is_sawn_off, sawn_rows
from yieldplan.model.section import section
from yieldplan.model.work import jointed
from yieldplan.model.worth import worth

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model.leftovers import Span
    from yieldplan.model.pile import Job
    from yieldplan.model.plan import Billet, OffcutPlan
    from yieldplan.model.wood import Wood


def net_worth(job: Job, drawn: Sequence[OffcutPlan]) -> int:
    """Return the worth of the offcuts drawn less the worth of their keepers, in thousandths of a board foot."""
    total = 0
    for piece in drawn:
        offcut = job.offcut(piece.offcut)
        total += worth(offcut.length, offcut.width, offcut.thickness, job.shop)
        total -= sum(keeper.worth(job.shop) for keeper in keepers(job, piece))
    return total


def account(job: Job, drawn: Sequence[OffcutPlan]) -> Account:
    """Return the account of what is drawn, in cubic steps."""
    shop = job.shop
    volume_in = kept = blanks = kerf = shavings = 0
    for piece in drawn:
        offcut = job.offcut(piece.offcut)
        volume_in += offcut.volume
        kept += sum(keeper.volume for keeper in keepers(job, piece))
        spans = [(billet.start, billet.end) for billet in piece.billets]
        kerf += offcut.width * offcut.thickness * sawdust(spans, (0, offcut.length), shop.crosscut_kerf)
        kerf += sum(
            (billet.end - billet.start) * offcut.thickness * shop.bandsaw_kerf
            for billet in piece.billets
            if isinstance(billet, SplitBillet)
        )
        for wood, part in jointed(job, piece):
            for of in (_across, _along):
                more = of(job, wood, part)
                blanks, kerf, shavings = blanks + more[0], kerf + more[1], shavings + more[2]
    return Account(
        volume_in=volume_in,
        blanks=blanks,
        keepers=kept,
        kerf=kerf,
        shavings=shavings,
        trimmings=volume_in - blanks - kept - kerf - shavings,
    )


def _across(job: Job, wood: Wood, part: Billet) -> tuple[int, int, int]:
    """Return no blanks, the kerf, and the shavings of a billet's jointing and of its rows across."""
    shop, length = job.shop, part.end - part.start
    box = (wood.width - part.edge_loss) * (wood.thickness - part.face_loss)
    kerf, shavings = 0, length * (wood.width * wood.thickness - box)
    for row in sawn_rows(wood, part, shop):
        depth = row.other[1] - row.other[0]
        over = 0 if is_sawn_off(row.spans[-1][1], row.end, shop) else row.end - row.spans[-1][1]
        kept = over - row.kerf if is_keeper(length, over - row.kerf, depth, shop) else 0
        shavings += length * depth * (over - kept)
        kerf += length * depth * sawdust(row.spans, (0, row.end - over), row.kerf)
    return 0, kerf, shavings


def _along(job: Job, wood: Wood, part: Billet) -> tuple[int, int, int]:
    """Return the blanks on a billet's sticks, the kerf of their crosscuts, and the shavings of their planing."""
    shop, length = job.shop, part.end - part.start
    made = kerf = shavings = 0
    for strip, stick in ((row, stick) for row in part.strips for stick in row.sticks):
        blanks = [job.blank(cut.blank) for cut in stick.blanks]
        sizes = section(wood.offcut, blanks[0], shop, turned=stick.turned)
        planed = sizes.planed_width * sizes.planed_thickness
        shavings += length * ((strip.end - strip.start) * (stick.end - stick.start) - planed)
        made += planed * sum(blank.length + shop.length_allowance for blank in blanks)
        cuts = [(cut.start, cut.end) for cut in stick.blanks]
        kerf += planed * sawdust(cuts, (part.start, part.end), shop.crosscut_kerf)
    return made, kerf, shavings


def sawdust(spans: Sequence[Span], room: Span, kerf: int) -> int:
    """Return how much of a row in ``room`` its cuts turn to dust, in steps along the row."""
    if not spans:
        return 0
    between = sum(min(after[0] - before[1], 2 * kerf) for before, after in pairwise(spans))
    return min(spans[0][0] - room[0], kerf) + between + min(room[1] - spans[-1][1], kerf)
