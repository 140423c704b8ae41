"""The passes of one row, strips or sticks side by side, in turn from the jointed side: blank before leftover."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.order.data import WASTE, Saw

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Row
    from yieldplan.order.data import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Naming:
    """What the things of a row are called.

    Attributes
    ----------
    board, whole
        The board, and the piece that the row is cut from.
    joined
        From the first to the last of some neighbours (their places in the row) to the name of what holds just them.
    kept
        From a leftover of the row to the name of the keeper that it is, or :data:`WASTE`.
    down
        What lies on the table.
    """

    board: str
    whole: str
    joined: Callable[[int, int], str]
    kept: Callable[[Span], str]
    down: str


def row_passes(row: Row, naming: Naming, *, first: bool, chain: int, start: int) -> tuple[Saw, ...]:
    """Return the passes of a row in their order; like ones one after another are one step.

    What is in hand is the whole row at first, then what lies beyond the last cut. An odd cut clears wood before a
    piece; what is less than a blade's width is jointed off.

    Parameters
    ----------
    first
        Whether it counts as a first row: a second one does where the first is not cut.
    chain
        The number of the row, or of the chain of rows that it belongs to.
    start
        How much of the row the jointer took off before.
    """
    return _Row(row, naming, first=first, chain=chain).steps(start)


class _Row:
    """Saws a row: ``hand`` is what is held, ``side`` its true side."""

    def __init__(self, row: Row, naming: Naming, *, first: bool, chain: int) -> None:
        self.row, self.naming, self.first, self.chain = row, naming, first, chain
        self.word = "edge" if row.axis == "y" else "face"
        self.hand, self.side = naming.whole, f"{self.word} 1"
        self.found: list[Saw] = []

    def steps(self, here: int) -> tuple[Saw, ...]:
        """Return the steps; the row's true side lies at ``here``."""
        row, naming = self.row, self.naming
        odd = {sawn.piece: sawn.at for sawn in row.passes if sawn.odd}
        sizes = {sawn.piece: sawn.at for sawn in row.passes if not sawn.odd}
        last = len(row.spans) - 1
        for piece, (start, end) in enumerate(row.spans):
            held = naming.joined(piece, last)
            if start > here and odd.get(piece, 0) > 0:
                self._pass(odd[piece], naming.kept((here, start - row.kerf)), held, odd=True)
            elif start > here:
                off = replace(
                    self._step(start - here, WASTE, held), gives=(), odd=True, off=True, jointed=False
                )
                self.found.append(replace(off, passes=int(piece in odd)))
                self.hand = held
            if piece in sizes:
                beyond = naming.kept((end + row.kerf, row.end))
                rest = naming.joined(piece + 1, last) if piece < last else beyond
                self._pass(sizes[piece], naming.joined(piece, piece), rest, in_use=piece < last)
            here = end + row.kerf
        return tuple(self.found)

    def _step(self, fence: int, gives: str, rest: str, *, in_use: bool = True) -> Saw:
        """Return one pass; ``in_use``: what is left is still to be worked, so that it is jointed after the bandsaw."""
        machine = self.row.machine or "bandsaw"
        return Saw(
            board=self.naming.board,
            machine=machine,
            stage=1 if self.first else 2,
            fence=fence,
            hand=self.hand,
            rip=self.row.axis == "y",
            side=self.side,
            down=self.naming.down,
            passes=1,
            gives=(gives,),
            rest=rest,
            height=self.row.height,
            chain=self.chain,
            jointed=machine == "bandsaw" and in_use,
        )

    def _pass(self, fence: int, gives: str, rest: str, *, odd: bool = False, in_use: bool = True) -> None:
        """Add a pass, or make it one more of the step before, if that is like it."""
        step = replace(self._step(fence, gives, rest, in_use=in_use), odd=odd)
        self.hand, self.side = rest, f"fresh {self.word}"
        before = self.found[-1] if self.found else None
        if before is None or before.odd or odd or before.fence != fence:
            self.found.append(step)
            return
        self.found[-1] = replace(
            before,
            passes=before.passes + 1,
            gives=(*before.gives, gives),
            rest=rest,
            jointed=before.jointed or step.jointed,
        )
