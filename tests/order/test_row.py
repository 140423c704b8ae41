"""Cuts along a row: each fence setting once, in falling order, until every part lies free."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.order.figures import Grid
from yieldplan.order.row import Cut, Part, Row, row_cuts

KERF, STEP = 10, 4


def row(sizes: list[int], gaps: list[int], over: int, *, trim: bool = True) -> Row:
    """Return a row of parts with gaps before each (the kerf aside) and something over at the end."""
    parts: list[Part] = []
    at = 0
    for number, (size, gap) in enumerate(zip(sizes, gaps, strict=True), 1):
        at += gap + (KERF if parts else 0)
        parts.append(Part(start=at, end=at + size, size=size, mark=f"A{number}", shared=True))
        at += size
    return Row(
        parts=tuple(parts),
        depth=at + over,
        mark="A",
        kerf=KERF,
        trim=trim,
        grid=Grid(step=STEP),
        group=lambda low, high: f"A{low + 1}-{high + 1}",
    )


def follow(cuts: tuple[Cut, ...], depth: int) -> dict[str, tuple[int, int]]:
    """Do the cuts on a solid piece and return what lies there at the end."""
    bench = {"A": (0, depth)}
    for cut in cuts:
        low, high = bench.pop(cut.piece)
        for place, mark in enumerate(cut.gives):
            assert cut.setting <= high - low + STEP, (cut, low, high)
            if cut.turned:
                bench[mark] = (high - cut.setting, high)
            else:
                bench[mark] = (low, min(high, low + cut.setting))
                low += cut.setting + KERF
            last = place == len(cut.gives) - 1
            if last and cut.rest:
                assert low < high
                bench[cut.rest] = (low, high)
    return bench


MARKS = st.integers(5, 60).map(lambda n: n * STEP)
GAPS = st.sampled_from([0, 0, 0, 1, 3, STEP, 5 * STEP, 30 * STEP])


@given(st.data(), st.integers(1, 7), GAPS, st.booleans())
def test_every_row_can_be_cut_with_settings_that_never_rise(
    data: st.DataObject, count: int, over: int, trim: bool
) -> None:
    """Whatever the sizes and gaps, the cuts come in falling settings and free every part in its place."""
    sizes = data.draw(st.lists(MARKS, min_size=count, max_size=count))
    gaps = data.draw(st.lists(GAPS, min_size=count, max_size=count))
    given_row = row(sizes, gaps, over, trim=trim)
    cuts = row_cuts(given_row)
    settings = [cut.setting for cut in cuts]
    assert settings == sorted(settings, reverse=True)
    bench = follow(cuts, given_row.depth)
    if count == 1 and not cuts:
        assert gaps[0] < (STEP if trim else KERF)
        return
    assert set(bench) == {part.mark for part in given_row.parts}
    for part in given_row.parts:
        low, high = bench[part.mark]
        sliver = KERF if not trim and part is given_row.parts[0] else 0
        assert abs(low - part.start) <= count * STEP + sliver
        left_on = KERF if not trim and part is given_row.parts[-1] else 0
        assert abs(high - part.end) <= count * STEP + left_on


def test_like_strips_side_by_side_are_one_line_of_several_passes() -> None:
    """Three strips of one width need one setting and one line: three passes, the rest is waste."""
    (cut,) = row_cuts(row([40, 40, 40], [0, 0, 0], 20))
    assert (cut.setting, cut.gives, cut.rest) == (40, ("A1", "A2", "A3"), "")


def test_falling_strips_come_off_in_turn_from_the_jointed_edge() -> None:
    """A wide strip before a narrow one needs no other setting than the two widths."""
    cuts = row_cuts(row([60, 40], [0, 0], 20))
    assert [(cut.setting, cut.gives, cut.rest) for cut in cuts] == [(60, ("A1",), "A"), (40, ("A2",), "")]


def test_a_narrow_strip_before_a_wide_one_is_parted_in_company() -> None:
    """Settings may not rise, so the two are first freed together, then parted: the wide one is what is left."""
    cuts = row_cuts(row([40, 60], [0, 0], 20))
    assert [(cut.setting, cut.gives, cut.rest) for cut in cuts] == [(112, ("A",), ""), (40, ("A1",), "A2")]


def test_waste_beside_the_jointed_edge_is_taken_off_with_the_sawn_side_on_the_fence() -> None:
    """A strip that does not begin at the jointed edge is freed first, then turned to lose its waste."""
    cuts = row_cuts(row([40], [20], 20))
    assert [(cut.setting, cut.turned) for cut in cuts] == [(60, False), (40, True)]


def test_a_sliver_on_a_rough_face_is_left_to_the_planer_but_an_edge_is_trimmed() -> None:
    """Less than a kerf beyond the last part is sawn off an edge and left on a face."""
    assert row_cuts(row([40], [0], KERF - 1, trim=False)) == ()
    assert len(row_cuts(row([40], [0], KERF - 1, trim=True))) == 1


def test_no_cut_is_ordered_where_no_saw_reaches() -> None:
    """A single part as deep as the box, higher than any saw, is left as it is."""
    single = row([40], [0], 0)
    unreached = Row(**{name: getattr(single, name) for name in Row.__slots__} | {"kerf": None})
    assert row_cuts(unreached) == ()
