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
    from collections.abc import Iterator

    from yieldplan.model import Blank, CutBlank
    from yieldplan.order.data import Span
    from yieldplan.order.parts import Part, Sawn


def margin_of(sawn: Sawn, cut: CutBlank) -> Margin:
    """Return what one blank of a stick has to spare."""
    own, blank = ((cut.start, cut.end), *sawn.yz), sawn.part.job.blank(cut.blank)
    low, high = _room(sawn, cut, blank)
    for box in _defects(sawn.part, blank):
        for axis in range(3):
            if all(meet(box[a], own[a]) for a in range(3) if a != axis):
                if box[axis][1] <= own[axis][0]:
                    low[axis] = max(low[axis], box[axis][1])
                elif box[axis][0] >= own[axis][1]:
                    high[axis] = min(high[axis], box[axis][0])
    along, *across = (
        max(0, start - least) + max(0, most - end)
        for (start, end), least, most in zip(own, low, high, strict=True)
    )
    wide, thick = (gap + end - start for gap, (start, end) in zip(across, own[1:], strict=True))
    if sawn.stick.turned:
        wide, thick = thick, wide
    return Margin(
        name=sawn.name,
        blank=blank.name,
        thickness=thick - sawn.sizes.planed_thickness,
        width=wide - sawn.sizes.planed_width,
        length=along,
    )


def _room(sawn: Sawn, cut: CutBlank, blank: Blank) -> tuple[list[int], list[int]]:
    """Return from where to where a blank could lie along x, y and z, its neighbours left where they are."""
    part, blanks = sawn.part, sawn.stick.blanks
    billet, wood, shop = part.billet, part.wood, part.shop
    taken = [other.end - other.start + shop.crosscut_kerf for other in blanks]
    number = blanks.index(cut)
    low = [billet.start + shop.stick_trim + sum(taken[:number]), 0, 0]
    high = [billet.end - shop.stick_trim - sum(taken[number + 1 :]), 0, 0]
    for row, place in sawn.rows:
        axis, own = "xyz".index(row.axis), row.spans[place]
        low[axis] = max((end + row.kerf for _, end in row.spans if end <= own[0]), default=0)
        high[axis] = min((start - row.kerf for start, _ in row.spans if start >= own[1]), default=row.end)
    window = ring_window(wood.offcut, blank, turned=sawn.stick.turned) or (0, wood.offcut.width)
    low[1] = max(low[1], window[0] - wood.low)
    high[1] = min(high[1], window[1] - wood.low - billet.edge_loss)
    return low, high


def _defects(part: Part, blank: Blank) -> Iterator[tuple[Span, Span, Span]]:
    """Yield the defects that a blank cannot have anywhere, in the frame of the part's box, as large as they may be."""
    billet, shop = part.billet, part.shop
    for one in part.wood.defects(shop):
        if blank.clear_end or not blank.allows_kind(one.kind):
            through = (0, part.wood.thickness - billet.face_loss)
            z = through if one.through else (one.z1 - billet.face_loss, one.z2 - shop.face_skim)
            yield (one.x1, one.x2), (one.y1 - billet.edge_loss, one.y2 - shop.edge_skim), z
