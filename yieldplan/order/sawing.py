"""The passes of one row, strips or sticks side by side, in turn from the jointed side: blank before leftover."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.order.data import Saw

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from yieldplan.model import Row
    from yieldplan.order.data import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Naming:
    """What the things of a row are called.

    Attributes
    ----------
    board
        The board.
    joined
        From the first to the last of some neighbours (their places in the row) to the name of what holds just them.
    kept
        From a leftover of the row to the name of the keeper that it is, or :data:`yieldplan.order.data.WASTE`.
    down
        What lies on the table.
    """

    board: str
    joined: Callable[[int, int], str]
    kept: Callable[[Span], str]
    down: str


def row_passes(row: Row, naming: Naming, *, first: bool, chain: int, start: int) -> Iterator[Saw]:
    """Yield the passes of a row in their order; like ones one after another are one step.

    Parameters
    ----------
    first
        Whether it counts as a first row: a second one does where the first is not cut.
    chain
        The number of the row, or of the chain of rows that it belongs to.
    start
        How much of the row the jointer took off before.
    """
    one_by_one = _passes(row, naming, first=first, chain=chain, start=start)
    for _, alike in groupby(one_by_one, key=lambda step: (step.fence, step.odd)):
        begin, *more = alike
        yield replace(
            begin,
            passes=begin.passes + len(more),
            gives=begin.gives + tuple(step.gives[0] for step in more),
            rest=more[-1].rest if more else begin.rest,
            jointed=any(step.jointed for step in (begin, *more)),
        )


def _passes(row: Row, naming: Naming, *, first: bool, chain: int, start: int) -> Iterator[Saw]:
    """Yield pass after pass: in hand is the whole row at first, then what lies beyond the last cut.

    An odd cut clears wood before a piece; what is less than a blade's width is jointed off. What is still to be worked
    after a pass on the bandsaw is jointed at once.
    """
    at = {(sawn.piece, sawn.odd): sawn.at for sawn in row.passes}
    last, word, machine = len(row.spans) - 1, "edge" if row.axis == "y" else "face", row.machine or "bandsaw"
    hand, side, here = naming.joined(0, last), f"{word} 1", start

    def step(fence: int, gives: tuple[str, ...], rest: str, *, odd: bool = False, off: bool = False) -> Saw:
        return Saw(
            board=naming.board,
            machine=machine,
            stage=1 if first else 2,
            fence=fence,
            hand=hand,
            rip=row.axis == "y",
            side=side,
            down=naming.down,
            passes=1,
            gives=gives,
            rest=rest,
            height=row.height,
            chain=chain,
            jointed=machine == "bandsaw" and not off and (odd or piece < last),
            odd=odd,
            off=off,
        )

    for piece, (begin, end) in enumerate(row.spans):
        held, cleared = naming.joined(piece, last), at.get((piece, True), 0)
        if begin > here and cleared > 0:
            yield step(cleared, (naming.kept((here, begin - row.kerf)),), held, odd=True)
            hand, side = held, f"fresh {word}"
        elif begin > here:
            yield replace(step(begin - here, (), held, odd=True, off=True), passes=int((piece, True) in at))
            hand = held
        if (piece, False) in at:
            beyond = naming.kept((end + row.kerf, row.end))
            rest = naming.joined(piece + 1, last) if piece < last else beyond
            yield step(at[piece, False], (naming.joined(piece, piece),), rest)
            hand, side = rest, f"fresh {word}"
        here = end + row.kerf
