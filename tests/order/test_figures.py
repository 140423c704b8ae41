"""Figures on the rule's marks, rounded to the side that is safe for their use."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.order.figures import Grid

STEPS = st.integers(1, 500)
SIZES = st.integers(0, 500_000)


@given(STEPS, SIZES, st.integers(1000, 500_000))
def test_a_piece_between_crosscuts_stays_inside_its_place(step: int, start: int, length: int) -> None:
    """If nothing is needed of it, a piece is shown no longer than planned, and inside its place."""
    low, high = Grid(step=step).span(start, start + length, 0)
    assert low % step == high % step == 0
    assert start <= low
    assert high <= start + length or high == low


@given(STEPS, SIZES, SIZES, st.data())
def test_a_piece_is_never_shown_shorter_than_needed(
    step: int, start: int, length: int, data: st.DataObject
) -> None:
    """What is needed of it wins over staying inside, by less than two marks."""
    need = data.draw(st.integers(0, length))
    low, high = Grid(step=step).span(start, start + length, need)
    assert high - low >= need
    assert start - step < low
    assert high < start + length + 2 * step


@given(STEPS, SIZES, st.integers(0, 5000))
def test_a_rough_size_is_at_most_the_plans_and_enough_for_the_finished_one(
    step: int, finished: int, allowance: int
) -> None:
    """Down to the mark, but never below the finished size's mark."""
    rough = Grid(step=step).rough(finished + allowance, finished)
    assert rough % step == 0
    assert rough >= finished
    assert rough <= finished + allowance or rough - finished < step


@given(STEPS, SIZES)
def test_what_lies_on_a_mark_stays_there(step: int, count: int) -> None:
    """Down, up and nearest leave a figure on the rule alone."""
    grid = Grid(step=step)
    assert grid.down(count * step) == grid.up(count * step) == grid.near(count * step) == count * step
