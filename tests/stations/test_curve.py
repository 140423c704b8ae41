"""Lengths between the measured points: a batten as published, straight lines, both faces of a frame."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from surveys import mm, points, run

from yieldplan.measure import INCH, MM
from yieldplan.stations.division import blank_length, divide, lengths, through
from yieldplan.workbook.grid import Marks

if TYPE_CHECKING:
    from collections.abc import Callable

SCALE = 1000
"""Published figures are taken in metres, so that a step is 3 millionths of them."""


def read(pairs: list[tuple[float, float]], places: list[float]) -> list[float]:
    """Return what the batten through the points measures at the places."""
    made = points(*((at * SCALE, measure * SCALE) for at, measure in pairs))
    return [float(y / MM / SCALE) for y in through(made, [mm(place * SCALE) for place in places])]


SPLINES: list[tuple[str, list[tuple[float, float]], list[float], list[float]]] = [
    (
        "a worked example in a public repository: y'' = 0, -6, 18, 0",
        [(0, 1), (1, 1), (2, 0), (3, 10)],
        [0.5, 1.5, 2.5],
        [1.375, -0.25, 3.875],
    ),
    (
        "Burden and Faires, Numerical Analysis (from memory): 2 + 3/4 t + 1/4 t^3, then 3 + 3/2 t + 3/4 t^2 - 1/4 t^3",
        [(1, 2), (2, 3), (3, 5)],
        [1.5, 2.5],
        [2 + 3 / 8 + 1 / 32, 3 + 3 / 4 + 3 / 16 - 1 / 32],
    ),
    (
        "worked by hand; a homework page prints 2.0625 and 3.6875, which no natural spline gives",
        [(0, 1), (1, 3), (2, 4)],
        [0.5, 1.5],
        [2.09375, 3.59375],
    ),
    (
        "beam theory: a beam on its ends, bent by d in the middle, is bent by 11 d/16 at a quarter",
        [(0, 0), (2, 0.16), (4, 0)],
        [1, 3],
        [0.11, 0.11],
    ),
]


@pytest.mark.parametrize(("source", "pairs", "places", "values"), SPLINES, ids=lambda value: str(value)[:20])
def test_the_batten_lies_as_published(
    source: str, pairs: list[tuple[float, float]], places: list[float], values: list[float]
) -> None:
    """Natural cubic splines of three sources and of beam theory, to a step."""
    assert read(pairs, places) == pytest.approx(values, abs=1 / MM / SCALE), source


def test_straight_lines_are_straight() -> None:
    """Half-way between two points a string measures their mean; at a point the point."""
    made = points((0, 100), (100, 200), (300, 100))
    found = through(made, [mm(50), mm(100), mm(250)], linear=True)
    assert found == [mm(150), mm(200), mm(125)]


@pytest.mark.parametrize("linear", [False, True])
def test_the_curve_goes_through_its_points(linear: bool) -> None:
    """At a point the length is the measure and the allowance, to the step."""
    made = points((0, 310), (250, 402), (500, 455), (750, 430), (1000, 390))
    measured = run(1000, from_start=0, from_end=0, spaces=4, allowance=12, points=made)
    assert lengths(divide(measured), linear=linear) == tuple(point.measure + mm(12) for point in made)


def test_a_sided_frame_is_as_long_as_its_longer_face() -> None:
    """On a rising side the face away from the start is the longer one, on a falling side the near one."""
    made = points((0, 100), (500, 200), (1000, 100))
    sided = run(1000, from_start=250, from_end=250 - 20, siding=20, spaces=2, points=made)
    first, _, last = lengths(divide(sided), linear=True)
    assert (first, last) == (mm(100 + 270 / 5), mm(200 - 250 / 5))


def test_without_points_there_are_no_lengths() -> None:
    """A run may be divided for its marks alone."""
    assert lengths(divide(run(1000, spaces=4))) == ()


CASES: list[tuple[str, Callable[[], Fraction], Marks, Fraction]] = [
    (
        "an inch length on a mark stays",
        lambda: Fraction(17 * INCH),
        Marks(unit="inch", mark=254),
        Fraction(17 * INCH),
    ),
    (
        "one past a mark goes up",
        lambda: Fraction(17 * INCH + 1),
        Marks(unit="inch", mark=254),
        Fraction(17 * INCH + 254),
    ),
    ("metric goes to whole millimetres", lambda: mm("467.2"), Marks(unit="mm", mark=MM // 2), mm(468)),
    ("and on to a coarser mark", lambda: mm("467.2"), Marks(unit="mm", mark=5 * MM), mm(470)),
]


@pytest.mark.parametrize(("said", "length", "settings", "blank"), CASES, ids=lambda value: str(value)[:20])
def test_a_blank_is_never_shorter_than_its_frame(
    said: str, length: Callable[[], Fraction], settings: Marks, blank: Fraction
) -> None:
    """Lengths go up to whole marks."""
    assert blank_length(length(), settings) == blank, said
