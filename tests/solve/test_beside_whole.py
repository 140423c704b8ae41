"""A whole keeper beside a billet with leftovers: between the lengths that are tried nothing is much better."""

from __future__ import annotations

import itertools
import random

import pytest

from yieldplan.model import Blank, Offcut, Shop, edge_loss, face_loss, worth
from yieldplan.solve.stock import (
    MOST_TRADED,
    NO_TRADE,
    Trade,
    make_rule,
    rounded_down,
    trade_of,
    usable_kinds,
)

INCH = 8128
SHOP = Shop()
RULE = make_rule(SHOP)


def bent(seed: int) -> tuple[Offcut, Blank]:
    """Return a long board with some crook and bow, and a blank much narrower than it."""
    pick = random.Random(seed)
    board = Offcut(
        name="P",
        length=pick.randint(36, 90) * INCH,
        width=pick.randint(4, 9) * INCH,
        thickness=pick.randint(8, 14) * INCH // 4,
        crook=pick.randint(0, INCH),
        bow=pick.randint(0, INCH // 2),
        twist=pick.randint(0, INCH // 2),
    )
    return board, Blank(name="Rib", need=1, length=11 * INCH, width=INCH, thickness=INCH)


def trade(board: Offcut, blank: Blank) -> Trade:
    """Return between which lengths the two are traded."""
    return trade_of(board, usable_kinds(board, [blank], SHOP), SHOP, RULE)


def both(board: Offcut, length: int) -> int:
    """Return the worth of a strip beside one blank in a billet, and of a whole keeper behind it."""
    wide = board.width - edge_loss(board, length, SHOP) - INCH - SHOP.width_allowance - SHOP.rip_kerf
    deep = board.thickness - face_loss(board, length, SHOP)
    rest = board.length - length - SHOP.crosscut_kerf
    strip = worth(length, wide, deep, SHOP) if min(wide, deep) > 0 else 0
    return strip + (worth(rest, board.width, board.thickness, SHOP) if rest >= SHOP.keeper_length else 0)


@pytest.mark.parametrize("seed", range(60))
def test_no_length_in_between_is_much_better(seed: int) -> None:
    """The tried ones are the shortest, those that the trade asks for, and the longest beside a whole keeper.

    By no more than the trade says, what is rounded, and the two floors.
    """
    board, blank = bent(seed)
    found = trade(board, blank)
    longest = board.length - SHOP.crosscut_kerf - SHOP.keeper_length
    tried = sorted({SHOP.shortest_machined_length, *found.lengths, longest})
    assert all(found.begin < at < found.end for at in found.lengths)
    for low, high in itertools.pairwise(tried):
        apart = max(0.0, min(high, found.end) - max(low, found.begin))
        most = max(both(board, low), both(board, high)) + found.steepness * apart**2 / 8
        for part in range(1, 40):
            at = low + (high - low) * part // 40
            assert both(board, at) <= most + rounded_down(board, RULE) + 2


def test_the_lengths_that_are_asked_for_lie_close_enough() -> None:
    """Between two of them the trade comes to less than a unit; without them it would not on the boards that ask."""
    asking = 0
    for seed in range(200):
        found = trade(*bent(seed))
        if found is NO_TRADE:
            continue
        marks = [found.begin, *found.lengths, found.end]
        between = max(b - a for a, b in itertools.pairwise(marks)) ** 2 * found.steepness / 8
        assert between < 1 + 1e-3 or len(found.lengths) == MOST_TRADED
        if found.lengths:
            asking += 1
            assert (found.end - found.begin) ** 2 * found.steepness / 8 > 1
    assert asking > 10


def test_where_no_billet_fits_beside_a_whole_keeper_nothing_is_traded() -> None:
    """A board an inch shorter than both need has no lengths to ask for."""
    board, blank = bent(3)
    room = SHOP.keeper_length + SHOP.shortest_machined_length + SHOP.crosscut_kerf
    short = Offcut(
        name="P", length=room - INCH, width=board.width, thickness=board.thickness, crook=INCH // 4
    )
    assert trade(short, blank) is NO_TRADE
