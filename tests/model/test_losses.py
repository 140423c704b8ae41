"""R3, what straightening costs: figures worked by hand, and the laws they follow."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Offcut, Shop, edge_loss, face_loss

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
