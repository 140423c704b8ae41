"""Printed matter as data: marks on blocks, paragraphs and tables; nothing here knows about plans.

A block is a strip of the page of a known height with marks (text, lines, rectangles) placed from its upper left
corner, x to the right and y down, in points. Text is broken to the width it has, never cut off; a sign that the
font lacks is shown as a replacement sign.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Literal

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from yieldplan.harmless import harmless

if TYPE_CHECKING:
    from collections.abc import Sequence

Paper = Literal["letter", "a4"]

SIZES: dict[str, tuple[float, float]] = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}
"""Width and height in points: 8 1/2 by 11 in, and 210 by 297 mm (ISO 216)."""

MARGIN = 40.0
PLAIN, BOLD = "yieldplan-plain", "yieldplan-bold"
SMALL, BODY, LARGE, HUGE = 9.0, 10.0, 14.0, 22.0
LEADING = 1.25
DROP = 0.93
"""How far below its top a line of text has its base line, in parts of its size."""


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
    """An unfilled rectangle from its top left corner."""

    x: float
    y: float
    w: float
    h: float
    width: float = 0.5
    dash: bool = False


Mark = Text | Line | Rect


@dataclass(frozen=True, slots=True)
class Block:
    """Marks that stay together, and the height that they take."""

    height: float
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a printed table; ``tick`` columns hold a box to tick instead of text."""

    heading: str
    right: bool = False
    tick: bool = False
    bold: bool = False


def space(height: float) -> Block:
    """Return an empty block."""
    return Block(height)


@cache
def _face(bold: bool) -> TTFont:
    name = BOLD if bold else PLAIN
    file = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    font = TTFont(name, str(files("yieldplan.order").joinpath("fonts", file)))
    pdfmetrics.registerFont(font)
    return font


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
    return "".join(sign if ord(sign) in known else "\ufffd" for sign in harmless(text))


@cache
def wrap(text: str, width: float, size: float = BODY, bold: bool = False) -> tuple[str, ...]:
    """Return text in lines no wider than ``width``, broken at spaces, else anywhere."""
    lines, line = [], ""
    for word in printable(text).split(" "):
        tried = f"{line} {word}" if line else word
        if width_of(tried, size, bold) <= width:
            line = tried
            continue
        if line:
            lines.append(line)
        line = ""
        for sign in word:
            if line and width_of(line + sign, size, bold) > width:
                lines.append(line)
                line = ""
            line += sign
    return (*lines, line)


def text_block(
    text: str,
    width: float,
    size: float = BODY,
    *,
    bold: bool = False,
    indent: float = 0.0,
    after: float = 2.0,
) -> Block:
    """Return a paragraph as a block."""
    lines = wrap(text, width - indent, size, bold)
    step = size * LEADING
    marks = tuple(Text(indent, step * i, line, size, bold) for i, line in enumerate(lines))
    return Block(step * len(lines) + after, marks)


def text_lines(text: str, width: float, size: float = BODY, *, bold: bool = False) -> list[Block]:
    """Return a paragraph as a block a line, so that it may go over a page's end."""
    return [Block(size * LEADING, (Text(0, 0, line, size, bold),)) for line in wrap(text, width, size, bold)]


def beside(left: Block, right: Block, x: float) -> Block:
    """Return two blocks side by side, the second one ``x`` points further right."""
    return Block(max(left.height, right.height), (*left.marks, *(moved(mark, x, 0) for mark in right.marks)))


def moved(mark: Mark, x: float, y: float) -> Mark:
    """Return a mark in another place."""
    if isinstance(mark, Line):
        return replace(mark, x1=mark.x1 + x, x2=mark.x2 + x, y1=mark.y1 + y, y2=mark.y2 + y)
    return replace(mark, x=mark.x + x, y=mark.y + y)


GAP = 8.0
TICK = 10.0
NAME, WORD = 160.0, 80.0
"""Up to these widths a name (in a bold column) and a word are not broken."""


def table_blocks(
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    width: float,
    size: float = BODY,
    *,
    air: float = 2.0,
) -> tuple[Block, list[Block]]:
    """Return a table's heading, and a block for each of its rows, with ``air`` above and below the text."""
    widths = column_widths(columns, rows, width, size)
    heads = [column.heading for column in columns]
    heading = _row([replace(c, bold=True, tick=False) for c in columns], heads, widths, SMALL, air)
    line = Line(0, heading.height - 1, sum(widths) + GAP * (len(widths) - 1), heading.height - 1, 1.0)
    blocks = [_row(columns, row, widths, size, air) for row in rows]
    return replace(heading, marks=(*heading.marks, line)), blocks


def column_widths(
    columns: Sequence[Column], rows: Sequence[Sequence[str]], width: float, size: float
) -> list[float]:
    """Return the columns' widths: what they need, the widest giving way until all fit."""
    wanted, least = [], []
    for place, column in enumerate(columns):
        cells = [row[place] for row in rows]
        words = [word for cell in cells for word in cell.split(" ")]
        heads = max(width_of(word, SMALL, True) for word in (column.heading or " ").split(" "))
        whole = max((width_of(printable(cell), size, column.bold) for cell in cells), default=0.0)
        longest = max((width_of(printable(word), size, column.bold) for word in words), default=0.0)
        least_text = min(whole, NAME) if column.bold else min(longest, WORD)
        floor = TICK if column.tick else max(heads, whole if column.right else least_text)
        wanted.append(TICK if column.tick else max(width_of(column.heading, SMALL, True), whole) + 1)
        least.append(min(floor + 1, wanted[-1]))
    room = width - GAP * (len(columns) - 1)
    over = sum(wanted) - room
    while over > 0.01:
        place = max(range(len(wanted)), key=lambda i: (wanted[i] > least[i] + 0.01, wanted[i]))
        if wanted[place] <= least[place] + 0.01:
            break
        cut = min(over, 4.0, wanted[place] - least[place])
        wanted[place] -= cut
        over -= cut
    if over > 0.01:
        wanted = [one * room / sum(wanted) for one in wanted]
    return wanted


def _row(
    columns: Sequence[Column], cells: Sequence[str], widths: Sequence[float], size: float, air: float
) -> Block:
    step, x, tall = size * LEADING, 0.0, 1
    marks: list[Mark] = []
    for column, cell, width in zip(columns, cells, widths, strict=True):
        if column.tick:
            marks.append(Rect(x, air + (step - TICK) / 2, TICK, TICK, 0.8))
        else:
            lines = wrap(cell, width, size, column.bold)
            tall = max(tall, len(lines))
            for number, line in enumerate(lines):
                shift = width - width_of(line, size, column.bold) if column.right else 0.0
                marks.append(Text(x + shift, air + step * number, line, size, column.bold))
        x += width + GAP
    height = air + step * tall + air + 1.0
    return Block(height, (*marks, Line(0, height - 0.5, x - GAP, height - 0.5, 0.3)))
