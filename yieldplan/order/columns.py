"""The batch as a table, the same in text, pages and workbook: its headings, and what stands below them.

Figures are bare, the unit stands once on each rendering. Cells are plain text that may hold whatever a user typed: each
rendering makes it harmless in its own way.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.pages.wording import listed, size

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.order.data import Order

Cells = tuple[str, ...]

SIZE = "Finished size"
COUNTS = ("Need", "Made", "Spare", "Missing")
KINDS = ("Blank", SIZE, *COUNTS, "Wood", "If one is lost")


def kind_rows(order: Order) -> list[Cells]:
    """Return the batch under :data:`KINDS`, a row a kind."""
    return [
        (
            kind.name,
            size(order.job.shop, *kind.size),
            *(str(kind.need), str(kind.made), str(kind.spare or ""), str(kind.missing or "")),
            listed([name for name in kind.species if name]),
            listed(kind.another),
        )
        for kind in order.kinds
    ]


def filled(heads: Cells, rows: Sequence[Cells]) -> tuple[Cells, list[Cells]]:
    """Return a table without the columns in which nothing stands."""
    used = [place for place in range(len(heads)) if any(row[place] for row in rows)]
    return tuple(heads[place] for place in used), [tuple(row[place] for place in used) for row in rows]
