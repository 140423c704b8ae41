"""Shop settings: the defaults as DEVELOPERS.md gives them, their checks, and which saw makes a cut."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from yieldplan.measure import Rounding, read
from yieldplan.model import Shop

INCH = 8128


def written_defaults(page: str) -> dict[str, str]:
    """Return the rows of a document's table of settings: name and default."""
    text = (Path(__file__).parents[2] / page).read_text(encoding="utf-8")
    table = text.split("| setting | default |", 1)[1].split("\n\n", 1)[0]
    return dict(re.findall(r"^\| ([a-z ]+?) \| ([^|]+?) \|", table, re.MULTILINE))


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_written_defaults_are_the_real_ones(page: str) -> None:
    """Every setting that a document lists has the default that it gives."""
    rows = written_defaults(page)
    assert len(rows) == 26
    for name, text in rows.items():
        value = getattr(Shop(), name.replace(" ", "_"))
        if name in ("length premium", "flat sawn to", "quarter sawn from"):
            assert value == Fraction(text), name
        elif name == "target moisture":
            assert (value, text) == (None, "none")
        else:
            assert value == read(text, "inch", Rounding.STOCK), name


@pytest.mark.parametrize("setting", ["rip_kerf", "snipe", "length_premium", "keeper_length", "shown_to"])
def test_a_negative_setting_is_refused(setting: str) -> None:
    """The message names the setting as the Shop sheet does."""
    values: dict[str, Any] = {setting: -1}
    with pytest.raises(ValueError, match=f"{setting.replace('_', ' ')} must be 0 or more, not -1"):
        Shop(**values)


def test_no_full_length_is_refused() -> None:
    """Worth divides by the full length."""
    with pytest.raises(ValueError, match="full length must be more than 0"):
        Shop(full_length=0)


def test_an_unknown_unit_is_refused() -> None:
    """Units are inch or mm."""
    unit: Any = "cubit"
    with pytest.raises(ValueError, match="units must be inch or mm, not 'cubit'"):
        Shop(units=unit)


@pytest.mark.parametrize(
    ("height", "kerf"),
    [(3 * INCH, INCH // 8), (3 * INCH + 1, INCH // 16), (6 * INCH, INCH // 16), (6 * INCH + 1, None)],
)
def test_the_height_of_a_cut_picks_its_saw(height: int, kerf: int | None) -> None:
    """R5: table saw up to the saw depth, bandsaw up to its height, no saw beyond."""
    assert Shop().kerf_at(height) == kerf


@pytest.mark.parametrize(
    ("units", "shown_to", "steps"), [("inch", 0, INCH // 32), ("mm", 0, 160), ("mm", 320, 320)]
)
def test_shown_figures_are_rounded_to(units: Any, shown_to: int, steps: int) -> None:
    """1/32 in or 0.5 mm unless the shop asks for something else."""
    assert Shop(units=units, shown_to=shown_to).shown_steps == steps
