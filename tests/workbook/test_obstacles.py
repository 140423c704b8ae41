"""What keeps offcuts from yielding blanks, pair by pair and over the whole pile."""

from __future__ import annotations

from dataclasses import replace
from functools import reduce

from hypothesis import given, settings
from hypothesis import strategies as st

from yieldplan.measure import INCH
from yieldplan.model import Blank, Offcut, Shop
from yieldplan.workbook.obstacles import LENGTH, MACHINE, RING, SECTION, SPECIES, common_obstacles

_QUARTERS = st.integers(2, 40).map(lambda count: count * INCH // 4)
_OFFCUTS = st.builds(
    Offcut,
    name=st.just("A"),
    length=st.integers(10, 60).map(lambda inches: inches * INCH),
    width=_QUARTERS,
    thickness=_QUARTERS,
    species=st.sampled_from(["", "ash", "white oak"]),
    bow=st.sampled_from([0, INCH // 4]),
    ring_angle=st.sampled_from([None, 10, 80]),
)
_BLANKS = st.builds(
    Blank,
    name=st.just("rib"),
    need=st.just(1),
    length=st.integers(8, 50).map(lambda inches: inches * INCH),
    width=_QUARTERS,
    thickness=_QUARTERS,
    species=st.sampled_from([(), ("ash",), ("White Oak", "ash")]),
    ring_from=st.sampled_from([None, 45]),
)


def _alone(offcut: Offcut, blank: Blank) -> int:
    (bits,), _ = common_obstacles([offcut], [blank], Shop())
    return bits or 0


def _common(bits: list[int]) -> int | None:
    return reduce(lambda a, b: a & b, bits) if all(bits) else None


@settings(deadline=None)
@given(st.lists(_OFFCUTS, min_size=1, max_size=4), st.lists(_BLANKS, min_size=1, max_size=4))
def test_the_pile_is_the_sum_of_its_pairs(pile: list[Offcut], batch: list[Blank]) -> None:
    """Pairs that are passed over change nothing: each row has what all its pairs have in common."""
    of_offcuts, of_blanks = common_obstacles(pile, batch, Shop())
    assert of_offcuts == [_common([_alone(offcut, blank) for blank in batch]) for offcut in pile]
    assert of_blanks == [_common([_alone(offcut, blank) for offcut in pile]) for blank in batch]


def test_each_obstacle_by_itself() -> None:
    """A pair that fits has none; a change in one respect gives that one."""
    shop = Shop()
    blank = Blank(
        name="rib", need=1, length=20 * INCH, width=2 * INCH, thickness=INCH, species=("ash",), ring_from=45
    )
    fits = Offcut(
        name="A",
        length=22 * INCH,
        width=3 * INCH,
        thickness=3 * INCH // 2,
        species="ash",
        ring_angle=80,
    )
    assert common_obstacles([fits], [blank], shop) == ([None], [None])
    changed = [
        (replace(fits, length=21 * INCH), LENGTH),
        (replace(fits, species="elm"), SPECIES),
        (replace(fits, ring_angle=None), RING),
        (replace(fits, thickness=INCH), SECTION),
        (replace(fits, width=17 * INCH), MACHINE),
    ]
    assert [_alone(offcut, blank) for offcut, _ in changed] == [bits for _, bits in changed]


def test_a_blank_may_lie_turned() -> None:
    """A flat-sawn offcut yields a quarter-sawn blank turned, where it is thick enough for that."""
    blank = Blank(name="rib", need=1, length=20 * INCH, width=2 * INCH, thickness=INCH, ring_from=45)
    thick = Offcut(name="A", length=30 * INCH, width=3 * INCH, thickness=5 * INCH // 2, ring_angle=10)
    thin = Offcut(name="A", length=30 * INCH, width=3 * INCH, thickness=3 * INCH // 2, ring_angle=10)
    assert (_alone(thick, blank), _alone(thin, blank)) == (0, SECTION)
