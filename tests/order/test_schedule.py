"""In which order settings are made: each once where the pieces let it, odd cuts only before what asks for them."""

from __future__ import annotations

from itertools import chain, pairwise

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.order.data import Line
from yieldplan.order.schedule import Cut, Group, in_turn


def cut(setting: int, name: str = "P", *, odd: bool = False) -> Cut:
    """Return a cut of which the setting and the board matter."""
    return Cut(setting=setting, line=Line(root=name, piece=name, where="", size=setting), odd=odd)


def settings(groups: list[Group]) -> list[int | None]:
    """Return the settings as they are made."""
    return [group.setting for group in groups]


CUTS = st.builds(lambda size, odd: cut(size, odd=odd), st.integers(1, 5), st.booleans())


@given(st.lists(st.lists(CUTS, max_size=5), max_size=5))
def test_every_cut_is_made_once_and_a_row_in_its_own_order(chains: list[list[Cut]]) -> None:
    """No cut is lost or made twice, and none comes before the one that it waits for."""
    named = [
        [cut(c.setting or 0, f"{i} {j}", odd=c.odd) for j, c in enumerate(row)]
        for i, row in enumerate(chains)
    ]
    done = [made.line.piece for group in in_turn(named, max) for made in group.cuts]
    assert sorted(done) == sorted(made.line.piece for made in chain.from_iterable(named))
    for row in named:
        places = [done.index(made.line.piece) for made in row]
        assert places == sorted(places)


@given(st.lists(st.lists(st.integers(1, 9), max_size=5).map(lambda s: sorted(s, reverse=True)), max_size=6))
def test_rows_that_fall_need_each_setting_once_the_largest_first(rows: list[list[int]]) -> None:
    """Where every row has its larger pieces first, no fence is set twice, and settings fall."""
    groups = in_turn([[cut(size) for size in row] for row in rows], max)
    assert settings(groups) == sorted(set(chain.from_iterable(rows)), reverse=True)
    assert not any(group.again for group in groups)


def test_short_stops_come_first() -> None:
    """With the least first, two sticks with the same lengths are cut at two stops."""
    rows = [[cut(6), cut(15)], [cut(6), cut(6), cut(15)]]
    assert settings(in_turn(rows, min)) == [6, 15]


def test_a_row_that_rises_still_shares_its_settings() -> None:
    """A small piece before a large one: the small setting is made first, for all boards."""
    rows = [[cut(3), cut(7)], [cut(7)], [cut(3)]]
    assert settings(in_turn(rows, max)) == [3, 7]


def test_rows_that_ask_for_two_settings_the_other_way_round_set_one_again() -> None:
    """One of the two has to be made once more, and says so; no more than that."""
    groups = in_turn([[cut(3), cut(7)], [cut(7), cut(3)]], max)
    assert [group.again for group in groups].count(True) == 1
    assert len(groups) == 3


def test_an_odd_cut_waits_for_the_settings_that_do_not_need_it() -> None:
    """What can be done without it is done first; then the odd cut, by itself, and what waited for it."""
    groups = in_turn([[cut(1, "A", odd=True), cut(7, "A")], [cut(5, "B"), cut(3, "B")]], max)
    assert settings(groups) == [5, 3, 1, 7]
    assert [group.odd for group in groups] == [False, False, True, False]


def test_an_odd_cut_comes_first_where_a_common_setting_needs_it() -> None:
    """A setting that others need as well is made once: the odd cut is made before it."""
    groups = in_turn([[cut(1, "A", odd=True), cut(7, "A")], [cut(7, "B")]], max)
    assert settings(groups) == [1, 7]


def test_an_odd_cut_at_a_figure_that_is_set_anyway_is_made_with_the_others() -> None:
    """The fence stands there already."""
    groups = in_turn([[cut(7, "A", odd=True), cut(7, "A")], [cut(7, "B")]], max)
    assert settings(groups) == [7]


def test_boards_keep_their_order_at_a_setting() -> None:
    """A stack of pieces stays in order."""
    names = ("C", "A", "B")
    (group,) = in_turn([[cut(7, name)] for name in names], max)
    assert tuple(made.line.piece for made in group.cuts) == names


def test_work_without_a_setting_is_one_group() -> None:
    """Jointing and squaring need no setting."""
    line = Line(root="P", piece="P", where="", size=1)
    groups = in_turn([[Cut(setting=None, line=line)], [Cut(setting=None, line=line)]], max)
    assert [(group.setting, len(group.cuts)) for group in groups] == [(None, 2)]
    assert not any(before.setting == after.setting for before, after in pairwise(groups))
