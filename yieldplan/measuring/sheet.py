"""The measuring sheet: two pages to print, with rows that a pencil fits, and the marks that go on the wood drawn."""

from __future__ import annotations

from io import BytesIO
from itertools import pairwise
from typing import TYPE_CHECKING

from reportlab import rl_config
from reportlab.lib.colors import black
from reportlab.lib.units import mm
from reportlab.platypus import PageBreak, SimpleDocTemplate, Table

from yieldplan.measuring.marks import Line, Mark, Text, drawing
from yieldplan.pages.paper import BARE, SIZES, font, para
from yieldplan.workbook.layouts import DEFECTS, OFFCUTS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportlab.platypus import Flowable

    from yieldplan.pages.paper import Paper
    from yieldplan.workbook.layouts import Layout

ROW = 8 * mm
"""Height of a row: what a builder's pencil fits."""

_MARGIN = 10 * mm
_HEAD = 11 * mm
_TITLE = 9 * mm
_PICTURE = 38 * mm
_GAP = 2 * mm
_SMALL, _TINY = 8.0, 7.0

_NOT_MEASURED = {"From"}
"""Columns of Offcuts that no one measures; Defects has a column of the same name that is."""

_WEIGHTS = {
    "Offcut": 1.5,
    "Species": 1.7,
    "Kind": 1.7,
    "Note": 2.9,
    "Thickness": 1.55,
    "Moisture": 1.45,
    "Rack": 1.0,
    "Face": 0.8,
    "Qty": 0.7,
}
"""How wide a column is beside one for a measure."""

_ON_OFFCUTS = (
    "Face 1: the hollow wide face, laid up. Edge 1: the hollow edge, turned towards you.",
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


def measuring_sheet(paper: Paper = "letter") -> bytes:
    """Return the pdf of the measuring sheet: a page for offcuts and one for their defects, lying on its side."""
    high, wide = SIZES[paper]
    out = BytesIO()
    document = SimpleDocTemplate(
        out,
        pagesize=(wide, high),
        leftMargin=_MARGIN,
        rightMargin=_MARGIN,
        topMargin=_MARGIN,
        bottomMargin=_MARGIN,
        title="Measuring sheet",
        creator="yieldplan",
        invariant=1,
    )
    room = (wide - 2 * _MARGIN - 12, high - 2 * _MARGIN - 12)  # a frame keeps 6 points clear on every side
    rl_config.useA85 = 0
    document.build(
        [
            *_page("Offcuts", OFFCUTS, _board(), _ON_OFFCUTS, room),
            PageBreak(),
            *_page("Defects", DEFECTS, _defect(), _ON_DEFECTS, room),
        ]
    )
    return out.getvalue()


def _page(
    title: str, layout: Layout, picture: Sequence[Mark], rules: Sequence[str], room: tuple[float, float]
) -> list[Flowable]:
    """Return a page: its title, the picture with the rules beside it, and as many rows as there is room for."""
    wide, high = room
    headings = [heading for heading in layout.headings if layout is DEFECTS or heading not in _NOT_MEASURED]
    rows = int((high - _TITLE - _PICTURE - _HEAD - 2 * _GAP) // ROW)
    return [
        _title(title, wide),
        Table(
            [[drawing(_BOARD_WIDE, _PICTURE, picture), [para(rule, _SMALL, after=1.5) for rule in rules]]],
            colWidths=[_BOARD_WIDE + 6 * mm, wide - _BOARD_WIDE - 6 * mm],
            rowHeights=[_PICTURE + _GAP],
            style=[("VALIGN", (0, 0), (-1, -1), "TOP"), *BARE],
        ),
        _form(headings, rows, wide),
    ]


def _title(title: str, wide: float) -> Table:
    written = "Units: inch / mm      Measured by ______________________      Date ____________      Sheet ____ of ____"
    return Table(
        [[para(f"Measuring sheet: {title.lower()}", 14, bold=True), written]],
        colWidths=[wide * 0.36, wide * 0.64],
        rowHeights=[_TITLE],
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("ALIGN", (1, 0), (1, 0), "RIGHT"),
            ("FONT", (1, 0), (1, 0), font(), 9),
            *BARE,
        ],
    )


def _form(headings: Sequence[str], rows: int, wide: float) -> Table:
    weights = [_WEIGHTS.get(heading, 1.15) for heading in headings]
    widths = [wide * weight / sum(weights) for weight in weights]
    cells: list[list[object]] = [[para(heading, _SMALL, bold=True, after=0) for heading in headings]]
    cells += [[""] * len(headings) for _ in range(rows)]
    style = [
        ("GRID", (0, 0), (-1, -1), 0.5, black),
        ("LINEBELOW", (0, 0), (-1, 0), 1.2, black),
        ("VALIGN", (0, 0), (-1, 0), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, 0), 2),
        ("RIGHTPADDING", (0, 0), (-1, 0), 1),
        ("TOPPADDING", (0, 0), (-1, 0), 1),
    ]
    return Table(cells, colWidths=widths, rowHeights=[_HEAD] + [ROW] * rows, style=style)


