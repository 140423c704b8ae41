"""In which order settings are made: each once where the pieces let it, odd cuts only before what asks for them."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.order.data import Saw
from yieldplan.order.lists import in_turn

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from yieldplan.order.data import Setting


def cut(size: int, name: str = "P", *, odd: bool = False, off: bool = False) -> Saw:
    """Return a cut of which the setting and the board matter."""
    return Saw(
        board=name,
        machine="table saw",
        stage=1,
        fence=size,
        hand=name,
        rip=True,
        side="edge 1",
        down="face 1",
        passes=1,
        gives=(name,),
        rest=name,
        height=1,
        chain=0,
        odd=odd,
        off=off,
    )


def made(chains: Iterable[Sequence[Saw]], first: Callable[[Iterable[int]], int] = max) -> list[Setting]:
    """Return the settings as they are made."""
    return list(in_turn("", chains, first))


def sizes(settings: list[Setting]) -> list[int | None]:
    """Return their sizes."""
    return [setting.size for setting in settings]


CUTS = st.builds(lambda size, odd: cut(size, odd=odd), st.integers(1, 5), st.booleans())


@given(st.lists(st.lists(CUTS, max_size=5), max_size=5))
def test_every_cut_is_made_once_and_a_row_in_its_own_order(chains: list[list[Saw]]) -> None:
    """No cut is lost or made twice, none comes before the one that it waits for, and an odd one is with odd ones."""
    named = [[cut(c.fence, f"{i} {j}", odd=c.odd) for j, c in enumerate(row)] for i, row in enumerate(chains)]
    settings = made(named)
    done = [step.board for setting in settings for step in setting.steps]
    assert sorted(done) == sorted(step.board for step in chain.from_iterable(named))
    for row in named:
        places = [done.index(step.board) for step in row]
        assert places == sorted(places)
    for setting in settings:
        assert setting.steps
        for step in setting.steps:
            assert isinstance(step, Saw)
            assert (step.fence, step.odd) == (setting.size, setting.odd)


@given(st.lists(st.lists(st.integers(1, 9), max_size=5).map(lambda s: sorted(s, reverse=True)), max_size=6))
def test_rows_that_fall_need_each_setting_once_the_largest_first(rows: list[list[int]]) -> None:
    """Where every row has its larger pieces first, no fence is set twice, and settings fall."""
    settings = made([[cut(size) for size in row] for row in rows])
    assert sizes(settings) == sorted(set(chain.from_iterable(rows)), reverse=True)
    assert not any(setting.again for setting in settings)


def test_short_stops_come_first() -> None:
    """With the least first, two sticks with the same lengths are cut at two stops."""
    rows = [[cut(6), cut(15)], [cut(6), cut(6), cut(15)]]
    assert sizes(made(rows, min)) == [6, 15]


def test_a_row_that_rises_still_shares_its_settings() -> None:
    """A small piece before a large one: the small setting is made first, for all boards."""
    assert sizes(made([[cut(3), cut(7)], [cut(7)], [cut(3)]])) == [3, 7]


def test_rows_that_ask_for_two_settings_the_other_way_round_set_one_again() -> None:
    """One of the two has to be made once more, and says so; no more than that."""
    settings = made([[cut(3), cut(7)], [cut(7), cut(3)]])
    assert [setting.again for setting in settings].count(True) == 1
    assert len(settings) == 3


def test_an_odd_cut_waits_for_the_settings_that_do_not_need_it() -> None:
    """What can be done without it is done first; then the odd cut, by itself, and what waited for it."""
    settings = made([[cut(1, "A", odd=True), cut(7, "A")], [cut(5, "B"), cut(3, "B")]])
    assert sizes(settings) == [5, 3, 1, 7]
    assert [setting.odd for setting in settings] == [False, False, True, False]


def test_an_odd_cut_that_nothing_waits_for_comes_last() -> None:
    """It is listed with its board, after all common settings."""
    assert sizes(made([[cut(1, "A", odd=True)], [cut(7, "B")]])) == [7, 1]


def test_an_odd_cut_comes_first_where_a_common_setting_needs_it() -> None:
    """A setting that others need as well is made once: the odd cut is made before it."""
    assert sizes(made([[cut(1, "A", odd=True), cut(7, "A")], [cut(7, "B")]])) == [1, 7]


def test_odd_cuts_of_one_size_are_made_together() -> None:
    """Those that wait for nothing are one setting, boards in their order; what the jointer takes is another's."""
    one, other = cut(2, "A", odd=True), cut(2, "C", odd=True)
    off = cut(2, "B", odd=True, off=True)
    settings = made([[one, cut(7, "A")], [off, cut(7, "B")], [other, cut(7, "C")]])
    assert [[step.board for step in setting.steps] for setting in settings] == [
        ["A", "C"],
        ["B"],
        ["A", "B", "C"],
    ]
    assert [setting.odd for setting in settings] == [True, True, False]


def test_odd_cuts_that_nothing_waits_for_are_made_together_as_well() -> None:
    """After the common settings, a size once as far as rows let it."""
    rows = [[cut(1, "A", odd=True), cut(2, "A", odd=True)], [cut(2, "B", odd=True)], [cut(1, "C", odd=True)]]
    assert sizes(made(rows)) == [1, 2]


def test_boards_keep_their_order_at_a_setting() -> None:
    """A stack of pieces stays in order."""
    names = ("C", "A", "B")
    (setting,) = made([[cut(7, name)] for name in names])
    assert tuple(step.board for step in setting.steps) == names
