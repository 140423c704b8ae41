"""Where cuts are tried: hand examples, and every pushed-together row is among them."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from yieldplan.solve import positions
from yieldplan.solve.positions import (
    Along,
    across,
    across_from_far,
    among,
    distinct,
    first_rooted,
    numbered,
    runs,
    sums,
)

if TYPE_CHECKING:
    import pytest

SIZES = st.lists(st.integers(1, 40), min_size=1, max_size=3)
ANCHORS = st.lists(st.integers(0, 90), max_size=2)


def test_sums_by_hand() -> None:
    """From 0 by steps of 3 and 5 as far as 11."""
    assert sums({0}, (5, 3), 11) == [0, 3, 5, 6, 8, 9, 10, 11]


def test_sums_start_at_every_base_inside() -> None:
    """Bases outside 0..limit are left out, and steps of nothing lead nowhere."""
    assert sums({-1, 2, 12}, (4, 0), 11) == [2, 6, 10]


def test_sums_stop_once_there_are_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    """They end soon after the most positions that are looked at, so that memory is safe."""
    monkeypatch.setattr(positions, "MOST_POSITIONS", 50)
    assert 50 < len(sums({0}, range(1, 20), 10_000)) < 200


WHOLE = st.lists(st.integers(-9, 9))


@given(WHOLE, WHOLE)
def test_distinct_and_among_are_what_numpy_says(some: list[int], others: list[int]) -> None:
    """As numpy's unique and isin."""
    values = np.array(some, np.int64)
    assert distinct(some).tolist() == np.unique(values).tolist()
    assert among(values, others).tolist() == np.isin(values, others).tolist()


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3), st.booleans()), min_size=1))
def test_rows_are_numbered_and_have_a_model(rows: list[tuple[int, int, bool]]) -> None:
    """Like rows have one number, in rising order of rows; their model is the first rooted one, else the row itself."""
    first, second, rooted = (np.array(column) for column in zip(*rows, strict=True))
    like = numbered(first, second)
    order = sorted({row[:2] for row in rows})
    assert like.tolist() == [order.index(row[:2]) for row in rows]
    found = first_rooted(like, rooted, np.arange(7, 7 + len(rows)))
    for at, row in enumerate(rows):
        models = [i for i, other in enumerate(rows) if other[2] and other[:2] == row[:2]]
        assert found[at] == 7 + (models[0] if models else at)


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5))))
def test_runs_are_ranges_row_by_row(ranges: list[tuple[int, int]]) -> None:
    """Of each row the numbers from its first to before its stop; none where that lies before."""
    first, stop = (np.array([pair[i] for pair in ranges], np.int64) for i in (0, 1))
    row, at = runs(first, stop)
    expected = [(i, n) for i, pair in enumerate(ranges) for n in range(*pair)]
    assert list(zip(row.tolist(), at.tolist(), strict=True)) == expected


def test_across_by_hand() -> None:
    """Pieces of 2 and 3 with a kerf of 1 in a box of 8, and beyond a defect that ends at 5."""
    assert across((), (2, 3), 1, 8) == [0, 3, 4, 6, 7, 8]
    assert across((5,), (2, 3), 1, 8) == [0, 3, 4, 5, 6, 7, 8]


def test_across_from_far_by_hand() -> None:
    """Distances from the far side: a piece of 3 at it, one more a kerf of 1 further, and against a defect.

    The defect's near edge is 5 from the far side: a piece ends there (8), a leftover a kerf before it (4).
    """
    assert across_from_far((), (3,), 1, 8) == [3, 7]
    assert across_from_far((5,), (3,), 1, 8) == [3, 4, 7, 8]


def test_pieces_leave_a_least_keeper_free() -> None:
    """A leftover of 2 at the far side and a kerf, then the piece (6); where that leftover starts is a place too (2)."""
    assert across_from_far((), (3,), 1, 10, spared=(2,)) == [2, 3, 6, 7, 10]


@given(SIZES, ANCHORS, st.integers(0, 3), st.integers(20, 100), st.integers(0, 10**6))
def test_every_row_pushed_together_is_tried(
    sizes: list[int], anchors: list[int], kerf: int, box: int, seed: int
) -> None:
    """Pieces set one against the other from 0 or an anchor start at tried places."""
    tried = across(anchors, sizes, kerf, box)
    pick = random.Random(seed)
    place = pick.choice([0, *anchors])
    while place <= box:
        assert place in tried
        place += pick.choice(sizes) + kerf


