"""Billets: which are tried, and the lengths at which a row of pieces stops fitting."""

from __future__ import annotations

import pytest

from yieldplan.model import Blank, Defect, Offcut, Shop, edge_loss, face_loss
from yieldplan.solve.billets import critical_lengths, find_billets, pushed_both_ways
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


@pytest.mark.parametrize("defects", [(), (KNOT,)])
@pytest.mark.parametrize("lengths", [(), (30 * INCH,)])
def test_every_billet_can_be_milled_and_holds_a_blank(
    defects: tuple[Defect, ...], lengths: tuple[int, ...]
) -> None:
    """Billets lie on the offcut, in order, each no shorter than the machines and the least blank need."""
    offcut = Offcut(name="P", length=48 * INCH, width=5 * INCH, thickness=2 * INCH, defects=defects)
    from_a, from_b = pushed_both_ways(offcut, [BLANK], SHOP)
    found = find_billets(from_a, from_b, merging=False, lengths=lengths)
    assert found == sorted(found)
    assert len({(a, b) for a, b, _, _ in found}) == len(found)
    assert all(a >= 0 and b <= offcut.length and b - a >= 14 * INCH + INCH // 2 for a, b, _, _ in found)


def test_billets_are_drawn_out_for_leftovers() -> None:
    """With leftovers in sight there are billets of the lengths asked for, besides the shortest ones."""
    offcut = Offcut(name="P", length=48 * INCH, width=5 * INCH, thickness=2 * INCH)
    from_a, from_b = pushed_both_ways(offcut, [BLANK], SHOP)
    plain = {(a, b) for a, b, _, _ in find_billets(from_a, from_b, merging=False, lengths=())}
    drawn = {(a, b) for a, b, _, _ in find_billets(from_a, from_b, merging=False, lengths=(31 * INCH,))}
    assert drawn > plain
    assert (0, offcut.length) in drawn
    assert any(b - a == 31 * INCH for a, b in drawn - plain)


def test_a_defect_is_met_from_both_sides() -> None:
    """A billet starts where the knot ends, and one, pushed towards end B, ends where it starts."""
    offcut = Offcut(name="P", length=48 * INCH, width=5 * INCH, thickness=2 * INCH, defects=(KNOT,))
    from_a, from_b = pushed_both_ways(offcut, [BLANK], SHOP)
    found = find_billets(from_a, from_b, merging=False, lengths=())
    assert any(a == KNOT.x2 for a, _, _, _ in found)
    assert any(b == KNOT.x1 for _, b, _, _ in found)
