"""Margins: how much may still go wrong across, through and along before a blank is lost, after jointing as planned.

A margin is what the stick has over the section it is planed to (the planing allowance) and the free wood beside it:
gaps up to a kerf from its neighbours, up to the sides of the box, or up to a defect or to rings that do not suit it.
Along the stick the other blanks may move as well, since all are cut to a stop. Each blank is looked at by itself: two
neighbours may count on the same gap.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import ring_window
from yieldplan.order.data import Margin, meet

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldplan.model import Blank, CutBlank
    from yieldplan.order.data import Span
    from yieldplan.order.parts import Part, Sawn


def free_beside(span: Span, others: Iterable[Span], room: Span, kerf: int) -> tuple[int, int]:
    """Return how much free wood lies before and behind a piece of a row, a kerf from its neighbours left out."""
    low, high = room
    for start, end in others:
        if end <= span[0]:
            low = max(low, end + kerf)
        elif start >= span[1]:
            high = min(high, start - kerf)
    return max(0, span[0] - low), max(0, high - span[1])


def margin_of(sawn: Sawn, cut: CutBlank, blank: Blank) -> Margin:
    """Return what one blank of a stick has to spare."""
    part, stick, (y, z), (in_y, in_z) = sawn.part, sawn.stick, sawn.yz, _beside(sawn)
    billet, wood, shop = part.billet, part.wood, part.shop
    window = ring_window(wood.offcut, blank, turned=stick.turned) or (0, wood.offcut.width)
    low, high = window[0] - wood.low, window[1] - wood.low
    in_y = min(in_y[0], y[0] - low), min(in_y[1], high - billet.edge_loss - y[1])
    taken = [other.end - other.start + shop.crosscut_kerf for other in stick.blanks]
    number = stick.blanks.index(cut)
    first = billet.start + shop.stick_trim + sum(taken[:number])
    last = billet.end - shop.stick_trim - sum(taken[number + 1 :])
    in_x = cut.start - first, last - cut.end
    limits = _defects(part, ((cut.start, cut.end), y, z), blank)
    along, across, deep = (
        sum(max(0, min(free, limit)) for free, limit in zip(pair, most, strict=True))
        for pair, most in zip((in_x, in_y, in_z), limits, strict=True)
    )
    across, deep = across + y[1] - y[0], deep + z[1] - z[0]
    wide, thick = (deep, across) if stick.turned else (across, deep)
    return Margin(
        name=sawn.name,
        blank=blank.name,
        thickness=thick - sawn.sizes.planed_thickness,
        width=wide - sawn.sizes.planed_width,
        length=along,
    )


def _beside(sawn: Sawn) -> tuple[Span, Span]:
    """Return how much is free before and behind a stick across y and across z."""
    one, other = (
        free_beside(row.spans[place], row.spans, (0, row.end), row.kerf) for row, place in sawn.rows
    )
    return (one, other) if sawn.part.billet.rip_first else (other, one)


def _defects(part: Part, own: tuple[Span, Span, Span], blank: Blank) -> list[list[int]]:
    """Return for each axis how far the blank could reach before and behind itself until a defect stops it."""
    limits = [[1 << 60, 1 << 60] for _ in range(3)]
    billet, shop, deep = part.billet, part.shop, part.wood.thickness - part.billet.face_loss
    for d in part.wood.defects(shop):
        if blank.allows_kind(d.kind) and not blank.clear_end:
            continue
        box = (
            (d.x1, d.x2),
            (d.y1 - billet.edge_loss, d.y2 - shop.edge_skim),
            (0, deep) if d.through else (d.z1 - billet.face_loss, d.z2 - shop.face_skim),
        )
        for axis in range(3):
            if all(meet(box[a], own[a]) for a in range(3) if a != axis):
                before, behind = own[axis][0] - box[axis][1], box[axis][0] - own[axis][1]
                if before >= 0:
                    limits[axis][0] = min(limits[axis][0], before)
                elif behind >= 0:
                    limits[axis][1] = min(limits[axis][1], behind)
    return limits
