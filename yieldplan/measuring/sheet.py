"""The measuring sheet: two pages to print, with rows that a pencil fits, and the marks that go on the wood drawn."""

from __future__ import annotations

from io import BytesIO
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from reportlab import rl_config
from reportlab.lib.colors import black
from reportlab.lib.units import mm
from reportlab.platypus import PageBreak, SimpleDocTemplate, Table

from yieldplan.pages.drawing import FINE, Sketch, Word
from yieldplan.pages.paper import BARE, SIZES, font, para
from yieldplan.workbook.layouts import DEFECTS, OFFCUTS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportlab.graphics.shapes import Drawing
    from reportlab.platypus import Flowable

    from yieldplan.pages.paper import Paper

ROW = 8 * mm
"""Height of a row: what a builder's pencil fits."""

_MARGIN = 10 * mm
_HEAD = 11 * mm
_TITLE = 9 * mm
_WIDE, _HIGH = 96 * mm, 38 * mm
"""Of a picture."""

_GAP = 2 * mm
_SMALL = 8.0

_WEIGHTS = {"Offcut": 1.5, "Species": 1.7, "Kind": 1.7, "Note": 2.9, "Thickness": 1.55}
_WEIGHTS |= {"Moisture": 1.45, "Rack": 1.0, "Face": 0.8, "Qty": 0.7}
"""How wide a column is beside one for a measure."""

_ON_OFFCUTS = (
    "Face 1: the hollow wide face, turned up. Edge 1: the hollow edge, turned towards you.",
    "End A is then at your left. Write the name on face 1; mark A, face 1 and edge 1. Straight pieces: as you like.",
    "Sizes: the smallest along the piece, rounded down.",
    "Warp: the largest gap, over the whole piece, rounded up. Bow: straightedge along face 1; crook: along edge 1;",
    "cup: across face 1. Twist: three corners held down on a flat bench, how far the fourth stands up.",
    "Ring angle: growth rings to the wide face at an end, 0 to 90 degrees. Grain slope: 1 in so much.",
)
_ON_DEFECTS = (
    "A row for each defect. From and To: along the piece, both from end A.",
    "Edge from and Edge to: across the piece, both from edge 1.",
    "Draw the box a little large: all the wood that you would not want in a blank.",
    "Edge from and Edge to empty: right across. Face and Depth empty: right through.",
    "On one face only: write the face, 1 or 2, and how deep it goes.",
)

_Point = tuple[float, float]


class _Picture(NamedTuple):
    """What is drawn, in millimetres from the lower left: outlines, a broken one, measuring lines, words with size."""

    outlines: tuple[tuple[_Point, ...], ...]
    broken: tuple[_Point, ...]
    measures: tuple[tuple[_Point, _Point], ...]
    words: tuple[tuple[str, float, float, float], ...]


_BOARD = _Picture(
    outlines=(
        ((12, 19), (72, 19), (72, 13), (12, 13), (12, 19)),
        ((12, 19), (26, 31), (86, 31), (72, 19)),
        ((86, 31), (86, 25), (72, 13)),
    ),
    broken=(),
    measures=(((12, 9), (72, 9)),),
    words=(
        ("P001   face 1, hollow, up", 30, 24.9, 9),
        ("edge 1, towards you", 30, 14.9, 9),
        ("A", 2, 13.9, 13),
        ("B", 77.6, 20.3, 13),
        ("length, and every place along it, from end A", 20, 5.7, 7),
    ),
)
"""A board lying hollow face up, edge 1 towards the one who measures, with its marks."""

_DEFECT = _Picture(
    outlines=(((14, 34), (84, 34), (84, 16), (14, 16), (14, 34)),),
    broken=((44, 21), (56, 21), (56, 29), (44, 29), (44, 21)),
    measures=(((14, 10), (44, 10)), ((14, 5.5), (56, 5.5)), ((62, 16), (62, 21)), ((77, 16), (77, 29))),
    words=(
        ("knot", 45.6, 24.2, 7),
        ("A", 8, 23.7, 13),
        ("B", 87, 23.7, 13),
        ("face 1", 17, 30.4, 8),
        ("edge 1", 16, 12.8, 8),
        ("From", 46, 9.1, 7),
        ("To", 58, 4.6, 7),
        ("Edge from", 64, 18.2, 7),
        ("Edge to", 66.5, 26.2, 7),
    ),
)
"""Face 1 from above with the box round a knot, and what is measured to it."""


