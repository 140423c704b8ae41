"""Names to pencil on wood: never two alike, whatever the offcuts are called."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Offcut
from yieldplan.order.marks import CAPITALS, SMALL, Marks, letters, segment_mark, stick_mark

NAMES = st.lists(
    st.text(alphabet="P1-#A2", min_size=1, max_size=6), min_size=1, max_size=6, unique=True
)  # short names of the signs that could be mistaken for a mark


def offcut(name: str, qty: int = 1) -> Offcut:
    """Return an offcut of which only the name matters."""
    return Offcut(name=name, length=1, width=1, thickness=1, qty=qty)


def grown(marks: Marks, offcuts: list[Offcut]) -> list[str]:
    """Return the names of all pieces that two segments of each offcut could give."""
    endings = ["", "A", "B", "A1", "A2", "A1-2", "A1a", "A1c", "A1a-c", "A1a1", "A1a2", "A2a1"]
    return [
        marks.full(marks.root(one.name, copy), ending)
        for one in offcuts
        for copy in range(1, one.qty + 1)
        for ending in endings
    ]


@given(NAMES, st.data())
def test_names_stay_unique_whatever_the_offcuts_are_called(names: list[str], data: st.DataObject) -> None:
    """No two pieces get the same name, even where offcuts are named like each other's parts and copies."""
    offcuts = [offcut(name, data.draw(st.integers(1, 3))) for name in names]
    pieces = grown(Marks(offcuts), offcuts)
    assert len(set(pieces)) == len(pieces)


def test_plain_names_grow_with_plain_signs() -> None:
    """In a pile of ordinary names a hyphen joins, and a number sign only where there are several copies."""
    marks = Marks([offcut("P014", 2), offcut("P015")])
    assert marks.full(marks.root("P014", 2), "A3c1") == "P014#2-A3c1"
    assert marks.full(marks.root("P015", 1), "A") == "P015-A"


def test_an_offcut_named_like_a_part_doubles_the_sign() -> None:
    """Where P1-A is an offcut of its own, the first segment of P1 is not called that."""
    marks = Marks([offcut("P1"), offcut("P1-A")])
    assert marks.full("P1", "A") == "P1--A"


def test_letters_go_on_past_the_last_one() -> None:
    """After the last letter come pairs, and none is met twice."""
    words = [letters(number, SMALL) for number in range(1, 400)]
    assert len(set(words)) == len(words)
    assert words[len(SMALL)] == "aa"


def test_letters_that_look_like_figures_are_not_used() -> None:
    """Neither capitals I and O nor the small letters that a pencil turns into figures appear."""
    assert not set("IO") & set(CAPITALS)
    assert not set("bgiloqsz") & set(SMALL)
    assert [segment_mark(n) for n in (1, 8, 9)] == ["A", "H", "J"]
    assert [stick_mark(n) for n in (1, 2, 3)] == ["a", "c", "d"]
