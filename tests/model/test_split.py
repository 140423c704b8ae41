"""The split of a billet before jointing: where it may lie, and what its halves are (R2, R3)."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Defect, Offcut, Shop, face_loss, halves, may_split, split_range
from yieldplan.model.shop import INCH, MM

SHOP = Shop()
WIDE = Offcut(name="wide", length=96 * INCH, width=8 * INCH, thickness=INCH, cup=INCH // 4, twist=INCH // 2)
WARP = st.integers(0, INCH)


def test_cup_falls_with_the_square_of_the_width_and_twist_with_the_width() -> None:
    """Half of an 8 in board keeps a quarter of its cup and half of its twist, each rounded up."""
    near, far = halves(WIDE, 4 * INCH, SHOP)
    assert (near.width, near.cup, near.twist) == (4 * INCH, INCH // 16, INCH // 4)
    assert far.width == 4 * INCH - INCH // 16
    assert (far.cup, far.twist) == (493, 2001)  # 2032 (63/128)^2 = 492.2; 4064 x 63/128 = 2000.25


def test_bow_and_crook_run_along_the_grain_and_stay() -> None:
    """What is lost to bow and crook has nothing to do with the width."""
    bent = replace(WIDE, bow=INCH // 3, crook=INCH // 5)
    assert {(half.bow, half.crook) for half in halves(bent, 3 * INCH, SHOP)} == {(INCH // 3, INCH // 5)}


@given(WARP, WARP, WARP, st.integers(1, 96 * INCH), st.integers(1, 255))
def test_no_half_loses_more_than_the_whole(bow: int, cup: int, twist: int, length: int, marks: int) -> None:
    """A half is never faced away more than the whole billet would be, but for a step of rounding."""
    offcut = replace(WIDE, bow=bow, cup=cup, twist=twist)
    for half in halves(offcut, marks * INCH // 32, SHOP):
        assert face_loss(half, length, SHOP) <= face_loss(offcut, length, SHOP) + 1


def test_defects_are_moved_and_cut_off_at_the_saw_cut() -> None:
    """A knot across the split lies in both halves; one within the kerf, or beyond, in neither."""
    knot = Defect(kind="knot", x1=0, x2=1, y1=3 * INCH, y2=5 * INCH, z1=0, z2=INCH)
    cut = Defect(kind="pith", x1=0, x2=1, y1=4 * INCH, y2=4 * INCH + INCH // 16, z1=0, z2=INCH)
    near, far = halves(replace(WIDE, defects=(knot, cut)), 4 * INCH, SHOP)
    assert near.defects == (replace(knot, y2=4 * INCH),)
    assert far.defects == (replace(knot, y1=0, y2=INCH - INCH // 16),)


def test_a_reason_is_needed_to_split() -> None:
    """Cup and half the twist must come to the split warp, unless the jointer is too narrow."""
    flat = replace(WIDE, cup=0, twist=0)
    assert not may_split(flat, SHOP)
    assert may_split(flat, replace(SHOP, jointer_width=8 * INCH - 1))
    assert may_split(replace(flat, cup=INCH // 8, twist=INCH // 4), SHOP)
    assert not may_split(replace(flat, cup=INCH // 8, twist=INCH // 4 - 2), SHOP)
    assert not may_split(replace(WIDE, thickness=6 * INCH + 1), SHOP)


def test_split_lies_at_a_mark_and_leaves_two_halves_for_the_machines() -> None:
    """Every place is a whole mark; both halves are within narrowest rip and jointer width, and no place is left out."""
    for shop in (SHOP, replace(SHOP, jointer_width=5 * INCH), Shop(units="mm", bandsaw_kerf=MM + 37)):
        found = split_range(WIDE, shop)
        marks = range(0, WIDE.width, shop.shown_steps)
        good = [
            at
            for at in marks
            if all(shop.narrowest_rip <= half.width <= shop.jointer_width for half in halves(WIDE, at, shop))
        ]
        assert list(found) == good
        assert good


def test_too_narrow_to_split() -> None:
    """Two narrowest rips and a kerf are needed."""
    narrow = replace(WIDE, width=3 * INCH // 2 + INCH // 16)
    assert list(split_range(narrow, SHOP)) == [3 * INCH // 4]
    assert not split_range(replace(narrow, width=narrow.width - 1), SHOP)
