"""The simple plans, a floor for every search: the by-hand rule, and first-fit decreasing on boards.

**By hand**, how a careful person without a computer goes through a pile. The longest blank comes first. It goes on a
stick that is sawn already if it finds room there. Else the shortest offcut that will do is taken from the rack. Its
ends come off and all that is sound of it is milled as one billet, ripped and resawn into sticks of that blank's
section, lying flat if it will and turned if not, as many as it holds. What is over on the sticks stays there for the
blanks to come; sticks that carry none in the end are never sawn.

**First-fit.** The largest blank comes first. It goes on an open stick of its section; else a new stick is opened on a
board that is begun; else a board is begun: the one that is cheapest for each blank of the kind that it gives. On bars
of one length that is first-fit decreasing. In the end a billet ends where its sticks ask, where that costs less.

By both the first class is done before the next, and spares after all needs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import OffcutPlan
from yieldplan.model.work import net_worth
from yieldplan.solve.boards import Board, Milled
from yieldplan.solve.classes import classes_of, new_batch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from yieldplan.model import Blank, Job
    from yieldplan.solve.boards import OpenStick
    from yieldplan.solve.classes import Batch, OffcutClass

    Sawn = Iterator[tuple[OpenStick, int]]
    Known = tuple[Batch, Sequence[OffcutClass]] | None


class _Shed:
    """The pile and the boards that are begun."""

    def __init__(self, job: Job, known: Known) -> None:
        batch, classes = known or (fresh := new_batch(job), classes_of(fresh))
        self.batch, self.boards = batch, list[Board]()
        self.rows = [Milled(batch, one) for one in classes]

    def begin(self, board: Board) -> Board:
        """Take a piece off the rack."""
        board.name = board.milled.left.pop(0)
        self.boards.append(board)
        return board

    def plan(
        self, order: Callable[[Blank], tuple[int, ...]], more: Callable[[int, int], Sawn]
    ) -> tuple[OffcutPlan, ...]:
        """Go through the batch in an order: open sticks first, then what ``more`` opens for so many of a kind.

        ``more`` yields each stick that it opens, and how many of the kind it laid on it.
        """
        sticks: dict[tuple[int, int], list[OpenStick]] = {}
        short, batch = set[int](), self.batch.blanks
        kinds = sorted(range(len(batch)), key=lambda kind: order(batch[kind]))
        needs = [
            (kind, batch[kind].need, False) for kind in sorted(kinds, key=lambda kind: batch[kind].priority)
        ]
        for kind, count, spare in [*needs, *((kind, batch[kind].spare, True) for kind in kinds)]:
            if spare and kind in short:
                continue
            opened, left = sticks.setdefault((batch[kind].width, batch[kind].thickness), []), count
            for stick in opened:
                left -= stick.fill(kind, left) if left else 0
            for stick, laid in more(kind, left) if left else ():
                opened.append(stick)
                left -= laid
            if left:
                short.add(kind)
        return tuple(drawn for board in self.boards for drawn in _drawn(board))


def _drawn(board: Board) -> tuple[OffcutPlan, ...]:
    """Return the drawing of a board; nothing where no blank is on it."""
    billet = board.billet()
    return (OffcutPlan(offcut=board.name, copy=1, billets=(billet,)),) if billet else ()


def by_hand(job: Job, known: Known = None) -> tuple[OffcutPlan, ...]:
    """Return the drawings of the by-hand rule, in the order in which the offcuts were begun.

    ``known``: batch and classes of the job, if there are any yet.
    """
    shed = _Shed(job, known)
    shed.rows.sort(key=lambda row: row.wood.length)

    def more(kind: int, left: int) -> Sawn:
        for row in shed.rows:
            given = 1
            while left and row.left and given:
                board, given = sawn_for(row, kind, left)
                if given:
                    shed.begin(board)
                    left -= given
                    yield from ((one, len(one.laid)) for one in board.sticks)

    return shed.plan(lambda blank: (-blank.length,), more)


def sawn_for(milled: Milled, kind: int, count: int) -> tuple[Board, int]:
    """Return an offcut sawn into as many sticks of a kind's section as it holds, and how many of the kind lie on them.

    All of them lie flat, or all turned where none does flat.
    """
    board, laid = Board(milled), 0
    for number in milled.types_of(kind):
        board = Board(milled)
        while stick := next(board.rooms(number), None):
            board.saw(stick)
            laid += stick.fill(kind, count - laid)
        if laid:
            break
    return board, laid


def first_fit(job: Job, known: Known = None) -> tuple[OffcutPlan, ...]:
    """Return the drawings of first-fit decreasing, in the order in which the boards were begun.

    ``known``: batch and classes of the job, if there are any yet.
    """
    shed = _Shed(job, known)

    def more(kind: int, left: int) -> Sawn:
        for board in shed.boards:
            for stick, laid in board.saw_for(kind, left, board.milled.types_of(kind)):
                left -= laid
                yield stick, laid
        gives = [
            (row, sum(laid for _, laid in Board(row).saw_for(kind, left, types)), types)
            for row in shed.rows
            if row.left and left
            for types in (row.types_of(kind), row.types_of(kind)[::-1])
        ]
        while left and (able := [one for one in gives if one[0].left and one[1]]):
            row, _, types = min(able, key=lambda one: one[0].one.cost * 1000 // min(one[1], left))
            for stick, laid in shed.begin(Board(row)).saw_for(kind, left, types):
                left -= laid
                yield stick, laid

    shed.plan(lambda blank: (-blank.width * blank.thickness * blank.length, -blank.length), more)
    found = list[OffcutPlan]()
    for board in shed.boards:
        whole, short = _drawn(board), _drawn(board.shortened())
        found += short if net_worth(job, short) + shed.batch.price.cut < net_worth(job, whole) else whole
    return tuple(found)
