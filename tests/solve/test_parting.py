"""Two neighbouring billets of bent wood: between the cuts that are tried nothing is much better."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from fractions import Fraction

import pytest

from yieldplan.model import Billet, Blank, Job, Offcut, Shop, edge_loss, face_loss, worth
from yieldplan.solve import Options, plan
from yieldplan.solve.parting import MOST_PARTED, Parting, parting_of
from yieldplan.solve.stock import make_rule, rounded_down
from yieldplan.verify import verify

INCH = 8128
SHOP = Shop()
LEAST = (INCH + SHOP.width_allowance, 3 * INCH // 4 + SHOP.thickness_allowance)
"""What a blank of 1 by 3/4 in takes across y and z."""

SHORTEST = max(SHOP.keeper_length, SHOP.shortest_machined_length)


def bent(seed: int) -> tuple[Offcut, Shop]:
    """Return a board that bends one way or more, and a shop with some length premium or none."""
    pick = random.Random(seed)
    bow, crook, twist = (pick.choice((0, pick.randint(1, most))) * INCH // 32 for most in (20, 20, 12))
    board = Offcut(
        name="P",
        length=pick.randint(26, 80) * INCH,
        width=pick.randint(3, 8) * INCH,
        thickness=pick.randint(6, 14) * INCH // 4,
        bow=bow,
        crook=crook,
        twist=twist,
    )
    return board, replace(SHOP, length_premium=Fraction(pick.randint(0, 2), 2))


def left_over(board: Offcut, shop: Shop, length: int) -> int:
    """Return the worth of what a billet leaves beside and above a blank of 1 by 3/4 in: a strip, and a stick."""
    wide = board.width - edge_loss(board, length, shop) - 2 * INCH
    deep = board.thickness - face_loss(board, length, shop)
    above = deep - INCH
    strip = worth(length, wide, deep, shop) if min(wide, deep) >= shop.keeper_thickness else 0
    return strip + (worth(length, 2 * INCH, above, shop) if above >= shop.keeper_thickness else 0)


def both(board: Offcut, shop: Shop, cut: int) -> int:
    """Return the worth of what two billets leave that are parted at ``cut``."""
    return left_over(board, shop, cut) + left_over(board, shop, board.length - shop.crosscut_kerf - cut)


@pytest.mark.parametrize("seed", range(120))
def test_no_cut_in_between_is_much_better(seed: int) -> None:
    """By no more than the parting says, what is rounded, and the floors; where no leftover begins or stops to be one.

    Those lengths are tried by themselves (:func:`yieldplan.solve.billets.critical_lengths`).
    """
    board, shop = bent(seed)
    found = parting_of(board, shop, LEAST, (), split=False)
    longest = board.length - shop.crosscut_kerf - SHORTEST
    rounding = 2 * rounded_down(board, make_rule(shop)) + 4
    for low, high in itertools.pairwise(sorted({SHORTEST, *found.lengths, longest})):
        inner = [low + (high - low) * part // 40 for part in range(41)]
        if len({kept(board, shop, cut) for cut in inner}) > 1:
            continue
        most = max(both(board, shop, low), both(board, shop, high))
        assert all(both(board, shop, cut) <= most + found.gains[0] + rounding for cut in inner)


def kept(board: Offcut, shop: Shop, cut: int) -> tuple[bool, ...]:
    """Return which of the leftovers are keepers."""
    return tuple(
        size >= shop.keeper_thickness
        for run in (cut, board.length - shop.crosscut_kerf - cut)
        for size in (
            board.thickness - face_loss(board, run, shop) - INCH,
            board.width - edge_loss(board, run, shop) - 2 * INCH,
        )
    )


def test_enough_lengths_are_asked_for() -> None:
    """What is left open is less than a unit, but for boards where more lengths would be needed than are tried."""
    asking = 0
    for seed in range(300):
        board, shop = bent(seed)
        found = parting_of(board, shop, LEAST, (), split=False)
        assert len(found.lengths) <= MOST_PARTED
        if len(found.lengths) < MOST_PARTED // 2:
            assert found.units == 0
        asking += bool(found.lengths)
    assert asking > 50


def test_units_cover_what_several_cuts_gain() -> None:
    """Of cuts that may gain 0.4 units each three gain one: the third and the fourth count for it."""
    assert (Parting([], [0.4, 0.8]).fewest, Parting([], [0.4, 0.8]).units) == (0, 0)
    for gain, cuts in itertools.product((0.2, 0.4, 0.9, 1.0, 1.7, 12.6), range(1, 9)):
        gains = [gain * some for some in range(1, cuts + 1)]
        found = Parting([], gains)
        for some, all_told in enumerate(gains, 1):
            assert int(all_told) <= max(0, some - found.fewest + 1) * found.units
    assert (Parting([], [0.4, 0.8, 1.2, 1.6]).fewest, Parting([], [0.4, 0.8, 1.2, 1.6]).units) == (3, 1)


def test_straight_boards_ask_for_none() -> None:
    """Nor do short ones, in which there is no room for two billets that keep anything."""
    straight = Offcut(name="P", length=60 * INCH, width=6 * INCH, thickness=2 * INCH)
    short = replace(straight, length=24 * INCH, bow=INCH // 2)
    assert parting_of(straight, SHOP, LEAST, (), split=False).lengths == []
    assert parting_of(short, SHOP, LEAST, (), split=False) == Parting([], [])


def test_two_ribs_are_parted_where_that_draws_least() -> None:
    """A bowed board of 34 in, no length premium: the best cut lies in the middle, 14 units better than at either end.

    Once only the ends of its travel were tried, and such a plan was called proven.
    """
    board = Offcut(name="P", length=34 * INCH, width=6 * INCH, thickness=2 * INCH, bow=INCH // 4)
    rib = Blank(name="Rib", need=2, length=11 * INCH, width=3 * INCH, thickness=INCH)
    shop = replace(SHOP, length_premium=Fraction(0))
    job = Job(offcuts=(board,), blanks=(rib,), shop=shop, name="ribs", sha256="0" * 64)
    found = plan(job, options=Options(seconds=5))
    (drawn,) = found.offcuts
    near, far = drawn.segments
    assert isinstance(near, Billet)
    assert isinstance(far, Billet)
    assert verify(job, found) == ()
    assert found.proof.proven
    assert abs(near.end - (board.length - far.start)) < 3 * INCH
    assert found.proof.net_worth == 1040  # see test_slide
