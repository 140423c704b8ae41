"""Worth: figures worked by hand, and what its definition promises."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import BOARD_FOOT, Shop, worth

INCH = 8128
LENGTHS = st.integers(1, 200 * INCH)
SIZES = st.integers(1, 12 * INCH)


def test_a_board_foot_is_exact() -> None:
    """144 in^3 are 0.002359737216 m^3 (25.4^3 x 144; NIST SP 811 App. B prints 2.359 737 E-03, from memory)."""
    assert Fraction(BOARD_FOOT, 320_000**3) == Fraction("0.002359737216")


@pytest.mark.parametrize(
    ("inches", "premium", "expected"),
    [
        ((12, 12, 1), 1, 1125),  # 1 bf, 12/96 of the full length: 1000 (1 + 1/8)
        ((96, 12, 1), 1, 16000),  # 8 bf at full length: 8000 x 2
        ((192, 12, 1), 1, 32000),  # no dearer than at full length: 16000 x 2
        ((12, 12, 1), 0, 1000),  # without a premium every board foot is worth the same
        ((12, 12, 1), Fraction(1, 3), 1041),  # 1000 (1 + 1/24) = 1041.67, rounded down
        ((20, 3, 1), 1, 503),  # 60/144 bf: 416.67 (1 + 20/96) = 503.47
    ],
)
def test_worth_by_hand(inches: tuple[int, int, int], premium: Fraction, expected: int) -> None:
    """Worth is floor(1000 v (1 + p min(l, f)/f)), figured by hand."""
    length, width, thickness = (size * INCH for size in inches)
    assert worth(length, width, thickness, Shop(length_premium=Fraction(premium))) == expected


@given(LENGTHS, SIZES, SIZES, st.fractions(0, 5, max_denominator=1000))
def test_worth_is_the_exact_floor(length: int, width: int, thickness: int, premium: Fraction) -> None:
    """No rounding creeps in: the integer sum is the floor of the rational one."""
    shop = Shop(length_premium=premium)
    volume = Fraction(length * width * thickness, BOARD_FOOT)
    exact = 1000 * volume * (1 + premium * Fraction(min(length, shop.full_length), shop.full_length))
    assert worth(length, width, thickness, shop) == exact.numerator // exact.denominator


@given(LENGTHS, LENGTHS, SIZES, SIZES)
def test_a_long_piece_is_worth_at_least_its_parts(one: int, other: int, width: int, thickness: int) -> None:
    """Cutting a piece in two never makes it worth more, so long stock is left whole."""
    shop = Shop()
    parts = worth(one, width, thickness, shop) + worth(other, width, thickness, shop)
    assert worth(one + other, width, thickness, shop) >= parts
