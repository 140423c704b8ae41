"""What is milled as one piece: its losses (R3), sound ends (R1), lengthened defects (R9), and where it may be split."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Billet, Defect, Offcut, Shop, SplitBillet, metric_shop, milled, whole
from yieldplan.model.wood import halves, lengthened, sound_ends, split_range

INCH = 8128
MARK = INCH // 32
LONG = Offcut(name="long", length=96 * INCH, width=8 * INCH, thickness=2 * INCH)
WIDE = Offcut(name="wide", length=96 * INCH, width=8 * INCH, thickness=INCH, cup=INCH // 4, twist=INCH // 2)
SHOP = Shop()
BARE = Shop(face_skim=0, edge_skim=0)
WARP = st.integers(0, 32).map(lambda marks: marks * MARK)


def face(offcut: Offcut, inches: int, shop: Shop = BARE, start: int = 0) -> int:
    """Return the face loss of a whole billet, in marks."""
    return whole(offcut).face_loss(inches * INCH, shop, start) // MARK


def edge(offcut: Offcut, inches: int, shop: Shop = BARE, start: int = 0) -> int:
    """Return the edge loss of a whole billet, in marks."""
    return whole(offcut).edge_loss(inches * INCH, shop, start) // MARK


def test_bow_falls_with_the_square_of_the_length() -> None:
    """1/2 in of bow in 96 in leaves 1/8 in in 48 in, and in 32 in 1/18 in, up to two marks of 1/32."""
    bowed = replace(LONG, bow=INCH // 2)
    assert [face(bowed, length) for length in (96, 48, 32)] == [16, 4, 2]


def test_twist_costs_half_its_lift_and_falls_with_the_length() -> None:
    """1/4 in of twist costs 1/8 in over the whole piece and 1/32 in over a quarter of it."""
    twisted = replace(LONG, twist=INCH // 4)
    assert [face(twisted, length) for length in (96, 24)] == [4, 1]


def test_cup_stays_whole() -> None:
    """A billet is faced at full width, so a shorter one loses as much to cup."""
    cupped = replace(LONG, cup=INCH // 16)
    assert [face(cupped, length) for length in (96, 12)] == [2, 2]


def test_crook_is_lost_across_the_width_alone() -> None:
    """Crook costs width, not thickness; and bow, cup and twist cost no width."""
    crooked = replace(LONG, crook=INCH // 4)
    assert (edge(crooked, 48), face(crooked, 48)) == (2, 0)
    assert edge(replace(LONG, bow=INCH, cup=INCH, twist=INCH), 96) == 0


def test_a_straight_piece_loses_the_skims_and_keeps_the_rest() -> None:
    """Face skim and edge skim come off in any case, and nothing else."""
    assert face(LONG, 30, SHOP) == edge(LONG, 30, SHOP) == 2


def test_a_sum_is_rounded_up_once() -> None:
    """Bow 0.9, twist 0.45 marks and a skim of 2 come to 3.35, up to 4; each by itself up would be 1 + 1 + 2."""
    bent = replace(LONG, bow=10 * MARK, twist=3 * MARK)
    exact = Fraction(10 * 9, 100) + Fraction(3 * 3, 20) + 2
    assert whole(replace(bent, length=100 * INCH)).face_loss(30 * INCH, SHOP) == math.ceil(exact) * MARK
    third = replace(LONG, length=100 * INCH, bow=4 * MARK, twist=4 * MARK)  # 0.36 + 0.6 + 2 = 2.96
    assert whole(third).face_loss(30 * INCH, SHOP) == 3 * MARK


@given(WARP, WARP, WARP, st.integers(1, 96 * 32), st.integers(1, 32))
def test_a_loss_is_the_exact_sum_up_to_a_mark_and_grows_with_the_length(
    bow: int, cup: int, twist: int, length: int, more: int
) -> None:
    """Never less than the exact loss, less than a mark above it, and a longer billet never loses less."""
    wood = whole(replace(LONG, bow=bow, crook=bow, cup=cup, twist=twist))
    along = Fraction(length, 96 * 32)
    exact = bow * along**2 + cup + twist * along / 2 + SHOP.face_skim
    lost = wood.face_loss(length * MARK, SHOP)
    assert lost % MARK == 0
    assert exact <= lost < exact + MARK
    assert wood.face_loss((length + more) * MARK, SHOP) >= lost
    assert wood.edge_loss((length + more) * MARK, SHOP) >= wood.edge_loss(length * MARK, SHOP)


@pytest.mark.parametrize(("start", "side"), [(0, 30), (29, 30), (30, 10), (39, 10)])
def test_each_side_of_a_kink_curves_by_itself(start: int, side: int) -> None:
    """Warp is that of the side on which the billet begins."""
    kinked = replace(LONG, length=40 * INCH, bow=9 * MARK, crook=9 * MARK, kinks=(30 * INCH,))
    expected = math.ceil(Fraction(9 * 25, side**2))
    assert face(kinked, 5, BARE, start * INCH) == edge(kinked, 5, BARE, start * INCH) == expected


# Halves


def test_a_half_keeps_a_share_of_cup_and_twist() -> None:
    """Half of an 8 in board keeps a quarter of its cup, 1/16 in, and half of its twist; bow and crook stay."""
    near, far = halves(replace(WIDE, bow=INCH // 8, crook=INCH // 4), 4 * INCH, SHOP)
    assert (near.low, near.width, far.low, far.width) == (
        0,
        4 * INCH,
        4 * INCH + 2 * MARK,
        4 * INCH - 2 * MARK,
    )
    assert near.face_loss(96 * INCH, BARE) == (4 + 2 + 4) * MARK  # bow 4 marks, cup 2, twist 8/2
    assert near.edge_loss(96 * INCH, BARE) == far.edge_loss(96 * INCH, BARE) == 8 * MARK


def test_a_half_s_cup_is_exact_before_the_sum_is_rounded() -> None:
    """8 marks of cup on 63/128 of the width are 1.938, 16 of twist over half the length 1.969, bow 0.09: 4 in all."""
    _, far = halves(WIDE, 4 * INCH, SHOP)
    exact = 8 * Fraction(63, 128) ** 2 + Fraction(16, 4) * Fraction(63, 128)
    assert Fraction(39, 10) < exact < 4
    assert far.face_loss(48 * INCH, BARE) == 4 * MARK
    bowed = replace(WIDE, bow=MARK)  # a quarter of a mark more: now it is over 4
    assert halves(bowed, 4 * INCH, SHOP)[1].face_loss(48 * INCH, BARE) == 5 * MARK


@given(WARP, WARP, WARP, st.integers(1, 96 * 32), st.integers(1, 253))
def test_no_half_loses_more_than_the_whole(bow: int, cup: int, twist: int, length: int, marks: int) -> None:
    """A half is never faced away more than the whole billet would be."""
    offcut = replace(WIDE, bow=bow, cup=cup, twist=twist)
    most = whole(offcut).face_loss(length * MARK, SHOP)
    assert all(half.face_loss(length * MARK, SHOP) <= most for half in halves(offcut, marks * MARK, SHOP))


def test_defects_lie_in_the_frame_of_their_half() -> None:
    """A knot across the split lies in both halves; one within the kerf, or beyond, in neither."""
    knot = Defect(kind="wane", x1=0, x2=MARK, y1=3 * INCH, y2=5 * INCH, z1=0, z2=INCH)
    cut = Defect(kind="pith", x1=0, x2=MARK, y1=4 * INCH, y2=4 * INCH + 2 * MARK, z1=0, z2=INCH)
    near, far = halves(replace(WIDE, defects=(knot, cut)), 4 * INCH, SHOP)
    assert near.defects(SHOP) == (replace(knot, y2=4 * INCH),)
    assert far.defects(SHOP) == (replace(knot, y1=0, y2=INCH - 2 * MARK),)


def test_what_is_milled_of_a_billet() -> None:
    """A billet is itself; of a split one it is the halves with a layout: a half that is waste is not milled."""
    plain = Billet(start=INCH, end=20 * INCH, layout="rip first", face_loss=MARK, edge_loss=MARK, strips=())
    assert list(milled(WIDE, plain, SHOP)) == [(whole(WIDE), plain)]
    far = halves(WIDE, 4 * INCH, SHOP)[1]
    split = SplitBillet(start=INCH, end=20 * INCH, split=4 * INCH, halves=(None, plain))
    assert list(milled(WIDE, split, SHOP)) == [(far, plain)]


# Ends and defects


def check(x1: float, x2: float, **changes: object) -> Defect:
    """Return a through check over the whole width, from and to in inches."""
    found = Defect(kind="check", x1=int(x1 * INCH), x2=int(x2 * INCH), y1=0, y2=8 * INCH, z1=0, z2=2 * INCH)
    return replace(found, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("defects", "low", "high"),
    [
        ((), 0.5, 95.5),
        ((check(0, 3),), 4, 95.5),
        ((check(0.25, 3),), 4, 95.5),
        ((check(0.5, 3),), 0.5, 95.5),  # begins where the trim ends
        ((check(90, 96),), 0.5, 89),
        ((check(90, 95.5),), 0.5, 95.5),
        ((check(0, 3), check(3.5, 6)), 7, 95.5),  # what begins in the longer trim lengthens it again
        ((check(3.5, 6), check(0, 3)), 7, 95.5),
        ((check(0, 3), check(4, 6)), 4, 95.5),
        ((check(0, 3, y1=MARK),), 0.5, 95.5),
        ((check(0, 3, y2=7 * INCH),), 0.5, 95.5),
        ((check(0, 3, through=False),), 0.5, 95.5),
        ((check(0, 3, kind="knot"),), 0.5, 95.5),
        ((check(0, 3, kind="Heart  SHAKE"),), 4, 95.5),
        ((check(0, 96),), 97, -1),
    ],
)
def test_sound_ends(defects: tuple[Defect, ...], low: float, high: float) -> None:
    """The end trim, and past a through check over the whole width that begins in it (R1)."""
    assert sound_ends(replace(LONG, defects=defects), SHOP) == (int(low * INCH), int(high * INCH))


@pytest.mark.parametrize(
    ("kind", "past"),
    [
        ("check", 1),
        ("End Check", 1),
        ("split", 1),
        ("ring shake", 1),
        ("knot", 0.5),
        ("PIN  knot", 0.5),
        ("wane", 0),
    ],
)
def test_defects_count_longer_than_they_were_seen(kind: str, past: float) -> None:
    """By past a check or past a knot at both ends, for the word in its kind; never beyond the offcut's ends (R9)."""
    seen = check(30, 32, kind=kind)
    found = lengthened(seen, LONG, SHOP)
    assert (found.x1, found.x2) == (int((30 - past) * INCH), int((32 + past) * INCH))
    assert (found.y1, found.y2, found.z1, found.z2) == (seen.y1, seen.y2, seen.z1, seen.z2)
    at_ends = lengthened(check(0.25, 95.75, kind=kind), LONG, Shop(past_a_check=INCH))
    assert 0 <= at_ends.x1 <= INCH // 4
    assert at_ends.x2 <= LONG.length


