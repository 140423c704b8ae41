"""The printed pages: complete, legible, to scale, and with the plan's measures on the cards."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest
from pages import Letter, Page, Stroke, overlapping, read_pages, struck_through
from random_plans import lying, nothing_made, random_plan

from yieldplan.measure import Rounding, read
from yieldplan.model import Billet, Job, Plan, keepers, milled
from yieldplan.model.errors import OutputError
from yieldplan.order import cutting_order
from yieldplan.order.paper import Text
from yieldplan.order.pdf import pdf_bytes, write_pdf
from yieldplan.order.views import face_view, short

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from yieldplan.order.data import Milled, Section
    from yieldplan.order.paper import Paper

LONG = ("Ж" * 60, "<b>&[red]{0}%s", "Λάρικας από το παλιό κατάρτι της βάρκας του λιμανιού, αριθμός 7")
MARGIN = 40.0
FIGURE = r"(?:(?:\d+ )?\d+/\d+|\d+(?:\.\d+)?)"
RANGE = re.compile(f"({FIGURE}) to ({FIGURE})")


@cache
def printed(seed: int, paper: str = "letter", names: tuple[str, ...] = ()) -> tuple[Job, Plan, list[Page]]:
    """Return a random job, its plan, and the printed pages."""
    job, plan = random_plan(seed, 4, names)
    return job, plan, read_pages(pdf_bytes(cutting_order(job, plan), paper=paper))  # type: ignore[arg-type]


def check_legible(pages: list[Page]) -> None:
    """Every sign is inside the margins, large enough, and runs into no other sign or line."""
    for number, page in enumerate(pages, 1):
        letters = [letter for letter in page.letters if not letter.text.isspace()]
        assert letters, f"page {number} is empty"
        assert min(letter.size for letter in letters) > 8.999
        for letter in letters:
            inside = letter.x1 > MARGIN - 0.5 and letter.x2 < page.width - MARGIN + 0.5
            assert inside, f"page {number}: {letter}"
            assert letter.y1 > MARGIN - 2
            assert letter.y2 < page.height - MARGIN + 2
        for stroke in page.strokes:
            assert min(stroke.x1, stroke.x2) > MARGIN - 1.5
            assert max(stroke.x1, stroke.x2) < page.width - MARGIN + 1.5
        assert overlapping(page) == [], f"page {number}"
        assert struck_through(page) == [], f"page {number}"
        text = "".join(letter.text for letter in page.letters)
        assert "…" not in text
        assert "..." not in text


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("seed", range(6))
def test_pages_are_legible_on_both_papers_in_both_units(seed: int, paper: str) -> None:
    """Nothing leaves the margins, nothing overlaps, no text is below 9 pt (seeds 0 and 3 are in inches)."""
    check_legible(printed(seed, paper)[2])


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_long_and_odd_names_wrap(paper: str) -> None:
    """Names of 60 signs, in Cyrillic and Greek, and with markup signs are printed whole and stay legible."""
    _, plan, pages = printed(0, paper, LONG)
    check_legible(pages)
    cards = " ".join(text for page in pages for size, text, bold in page.lines() if size == 14 and bold)
    for name in LONG:
        if any(drawn.offcut == name for drawn in plan.offcuts):
            squeezed = name.replace(" ", "")
            assert squeezed in cards.replace(" ", "")


def test_pages_of_a_plan_that_makes_nothing() -> None:
    """With every blank missing there is a front page with the reasons."""
    job, plan = nothing_made(1)
    reasons = {blank.name: f"too short for {blank.name}" for blank in job.blanks}
    pages = read_pages(pdf_bytes(cutting_order(job, plan), reasons=reasons))
    check_legible(pages)
    text = "\n".join(line for page in pages for _, line, _ in page.lines())
    assert "SHORT" in text
    assert f"{job.blanks[0].name}, {job.blanks[0].need} missing: too short" in text


def test_the_pages_of_a_large_pile_are_legible() -> None:
    """A pile of 120 offcuts prints as well as a small one (every thirtieth page is looked at)."""
    job, plan = random_plan(4, 120)
    check_legible(read_pages(pdf_bytes(cutting_order(job, plan), paper="a4"), every=30))


def pieces_of(milled: Milled) -> int:
    """Return how many pieces come of a billet's sticks."""
    return sum(len(section.pieces) for section in milled.sections)


