"""The drawings of a card, to scale: the face of the board, and the ends of its billets.

The face lies with end A on the left and edge 1 towards you; running measures are from end A. Ends are seen from end A,
face 1 up, edge 1 on the right. Waste is hatched, defects are cross-hatched, those that do not reach face 1 drawn
broken; what lies under a stick or keeper that is nearer to face 1 does not show.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.order.data import meet
from yieldplan.order.sentences import called, short
from yieldplan.pages.drawing import BOLD, FINE, FIRM, HIGH, THIN, Box, Sketch, Word, hatch, spread
from yieldplan.pages.paper import FOOT, HAND, SET, width_of
from yieldplan.pages.wording import figure

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportlab.graphics.shapes import Drawing

    from yieldplan.model import Shop, Wood
    from yieldplan.order.data import Along, Card, Milled, Section, Span
    from yieldplan.pages.drawing import Stroke

SIDE, END = 34.0, 16.0
"""Room for the words beside edge 1, with the A of a face, and for the B right of it."""

REACH, ROW = 3.5, 10.0
"""How far running measures stand off the face, with a line from each to its place; how high their row is."""

WIDE, MOST_HIGH, LOW = 122.0, 40.0, 20.0
"""Room for the view, and the most height of an end: of a board's one billet, or of each of several; in points."""

RING, BANDS = 8.0, 4
"""Distance of the ring lines; in so many parts of an end they are drawn where the readings at its edges differ."""


def face_view(card: Card, most: tuple[float, float], shop: Shop) -> Drawing:
    """Return the face of a board; ``most``: how wide it is at most with what stands beside it, how high by itself."""
    return _Face(card, most, shop).drawn()


class _Face:
    """Draws one face; ``whole`` are what is not waste, ``off`` the defects, which no name covers."""

    def __init__(self, card: Card, most: tuple[float, float], shop: Shop) -> None:
        self.card, self.width, self.fig = card, most[0], figure(shop)
        offcut = card.offcut
        self.scale = min((self.width - SIDE - END) / offcut.length, most[1] / offcut.width)
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
        wide = max(self.face.x2 + END, *rights, 0.0)
        self.sketch = Sketch(wide, high + (ROW + REACH if self.above else ROW))
        self.whole: list[Box] = []
        self.off = [
            self._box(
                (max(one.x1, 0), min(one.x2, offcut.length)), (max(one.y1, 0), min(one.y2, offcut.width))
            )
            for one in offcut.defects
        ]

    def drawn(self) -> Drawing:
        """Return the drawing."""
        card, face, sketch, across = self.card, self.face, self.sketch, (0, self.card.offcut.width)
        for milled in card.milled:
            for one in milled.sections:
                if not any(_hides(other, one) for other in milled.sections):
                    self._section(milled, one)
        for name, x in card.ends.keepers:
            self._piece(self._box(x, across), f"keeper {name}", name)
        for _, x in (*card.ends.billets, *card.ends.keepers):
            box = self._box(x, across)
            for end in (box.x1, box.x2):
                sketch.line((end, face.y1, end, face.y2), BOLD)
        for milled in card.milled:
            if milled.half:  # the sawn side of a half
                y = milled.wood.low or milled.wood.width
                box = self._box((milled.billet.start, milled.billet.end), (y, y))
                sketch.line(box, FIRM)
        for defect, box in zip(card.offcut.defects, self.off, strict=True):
            shows = defect.through or defect.z1 <= 0
            sketch.rect(box, FINE, dashed=not shows)
            if shows:
                sketch.hatch(box, (45, 135), 3.5)
        sketch.hatch(face, (45,), 6.0, [*self.whole, *self.off])
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
        centres = [SIDE + self.scale * place for place in places]
        widths = [width_of(label, HAND, bold) for label in labels]
        lefts = spread(centres, widths, SIDE, self.width - ROW / 2)
        return [] if lefts is None else list(zip(centres, lefts, labels, strict=True))

    def _box(self, x: Span, y: Span) -> Box:
        """Return where something lies, from its places along and across the board."""
        left, low = self.face.x1, self.face.y1
        return Box(
            *(left + self.scale * x[0], low + self.scale * y[0]),
            *(left + self.scale * x[1], low + self.scale * y[1]),
        )

    def _section(self, milled: Milled, one: Section) -> None:
        """Draw a stick's blanks and keepers with its number at the head, or a keeper as long as its billet."""
        low = milled.wood.low + milled.billet.edge_loss
        y = (low + one.y[0], low + one.y[1])
        if one.keeper:
            self._piece(
                self._box((milled.billet.start, milled.billet.end), y), f"keeper {one.name}", one.name
            )
        for place, piece in enumerate(one.pieces):
            number = "" if place else short(one.name, self.card.board)
            names = (f"keeper {piece.name}", piece.name) if piece.keeper else (piece.name,)
            self._piece(self._box(piece.x, y), *names, number=number)

    def _piece(self, box: Box, *names: str, number: str = "") -> None:
        """Draw what is not waste: the stick's number and the first of some names that find room in it."""
        self.sketch.rect(box)
        self.whole.append(box)
        word = Word(number, box.x1 + 3, (box.y1 + box.y2 - HIGH * FOOT) / 2, FOOT, bold=True)
        if number and box.y2 - box.y1 >= FOOT and word.box.x2 + FOOT <= box.x2:
            self.sketch.write(word)
            box = box._replace(x1=word.box.x2)
        self.sketch.label(box, names, self.off)


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


