"""Billets: which are tried, and the lengths at which a row of pieces stops fitting."""

from __future__ import annotations

import numpy as np
import pytest

from yieldplan.model import Blank, Defect, Offcut, Shop, edge_loss, face_loss
from yieldplan.solve.billets import critical_lengths, find_billets, pushed_both_ways
from yieldplan.solve.positions import MANY
from yieldplan.solve.stock import StickKind, usable_kinds

INCH = 8128
SHOP = Shop()
BLANK = Blank(name="Rib", need=4, length=14 * INCH, width=2 * INCH, thickness=INCH)
CROOKED = Offcut(name="P", length=48 * INCH, width=9 * INCH // 2, thickness=5 * INCH // 4, crook=INCH // 4)
KNOT = Defect(
    kind="knot",
    x1=20 * INCH,
    x2=22 * INCH,
    y1=0,
    y2=CROOKED.width,
    z1=0,
    z2=CROOKED.thickness,
)


def ribs(offcut: Offcut) -> list[StickKind]:
    """Return the kinds of stick that hold ribs."""
    return usable_kinds(offcut, [BLANK], SHOP)


def test_a_critical_length_is_the_last_at_which_two_strips_fit() -> None:
    """Two strips of 2 1/8 in and a kerf need 4 3/8 in: crook may take 3/32 in, that is 29 3/8 in of length.

    1/4 l^2/48^2 = 3/32 gives l = 48 sqrt(3/8) = 29.39 in.
    """
    lengths = critical_lengths(CROOKED, SHOP, ribs(CROOKED))
    need = 2 * (2 * INCH + INCH // 8) + INCH // 8
    fitting = [run for run in lengths if CROOKED.width - edge_loss(CROOKED, run, SHOP) >= need]
    (longest,) = [run for run in fitting if 29 * INCH < run < 30 * INCH]
    assert CROOKED.width - edge_loss(CROOKED, longest + 1, SHOP) < need


def test_critical_lengths_lie_where_a_loss_takes_a_step() -> None:
    """But for the keeper length, a step longer costs more width or thickness."""
    for run in critical_lengths(CROOKED, SHOP, ribs(CROOKED)):
        longer = edge_loss(CROOKED, run + 1, SHOP), face_loss(CROOKED, run + 1, SHOP)
        same = edge_loss(CROOKED, run, SHOP), face_loss(CROOKED, run, SHOP)
        assert longer != same or run in (SHOP.keeper_length, CROOKED.length)


def test_a_straight_offcut_has_no_critical_length_but_the_keeper_length() -> None:
    """Its losses do not change with the length."""
    straight = Offcut(name="P", length=48 * INCH, width=5 * INCH, thickness=2 * INCH)
    assert critical_lengths(straight, SHOP, ribs(straight)) == [SHOP.keeper_length]


def spans(offcut: Offcut, drawn: tuple[int, ...] = (), *, leftovers: bool = True) -> list[tuple[int, int]]:
    """Return the billets to try for ribs."""
    from_a, from_b = pushed_both_ways(
        *(offcut, [BLANK], SHOP), drawn=drawn, remainder=SHOP.keeper_length if leftovers else 0
    )
    lengths = drawn if leftovers else None
    found = find_billets(from_a, from_b, merging=False, lengths=lengths, thorough=True)
    return list(zip(found.start.tolist(), found.end.tolist(), strict=True))


def board(*defects: Defect) -> Offcut:
    """Return a straight board with defects."""
    return Offcut(name="P", length=48 * INCH, width=5 * INCH, thickness=2 * INCH, defects=defects)


def test_only_starts_and_ends_of_billets_take_room() -> None:
    """Starts that are pushed to end A crowd near end B, and ends the other way about: few pairs of them are billets."""
    long = Offcut(
        name="P", length=96 * INCH, width=5 * INCH, thickness=2 * INCH, bow=INCH // 4, defects=(KNOT,)
    )
    blanks = [
        BLANK,
        *(Blank(name=str(n), need=1, length=n * INCH, width=INCH, thickness=INCH) for n in (7, 9)),
    ]
    from_a, from_b = pushed_both_ways(long, blanks, SHOP, drawn=(30 * INCH,), remainder=SHOP.keeper_length)
    found = find_billets(from_a, from_b, merging=False, lengths=[30 * INCH], thorough=True)
    less = len(from_a.starts) * len(from_b.starts) // MANY - 1
    again = find_billets(from_a, from_b, merging=False, lengths=[30 * INCH], thorough=True, most=less)
    assert np.array_equal(again.start, found.start)
    assert np.array_equal(again.end, found.end)


@pytest.mark.parametrize("defects", [(), (KNOT,)])
@pytest.mark.parametrize("drawn", [(), (30 * INCH,)])
def test_every_billet_can_be_milled_and_holds_a_blank(
    defects: tuple[Defect, ...], drawn: tuple[int, ...]
) -> None:
    """Billets lie on the offcut, in order, each no shorter than the machines and the least blank need."""
    found = spans(board(*defects), drawn)
    assert found == sorted(set(found))
    assert all(a >= 0 and b <= 48 * INCH and b - a >= 14 * INCH + INCH // 2 for a, b in found)


def test_billets_are_drawn_out_for_leftovers() -> None:
    """With leftovers in sight there are billets of the lengths asked for, besides the shortest ones."""
    plain, drawn = set(spans(board(), leftovers=False)), set(spans(board(), (31 * INCH,)))
    assert drawn > plain
    assert (0, 48 * INCH) in drawn
    assert any(b - a == 31 * INCH for a, b in drawn - plain)


def test_a_billet_follows_one_that_is_drawn_out() -> None:
    """One of 20 in from end A, and a kerf behind it another to end B."""
    kerf = SHOP.crosscut_kerf
    assert {(0, 20 * INCH), (20 * INCH + kerf, 48 * INCH)} <= set(spans(board(), (20 * INCH,)))


def test_a_billet_is_drawn_out_until_a_remainder_is_long_enough() -> None:
    """Behind a rib (14 1/4 in with its allowance) a kerf and 12 in."""
    first = max(SHOP.end_trim, SHOP.snipe)
    end = first + 14 * INCH + SHOP.length_allowance + SHOP.crosscut_kerf + SHOP.keeper_length
    assert (first, end) in spans(board())


def test_a_billet_is_drawn_out_between_neighbours_from_either_side() -> None:
    """With a knot, from behind a billet of 15 in at end A up to one of ribs at end B."""
    kerf, rib = SHOP.crosscut_kerf, 14 * INCH + SHOP.length_allowance
    start = 15 * INCH + kerf
    end = 48 * INCH - SHOP.end_trim - rib - kerf
    assert end - start > rib
    assert (start, end) in spans(board(KNOT), (15 * INCH,))


def test_a_defect_is_met_from_both_sides() -> None:
    """A billet starts where the knot ends, and one, pushed towards end B, ends where it starts."""
    found = spans(board(KNOT))
    assert any(a == KNOT.x2 for a, _ in found)
    assert any(b == KNOT.x1 for _, b in found)


def test_lean_billets_are_the_shortest() -> None:
    """What is tried where leftovers count for nothing is what is tried without any."""
    from_a, from_b = pushed_both_ways(
        *(board(), [BLANK], SHOP), drawn=(30 * INCH,), remainder=SHOP.keeper_length
    )
    found = find_billets(from_a, from_b, merging=False, lengths=(30 * INCH,), thorough=True)
    lean = zip(found.start[found.lean].tolist(), found.end[found.lean].tolist(), strict=True)
    assert list(lean) == spans(board(), leftovers=False)
