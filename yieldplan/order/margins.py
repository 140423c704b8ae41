"""Margins: how much may still go wrong across, through and along before a blank is lost, after jointing as planned.

A margin is what the stick has over the section it is planed to (the planing allowance), or the piece over its length
(the length allowance), and the free wood beside it: gaps up to a kerf from its neighbours, up to the sides of the box,
or up to a defect or to rings that do not suit it. Each blank is looked at by itself: two neighbours may count on the
same gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model import planed_section, ring_window

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from yieldplan.model import Billet, Blank, CutBlank, Keeper, Offcut, Shop, Stick, Strip

Interval = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """What one blank has to spare (steps), on the piece ``name`` of the offcut's piece ``root``.

    ``stand_by`` names what could make all blanks of ``root`` should it fail, or is ``""``.
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


def free_beside(span: Interval, others: Iterable[Interval], room: Interval, kerf: int) -> tuple[int, int]:
    """Return how much free wood lies before and behind a piece of a row, a kerf from its neighbours left out."""
    low, high = room
    for start, end in others:
        if end <= span[0]:
            low = max(low, end + kerf)
        elif start >= span[1]:
            high = min(high, start - kerf)
    return max(0, span[0] - low), max(0, high - span[1])


class MarginFinder:
    """Finds the margins of the blanks of one billet."""

    def __init__(self, shop: Shop, offcut: Offcut, billet: Billet) -> None:
        self.shop, self.offcut, self.billet = shop, offcut, billet
        self.rip_first = billet.layout == "rip first"
        self.box = (offcut.width - billet.edge_loss, offcut.thickness - billet.face_loss)

    def of_blank(self, strip: Strip, stick: Stick, cut: CutBlank, blank: Blank) -> tuple[int, int, int]:
        """Return the margins across the blank's thickness, its width, and its length (steps)."""
        shop, rip_first = self.shop, self.rip_first
        outer, inner = (strip.start, strip.end), (stick.start, stick.end)
        y, z = (outer, inner) if rip_first else (inner, outer)
        beside_strip = self._row(outer, self.billet.strips, 0 if rip_first else 1, self._height)
        beside_stick = self._row(inner, strip.sticks, 1 if rip_first else 0, strip.end - strip.start)
        in_y, in_z = (beside_strip, beside_stick) if rip_first else (beside_stick, beside_strip)
        window = ring_window(self.offcut, blank, turned=stick.turned) or (0, self.offcut.width)
        in_y = min(in_y[0], y[0] - window[0]), min(in_y[1], window[1] - self.billet.edge_loss - y[1])
        limits = self._defects((cut.start, cut.end), y, z, blank)
        in_x = self._along(stick, cut)
        spare = [
            sum(min(free, limit) for free, limit in zip(pair, most, strict=True))
            for pair, most in zip((in_x, in_y, in_z), limits, strict=True)
        ]
        wide, thick = planed_section(self.offcut, blank, shop, turned=stick.turned)
        across, deep = (thick, wide) if stick.turned else (wide, thick)
        spare_y, spare_z = spare[1] + y[1] - y[0] - across, spare[2] + z[1] - z[0] - deep
        in_length = spare[0] + cut.end - cut.start - blank.length
        return (spare_y, spare_z, in_length) if stick.turned else (spare_z, spare_y, in_length)

    @property
    def _height(self) -> int:
        return self.offcut.thickness if self.rip_first else self.offcut.width

    def _row(self, span: Interval, row: Sequence[Strip | Stick], axis: int, height: int) -> tuple[int, int]:
        others = ((piece.start, piece.end) for piece in row)
        return free_beside(span, others, (0, self.box[axis]), self.shop.kerf_at(height) or 0)

    def _along(self, stick: Stick, cut: CutBlank) -> tuple[int, int]:
        billet, shop = self.billet, self.shop
        room = (
            max(billet.start + shop.snipe, shop.end_trim),
            min(billet.end - shop.snipe, self.offcut.length - shop.end_trim),
        )
        cuts: tuple[CutBlank | Keeper, ...] = (*stick.blanks, *stick.keepers)
        others = ((piece.start, piece.end) for piece in cuts)
        return free_beside((cut.start, cut.end), others, room, shop.crosscut_kerf)

    def _defects(self, x: Interval, y: Interval, z: Interval, blank: Blank) -> list[tuple[int, int]]:
        """Return for each axis how far the blank could reach before and behind itself until a defect stops it."""
        limits = [[1 << 60, 1 << 60] for _ in range(3)]
        own, shop = (x, y, z), self.shop
        for d in self.offcut.defects:
            if blank.allows_kind(d.kind) and not blank.clear_end:
                continue
            box = (
                (d.x1, d.x2),
                (d.y1 - self.billet.edge_loss, d.y2 - shop.edge_skim),
                (0, self.box[1]) if d.through else (d.z1 - self.billet.face_loss, d.z2 - shop.face_skim),
            )
            for axis in range(3):
                if all(_meet(box[a], own[a]) for a in range(3) if a != axis):
                    before, behind = own[axis][0] - box[axis][1], box[axis][0] - own[axis][1]
                    if before >= 0:
                        limits[axis][0] = min(limits[axis][0], before)
                    elif behind >= 0:
                        limits[axis][1] = min(limits[axis][1], behind)
        return [(low, high) for low, high in limits]


def _meet(one: Interval, other: Interval) -> bool:
    return one[0] < other[1] and other[0] < one[1]
