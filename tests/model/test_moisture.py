"""Moisture: the change between two readings, and how it turns with the rings."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Blank, Offcut, Shop, metric_shop, section
from yieldplan.model.section import SIN2, at_angle, change, movement, swelling, wide_range
from yieldplan.model.shop import species_of
from yieldplan.model.species import BUILT_IN, EARLY, SATURATION, Species, coefficient, shrinkage_of
from yieldplan.verify.wood import squared_sine, stocked

MM = 320
OAK = BUILT_IN["white oak"]
SHOP = metric_shop(target_moisture=Fraction(10))
PIECE = Offcut(
    name="P",
    length=900 * MM,
    width=200 * MM,
    thickness=50 * MM,
    species="White Oak",
    ring_angle=0,
    moisture=Fraction(14),
)
PLANK = Blank(name="B", need=1, length=600 * MM, width=150 * MM, thickness=30 * MM)
MOISTURES = st.fractions(0, 60, max_denominator=10)
SPECIES = st.sampled_from(sorted(set(BUILT_IN.values()), key=lambda row: row.name))


def test_squared_sines_are_those_of_the_angles() -> None:
    """They stand to 15 places, the round ones exactly; the recheck works out the same ones another way."""
    assert [SIN2[angle] for angle in (0, 30, 45, 60, 90)] == [Fraction(part, 4) for part in (0, 1, 2, 3, 4)]
    for angle, share in enumerate(SIN2):
        assert math.isclose(share, math.sin(math.radians(angle)) ** 2, abs_tol=1e-14)
        assert share == squared_sine(angle)


@given(SPECIES, MOISTURES, MOISTURES, st.integers(0, 90))
def test_width_and_thickness_share_one_movement(
    species: Species, start: Fraction, end: Fraction, angle: int
) -> None:
    """At every ring angle the changes of width and thickness add up to the radial and tangential ones."""
    radial, tangential = change(species, start, end)
    across, deep = at_angle(radial, tangential, angle), at_angle(radial, tangential, 90 - angle)
    assert across + deep == radial + tangential


@given(SPECIES, MOISTURES, MOISTURES, MOISTURES)
def test_wetter_wood_never_shrinks_less(
    species: Species, one: Fraction, other: Fraction, target: Fraction
) -> None:
    """The shrinkage down to a target never falls as the reading rises, across the two formulas' seam as well."""
    dry, wet = sorted((one, other))
    for low, high in zip(change(species, dry, target), change(species, wet, target), strict=True):
        assert low >= 0 or high <= low


@given(st.fractions(2, 12, max_denominator=20), st.fractions(6, 14), st.fractions(6, 14))
def test_the_two_formulas_agree_where_both_hold(shrinkage: Fraction, start: Fraction, end: Fraction) -> None:
    """Within 6 to 14 % they lie within 2 % of each other, the coefficient being that of the shrinkage.

    Shrinkages as the tables have them: up to 10.5 %, up to 5 % for the cedars with the early saturation.
    """
    for saturation, largest in ((SATURATION, Fraction(21, 2)), (EARLY, Fraction(5))):
        shrinkage = min(shrinkage, largest)
        linear = coefficient(shrinkage, saturation) * (end - start)
        wide = wide_range(shrinkage, start, end, saturation)
        assert abs(linear - wide) <= abs(wide) * Fraction(2, 100)


@given(st.fractions(1, 20, max_denominator=50))
def test_coefficient_and_shrinkage_give_each_other(shrinkage: Fraction) -> None:
    """What a user gives of the one is exactly what is worked out from the other."""
    assert shrinkage_of(coefficient(shrinkage)) == shrinkage


def test_nothing_moves_above_saturation() -> None:
    """Wood at 80 % is cut as wood at 30 % is; from 35 to 31 % nothing changes at all."""
    assert change(OAK, Fraction(80), Fraction(12)) == change(OAK, Fraction(30), Fraction(12))
    assert not any(change(OAK, Fraction(35), Fraction(31)))


