"""The simple plans, a floor for every search: the by-hand rule, and first-fit decreasing on boards.

**By hand**, how a careful person without a computer goes through a pile. The longest blank comes first. It goes on a
stick that is sawn already if it finds room there. Else the shortest offcut that will do is taken from the rack. Its
ends come off and all that is sound of it is milled as one billet, ripped and resawn into sticks of that blank's
section, lying flat if it will and turned if not, as many as it holds. What is over on the sticks stays there for the
blanks to come; sticks that carry none in the end are never sawn.

**First-fit.** The largest blank comes first. It goes on an open stick of its section; else a new stick is opened on a
board that is begun; else a board is begun: the one that is cheapest for each blank of the kind that it gives. On bars
of one length that is first-fit decreasing.

By both the first class is done before the next, and spares after all needs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model import prices, worth
from yieldplan.solve.boards import WAYS, Board, Milled

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from yieldplan.model import Blank, Job, OffcutPlan
    from yieldplan.solve.boards import OpenStick

    Sawn = Iterator[tuple[OpenStick, int]]


@dataclass(slots=True)
class _Row:
    """One row of the pile: what milling gives, how many are untouched, and what drawing one costs."""

    milled: Milled
    left: int
    price: int


class _Shed:
    """The pile and the boards that are begun."""

    def __init__(self, job: Job) -> None:
        handled, shop = prices(job.shop).offcut + prices(job.shop).billet, job.shop
        self.job, self.boards = job, list[Board]()
        self.rows = [
            _Row(Milled(one, shop), one.qty, handled + worth(one.length, one.width, one.thickness, shop))
            for one in job.offcuts
        ]

    def begin(self, row: _Row, board: Board) -> None:
        """Take a piece of a row off the rack."""
        row.left -= 1
        self.boards.append(board)

    def plan(
        self, order: Callable[[Blank], tuple[int, ...]], more: Callable[[Blank, int], Sawn]
    ) -> tuple[OffcutPlan, ...]:
        """Go through the batch in an order: open sticks first, then what ``more`` opens for so many of a kind.

        ``more`` yields each stick that it opens, and how many of the kind it laid on it.
        """
        sticks: dict[tuple[int, int], list[OpenStick]] = {}
        short: set[str] = set()
        blanks = sorted(self.job.blanks, key=order)
        needs = [(blank, blank.need, False) for blank in sorted(blanks, key=lambda blank: blank.priority)]
        for blank, count, spare in [*needs, *((blank, blank.spare, True) for blank in blanks)]:
            if spare and blank.name in short:
                continue
            opened, left = sticks.setdefault((blank.width, blank.thickness), []), count
            for stick in opened:
                left -= stick.fill(blank, left) if left else 0
            for stick, laid in more(blank, left) if left else ():
                opened.append(stick)
                left -= laid
            if left:
                short.add(blank.name)
        return tuple(drawing for board in self.boards if (drawing := board.drawing()) is not None)


def by_hand(job: Job) -> tuple[OffcutPlan, ...]:
    """Return the drawings of the by-hand rule, in the order in which the offcuts were begun."""
    shed = _Shed(job)
    shed.rows.sort(key=lambda row: row.milled.offcut.length)

    def more(blank: Blank, left: int) -> Sawn:
        for row in shed.rows:
            given = 1
            while left and row.left and given:
                board, given = _sawn_for(row.milled, blank, left)
                if given:
                    shed.begin(row, board)
                    left -= given
                    yield from ((stick, len(stick.laid)) for stick in board.sticks)

    return shed.plan(lambda blank: (-blank.length,), more)


def _sawn_for(milled: Milled, blank: Blank, count: int) -> tuple[Board, int]:
    """Return an offcut sawn into as many sticks of a kind's section as it holds, and how many of the kind lie on them.

    All of them lie flat, or all turned where none does flat.
    """
    board, laid = Board(milled), 0
    for turned in WAYS[0]:
        board = Board(milled)
        while (stick := next(board.openings(blank, turned=turned), None)) is not None:
            board.saw(stick)
            laid += stick.fill(blank, count - laid)
        if laid:
            break
    return board, laid


def first_fit(job: Job) -> tuple[OffcutPlan, ...]:
    """Return the drawings of first-fit decreasing, in the order in which the boards were begun."""
    shed = _Shed(job)

    def more(blank: Blank, left: int) -> Sawn:
        for board in shed.boards:
            for stick, laid in board.saw_for(blank, left):
                left -= laid
                yield stick, laid
        gives = []
        for row in (row for row in shed.rows if row.left and left):
            each = [sum(laid for _, laid in Board(row.milled).saw_for(blank, left, way)) for way in WAYS]
            gives.append((row, max(each), WAYS[each.index(max(each))]))
        while left and (able := [one for one in gives if one[0].left and one[1]]):
            row, _, way = min(able, key=lambda one: one[0].price * 1000 // min(one[1], left))
            board = Board(row.milled)
            shed.begin(row, board)
            for stick, laid in board.saw_for(blank, left, way):
                left -= laid
                yield stick, laid

    return shed.plan(lambda blank: (-blank.width * blank.thickness * blank.length, -blank.length), more)