_BOARD_WIDE = 96 * mm


def _board() -> list[Mark]:
    """Return a board lying hollow face up, edge 1 towards the one who measures, with its marks."""
    left, right, lean = 12 * mm, 72 * mm, 14 * mm
    back, front, under = 7 * mm, 19 * mm, 25 * mm
    marks = _path((left, front), (right, front), (right, under), (left, under), (left, front))
    marks += _path((left, front), (left + lean, back), (right + lean, back), (right, front))
    marks += _path((right + lean, back), (right + lean, back + under - front), (right, under))
    marks += [
        Text(left + lean + 4 * mm, 10.2 * mm, "P001   face 1, hollow, up", 9, True),
        Text(left + 18 * mm, front + 1.2 * mm, "edge 1, towards you", 9, True),
        Text(2 * mm, front + 0.8 * mm, "A", 13, True),
        Text(right + 5.6 * mm, 13.4 * mm, "B", 13, True),
    ]
    marks += _measure(left, right, under + 4 * mm)
    marks.append(Text(left + 8 * mm, under + 5 * mm, "length, and every place along it, from end A", _TINY))
    return marks


def _path(*points: tuple[float, float], dash: bool = False) -> list[Mark]:
    """Return lines from point to point."""
    return [Line(*one, *other, 1.0, dash) for one, other in pairwise(points)]


def _measure(start: float, end: float, y: float) -> list[Mark]:
    """Return a measuring line with an arrow at its end, from a bar at its start."""
    return [
        Line(start, y, end, y),
        Line(start, y - 1.5 * mm, start, y + 1.5 * mm),
        Line(end - 2 * mm, y - 1 * mm, end, y),
        Line(end - 2 * mm, y + 1 * mm, end, y),
    ]


def _defect() -> list[Mark]:
    """Return face 1 from above with the box round a knot, and what is measured to it."""
    left, right, far, near = 14 * mm, 84 * mm, 4 * mm, 22 * mm
    x1, x2, y1, y2 = 44 * mm, 56 * mm, 17 * mm, 9 * mm
    marks = _path((left, far), (right, far), (right, near), (left, near), (left, far))
    marks += _path((x1, y1), (x2, y1), (x2, y2), (x1, y2), (x1, y1), dash=True)
    marks += [
        Text(x1 + 1.6 * mm, y2 + 2.2 * mm, "knot", 8),
        Text(left - 6 * mm, 10 * mm, "A", 13, True),
        Text(right + 3 * mm, 10 * mm, "B", 13, True),
        Text(left + 3 * mm, 5 * mm, "face 1", 8, True),
        Text(left + 2 * mm, near + 0.6 * mm, "edge 1", 8, True),
        *_measure(left, x1, near + 6 * mm),
        Text(x1 + 2 * mm, near + 4.6 * mm, "From", _TINY),
        *_measure(left, x2, near + 10.5 * mm),
        Text(x2 + 2 * mm, near + 9.1 * mm, "To", _TINY),
        *_upward(62 * mm, near, y1),
        Text(63 * mm, near - 4.5 * mm, "Edge from", _TINY),
        *_upward(77 * mm, near, y2),
        Text(66.5 * mm, y2 + 0.5 * mm, "Edge to", _TINY),
    ]
    return marks


def _upward(x: float, start: float, end: float) -> list[Mark]:
    return [
        Line(x, start, x, end),
        Line(x - 1 * mm, end + 2 * mm, x, end),
        Line(x + 1 * mm, end + 2 * mm, x, end),
    ]
