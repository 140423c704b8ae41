"""The cutting order as plain text, for ``cutting-order.txt`` and the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size
from rich.text import Text

from yieldplan.order.cautions import ALWAYS, CAUTIONS, DEFER, HOW
from yieldplan.order.columns import (
    SETTING_HEADS,
    figure,
    setting_rows,
    setting_text,
    sheet_rows,
    size_text,
    unit_word,
    used_columns,
)
from yieldplan.order.explain import LAYING, naming
from yieldplan.order.renderables import plain_text, row, table
from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.order.data import Order

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
    return "".join(_Text(order, width).parts())


class _Text:
    """Writes the order's text part by part, each ending in a line end."""

    def __init__(self, order: Order, width: int) -> None:
        self.order, self.width, self.shop = order, width, order.job.shop

    def parts(self) -> Iterator[str]:
        """Yield the whole text, paragraph by paragraph and list by list."""
        order = self.order
        yield "CUTTING ORDER\n"
        yield self._words(f"Input {order.job.name}, plan {order.fingerprint}.")
        yield f"All figures in {unit_word(self.shop)}.\n\n"
        if order.sheets:
            yield from map(self._words, (*naming(order), LAYING, *ALWAYS, DEFER))
            yield "\n"
            yield from self._wood()
            yield from self._sheets()
            yield from self._keepers()
        else:
            yield "Nothing is cut.\n\n"
        names = [
            offcut.name + (f" ({count} of {offcut.qty})" if offcut.qty > 1 else "")
            for offcut, count in order.left
        ]
        yield _title("Left alone")
        yield self._words(", ".join(names) or "None.")

    def _words(self, text: str) -> str:
        return plain_text(Text(sanitize(text), overflow="fold"), self.width)

    def _list(self, heads: Sequence[str], rows: Sequence[Sequence[str]], right: Iterable[str] = ()) -> str:
        """Return a list with a rule under its headings; where it is too wide, cells are broken."""
        rows = [[sanitize(text) for text in cells] for cells in rows]
        widths = [max(map(cell_len, column)) for column in zip(heads, *rows, strict=True)]
        if sum(widths) + 2 * (len(heads) - 1) > self.width:
            made = table(*heads, right=right, parted=True)
            for cells in rows:
                row(made, *cells)
            return plain_text(made, self.width)
        to_right = [head in set(right) for head in heads]

        def line(cells: Sequence[str]) -> str:
            padded = (
                " " * (wide - cell_len(text)) + text if on_right else set_cell_size(text, wide)
                for text, wide, on_right in zip(cells, widths, to_right, strict=True)
            )
            return "  ".join(padded).rstrip() + "\n"

        return "".join(map(line, (heads, ["-" * wide for wide in widths], *rows)))

    def _wood(self) -> Iterator[str]:
        """Yield what is to be said of the wood itself, and the planer settings where moisture makes them differ."""
        yield _title("The wood itself")
        yield from map(self._words, self.order.notes)
        if self.order.settings:
            yield "Planer settings, by species and moisture:\n"
            yield self._list(SETTING_HEADS, setting_rows(self.order))
        yield "\n"

    def _sheets(self) -> Iterator[str]:
        before, number = None, 0
        for sheet in self.order.sheets:
            if (sheet.stage, sheet.machine) != before:
                number, before = number + 1, (sheet.stage, sheet.machine)
                yield _title(f"{number}. {sheet.stage.value} ({sheet.machine.value})")
                yield from map(self._words, HOW[sheet.stage])
                yield from (self._words(f"! {sentence}") for sentence in CAUTIONS[sheet.machine])
                yield "\n"
            columns = used_columns(sheet, self.shop)
            yield f"--- {setting_text(sheet, self.shop)} ---\n"
            yield self._list(
                ["", *(column.heading for column in columns)],
                [(TICK, *cells) for cells in sheet_rows(sheet, self.shop, columns)],
                [column.heading for column in columns if column.figure],
            )
            yield "\n"

    def _keepers(self) -> Iterator[str]:
        fig = figure(self.shop)
        rows = [
            (
                TICK,
                piece.name,
                size_text(piece, self.shop),
                piece.offcut.species,
                f"{piece.parent}, {fig(piece.start)} to {fig(piece.end)}",
            )
            for piece in self.order.keepers
        ]
        yield _title("Keepers: back on the rack")
        yield self._list(("", "New name", "Size", "Species", "From (end A)"), rows) if rows else "None.\n"
        yield "\n"


def _title(words: str) -> str:
    return f"{words.upper()}\n{'=' * len(words)}\n"
