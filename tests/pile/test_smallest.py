"""The smallest board for a missing blank: it does, and nothing smaller does."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from yieldplan.model import Blank, Job, Offcut, Shop, metric_shop, why_not
from yieldplan.model.shop import INCH
from yieldplan.pile.buy import SmallestBoard, smallest_boards
from yieldplan.solve import Options, solve
from yieldplan.solve.assemble import assemble

if TYPE_CHECKING:
    from yieldplan.model.shop import Shop as ShopOf

BLANKS = {
    "frame": Blank(name="A", need=2, length=17 * INCH, width=9 * INCH // 4, thickness=21 * INCH // 16),
    "short": Blank(name="A", need=3, length=4 * INCH, width=2 * INCH, thickness=INCH),
    "square": Blank(name="A", need=1, length=30 * INCH, width=2 * INCH, thickness=2 * INCH),
    "ringed": Blank(
        name="A", need=1, length=30 * INCH, width=3 * INCH, thickness=INCH, ring_from=70, species=("Oak", "Ash"),
        max_slope=Fraction(1, 12), clear_end=INCH,
    ),
}  # fmt: skip
SHOPS = {
    "usual": Shop(),
    "metric": metric_shop(),
    "deep skim": replace(Shop(), face_skim=INCH // 4, length_allowance=INCH // 2),
}


def smallest(blank: Blank, shop: ShopOf) -> SmallestBoard:
    """Return the smallest board for a blank where there is no wood at all."""
    mark = shop.mark
    sizes = {
        name: -(-getattr(blank, name) // mark) * mark
        for name in ("length", "width", "thickness", "clear_end")
    }
    job = Job(offcuts=(), blanks=(replace(blank, **sizes),), shop=shop)
    (found,) = smallest_boards(job, assemble(job, ()))
    return found


def board(one: SmallestBoard, **sizes: int) -> Offcut:
    """Return the board, with the rings that the blank asks for, or one of other sizes."""
    assert one.board is not None
    return replace(one.board, ring_angle=80 if one.blank.ring_from else None, **sizes)  # type: ignore[arg-type]


@pytest.mark.parametrize("shop", SHOPS)
@pytest.mark.parametrize("blank", BLANKS)
def test_it_gives_the_blank_and_nothing_smaller_does(blank: str, shop: str) -> None:
    """A mark less in length, width or thickness, and the blank is lost."""
    one = smallest(BLANKS[blank], SHOPS[shop])
    assert why_not(board(one), one.blank, SHOPS[shop]) is None
    for name in ("length", "width", "thickness"):
        less = board(one, **{name: getattr(one.board, name) - SHOPS[shop].mark})
        if less.width < less.thickness:
            less = replace(less, width=less.thickness, thickness=less.width)
        assert why_not(less, one.blank, SHOPS[shop]) is not None, name


@pytest.mark.parametrize("blank", BLANKS)
def test_a_longer_one_gives_all_that_are_missing(blank: str) -> None:
    """So long that they lie one behind the other, and not a mark longer than that."""
    one = smallest(BLANKS[blank], Shop())
    for length, missing in ((one.length_for_all, 0), (one.length_for_all - Shop().mark, 1)):
        longer, shortest = board(one, length=length), board(one).length
        found = solve(Job(offcuts=(longer,), blanks=(one.blank,)), options=Options(seconds=1)).plan
        if length >= shortest:
            assert found.missing_total == missing or one.length_for_all == shortest


def test_what_no_machine_makes_has_no_board() -> None:
    """A blank wider than the planer takes: no board would do."""
    one = smallest(replace(BLANKS["frame"], width=20 * INCH), Shop())
    assert one.board is None


def test_only_what_is_missing_is_asked_for() -> None:
    """Kinds that are made are left out, and how many are missing is said."""
    pile = Offcut(name="P", length=21 * INCH, width=3 * INCH, thickness=2 * INCH)
    made = replace(BLANKS["frame"], need=1)
    short = replace(BLANKS["square"], name="B", need=4)
    job = Job(offcuts=(pile,), blanks=(made, short))
    (one,) = smallest_boards(job, solve(job, options=Options(seconds=1)).plan)
    assert (one.blank.name, one.missing) == ("B", 4)
