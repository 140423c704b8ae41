"""What the pages are set with: sizes, the embedded font, paragraphs, tables, and our own marks as a drawing.

Text is broken to the width it has, never cut off; a sign that the font lacks is shown as a replacement sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Literal
from xml.sax.saxutils import escape

from reportlab.lib.colors import black
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import Flowable, Paragraph, Table
from reportlab.platypus.tables import CellStyle

from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.order.shapes import Box

Paper = Literal["letter", "a4"]

SIZES: dict[str, tuple[float, float]] = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}
"""Width and height in points: 8 1/2 by 11 in, and 210 by 297 mm (ISO 216)."""

MARGIN = 40.0
SMALL, BODY, LARGE, HUGE = 9.0, 10.0, 14.0, 22.0
LEADING = 1.25
DROP = 0.93
"""How far below its top a line of text has its base line, in parts of its size."""

ENDLESS = 1e6
"""The height to give what is only measured."""


@cache
def _face(bold: bool) -> TTFont:
    name = "DejaVuSans-Bold" if bold else "DejaVuSans"
    face = TTFont(name, str(files("yieldplan.order").joinpath("fonts", f"{name}.ttf")))
    pdfmetrics.registerFont(face)
    return face


def font(bold: bool) -> str:
    """Return the name of the font, known to the page maker from now on."""
    return str(_face(bold).fontName)


@cache
def width_of(text: str, size: float, bold: bool = False) -> float:
    """Return how wide a line of text is, in points."""
    return float(pdfmetrics.stringWidth(text, font(bold), size))


@cache
def printable(text: str) -> str:
    """Return text with steering signs written out and signs that the font lacks replaced."""
    known = _face(False).face.charToGlyph
    return "".join(sign if ord(sign) in known else "\ufffd" for sign in sanitize(text))


def para(
    text: str,
    size: float = BODY,
    *,
    bold: bool = False,
    before: float = 0.0,
    after: float = 2.0,
    right: bool = False,
) -> Paragraph:
    """Return a paragraph that prints text as it was typed."""
    return Paragraph(escape(printable(text)), _style(size, bold, before, after, right))


@cache
def _style(size: float, bold: bool, before: float, after: float, right: bool) -> ParagraphStyle:
    style = ParagraphStyle(
        "", fontName=font(bold), fontSize=size, leading=size * LEADING, spaceBefore=before, spaceAfter=after
    )
    style.alignment, style.spaceShrinkage = TA_RIGHT if right else TA_LEFT, 0
    return style


def height_of(flowables: Sequence[Flowable], width: float) -> float:
    """Return the most height that flowables take, one below the other."""
    heights = (f.getSpaceBefore() + f.wrap(width, ENDLESS)[1] + f.getSpaceAfter() for f in flowables)
    return float(sum(heights))


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text whose top left corner is at ``x``, ``y``."""

    x: float
    y: float
    text: str
    size: float = BODY
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line; ``dash`` makes it broken."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.5
    dash: bool = False


@dataclass(frozen=True, slots=True)
class Rect:
    """An unfilled rectangle around a box."""

    box: Box
    width: float = 0.5


Mark = Text | Line | Rect


class Drawing(Flowable):  # type: ignore[misc] # the page maker has no types
    """Marks placed from the drawing's upper left corner, x to the right and y down, in points."""

    def __init__(self, width: float, height: float, marks: Sequence[Mark]) -> None:
        super().__init__()
        self.width, self.height, self.marks = width, height, marks

    def draw(self) -> None:
        """Draw the marks; the canvas counts y from the drawing's lower edge up."""
        canvas, high = self.canv, self.height
        pen: tuple[float, bool] | None = None
        for mark in self.marks:
            if isinstance(mark, Text):
                canvas.setFont(font(mark.bold), mark.size)
                canvas.drawString(mark.x, high - mark.y - DROP * mark.size, printable(mark.text))
                continue
            dash = isinstance(mark, Line) and mark.dash
            if pen != (mark.width, dash):
                pen = (mark.width, dash)
                canvas.setLineWidth(mark.width)
                canvas.setDash([3, 3] if dash else [])
            if isinstance(mark, Line):
                canvas.line(mark.x1, high - mark.y1, mark.x2, high - mark.y2)
            else:
                x1, y1, x2, y2 = mark.box
                canvas.rect(x1, high - y2, x2 - x1, y2 - y1)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a printed table; a first column that is a ``tick`` is of boxes, ``yields`` ones give way first."""

    heading: str
    right: bool = False
    tick: bool = False
    bold: bool = False
    yields: bool = False


GAP = 8.0
TICK = 10.0
NAME, WORD = 160.0, 80.0
"""Up to these widths a name (in a bold column) and a word are not broken."""

TOGETHER = 250.0
"""The most height that rows which stay together may take; one that is higher itself may be parted."""


def cell(text: str, width: float, size: float, bold: bool = False, right: bool = False) -> str | Paragraph:
    """Return what stands in a table's cell: text as it is where it fits on one line, else a paragraph."""
    if width_of(printable(text), size, bold) <= width:
        return printable(text)
    return para(text, size, bold=bold, right=right)


