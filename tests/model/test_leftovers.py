"""R11: what is left over between pieces, and which of it is a keeper."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hand_plans import CUPPED, CUPPED_KEPT, CUPPED_RAW, RICH, RICH_KEPT, RICH_RAW, plan_of, with_shop

from yieldplan.model import Keeper, Offcut, Shop, SplitBillet, keepers, worth
from yieldplan.model.leftovers import gaps, is_keeper

INCH = 8128
SHOP = Shop()


@pytest.mark.parametrize(
    ("spans", "left"),
    [
        ((), [(0, 100)]),
        (((0, 100),), []),
        (((20, 50),), [(0, 17), (53, 100)]),
        (((3, 50),), [(53, 100)]),  # just a kerf is dust
        (((4, 50),), [(0, 1), (53, 100)]),
        (((0, 50), (53, 97)), []),
        (((0, 50), (56, 97)), []),  # two kerfs leave nothing
        (((0, 50), (57, 96)), [(53, 54), (99, 100)]),
        (((60, 97), (0, 50)), [(53, 57)]),
    ],
)
def test_leftovers_of_a_row(spans: tuple[tuple[int, int], ...], left: list[tuple[int, int]]) -> None:
    """Before the first piece and behind the last less a kerf, between two less two kerfs of 3."""
    assert list(gaps(spans, (0, 100), 3)) == left


@pytest.mark.parametrize(
    ("length", "one", "other", "kept"),
    [
        (18, 2, 1, True),
        (18, 1, 2, True),
        (17.96875, 2, 1, False),
        (18, 1.96875, 1, False),
        (18, 2, 0.96875, False),
        (18, 1, 1, False),
    ],
)
def test_what_is_a_keeper(length: float, one: float, other: float, kept: bool) -> None:
    """At least 18 in long and 2 by 1 in in section, either way round."""
    assert is_keeper(int(length * INCH), int(one * INCH), int(other * INCH), SHOP) is kept


def test_nothing_is_no_keeper() -> None:
    """Not even in a shop that keeps anything."""
    anything = Shop(keeper_length=0, keeper_width=0, keeper_thickness=0)
    assert not is_keeper(0, 1, 1, anything)
    assert not is_keeper(1, 0, 1, anything)
    assert is_keeper(1, 1, 1, anything)


def found(name: str) -> list[Keeper]:
    """Return the keepers of a plan worked out by hand."""
    job, raw = (RICH, RICH_RAW) if name == "rich" else (CUPPED, CUPPED_RAW)
    (drawn,) = plan_of(raw).offcuts
    return list(keepers(job, drawn))


def test_keepers_of_every_form() -> None:
    """The rich plan leaves a length, a strip, a layer, a stick and the end of a stick, with just these sizes."""
    by_form = {keeper.form: keeper for keeper in found("rich")}
    assert len(by_form) == len(RICH_KEPT) == 5
    for form, sizes in zip(("length", "strip", "end", "layer", "stick"), RICH_KEPT, strict=True):
        keeper = by_form[form]  # type: ignore[index]
        assert sorted(keeper.size) == sorted(int(size * INCH) for size in sizes)
        assert keeper.size[0] == keeper.x[1] - keeper.x[0]
        assert keeper.worth(RICH.shop) == worth(*keeper.size, RICH.shop)
        assert keeper.volume == keeper.size[0] * keeper.size[1] * keeper.size[2]


def test_where_keepers_lie() -> None:
    """Each has its box in the offcut's rough frame or the billet's; the end of a stick lies in its rough section."""
    by_form = {keeper.form: keeper for keeper in found("rich")}
    length, strip, end = by_form["length"], by_form["strip"], by_form["end"]
    assert (length.x, length.across, length.deep) == (
        (INCH * 183 // 4, 60 * INCH),
        (0, 6 * INCH),
        (0, 2 * INCH),
    )
    assert length.billet is None
    assert strip.across == (INCH * 51 // 16, INCH * 47 // 8)
    assert strip.billet is not None
    assert strip.billet.rip_first
    assert end.billet is not None
    assert end.deep in [(stick.start, stick.end) for stick in end.billet.sticks]
    assert end.x == (INCH * 89 // 8, INCH * 61 // 2)


def test_a_keeper_of_a_half_knows_its_wood() -> None:
    """It is measured in the box of its half."""
    (keeper,) = found("cupped")
    assert keeper.wood is not None
    assert (keeper.wood.low, keeper.wood.width) == (0, 4 * INCH)
    assert keeper.size == tuple(int(size * INCH) for size in CUPPED_KEPT)


def test_a_half_that_is_waste_leaves_no_keeper() -> None:
    """However large it is."""
    (drawn,) = plan_of(CUPPED_RAW).offcuts
    (split,) = drawn.billets
    assert isinstance(split, SplitBillet)
    wasted = replace(split, halves=(None, split.halves[1]))
    job = with_shop(CUPPED, keeper_width=INCH)
    left = [keeper.wood.low for keeper in keepers(job, replace(drawn, billets=(wasted,))) if keeper.wood]
    assert left == [4 * INCH + INCH // 16]


def test_an_offcut_left_whole_is_one_keeper_with_its_ends() -> None:
    """A length keeps its end trim."""
    job = replace(RICH, offcuts=(Offcut(name="P", length=20 * INCH, width=3 * INCH, thickness=INCH),))
    (drawn,) = plan_of(RICH_RAW).offcuts
    (keeper,) = keepers(job, replace(drawn, offcut="P", billets=()))
    assert keeper.x == (0, 20 * INCH)
