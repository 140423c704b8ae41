"""The account of wood of a plan: where every cubic step goes."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.model import Account, SplitBillet, WholeKeeper, milled, planed_section

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Billet, Job, Offcut, OffcutPlan, Shop, Stick


def account(job: Job, drawn: Sequence[OffcutPlan]) -> Account:
    """Return the account, in cubic steps; trimmings are what the rest leaves."""
    volume_in = blanks = keepers = kerf = shavings = 0
    for piece in drawn:
        offcut = job.offcut(piece.offcut)
        section = offcut.width * offcut.thickness
        volume_in += offcut.length * section
        kerf += section * _sawn(
            ((s.start, s.end) for s in piece.segments), offcut.length, job.shop.crosscut_kerf
        )
        for segment in piece.segments:
            if isinstance(segment, WholeKeeper):
                keepers += (segment.end - segment.start) * section
            if isinstance(segment, SplitBillet):
                kerf += (segment.end - segment.start) * offcut.thickness * job.shop.bandsaw_kerf
            for wood, billet in milled(offcut, segment, job.shop):
                more = _billet(job, wood, billet)
                blanks, keepers = blanks + more[0], keepers + more[1]
                kerf, shavings = kerf + more[2], shavings + more[3]
    return Account(
        volume_in=volume_in,
        blanks=blanks,
        keepers=keepers,
        kerf=kerf,
        shavings=shavings,
        trimmings=volume_in - blanks - keepers - kerf - shavings,
    )


def _billet(job: Job, offcut: Offcut, billet: Billet) -> tuple[int, int, int, int]:
    """Return blanks, keepers, kerf and shavings of one billet."""
    shop, length = job.shop, billet.end - billet.start
    high, deep = offcut.width - billet.edge_loss, offcut.thickness - billet.face_loss
    rip_first = billet.layout == "rip first"
    box, other, height = (high, deep, offcut.thickness) if rip_first else (deep, high, offcut.width)
    blanks = keepers = 0
    shavings = length * (offcut.width * offcut.thickness - high * deep)
    kerf = length * other * _sawn(((s.start, s.end) for s in billet.strips), box, shop.kerf_at(height) or 0)
    for strip in billet.strips:
        size = strip.end - strip.start
        if strip.keeper:
            keepers += length * size * other
            continue
        rows = ((stick.start, stick.end) for stick in strip.sticks)
        kerf += length * size * _sawn(rows, other, shop.kerf_at(size) or 0)
        for stick in strip.sticks:
            rough = size * (stick.end - stick.start)
            if stick.keeper:
                keepers += length * rough
                continue
            first = job.blank(stick.blanks[0].blank)
            wide, thick = planed_section(offcut, first, shop, turned=stick.turned)
            section = wide * thick
            shavings += length * (rough - section)
            blanks += section * sum(job.blank(cut.blank).length for cut in stick.blanks)
            keepers += section * sum(k.end - k.start for k in stick.keepers)
            kerf += section * _crosscut(stick, billet, shop)
    return blanks, keepers, kerf, shavings


def _crosscut(stick: Stick, billet: Billet, shop: Shop) -> int:
    pieces = [(cut.start, cut.end) for cut in stick.blanks] + [(k.start, k.end) for k in stick.keepers]
    moved = [(start - billet.start, end - billet.start) for start, end in pieces]
    return _sawn(moved, billet.end - billet.start, shop.crosscut_kerf)


def _sawn(pieces: Iterable[tuple[int, int]], size: int, kerf: int) -> int:
    """Return the width turned to sawdust in a row of pieces: a kerf at each end gap, up to two between pieces."""
    row = sorted(pieces)
    if not row:
        return 0
    between = sum(min(b[0] - a[1], 2 * kerf) for a, b in pairwise(row))
    return min(row[0][0], kerf) + between + min(size - row[-1][1], kerf)
