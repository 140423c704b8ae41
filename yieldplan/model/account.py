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

from yieldplan.model.leftovers import is_keeper, keepers
from yieldplan.model.plan import Account, SplitBillet
from yieldplan.model.rows import is_sawn_off, sawn_rows
from yieldplan.model.section import section
from yieldplan.model.wood import milled
from yieldplan.model.worth import cost_drawn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model.leftovers import Span
    from yieldplan.model.pile import Job, Offcut
    from yieldplan.model.plan import Billet, OffcutPlan, Stick
    from yieldplan.model.wood import Wood


def net_worth(job: Job, drawn: Sequence[OffcutPlan]) -> int:
    """Return the worth (or price) of the offcuts drawn less the worth of their keepers."""
    total = 0
    for piece in drawn:
        offcut = job.offcut(piece.offcut)
        total += cost_drawn(offcut, job.shop)
        total -= sum(keeper.worth(job.shop) for keeper in keepers(job, piece))
    return total


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """What becomes of some wood but for what is kept and what is trimmings, in cubic steps."""

    blanks: int = 0
    kerf: int = 0
    shavings: int = 0

    def __add__(self, other: Parts) -> Parts:
        return Parts(
            blanks=self.blanks + other.blanks,
            kerf=self.kerf + other.kerf,
            shavings=self.shavings + other.shavings,
        )


def account(job: Job, drawn: Sequence[OffcutPlan]) -> Account:
    """Return the account of what is drawn, in cubic steps."""
    found = Parts()
    volume_in = kept = 0
    for piece in drawn:
        offcut = job.offcut(piece.offcut)
        volume_in += offcut.volume
        kept += sum(keeper.volume for keeper in keepers(job, piece))
        spans = [(billet.start, billet.end) for billet in piece.billets]
        dust = sawdust(spans, (0, offcut.length), job.shop.crosscut_kerf)
        found += Parts(kerf=offcut.width * offcut.thickness * dust)
        for billet in piece.billets:
            found += of_billet(job, offcut, billet)
    return Account(
        volume_in=volume_in,
        blanks=found.blanks,
        keepers=kept,
        kerf=found.kerf,
        shavings=found.shavings,
        trimmings=volume_in - found.blanks - kept - found.kerf - found.shavings,
    )


def of_billet(job: Job, offcut: Offcut, billet: Billet | SplitBillet) -> Parts:
    """Return what becomes of a billet, a split and what is done with both halves among it."""
    found = Parts()
    if isinstance(billet, SplitBillet):
        found = Parts(kerf=(billet.end - billet.start) * offcut.thickness * job.shop.bandsaw_kerf)
    return sum((of_part(job, wood, part) for wood, part in milled(offcut, billet, job.shop)), start=found)


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
        found += Parts(kerf=length * depth * dust, shavings=length * depth * (over - kept))
    for strip in part.strips:
        for stick in strip.sticks:
            rough = (strip.end - strip.start) * (stick.end - stick.start)
            found += of_stick(job, wood.offcut, stick, (part.start, part.end), rough)
    return found


def of_stick(job: Job, offcut: Offcut, stick: Stick, along: Span, rough: int) -> Parts:
    """Return what becomes of a stick that lies ``along`` its board and has so ``rough`` a section (square steps)."""
    blanks, planed = [job.blank(cut.blank) for cut in stick.blanks], planed_section(job, offcut, stick)
    cuts = [(cut.start, cut.end) for cut in stick.blanks]
    return Parts(
        blanks=planed * sum(blank.length + job.shop.length_allowance for blank in blanks),
        kerf=planed * sawdust(cuts, along, job.shop.crosscut_kerf),
        shavings=(along[1] - along[0]) * (rough - planed),
    )


def planed_section(job: Job, offcut: Offcut, stick: Stick) -> int:
    """Return the planed section of a stick, in square steps."""
    sizes = section(offcut, job.blank(stick.blanks[0].blank), job.shop, turned=stick.turned)
    return sizes.planed_width * sizes.planed_thickness


def sawdust(spans: Sequence[Span], room: Span, kerf: int) -> int:
    """Return how much of a row in ``room`` its cuts turn to dust, in steps along the row."""
    if not spans:
        return 0
    between = sum(min(after[0] - before[1], 2 * kerf) for before, after in pairwise(spans))
    return min(spans[0][0] - room[0], kerf) + between + min(room[1] - spans[-1][1], kerf)
