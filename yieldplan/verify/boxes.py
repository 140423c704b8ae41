"""What is jointed as one piece, worked out afresh: losses (R3), box and rows across (R4, R5); sound ends (R1)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import Billet
from yieldplan.verify.rows import Row, Span

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Defect, Offcut, Shop, SplitBillet


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A billet, or a half of one, after jointing, whatever the plan says of its losses.

    ``low`` and ``width`` say which part of the offcut's width it is; ``face`` and ``edge`` are F and E of R3; ``name``
    is which half it is.
    """

    name: str
    offcut: Offcut
    billet: Billet
    low: int
    width: int
    face: int
    edge: int

    @property
    def length(self) -> int:
        """How long the billet is."""
        return self.billet.end - self.billet.start

    @property
    def wide(self) -> int:
        """Size of the box across y."""
        return self.width - self.edge

    @property
    def deep(self) -> int:
        """Size of the box across z."""
        return self.offcut.thickness - self.face

    def rows(self, shop: Shop) -> Iterator[Row]:
        """Yield the rows across: the strips or layers, then the sticks of each of them."""
        rip, thick = self.billet.layout == "rip first", self.offcut.thickness
        word, first, second, height, rough = (
            ("strip", self.wide, self.deep, thick, self.width)
            if rip
            else ("layer", self.deep, self.wide, self.width, thick)
        )
        strips = [Span(f"{word} {n}", one.start, one.end) for n, one in enumerate(self.billet.strips, 1)]
        yield Row(name="", spans=strips, depth=first, other=second, height=height, resaw=not rip, shop=shop)
        for span, strip in zip(strips, self.billet.strips, strict=True):
            planed_off = first - span.end <= shop.plane_off
            yield Row(
                name=span.name,
                spans=[Span(f"stick {n}", one.start, one.end) for n, one in enumerate(strip.sticks, 1)],
                depth=second,
                other=span.size,
                height=rough - span.start if planed_off else span.size,
                resaw=rip,
                shop=shop,
            )


def boxes_of(offcut: Offcut, billet: Billet | SplitBillet, shop: Shop) -> Iterator[Box]:
    """Yield what is jointed of a billet: itself, or those halves that have a layout."""
    if isinstance(billet, Billet):
        yield _box(offcut, billet, "", (0, offcut.width), shop)
        return
    for (name, part), half in zip(half_spans(offcut, billet, shop).items(), billet.halves, strict=False):
        if half is not None:
            yield _box(offcut, half, name, part, shop)


def half_spans(offcut: Offcut, billet: SplitBillet, shop: Shop) -> dict[str, tuple[int, int]]:
    """Return from where to where across y the near and the far half lie: a bandsaw kerf is between them."""
    return {"near half": (0, billet.split), "far half": (billet.split + shop.bandsaw_kerf, offcut.width)}


def _box(offcut: Offcut, billet: Billet, name: str, part: tuple[int, int], shop: Shop) -> Box:
    low, high = part
    along = Fraction(billet.end - billet.start, _straight(offcut, billet.start))
    share = Fraction(high - low, offcut.width)
    face = offcut.bow * along**2 + offcut.cup * share**2 + offcut.twist * share * along / 2 + shop.face_skim
    edge = offcut.crook * along**2 + shop.edge_skim
    return Box(
        name=name,
        offcut=offcut,
        billet=billet,
        low=low,
        width=high - low,
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


def _is_crack(kind: str) -> bool:
    return any(word in ("check", "split", "shake") for word in same_word(kind).split())


def reach(defect: Defect, shop: Shop) -> tuple[int, int]:
    """Return from where to where along x a defect counts (R9): past what was seen of a crack or a knot."""
    past = 0
    if _is_crack(defect.kind):
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
        if defect.through and _is_crack(defect.kind) and defect.y1 <= 0 and offcut.width <= defect.y2
    ]
    for _ in cracks:  # each may bring the next into reach
        low = max([low, *(crack.x2 + shop.past_a_check for crack in cracks if crack.x1 < low)])
        high = min([high, *(crack.x1 - shop.past_a_check for crack in cracks if crack.x2 > high)])
    return low, high
