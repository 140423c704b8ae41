"""Buying against figures known from outside: waste and what to add; stock of several lengths at least cost.

*Seen* means read in a published page, *memory* from memory without the page, *computed* worked out independently of
this tool.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from bars import MM, Cell, read_folder, sheets

from yieldplan.pile.buy import Purchase, money_job, to_buy, what_to_buy
from yieldplan.solve import Options, solve
from yieldplan.verify import verify

if TYPE_CHECKING:
    from pathlib import Path

YARD = ("Stock", "Length", "Width", "Thickness", "Price", "At most", "Faults")
WANTED = {2: 20, 3: 10, 4: 20}


def test_buying_figures() -> None:
    """At 30 % waste 100 takes 142.86; 30 % more bought is 23 % waste, 50 % more is 33 %.

    A woodworkers' forum (2010) and a wood magazine, seen by whoever gathered these figures; not read for this test.
    """
    assert round(float(to_buy(Fraction(100), Fraction(30, 100))), 2) == 142.86
    for waste, more in ((23, 30), (33, 50)):
        exactly = Fraction(more, 100 + more)
        assert round(100 * exactly) == waste
        assert to_buy(Fraction(100), exactly) == 100 + more


@pytest.mark.parametrize("per_cent", [0, 1, 30, 57, 99])
def test_what_is_left_of_what_is_bought_is_what_is_needed(per_cent: int) -> None:
    """Whatever the share of waste."""
    waste = Fraction(per_cent, 100)
    assert to_buy(Fraction(7), waste) * (1 - waste) == 7


def test_figures_that_make_no_sense() -> None:
    """All of it cannot be waste."""
    with pytest.raises(ValueError, match="from 0 to below 1, not 1"):
        to_buy(Fraction(1), Fraction(1))


def bought(yard: list[tuple[Cell, ...]], folder: Path) -> Purchase:
    """Return what is bought for the wanted lengths, in a shop without losses and with nothing on its rack."""
    blanks = [(f"Piece {n}", need, 100 * n, 100, 45) for n, need in WANTED.items()]
    case = sheets([("Scrap", 10, 100, 45, 1)], blanks, shop=MM)
    job = read_folder({**case, "Yard": [YARD, *yard]}, folder)
    plan = solve(job, options=Options(seconds=5)).plan
    assert plan.missing_total == sum(WANTED.values())
    found = what_to_buy(job, plan, seconds=20)
    assert found is not None
    assert verify(money_job(job, plan), found.money_plan) == verify(found.job, found.plan) == ()
    assert found.missing == ()
    return found


def test_three_lengths_of_stock(tmp_path: Path) -> None:
    """Lengths 9, 6 and 5, as many as it takes, least length in all: 150, nothing wasted.

    P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961). Memory; computed.
    """
    yard: list[tuple[Cell, ...]] = [(f"Bar {n}", 100 * n, 100, 45, n, "", 0) for n in (9, 6, 5)]
    found = bought(yard, tmp_path)
    assert (found.money, found.least, found.proven) == (15_000, 15_000, True)
    assert found.waste == found.more == 0


def test_limited_stock_at_a_price(tmp_path: Path) -> None:
    """5 bars of 9 and 8 of 6, any number of 5, at 10, 7 and 6: 184. Computed."""
    found = bought(
        [
            ("Nine", 900, 100, 45, 10, 5, 0),
            ("Six", 600, 100, 45, 7, 8, 0),
            ("Five", 500, 100, 45, 6, "", 0),
        ],
        tmp_path,
    )
    assert (found.money, found.least, found.proven) == (18_400, 18_400, True)
    counts = {board.board.name: count for board, count in found.boards}
    assert counts["Nine"] <= 5
    assert counts["Six"] <= 8
