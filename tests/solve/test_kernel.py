"""The compiled kernels: their small parts by hand, and the bound of a leftover between tried lengths."""

from __future__ import annotations

import bisect

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldplan.model import Offcut, Shop, edge_loss, face_loss, worth
from yieldplan.solve import kernel
from yieldplan.solve.layouts import SPOT
from yieldplan.solve.stock import losses_and_gains, make_rule

INCH = 8128
SHOP = Shop()
RULE = make_rule(SHOP)
untimed = settings(deadline=None)
"""Kernels are compiled when they are first called."""


@untimed
@given(st.lists(st.integers(0, 20)), st.integers(-1, 21))
def test_rank_is_the_first_value_that_is_not_less(values: list[int], value: int) -> None:
    """The same as bisect_left."""
    values.sort()
    assert kernel.rank(np.array(values, np.int64), len(values), value) == bisect.bisect_left(values, value)


@untimed
@given(st.sets(st.integers(0, 30)), st.sets(st.integers(0, 30)), st.integers(0, 30))
def test_places_are_those_from_both_sides(left: set[int], right: set[int], box: int) -> None:
    """Fixed places, and ones measured back from the far side, in order, each once, none outside the box."""
    sides = np.zeros((2, max(len(left), len(right), 1)), np.int64)
    sides[0, : len(left)], sides[1, : len(right)] = sorted(left), sorted(right)
    row = np.recarray(len(left) + len(right), SPOT)
    n = kernel.places(sides, np.array([len(left), len(right)]), box, row)
    assert row.node[:n].tolist() == sorted({p for p in (*left, *(box - r for r in right)) if 0 <= p <= box})
    held = {p for p, h in zip(row.node[:n].tolist(), row.held[:n].tolist(), strict=True) if h}
    assert held == {p for p in (*(box - r for r in right), *({0} & left)) if 0 <= p <= box}


def test_straightening_moves_a_defect() -> None:
    """R9: E = 100, skim 32 of it: a defect at y 1000..2000 counts as lying at 900..1968 in the box."""
    defects = np.array([[0, 1, 1000, 2000, 0, 0, 1]], np.int64)

    def hit(y1: int, y2: int) -> int:
        return int(kernel.hit_mask(defects, True, y1, y2, 100, 32))

    assert [hit(0, 900), hit(0, 901), hit(1967, 3000), hit(1968, 3000)] == [0, 1, 1, 0]


def test_a_defect_from_one_face_is_met_by_its_depth_alone() -> None:
    """R9: F = 50, skim 32: one at z 0..500 reaches to 468 in the box; a through one lies at every z."""
    faced = np.array([[0, 1, 0, 9000, 0, 500, 0]], np.int64)
    through = np.array([[0, 1, 0, 9000, 0, 500, 1]], np.int64)
    assert kernel.hit_mask(faced, False, 467, 900, 50, 32) == 1
    assert kernel.hit_mask(faced, False, 468, 900, 50, 32) == 0
    assert kernel.hit_mask(through, False, 468, 900, 50, 32) == 1


@untimed
@given(
    warp=st.tuples(*(st.integers(0, INCH) for _ in range(4))),
    size=st.tuples(
        st.integers(13 * INCH, 96 * INCH), st.integers(3 * INCH, 8 * INCH), st.integers(INCH, 3 * INCH)
    ),
    start=st.floats(0, 0.9),
    lengths=st.tuples(st.floats(0, 1), st.floats(0, 1)),
    across_y=st.booleans(),
)
def test_a_leftover_between_tried_lengths_is_bounded(
    warp: tuple[int, int, int, int],
    size: tuple[int, int, int],
    start: float,
    lengths: tuple[float, float],
    across_y: bool,
) -> None:
    """No shorter billet's leftover on the same row is worth more than the bound at the longer one.

    It gains in section what straightening no longer takes, and loses length.
    """
    bow, crook, cup, twist = warp
    length, width, thickness = size[0], max(size[1:]), min(size[1:])
    offcut = Offcut(
        name="P",
        length=length,
        width=width,
        thickness=thickness,
        bow=bow,
        crook=crook,
        cup=cup // 8,
        twist=twist,
    )
    least = SHOP.shortest_machined_length
    short, long = sorted(least + round(part * (length - least)) for part in lengths)

    def section(run: int) -> tuple[int, int]:
        high, deep = width - edge_loss(offcut, run, SHOP), thickness - face_loss(offcut, run, SHOP)
        return (high - round(start * width), deep) if across_y else (deep - round(start * thickness), high)

    gap, other = section(long)
    if gap <= 0 or other <= 0:
        return
    _, gains = losses_and_gains(offcut, SHOP, {(long, 0)})
    shorter, more_edge, more_face = gains[long, edge_loss(offcut, long, SHOP), face_loss(offcut, long, SHOP)]
    most = (
        edge_loss(offcut, long, SHOP) - edge_loss(offcut, least, SHOP),
        face_loss(offcut, long, SHOP) - face_loss(offcut, least, SHOP),
    )
    growth = (
        np.array([more_edge, most[0], 2.0 * crook, shorter]),
        np.array([more_face, most[1], 2.0 * bow + twist / 2, shorter]),
    )
    grow_gap, grow_other = growth if across_y else growth[::-1]
    bound = kernel.leftover(long, gap, other, grow_gap, grow_other, RULE)
    assert worth(short, *section(short), SHOP) <= bound
    if shorter >= least:
        assert section(shorter) != section(long) == section(shorter + 1)
        assert worth(shorter, *section(shorter), SHOP) <= bound
