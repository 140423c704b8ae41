"""Text that fits its cell, rows that stay together, hatching that keeps off others, labels side by side."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from yieldplan.pages.columns import Columns, Line
from yieldplan.pages.drawing import Box, hatch, spread
from yieldplan.pages.paper import Para, grid, height_of, para, printable, to_tick, width_of

WORDS = st.text(alphabet="abcЖΩ &<>-", min_size=0, max_size=80)


def set_lines(one: Para) -> list[str]:
    """Return the lines of a paragraph that is set."""
    return [
        " ".join(line[1]) if isinstance(line, tuple) else "".join(part.text for part in line.words)
        for line in one.blPara.lines
    ]


@given(WORDS, st.floats(30, 300), st.sampled_from([9.0, 11.0, 22.0]))
def test_paragraphs_keep_to_their_width_and_lose_nothing(text: str, width: float, size: float) -> None:
    """Long words are split, signs of markup stay as typed, and only spaces may go."""
    whole = para(text, size)
    whole.wrap(width, 1e6)
    lines = set_lines(whole) if text.strip() else []
    assert all(width_of(line.rstrip(), size) <= width + 0.01 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_sign_that_the_font_lacks_becomes_a_replacement_sign() -> None:
    """Cyrillic and Greek are in the font; a Chinese sign is not."""
    assert printable("ЖΩ船") == "ЖΩ\ufffd"


def test_no_line_ends_inside_a_figure() -> None:
    """Inches and their fraction stay together, and a size breaks only behind its signs."""
    assert printable("3 13/16 × 2 in") == "3\xa013/16\xa0× 2 in"
    assert printable("moisture 15 %, face 2") == "moisture 15\xa0%, face\xa02"
    assert printable("9 of 14, end A of billet B") == "9\xa0of\xa014, end\xa0A of billet\xa0B"


def test_a_paragraph_of_two_sizes_is_as_high_as_its_letters() -> None:
    """Where the first line has larger letters, the last line does not hang out below."""
    mixed = to_tick("word " * 30)
    plain = height_of([mixed], 200.0)
    large = type(mixed)('<font size="22">word</font> ' + "word " * 30, mixed.style)
    assert height_of([large], 200.0) > plain + 22


@given(st.integers(1, 40), st.floats(0, 700))
def test_no_row_stands_alone(count: int, room: float) -> None:
    """Wherever a table is split, at least two rows stand on either side, and the heading stands again."""
    whole = grid(("Piece", "How many"), [(f"row {number}", "1") for number in range(count)], [200.0, 100.0])
    whole.wrap(300.0, 1e6)
    parts = whole.split(300.0, room)
    assume(len(parts) == 2)
    texts = [[_first(row).getPlainText() for row in part._cellvalues] for part in parts]
    heads = [text.pop(0) for text in texts]
    assert heads == ["Piece"] * 2
    assert texts[0] + texts[1] == [f"row {number}" for number in range(count)]
    assert min(map(len, texts)) >= 2


def _first(row: Any) -> Any:
    """Return what stands in the first cell of a row, as the page maker keeps it."""
    return row[0][0] if isinstance(row[0], tuple) else row[0]


def test_a_row_higher_than_a_page_is_parted() -> None:
    """A name of 10 000 signs goes on from page to page."""
    whole = grid(("Piece",), [("x" * 10_000,)], [300.0])
    whole.wrap(300.0, 1e6)
    assert len(whole.split(300.0, 700.0)) == 2


@settings(max_examples=30)
@given(
    st.lists(st.lists(st.integers(1, 200), min_size=1, max_size=6), min_size=1, max_size=5),
    st.integers(2, 3),
    st.integers(80, 300),
)
def test_a_column_says_what_its_lines_stand_under(blocks: list[list[int]], count: int, room: int) -> None:
    """Lines keep their order, none is lost, and a heading stands above the first of each block and of each column."""
    lines = []
    for number, sizes in enumerate(blocks):
        again = (para(f"Again {number}"),)
        for place, long in enumerate(sizes):
            text = para(f"{number}.{place} " + "word " * long)
            lines.append(Line(text=text, above=None if place else (para(f"Head {number}"),), again=again))
    pages: list[Columns] = []
    left = Columns(lines, count)
    while left.wrap(500.0, float(room))[1] > room:
        page, left = left.split(500.0, float(room))
        pages.append(page)
    laid = [column for page in (*pages, left) for column in page.laid if column]
    columns = [[" ".join(set_lines(one)) for one in column] for column in laid]
    for column in columns:
        assert column[0].split()[0] in {"Head", "Again"}
        assert column[-1].split()[0] not in {"Head", "Again"}
    printed = [text for column in columns for text in column if not text.startswith("Again")]
    whole = [one.getPlainText() for line in lines for one in (*(line.above or ()), line.text)]
    assert " ".join(printed).split() == " ".join(whole).split()


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
    """Lines at 30 degrees rise by tan 30 from left to right."""
    x1, y1, x2, y2 = next(iter(hatch(Box(0, 0, 100, 100), 30.0, 10.0)))
    slope = (y2 - y1) / (x2 - x1)
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
