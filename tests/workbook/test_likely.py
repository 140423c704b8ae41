"""What a figure was meant to be: the lost sign, the other unit; whatever is offered can be read and fits."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from yieldplan.measure import INCH, MM, Unit, exact
from yieldplan.workbook.suggest import measure_meant, near, one_letter_apart

CASES: dict[str, tuple[str, Unit, Fraction, Fraction, str]] = {
    "the bar of a fraction": ("14", "inch", Fraction(0), Fraction(INCH), "did you mean 1/4 or 14 mm?"),
    "space and bar": (
        "4138",
        "inch",
        Fraction(20 * INCH),
        Fraction(200 * INCH),
        "did you mean 41 3/8 or 4138 mm?",
    ),
    "sixteenths": ("1516", "inch", Fraction(0), Fraction(2 * INCH), "did you mean 1 5/16 or 15/16?"),
    "no fraction in lowest terms": ("28", "inch", Fraction(0), Fraction(INCH), ""),
    "a decimal point": ("605", "inch", Fraction(60 * INCH), Fraction(70 * INCH), "did you mean 60.5?"),
    "metres, where nothing nearer fits": (
        "1.05",
        "inch",
        Fraction(30 * INCH),
        Fraction(100 * INCH),
        "did you mean 1.05 m?",
    ),
    "inches among millimetres": (
        "41.4",
        "mm",
        Fraction(1000 * MM),
        Fraction(2000 * MM),
        "did you mean 41.4 in?",
    ),
    "no fraction among millimetres": ("14", "mm", Fraction(0), Fraction(2 * MM), "did you mean 1.4?"),
    "a foot mark for an inch mark": ("41'", "inch", Fraction(0), Fraction(50 * INCH), 'did you mean 41"?'),
    "a unit that was written is believed": ("14 in", "inch", Fraction(0), Fraction(INCH), ""),
}


@pytest.mark.parametrize(("text", "unit", "low", "high", "said"), CASES.values(), ids=CASES)
def test_what_was_probably_meant(text: str, unit: Unit, low: Fraction, high: Fraction, said: str) -> None:
    """The likeliest slip that fits comes first, and at most two are offered."""
    assert measure_meant(text, unit, lambda steps: low < steps <= high) == said


@given(
    number=st.integers(1, 99_999),
    unit=st.sampled_from(("inch", "mm")),
    bounds=st.tuples(st.integers(1, 3000 * MM), st.integers(1, 3000 * MM)).map(sorted),
)
def test_whatever_is_offered_can_be_read_and_fits(number: int, unit: Unit, bounds: list[int]) -> None:
    """Typed as it is offered, a reading lies where it was said to lie; and it is not what stood there."""
    low, high = bounds
    said = measure_meant(str(number), unit, lambda steps: low <= steps <= high)
    assume(said)
    readings = said.removeprefix("did you mean ").removesuffix("?").split(" or ")
    assert 1 <= len(readings) <= 2
    for reading in readings:
        assert low <= exact(reading, unit) <= high
        assert reading != str(number)


@given(st.text("abcdefghij ", min_size=3, max_size=12), st.data())
def test_a_slip_of_one_letter_is_known(word: str, data: st.DataObject) -> None:
    """A letter left out, put in, mistyped or exchanged with the next makes a word one letter apart, both ways round."""
    at = data.draw(st.integers(0, len(word) - 2))
    slips = {
        word[:at] + word[at + 1 :],
        word[:at] + "z" + word[at:],
        word[:at] + "z" + word[at + 1 :],
        word[:at] + word[at + 1] + word[at] + word[at + 2 :],
    } - {word}
    assert slips
    for slip in slips:
        assert one_letter_apart(word, slip)
        assert one_letter_apart(slip, word)


@pytest.mark.parametrize(
    ("one", "other"), list(pairwise(("white oak", "red oak", "black locust", "ash", "larch")))
)
def test_other_species_are_not_a_slip(one: str, other: str) -> None:
    """Words of the trade that differ by more than a letter stay apart."""
    assert not one_letter_apart(one, other)


@pytest.mark.parametrize("typed", ["PO4", "P 04", "p-04", "P.04"])
def test_names_that_look_alike_come_first(typed: str) -> None:
    """A letter O for a nought, a space, a hyphen: the name that the eye takes for it is offered, not one spelt near."""
    assert near(typed, ["P14", "PO", "P04", "P40"]) == "P04"


def test_part_of_a_name_finds_it() -> None:
    """Half a species is taken for the whole one."""
    assert near("oak", ["black locust", "White oak"]) == "White oak"
    assert near("locust", ["black locust"]) == "black locust"