def test_a_flat_sawn_face_shrinks_tangentially() -> None:
    """Of flat-sawn oak going from 14 to 10 % the width loses four times C_T, the thickness four times C_R."""
    across, deep = -4 * OAK.tangential, -4 * OAK.radial
    assert movement(PIECE, SHOP) == ((across, across), (deep, deep))


def test_varying_or_unread_rings_count_at_their_worst() -> None:
    """Between two readings, and with none, each side shrinks as at the worst angle."""

    def shrinks(**rings: int | None) -> tuple[Fraction, Fraction]:
        moves = movement(replace(PIECE, **rings), SHOP)  # type: ignore[arg-type]
        assert moves is not None
        return -moves[0][0], -moves[1][0]

    by_angle = [shrinks(ring_angle=angle) for angle in range(91)]
    worst = max(across for across, _ in by_angle[20:51]), max(deep for _, deep in by_angle[20:51])
    assert shrinks(ring_angle=50, ring_angle_far=20) == worst
    assert shrinks(ring_angle=None) == tuple(map(max, zip(*by_angle, strict=True)))


@pytest.mark.parametrize(
    ("offcut", "shop"),
    [
        (replace(PIECE, moisture=None), SHOP),
        (PIECE, Shop()),
        (replace(PIECE, species="bog oak"), SHOP),
        (replace(PIECE, species=""), SHOP),
        (replace(PIECE, moisture=Fraction(10)), SHOP),
        (replace(PIECE, moisture=Fraction(6)), SHOP),
    ],
)
def test_where_no_size_is_changed(offcut: Offcut, shop: Shop) -> None:
    """No reading, no target, no coefficients, or no wetter than the target: the finished section is planed."""
    found = section(offcut, PLANK, shop, turned=False)
    assert (found.planed_width, found.planed_thickness) == (PLANK.width, PLANK.thickness)


def test_a_drier_piece_grows() -> None:
    """From 6 to 10 % the width of flat-sawn oak grows by four times its tangential coefficient."""
    grows = swelling(replace(PIECE, moisture=Fraction(6)), PLANK, SHOP, turned=False)
    assert grows == (math.ceil(PLANK.width * 4 * OAK.tangential), math.ceil(PLANK.thickness * 4 * OAK.radial))
    assert swelling(PIECE, PLANK, SHOP, turned=False) == (0, 0)


def test_the_users_own_row_wins() -> None:
    """A row of the shop's own stands before the built-in one, however it is written."""
    own = replace(OAK, name="WHITE-OAK", tangential=Fraction(1, 100))
    assert species_of("white oak", Shop(species=(own,))) is own
    moves = movement(PIECE, replace(SHOP, species=(own,)))
    assert moves is not None
    assert moves[0][0] == -Fraction(4, 100)


@given(SPECIES, MOISTURES, MOISTURES, st.integers(0, 90), st.integers(0, 90), st.booleans())
def test_the_recheck_comes_to_the_same_section(
    species: Species, moisture: Fraction, target: Fraction, near: int, far: int, turned: bool
) -> None:
    """Two ways to work it out give one whole number of marks."""
    offcut = replace(PIECE, species=species.name, moisture=moisture, ring_angle=near, ring_angle_far=far)
    shop = metric_shop(target_moisture=target)
    assert stocked(offcut, PLANK, shop, turned=turned) == section(offcut, PLANK, shop, turned=turned)


@pytest.mark.parametrize("change_", [{"radial": Fraction(1, 10)}, {"radial_shrinkage": Fraction(-1)}])
def test_a_species_refuses_what_no_wood_does(change_: dict[str, Fraction]) -> None:
    """A coefficient that is no share, or a shrinkage below 0, is refused."""
    with pytest.raises(ValueError, match="must be from 0 to"):
        replace(OAK, **change_)  # type: ignore[arg-type]
