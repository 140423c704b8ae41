"""Drawings to scale: an offcut's face with its crosscuts, a billet's end with rips, resaws and rings.

What is kept is left white, what is not is hatched; defects are hatched crosswise. Growth rings are broken
lines.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.order.data import Along
from yieldplan.order.paper import SMALL, Drawing, Line, Rect, Text, width_of
from yieldplan.order.shapes import Box, hatch, spread

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from yieldplan.model import Defect, Offcut
    from yieldplan.order.data import Card, Milled, Section
    from yieldplan.order.paper import Mark

POINT = 8128 / 72
"""Steps of 1/320 mm in a point, 1/72 in."""

FACE_HEIGHT, END_WIDTH, END_HEIGHT = 70.0, 190.0, 110.0
"""The most room that a view takes, in points."""

LETTER = 16.0
"""Room for the A and the B beside the face."""

ROW = SMALL * 1.25
REACH = 9.0
"""How far running measures stand off the drawing, with a line from each to its place."""


@dataclass(frozen=True, slots=True)
class Scale:
    """From steps to points; ``said`` is what the caption says."""

    points: float
    said: str

    @classmethod
    def of(cls, width: int, height: int, most_width: float, most_height: float) -> Scale:
        """Return the largest scale of a tidy ratio at which a rectangle fits."""
        ratio = max(width / POINT / most_width, height / POINT / most_height)
        tidy = next((r for r in _RATIOS if r >= ratio), None)
        if tidy is None:
            tidy = Fraction(int(ratio) + 1)
        said = f"1 : {float(tidy):g}" if tidy >= 1 else f"{float(1 / tidy):g} : 1"
        return cls(1 / (POINT * float(tidy)), said)

    def __call__(self, steps: int) -> float:
        """Return steps in points."""
        return steps * self.points


_RATIOS = (
    Fraction(1, 2),
    *(Fraction(n, 10) for n in (10, 12, 15, 20, 25)),
    *(Fraction(n, 2) for n in range(6, 60)),
)


def face_scale(card: Card, width: float) -> Scale:
    """Return the scale of a card's face view in a width of so many points."""
    return Scale.of(card.offcut.length, card.offcut.width, width - 2 * LETTER, FACE_HEIGHT)


def face_view(card: Card, width: float, fig: Callable[[int], str]) -> tuple[Drawing, list[str]]:
    """Return the face view, and the names that found no room in it, from edge 1 up.

    End A is on the left, edge 1 below, running measures are from end A.
    """
    offcut = card.offcut
    scale = face_scale(card, width)
    above = _measures([length.x[0] for length in card.lengths], scale, width, fig)
    below = _measures([length.x[1] for length in card.lengths], scale, width, fig)
    top = ROW + REACH if above else 2.0
    long, wide = scale(offcut.length), scale(offcut.width)
    face = Box(LETTER, top, LETTER + long, top + wide)
    marks: list[Mark] = [Rect(face, 1.2)]
    middle = top + wide / 2 - ROW / 2
    marks += [Text(2, middle, "A", SMALL, bold=True), Text(face.x2 + 5, middle, "B", SMALL, bold=True)]
    inside, unnamed = _face_marks(card, face, scale)
    marks += inside
    for x, left, label in above:
        marks += [Text(left, 0.0, label, SMALL)]
        marks += [Line(left + width_of(label, SMALL) / 2, top - REACH + 1, x, top, 0.4)]
    for x, left, label in below:
        marks += [Text(left, face.y2 + REACH, label, SMALL)]
        marks += [Line(x, face.y2, left + width_of(label, SMALL) / 2, face.y2 + REACH - 1, 0.4)]
    height = max(face.y2, middle + ROW) + (REACH + ROW if below else 0) + 4.0
    return Drawing(width, height, marks), unnamed


def _measures(
    places: Sequence[int], scale: Scale, width: float, fig: Callable[[int], str]
) -> list[tuple[float, float, str]]:
    """Return (place, left edge of the label, label) of running measures; none if there is no room for all."""
    labels = [fig(place) for place in places]
    centres = [LETTER + scale(place) for place in places]
    lefts = spread(centres, [width_of(label, SMALL) for label in labels], 0.0, width)
    return [] if lefts is None else list(zip(centres, lefts, labels, strict=True))


def _face_marks(card: Card, face: Box, scale: Scale) -> tuple[list[Mark], list[str]]:
    """Return what is drawn on the face: defects, pieces, hatching between; and names without room."""
    marks: list[Mark] = []
    kept: list[tuple[Box, str]] = []
    for length in card.lengths:
        x1, x2 = face.x1 + scale(length.x[0]), face.x1 + scale(length.x[1])
        marks += [Line(x1, face.y1, x1, face.y2, 1.0), Line(x2, face.y1, x2, face.y2, 1.0)]
        if length.keeper:
            kept.append((Box(x1, face.y1, x2, face.y2), _said(card, length)))
    for milled in card.milled:
        kept += _seen(card, milled, face, scale)
        marks += _split_line(milled, face, scale)
    defects = [_defect_box(defect, face, scale) for defect in card.offcut.defects]
    labels: list[Box] = []
    unnamed = []
    for box, name in sorted(kept, key=lambda one: (-one[0].y2, one[0].x1)):
        marks.append(Rect(box, 0.8))
        label = _label(box, (name,), [*defects, *labels])
        if label is None:
            unnamed.append(name)
        else:
            labels.append(_covered(label))
            marks.append(label)
    for defect in defects:
        marks.append(Rect(defect, 0.6))
        marks += [Line(*s, 0.4) for angle in (45, 135) for s in hatch(defect, angle, 3.0)]
    off = [*(box for box, _ in kept), *defects]
    marks += [Line(*stroke, 0.3) for stroke in hatch(face, 45, 5.0, off)]
    return marks, unnamed