@pytest.mark.parametrize("kind", ["checked", "knots", "splitting", "unknotted"])
def test_only_the_very_word_counts(kind: str) -> None:
    """A word that only looks like one lengthens nothing."""
    assert lengthened(check(30, 32, kind=kind), LONG, SHOP) == check(30, 32, kind=kind)


# Splits


def test_a_reason_is_needed_to_split() -> None:
    """Cup and half the twist must come to the split warp, unless the jointer is too narrow (R2)."""
    flat = replace(WIDE, cup=0, twist=0)
    assert not split_range(flat, SHOP)
    assert split_range(flat, replace(SHOP, jointer_width=8 * INCH - MARK))
    assert split_range(replace(flat, cup=INCH // 8, twist=INCH // 4), SHOP)
    assert not split_range(replace(flat, cup=INCH // 8, twist=INCH // 4 - MARK), SHOP)
    assert not split_range(replace(WIDE, thickness=6 * INCH + MARK), SHOP)
    assert not split_range(replace(WIDE, kinks=(INCH,)), SHOP)
    assert not split_range(replace(WIDE, ring_angle=10, ring_angle_far=20), SHOP)


def test_split_lies_at_a_mark_and_leaves_two_halves_for_the_saws() -> None:
    """Every place is a whole mark, both halves are at least the narrowest rip wide, and no place is left out."""
    for shop in (SHOP, Shop(narrowest_rip=0), metric_shop(), replace(SHOP, mark=INCH // 8, **COARSE)):
        marks = range(0, WIDE.width, shop.mark)
        least = max(shop.narrowest_rip, 1)
        good = [at for at in marks if all(half.width >= least for half in halves(WIDE, at, shop))]
        assert list(split_range(WIDE, shop)) == good
        assert good


COARSE: dict[str, Any] = dict.fromkeys(
    ("bandsaw_kerf", "bandsaw_skim", "face_skim", "edge_skim", "thickness_allowance", "least_planing", "plane_off"),
    INCH // 8,
)  # fmt: skip


def test_too_narrow_to_split() -> None:
    """Two narrowest rips and a kerf are needed."""
    narrow = replace(WIDE, width=3 * INCH // 2 + INCH // 16)
    assert list(split_range(narrow, SHOP)) == [3 * INCH // 4]
    assert not split_range(replace(narrow, width=narrow.width - MARK), SHOP)
    assert not split_range(replace(WIDE, cup=0, twist=0), SHOP)
