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
    hand, near, here = (
        naming.whole,
        _side(row),
        0,
    )  # what is in hand, which side of it is true, where it begins
    for piece, (start, end) in enumerate(row.spans):
        if start > here:
            at, held = odd.get(piece, 0), naming.joined(piece, last)
            gap = naming.kept((here, start - row.kerf)) if at > 0 else WASTE
            line = Line(
                root=naming.root,
                piece=hand,
                where=near if at > 0 else f"{SHAVED} {near}",
                size=at if at > 0 else start - here,
                gives=(gap,),
                rest=held,
                flags=flags,
                note=_again(row) if at > 0 else "",
            )
            cuts.append(Cut(setting=at if at > 0 else None, line=line, odd=True))
            hand, near = held, _fresh(row) if at > 0 else _jointed(row, near)
        if piece in sizes:
            rest = naming.joined(piece + 1, last) if piece < last else naming.kept((end + row.kerf, row.end))
            line = Line(
                root=naming.root,
                piece=hand,
                where=near,
                size=sizes[piece],
                gives=(naming.joined(piece, piece),),
                rest=rest,
                flags=flags,
                note=_again(row) if piece < last else "",
            )
            _put(cuts, Cut(setting=sizes[piece], line=line), row)
            hand, near = rest, _fresh(row)
        here = end + row.kerf
    return cuts


def machine_of(row: Row) -> Machine:
    """Return the machine that a row is sawn on."""
    return MACHINES[row.machine or Machine.BANDSAW.value]


def _put(cuts: list[Cut], cut: Cut, row: Row) -> None:
    """Add a cut, or make it one more pass of the one before, if that is like it."""
    before = cuts[-1] if cuts else None
    if before is None or before.odd or before.setting != cut.setting:
        cuts.append(cut)
        return
    line = before.line
    where = (
        line.where
        if line.times > 1 or not line.where.endswith("1")
        else f"{line.where}, then {cut.line.where}"
    )
    cuts[-1] = replace(
        before,
        line=replace(
            line,
            where=where,
            times=line.times + 1,
            gives=(*line.gives, *cut.line.gives),
            rest=cut.line.rest,
            note=line.note or _again(row),
        ),
    )


def _side(row: Row) -> str:
    return f"{_word(row)} 1"


def _word(row: Row) -> str:
    return "edge" if row.axis == "y" else "face"


def _fresh(row: Row) -> str:
    """Return the side that a cut leaves: on the bandsaw it is jointed before it is true."""
    return f"the {_word(row)} jointed again" if row.machine == "bandsaw" else f"the sawn {_word(row)}"


def _jointed(row: Row, near: str) -> str:
    """Return a side that was true or sawn, jointed."""
    return f"the {_word(row)} jointed again" if near.startswith("the sawn") else near


def _again(row: Row) -> str:
    """Return what has to be done before the next cut: on the bandsaw each piece gets one true side."""
    return f"joint the fresh {_word(row)}, then the next" if row.machine == "bandsaw" else ""