@pytest.mark.parametrize("times", [3, 40])
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_card_higher_than_a_page_is_printed_whole(paper: Paper, times: int) -> None:
    """Neither many billets nor one with very many pieces is cut off; later pages name the offcut again."""
    order = cutting_order(*random_plan(0, 4))
    card = max(order.cards, key=lambda card: sum(map(pieces_of, card.milled)))
    longer = tuple(
        replace(milled, sections=tuple(replace(one, pieces=one.pieces * times) for one in milled.sections))
        for milled in card.milled
    )
    many = replace(card, milled=longer * 4)
    pages = read_pages(pdf_bytes(replace(order, cards=(many,)), paper=paper), until="Crosscut saw")
    check_legible(pages)
    cards = [page.lines() for page in pages if page.lines()[0][1] == "Offcuts to cut"]
    assert len(cards) > 1
    assert all(any(text == f"{card.root} (continued)" for _, text, _ in lines) for lines in cards[1:])
    rows = [text for lines in cards for _, text, _ in lines if "its end A:" in text]
    assert len(rows) == sum(map(pieces_of, card.milled)) * times * 4
    assert sum("After jointing" in text for lines in cards for _, text, _ in lines) == len(many.milled)


@pytest.mark.parametrize("seed", range(6))
def test_every_open_piece_is_named_on_the_face_or_below_it(seed: int) -> None:
    """Of the pieces that lie open on face 1 each name is in the drawing or in the line below it."""
    order = cutting_order(*random_plan(seed, 4))
    for card in order.cards:
        view, unnamed = face_view(card, 500.0, str)
        shown = [mark.text for mark in view.marks if isinstance(mark, Text) and not mark.bold]
        names = [f"keep {short(card, length.name)}" for length in card.lengths if length.keeper]
        for part in card.milled:
            for one in part.sections:
                if any(hides(other, one) for other in part.sections):
                    continue
                names += [f"keep {short(card, one.name)}"] if one.keeper else []
                names += [piece.blank or f"keep {short(card, piece.name)}" for piece in one.pieces]
        assert sorted(names) == sorted([name for name in shown if name in names] + unnamed)


def hides(other: Section, one: Section) -> bool:
    """Return whether one section lies over another, seen from face 1."""
    return other.z[0] < one.z[0] and other.y[0] < one.y[1] and one.y[0] < other.y[1]


def test_a_batch_of_no_blanks() -> None:
    """An empty batch prints too."""
    job, plan = nothing_made(1)
    job, plan = replace(job, blanks=()), replace(plan, made=(), spare=(), missing=())
    check_legible(read_pages(pdf_bytes(cutting_order(job, plan))))


def test_every_page_says_which_plan_it_belongs_to() -> None:
    """Input name, fingerprint and page n of m stand at every page's foot."""
    job, plan, pages = printed(3)
    fingerprint = cutting_order(job, plan).fingerprint
    for number, page in enumerate(pages, 1):
        foot = page.lines()[-1][1]
        assert foot == f"{job.name}, plan {fingerprint}  page {number} of {len(pages)}"


def test_a_sign_that_the_font_lacks_is_shown_as_missing() -> None:
    """Signs outside the font become a replacement sign, never nothing."""
    pages = printed(0, names=("船7",))[2]
    assert "\ufffd7" in "".join(letter.text for page in pages for letter in page.letters)


def test_fonts_are_embedded_and_bytes_repeat() -> None:
    """The file carries its own letters, and the same order gives the same bytes."""
    order = cutting_order(*random_plan(2))
    first = pdf_bytes(order)
    assert first == pdf_bytes(order)
    assert b"/FontFile2" in first


def test_every_line_of_the_order_has_a_box_to_tick() -> None:
    """The machines' sheets hold as many tick boxes as the order has lines, and the keepers' list its own."""
    job, plan, pages = printed(5)
    order = cutting_order(job, plan)
    ticks = [
        box for page in pages for box in page.boxes if 9.5 < box[2] - box[0] < 10.5 > box[3] - box[1] > 9.5
    ]
    assert len(ticks) == sum(len(sheet.lines) for sheet in order.sheets) + len(order.keepers)


@pytest.mark.parametrize("seed", range(5))
def test_the_face_is_drawn_to_the_scale_it_says(seed: int) -> None:
    """On every card a rectangle of the offcut's length and width stands, at the scale in the caption."""
    job, plan, pages = printed(seed)
    text = " ".join(line for page in pages for _, line, _ in page.lines())
    scales = [float(found) for found in re.findall(r"Face drawn 1 : ([\d.]+)\.", text)]
    boxes = [box for page in pages for box in page.boxes]
    assert len(scales) == len(plan.offcuts)
    for scale, drawn in zip(scales, plan.offcuts, strict=True):
        offcut = job.offcut(drawn.offcut)
        long, wide = (steps * 72 / 8128 / scale for steps in (offcut.length, offcut.width))
        assert any(abs(x2 - x1 - long) < 0.01 and abs(y2 - y1 - wide) < 0.01 for x1, y1, x2, y2 in boxes), (
            offcut.name
        )