def table(
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    width: float,
    size: float = BODY,
    *,
    air: float = 2.0,
    after: float = 0.0,
) -> Table:
    """Return a table whose heading stands again on every page, with ``air`` above and below the text.

    No row stands alone at a page's head or foot. The plain strings in it are those that fit on one line.
    """
    widths = column_widths(columns, rows, width, size)
    gaps = [GAP] * (len(columns) - 1) + [0.0]
    cells: list[list[object]] = []
    looks: list[list[CellStyle]] = []
    heights: list[float | None] = []
    for number, row in enumerate(([column.heading for column in columns], *rows)):
        high = size if number else SMALL
        cells.append([])
        looks.append([])
        heights.append(high * LEADING + 2 * air + 1)
        for column, text, wide, gap in zip(columns, row, widths, gaps, strict=True):
            bold = column.bold or not number
            inside = cell(text, wide, high, bold, column.right)
            heights[-1] = None if isinstance(inside, Paragraph) else heights[-1]
            cells[-1].append(inside or [])
            looks[-1].append(_look(high, bold, column.right, air, gap))
    made = (_Ticked if columns[0].tick else Table)(
        cells,
        [wide + gap for wide, gap in zip(widths, gaps, strict=True)],
        heights,
        style=[("LINEBELOW", (0, 0), (-1, 0), 1.0, black), ("LINEBELOW", (0, 1), (-1, -1), 0.3, black)],
        cellStyles=looks,
        repeatRows=1,
        hAlign="LEFT",
        spaceAfter=after,
    )
    made.wrap(width, ENDLESS)
    made.splitInRow = int(max(made._rowHeights) > TOGETHER)
    if len(rows) > 1 and max(start_of(made), sum(made._rowHeights[-2:])) < TOGETHER:
        made.setStyle([("NOSPLIT", (0, 0), (0, 2)), ("NOSPLIT", (0, -2), (0, -1))])
    return made


class _Ticked(Table):  # type: ignore[misc] # the page maker has no types
    """A table with a box to tick at the head of every row below its heading."""

    def draw(self) -> None:
        """Draw the table, then the boxes, each in the middle of its row's first line."""
        super().draw()
        look = self._cellStyles[-1][0]
        self.canv.setLineWidth(0.8)
        for top in self._rowpositions[1:-1]:
            self.canv.rect(
                0,
                top - look.topPadding - look.leading / 2 - TICK / 2 - look.fontsize * (1 - DROP),
                TICK,
                TICK,
            )


@cache
def _look(size: float, bold: bool, right: bool, air: float, gap: float) -> CellStyle:
    """Return how a cell looks: text as high in it as in a drawing, with a gap on its right."""
    look, low = CellStyle(""), (1 - DROP) * size
    look.fontname, look.fontsize, look.leading = font(bold), size, size * LEADING
    look.leftPadding, look.rightPadding = 0.0, gap
    look.topPadding, look.bottomPadding = air - low, air + low + 1
    look.alignment, look.valign = "RIGHT" if right else "LEFT", "TOP"
    return look


def start_of(made: Table) -> float:
    """Return the height of a table's heading and of the rows that stay with it: two, or all three."""
    heights = made._rowHeights
    return float(sum(heights[: 4 if len(heights) == 4 else 3]))


def column_widths(
    columns: Sequence[Column], rows: Sequence[Sequence[str]], width: float, size: float
) -> list[float]:
    """Return the columns' widths: what they need if that fits.

    If it does not, first the headings are broken, then the cells of columns that yield, then the widest cells.
    """
    whole, headed, least = [], [], []
    for place, column in enumerate(columns):
        cells = {printable(row[place]) for row in rows} | {""}
        words = {word for text in cells for word in text.split(" ")}
        head = max(width_of(word, SMALL, True) for word in column.heading.split(" "))
        need, word = (max(width_of(t, size, column.bold) for t in texts) for texts in (cells, words))
        need = TICK if column.tick else need
        kept = need if column.right or column.tick else min(word, NAME if column.bold else WORD)
        whole.append(max(width_of(column.heading, SMALL, True), need) + 1)
        headed.append(max(head, need) + 1)
        least.append(max(head, kept) + 1)
    room = width - GAP * (len(columns) - 1)
    notes = [low if c.yields else high for c, low, high in zip(columns, least, headed, strict=True)]
    for floor in (headed, notes, least):
        if sum(floor) <= room:
            return _lowered(whole, floor, room)
        whole = floor
    return _lowered(least, [TICK] * len(least), room)


def _lowered(whole: Sequence[float], floor: Sequence[float], room: float) -> list[float]:
    """Return widths of which the largest give way until all fit, but none below its floor."""
    widths = [*whole]
    while (over := sum(widths) - room) > 0.01:
        place = max(range(len(widths)), key=lambda i: (widths[i] > floor[i], widths[i]))
        widths[place] = max(floor[place], widths[place] - min(over, 2.0))
    return widths
