"""Margins: how much may still go wrong across, through and along before a blank is lost, after jointing as planned.

A margin is what the stick has over the section it is planed to (the planing allowance) and the free wood beside it:
gaps up to a kerf from its neighbours, up to the sides of the box, or up to a defect or to rings that do not suit it.
Along the stick the other blanks may move as well, since all are cut to a stop. Each blank is looked at by itself: two
neighbours may count on the same gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model import ring_window

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldplan.model import Billet, Blank, CutBlank, Row, Shop, Stick, Wood
    from yieldplan.model import Section as Sizes
    from yieldplan.model.leftovers import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """What one blank has to spare (steps), on the stick ``name`` of the board ``root``.

    ``stand_by`` names an untouched board that gives every kind of blank of ``root``, or is ``""``.
    """

    root: str
    name: str
    blank: str
    thickness: int
    width: int
    length: int
    stand_by: str = ""

    @property
    def tightest(self) -> tuple[int, ...]:
        """Sort key: the smallest margin first."""
        return (min(self.thickness, self.width, self.length), self.thickness, self.width, self.length)


def free_beside(span: Span, others: Iterable[Span], room: Span, kerf: int) -> tuple[int, int]:
    """Return how much free wood lies before and behind a piece of a row, a kerf from its neighbours left out."""
    low, high = room
    for start, end in others:
        if end <= span[0]:
            low = max(low, end + kerf)
        elif start >= span[1]:
            high = min(high, start - kerf)
    return max(0, span[0] - low), max(0, high - span[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a stick lies: its board, its name, its rows (the first and the second) and its places in them."""

    root: str
    name: str
    billet: Billet
    wood: Wood
    rows: tuple[Row, Row]
    at: tuple[int, int]

    @property
    def yz(self) -> tuple[Span, Span]:
        """From where to where across y and across z, in the box."""
        spans = tuple(row.spans[place] for row, place in zip(self.rows, self.at, strict=True))
        return (spans[0], spans[1]) if self.billet.rip_first else (spans[1], spans[0])

    @property
    def beside(self) -> tuple[Span, Span]:
        """How much is free before and behind it across y and across z."""
        found = [
            free_beside(row.spans[place], row.spans, (0, row.end), row.kerf)
            for row, place in zip(self.rows, self.at, strict=True)
        ]
        return (found[0], found[1]) if self.billet.rip_first else (found[1], found[0])


def margin_of(place: Place, stick: Stick, cut: CutBlank, blank: Blank, sizes: Sizes, shop: Shop) -> Margin:
    """Return what one blank of a stick has to spare; ``sizes`` are the stick's."""
    billet, (y, z), (in_y, in_z) = place.billet, place.yz, place.beside
    window = ring_window(place.wood.offcut, blank, turned=stick.turned) or (0, place.wood.offcut.width)
    low, high = window[0] - place.wood.low, window[1] - place.wood.low
    in_y = min(in_y[0], y[0] - low), min(in_y[1], high - billet.edge_loss - y[1])
    taken = [other.end - other.start + shop.crosscut_kerf for other in stick.blanks]
    number = stick.blanks.index(cut)
    first = billet.start + shop.stick_trim + sum(taken[:number])
    last = billet.end - shop.stick_trim - sum(taken[number + 1 :])
    in_x = cut.start - first, last - cut.end
    limits = _defects(place, ((cut.start, cut.end), y, z), blank, shop)
    along, across, deep = (
        sum(max(0, min(free, limit)) for free, limit in zip(pair, most, strict=True))
        for pair, most in zip((in_x, in_y, in_z), limits, strict=True)
    )
    across, deep = across + y[1] - y[0], deep + z[1] - z[0]
    wide, thick = (deep, across) if stick.turned else (across, deep)
    return Margin(
        root=place.root,
        name=place.name,
        blank=blank.name,
        thickness=thick - sizes.planed_thickness,
        width=wide - sizes.planed_width,
        length=along,
    )


def _defects(place: Place, own: tuple[Span, Span, Span], blank: Blank, shop: Shop) -> list[tuple[int, int]]:
    """Return for each axis how far the blank could reach before and behind itself until a defect stops it."""
    limits = [[1 << 60, 1 << 60] for _ in range(3)]
    billet, deep = place.billet, place.wood.thickness - place.billet.face_loss
    for d in place.wood.defects(shop):
        if blank.allows_kind(d.kind) and not blank.clear_end:
            continue
        box = (
            (d.x1, d.x2),
            (d.y1 - billet.edge_loss, d.y2 - shop.edge_skim),
            (0, deep) if d.through else (d.z1 - billet.face_loss, d.z2 - shop.face_skim),
        )
        for axis in range(3):
            if all(_meet(box[a], own[a]) for a in range(3) if a != axis):
                before, behind = own[axis][0] - box[axis][1], box[axis][0] - own[axis][1]
                if before >= 0:
                    limits[axis][0] = min(limits[axis][0], before)
                elif behind >= 0:
                    limits[axis][1] = min(limits[axis][1], behind)
    return [(low, high) for low, high in limits]


def _meet(one: Span, other: Span) -> bool:
    return one[0] < other[1] and other[0] < one[1]