LENGTH = re.compile(rf"^\S.*?, ({FIGURE} to {FIGURE}) from end A(?:: keeper|, rip first|, resaw first)$")
PART = re.compile(r"((?:edge 1|its end A): .+)$")
Row = tuple[str, str, str]
"""A card's board, the kind of its row, and what stands there."""


def card_rows(pages: list[Page]) -> Iterator[Row]:
    """Yield the rows of the cards as printed."""
    card = ""
    for page in pages:
        lines = page.lines()
        for size, text, _ in lines[1:-1] if lines[0][1] == "Offcuts to cut" else []:
            if size > 13.9:
                card = text.removesuffix(" (continued)")
            for kind, row in (("length", LENGTH), ("piece", PART)):
                if match := row.search(text):
                    yield card, kind, match[1]


def spans_in(job: Job, rest: str) -> list[tuple[int, int]]:
    """Return the ranges that a row says, exactly."""
    return [
        (read(low, job.shop.units, Rounding.STOCK), read(high, job.shop.units, Rounding.STOCK))
        for low, high in RANGE.findall(rest)
    ]


@pytest.mark.parametrize("seed", range(25))
def test_the_cards_hold_the_measures_of_the_whole_plan(seed: int) -> None:
    """From the figures on the cards alone every billet, stick, blank and keeper is where the plan has it, exactly."""
    job, plan = random_plan(seed, 3)
    pages = read_pages(pdf_bytes(cutting_order(job, plan)), until="Crosscut saw")
    rows = [(card, kind, tuple(spans_in(job, rest))) for card, kind, rest in card_rows(pages)]
    wanted: list[tuple[str, str, tuple[tuple[int, int], ...]]] = []
    for drawn in plan.offcuts:
        offcut = job.offcut(drawn.offcut)
        root = drawn.offcut if offcut.qty == 1 else f"{drawn.offcut}#{drawn.copy}"
        for segment in drawn.billets:
            for _, billet in milled(offcut, segment, job.shop):
                wanted.append((root, "length", ((billet.start, billet.end),)))
                wanted += [(root, "piece", spans) for spans in sticks_and_blanks(billet)]
        for keeper in keepers(job, drawn):
            if keeper.form == "length":
                wanted.append((root, "length", (keeper.x,)))
            elif keeper.form == "end" and keeper.billet is not None:
                begin = keeper.billet.start
                wanted.append((root, "piece", ((keeper.x[0] - begin, keeper.x[1] - begin),)))
            else:
                wanted.append((root, "piece", (keeper.across, keeper.deep)))
    assert sorted(rows) == sorted(wanted)


def sticks_and_blanks(billet: Billet) -> Iterator[tuple[tuple[int, int], ...]]:
    """Yield where a billet's sticks lie across, and their blanks along from the stick's end A."""
    for stick, y, z in lying(billet):
        yield y, z
        for cut in stick.blanks:
            yield ((cut.start - billet.start, cut.end - billet.start),)


def test_a_card_says_what_a_billet_must_still_measure() -> None:
    """The figures after jointing are those that the sticks with blanks need, and there is one line a billet."""
    job, plan, pages = printed(3)
    order = cutting_order(job, plan)
    text = " ".join(line for page in pages for _, line, _ in page.lines())
    assert text.count("After jointing at least") == sum(len(card.milled) for card in order.cards)
    assert "or stop and plan again" in text


def test_writing_leaves_nothing_behind_where_it_cannot_be_done(tmp_path: Path) -> None:
    """If the folder is a file, the error says so and nothing is written."""
    blocked = tmp_path / "blocked"
    blocked.write_text("a file")
    with pytest.raises(OutputError):
        write_pdf(cutting_order(*random_plan(0)), blocked / "cutting-order.pdf")
    assert [path.name for path in tmp_path.iterdir()] == ["blocked"]


def test_written_file_is_the_bytes(tmp_path: Path) -> None:
    """The file on disk is what pdf_bytes returns, and no other file is left beside it."""
    order = cutting_order(*random_plan(0))
    write_pdf(order, tmp_path / "cutting-order.pdf", paper="a4")
    assert (tmp_path / "cutting-order.pdf").read_bytes() == pdf_bytes(order, paper="a4")
    assert len(list(tmp_path.iterdir())) == 1


def _letter(x: float, y: float) -> Letter:
    return Letter("x", x, y, x + 6, y + 10, 10, "plain")


def test_the_check_itself_sees_what_runs_together() -> None:
    """Two signs over one another, and a line through a sign, are found; what merely stands close is not."""
    bad = Page(600, 800, (_letter(100, 100), _letter(103, 104)), (Stroke(90, 105, 120, 105),), ())
    assert overlapping(bad)
    assert struck_through(bad)
    good = Page(600, 800, (_letter(100, 100), _letter(106, 100)), (Stroke(90, 110, 120, 110),), ())
    assert overlapping(good) == []
    assert struck_through(good) == []
