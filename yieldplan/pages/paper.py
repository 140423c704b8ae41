"""What the pages are set with: sizes, the embedded font, paragraphs, tables, rules.

Text is broken to the width it has, never cut off; a sign that the font lacks is shown as a replacement sign.
"""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Literal
from xml.sax.saxutils import escape

from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import HRFlowable, Paragraph, Table

from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportlab.platypus import Flowable

Paper = Literal["letter", "a4"]

SIZES: dict[str, tuple[float, float]] = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}
"""Width and height in points: 8 1/2 by 11 in, and 210 by 297 mm (ISO 216)."""

MARGIN = 30.0
FOOT, PROSE, HAND, SET = 9.0, 10.0, 11.0, 14.0
"""Sizes of type: small print, sentences, what a hand works by, and what a machine is set to."""

LEADING = 1.14
BOX = "\N{BALLOT BOX}"
"""Ticked when it is done."""

INDENT, NEXT_BOX = 18.0, 12.0
"""Room for the box before a line to tick, and for each box more, in points."""

NO_BREAK = "\N{NO-BREAK SPACE}"

ENDLESS = 1e6
"""The height to give what is only measured."""


@cache
def _face(bold: bool) -> TTFont:
    name = "DejaVuSansCondensed-Bold" if bold else "DejaVuSansCondensed"
    face = TTFont(name, str(files("yieldplan.pages").joinpath("fonts", f"{name}.ttf")))
    pdfmetrics.registerFont(face)
    return face


def font(bold: bool = False) -> str:
    """Return the name of the font, known to the page maker from now on."""
    return str(_face(bold).fontName)


@cache
def width_of(text: str, size: float, bold: bool = False) -> float:
    """Return how wide a line of text is, in points."""
    return float(pdfmetrics.stringWidth(text, font(bold), size))


@cache
def printable(text: str) -> str:
    """Return text with steering signs written out, signs that the font lacks replaced, and sizes held together."""
    known = _face(False).face.charToGlyph
    shown = "".join(sign if ord(sign) in known else "\ufffd" for sign in sanitize(text))
    return _INSIDE.sub("\N{NO-BREAK SPACE}", shown)


_INSIDE = re.compile(
    r"(?<=[0-9]) (?=[0-9]+/[0-9]|×|%|of [0-9])|(?<=\bof) (?=[0-9])"
    r"|(?<=\bface|\bedge) (?=[0-9])|(?<=\bstick) (?=[0-9])|(?<=\bend) (?=[AB]\b)|(?<=\bbillet) (?=[A-Z]\b)"
)
"""Spaces where no line ends: inside 3 13/16 and 9 of 14, before × and %, inside the name of a side or a piece."""


