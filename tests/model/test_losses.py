"""R3, what straightening costs: figures worked by hand, and the laws they follow."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Offcut, Shop, edge_loss, face_loss
from yieldplan.model.losses import longest_blank

INCH = 8128
LONG = Offcut(name="long", length=96 * INCH, width=8 * INCH, thickness=2 * INCH)
NO_SKIM = Shop(face_skim=0, edge_skim=0)
WARP = st.integers(0, INCH)


def test_bow_falls_with_the_square_of_the_length() -> None:
    """1/2 in of bow in 96 in leaves 1/8 in in 48 in and 1/18 in, rounded up, in 32 in."""
    bowed = replace(LONG, bow=INCH // 2)
    assert face_loss(bowed, 96 * INCH, NO_SKIM) == INCH // 2
    assert face_loss(bowed, 48 * INCH, NO_SKIM) == INCH // 8
    assert face_loss(bowed, 32 * INCH, NO_SKIM) == 452  # 8128/18 = 451.6


def test_twist_costs_half_its_lift_and_falls_with_the_length() -> None:
    """1/4 in of twist costs 1/8 in over the whole piece and 1/32 in over a quarter of it."""
    twisted = replace(LONG, twist=INCH // 4)
    assert face_loss(twisted, 96 * INCH, NO_SKIM) == INCH // 8
    assert face_loss(twisted, 24 * INCH, NO_SKIM) == INCH // 32


def test_cup_stays_whole() -> None:
    """A billet is faced at full width, so a shorter one loses as much to cup."""
    cupped = replace(LONG, cup=INCH // 16)
    assert face_loss(cupped, 12 * INCH, NO_SKIM) == INCH // 16


def test_crook_is_lost_across_the_width_alone() -> None:
    """Crook costs width, not thickness; and bow, cup and twist cost no width."""
    crooked = replace(LONG, crook=INCH // 4)
    assert (edge_loss(crooked, 48 * INCH, NO_SKIM), face_loss(crooked, 48 * INCH, NO_SKIM)) == (INCH // 16, 0)
    warped = replace(LONG, bow=INCH, cup=INCH, twist=INCH)
    assert edge_loss(warped, 96 * INCH, NO_SKIM) == 0


def test_a_straight_piece_loses_the_skims() -> None:
    """Face skim and edge skim come off in any case."""
    assert face_loss(LONG, 30 * INCH, Shop()) == edge_loss(LONG, 30 * INCH, Shop()) == INCH // 32


@given(WARP, WARP, st.integers(INCH, 95 * INCH), st.integers(1, INCH))
def test_a_longer_billet_never_loses_less(bow: int, twist: int, length: int, more: int) -> None:
    """Both losses only grow with the length: the solver's critical lengths rest on it."""
    offcut = replace(LONG, bow=bow, crook=bow, twist=twist)
    assert face_loss(offcut, length, NO_SKIM) <= face_loss(offcut, length + more, NO_SKIM)
    assert edge_loss(offcut, length, NO_SKIM) <= edge_loss(offcut, length + more, NO_SKIM)


@given(WARP, WARP, st.integers(1, 96 * INCH))
def test_every_part_is_rounded_up_by_itself(bow: int, twist: int, length: int) -> None:
    """A loss is never less than the exact one, and bow and twist each add less than a step."""
    lost = face_loss(replace(LONG, bow=bow, twist=twist), length, NO_SKIM)
    exact = bow * length**2 / LONG.length**2 + twist * length / (2 * LONG.length)
    assert exact - 1e-6 <= lost < exact + 2


@pytest.mark.parametrize(
    ("changes", "settings", "longest"),
    [
        ({}, {}, 39),
        ({}, {"snipe": 2 * INCH}, 36),
        ({}, {"end_trim": 0}, 40),
        ({"kinks": (30 * INCH,)}, {}, Fraction(59, 2)),
        ({"kinks": (10 * INCH,)}, {}, Fraction(59, 2)),
        ({"kinks": (30 * INCH,)}, {"snipe": INCH}, 28),
        ({"kinks": (10 * INCH,)}, {"snipe": INCH}, 28),
        ({"kinks": (28 * INCH,)}, {"shortest_machined_length": 29 * INCH}, 0),
        ({"kinks": (28 * INCH,)}, {"shortest_machined_length": 28 * INCH}, Fraction(55, 2)),
    ],
)
def test_the_longest_blank_lies_between_trims_kinks_and_snipe(
    changes: dict[str, Any], settings: dict[str, Any], longest: Fraction
) -> None:
    """By hand, for 40 in with 1/2 in lost at each end; no side of a kink that is too short for the machines counts."""
    offcut = Offcut(name="P", length=40 * INCH, width=5 * INCH, thickness=INCH, **changes)
    assert longest_blank(offcut, Shop(**settings)) == longest * INCH


@pytest.mark.parametrize(("start", "whole"), [(0, 30), (29, 30), (30, 10), (39, 10), (None, 30)])
def test_a_billet_that_begins_at_a_kink_lies_beyond_it(start: int | None, whole: int) -> None:
    """Warp is that of the side on which the billet begins, or of the longest where that is not said."""
    offcut = Offcut(
        name="P", length=40 * INCH, width=5 * INCH, thickness=INCH, bow=900, crook=900, kinks=(30 * INCH,)
    )
    at = None if start is None else start * INCH
    assert face_loss(offcut, 5 * INCH, Shop(), at) - Shop().face_skim == -(-900 * 25 // whole**2)
    assert edge_loss(offcut, 5 * INCH, Shop(), at) - Shop().edge_skim == -(-900 * 25 // whole**2)
