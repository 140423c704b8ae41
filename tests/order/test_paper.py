"""Blocks on pages, text broken to its width, hatching that keeps off other things."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.order.flow import Flow
from yieldplan.order.paper import (
    Block,
    Column,
    Text,
    column_widths,
    printable,
    table_blocks,
    text_block,
    width_of,
    wrap,
)
from yieldplan.order.shapes import Box, hatch, spread

WORDS = st.text(alphabet="abcЖΩ &<>-", min_size=0, max_size=80)


@given(WORDS, st.floats(30, 300), st.sampled_from([9.0, 12.0, 22.0]))
def test_wrapped_lines_fit_and_lose_nothing(text: str, width: float, size: float) -> None:
    """No line is wider than the room, and all signs but spaces are still there in order."""
    lines = wrap(text, width, size)
    assert all(width_of(line, size) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_sign_that_the_font_lacks_becomes_a_replacement_sign() -> None:
    """Cyrillic and Greek are in the font; a Chinese sign is not."""
    assert printable("ЖΩ船") == "ЖΩ\ufffd"


def test_tables_give_names_more_room_than_words() -> None:
    """Columns get what they need; when they cannot all, together they take exactly the room there is."""
    columns = (Column("Piece", bold=True), Column("Note"))
    rows = [("P1", "x " * 200)]
    widths = column_widths(columns, rows, 300.0, 10.0)
    assert math.isclose(sum(widths) + 8.0, 300.0, abs_tol=0.5)
    assert widths[0] >= width_of("P1", 10.0, True)


@given(st.lists(st.floats(1, 400), max_size=40))
def test_blocks_never_run_over_the_foot(heights: list[float]) -> None:
    """However high the blocks are, each lies between the top of its page and the foot."""
    flow = Flow("letter", 20.0)
    flow.page((Block(30.0),))
    for height in heights:
        flow.put((Block(height), Block(5.0)))
    for page in flow.pages:
        assert page[0] == (0.0, Block(30.0))
        for y, block in page:
            assert y + block.height <= flow.height + 0.01
    assert sum(len(page) - 1 for page in flow.pages) == 2 * len(heights)


def test_what_belongs_together_is_not_parted() -> None:
    """A heading goes to the next page with the first row of its table; later pages repeat the heading."""
    flow = Flow("a4", 20.0)
    flow.page(())
    flow.put((Block(flow.height - 60.0),))
    rows = [(str(number),) for number in range(100)]
    flow.put_table((Block(50.0),), table_blocks((Column("Number"),), rows, 200.0))
    assert len(flow.pages[0]) == 1
    for page in flow.pages[1:]:
        words = [mark.text for _, block in page for mark in block.marks if isinstance(mark, Text)]
        assert words[0] == "Number"


def test_a_paragraph_takes_the_height_of_its_lines() -> None:
    """Three lines of 10 pt with their leading, and the space after."""
    block = text_block("one\u0020two three", width_of("three", 10.0) + 1, 10.0, after=2.0)
    assert len(block.marks) == 3
    assert block.height == 3 * 12.5 + 2.0


BOXES = st.builds(
    lambda x, y, w, h: Box(x, y, x + w, y + h),
    st.floats(0, 80),
    st.floats(0, 80),
    st.floats(2, 60),
    st.floats(2, 60),
)


@given(BOXES, st.lists(BOXES, max_size=4), st.sampled_from([0.0, 30.0, 45.0, 90.0, 135.0]))
def test_hatching_stays_in_its_box_and_off_the_others(box: Box, others: list[Box], angle: float) -> None:
    """Ends and middles of all lines lie in the box; no middle lies inside a box to keep off."""
    for x1, y1, x2, y2 in hatch(box, angle, 4.0, others):
        middle = ((x1 + x2) / 2, (y1 + y2) / 2)
        for x, y in ((x1, y1), (x2, y2), middle):
            assert box.x1 - 1e-6 <= x <= box.x2 + 1e-6
            assert box.y1 - 1e-6 <= y <= box.y2 + 1e-6
        for other in others:
            inside = (
                other.x1 + 1e-6 < middle[0] < other.x2 - 1e-6
                and other.y1 + 1e-6 < middle[1] < other.y2 - 1e-6
            )
            assert not inside


def test_rings_are_drawn_at_their_angle() -> None:
    """Lines at 30 degrees rise by tan 30 from left to right (y runs down)."""
    stroke = next(iter(hatch(Box(0, 0, 100, 100), 30.0, 10.0)))
    slope = -(stroke.y2 - stroke.y1) / (stroke.x2 - stroke.x1)
    assert math.isclose(slope, math.tan(math.radians(30)), rel_tol=1e-9)


@given(st.lists(st.tuples(st.floats(0, 500), st.floats(5, 60)), max_size=12))
def test_labels_side_by_side_do_not_touch(labels: list[tuple[float, float]]) -> None:
    """Labels keep their order, stay in the row and leave air between them, or there is no room for all."""
    labels.sort()
    centres, widths = [c for c, _ in labels], [w for _, w in labels]
    lefts = spread(centres, widths, 0.0, 500.0)
    if lefts is None:
        assert sum(widths) + 5.0 * (len(widths) - 1) > 500.0
        return
    for place, left in enumerate(lefts):
        assert left >= -1e-6
        assert left + widths[place] <= 500.0 + 1e-6
        if place:
            assert left >= lefts[place - 1] + widths[place - 1] + 5.0 - 1e-6