def measuring_sheet(paper: Paper = "letter") -> bytes:
    """Return the pdf of the measuring sheet: a page for offcuts and one for their defects, lying on its side."""
    high, wide = SIZES[paper]
    out, names = BytesIO(), {"title": "Measuring sheet", "creator": "yieldplan"}
    margins = dict.fromkeys(("leftMargin", "rightMargin", "topMargin", "bottomMargin"), _MARGIN)
    document = SimpleDocTemplate(out, pagesize=(wide, high), invariant=1, **names, **margins)
    room = (wide - 2 * _MARGIN - 12, high - 2 * _MARGIN - 12)  # a frame keeps 6 points clear on every side
    measured = [heading for heading in OFFCUTS.headings if heading != "From"]
    first = _page("offcuts", measured, _BOARD, _ON_OFFCUTS, room)
    second = _page("defects", DEFECTS.headings, _DEFECT, _ON_DEFECTS, room)
    rl_config.useA85 = 0
    document.build([*first, PageBreak(), *second])
    return out.getvalue()


def _page(
    title: str, headings: Sequence[str], picture: _Picture, rules: Sequence[str], room: tuple[float, float]
) -> list[Flowable]:
    """Return a page: its title, the picture with the rules beside it, and as many rows as there is room for."""
    wide, high = room
    written = "Units: inch / mm      Measured by ______________________      Date ____________      Sheet ____ of ____"
    top = [("VALIGN", (0, 0), (-1, 0), "TOP")]
    said = [("ALIGN", (1, 0), (1, 0), "RIGHT"), ("FONT", (1, 0), (1, 0), font(), 9), *top, *BARE]
    named = [para(f"Measuring sheet: {title}", 14, bold=True), written]
    beside = [_drawn(picture), [para(rule, _SMALL, after=1.5) for rule in rules]]
    widths = [_WIDE + 6 * mm, wide - _WIDE - 6 * mm]
    weights = [_WEIGHTS.get(heading, 1.15) for heading in headings]
    rows = int((high - _TITLE - _HIGH - _HEAD - 2 * _GAP) // ROW)
    cells: list[list[object]] = [[para(heading, _SMALL, bold=True, after=0) for heading in headings]]
    look = [
        ("GRID", (0, 0), (-1, -1), 0.5, black),
        ("LINEBELOW", (0, 0), (-1, 0), 1.2, black),
        ("LEFTPADDING", (0, 0), (-1, 0), 2),
        ("RIGHTPADDING", (0, 0), (-1, 0), 1),
        ("TOPPADDING", (0, 0), (-1, 0), 1),
        *top,
    ]
    return [
        Table([named], [wide * 0.36, wide * 0.64], [_TITLE], style=said),
        Table([beside], widths, [_HIGH + _GAP], style=[*top, *BARE]),
        Table(
            cells + [[""] * len(headings)] * rows,
            [wide * weight / sum(weights) for weight in weights],
            [_HEAD] + [ROW] * rows,
            style=look,
        ),
    ]


def _drawn(picture: _Picture) -> Drawing:
    sketch = Sketch(_WIDE, _HIGH)
    for path in (*picture.outlines, picture.broken):
        strokes = ((x1 * mm, y1 * mm, x2 * mm, y2 * mm) for (x1, y1), (x2, y2) in pairwise(path))
        sketch.strokes(strokes, 1.0, dashed=path is picture.broken)
    for start, end in picture.measures:  # a line with a bar at either end
        right, up = (0, 1) if start[1] == end[1] else (1, 0)
        bars = ((x - right, y - up, x + right, y + up) for x, y in (start, end))
        sketch.strokes((tuple(mm * place for place in stroke) for stroke in ((*start, *end), *bars)), FINE)
    for text, x, y, size in picture.words:
        sketch.write(Word(text, x * mm, y * mm, size, bold=size > 7))
    return sketch.drawing
