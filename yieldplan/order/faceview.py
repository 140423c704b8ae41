"""The face of a board to scale: end A on the left, edge 1 towards you, running measures from end A.

Waste is hatched, defects are cross-hatched, those that do not reach face 1 drawn broken; what lies under a stick or
keeper that is nearer to face 1 does not show.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.order.data import meet
from yieldplan.order.names import short
from yieldplan.pages.drawing import BOLD, FINE, FIRM, HIGH, Sketch, Word, scale_of
from yieldplan.pages.paper import FOOT, HAND, SET, width_of
from yieldplan.pages.shapes import Box, spread
from yieldplan.pages.wording import figure

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportlab.graphics.shapes import Drawing

    from yieldplan.model import Defect, Shop
    from yieldplan.order.data import Along, Card, Milled, Section

SIDE, END = 34.0, 16.0
"""Room for the A and the words left of the face, and for the B right of it."""

REACH, ROW = 3.5, 10.0
"""How far running measures stand off the face, with a line from each to its place; how high their row is."""


def face_view(card: Card, most: tuple[float, float], shop: Shop) -> Drawing:
    """Return the face of a board; ``most``: how wide it is at most with what stands beside it, how high by itself."""
    return _Face(card, most, shop).drawn()


class _Face:
    """Draws one face."""

    def __init__(self, card: Card, most: tuple[float, float], shop: Shop) -> None:
        self.card, self.width, self.fig = card, most[0], figure(shop)
        offcut = card.offcut
        self.scale = scale_of(offcut.length, offcut.width, self.width - SIDE - END, most[1])
        lengths = (*card.ends.billets, *card.ends.keepers)
        above = sorted({place for _, x in lengths for place in x} - {0, offcut.length})
        sticks = [one.pieces for milled in card.milled for one in milled.sections]
        ends = {piece.x[1] for pieces in sticks for piece in pieces}
        starts = {x for pieces in sticks for x in _starts(pieces, shop.crosscut_kerf)}
        self.above = self._measures(above, bold=True)
        self.below = self._measures(sorted(starts | ends)) or self._measures(sorted(ends))
        low = ROW + REACH if self.below else ROW
        high = low + self.scale * offcut.width
        self.face = Box(SIDE, low, SIDE + self.scale * offcut.length, high)
        rights = [left + width_of(text, HAND, bold=True) for _, left, text in (*self.above, *self.below)]
        self.sketch = Sketch(
            max(self.face.x2 + END, *rights, 0.0), high + (ROW + REACH if self.above else ROW)
        )

    def drawn(self) -> Drawing:
        """Return the drawing."""
        face, sketch = self.face, self.sketch
        defects = self.card.offcut.defects
        off = [self._defect(defect) for defect in defects]
        open_ones = [(box, one) for milled in self.card.milled for box, one in self._open(milled)]
        for box, one in open_ones:
            self._pieces(box, one, off)
        kept = [(self._x(x), name) for name, x in self.card.ends.keepers]
        for box, name in kept:
            sketch.rect(box)
            sketch.label(box, (f"keeper {name}", name), off)
        for _, span in (*self.card.ends.billets, *self.card.ends.keepers):
            for x in map(self._at, span):
                sketch.line((x, face.y1, x, face.y2), BOLD)
        for milled in self.card.milled:
            self._split(milled)
        for defect, box in zip(defects, off, strict=True):
            shows = defect.through or defect.z1 <= 0
            sketch.rect(box, FINE, dashed=not shows)
            if shows:
                sketch.hatch(box, (45, 135), 3.5)
        whole = [part for box, one in open_ones for part in self._whole(box, one)]
        sketch.hatch(face, (45,), 6.0, [*whole, *(box for box, _ in kept), *off])
        sketch.rect(face, BOLD)
        self._frame()
        return sketch.drawing

    def _frame(self) -> None:
        """Write which end, face and edge is which, and the running measures."""
        face, sketch = self.face, self.sketch
        middle = (face.y1 + face.y2 - HIGH * SET) / 2
        sketch.write(Word("A", face.x1 - 14, middle, SET, bold=True))
        sketch.write(Word("B", face.x2 + 4, middle, SET, bold=True))
        sketch.write(Word("edge 1", 0, face.y1 - HIGH * FOOT - 1, FOOT))
        sketch.write(Word("face 1", 0, face.y2 + 1, FOOT))
        for x, left, text in self.above:
            sketch.write(Word(text, left, face.y2 + REACH + 1, HAND, bold=True))
            end = left + width_of(text, HAND, bold=True) / 2
            sketch.line((x, face.y2, end, face.y2 + REACH - 1), FINE)
        for x, left, text in self.below:
            sketch.write(Word(text, left, face.y1 - REACH - HIGH * HAND - 1, HAND))
            sketch.line((x, face.y1, left + width_of(text, HAND) / 2, face.y1 - REACH + 1), FINE)

    def _measures(self, places: Sequence[int], *, bold: bool = False) -> list[tuple[float, float, str]]:
        """Return (place, left edge of the label, label) of running measures; none if there is no room for all."""
        labels = [self.fig(place) for place in places]
        centres = [self._at(place) for place in places]
        widths = [width_of(label, HAND, bold) for label in labels]
        lefts = spread(centres, widths, SIDE, self.width - ROW / 2)
        return [] if lefts is None else list(zip(centres, lefts, labels, strict=True))

    def _at(self, steps: int) -> float:
        return SIDE + self.scale * steps

    def _x(self, x: tuple[int, int]) -> Box:
        return Box(self._at(x[0]), self.face.y1, self._at(x[1]), self.face.y2)

    def _open(self, milled: Milled) -> Iterator[tuple[Box, Section]]:
        """Yield a billet's sticks and keepers that lie open on face 1, each as long as the billet."""
        for one in milled.sections:
            if not any(_hides(other, one) for other in milled.sections):
                low = self.face.y1 + self.scale * (milled.wood.low + milled.billet.edge_loss)
                x = self._x((milled.billet.start, milled.billet.end))
                yield Box(x.x1, low + self.scale * one.y[0], x.x2, low + self.scale * one.y[1]), one

    def _whole(self, box: Box, one: Section) -> list[Box]:
        """Return what is not waste of a stick, or a keeper."""
        return [box] if one.keeper else [self._part(box, piece) for piece in one.pieces]

    def _part(self, box: Box, piece: Along) -> Box:
        """Return where a piece of a stick lies."""
        return Box(self._at(piece.x[0]), box.y1, self._at(piece.x[1]), box.y2)

    def _pieces(self, box: Box, one: Section, off: Sequence[Box]) -> None:
        """Draw a stick's blanks and keepers, or a keeper, with their names where they find room."""
        sketch = self.sketch
        if one.keeper:
            sketch.rect(box)
            sketch.label(box, (f"keeper {one.name}", one.name), off)
        for number, piece in enumerate(one.pieces):
            own = self._part(box, piece)
            sketch.rect(own)
            if number == 0:
                own = self._numbered(own, one.name)
            texts = (f"keeper {piece.name}", piece.name) if piece.keeper else (piece.name,)
            sketch.label(own, texts, off)

    def _numbered(self, box: Box, name: str) -> Box:
        """Write a stick's number at the head of its first piece if there is room; return the room that is left."""
        number = short(name, self.card.board)
        word = Word(number, box.x1 + 3, (box.y1 + box.y2 - HIGH * FOOT) / 2, FOOT, bold=True)
        if box.y2 - box.y1 < FOOT or word.box.x2 + FOOT > box.x2:
            return box
        self.sketch.write(word)
        return Box(word.box.x2, box.y1, box.x2, box.y2)

    def _split(self, milled: Milled) -> None:
        """Draw the sawn side of a half, a line along the face."""
        if milled.half:
            y = self.face.y1 + self.scale * (milled.wood.low or milled.wood.width)
            x = self._x((milled.billet.start, milled.billet.end))
            self.sketch.line((x.x1, y, x.x2, y), FIRM)

    def _defect(self, defect: Defect) -> Box:
        x = self._x((max(defect.x1, 0), min(defect.x2, self.card.offcut.length)))
        low, high = max(defect.y1, 0), min(defect.y2, self.card.offcut.width)
        return Box(x.x1, self.face.y1 + self.scale * low, x.x2, self.face.y1 + self.scale * high)


def _starts(pieces: Sequence[Along], kerf: int) -> Iterator[int]:
    """Yield where a stick's first piece begins, and each that does not begin a kerf behind the one before it."""
    before = None
    for piece in pieces:
        if before is None or piece.x[0] > before + kerf:
            yield piece.x[0]
        before = piece.x[1]


def _hides(other: Section, one: Section) -> bool:
    """Return whether one section lies between face 1 and another, even in part."""
    return meet(other.y, one.y) and other.z[0] < one.z[0]
