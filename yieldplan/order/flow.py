"""Blocks flowed on to pages: what belongs together is not parted, and what heads a page is repeated."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from yieldplan.order.paper import MARGIN, SIZES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.order.paper import Block, Paper


@dataclass(slots=True)
class Flow:
    """Puts blocks on pages, one below the other, inside the margins and above the foot."""

    paper: Paper
    foot: float
    """Height that the lines at every page's foot take."""
    pages: list[list[tuple[float, Block]]] = field(default_factory=list)
    _head: Sequence[Block] = ()
    _y: float = 0.0

    @property
    def width(self) -> float:
        """The width between the margins."""
        return SIZES[self.paper][0] - 2 * MARGIN

    @property
    def height(self) -> float:
        """The height between the upper margin and the foot."""
        return SIZES[self.paper][1] - 2 * MARGIN - self.foot

    @property
    def left(self) -> float:
        """The height that is left on the page."""
        return self.height - self._y if self.pages else 0.0

    @property
    def page_left(self) -> float:
        """The height that a page has below its head."""
        return self.height - sum(block.height for block in self._head)

    def page(self, head: Sequence[Block]) -> None:
        """Begin a page, and set what heads it and those that follow it."""
        self._head = tuple(head)
        self.pages.append([])
        self._y = 0.0
        self._place(self._head)

    def put(self, together: Sequence[Block], repeat: Sequence[Block] = ()) -> None:
        """Add blocks that must not be parted; a new page begins with the head and ``repeat``.

        Blocks that together are higher than a page are parted all the same.
        """
        needed = sum(block.height for block in together)
        if needed > self.left:
            self.page(self._head)
            self._place(repeat)
        if needed > self.left:
            for block in together:
                if block.height > self.left:
                    self.page(self._head)
                    self._place(repeat)
                self._place((block,))
            return
        self._place(together)

    def put_table(
        self,
        before: Sequence[Block],
        table: tuple[Block, list[Block]],
        repeat: Sequence[Block] = (),
        *,
        first: Sequence[Block] = (),
    ) -> None:
        """Add a table; what stands before it, its heading and its first row stay together.

        If that begins a page, ``first`` stands above it; ``repeat`` stands where the table goes on.
        """
        heading, rows = table
        self.put((*before, heading, *rows[:1]), first)
        for row in rows[1:]:
            self.put((row,), (*repeat, heading))

    def _place(self, blocks: Sequence[Block]) -> None:
        for block in blocks:
            self.pages[-1].append((self._y, block))
            self._y += block.height