class Para(Paragraph):  # type: ignore[misc] # the page maker has no types
    """A paragraph that is broken into lines once for each width, however often it is asked."""

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return its width and height at a width."""
        if self.__dict__.get("broken_at") != width or "blPara" not in self.__dict__:
            _, high = super().wrap(width, height)
            lead, lines = self.style.leading, self.blPara.lines
            if self.blPara.kind and lines:  # of several sizes: drawn further apart than they are counted
                high = sum(max(lead * 5 / 6, one.ascent) + max(lead / 6, -one.descent) for one in lines)
                high += lines[0].fontSize - max(lead * 5 / 6, lines[0].ascent)
            self.height, self.broken_at = high, width
            self.size: tuple[float, float] = (width, high)
        return self.size

    def split(self, width: float, height: float) -> list[Para]:
        """Return the part that a height holds, and the rest; nothing where it holds no two lines."""
        width = self.__dict__.get("broken_at", width)  # a table asks with the air of its cell
        room, parts = height, []
        while room > 0:
            self.wrap(width, height)
            parts = super().split(width, room)
            if not parts or parts[0].wrap(width, height)[1] <= height:
                break
            room -= self.style.leading
        return parts


def para(
    text: str, size: float = HAND, *, bold: bool = False, before: float = 0.0, after: float = 2.0
) -> Para:
    """Return a paragraph that prints text as it was typed."""
    return Para(marked(text), style(size, bold, before, after))


def marked(text: str, *, size: float | None = None, bold: bool = False) -> str:
    """Return text as it was typed as a part of a :class:`Para`, in its own size or weight where they are given."""
    shown = escape(printable(text))
    looks = [f' name="{font(bold)}"'] if bold else []
    looks += [f' size="{size:g}"'] if size else []
    return f"<font{''.join(looks)}>{shown}</font>" if looks else shown


def to_tick(text: str, *, boxes: int = 1) -> Para:
    """Return a paragraph with a box to tick, or several, before its first line."""
    look = style(HAND, indent=INDENT + (boxes - 1) * NEXT_BOX)
    return Para(marked(text), look, bulletText=BOX * boxes)


@cache
def style(
    size: float, bold: bool = False, before: float = 0.0, after: float = 0.0, indent: float = 0.0
) -> ParagraphStyle:
    """Return how a paragraph is set."""
    made = ParagraphStyle(
        "", fontName=font(bold), fontSize=size, leading=size * LEADING, spaceBefore=before, spaceAfter=after
    )
    made.autoLeading = "max"  # a line of several sizes is as high as its largest
    made.leftIndent, made.bulletFontName, made.bulletFontSize = indent, font(), size + 2
    made.splitLongWords, made.spaceShrinkage = 1, 0
    made.allowWidows, made.allowOrphans = 0, 0
    return made


def rule(width: float = 1.0, before: float = 3.0, after: float = 4.0, *, dashed: bool = False) -> HRFlowable:
    """Return a line across the page; a dashed one is to cut along."""
    dash = (6, 4) if dashed else None
    return HRFlowable("100%", width, color=black, spaceBefore=before, spaceAfter=after, dash=dash)


TOGETHER = 120.0
"""The most height that no page parts, in points."""

PADDINGS = ("LEFTPADDING", "RIGHTPADDING", "TOPPADDING", "BOTTOMPADDING")
BARE = tuple((side, (0, 0), (-1, -1), 0) for side in PADDINGS)
"""Of a table: no air round what stands in its cells."""


def height_of(flowables: Sequence[Flowable], width: float) -> float:
    """Return the most height that flowables take, one below the other."""
    heights = (f.getSpaceBefore() + f.wrap(width, ENDLESS)[1] + f.getSpaceAfter() for f in flowables)
    return float(sum(heights))


FEWEST = 3
"""So many rows of a table stand on a page at least."""


RULED = ("LINEABOVE", 0.3, black)
"""A fine line above each row."""


def grid(
    heads: Sequence[str],
    rows: Sequence[Sequence[str | Flowable | Sequence[Flowable]]],
    widths: Sequence[float],
    lines: tuple[object, ...] = RULED,
) -> Table:
    """Return a table whose heading, if it has one, stands again on every page; ``lines`` are those of its cells.

    What is too long for its column is broken there. A page parts rows only if one is so high that it must.
    """
    head = [[para(text, FOOT, bold=True, after=0.0) for text in heads]] if heads else []
    cells = [[para(one, after=0.0) if isinstance(one, str) else one for one in row] for row in rows]
    first, end = len(head), (-1, -1)
    looks = [
        ("VALIGN", (0, 0), end, "TOP"),
        *((side, (0, 0), end, air) for side, air in zip(PADDINGS, (2, 2, 1, 2), strict=True)),
        (lines[0], (0, first), end, *lines[1:]),
    ]
    made = Table([*head, *cells], list(widths), style=looks, repeatRows=first, hAlign="LEFT", spaceAfter=6.0)
    made.wrap(ENDLESS, ENDLESS)
    made.splitInRow = int(max(made._rowHeights) > TOGETHER)
    if not made.splitInRow:
        made.setStyle([("NOSPLIT", (0, 0), (0, first + FEWEST - 1)), ("NOSPLIT", (0, -FEWEST), (0, -1))])
    return made
