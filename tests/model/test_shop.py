"""Shop settings: the defaults of an inch and of a metric workbook, and their checks."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from yieldplan.model import Shop, metric_shop
from yieldplan.model.shop import LENGTHS, METRIC_DEFAULTS, MINUTES

INCH, MM = 8128, 320

DEFAULTS: dict[str, tuple[Fraction | float, float]] = {
    "mark": (Fraction(1, 32), 0.5),
    "rip_kerf": (Fraction(1, 8), 3),
    "bandsaw_kerf": (Fraction(1, 16), 1.5),
    "bandsaw_skim": (Fraction(1, 32), 1),
    "crosscut_kerf": (Fraction(1, 8), 3),
    "saw_depth": (2, 50),
    "bandsaw_height": (6, 150),
    "resaw_height": (4, 100),
    "face_skim": (Fraction(1, 16), 1.5),
    "edge_skim": (Fraction(1, 16), 1.5),
    "width_allowance": (Fraction(1, 8), 3),
    "thickness_allowance": (Fraction(1, 16), 2),
    "least_planing": (Fraction(1, 32), 1),
    "plane_off": (Fraction(3, 16), 5),
    "length_allowance": (0, 0),
    "past_a_check": (1, 25),
    "past_a_knot": (Fraction(1, 2), 12),
    "shortest_machined_length": (12, 300),
    "jointer_width": (8, 200),
    "planer_width": (Fraction(25, 2), 315),
    "thinnest_planed": (Fraction(1, 4), 6),
    "narrowest_rip": (Fraction(3, 4), 20),
    "split_warp": (Fraction(1, 4), 6),
    "end_trim": (Fraction(1, 2), 15),
    "stick_trim": (Fraction(1, 2), 12),
    "keeper_length": (18, 450),
    "keeper_width": (2, 50),
    "keeper_thickness": (1, 25),
    "full_length": (96, 2400),
}
"""Inches, and millimetres: those of a metric workbook are round."""

WORK = {
    "machine_setting": 2,
    "stop_setting": 1,
    "offcut_handled": 4,
    "billet_jointed": 3,
    "cut": 0.5,
    "bandsaw_pass": 1.5,
    "stick_planed": 1.5,
    "pair_from_one_board": 5,
    "minutes_for_a_board_foot": 10,
}
"""Minutes (estimates, common practice, no source)."""


@pytest.mark.parametrize("name", DEFAULTS)
def test_defaults_in_inches_and_in_millimetres(name: str) -> None:
    """Each length, in an inch workbook and in a metric one."""
    inches, millimetres = DEFAULTS[name]
    assert getattr(Shop(), name) == inches * INCH
    assert getattr(metric_shop(), name) == millimetres * MM


@pytest.mark.parametrize("name", WORK)
def test_minutes(name: str) -> None:
    """In hundredths, the same in both."""
    assert getattr(Shop(), name) == getattr(metric_shop(), name) == WORK[name] * 100


def test_every_setting_is_in_a_list() -> None:
    """The lists of lengths and of minutes name just these settings."""
    assert {*LENGTHS, "mark"} == set(DEFAULTS) == set(METRIC_DEFAULTS)
    assert set(MINUTES) == set(WORK)
    assert Shop().length_premium == metric_shop().length_premium == 1
    assert metric_shop(rip_kerf=4 * MM) == replace(metric_shop(), rip_kerf=4 * MM)
    assert metric_shop().units == "mm"


@pytest.mark.parametrize("setting", ["rip_kerf", "stick_trim", "length_premium", "keeper_length", "cut"])
def test_a_negative_setting_is_refused(setting: str) -> None:
    """The message names the setting as the Shop sheet does."""
    values: dict[str, Any] = {setting: -1}
    with pytest.raises(ValueError, match=f"{setting.replace('_', ' ')} must be 0 or more, not -1"):
        Shop(**values)


@pytest.mark.parametrize("setting", ["full_length", "mark", "minutes_for_a_board_foot"])
def test_what_is_divided_by_is_more_than_nothing(setting: str) -> None:
    """Worth divides by the full length, lengths by the mark, prices by the minutes for a board foot."""
    values: dict[str, Any] = {setting: 0}
    with pytest.raises(ValueError, match=f"{setting.replace('_', ' ')} must be more than 0"):
        Shop(**values)


@pytest.mark.parametrize("setting", LENGTHS)
def test_a_length_between_two_marks_is_refused(setting: str) -> None:
    """Every length of a shop can be shown by its rule."""
    values: dict[str, Any] = {setting: getattr(Shop(), setting) + 1}
    with pytest.raises(ValueError, match=f"{setting.replace('_', ' ')} must be a whole number of marks"):
        Shop(**values)


@pytest.mark.parametrize(("flat", "quarter"), [(61, 60), (30, 91)])
def test_ring_words_out_of_order_are_refused(flat: int, quarter: int) -> None:
    """Flat sawn, rift, quarter sawn follow one another up to 90 degrees."""
    with pytest.raises(ValueError, match="flat sawn to must be at most quarter sawn from"):
        Shop(flat_sawn_to=flat, quarter_sawn_from=quarter)


def test_ring_words() -> None:
    """A word stands for all angles between its bounds, ends included."""
    words = Shop(flat_sawn_to=25, quarter_sawn_from=70).ring_words
    assert words == {"flat sawn": (0, 25), "rift": (25, 70), "quarter sawn": (70, 90)}


def test_an_unknown_unit_is_refused() -> None:
    """Units are inch or mm."""
    unit: Any = "cubit"
    with pytest.raises(ValueError, match="units must be inch or mm, not 'cubit'"):
        Shop(units=unit)
