"""The columns of every list of the order, once for text, pages and workbook: headings, and what stands in the cells.

A :class:`Column` of a list makes a cell from one row; figures are bare, the unit stands once on each rendering. Cells
are plain text that may hold whatever a user typed: each rendering makes it harmless in its own way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from yieldplan.pages.wording import figure, listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Shop

Fig = Callable[[int], str]
"""Makes the bare figure of a length."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, what stands in it, and whether it holds figures (set to the right)."""

    heading: str
    cell: Callable[[Any, Fig], str]
    figure: bool = False


def cells(columns: Sequence[Column], rows: Sequence[Any], shop: Shop) -> list[tuple[str, ...]]:
    """Return the cells of rows, in the order of the columns."""
    fig = figure(shop)
    return [tuple(column.cell(row, fig) for column in columns) for row in rows]


def filled(
    columns: Sequence[Column], rows: Sequence[Any], shop: Shop
) -> tuple[list[Column], list[tuple[str, ...]]]:
    """Return the columns in which something stands, and the cells of rows in them."""
    found = cells(columns, rows, shop)
    used = [place for place in range(len(columns)) if any(row[place] for row in found)]
    return [columns[place] for place in used], [tuple(row[place] for place in used) for row in found]


KINDS = (
    Column("Blank", lambda kind, _: kind.name),
    Column("Finished size", lambda kind, fig: " × ".join(map(fig, kind.size))),
    Column("Need", lambda kind, _: str(kind.need), figure=True),
    Column("Made", lambda kind, _: str(kind.made), figure=True),
    Column("Spare", lambda kind, _: str(kind.spare or ""), figure=True),
    Column("Missing", lambda kind, _: str(kind.missing or ""), figure=True),
    Column("From", lambda kind, _: listed([name for name in kind.species if name])),
    Column("A lost one from", lambda kind, _: listed(kind.another)),
)
"""The batch; rows are :class:`yieldplan.order.data.Kind`."""

MARGINS = (
    Column("Stick", lambda row, _: row[0].name),
    Column("Blank", lambda row, _: row[0].blank),
    Column("Thickness", lambda row, fig: fig(row[0].thickness), figure=True),
    Column("Width", lambda row, fig: fig(row[0].width), figure=True),
    Column("Length", lambda row, fig: fig(row[0].length), figure=True),
    Column("Spare board", lambda row, _: row[1] or "none"),
)
"""What each blank has to spare; rows are (:class:`yieldplan.order.data.Margin`, the spare board or ``""``)."""

LEFT = (
    Column("Board", lambda row, _: row[0].name),
    Column("Left", lambda row, _: str(row[1]), figure=True),
    Column("Species", lambda row, _: row[0].species),
    Column("Size", lambda row, fig: " × ".join(map(fig, (row[0].length, row[0].width, row[0].thickness)))),
    Column("Rack", lambda row, _: row[0].rack),
)
"""Boards left alone; rows are (offcut, how many)."""
