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

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.model import Billet, net_worth, prices, sawn_rows, whole, worth
from yieldplan.solve.boards import Board, Milled

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from yieldplan.model import Blank, Job, OffcutPlan
    from yieldplan.solve.boards import OpenStick

    OpenMore = Callable[[Blank, int], Iterator[tuple[OpenStick, int]]]


@dataclass(slots=True)
class _Row:
    """One row of the pile: what milling gives, how many are untouched, and what drawing one costs."""

    milled: Milled
    left: int
    price: int


class _Shed:
    """The pile and the boards that are begun."""

    def __init__(self, job: Job) -> None:
        handled = prices(job.shop).offcut + prices(job.shop).billet
        self.job, self.boards = job, list[Board]()
        self.rows = [
            _Row(
                Milled(offcut, job.shop),
                offcut.qty,
                handled + worth(offcut.length, offcut.width, offcut.thickness, job.shop),
            )
            for offcut in job.offcuts
        ]

    def begin(self, row: _Row, board: Board) -> None:
        """Take a piece of a row off the rack."""
        row.left -= 1
        self.boards.append(board)

    def plan(self, order: Callable[[Blank], tuple[int, ...]], more: OpenMore) -> tuple[OffcutPlan, ...]:
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

    def more(blank: Blank, left: int) -> Iterator[tuple[OpenStick, int]]:
        for row in shed.rows:
            given = 1
            while left and row.left and given:
                board, given = _sawn_for(row.milled, blank, left)
                if given:
                    shed.begin(row, board)
                    left -= given
                    yield from (
                        (stick, sum(one.blank is blank for one in stick.laid))
                        for row_of_sticks in board.strips.values()
                        for stick in row_of_sticks
                    )

    return shed.plan(lambda blank: (-blank.length,), more)


def _sawn_for(milled: Milled, blank: Blank, count: int) -> tuple[Board, int]:
    """Return an offcut sawn into as many sticks of a kind's section as it holds, and how many of the kind lie on them.

    All of them lie flat, or all turned where none does flat.
    """
    board, laid = Board(milled), 0
    for turned in (False, True):
        board = Board(milled)
        while (stick := next(board.openings(blank, turned=turned), None)) is not None:
            board.keep(stick)
            laid += stick.fill(blank, count - laid)
        if laid:
            break
    return board, laid


def first_fit(job: Job) -> tuple[OffcutPlan, ...]:
    """Return the drawings of first-fit decreasing, in the order in which the boards were begun."""
    shed = _Shed(job)

    def more(blank: Blank, left: int) -> Iterator[tuple[OpenStick, int]]:
        for board in shed.boards:
            for stick, laid in _opened(board, blank, left):
                left -= laid
                yield stick, laid
        gives = []
        for row in (row for row in shed.rows if row.left and left):
            each = [
                (sum(laid for _, laid in _opened(Board(row.milled), blank, left, first)), not first)
                for first in (False, True)
            ]
            if max(each)[0]:
                gives.append((row, *max(each)))
        while left and gives:
            cheapest = min(gives, key=lambda one: one[0].price * 1000 // min(one[1], left))
            board = Board(cheapest[0].milled)
            shed.begin(cheapest[0], board)
            for stick, laid in _opened(board, blank, left, not cheapest[2]):
                left -= laid
                yield stick, laid
            if not cheapest[0].left:
                gives.remove(cheapest)

    drawn = shed.plan(lambda blank: (-blank.width * blank.thickness * blank.length, -blank.length), more)
    return tuple(_shortened(job, piece) for piece in drawn)


def _opened(board: Board, blank: Blank, count: int, first: bool = False) -> Iterator[tuple[OpenStick, int]]:
    """Open sticks on a board for as many of a kind as it takes, at most so many; yield each and how many lie on it.

    ``first``: turned ones are tried first, else flat ones.
    """
    while count:
        for stick in (
            stick for turned in (first, not first) for stick in board.openings(blank, turned=turned)
        ):
            laid = stick.fill(blank, count)
            if laid:
                break
        else:
            return
        board.keep(stick)
        count -= laid
        yield stick, laid


def _shortened(job: Job, drawn: OffcutPlan) -> OffcutPlan:
    """Return a drawing of one billet that ends where its sticks ask, if the wood that is left so is worth the cut."""
    shop, (billet,), wood = job.shop, drawn.billets, whole(job.offcut(drawn.offcut))
    assert isinstance(billet, Billet)
    length = max(cut.end for cut in drawn.blanks) + shop.stick_trim - billet.start
    length = max(length, shop.shortest_machined_length)
    tried = replace(
        billet,
        end=billet.start + length,
        face_loss=wood.face_loss(length, shop, billet.start),
        edge_loss=wood.edge_loss(length, shop, billet.start),
    )
    for row in sawn_rows(wood, tried, shop):  # what was not sawn off may be now: losses are smaller (R5)
        apart = all(after[0] - before[1] >= row.kerf for before, after in pairwise(row.spans))
        if not apart or (row.is_cut and row.machine is None):
            return drawn
    shorter = replace(drawn, billets=(tried,))
    saved = net_worth(job, (drawn,)) - net_worth(job, (shorter,))
    return shorter if tried.end < billet.end and saved > prices(shop).cut else drawn
