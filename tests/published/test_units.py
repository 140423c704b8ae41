"""The inch and the board foot: what a length and a volume are, to the last step."""

from __future__ import annotations

from fractions import Fraction

import pytest

from yieldplan.measure import exact
from yieldplan.model import Shop, worth
from yieldplan.model.shop import BOARD_FOOT, INCH, MM

STEPS_IN_A_METRE = 1000 * MM


def test_an_inch_is_25_4_mm_exactly() -> None:
    """An inch and 25.4 mm are read as the same step.

    The international yard and pound, 1959: 1 yd = 0.9144 m.
    """
    assert exact("1 in", "mm") == exact("25.4 mm", "inch") == INCH


def test_a_yard_is_914_4_mm_exactly() -> None:
    """Three feet are 914.4 mm to the step (the yard of 1959, from which the inch follows)."""
    assert exact("3 ft", "inch") == exact("0.9144 m", "inch")


@pytest.mark.parametrize(
    ("fraction", "millimetres"), [("1/64", "0.396875"), ("1/32", "0.79375"), ("5/8", "15.875")]
)
def test_fractions_of_an_inch_are_whole_steps(fraction: str, millimetres: str) -> None:
    """A fraction on a rule and its exact length in mm are one whole step (arithmetic on 25.4)."""
    steps = exact(f"{fraction} in", "inch")
    assert steps == int(steps) == exact(f"{millimetres} mm", "inch")


def test_a_tenth_of_a_millimetre_is_whole_steps() -> None:
    """A tenth of a millimetre is not rounded."""
    assert exact("0.1 mm", "mm") == 32


def test_a_board_foot_is_144_cubic_inches_in_cubic_metres() -> None:
    """A board foot is 0.002359737216 m^3, exactly.

    1 x 12 x 12 in with the inch of 1959; NIST Special Publication 811 (2008), appendix B, prints 2.359 737 E-03
    (from memory). Some converters show 0.002359737225974, wrong from the ninth digit.
    """
    assert Fraction(BOARD_FOOT, STEPS_IN_A_METRE**3) == Fraction("0.002359737216")


def test_a_cubic_metre_in_board_feet() -> None:
    """A cubic metre is 423.776001 board feet (the inverse of the above, to the digits that tables print)."""
    assert round(Fraction(STEPS_IN_A_METRE**3, BOARD_FOOT), 6) == Fraction("423.776001")


@pytest.mark.parametrize(
    ("sides", "feet"), [((12, 12, 1), 1), ((96, 6, 1), 4), ((120, 8, 2), Fraction(40, 3))]
)
def test_worth_without_a_premium_is_thousandths_of_a_board_foot(
    sides: tuple[int, int, int], feet: Fraction | int
) -> None:
    """Length (ft) x width (in) x thickness (in) / 12 is the board measure of the trade; worth is 1000 of it."""
    length, width, thickness = (side * INCH for side in sides)
    assert worth(length, width, thickness, Shop(length_premium=Fraction(0))) == int(1000 * feet)
