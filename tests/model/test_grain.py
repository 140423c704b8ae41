"""Rings across a piece, slope of grain, kinks."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Blank, Offcut, ring_window
from yieldplan.model.words import slope_words

INCH = 8128
PIECE = Offcut(name="P", length=40 * INCH, width=6 * INCH, thickness=2 * INCH, ring_angle=0)
RIB = Blank(name="B", need=1, length=20 * INCH, width=2 * INCH, thickness=INCH, ring_from=30, ring_to=60)


def test_rings_run_evenly_across() -> None:
    """From 0 to 90 over 6 in, 30 to 60 is the middle third, flat and turned; 45 to 90 the far half."""
    turning = replace(PIECE, ring_angle_far=90)
    assert ring_window(turning, RIB, turned=False) == (2 * INCH, 4 * INCH)
    assert ring_window(turning, RIB, turned=True) == (2 * INCH, 4 * INCH)
    quarter = replace(RIB, ring_from=45, ring_to=90)
    assert ring_window(turning, quarter, turned=False) == (3 * INCH, 6 * INCH)
    assert ring_window(turning, quarter, turned=True) == (0, 3 * INCH)


def test_a_word_promises_no_more_than_it_says() -> None:
    """Of wood that is only known as rift a blank of 30 to 60 can be cut, one of 35 to 60 cannot."""
    rift = replace(PIECE, ring_angle=(30, 60))
    assert ring_window(rift, RIB, turned=False) == (0, 6 * INCH)
    assert ring_window(rift, replace(RIB, ring_from=35), turned=False) is None


def test_without_a_reading_or_a_range() -> None:
    """No range takes all of any piece; a range takes nothing of a piece that was not read."""
    unread = replace(PIECE, ring_angle=None)
    assert ring_window(unread, replace(RIB, ring_from=None, ring_to=None), turned=False) == (0, 6 * INCH)
    assert ring_window(unread, RIB, turned=False) is None


@given(*(st.integers(0, 90) for _ in range(4)), st.integers(1, 5000), st.booleans(), st.integers(0, 5000))
def test_the_window_is_just_where_the_angle_is_in_range(
    near: int, far: int, one: int, other: int, width: int, turned: bool, y: int
) -> None:
    """At a whole step the angle lies in the range if, and only if, the step lies in the window."""
    low, high = sorted((one, other))
    y = min(y, width)
    offcut = replace(PIECE, width=width, ring_angle=near, ring_angle_far=far)
    angle = near + Fraction((far - near) * y, width)
    seen = 90 - angle if turned else angle
    window = ring_window(offcut, replace(RIB, ring_from=low, ring_to=high), turned=turned)
    inside = window is not None and window[0] <= y <= window[1]
    assert inside == (low <= seen <= high) or (window is None and low <= seen <= high)
    if window is None:  # at most one step is in range: nothing can be cut there
        steps = [near + Fraction((far - near) * at, width) for at in range(width + 1)]
        assert sum(low <= (90 - a if turned else a) <= high for a in steps) <= 1


@pytest.mark.parametrize(
    ("slope", "limit", "takes"),
    [
        (Fraction(1, 12), Fraction(1, 12), True),
        (Fraction(1, 11), Fraction(1, 12), False),
        (None, Fraction(1, 12), False),
        (None, None, True),
        (Fraction(1, 2), None, True),
    ],
)
def test_takes_slope(slope: Fraction | None, limit: Fraction | None, takes: bool) -> None:
    """The limit itself will do; a piece that was not read serves only blanks without one."""
    assert replace(RIB, max_slope=limit).takes_slope(slope) is takes


@pytest.mark.parametrize(
    ("slope", "words"),
    [(Fraction(1, 15), "1 in 15"), (Fraction(2, 25), "1 in 12.5"), (Fraction(0), "straight")],
)
def test_a_slope_is_said_as_a_rise_of_one(slope: Fraction, words: str) -> None:
    """It is one in so many, to a tenth; no slope at all is straight."""
    assert slope_words(slope) == words


@pytest.mark.parametrize(
    ("kinks", "sides"),
    [
        ((), [(0, 40)]),
        ((10,), [(0, 10), (10, 40)]),
        ((30, 10, 10), [(0, 10), (10, 30), (30, 40)]),
        ((0, 40, 50), [(0, 40)]),
    ],
)
def test_a_kink_parts_a_piece(kinks: tuple[int, ...], sides: list[tuple[int, int]]) -> None:
    """Each side of a kink is straight wood of its own; a place at an end or beyond is none."""
    kinked = replace(PIECE, kinks=tuple(kink * INCH for kink in kinks))
    assert list(kinked.sides) == [(low * INCH, high * INCH) for low, high in sides]
    for low, high in kinked.sides:
        assert kinked.straight_length(low) == kinked.straight_length(high - 1) == high - low
