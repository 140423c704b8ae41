"""The cutting order as plain text, for the terminal and for ``cutting-order.txt``."""

from __future__ import annotations

import textwrap
import unicodedata
from typing import TYPE_CHECKING

from yieldplan.harmless import harmless
from yieldplan.order.cautions import ALWAYS, CAUTIONS, DEFER, HOW
from yieldplan.order.columns import (
    MARGIN_HEADS,
    SETTING_HEADS,
    figure,
    margin_rows,
    setting_rows,
    setting_text,
    sheet_rows,
    size_text,
    unit_word,
    used_columns,
)
from yieldplan.order.explain import LAYING, MARGINS, naming

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.order.data import Order, Sheet

GAP = 2
NARROWEST = 72


def order_text(order: Order, *, width: int = 96) -> str:
    """Return the cutting order as plain text.

    Parameters
    ----------
    order
        From :func:`yieldplan.order.steps.cutting_order`.
    width
        Longest line, in characters; at least 72.

    Raises
    ------
    ValueError
        If ``width`` is below 72.
    """
    if width < NARROWEST:
        raise ValueError(f"width must be at least {NARROWEST}, not {width}")
    lines = [
        *_wrapped("CUTTING ORDER", width),
        *_wrapped(f"Input {harmless(order.job.name)}, plan {order.fingerprint}.", width),
        f"All figures in {unit_word(order.job.shop)}.",
        "",
    ]
    if not order.sheets:
        lines += ["Nothing is cut.", ""]
    else:
        for sentence in (*naming(order), LAYING, *ALWAYS, DEFER):
            lines += _wrapped(sentence, width)
        lines.append("")
        lines += _wood(order, width)
        lines += _sheets(order, width)
        lines += _finals(order, width)
        lines += _margins(order, width)
    lines += _left(order, width)
    return "\n".join(line.rstrip() for line in lines).rstrip() + "\n"


def _wood(order: Order, width: int) -> list[str]:
    """Return what is to be said of the wood itself, and the planer settings where moisture makes them differ."""
    lines = ["THE WOOD ITSELF", "==============="]
    for sentence in order.notes:
        lines += _wrapped(harmless(sentence), width)
    if order.settings:
        heads, rows = list(SETTING_HEADS), setting_rows(order)
        lines += ["", "--- Planer settings, by species and moisture ---"]
        lines += table(heads, rows, [False] * len(heads), width)
    return [*lines, ""]


def _margins(order: Order, width: int) -> list[str]:
    heads = list(MARGIN_HEADS)
    right = [False, False, True, True, True, False]
    title = "MARGINS, THE TIGHTEST FIRST"
    lines = [title, "=" * len(title), *_wrapped(MARGINS, width)]
    return [*lines, *table(heads, margin_rows(order), right, width), ""]


def _sheets(order: Order, width: int) -> list[str]:
    lines: list[str] = []
    before = None
    number = 0
    for sheet in order.sheets:
        if (sheet.stage, sheet.machine) != before:
            number += 1
            before = (sheet.stage, sheet.machine)
            title = f"{number}. {sheet.stage.value.upper()} ({sheet.machine.value})"
            lines += [title, "=" * len(title)]
            for sentence in HOW[sheet.stage]:
                lines += _wrapped(sentence, width)
            for sentence in CAUTIONS[sheet.machine]:
                lines += _wrapped(f"! {sentence}", width, "  ")
            lines.append("")
        lines += [*_sheet(order, sheet, width), ""]
    return lines


def _sheet(order: Order, sheet: Sheet, width: int) -> list[str]:
    columns = used_columns(sheet, order.job.shop)
    rows = sheet_rows(sheet, order.job.shop, columns)
    return [
        f"--- {setting_text(sheet, order.job.shop)} ---",
        *table(
            ["", *(column.heading for column in columns)],
            [["[ ]", *row] for row in rows],
            [False, *(column.figure for column in columns)],
            width,
        ),
    ]


def _finals(order: Order, width: int) -> list[str]:
    shop = order.job.shop
    blanks = [
        [
            "[ ]",
            harmless(piece.blank) + (" (extra)" if piece.extra else ""),
            harmless(piece.name),
            size_text(piece, shop),
            f"end {piece.clear_end}" if piece.clear_end else "",
        ]
        for piece in order.blanks
    ]
    fig = figure(shop)
    keepers = [
        [
            "[ ]",
            harmless(piece.name),
            size_text(piece, shop),
            harmless(piece.offcut.species),
            f"{harmless(piece.parent)}, {fig(piece.start)} to {fig(piece.end)}",
        ]
        for piece in order.keepers
    ]
    lines = ["BLANKS", "======"]
    lines += table(["", "Blank", "Piece", "Size", "Sound end"], blanks, [False] * 5, width)
    lines += ["", "KEEPERS: BACK ON THE RACK", "========================="]
    if keepers:
        heads = ["", "New name", "Size", "Species", "From (end A)"]
        lines += table(heads, keepers, [False] * 5, width)
    else:
        lines.append("None.")
    return [*lines, ""]


def _left(order: Order, width: int) -> list[str]:
    names = [
        harmless(offcut.name) + (f" ({count} of {offcut.qty})" if offcut.qty > 1 else "")
        for offcut, count in order.left
    ]
    return ["LEFT ALONE", "==========", *_wrapped(", ".join(names) or "None.", width)]


def table(
    heads: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[bool], width: int
) -> list[str]:
    """Return a table as lines: headings, a rule a column, rows; cells wrap where the width asks for it."""
    widths = _widths(heads, rows, width)
    lines = _row(heads, widths, right)
    lines.append((" " * GAP).join("-" * w for w in widths))
    for row in rows:
        lines += _row(row, widths, right)
    return lines


def _widths(heads: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> list[int]:
    """Return column widths: what the longest cell needs, the widest columns giving way until all fit."""
    widths = [
        max(1, *(cells(text) for text in (head, *(row[i] for row in rows)))) for i, head in enumerate(heads)
    ]
    room = width - GAP * (len(heads) - 1)
    words = [max(cells(word) for word in (head or "-").split()) for head in heads]
    least = [min(w, max(5, word)) for w, word in zip(widths, words, strict=True)]
    while sum(widths) > room:
        widest = max(range(len(widths)), key=lambda i: (widths[i] > least[i], widths[i]))
        if widths[widest] <= least[widest]:
            break
        widths[widest] -= 1
    return widths


def _row(row: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> list[str]:
    wrapped = [fill(text, w) for text, w in zip(row, widths, strict=True)]
    lines = []
    for i in range(max(len(cell) for cell in wrapped)):
        parts = []
        for cell, w, to_right in zip(wrapped, widths, right, strict=True):
            text = cell[i] if i < len(cell) else ""
            pad = " " * (w - cells(text))
            parts.append(pad + text if to_right else text + pad)
        lines.append((" " * GAP).join(parts).rstrip())
    return lines


def fill(text: str, width: int) -> list[str]:
    """Return text in lines of at most ``width`` character cells, broken at spaces, else anywhere."""
    lines, line = [], ""
    for word in text.split(" "):
        if line and cells(line) + 1 + cells(word) <= width:
            line += " " + word
            continue
        if line:
            lines.append(line)
        line = ""
        for sign in word:
            if cells(line + sign) > width:
                lines.append(line)
                line = ""
            line += sign
    return [*lines, line]


def cells(text: str) -> int:
    """Return how many character cells of a terminal a text takes."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
        for sign in text
    )


def _wrapped(text: str, width: int, indent: str = "") -> list[str]:
    return textwrap.wrap(text, width, subsequent_indent=indent) or [""]
