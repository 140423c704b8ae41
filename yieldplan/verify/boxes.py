"""What is jointed as one piece, worked out afresh: losses (R3), box and rows across (R4, R5); sound ends (R1)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import Billet
from yieldplan.verify.rows import Row, spans_of

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
        rip, thick, wide = self.billet.layout == "rip first", self.offcut.thickness, self.width
        first, second = (self.wide, self.deep) if rip else (self.deep, self.wide)
        height, rough = (thick, wide) if rip else (wide, thick)
        strips = spans_of(self.billet.strips, "strip" if rip else "layer")
        yield Row(spans=strips, depth=first, other=second, height=height, resaw=not rip, shop=shop)
        for span, strip in zip(strips, self.billet.strips, strict=True):
            yield Row(
                name=span.name,
                spans=spans_of(strip.sticks, "stick"),
                depth=second,
                other=span.size,
                height=span.size if first - span.end > shop.plane_off else rough - span.start,
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
    bends = [0, *sorted({kink for kink in offcut.kinks if 0 < kink < offcut.length}), offcut.length]
    at = max((n for n, place in enumerate(bends[:-1]) if place <= billet.start), default=0)
    along = Fraction(billet.end - billet.start, bends[at + 1] - bends[at])
    share = Fraction(part[1] - part[0], offcut.width)
    face = offcut.bow * along**2 + offcut.cup * share**2 + offcut.twist * share * along / 2 + shop.face_skim
    edge = offcut.crook * along**2 + shop.edge_skim
    return Box(
        name=name,
        offcut=offcut,
        billet=billet,
        low=part[0],
        width=part[1] - part[0],
        face=math.ceil(face / shop.mark) * shop.mark,
        edge=math.ceil(edge / shop.mark) * shop.mark,
    )


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
        (*reach(defect, shop), defect.x1, defect.x2)
        for defect in offcut.defects
        if defect.through and _is_crack(defect.kind) and defect.y1 <= 0 and offcut.width <= defect.y2
    ]
    for _ in cracks:  # each may bring the next into reach
        low = max([low, *(past for _, past, start, _ in cracks if start < low)])
        high = min([high, *(past for past, _, _, end in cracks if end > high)])
    return low, high
