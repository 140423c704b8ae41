"""The by-hand rule: how a careful person without a computer goes through a pile.

The longest blank comes first. Stock that is begun is used up first: a blank goes on a stick that is sawn already if
it finds room there. Else the shortest offcut that will do is taken from the rack. Its ends come off and all that is
sound of it is milled as one billet, ripped and resawn into sticks of that blank's section, lying flat if it will and
turned if not, as many as it holds. What is over on the sticks stays there for the blanks to come; sticks that carry
none in the end are never sawn. The first class is done before the next, and spares after all needs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.solve.boards import Board, OpenStick
from yieldplan.solve.whole import milling, turns

if TYPE_CHECKING:
    from yieldplan.model import Job, OffcutPlan, Shop
    from yieldplan.solve.whole import Milling, Want


def by_hand(job: Job) -> tuple[OffcutPlan, ...]:
    """Return the drawings of the by-hand rule, in the order in which the offcuts were begun."""
    rack = [
        found
        for number, offcut in enumerate(job.offcuts)
        if (found := milling(number, offcut, job.shop)) is not None
        for _ in range(offcut.qty)
    ]
    rack.sort(key=lambda milled: milled.offcut.length)
    begun: list[Board] = []
    sticks: dict[tuple[int, int], list[OpenStick]] = {}
    short: set[str] = set()
    for want, count, spare in turns(job, by_length=True):
        if spare and want.blank.name in short:
            continue
        opened = sticks.setdefault(want.key, [])
        left = count
        for stick in opened:
            if left and stick.takes(want):
                left -= stick.fill(want, left)
        boards = _off_the_rack(rack, want, left, job.shop)
        begun += boards
        opened += (stick for board in boards for _, row in board.strips for stick in row)
        made = sum(
            cut[2] is want for board in boards for _, row in board.strips for s in row for cut in s.cuts
        )
        if made < left:
            short.add(want.blank.name)
    return tuple(drawing for board in begun if (drawing := board.drawing()) is not None)


def _off_the_rack(rack: list[Milling], want: Want, count: int, shop: Shop) -> list[Board]:
    """Take offcuts off the rack, the shortest that will do first, until so many of a kind are laid on their sticks."""
    begun: list[Board] = []
    left: list[Milling] = []
    refused: set[int] = set()
    for place, milled in enumerate(rack):
        if not count:
            left += rack[place:]
            break
        board, laid = (None, 0) if milled.number in refused else _begin(milled, want, count, shop)
        if board is None or not laid:
            left.append(milled)
            refused.add(milled.number)
        else:
            begun.append(board)
            count -= laid
    rack[:] = left
    return begun


def _begin(milled: Milling, want: Want, count: int, shop: Shop) -> tuple[Board | None, int]:
    """Return an offcut as a person would saw it for a kind, and how many of the kind lie on its sticks."""
    for turned in (False, True):
        board = Board(milled=milled, shop=shop)
        sticks = _sawn_for(board, want, turned=turned)
        laid = 0
        for stick in sticks:
            if stick.takes(want):
                laid += stick.fill(want, count - laid)
        if laid:
            return board, laid
    return None, 0


def _sawn_for(board: Board, want: Want, *, turned: bool) -> list[OpenStick]:
    """Saw a board into as many sticks of a kind's section as it holds, all flat or all turned."""
    lie = want.lie(board.milled, turned=turned)
    if lie is None:
        return []
    while (y := board.beside(lie.across)) is not None:
        row: list[OpenStick] = []
        while (z := board.over(y, row, lie.deep)) is not None:
            row.append(board.open(want, y, z, turned=turned))
        if not row:
            break
        board.strips.append((y, row))
    return [stick for _, row in board.strips for stick in row]
