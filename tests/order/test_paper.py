"""Text that fits its cell, columns that give way in order, rows that stay together, hatching that keeps off others."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st
from reportlab.platypus import Paragraph

from yieldplan.order.paper import (
    GAP,
    Column,
    cell,
    column_widths,
    para,
    printable,
    start_of,
    table,
    width_of,
)
from yieldplan.order.shapes import Box, hatch, spread

WORDS = st.text(alphabet="abcЖΩ &<>-", min_size=0, max_size=80)


@given(WORDS, st.floats(30, 300), st.sampled_from([9.0, 12.0, 22.0]))
def test_paragraphs_keep_to_their_width_and_lose_nothing(text: str, width: float, size: float) -> None:
    """Long words are split, signs of markup stay as typed, and only spaces may go."""
    whole = para(text, size)
    whole.wrap(width, 1e6)
    lines = [
        " ".join(line[1]) if isinstance(line, tuple) else "".join(part.text for part in line.words)
        for line in (whole.blPara.lines if text.strip() else ())
    ]
    assert all(width_of(line.rstrip(), size) <= width + 0.01 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@given(WORDS, st.floats(10, 300))
def test_a_cell_holds_plain_text_only_where_it_fits(text: str, width: float) -> None:
    """What is wider than its column becomes a paragraph."""
    assert isinstance(cell(text, width, 12.0), Paragraph) == (width_of(text, 12.0) > width)


def test_a_sign_that_the_font_lacks_becomes_a_replacement_sign() -> None:
    """Cyrillic and Greek are in the font; a Chinese sign is not."""
    assert printable("ЖΩ船") == "ЖΩ\ufffd"


COLUMNS = (Column("Piece", bold=True), Column("How many", right=True), Column("Note", yields=True))


def test_tables_give_names_more_room_than_words() -> None:
    """Columns get what they need; when they cannot all, together they take exactly the room there is."""
    columns = (Column("Piece", bold=True), Column("Note"))
    rows = [("P1", "x " * 200)]
    widths = column_widths(columns, rows, 300.0, 10.0)
    assert math.isclose(sum(widths) + GAP, 300.0, abs_tol=0.5)
    assert widths[0] >= width_of("P1", 10.0, True)


def test_headings_break_first_then_the_note_then_the_longest_cell() -> None:
    """As room grows scarce: two words of a heading, then a note, then a name; a figure never."""
    name, note = "a piece of a longer name", "a note in quite a few small words to be broken"
    rows = [(name, "12", note)]
    full = width_of(name, 10.0, True) + width_of("How many", 9.0, True) + width_of(note, 10.0) + 2 * GAP + 3
    whole, figures, notes = column_widths(COLUMNS, rows, full, 10.0)
    assert (whole, notes) == (width_of(name, 10.0, True) + 1, width_of(note, 10.0) + 1)
    assert figures == width_of("How many", 9.0, True) + 1
    many, word = width_of("many", 9.0, True) + 1, width_of("broken", 10.0) + 1
    for room in (full - 5, full - 60, whole + many + word + 2 * GAP):
        found = column_widths(COLUMNS, rows, room, 10.0)
        assert found[0] == whole
        assert found[1] >= many
        assert found[2] >= word - 0.01
        assert math.isclose(sum(found) + 2 * GAP, room, abs_tol=0.02)
    assert column_widths(COLUMNS, rows, full - 5, 10.0)[2] == notes
    scarce = column_widths(COLUMNS, rows, whole + many + word + 2 * GAP - 20, 10.0)
    assert scarce[0] < whole
    assert scarce[1:] == [many, word]


@given(st.lists(st.lists(WORDS, min_size=3, max_size=3), min_size=1, max_size=4), st.floats(120, 500))
def test_columns_never_need_more_than_the_page(rows: list[list[str]], room: float) -> None:
    """Whatever stands in them, columns with their gaps take no more than the room there is."""
    assert sum(column_widths(COLUMNS, rows, room, 12.0)) + 2 * GAP <= room + 0.01


@given(st.integers(1, 40), st.floats(0, 700))
def test_no_row_stands_alone(count: int, room: float) -> None:
    """Wherever a table is split, at least two rows stand on either side, and the heading stands again."""
    rows = [(f"row {number}", "1", "") for number in range(count)]
    whole = table(COLUMNS, rows, 400.0)
    parts = whole.split(400.0, room)
    if room >= start_of(whole):
        assert parts
    if len(parts) == 2:
        texts = [[line[0] for line in part._cellvalues] for part in parts]
        assert [text.pop(0) for text in texts] == ["Piece", "Piece"]
        assert texts[0] + texts[1] == [row[0] for row in rows]
        assert min(map(len, texts)) >= 2


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
