"""The end of a billet to scale, seen from end A: face 1 up, edge 1 on the right, strips, sticks, growth rings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.order.names import called, short
from yieldplan.pages.drawing import BOLD, FINE, FIRM, HIGH, THIN, Sketch, Word
from yieldplan.pages.paper import FOOT
from yieldplan.pages.shapes import Box, hatch

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportlab.graphics.shapes import Drawing

    from yieldplan.model import Wood
    from yieldplan.order.data import Card, Milled
    from yieldplan.pages.shapes import Stroke

WIDE, MOST_HIGH, LOW = 122.0, 40.0, 20.0
"""Room for the view, and the most height of an end: of a board's one billet, or of each of several; in points."""

SIDE = 34.0
"""Room for the words beside edge 1."""

ROW = 10.0
RING, BANDS = 8.0, 4
"""Distance of the ring lines; in so many parts of an end they are drawn where the readings at its edges differ."""


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
