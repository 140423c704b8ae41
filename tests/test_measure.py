"""Lengths as people write them, and as a rule shows them."""

from __future__ import annotations

import pickle
from decimal import Decimal
from fractions import Fraction
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldplan import measure
from yieldplan.measure import (
    INCH,
    LONGEST,
    MM,
    MeasureError,
    Rounding,
    Unit,
    exact,
    write,
)

UNITS = st.sampled_from(get_args(Unit))
ROUNDINGS = st.sampled_from(Rounding)
STEPS = st.integers(0, LONGEST)
FORTY_ONE = 331 * INCH // 8  # 41 3/8 in, in steps


@pytest.mark.parametrize(
    "text",
    [
        "41 3/8",
        "41-3/8",
        "41.375",
        "41,375",
        '41 3/8"',
        "41 3/8 in",
        "41 3/8 inches",
        "3' 5 3/8\"",
        "3'5-3/8\"",
        "3'-5 3/8\"",
        "3ft 5 3/8in",
        "3 ft. 5 3/8 in.",
        "3 feet 5 3/8",
        "3’ 5 3/8”",
        "3′ 5⅜″",
        "3' 5 3/8''",
        "41⅜",
        "41 ⅜",
        "41³⁄₈",
        "41 3⁄8",
        "41\u00a03/8",
        "41\u202f3/8\u200b",
        "41–3/8",
        "４１ ３／８",
        "41 6/16",
        "  41   3 / 8  ",
    ],
)
def test_ways_of_writing_inches(text: str) -> None:
    """Every way of writing 41 3/8 inches is one length where bare numbers are inches."""
    assert exact(text, "inch") == FORTY_ONE


@pytest.mark.parametrize(
    "text", ["1050", "1050 mm", "1050mm", "105 cm", "1.05 m", "1,05 m", "1050,0", "1050."]
)
def test_ways_of_writing_millimetres(text: str) -> None:
    """Every way of writing 1050 mm is one length where bare numbers are mm."""
    assert exact(text, "mm") == 1050 * MM


@pytest.mark.parametrize("unit", get_args(Unit))
@pytest.mark.parametrize(
    ("text", "steps"), [("3 1/2 in", 28_448), ("2 ft", 195_072), ("89 mm", 28_480), ("1/2 mm", 160)]
)
def test_a_written_unit_wins(text: str, steps: int, unit: Unit) -> None:
    """A length with its unit does not ask what bare numbers mean."""
    assert exact(text, unit) == steps


@pytest.mark.parametrize(
    ("number", "inches"),
    [
        (41.375, Fraction(331, 8)),
        (0.1, Fraction(1, 10)),
        (41, Fraction(41)),
        (Decimal("0.7"), Fraction(7, 10)),
        (Fraction(1, 3), Fraction(1, 3)),
    ],
)
def test_numbers_mean_their_shortest_decimal_text(number: object, inches: Fraction) -> None:
    """A float is the decimal that a person typed, not the binary fraction nearest to it."""
    assert exact(number, "inch") == inches * INCH


@pytest.mark.parametrize(
    ("rounding", "steps"),
    [
        (Rounding.STOCK, 812),
        (Rounding.WANTED, 813),
        (Rounding.LEAST, 813),
        (Rounding.LOSS, 813),
        (Rounding.PLACE, 813),
        (Rounding.DEFECT_FROM, 812),
        (Rounding.DEFECT_TO, 813),
    ],
)
def test_rounding_is_against_the_users_disappointment(rounding: Rounding, steps: int) -> None:
    """0.1 in is 812.8 steps: stock goes down, wants and losses up, defects outward."""
    assert rounding.steps(exact("0.1", "inch")) == steps


@pytest.mark.parametrize(
    ("rounding", "marks"),
    [
        (Rounding.STOCK, 3),
        (Rounding.WANTED, 4),
        (Rounding.LEAST, 4),
        (Rounding.LOSS, 4),
        (Rounding.DEFECT_FROM, 3),
        (Rounding.DEFECT_TO, 4),
        (Rounding.PLACE, 3),
    ],
)
def test_lengths_become_whole_marks(rounding: Rounding, marks: int) -> None:
    """0.1 in is 3.2 marks of 1/32 in: a place, which has no safe side, goes to the nearest."""
    mark = INCH // 32
    assert rounding.steps(exact("0.1", "inch"), mark) == marks * mark


