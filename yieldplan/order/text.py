"""The cutting order as plain text, for ``cutting-order.txt`` and the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

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
from yieldplan.order.data import SPARE
from yieldplan.order.explain import LAYING, MARGINS, naming
from yieldplan.order.renderables import plain_text, row, table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from rich.console import RenderableType
    from rich.table import Table

    from yieldplan.order.data import Order, Sheet

NARROWEST = 72
TICK = "[ ]"


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
    parts: list[RenderableType] = [
        Text("CUTTING ORDER"),
        _words(f"Input {order.job.name}, plan {order.fingerprint}."),
        Text(f"All figures in {unit_word(order.job.shop)}."),
        Text(""),
    ]
    if order.sheets:
        parts += [_words(sentence) for sentence in (*naming(order), LAYING, *ALWAYS, DEFER)]
        parts += [Text(""), *_wood(order), *_sheets(order), *_finals(order), *_margins(order)]
    else:
        parts += [Text("Nothing is cut."), Text("")]
    names = [
        offcut.name + (f" ({count} of {offcut.qty})" if offcut.qty > 1 else "")
        for offcut, count in order.left
    ]
    parts += [*_title("Left alone"), _words(", ".join(names) or "None.")]
    return plain_text(Group(*parts), width)


def _words(text: str) -> Text:
    return Text(harmless(text), overflow="fold")


def _title(words: str) -> list[RenderableType]:
    return [Text(words.upper()), Text("=" * len(words))]


def _list(heads: Sequence[str], rows: Iterable[Sequence[str]], right: Iterable[str] = ()) -> Table:
    made = table(*heads, right=right, parted=True)
    for cells in rows:
        row(made, *cells)
    return made


def _wood(order: Order) -> Iterator[RenderableType]:
    """Yield what is to be said of the wood itself, and the planer settings where moisture makes them differ."""
    yield from _title("The wood itself")
    yield from (_words(sentence) for sentence in order.notes)
    if order.settings:
        yield from (Text(""), Text("--- Planer settings, by species and moisture ---"))
        yield _list(SETTING_HEADS, setting_rows(order))
    yield Text("")


def _sheets(order: Order) -> Iterator[RenderableType]:
    before, number = None, 0
    for sheet in order.sheets:
        if (sheet.stage, sheet.machine) != before:
            number, before = number + 1, (sheet.stage, sheet.machine)
            yield from _title(f"{number}. {sheet.stage.value} ({sheet.machine.value})")
            yield from (Text(sentence) for sentence in HOW[sheet.stage])
            yield from (Text(f"! {sentence}") for sentence in CAUTIONS[sheet.machine])
            yield Text("")
        yield from _sheet(order, sheet)
        yield Text("")


def _sheet(order: Order, sheet: Sheet) -> Iterator[RenderableType]:
    shop = order.job.shop
    columns = used_columns(sheet, shop)
    yield Text(f"--- {setting_text(sheet, shop)} ---")
    yield _list(
        ["", *(column.heading for column in columns)],
        ((TICK, *cells) for cells in sheet_rows(sheet, shop, columns)),
        [column.heading for column in columns if column.figure],
    )


def _finals(order: Order) -> Iterator[RenderableType]:
    shop = order.job.shop
    fig = figure(shop)
    blanks = (
        (
            TICK,
            piece.blank + (f" ({SPARE})" if piece.spare else ""),
            piece.name,
            size_text(piece, shop),
            f"end {piece.clear_end}" if piece.clear_end else "",
        )
        for piece in order.blanks
    )
    keepers = [
        (
            TICK,
            piece.name,
            size_text(piece, shop),
            piece.offcut.species,
            f"{piece.parent}, {fig(piece.start)} to {fig(piece.end)}",
        )
        for piece in order.keepers
    ]
    yield from _title("Blanks")
    yield _list(("", "Blank", "Stick", "Size", "Sound end"), blanks)
    yield Text("")
    yield from _title("Keepers: back on the rack")
    heads = ("", "New name", "Size", "Species", "From (end A)")
    yield _list(heads, keepers) if keepers else Text("None.")
    yield Text("")


def _margins(order: Order) -> Iterator[RenderableType]:
    yield from _title("Margins, the tightest first")
    yield _words(MARGINS)
    yield _list(MARGIN_HEADS, margin_rows(order), MARGIN_HEADS[2:5])
    yield Text("")
