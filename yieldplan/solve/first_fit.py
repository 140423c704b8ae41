"""First-fit decreasing on boards: the largest blank first, on the first stick, then in the first room, that takes it.

Kinds go by section times length, class by class, spares last. A blank goes on an open stick of its section; else a new
stick is opened on a board that is begun, over the last stick of a strip as wide or beside the last strip; else a
board is begun: the one that is cheapest for each blank of the kind that it gives. On bars of one length that is
first-fit decreasing. In the end each billet is cut as short as its sticks ask, where that costs less.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from yieldplan.model import Billet, keepers, prices, sawn_rows, whole, worth
from yieldplan.solve.boards import Board, OpenStick
from yieldplan.solve.whole import milling, turns

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job, Offcut, OffcutPlan, Shop
    from yieldplan.solve.whole import Milling, Span, Want

ROWS = (False, True), (True, False)
"""Flat or turned: which is tried first."""


@dataclass(slots=True)
class _Row:
    """One row of the pile: what milling gives, how many are untouched, and what drawing one costs."""

    milled: Milling
    left: int
    price: int


class _Room(NamedTuple):
    """Where the next stick of a section would lie on a board: in which strip (None: a new one), flat or turned."""

    strip: int | None
    y: Span
    z: Span
    turned: bool


def first_fit(job: Job) -> tuple[OffcutPlan, ...]:
    """Return the drawings of first-fit decreasing, in the order in which the boards were begun."""
    handled = prices(job.shop).offcut + prices(job.shop).billet
    rows = [
        _Row(found, offcut.qty, handled + worth(offcut.length, offcut.width, offcut.thickness, job.shop))
        for number, offcut in enumerate(job.offcuts)
        if (found := milling(number, offcut, job.shop)) is not None
    ]
    begun: list[Board] = []
    sticks: dict[tuple[int, int], list[OpenStick]] = {}
    short: set[str] = set()
    for want, count, spare in turns(job, by_length=False):
        if spare and want.blank.name in short:
            continue
        opened, left = sticks.setdefault(want.key, []), count
        for stick in opened:
            if left and stick.takes(want):
                left -= stick.fill(want, left)
        for board in begun:
            left -= _on(board, want, left, opened)
        left -= _on_new(rows, want, left, begun, opened, job.shop)
        if left:
            short.add(want.blank.name)
    drawn = (drawing for board in begun if (drawing := board.drawing()) is not None)
    return tuple(shortened(job, drawing) for drawing in drawn)


def _on(
    board: Board, want: Want, count: int, opened: list[OpenStick], lies: tuple[bool, bool] = ROWS[0]
) -> int:
    """Open sticks on a board for as many of a kind as it takes, at most so many; return how many lie on them."""
    laid = 0
    while laid < count:
        found = next(_fitting(board, want, count - laid, lies), None)
        if found is None:
            break
        room, stick, more = found
        if room.strip is None:
            board.strips.append((room.y, [stick]))
        else:
            board.strips[room.strip][1].append(stick)
        opened.append(stick)
        laid += more
    return laid


def _fitting(
    board: Board, want: Want, count: int, lies: tuple[bool, bool]
) -> Iterator[tuple[_Room, OpenStick, int]]:
    """Yield the next stick in each room of a board that takes a kind, with how many were laid on it."""
    for room in _rooms(board, want, lies):
        stick = board.open(want, room.y, room.z, turned=room.turned)
        if stick.takes(want) and (more := stick.fill(want, count)):
            yield room, stick, more


def _rooms(board: Board, want: Want, lies: tuple[bool, bool]) -> Iterator[_Room]:
    """Yield the rooms for a stick of a kind's section: over the last stick of each strip first, then beside."""
    for turned in lies:
        lie = want.lie(board.milled, turned=turned)
        if lie is None:
            continue
        for number, (y, row) in enumerate(board.strips):
            if y[1] - y[0] == lie.across and (z := board.over(y, row, lie.deep)) is not None:
                yield _Room(number, y, z, turned)
        y_new = board.beside(lie.across)
        if y_new is not None and (z := board.over(y_new, [], lie.deep)) is not None:
            yield _Room(None, y_new, z, turned)


def _on_new(
    rows: list[_Row], want: Want, count: int, begun: list[Board], opened: list[OpenStick], shop: Shop
) -> int:
    """Begin boards for a kind, the cheapest for each blank first; return how many blanks lie on them."""
    gives = {}
    for number, row in enumerate(rows):
        if row.left and count:
            each = [_on(Board(milled=row.milled, shop=shop), want, count, [], lies) for lies in ROWS]
            if max(each):
                gives[number] = (max(each), ROWS[each.index(max(each))])
    laid = 0
    while laid < count and gives:
        best = min(gives, key=lambda number: rows[number].price * 1000 // min(gives[number][0], count - laid))
        board = Board(milled=rows[best].milled, shop=shop)
        laid += _on(board, want, count - laid, opened, gives[best][1])
        begun.append(board)
        rows[best].left -= 1
        if not rows[best].left:
            del gives[best]
    return laid


def shortened(job: Job, drawn: OffcutPlan) -> OffcutPlan:
    """Return a drawing of one billet as short as its sticks ask, where what is left of the board is worth more so."""
    shop, offcut = job.shop, job.offcut(drawn.offcut)
    (billet,) = drawn.billets
    if not isinstance(billet, Billet):
        return drawn
    last = max(cut.end for cut in drawn.blanks) + shop.stick_trim
    first = min(cut.start for cut in drawn.blanks) - shop.stick_trim
    found, best = drawn, _kept(job, drawn)
    shortest = shop.shortest_machined_length
    for start, end in (
        (billet.start, max(last, billet.start + shortest)),
        (min(first, billet.end - shortest), billet.end),
    ):
        if billet.start <= start < end <= billet.end and (start, end) != (billet.start, billet.end):
            tried = _between(offcut, billet, (start, end), shop)
            kept = -1 if tried is None else _kept(job, replace(drawn, billets=(tried,))) - prices(shop).cut
            if tried is not None and kept > best:
                found, best = replace(drawn, billets=(tried,)), kept
    return found


def _kept(job: Job, drawn: OffcutPlan) -> int:
    return sum(keeper.worth(job.shop) for keeper in keepers(job, drawn))


def _between(offcut: Offcut, billet: Billet, ends: Span, shop: Shop) -> Billet | None:
    """Return a billet at other ends; None where a row is not right there any more (R5): its losses are smaller."""
    wood, length = whole(offcut), ends[1] - ends[0]
    found = replace(
        billet,
        start=ends[0],
        end=ends[1],
        face_loss=wood.face_loss(length, shop, ends[0]),
        edge_loss=wood.edge_loss(length, shop, ends[0]),
    )
    for row in sawn_rows(wood, found, shop):
        apart = all(after[0] - before[1] >= row.kerf for before, after in pairwise(row.spans))
        if not apart or (row.is_cut and row.machine is None):
            return None
    return found
