"""What the recheck makes of moisture (R6), worked out by hand and beside the separate code that plans with it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from yieldplan.model import Blank, Offcut, Shop, section
from yieldplan.model.section import change
from yieldplan.model.species import BUILT_IN, Species
from yieldplan.verify.wood import enlargement, shrinkage, stocked

PLAIN = Species(
    name="plain",
    radial=Fraction(2, 1000),
    tangential=Fraction(4, 1000),
    radial_shrinkage=Fraction(5),
    tangential_shrinkage=Fraction(10),
)
BY_HAND = (
    # 100 x 30 / 5 is 600, 100 x 30 / 10 is 300, both less 30; saturation is at 30.
    (17, 12, Fraction(5, 587), Fraction(5, 287)),
    (13, 12, Fraction(2, 1000), Fraction(4, 1000)),
    (14, 6, Fraction(16, 1000), Fraction(32, 1000)),
    (14, 14, Fraction(0), Fraction(0)),
    (12, 14, Fraction(0), Fraction(0)),
    (20, 5, Fraction(15, 590), Fraction(15, 290)),
    (40, 0, Fraction(30, 600), Fraction(30, 300)),
    (40, 35, Fraction(0), Fraction(0)),
    (30, 15, Fraction(15, 600), Fraction(15, 300)),
    (
        Fraction(29, 2),
        14,
        Fraction(1, 2) / (600 - 30 + Fraction(29, 2)),
        Fraction(1, 2) / (300 - 30 + Fraction(29, 2)),
    ),
)


@pytest.mark.parametrize(("wet", "dry", "radial", "tangential"), BY_HAND)
def test_shrinkage_by_hand(wet: Fraction, dry: Fraction, radial: Fraction, tangential: Fraction) -> None:
    """C (N - M) within 6 to 14, else (N - M)/(100 B/S - B + M); nothing above B."""
    assert shrinkage(PLAIN, Fraction(wet), Fraction(dry)) == (radial, tangential)


def test_a_wetter_piece_shrinks_no_less_than_from_14() -> None:
    """Where the coefficient says more from 14 than the shrinkage does from above it, it counts."""
    steep = Species(
        name="steep",
        radial=Fraction(9, 1000),
        tangential=Fraction(9, 1000),
        radial_shrinkage=Fraction(3),
        tangential_shrinkage=Fraction(6),
    )
    assert shrinkage(steep, Fraction(15), Fraction(10)) == (Fraction(36, 1000), Fraction(36, 1000))


@pytest.mark.parametrize("species", BUILT_IN.values(), ids=BUILT_IN.keys())
def test_both_writings_of_the_rule_agree(species: Species) -> None:
    """The recheck shares no code with the rest, yet comes to the same, from 0 to 40 % in halves."""
    for wet in range(0, 81, 3):
        for dry in (0, 5, 6, 7, 12, 13, 14, 15, 20, 30):
            wetter = Fraction(wet, 2)
            found = shrinkage(species, wetter, Fraction(dry))
            assert found == tuple(max(Fraction(0), -part) for part in change(species, wetter, Fraction(dry)))


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    "rings",
    [(None, None), (0, None), (35, None), (90, None), (20, 70), ((30, 60), None), ((30, 60), (60, 90))],
)
def test_both_come_to_the_same_section(rings: tuple[Any, Any], turned: bool) -> None:
    """At any ring angle, a second reading or none, flat and turned."""
    shop = Shop(target_moisture=Fraction(12), species=(PLAIN,))
    offcut = Offcut(
        name="P",
        length=300_000,
        width=40_000,
        thickness=20_000,
        species="plain",
        moisture=Fraction(19),
        ring_angle=rings[0],
        ring_angle_far=rings[1],
    )
    for width in range(0, 60 * shop.mark, shop.mark):
        blank = Blank(name="B", need=1, length=101_600, width=16_256 + width, thickness=8128 + width // 2)
        model = section(offcut, blank, shop, turned=turned)
        own = stocked(offcut, blank, shop, turned=turned)
        assert own == model


@pytest.mark.parametrize(
    ("inches", "moisture", "marks"),
    # Not read, so 0.004 a per cent both ways; from M to 12 a size s is planed to s/(1 - 0.004 (M - 12)).
    [(1, 13, 0), (3, 13, 0), (4, 13, 1), (11, 13, 1), (12, 13, 2), (4, 12, 0), (4, 8, 0)],
)
def test_planed_to_the_nearest_mark(inches: int, moisture: int, marks: int) -> None:
    """A per cent to lose: 4 in to 4.0161, over half a mark: a mark more; 3 in to 3.0120, under half: none."""
    shop = Shop(target_moisture=Fraction(12), species=(PLAIN,))
    offcut = Offcut(
        name="P",
        length=325_120,
        width=162_560,
        thickness=162_560,
        species="plain",
        moisture=Fraction(moisture),
    )
    size = inches * 8128
    blank = Blank(name="B", need=1, length=101_600, width=size, thickness=size)
    own = stocked(offcut, blank, shop, turned=False)
    assert own.planed_width == own.planed_thickness == size + marks * shop.mark
    assert own.rough_width == max(size + shop.width_allowance, own.planed_width + shop.least_planing)


@pytest.mark.parametrize(
    ("moisture", "target", "species"),
    [(None, 12, "plain"), (19, None, "plain"), (None, None, "plain"), (19, 12, "???")],
)
def test_nothing_is_enlarged_where_one_of_the_readings_is_missing(
    moisture: int | None, target: int | None, species: str
) -> None:
    """Neither without a moisture, nor without a target, nor without figures of the species."""
    wet, dry = (None if part is None else Fraction(part) for part in (moisture, target))
    offcut = Offcut(name="P", length=300_000, width=40_000, thickness=20_000, moisture=wet, species=species)
    shop = Shop(target_moisture=dry, species=(PLAIN,))
    assert enlargement(offcut, shop) == (Fraction(1), Fraction(1))


def test_rings_that_were_not_read_may_lie_either_way() -> None:
    """Then the tangential shrinkage counts across and through, to the last digit: 0 and 90 degrees are possible."""
    offcut = Offcut(
        name="P", length=300_000, width=40_000, thickness=20_000, moisture=Fraction(13), species="plain"
    )
    shop = Shop(target_moisture=Fraction(12), species=(PLAIN,))
    assert enlargement(offcut, shop) == (1 / (1 - Fraction(4, 1000)), 1 / (1 - Fraction(4, 1000)))


def test_species_that_does_not_shrink_and_one_of_little_coefficient() -> None:
    """No total shrinkage is none at all; at 14 the coefficient alone counts, though the other formula says more."""
    still = replace(PLAIN, radial_shrinkage=Fraction(0), tangential_shrinkage=Fraction(0))
    assert shrinkage(still, Fraction(20), Fraction(5)) == (Fraction(0), Fraction(0))
    little = replace(PLAIN, radial=Fraction(1, 1000))
    assert shrinkage(little, Fraction(14), Fraction(12)) == (Fraction(2, 1000), Fraction(8, 1000))


def test_a_size_halfway_between_two_marks_goes_up() -> None:
    """20 marks that shrink by 1/41 are planed 20 1/2: to 21, as the planning rooms have it."""
    even = replace(PLAIN, radial=Fraction(1, 164), tangential=Fraction(1, 164))
    shop = Shop(species=(even,), target_moisture=Fraction(10))
    wet = Offcut(name="P", length=1, width=1, thickness=1, species="plain", moisture=Fraction(14))
    blank = Blank(name="B", need=1, length=1, width=20 * shop.mark, thickness=20 * shop.mark)
    found, planned = stocked(wet, blank, shop, turned=False), section(wet, blank, shop, turned=False)
    assert found.planed_width == found.planed_thickness == planned.planed_width == 21 * shop.mark
