"""The columns of every list of the order, once for text, pages and workbook: headings, and what stands in the cells.

A :class:`Column` of a list makes a cell from one row; figures are bare, the unit stands once on each rendering. Cells
are plain text that may hold whatever a user typed: each rendering makes it harmless in its own way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from yieldplan.model.grain import slope_words
from yieldplan.model.kept import SIDES
from yieldplan.pages.wording import figure, listed, per_cent, ring_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Defect, Shop
    from yieldplan.order.data import Kept, Kind

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


def kind_size(kind: Kind, fig: Fig) -> str:
    """Return a kind's finished size."""
    return " × ".join(map(fig, kind.size))


KINDS = (
    Column("Blank", lambda kind, _: kind.name),
    Column("Finished size", kind_size),
    Column("Need", lambda kind, _: str(kind.need), figure=True),
    Column("Made", lambda kind, _: str(kind.made), figure=True),
    Column("Spare", lambda kind, _: str(kind.spare or ""), figure=True),
    Column("Missing", lambda kind, _: str(kind.missing or ""), figure=True),
    Column("From", lambda kind, _: listed([name for name in kind.species if name])),
    Column("A lost one from", lambda kind, _: listed(kind.another)),
)
"""The batch; rows are :class:`yieldplan.order.data.Kind`."""


def defect_text(defect: Defect, fig: Fig) -> str:
    """Return a defect of a keeper and where it lies in it: along, across from edge 1, and through or on which face."""
    along = f"{fig(defect.x1)} to {fig(defect.x2)} from A"
    across = f"{fig(defect.y1)} to {fig(defect.y2)} from edge 1"
    deep = "" if defect.through else f", {fig(defect.z1)} to {fig(defect.z2)} from face 1"
    return f"{defect.kind} {along}, {across}{deep}"


def _moisture(kept: Kept, _: Fig) -> str:
    return "" if kept.offcut.moisture is None else per_cent(kept.offcut.moisture)


def _slope(kept: Kept, _: Fig) -> str:
    return "" if kept.offcut.grain_slope is None else slope_words(kept.offcut.grain_slope)


def _jointed(kept: Kept, _: Fig) -> str:
    return "all round" if len(kept.jointed) == len(SIDES) else ", ".join(kept.jointed)


RACK = (
    Column("New name", lambda kept, _: kept.name),
    Column("From", lambda kept, _: kept.board),
    Column("Size", lambda kept, fig: " × ".join(map(fig, kept.size))),
    Column("Species", lambda kept, _: kept.offcut.species),
    Column("Moisture", _moisture),
    Column("Rings", lambda kept, _: "" if kept.offcut.rings is None else ring_text(kept.offcut)),
    Column("Slope", _slope),
    Column("Jointed", _jointed),
    Column("Defects", lambda kept, fig: "; ".join(defect_text(one, fig) for one in kept.offcut.defects)),
)
"""The rack; rows are :class:`yieldplan.order.data.Kept`."""

MARGINS = (
    Column("Stick", lambda margin, _: margin.name),
    Column("Blank", lambda margin, _: margin.blank),
    Column("Thickness", lambda margin, fig: fig(margin.thickness), figure=True),
    Column("Width", lambda margin, fig: fig(margin.width), figure=True),
    Column("Length", lambda margin, fig: fig(margin.length), figure=True),
    Column("Spare board", lambda margin, _: margin.stand_by or "none"),
)
"""What each blank has to spare; rows are :class:`yieldplan.order.margins.Margin`."""

LEFT = (
    Column("Board", lambda row, _: row[0].name),
    Column("Left", lambda row, _: str(row[1]), figure=True),
    Column("Species", lambda row, _: row[0].species),
    Column("Size", lambda row, fig: " × ".join(map(fig, (row[0].length, row[0].width, row[0].thickness)))),
    Column("Rack", lambda row, _: row[0].rack),
)
"""Boards left alone; rows are (offcut, how many)."""
