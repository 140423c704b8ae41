"""Names to pencil on wood: never two alike, whatever the boards are called."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Offcut
from yieldplan.order.marks import Marks, billet_mark

NAMES = st.lists(
    st.text(alphabet="P1-#AK", min_size=1, max_size=6), min_size=1, max_size=6, unique=True
)  # short names of the signs that could be mistaken for a mark


def offcut(name: str, qty: int = 1) -> Offcut:
    """Return an offcut of which only the name matters."""
    return Offcut(name=name, length=1, width=1, thickness=1, qty=qty)


@given(NAMES, st.data())
def test_names_stay_unique_whatever_the_boards_are_called(names: list[str], data: st.DataObject) -> None:
    """No two pieces get the same name, even where boards are named like each other's parts and copies."""
    offcuts = [offcut(name, data.draw(st.integers(1, 3))) for name in names]
    marks = Marks(offcuts)
    pieces = [
        marks.full(marks.root(one.name, copy), ending)
        for one in offcuts
        for copy in range(1, one.qty + 1)
        for ending in ("", "A", "B", "near", "A far", "1", "2", "11", "1 to 2", "K1", "K2")
    ]
    assert len(set(pieces)) == len(pieces)


def test_plain_names_grow_with_plain_signs() -> None:
    """In a pile of ordinary names a hyphen joins, and a number sign only where there are several copies."""
    marks = Marks([offcut("P014", 2), offcut("P015")])
    assert marks.full(marks.root("P014", 2), "3") == "P014#2-3"
    assert marks.full(marks.root("P015", 1), "A") == "P015-A"


def test_a_board_named_like_a_part_doubles_the_sign() -> None:
    """Where P1-A is a board of its own, the first billet of P1 is not called that."""
    marks = Marks([offcut("P1"), offcut("P1-A")])
    assert marks.full("P1", "A") == "P1--A"


def test_letters_go_on_past_the_last_one_and_leave_out_what_misleads() -> None:
    """After the last letter come pairs, none is met twice; I, O and the keepers' K are not used."""
    words = [billet_mark(number) for number in range(1, 400)]
    assert len(set(words)) == len(words)
    assert words[:12] == [*"ABCDEFGHJLMN"]
    assert not set("IOK") & set("".join(words))
