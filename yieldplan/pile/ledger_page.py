"""The ledger as a printed page: batches and years, and where their wood went."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.graphics.shapes import Drawing, Rect, String
from reportlab.lib.colors import Color, black, white
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph, Spacer, Table

from yieldplan.pages.document import Document
from yieldplan.pages.paper import font, printable
from yieldplan.pile.ledger import MINUTES
from yieldplan.pile.ledger_screen import hours, shares, volume
from yieldplan.pile.years import in_one_unit, lines_of

if TYPE_CHECKING:
    import pandas as pd

    from yieldplan.pages.paper import Paper

SIZE, TITLE = 9.0, 16.0
NAME = 190.0
"""Points for a batch's name."""

BAR_HIGH, STEP = 9.0, 16.0
_HEADS = ("Batch", "Boards", "Good", "Spoiled", "Drawn", "Kept", "Waste", "Work")
_FILLS = ((black, "blanks"), (Color(0.65, 0.65, 0.65), "kept"), (white, "waste"))


def pdf_bytes(batches: pd.DataFrame, *, paper: Paper = "letter") -> bytes:
    """Return the ledger's pages; the same ledger gives the same bytes."""
    batches = in_one_unit(batches)
    unit = str(batches["Unit"].iloc[-1])
    document = Document(paper, "Ledger", f"Ledger: volumes in {unit}")
    document.story += [_words("Batches and the year so far", TITLE), _table(batches, unit, document.measure)]
    document.story += [Spacer(1, 14), _words("Where the wood went", TITLE)]
    document.story += [_legend(document.measure), *_bars(batches, unit, document.measure)]
    note = f"Volumes in {unit}; work as planned. Waste is of what was drawn and not kept."
    document.story += [Spacer(1, 6), _words(note, SIZE)]
    return document.drawn()


def _words(text: str, size: float) -> Paragraph:
    look = ParagraphStyle(
        "", fontName=font(size == TITLE), fontSize=size, leading=size * 1.25, spaceAfter=size / 2
    )
    return Paragraph(printable(text).replace("&", "&amp;").replace("<", "&lt;"), look)


def _table(batches: pd.DataFrame, unit: str, width: float) -> Table:
    rows: list[list[object]] = [list(_HEADS)]
    sums = []
    for name, line, is_sum in lines_of(batches):
        rows.append(
            [
                _words(name, SIZE),
                *(f"{line[count]:.0f}" for count in ("Boards", "Blanks good", "Blanks spoiled")),
                *(volume(float(line[part]), unit) for part in ("Drawn", "Keepers")),
                f"{line['Waste per cent']:.1f} %",
                hours(float(line[MINUTES])),
            ]
        )
        if is_sum:
            sums.append(len(rows) - 1)
    rest = (width - NAME) / (len(_HEADS) - 1)
    style = [
        ("FONT", (0, 0), (-1, -1), font(bold=False), SIZE),
        ("FONT", (0, 0), (-1, 0), font(bold=True), SIZE),
        ("ALIGN", (1, 0), (-1, -1), "RIGHT"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 1.0, black),
        ("LINEABOVE", (0, sums[0]), (-1, sums[0]), 1.0, black),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
    ]
    return Table(rows, [NAME, *[rest] * (len(_HEADS) - 1)], style=style, repeatRows=1, hAlign="LEFT")


def _legend(width: float) -> Drawing:
    picture, x = Drawing(width, STEP), 0.0
    for fill, word in _FILLS:
        picture.add(_box(x, 3, BAR_HIGH, fill))
        picture.add(String(x + BAR_HIGH + 4, 4, word, fontName=font(bold=False), fontSize=SIZE))
        x += 70.0
    return picture


def _bars(batches: pd.DataFrame, unit: str, width: float) -> list[Drawing]:
    """Return a bar for each batch, as long as the wood drawn; one drawing a batch, so that pages part between them."""
    room, most = width - NAME - 70.0, max(float(batches["Drawn"].max()), 1e-9)
    found = []
    for name, line, is_sum in lines_of(batches):
        if is_sum:
            continue
        picture, x = Drawing(width, STEP), NAME
        picture.add(String(0, 4, _short(name), fontName=font(bold=False), fontSize=SIZE))
        for share, (fill, _) in zip(shares(line), _FILLS, strict=True):
            wide = room * share / most
            picture.add(_box(x, 3, wide, fill))
            x += wide
        drawn = volume(float(line["Drawn"]), unit)
        picture.add(String(x + 6, 4, drawn, fontName=font(bold=False), fontSize=SIZE))
        found.append(picture)
    return found


def _short(name: str, most: int = 34) -> str:
    shown = printable(name)
    return shown if len(shown) <= most else shown[: most - 1] + "…"


def _box(x: float, y: float, wide: float, fill: object) -> Rect:
    return Rect(x, y, max(wide, 0.1), BAR_HIGH, fillColor=fill, strokeColor=black, strokeWidth=0.5)
