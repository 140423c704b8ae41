"""Names of what a plan makes: never two alike, whatever the boards are called; each piece with what it gives."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from random_plans import random_plan

from yieldplan.model import keepers
from yieldplan.model.pieces import PieceNames, billet_mark, counted, pieces

NAMES = st.lists(
    st.text(alphabet="P1-#AK", min_size=1, max_size=6), min_size=1, max_size=6, unique=True
)  # short names of the signs that could be mistaken for a mark


@given(NAMES, st.integers(0, 10**6))
def test_names_stay_unique_whatever_the_boards_are_called(names: list[str], seed: int) -> None:
    """No two pieces get the same name, nor one of a board of the pile, even where boards are named like parts."""
    job, plan = random_plan(seed, names=tuple(names))
    found = [piece.name for piece in pieces(job, plan)]
    assert len(set(found)) == len(found)
    named = PieceNames(job, plan)
    grown = [named.billet(drawn, at) for drawn in plan.offcuts for at in range(len(drawn.billets)) if at]
    fresh = [piece.name for piece in pieces(job, plan) if piece.kind != "board"]
    assert not {offcut.name for offcut in job.offcuts} & {*grown, *fresh}
    assert not set(grown) & set(found)


@given(st.integers(0, 10**6))
def test_every_blank_and_every_keeper_is_a_piece(seed: int) -> None:
    """A board's sticks give what the board gives, and its keepers are those that the plan leaves, in their order."""
    job, plan = random_plan(seed)
    found = pieces(job, plan)
    for drawn in plan.offcuts:
        own = [piece for piece in found if piece.drawn == drawn]
        assert [piece.kind for piece in own] == sorted(
            (piece.kind for piece in own), key=["board", "stick", "keeper"].index
        )
        wanted = Counter(cut.blank for cut in drawn.blanks)
        assert Counter(dict(own[0].blanks)) == wanted
        sticks = [piece for piece in own if piece.kind == "stick"]
        assert sum((Counter(dict(piece.blanks)) for piece in sticks), Counter()) == wanted
        kept = [piece for piece in own if piece.kind == "keeper"]
        assert [piece.box for piece in kept] == list(keepers(job, drawn))
        for piece in kept:
            ends = {stick.name for stick in sticks}
            assert (piece.parent in ends) == (piece.box.form == "end")


def test_plain_names_grow_with_plain_signs() -> None:
    """In a pile of ordinary names a hyphen joins, and a number sign only where there are several copies."""
    job, plan = random_plan(8)
    first = replace(job.offcuts[0], name="P014", qty=2)
    drawn = replace(plan.offcuts[0], offcut="P014", copy=2)
    job, plan = replace(job, offcuts=(first, *job.offcuts[1:])), replace(plan, offcuts=(drawn,))
    names = PieceNames(job, plan)
    assert (names.board(drawn), names.stick(drawn, 3)) == ("P014#2", "P014#2-3")


def test_keepers_are_numbered_through_the_plan_and_on_from_the_pile() -> None:
    """Keepers are K1, K2 ...; a pile that has keepers goes on as it has named them, and no name comes twice."""
    job, plan = random_plan(3)
    kept = [piece.name for piece in pieces(job, plan) if piece.kind == "keeper"]
    assert kept == [f"K{number}" for number in range(1, len(kept) + 1)]
    assert len(kept) > 1
    spare = replace(job.offcuts[0], name="Keeper 009", qty=1)
    more = replace(job, offcuts=(*job.offcuts, spare, replace(spare, name="k 3")))
    kept = [piece.name for piece in pieces(more, plan) if piece.kind == "keeper"]
    assert kept[:2] == ["Keeper 010", "Keeper 011"]


def test_letters_go_on_past_the_last_one_and_leave_out_what_misleads() -> None:
    """After the last letter come pairs, none is met twice; I, O and the keepers' K are not used."""
    words = [billet_mark(number) for number in range(1, 400)]
    assert len(set(words)) == len(words)
    assert words[:12] == [*"ABCDEFGHJLMN"]
    assert not set("IOK") & set("".join(words))


@pytest.mark.parametrize(
    ("count", "name", "said"),
    [
        (2, "Lower futtock", "2 lower futtocks"),
        (1, "Stem knee", "1 stem knee"),
        (3, "Sash", "3 sashes"),
        (2, "Quarter knee, port", "2 quarter knees, port"),
        (4, "Thwart cleats", "4 thwart cleats"),
        (2, "Carling stay", "2 carling stays"),
        (2, "Gallery", "2 galleries"),
        (2, "Frame 3", "2 × Frame 3"),
        (5, "F", "5 × F"),
    ],
)
def test_blanks_are_counted_as_a_builder_says_them(count: int, name: str, said: str) -> None:
    """A kind is said in the plural as English makes it; a name that ends in no word is left as it was typed."""
    assert counted(count, name) == said