def end_view(card: Card, milled: Milled) -> Drawing:
    """Return a billet's end, or a half's, seen from end A."""
    billet, wood = milled.billet, milled.wood
    high = MOST_HIGH if len(card.milled) == 1 else LOW
    scale = min((WIDE - SIDE - 2) / wood.width, high / wood.thickness)
    end = Box(1.0, 2.0, 1.0 + scale * wood.width, 2.0 + scale * wood.thickness)
    sketch = Sketch(WIDE, end.y2 + ROW + 2)
    y0, z0 = end.x2 - scale * billet.edge_loss, end.y2 - scale * billet.face_loss
    for one in milled.sections:
        (y1, y2), (z1, z2) = one.y, one.z
        box = Box(y0 - scale * y2, z0 - scale * z2, y0 - scale * y1, z0 - scale * z1)
        sketch.rect(box, FIRM)
        own = short(one.name, card.board)
        sketch.label(box, (f"keeper {own}", own) if one.keeper else (own,))
    sketch.line((y0, end.y1, y0, end.y2), FINE, dashed=True)
    sketch.line((end.x1, z0, end.x2, z0), FINE, dashed=True)
    if wood.offcut.rings is not None:
        sketch.strokes(_rings(wood, end, [box.grown(1.0) for box in sketch.words]), THIN, dashed=True)
    sketch.rect(end, BOLD)
    name = called((milled.name,), card.board) if len(card.milled) > 1 else "end A"
    sketch.write(Word(f"{name[:1].upper()}{name[1:]}, face 1 up", end.x1, end.y2 + 3, FOOT, bold=True))
    sketch.write(Word("edge 1", end.x2 + 3, (end.y1 + end.y2 - HIGH * FOOT) / 2, FOOT))
    return sketch.drawing


def _rings(wood: Wood, end: Box, off: Sequence[Box]) -> Iterator[Stroke]:
    """Yield growth rings at their angle to face 1, in bands where they vary across the width."""
    near, far = (sum(reading) / 2 for reading in wood.offcut.rings or ((0, 0), (0, 0)))
    whole = wood.offcut.width
    bands = 1 if near == far else BANDS
    wide = (end.x2 - end.x1) / bands
    for band in range(bands):
        place = (wood.low + wood.width * (band + 0.5) / bands) / whole
        box = Box(end.x2 - (band + 1) * wide, end.y1, end.x2 - band * wide, end.y2)
        yield from hatch(box, 180 - (near + (far - near) * place), RING, off)