def _said(card: Card, piece: Along) -> str:
    """Return what stands on a piece in a drawing: the blank's name, or a keeper's own mark."""
    return piece.blank or f"keep {short(card, piece.name)}"


def short(card: Card, name: str) -> str:
    """Return a name as its own board's card has it: without the board's."""
    return name.removeprefix(card.root).lstrip("-") or name


def _split_line(milled: Milled, face: Box, scale: Scale) -> list[Mark]:
    """Return the sawn side of a half, a line along the face."""
    if not milled.half:
        return []
    y = face.y2 - scale(milled.wood.low or milled.wood.width)
    return [Line(face.x1 + scale(milled.billet.start), y, face.x1 + scale(milled.billet.end), y, 1.0)]


def _seen(card: Card, milled: Milled, face: Box, scale: Scale) -> Iterable[tuple[Box, str]]:
    """Yield a billet's pieces as far as they lie open on face 1, each with what is written on it."""
    billet, edge = milled.billet, milled.wood.low + milled.billet.edge_loss
    for section in milled.sections:
        if any(_hides(other, section) for other in milled.sections):
            continue
        y2, y1 = (face.y2 - scale(y + edge) for y in section.y)
        whole = Along(name=section.name, x=(billet.start, billet.end), keeper=True)
        for piece in (whole,) if section.keeper else section.pieces:
            x1, x2 = (face.x1 + scale(x) for x in piece.x)
            yield Box(x1, y1, x2, y2), _said(card, piece)


def _hides(other: Section, section: Section) -> bool:
    """Return whether one section lies between face 1 and another, even in part."""
    across = other.y[0] < section.y[1] and section.y[0] < other.y[1]
    return across and other.z[0] < section.z[0]


def _defect_box(defect: Defect, face: Box, scale: Scale) -> Box:
    box = Box(
        face.x1 + scale(defect.x1),
        face.y2 - scale(defect.y2),
        face.x1 + scale(defect.x2),
        face.y2 - scale(defect.y1),
    )
    return Box(max(box.x1, face.x1), max(box.y1, face.y1), min(box.x2, face.x2), min(box.y2, face.y2))


def _label(box: Box, names: Sequence[str], off: Sequence[Box]) -> Text | None:
    """Return the first name that stands in a box clear of its sides and of other boxes, or None."""
    y = (box.y1 + box.y2 - ROW) / 2
    for name in names:
        wide = width_of(name, SMALL)
        if wide + 4 > box.x2 - box.x1 or box.y2 - box.y1 < ROW + 1:
            continue
        for x in ((box.x1 + box.x2 - wide) / 2, box.x1 + 2, box.x2 - wide - 2):
            text = Text(x, y, name, SMALL)
            if not any(_covered(text).grown(1).meets(other) for other in off):
                return text
    return None


def _covered(label: Text) -> Box:
    return Box(label.x, label.y, label.x + width_of(label.text, label.size), label.y + ROW)


def end_view(card: Card, milled: Milled, rings: bool = True) -> Drawing:
    """Return a billet's end seen from end A: edge 1 right, face 1 up, sticks by number, growth rings."""
    billet, wood = milled.billet, milled.wood
    scale = Scale.of(wood.width, wood.thickness, END_WIDTH - 2, END_HEIGHT)
    top = ROW + 2.0
    end = Box(1, top, 1 + scale(wood.width), top + scale(wood.thickness))
    marks: list[Mark] = [Text(0, 0, f"End A, drawn {scale.said}", SMALL)]
    marks.append(Rect(end, 1.2))
    y0, z0 = end.x2 - scale(billet.edge_loss), end.y1 + scale(billet.face_loss)
    marks += [Line(y0, z0, y0, end.y2, 0.5, dash=True), Line(end.x1, z0, y0, z0, 0.5, dash=True)]
    labels = []
    for section in milled.sections:
        (y1, y2), (z1, z2) = section.y, section.z
        box = Box(y0 - scale(y2), z0 + scale(z1), y0 - scale(y1), z0 + scale(z2))
        marks.append(Rect(box, 1.0))
        own = short(card, section.name)
        label = _label(box, (f"keep {own}", own) if section.keeper else (own,), ())
        if label is not None:
            labels.append(_covered(label).grown(1))
            marks.append(label)
    if rings and wood.offcut.rings is not None:
        marks += _ring_lines(wood.offcut, end, labels)
    return Drawing(END_WIDTH, end.y2 + 4.0, marks)


def _ring_lines(offcut: Offcut, end: Box, labels: Sequence[Box]) -> list[Mark]:
    """Return growth rings as lines at the offcut's ring angles to its wide face, in bands where they vary."""
    near, far = (sum(reading) / 2 for reading in offcut.rings or ((0, 0), (0, 0)))
    bands = 1 if near == far else RING_BANDS
    wide = (end.x2 - end.x1) / bands
    return [
        Line(*stroke, 0.3, dash=True)
        for band in range(bands)
        for stroke in hatch(
            Box(end.x2 - (band + 1) * wide, end.y1, end.x2 - band * wide, end.y2),
            180 - (near + (far - near) * (band + 0.5) / bands),
            7.0,
            labels,
        )
    ]


RING_BANDS = 4
"""In so many parts of an end the rings are drawn where the readings at its edges differ."""