@given(st.fractions(0, 10**6), st.integers(1, 400), ROUNDINGS)
def test_rounding_to_marks_stays_within_one(exact_steps: Fraction, mark: int, rounding: Rounding) -> None:
    """What is on a mark stays there; all else moves by less than a mark, to its own side."""
    steps = rounding.steps(exact_steps, mark)
    assert steps % mark == 0
    assert abs(steps - exact_steps) < mark
    assert rounding.steps(Fraction(steps), mark) == steps
    if rounding in (Rounding.STOCK, Rounding.DEFECT_FROM):
        assert steps <= exact_steps
    elif rounding is not Rounding.PLACE:
        assert steps >= exact_steps


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ("", "is empty; expected a length such as 41 3/8"),
        ("abc", "is not a length; expected a length such as 41 3/8"),
        ("-3/8", "is negative; expected a length of 0 or more"),
        ("−5", "is negative; expected a length of 0 or more"),
        (-1, "is negative; expected a length of 0 or more"),
        (float("nan"), "is not a number; expected a length"),
        (float("inf"), "is not a number; expected a length"),
        ("nan", "is not a number; expected a length such as 41 3/8"),
        (True, "is not a length; expected a number or text"),
        (None, "is not a length; expected a number or text"),
        (1e300, "is longer than 30 m; expected a length of at most 30 m; check the unit and the figure"),
        ("31 m", "is longer than 30 m; expected a length of at most 30 m; check the unit and the figure"),
        ("9" * 90, "is too long for a length; expected one length"),
        ("3/0", "has a fraction over 0; expected a fraction such as 3/8"),
        ("3/8/2", "has two fraction bars; expected a length such as 41 3/8"),
        (
            "5 9/8",
            (
                "has a fraction of 9/8 after a whole number; expected a fraction smaller than 1; "
                "did you mean 6 1/8?"
            ),
        ),
        (
            "13/8",
            "could be a fraction or a whole number and a fraction run together; write 1 3/8 or 1 5/8",
        ),
        (
            "413⁄8",
            "could be a fraction or a whole number and a fraction run together; write 41 3/8 or 51 5/8",
        ),
        ("1,234", "has a comma that could be a decimal point or a thousands separator; write 1.234 or 1234"),
        ("1,234.5", "has thousands separators; expected a number without them; write 1234.5"),
        ("1 050 mm", "has thousands separators; expected a number without them; write 1050"),
        ("41 3", "is two numbers; expected a length such as 41 3/8; a fraction needs its bar, as in 3/8"),
        ("41.5 3/8", "has a decimal and a fraction; expected one or the other"),
        ("3\\8", "is not a length; expected a length such as 41 3/8; did you mean 3/8?"),
        ("4l 3/8", "is not a length; expected a length such as 41 3/8; did you mean 41 3/8?"),
        ("12%", "is a percentage, not a length; expected a length such as 41 3/8"),
        ("12 yd", "has the unit yd, which is not read; expected in, ft, mm, cm or m"),
        ("3' 14\"", "has 12 or more inches after the feet; expected fewer than 12; did you mean 4' 2\"?"),
        (
            "3.5' 2\"",
            "has a part of a foot and inches as well; expected whole feet before the inches",
        ),
        ("5²", "is not a length; expected a length such as 41 3/8"),
        ("1e3", "is not a length; expected a length such as 41 3/8"),
        ("1 m 5 cm", "is not a length; expected a length such as 41 3/8"),
        ('"', "is not a length; expected a length such as 41 3/8"),
    ],
)
def test_what_is_refused(value: object, message: str) -> None:
    """What is not one length, or could be two, is refused with found, expected and the next step."""
    with pytest.raises(MeasureError) as refusal:
        exact(value, "inch")
    assert str(refusal.value) == message


def test_bare_fraction_is_refused_where_numbers_are_mm() -> None:
    """In a metric sheet a bare fraction was surely meant as inches, which would be 25 times as long."""
    with pytest.raises(MeasureError, match="without a unit where bare numbers are mm"):
        exact("41 3/8", "mm")


