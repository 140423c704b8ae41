"""Fewer crosscuts: blanks moved along their sticks, outer billets lengthened."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import pytest
from brute import brute_force, crosscuts_of
from strategies import cupped_job, small_job, tiny_job, varied_job, wood_job
from test_account import BILLET, INCH, JOB, KEPT, PIECE, STICK

from yieldplan.model import Defect, Job, WholeKeeper, count_crosscuts, crosscuts
from yieldplan.solve import Options, plan
from yieldplan.solve.columns import Column, Segments
from yieldplan.solve.neat import neatened, placed_otherwise, tidied
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable

KERF = JOB.shop.crosscut_kerf
END = INCH // 2 + 2 * (6 * INCH + INCH // 2) + KERF
"""Where two ribs from the trim on end: 13 5/8 in."""

EXACT = (replace(BILLET, end=END), WholeKeeper(start=END + KERF, end=40 * INCH))
KNOT = Defect(kind="knot", x1=9 * INCH, x2=10 * INCH, y1=0, y2=INCH, z1=0, z2=INCH)


def one(segments: Segments, job: Job = JOB) -> Column:
    """Return a column of a cutting of the first offcut."""
    cuts = count_crosscuts(segments, job.offcuts[0].length, job.shop.crosscut_kerf)
    return Column(stock=0, counts=(2,), cost=0, low=0, crosscuts=cuts, cutting=lambda: segments)


def test_neighbours_are_parted_by_one_cut_or_by_two() -> None:
    """A kerf apart one will do, further apart there is a piece between them; and one at each end with waste."""
    assert crosscuts([(0, 10), (12, 20)], 0, 20, 2) == 1
    assert crosscuts([(0, 10), (13, 20)], 0, 20, 2) == 2
    assert crosscuts([(1, 10), (12, 19)], 0, 20, 2) == 3
    assert crosscuts([], 0, 20, 2) == 0


def test_blanks_are_pushed_to_the_end_of_their_stick() -> None:
    """Two ribs in a billet of 14 in from the trim on: waste at both ends of the stick; moved on, only at the start."""
    before = one((BILLET, KEPT))
    after = tidied(before, PIECE, JOB)
    (strip,) = after.cutting()[0].strips  # type: ignore[union-attr]
    (stick,) = strip.sticks
    assert after.crosscuts == before.crosscuts - 1 == 3
    assert [cut.end for cut in stick.blanks] == [14 * INCH - 6 * INCH - INCH // 2 - KERF, 14 * INCH]
    assert stick.blanks[0].start >= JOB.shop.end_trim


def test_a_row_that_ends_with_its_stick_stays() -> None:
    """There is nothing to save."""
    column = one(EXACT)
    assert tidied(column, PIECE, JOB) is column


def test_a_blank_is_not_moved_onto_a_defect() -> None:
    """A knot from 9 to 10 in: only a rib from 10 in on could end later, and so the first one, before it, stays."""
    flawed = replace(PIECE, defects=(KNOT,))
    ribs = (STICK.blanks[0], replace(STICK.blanks[1], start=10 * INCH, end=16 * INCH + INCH // 2))
    strips = (replace(BILLET.strips[0], sticks=(replace(STICK, blanks=ribs),)),)
    longer = replace(BILLET, end=17 * INCH, strips=strips)
    after = tidied(one((longer,)), flawed, replace(JOB, offcuts=(flawed,)))
    (stick,) = after.cutting()[0].strips[0].sticks  # type: ignore[union-attr]
    assert [(cut.start, cut.end) for cut in stick.blanks] == [
        (INCH // 2, 7 * INCH),
        (17 * INCH - 6 * INCH - INCH // 2, 17 * INCH),
    ]


def test_a_blank_that_needs_no_clear_end_has_its_end_at_a() -> None:
    """Also where it begins on a defect that it may hold: once it was said to be B, which the recheck refuses."""
    job = tiny_job(1675)
    found = plan(job, options=Options(seconds=5))
    assert verify(job, found) == ()
    assert [count for _, count in found.missing] == [0, 1]


def test_an_outer_billet_is_lengthened_to_the_end() -> None:
    """With snipe the sticks are cut at both ends anyhow, so waste may stay on the billet."""
    job = replace(JOB, shop=replace(JOB.shop, snipe=INCH))
    column = one((replace(BILLET, start=0, end=20 * INCH),), job)
    longer = next(one for one in placed_otherwise(column, PIECE, job) if one.cutting()[0].start == 0)
    (billet,) = longer.cutting()
    assert (billet.start, billet.end) == (0, 40 * INCH)
    assert longer.crosscuts == column.crosscuts - 1


def test_a_plan_whose_surplus_was_left_out_is_neatened() -> None:
    """Its billet goes to the end of the offcut once there is nothing at its start; the recheck has nothing to say."""
    job = varied_job(1192)
    found = plan(job, options=Options(seconds=5))
    (piece,) = found.offcuts
    offcut = job.offcut(piece.offcut)
    assert verify(job, found) == ()
    assert count_crosscuts(piece.segments, offcut.length, job.shop.crosscut_kerf) == 1
    assert neatened(job, found) == found


@pytest.mark.parametrize(
    ("recipe", "seed", "cuts"),
    [
        pytest.param(wood_job, 20798, 3, id="two billets that meet at a kink, from end A to end B"),
        pytest.param(wood_job, 20918, 7, id="two billets that meet at a kink, with their sticks pushed down"),
        pytest.param(varied_job, 30526, 3, id="the blanks of two sticks on one"),
        pytest.param(tiny_job, 1395, 4, id="moved with its leftovers"),
        pytest.param(varied_job, 2122, 2, id="lengthened"),
        pytest.param(varied_job, 1922, 2, id="pushed aside from a knot"),
        pytest.param(cupped_job, 1039, 7, id="a split billet moved, its blanks in it too"),
        pytest.param(varied_job, 1071, 9, id="lengthened, its sticks turned"),
        pytest.param(cupped_job, 1624, 4, id="as short as its blanks"),
        pytest.param(varied_job, 1691, 7, id="lengthened, its strips laid close together"),
        pytest.param(wood_job, 1843, 7, id="moved to its neighbour"),
        pytest.param(tiny_job, 1300, 6, id="with a surplus blank left out of the other offcut"),
        pytest.param(varied_job, 5622, 3, id="lengthened up to billets that are moved to the other end"),
        pytest.param(wood_job, 20883, 5, id="lengthened until they meet"),
        pytest.param(cupped_job, 21114, 2, id="split elsewhere and lengthened"),
        pytest.param(tiny_job, 30600, 4, id="as short as its blanks pushed together"),
        pytest.param(varied_job, 30746, 6, id="its sticks laid close together"),
        pytest.param(varied_job, 30762, 4, id="its strips from the other side, beside a keeper"),
    ],
)
def test_billets_are_placed_where_that_saves_a_crosscut(
    recipe: Callable[[int], Job], seed: int, cuts: int
) -> None:
    """In all the ways that there are; the enumeration finds no fewer."""
    job = recipe(seed)
    found = plan(job, options=Options(seconds=5))
    assert verify(job, found) == ()
    assert crosscuts_of(job, found.offcuts) == brute_force(job).crosscuts == cuts


@pytest.mark.parametrize("seed", [3, 5, 8])
def test_plans_take_no_more_crosscuts_than_their_columns_tidied(seed: int) -> None:
    """What a plan cuts cannot be tidied any further."""
    job = small_job(seed)
    for drawn in plan(job, options=Options(seconds=2)).offcuts:
        offcut = job.offcut(drawn.offcut)
        cuts = count_crosscuts(drawn.segments, offcut.length, job.shop.crosscut_kerf)
        column = Column(
            stock=0, counts=(), cost=0, low=0, crosscuts=cuts, cutting=partial(tuple, drawn.segments)
        )
        assert tidied(column, offcut, job).crosscuts == cuts