@given(SIZES, ANCHORS, st.integers(0, 3), st.integers(20, 100), st.integers(0, 10**6))
def test_every_row_pushed_to_the_far_side_is_tried(
    sizes: list[int], anchors: list[int], kerf: int, box: int, seed: int
) -> None:
    """The same mirrored: the start of each piece, measured from the far side."""
    tried = across_from_far(anchors, sizes, kerf, box)
    pick = random.Random(seed)
    end = pick.choice([0, *anchors])
    while True:
        start = end + pick.choice(sizes)
        if start > box:
            break
        assert start in tried
        end = start + kerf


BAR = Along(length=100, spans=(10, 24), kerf=1, snipe=0, shortest=30, first=5, edges=())


def test_blanks_start_after_blanks_and_after_short_billets() -> None:
    """From the trim at 5 by 11 and 25 (a blank and a kerf) and by 31 (the shortest billet and a kerf)."""
    assert set(BAR.starts) >= {5, 16, 27, 30, 36, 38, 41}
    assert not {6, 15, 20, 26} & set(BAR.starts)
    assert max(BAR.starts) <= 95 - 10


def billets(along: Along, starts: list[int]) -> set[tuple[int, int]]:
    """Return the shortest billets whose first blank lies at one of some starts."""
    start, end = along.billets(starts)
    return set(zip(start.tolist(), end.tolist(), strict=True))


def test_a_stack_ends_where_blanks_close_together_do() -> None:
    """From 5: 15, 26, ... in tens, 29 and 40 with one of 24; none beyond the trim at 95."""
    ends = set(BAR.stacks([5])[1].tolist())
    assert {15, 26, 29, 40, 54} <= ends
    assert max(ends) <= 95


def test_billets_are_no_shorter_than_the_machines_take() -> None:
    """Blanks of 5..15 are milled in a billet of 30 that starts at the end or with the blank."""
    found = billets(BAR, BAR.close)
    assert all(end - start >= 30 and start >= 0 and end <= 100 for start, end in found)
    assert (5, 35) in found
    assert (0, 30) in found


def test_billets_hold_blanks_at_the_starts_asked_for() -> None:
    """One start: its billets begin there, or at the end where they would be too short for the machines."""
    assert {start for start, _ in billets(BAR, [5])} <= {0, 5}


def test_short_billets_are_lengthened_up_to_kinks() -> None:
    """Between kinks at 50 and 85, for blanks of 60..70 and 60..81: they end at 80, at 81 or at 85."""
    kinked = Along(
        length=100, spans=(10,), kerf=1, snipe=0, shortest=30, first=5, edges=(51,), kinks=(50, 85)
    )
    found = {(start, end) for start, end in billets(kinked, [60]) if end <= 85}
    assert found == {(50, 80), (51, 81), (55, 85)}


def test_a_defect_starts_blanks_anew() -> None:
    """A blank starts at the defect's far edge, which no sum of blanks from the trim reaches."""
    assert 45 not in BAR.starts
    flawed = Along(length=100, spans=(10, 24), kerf=1, snipe=0, shortest=30, first=5, edges=(45,))
    assert {45, 56, 70} <= set(flawed.starts)
    assert (5, 55) in billets(flawed, [5])


def test_a_billet_takes_in_the_end_trim() -> None:
    """One of 30 from end A holds the first blank (5 to 15), so the next begins at 31, not only behind one from 5 on."""
    assert 31 in BAR.starts
    assert 31 not in Along(length=100, spans=(26,), kerf=1, snipe=0, shortest=30, first=5, edges=()).starts


def test_blanks_start_behind_a_least_whole_keeper() -> None:
    """Of 20: from end A (21), and behind a billet from there (21 + 31)."""
    spared = Along(length=100, spans=(10, 24), kerf=1, snipe=0, shortest=30, first=5, edges=(), spared=(20,))
    assert {21, 21 + 31, 31 + 21} <= set(spared.starts)


def test_blanks_start_behind_what_is_drawn_out() -> None:
    """Behind a billet of 33 from end A (34), and from the trim (39); behind a remainder of 20 before (21) or after."""
    drawn = Along(
        length=100, spans=(10, 24), kerf=1, snipe=0, shortest=30, first=5, edges=(), drawn=(33,), remainder=20
    )
    assert {34, 39, 21} <= set(drawn.starts)
    assert 5 + 10 + 1 + 20 + 1 in drawn.starts
    assert 34 in drawn.beyond
    assert 34 not in drawn.close
