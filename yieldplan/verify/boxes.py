"""What is jointed as one piece, worked out afresh: losses (R3), box and rows across (R4, R5); sound ends (R1)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import Billet
from yieldplan.verify.rows import Row, Span, is_planed_off

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Defect, Offcut, Shop, SplitBillet

LAYOUTS = ("rip first", "resaw first")


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A billet, or a half of one, after jointing, whatever the plan says of its losses.

    ``low`` and ``width`` say which part of the offcut's width it is; ``face`` and ``edge`` are F and E of R3.
    """

    where: str
    offcut: Offcut
    low: int
    width: int
    start: int
    end: int
    rip_first: bool
    face: int
    edge: int

    @property
    def length(self) -> int:
        """How long the billet is."""
        return self.end - self.start

    @property
    def wide(self) -> int:
        """Size of the box across y."""
        return self.width - self.edge

    @property
    def deep(self) -> int:
        """Size of the box across z."""
        return self.offcut.thickness - self.face

    def rows(self, billet: Billet, shop: Shop) -> Iterator[Row]:
        """Yield the rows across: the strips or layers, then the sticks of each of them."""
        thick = self.offcut.thickness
        if self.rip_first:
            word, first, second, height, rough = "strip", self.wide, self.deep, thick, self.width
        else:
            word, first, second, height, rough = "layer", self.deep, self.wide, self.width, thick
        strips = [Span(f"{word} {n}", strip.start, strip.end) for n, strip in enumerate(billet.strips, 1)]
        yield Row.sawn(
            shop, strips, where=self.where, depth=first, other=second, height=height, resaw=not self.rip_first
        )
        for span, strip in zip(strips, billet.strips, strict=True):
            planed_off = is_planed_off(span, first, shop)
            yield Row.sawn(
                shop,
                [Span(f"stick {n}", stick.start, stick.end) for n, stick in enumerate(strip.sticks, 1)],
                where=f"{self.where}, {span.name}",
                depth=second,
                other=span.size,
                height=rough - span.start if planed_off else span.size,
                resaw=self.rip_first,
            )


def boxes_of(
    offcut: Offcut, billet: Billet | SplitBillet, where: str, shop: Shop
) -> Iterator[tuple[Box, Billet]]:
    """Yield what is jointed of a billet with its box: itself, or those halves that have a layout."""
    if isinstance(billet, Billet):
        yield _box(offcut, billet, where, (0, offcut.width), shop), billet
        return
    for word, (low, high), half in zip(
        ("near half", "far half"), half_spans(offcut, billet, shop), billet.halves, strict=False
    ):
        if half is not None:
            yield _box(offcut, half, f"{where}, {word}", (low, high), shop), half


def half_spans(offcut: Offcut, billet: SplitBillet, shop: Shop) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return from where to where across y the near and the far half lie: a bandsaw kerf is between them."""
    return (0, billet.split), (billet.split + shop.bandsaw_kerf, offcut.width)


def _box(offcut: Offcut, billet: Billet, where: str, part: tuple[int, int], shop: Shop) -> Box:
    low, high = part
    along = Fraction(billet.end - billet.start, _straight(offcut, billet.start))
    share = Fraction(high - low, offcut.width)
    face = offcut.bow * along**2 + offcut.cup * share**2 + offcut.twist * share * along / 2 + shop.face_skim
    edge = offcut.crook * along**2 + shop.edge_skim
    return Box(
        where=where,
        offcut=offcut,
        low=low,
        width=high - low,
        start=billet.start,
        end=billet.end,
        rip_first=billet.layout != LAYOUTS[1],
        face=math.ceil(face / shop.mark) * shop.mark,
        edge=math.ceil(edge / shop.mark) * shop.mark,
    )


def _straight(offcut: Offcut, start: int) -> int:
    """Return how long the straight part is that a billet starts on: from kink to kink, or the whole offcut."""
    places = [0, *sorted({kink for kink in offcut.kinks if 0 < kink < offcut.length}), offcut.length]
    at = max((n for n, place in enumerate(places[:-1]) if place <= start), default=0)
    return places[at + 1] - places[at]


def same_word(word: str) -> str:
    """Return a word as words are compared: without case and spacing."""
    return " ".join(word.casefold().split())


def is_crack(kind: str) -> bool:
    """Return whether a kind of defect has the word check, split or shake in it."""
    return any(word in ("check", "split", "shake") for word in same_word(kind).split())


def reach(defect: Defect, shop: Shop) -> tuple[int, int]:
    """Return from where to where along x a defect counts (R9): past what was seen of a crack or a knot."""
    past = 0
    if is_crack(defect.kind):
        past = shop.past_a_check
    elif "knot" in same_word(defect.kind).split():
        past = shop.past_a_knot
    return defect.x1 - past, defect.x2 + past


def sound(offcut: Offcut, shop: Shop) -> tuple[int, int]:
    """Return between which places billets may lie (R1): the end trims, longer where a crack begins in one.

    What a crack has made longer is the trim: one that begins in that makes it longer again.
    """
    low, high = shop.end_trim, offcut.length - shop.end_trim
    cracks = [
        defect
        for defect in offcut.defects
        if defect.through and is_crack(defect.kind) and defect.y1 <= 0 and offcut.width <= defect.y2
    ]
    for _ in cracks:  # each may bring the next into reach
        low = max([low, *(crack.x2 + shop.past_a_check for crack in cracks if crack.x1 < low)])
        high = min([high, *(crack.x1 - shop.past_a_check for crack in cracks if crack.x2 > high)])
    return low, high
