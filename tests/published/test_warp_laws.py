"""R3's laws of warp against plain geometry: the exact circle, and the best plane found by linear programming.

The laws: a bow (or crook) falls with the square of a billet's length, a twist with its length, and a twist costs
half the lift of the fourth corner, for the best plane shares it among the four. Of a half the cup falls with the square
of the width, the twist with the width. R3 rounds the sum up to a mark; the shop of these tests works to a step.
"""

from __future__ import annotations

import math
from decimal import Decimal, localcontext
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
from scipy.optimize import linprog

from yieldplan.model import Offcut, Shop, whole
from yieldplan.model.shop import INCH, MM
from yieldplan.model.wood import halves

if TYPE_CHECKING:
    from numpy.typing import NDArray

NO_SKIM = Shop(mark=1, face_skim=0, edge_skim=0, bandsaw_kerf=0)


class Board(NamedTuple):
    """A bowed board: its length and its bow, and a length cut from it, in mm."""

    length: int
    bow: int
    cut: int


BOWED = [
    Board(length, bow, cut)
    for length, bow in ((3000, 12), (2438, 13), (1200, 3), (900, 10), (600, 2), (5000, 40))
    for cut in (length, length * 3 // 4, length // 2, length // 3, length // 10)
]


def sagitta(length: Decimal, bow: Decimal, cut: Decimal) -> Decimal:
    """Return the bow of a piece cut from a board bent to a circle; the board is as long as its chord."""
    radius = length**2 / (8 * bow) + bow / 2
    return radius - (radius**2 - cut**2 / 4).sqrt()


def straight(*, length: int, bow: int = 0, crook: int = 0, twist: int = 0, width: int = 150 * MM) -> Offcut:
    """Return an offcut with nothing but this warp (steps)."""
    return Offcut(name="P", length=length, width=width, thickness=50 * MM, bow=bow, crook=crook, twist=twist)


# Bow and crook


@pytest.mark.parametrize("board", BOWED)
def test_the_law_of_bow_is_never_below_the_exact_circle(board: Board) -> None:
    """What R3 takes for bow covers the sagitta of the exact circle (s = R - sqrt(R^2 - c^2/4))."""
    with localcontext() as context:
        context.prec = 50
        exact = sagitta(Decimal(board.length), Decimal(board.bow), Decimal(board.cut)) * MM
    offcut = straight(length=board.length * MM, bow=board.bow * MM)
    assert whole(offcut).face_loss(board.cut * MM, NO_SKIM) >= exact


@pytest.mark.parametrize("board", BOWED)
def test_the_law_of_bow_wastes_next_to_nothing_over_the_exact_circle(board: Board) -> None:
    """The law is the parabola c^2/8R: it exceeds the circle by at most (2 bow/length)^2 of itself, and a step.

    Expanding the circle in c/R, s = b c^2/L^2 (1 - (1 - c^2/L^2) (b/L)^2 4 + ...): geometry, our derivation.
    """
    with localcontext() as context:
        context.prec = 50
        exact = sagitta(Decimal(board.length), Decimal(board.bow), Decimal(board.cut)) * MM
    offcut = straight(length=board.length * MM, bow=board.bow * MM)
    flatness = Decimal(2 * board.bow) / board.length
    assert whole(offcut).face_loss(board.cut * MM, NO_SKIM) <= exact * (1 + flatness**2) + 1


@pytest.mark.parametrize(("cut_mm", "sagitta_um"), [(3000, 12_000), (1500, 3_000), (1000, 1_333), (750, 750)])
def test_a_bow_of_12_mm_in_3000_mm(cut_mm: int, sagitta_um: int) -> None:
    """Cut to 1500, 1000 and 750 mm, it leaves 3.000, 1.333 and 0.750 mm (the circle of radius 93 756 mm).

    Derived from the circle by hand, checked against the exact one above; no printed source.
    """
    loss = whole(straight(length=3000 * MM, bow=12 * MM)).face_loss(cut_mm * MM, NO_SKIM)
    assert loss == math.ceil(sagitta_um * MM / 1000)


def test_the_radius_of_the_worked_bow() -> None:
    """12 mm in 3000 mm is a circle of radius 93 756 mm: c^2/8s + s/2 (geometry)."""
    assert 3000**2 / (8 * 12) + 12 / 2 == 93_756


@pytest.mark.parametrize(("cut", "left_inches"), [(96, 1 / 2), (48, 1 / 8), (32, 1 / 18)])
def test_a_bow_of_half_an_inch_in_eight_feet(cut: int, left_inches: float) -> None:
    """Half an inch in 96 in leaves 1/8 in in 48 in and 0.056 in in 32 in (derived, no printed source)."""
    loss = whole(straight(length=96 * INCH, bow=INCH // 2)).face_loss(cut * INCH, NO_SKIM)
    assert loss == math.ceil(left_inches * INCH)


@pytest.mark.parametrize("parts", [2, 3, 4, 6])
def test_equal_parts_of_a_crooked_board_have_the_square_less_crook(parts: int) -> None:
    """A crook of a quarter inch, the most that a stud of 8 ft may have, leaves 1/n^2 of it in n equal parts.

    The limit: the grading rule for studs as a university report quotes it (seen at second hand). The square:
    geometry.
    """
    loss = whole(straight(length=96 * INCH, crook=INCH // 4)).edge_loss(96 * INCH // parts, NO_SKIM)
    assert loss == math.ceil(INCH / 4 / parts**2)


def test_a_bow_costs_no_edge_and_a_crook_no_face() -> None:
    """Bow is lost across the thickness alone, crook across the width alone (definitions of the trade)."""
    bowed, crooked = (straight(length=1000 * MM, **{warp: 5 * MM}) for warp in ("bow", "crook"))
    assert whole(bowed).edge_loss(700 * MM, NO_SKIM) == whole(crooked).face_loss(700 * MM, NO_SKIM) == 0


# Twist


def least_depth(surface: NDArray[np.float64], x: NDArray[np.float64], y: NDArray[np.float64]) -> float:
    """Return how deep a slab between two parallel planes must be to hold a surface: least over all planes.

    The planes are z = a x + b y + c, d above and d below; the linear programme makes d least. Depths are taken
    along z: the slope of a board's best plane is so small that its tilt changes nothing here.
    """
    plane = np.column_stack([x, y, np.ones_like(x)])
    above = np.column_stack([plane, -np.ones_like(x)])
    below = np.column_stack([-plane, -np.ones_like(x)])
    found = linprog(
        [0, 0, 0, 2],
        A_ub=np.vstack([above, below]),
        b_ub=np.concatenate([surface, -surface]),
        bounds=[(None, None)] * 3 + [(0, None)],
        method="highs",
    )
    assert found.fun is not None
    return float(found.fun)


def twisted(length: float, width: float, lift: float, whole: float) -> tuple[NDArray[np.float64], ...]:
    """Return points of a face whose corners lift by so much in its whole length: z = lift x y/(whole width)."""
    x, y = (grid.ravel() for grid in np.meshgrid(np.linspace(0, length, 21), np.linspace(0, width, 11)))
    return lift * x * y / (whole * width), x, y


@pytest.mark.parametrize(("full", "lift"), [(1200, 6), (900, 10), (2400, 16), (600, 1)])
@pytest.mark.parametrize("share", [1, 0.75, 0.5, 0.2])
def test_a_twist_costs_what_the_best_plane_leaves(full: int, lift: int, share: float) -> None:
    """R3's loss for twist is the least depth that holds the twisted face, to a step: half the lift of the cut.

    Minimax plane fit, computed here with an independent library.
    """
    cut = int(full * share)
    depth = least_depth(*twisted(cut, 150, lift, full))
    loss = whole(straight(length=full * MM, twist=lift * MM)).face_loss(cut * MM, NO_SKIM)
    assert depth * MM - 1e-4 <= loss <= depth * MM + 1 + 1e-4


def test_three_corners_held_down_cost_the_whole_lift() -> None:
    """Faced as it lies on the bench, on three corners, the board would cost twice what R3 takes (geometry).

    So R3 asks that the lift be shared between two corners, by rocking or shimming.
    """
    surface, x, y = twisted(1200, 150, 6, 1200)
    loss = whole(straight(length=1200 * MM, twist=6 * MM)).face_loss(1200 * MM, NO_SKIM)
    assert np.ptp(surface) == pytest.approx(2 * loss / MM)
    assert least_depth(surface, x, y) == pytest.approx(loss / MM)


def test_the_sum_of_bow_cup_and_half_the_twist_holds_the_whole_face() -> None:
    """A face with all three has a best plane within the sum that R3 takes; their worst places need not meet.

    Minimax plane fit of the sum of a parabola along, a parabola across and a twist.
    """
    length, width, bow, cup, lift = 1000.0, 150.0, 5.0, 2.0, 8.0
    twist, x, y = twisted(length, width, lift, length)
    for bent in (1, -1):
        for hollow in (1, -1):
            along = 4 * bent * bow * x * (length - x) / length**2
            across = 4 * hollow * cup * y * (width - y) / width**2
            offcut = Offcut(
                name="P",
                length=1000 * MM,
                width=150 * MM,
                thickness=50 * MM,
                bow=5 * MM,
                cup=2 * MM,
                twist=8 * MM,
            )
            assert (
                least_depth(twist + along + across, x, y) * MM
                <= whole(offcut).face_loss(1000 * MM, NO_SKIM) + 1e-4
            )


# Halves


@pytest.mark.parametrize(("width", "cup"), [(200, 4), (150, 6), (300, 3)])
@pytest.mark.parametrize("share", [0.25, 0.5, 0.75])
def test_the_cup_of_a_half_is_that_of_its_arc(width: int, cup: int, share: float) -> None:
    """A part of a cupped face has the sagitta of its own arc; the law covers it, and wastes next to nothing."""
    part = int(width * share)
    with localcontext() as context:
        context.prec = 50
        exact = sagitta(Decimal(width), Decimal(cup), Decimal(part)) * MM
    board = Offcut(name="P", length=1000 * MM, width=width * MM, thickness=50 * MM, cup=cup * MM)
    near, far = halves(board, part * MM, NO_SKIM)
    assert near.width == part * MM
    flatness = Decimal(2 * cup) / width
    assert exact <= near.face_loss(500 * MM, NO_SKIM) <= exact * (1 + flatness**2) + 1
    assert far.width == width * MM - near.width


@pytest.mark.parametrize("share", [0.25, 0.5, 0.75])
def test_the_twist_of_a_half_falls_with_its_width(share: float) -> None:
    """A narrower strip of a twisted face has a best plane that leaves as much less.

    Minimax plane fit, computed here with an independent library.
    """
    width, lift, length = 200, 8, 1200
    x, y = (
        grid.ravel() for grid in np.meshgrid(np.linspace(0, length, 21), np.linspace(0, width * share, 11))
    )
    depth = least_depth(lift * x * y / (length * width), x, y)
    board = Offcut(name="P", length=length * MM, width=width * MM, thickness=50 * MM, twist=lift * MM)
    near, _ = halves(board, int(width * share) * MM, NO_SKIM)
    loss = near.face_loss(length * MM, NO_SKIM)
    assert depth * MM - 1e-4 <= loss <= depth * MM + 1 + 1e-4