@pytest.mark.parametrize(
    ("text", "inches"), [("0,375", Fraction(3, 8)), ("41,5", Fraction(83, 2)), ("12,125 in", Fraction(97, 8))]
)
def test_a_comma_that_can_only_be_decimal(text: str, inches: Fraction) -> None:
    """A comma is decimal where thousands make no number, or a length beyond every shop."""
    assert exact(text, "inch") == inches * INCH


def test_decimal_commas_that_are_known() -> None:
    """Where the file settles what a comma is, three figures after it raise no doubt."""
    assert exact("1,234", "inch", decimal_comma=True) == Fraction(1234, 1000) * INCH


@pytest.mark.parametrize(
    ("text", "inches"), [("5/4", Fraction(5, 4)), ("8/4", 2), ("16/4", 4), ("17/32", Fraction(17, 32))]
)
def test_quarters_of_the_timber_trade(text: str, inches: Fraction) -> None:
    """Thickness in quarters (5/4, 8/4) and proper fractions have one reading and are taken."""
    assert exact(text, "inch") == inches * INCH


def test_the_error_survives_pickling() -> None:
    """The clauses are kept when the error crosses to another process."""
    error = pickle.loads(pickle.dumps(MeasureError("is x", "y", "z")))
    assert (error.found, error.expected, error.suggestion) == ("is x", "y", "z")


@given(STEPS, UNITS, UNITS)
def test_what_is_written_reads_back(steps: int, unit: Unit, other: Unit) -> None:
    """exact(write(x)) == x for every step; with its unit, whatever bare numbers mean."""
    assert exact(write(steps, unit), other) == steps


@given(STEPS, UNITS)
def test_what_is_written_bare_reads_back(steps: int, unit: Unit) -> None:
    """exact(write(x)) == x without the unit mark too."""
    assert exact(write(steps, unit, mark=False), unit) == steps


def _in_range_or_refused(value: object, unit: Unit, *, comma: bool = False) -> bool:
    try:
        return 0 <= exact(value, unit, decimal_comma=comma) <= LONGEST
    except MeasureError as error:
        return bool(error.found)


@given(st.text(max_size=30), UNITS, st.booleans())
def test_any_text_is_read_or_refused(text: str, unit: Unit, comma: bool) -> None:
    """No text leads to anything but a length in range or a MeasureError."""
    assert _in_range_or_refused(text, unit, comma=comma)


@given(st.text(alphabet="0123456789 /.,-'\"inmftc⅜⁄²\u00a0", max_size=14), UNITS)
def test_near_lengths_are_read_or_refused(text: str, unit: Unit) -> None:
    """The same for text that is nearly a length."""
    assert _in_range_or_refused(text, unit)


@given(st.floats(allow_nan=True, allow_infinity=True), UNITS)
def test_any_float_is_read_or_refused(number: float, unit: Unit) -> None:
    """No float leads to anything but a length in range or a MeasureError."""
    assert _in_range_or_refused(number, unit)


@pytest.mark.parametrize(
    ("steps", "unit", "text"),
    [
        (FORTY_ONE, "inch", '41 3/8"'),
        (FORTY_ONE + INCH // 64, "inch", '41 25/64"'),
        (3 * INCH, "inch", '3"'),
        (INCH // 4, "inch", '1/4"'),
        (0, "inch", '0"'),
        (1050 * MM + 32, "mm", "1050.1 mm"),
        (1050 * MM, "mm", "1050 mm"),
    ],
)
def test_figures_at_the_saw(steps: int, unit: Unit, text: str) -> None:
    """Inches come as reduced fractions, millimetres as decimals, exactly."""
    assert write(steps, unit) == text


def test_the_mark_may_be_left_out() -> None:
    """A column headed with its unit needs no mark in each cell."""
    assert (write(FORTY_ONE, "inch", mark=False), write(1600, "mm", mark=False)) == ("41 3/8", "5")


def test_units_agree_with_the_shop_model() -> None:
    """The steps in an inch and a millimetre stand in two rooms; they are the same."""
    from yieldplan.model import shop  # noqa: PLC0415

    assert (shop.INCH, shop.MM) == (measure.INCH, measure.MM)
