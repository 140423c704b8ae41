"""What a plan takes, counted from the plan alone: work at the machines with its price, and the account of wood.

in = blanks + keepers + kerf + shavings + trimmings. A row of pieces turns to dust at most a kerf before its first
piece and behind its last, at most two between neighbours. What the planer takes behind a row's last piece is
shavings (but for a keeper, in a shop that keeps what is so thin), and so are jointing and planing; a bandsaw's skim
counts with its kerf. Trimmings are the rest.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.model.leftovers import gaps, is_keeper, keepers
from yieldplan.model.plan import Account, SplitBillet, Work
from yieldplan.model.rows import is_sawn_off, sawn_rows
from yieldplan.model.section import section_of
from yieldplan.model.wood import jointed, milled

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model.pile import Job, Offcut
    from yieldplan.model.plan import Billet, OffcutPlan, Span, Stick
    from yieldplan.model.rows import Row
    from yieldplan.model.shop import Machine, Shop
    from yieldplan.model.wood import Wood

Setting = tuple[int, "Machine", int]
"""A fence on a saw: first or second cut row, machine, piece size (steps)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What one of each count costs, in thousandths of a board foot: minutes x 1000 / minutes for a board foot, up."""

    setting: int
    stop: int
    offcut: int
    billet: int
    cut: int
    bandsaw: int
    stick: int
    odd_board: int

    def of(self, work: Work) -> int:
        """Return the price of work, in thousandths of a board foot."""
        return (
            (work.saw_settings + work.planer_settings) * self.setting
            + work.stop_settings * self.stop
            + work.offcuts * self.offcut
            + work.billets * self.billet
            + (work.passes - work.bandsaw_passes + work.crosscuts) * self.cut
            + work.bandsaw_passes * self.bandsaw
            + work.sticks * self.stick
            + work.odd_boards * self.odd_board
        )


WOOD_ALONE, QUICK = 0, 200
"""Hundredths of a minute for a board foot that ``--wood`` (work counts for nothing) and ``--quick`` plan at."""


def prices(shop: Shop, at: int | None = None) -> Prices:
    """Return the price list of a shop, or that ``at`` another price: hundredths of a minute for a board foot.

    A board that holds an odd number of a kind in pairs costs half of what a pair from one board is worth. At
    :data:`WOOD_ALONE` work costs nothing.
    """
    foot = shop.minutes_for_a_board_foot if at is None else at

    def price(hundredths: int, parts: int = 1) -> int:
        return -(-hundredths * 1000 // (foot * parts)) if foot else 0

    return Prices(
        setting=price(shop.machine_setting),
        stop=price(shop.stop_setting),
        offcut=price(shop.offcut_handled),
        billet=price(shop.billet_jointed),
        cut=price(shop.cut),
        bandsaw=price(shop.bandsaw_pass),
        stick=price(shop.stick_planed),
        odd_board=price(shop.pair_from_one_board, 2),
    )


def crosscuts(spans: Sequence[Span], room: Span, kerf: int) -> int:
    """Return how many rough crosscuts free billets: one at each end that is not the room's, one for both at a kerf."""
    if not spans:
        return 0
    between = sum(1 if after[0] - before[1] <= kerf else 2 for before, after in pairwise(spans))
    return between + (spans[0][0] > room[0]) + (spans[-1][1] < room[1])


def final_cuts(spans: Sequence[Span], kerf: int) -> int:
    """Return how many crosscuts a stick takes: to square it, each blank, each blank that stands off the one before."""
    return 1 + len(spans) + sum(after[0] - before[1] > kerf for before, after in pairwise(spans))


def saw_settings(rows: Sequence[Row]) -> Iterator[Setting]:
    """Yield the settings of one billet's rows, one for each pass that is no odd cut.

    A second row counts as the first where the first is not cut.
    """
    first = rows[0].is_cut
    for row in rows:
        number = row.number if first else 1
        for sawn in row.passes:
            if not sawn.odd and row.machine is not None:
                yield number, row.machine, sawn.at


def odd_boards(job: Job, offcuts: Sequence[OffcutPlan]) -> int:
    """Return how many boards hold an odd number of a kind that is made in pairs, each kind for itself."""
    kinds = {blank.name for blank in job.blanks if blank.pairs}
    counts = (Counter(cut.blank for cut in drawn.blanks if cut.blank in kinds) for drawn in offcuts)
    return sum(many % 2 for held in counts for many in held.values())


def work_of(job: Job, offcuts: Sequence[OffcutPlan]) -> Work:
    """Count the work of a plan's drawn offcuts."""
    shop = job.shop
    billets = sticks = made = band = odd = cross = 0
    saws: set[Setting] = set()
    planer: set[tuple[str, int]] = set()
    stops: set[int] = set()
    for drawn in offcuts:
        offcut = job.offcut(drawn.offcut)
        places = [(billet.start, billet.end) for billet in drawn.billets]
        cross += crosscuts(places, (0, offcut.length), shop.crosscut_kerf)
        splits = sum(isinstance(billet, SplitBillet) for billet in drawn.billets)
        made, band, odd = made + splits, band + splits, odd + splits
        for wood, part in jointed(job, drawn):
            rows = list(sawn_rows(wood, part, shop))
            billets += 1
            saws.update(saw_settings(rows))
            for row in rows:
                made += len(row.passes)
                odd += sum(sawn.odd for sawn in row.passes)
                band += len(row.passes) if row.machine == "bandsaw" else 0
            for stick in part.sticks:
                sticks += 1
                cross += final_cuts([(cut.start, cut.end) for cut in stick.blanks], shop.crosscut_kerf)
                stops.update(cut.end - cut.start for cut in stick.blanks)
                found = section_of(job, offcut, stick)
                planer |= {("width", found.planed_width), ("thickness", found.planed_thickness)}
    counts = Work(
        hundredths=0,
        offcuts=len(offcuts),
        billets=billets,
        sticks=sticks,
        passes=made,
        bandsaw_passes=band,
        odd_cuts=odd,
        crosscuts=cross,
        saw_settings=len(saws) + odd,
        planer_settings=len(planer),
        stop_settings=len(stops),
    )
    hundredths = prices(shop, at=1000).of(counts)  # at which each is worth a thousandth of a board foot
    return replace(counts, hundredths=hundredths, odd_boards=odd_boards(job, offcuts))


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
