"""The cuts of one row, strips or sticks side by side, in turn from the jointed side: blank before leftover."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.order.data import WASTE, Line, Machine
from yieldplan.order.schedule import Cut

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Row
    from yieldplan.order.data import Flag, Span

SHAVED = "no fence: joint so much off"
"""Where less than a blade's width has to go before a piece, no saw can take it."""

MACHINES = {machine.value: machine for machine in Machine}


@dataclass(frozen=True, slots=True, kw_only=True)
class Naming:
    """What things of a row are called.

    Attributes
    ----------
    root, whole
        The board, and the piece that the row is cut from.
    joined
        From the first to the last of some neighbours (their places in the row) to the name of what holds just them.
    kept
        From a leftover of the row to the name of the keeper that it is, or ``"waste"``.
    """

    root: str
    whole: str
    joined: Callable[[int, int], str]
    kept: Callable[[Span], str]


def row_cuts(row: Row, naming: Naming, flags: tuple[Flag, ...]) -> list[Cut]:
    """Return the cuts of a row in their order; like passes one after another are one line.

    What is in hand is the whole row at first, then what lies beyond the last cut. An odd cut clears wood before a
    piece; what is less than a blade's width is jointed off.
    """
    odd = {sawn.piece: sawn.at for sawn in row.passes if sawn.odd}
    sizes = {sawn.piece: sawn.at for sawn in row.passes if not sawn.odd}
    last = len(row.spans) - 1
    cuts: list[Cut] = []
    word = "edge" if row.axis == "y" else "face"
    fresh = f"the fresh {word}"  # on the bandsaw it is jointed first
    hand, near, here = naming.whole, f"{word} 1", 0  # what is in hand, its true side, where it begins

    def put(size: int, where: str, gives: str, rest: str, *, odd: bool) -> None:
        setting = None if where.startswith(SHAVED) else size
        line = Line(
            root=naming.root, piece=hand, where=where, size=size, gives=(gives,), rest=rest, flags=flags
        )
        _put(cuts, Cut(setting=setting, line=line, odd=odd))

    for piece, (start, end) in enumerate(row.spans):
        if start > here:
            held = naming.joined(piece, last)
            if odd.get(piece, 0) > 0:
                put(odd[piece], near, naming.kept((here, start - row.kerf)), held, odd=True)
                near = fresh
            else:
                put(start - here, f"{SHAVED} {near}", WASTE, held, odd=True)
            hand = held
        if piece in sizes:
            rest = naming.joined(piece + 1, last) if piece < last else naming.kept((end + row.kerf, row.end))
            put(sizes[piece], near, naming.joined(piece, piece), rest, odd=False)
            hand, near = rest, fresh
        here = end + row.kerf
    return cuts


def machine_of(row: Row) -> Machine:
    """Return the machine that a row is sawn on."""
    return MACHINES[row.machine or Machine.BANDSAW.value]


def _put(cuts: list[Cut], cut: Cut) -> None:
    """Add a cut, or make it one more pass of the one before, if that is like it."""
    before = cuts[-1] if cuts else None
    if before is None or before.odd or cut.odd or before.setting != cut.setting:
        cuts.append(cut)
        return
    one, more = before.line, cut.line
    where = f"{one.where}, then {more.where}" if one.times == 1 and one.where != more.where else one.where
    line = replace(one, where=where, times=one.times + 1, gives=(*one.gives, *more.gives), rest=more.rest)
    cuts[-1] = replace(before, line=line)
