"""In which order settings are made: each once where the pieces let it, odd cuts only before what asks for them."""

from __future__ import annotations

from itertools import chain

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.order.data import Stop
from yieldplan.order.schedule import Cut, Group, in_turn


def cut(size: int, name: str = "P", *, odd: bool = False) -> Cut:
    """Return a cut of which the setting and the board matter."""
    step = Stop(board=name, sticks=(name,), blank="Rib", stop=size, each=1)
    return Cut(size=size, step=step, odd=odd)


def sizes(groups: list[Group]) -> list[int]:
    """Return the settings as they are made."""
    return [group.size for group in groups]


CUTS = st.builds(lambda size, odd: cut(size, odd=odd), st.integers(1, 5), st.booleans())


@given(st.lists(st.lists(CUTS, max_size=5), max_size=5))
def test_every_cut_is_made_once_and_a_row_in_its_own_order(chains: list[list[Cut]]) -> None:
    """No cut is lost or made twice, none comes before the one that it waits for, and an odd one is by itself."""
    named = [[cut(c.size, f"{i} {j}", odd=c.odd) for j, c in enumerate(row)] for i, row in enumerate(chains)]
    groups = in_turn(named, max)
    done = [made.step.board for group in groups for made in group.cuts]
    assert sorted(done) == sorted(made.step.board for made in chain.from_iterable(named))
    for row in named:
        places = [done.index(made.step.board) for made in row]
        assert places == sorted(places)
    assert all(len(group.cuts) == 1 for group in groups if group.odd)


@given(st.lists(st.lists(st.integers(1, 9), max_size=5).map(lambda s: sorted(s, reverse=True)), max_size=6))
def test_rows_that_fall_need_each_setting_once_the_largest_first(rows: list[list[int]]) -> None:
    """Where every row has its larger pieces first, no fence is set twice, and settings fall."""
    groups = in_turn([[cut(size) for size in row] for row in rows], max)
    assert sizes(groups) == sorted(set(chain.from_iterable(rows)), reverse=True)
    assert not any(group.again for group in groups)


def test_short_stops_come_first() -> None:
    """With the least first, two sticks with the same lengths are cut at two stops."""
    rows = [[cut(6), cut(15)], [cut(6), cut(6), cut(15)]]
    assert sizes(in_turn(rows, min)) == [6, 15]


def test_a_row_that_rises_still_shares_its_settings() -> None:
    """A small piece before a large one: the small setting is made first, for all boards."""
    rows = [[cut(3), cut(7)], [cut(7)], [cut(3)]]
    assert sizes(in_turn(rows, max)) == [3, 7]


def test_rows_that_ask_for_two_settings_the_other_way_round_set_one_again() -> None:
    """One of the two has to be made once more, and says so; no more than that."""
    groups = in_turn([[cut(3), cut(7)], [cut(7), cut(3)]], max)
    assert [group.again for group in groups].count(True) == 1
    assert len(groups) == 3


def test_an_odd_cut_waits_for_the_settings_that_do_not_need_it() -> None:
    """What can be done without it is done first; then the odd cut, by itself, and what waited for it."""
    groups = in_turn([[cut(1, "A", odd=True), cut(7, "A")], [cut(5, "B"), cut(3, "B")]], max)
    assert sizes(groups) == [5, 3, 1, 7]
    assert [group.odd for group in groups] == [False, False, True, False]


def test_an_odd_cut_that_nothing_waits_for_comes_last() -> None:
    """It is listed with its board, after all common settings."""
    groups = in_turn([[cut(1, "A", odd=True)], [cut(7, "B")]], max)
    assert sizes(groups) == [7, 1]


def test_an_odd_cut_comes_first_where_a_common_setting_needs_it() -> None:
    """A setting that others need as well is made once: the odd cut is made before it."""
    groups = in_turn([[cut(1, "A", odd=True), cut(7, "A")], [cut(7, "B")]], max)
    assert sizes(groups) == [1, 7]


def test_boards_keep_their_order_at_a_setting() -> None:
    """A stack of pieces stays in order."""
    names = ("C", "A", "B")
    (group,) = in_turn([[cut(7, name)] for name in names], max)
    assert tuple(made.step.board for made in group.cuts) == names
