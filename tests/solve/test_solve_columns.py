"""Columns: what a label becomes, what its keepers are worth, how many crosscuts it takes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from small_stocks import ready, small_stocks
from test_account import BILLET, INCH, JOB, KEPT, PIECE, SKIM, STICK

from yieldplan.model import Keeper, Stick, Strip, WholeKeeper, count_crosscuts, worth
from yieldplan.model.plan import billets_of
from yieldplan.solve.columns import keepers_worth, listed, make_column, placed
from yieldplan.solve.labels import Opener
from yieldplan.solve.pricing import price
from yieldplan.solve.sticks import ABOVE, SURE, outer

(STOCK,) = ready(JOB)
BOX = 2 * INCH - SKIM


def test_a_linked_list_is_read_from_its_first_piece() -> None:
    """The last piece put on comes last."""
    assert listed(((None, "one"), "two")) == ["one", "two"]
    assert listed(None) == []


def test_a_remainder_beyond_the_end_lies_before_the_blanks() -> None:
    """On a stick of 100, blanks from 5 to 25 and 27 to 57, a remainder of 46: it moves to the start, they behind it."""
    pieces = (((None, ("blank", 0, 5, 25)), ("blank", 1, 27, 57)), ("remainder", 59, 105))
    assert placed(pieces, 100) == [("remainder", 0, 46), ("blank", 0, 48, 68), ("blank", 1, 70, 100)]
    assert placed(pieces, 105) == listed(pieces)


def test_a_remainder_reaches_into_the_trim() -> None:
    """At the offcut's end A, half an inch, where no blank may lie; with a defect or at both ends alike it may not."""
    grain, rule, longer = STOCK.grain, STOCK.rule, outer.py_func
    trim = grain.trim
    assert trim > 0
    far = grain.limit - INCH
    assert longer(grain, rule, 0, far, 0, SURE) == trim
    assert longer(grain, rule, trim, far, 0, SURE) == 0
    assert longer(grain, rule, 0, PIECE.length, 0, SURE) == 0
    assert longer(grain, rule, 0, far, 1, SURE) == 0
    assert longer(grain, rule, 0, far, 1, ABOVE) == trim


def test_every_keeper_counts() -> None:
    """Each at its own section.

    A whole keeper at the rough one, a strip at the box's depth, a stick at its strip's width, a remainder
    at the finished one.
    """
    stick = replace(STICK, blanks=STICK.blanks[:1], keepers=(Keeper(start=8 * INCH, end=14 * INCH),))
    beside = Stick(start=5 * INCH // 4, end=7 * INCH // 4, keeper=True)
    strips = (
        Strip(start=0, end=9 * INCH // 8, sticks=(stick, beside)),
        Strip(start=5 * INCH // 4, end=BOX, keeper=True),
    )
    expected = (
        worth(40 * INCH - KEPT.start, PIECE.width, PIECE.thickness, JOB.shop)
        + worth(14 * INCH, BOX - 5 * INCH // 4, BOX, JOB.shop)
        + worth(14 * INCH, 9 * INCH // 8, INCH // 2, JOB.shop)
        + worth(6 * INCH, INCH, INCH, JOB.shop)
    )
    assert keepers_worth((replace(BILLET, strips=strips), KEPT), STOCK.offcut, JOB) == expected


@pytest.mark.parametrize(
    ("segments", "cuts"),
    [
        ((BILLET, KEPT), 1 + 3),  # between billet and keeper; at both ends of the stick and between its ribs
        ((replace(BILLET, end=40 * INCH),), 0 + 3),
        ((WholeKeeper(start=INCH, end=20 * INCH),), 2),
        ((WholeKeeper(start=0, end=40 * INCH),), 0),
        ((), 0),
    ],
)
def test_crosscuts_are_counted(segments: tuple[object, ...], cuts: int) -> None:
    """One between neighbours, two beside a gap, and one at each end that is not the end of the wood."""
    assert count_crosscuts(segments, PIECE.length, JOB.shop.crosscut_kerf) == cuts  # type: ignore[arg-type]


def test_a_column_counts_its_own_blanks() -> None:
    """Counts are those of the blanks in its segments, and its bound is never above its cost."""
    for job, stock, prices in small_stocks(range(10)):
        priced = price(stock, prices)
        for label in Opener(priced).cuttings(0.95 * priced.best):
            column = make_column(3, stock, label, job)
            names = [
                cut.blank
                for segment in column.cutting()
                for billet in billets_of(segment)
                for strip in billet.strips
                for stick in strip.sticks
                for cut in stick.blanks
            ]
            assert column.counts == tuple(names.count(blank.name) for blank in job.blanks)
            assert (column.stock, column.low <= column.cost) == (3, True)
            cutting = column.cutting()
            assert column.cost == stock.cost - keepers_worth(cutting, stock.offcut, job)
            assert column.crosscuts == count_crosscuts(cutting, stock.offcut.length, job.shop.crosscut_kerf)
            assert 0 <= column.cost <= stock.cost
