"""Offcuts and blanks: words compared, grain seen from a blank, names looked up."""

from __future__ import annotations

from dataclasses import replace

import pytest

from yieldplan.model import Blank, Job, Offcut, ring_window
from yieldplan.model.words import fold

RIB = Blank(name="Rib", need=1, length=8128, width=8128, thickness=8128)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("White Oak", "white oak", True),
        ("  white   oak ", "White oak", True),
        ("Straße", "STRASSE", True),
        ("oak", "white oak", False),
    ],
)
def test_fold_compares_words_without_case_and_spacing(one: str, other: str, same: bool) -> None:
    """Only case and spacing are overlooked."""
    assert (fold(one) == fold(other)) is same


@pytest.mark.parametrize(
    ("species", "wood", "takes"),
    [
        ((), "ash", True),
        ((), "", True),
        (("Oak", "Ash"), "ASH", True),
        (("Oak",), "ash", False),
        (("Oak",), "", False),
    ],
)
def test_takes_species(species: tuple[str, ...], wood: str, takes: bool) -> None:
    """R10: a blank that names species takes only those; one that names none takes any."""
    assert replace(RIB, species=species).takes_species(wood) is takes


@pytest.mark.parametrize(
    ("low", "high", "angle", "turned", "takes"),
    [
        (30, 60, 30, False, True),
        (30, 60, 60, False, True),
        (30, 60, 29, False, False),
        (0, 30, 80, False, False),
        (0, 30, 80, True, True),  # seen from the wide face it is 10
        (60, 90, 20, True, True),  # ... and 70
        (60, 90, 31, True, False),
        (30, 60, None, False, False),
        (None, None, None, False, True),
        (45, None, 44, False, False),
        (None, 45, 90, True, True),
    ],
)
def test_takes_rings(low: int | None, high: int | None, angle: int | None, turned: bool, takes: bool) -> None:
    """R7: ends included; turned, 90 less the angle is seen; no reading serves only a blank with no range."""
    wood = Offcut(name="P", length=30, width=4, thickness=2, ring_angle=angle)
    window = ring_window(wood, replace(RIB, ring_from=low, ring_to=high), turned=turned)
    assert (window is not None) is takes


def test_allows_kind() -> None:
    """R9: kinds of defect are compared as words are."""
    blank = replace(RIB, allows=("Pin knot",))
    assert blank.allows_kind("pin  KNOT")
    assert not blank.allows_kind("knot")


def test_names_are_looked_up() -> None:
    """A job gives an offcut or blank by name, and KeyError for a name it does not hold."""
    offcut = Offcut(name="P1", length=3, width=2, thickness=1)
    job = Job(offcuts=(offcut,), blanks=(RIB,))
    assert job.offcut("P1") is offcut
    assert job.blank("Rib") is RIB
    with pytest.raises(KeyError):
        job.offcut("Rib")
    with pytest.raises(KeyError):
        job.blank("P1")
