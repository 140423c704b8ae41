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
from yieldplan.model import Billet, Job, Offcut, Plan, WholeKeeper, milled
from yieldplan.model.errors import OutputError
from yieldplan.order import cutting_order
from yieldplan.order.paper import Text
from yieldplan.order.pdf import pdf_bytes, write_pdf
from yieldplan.order.views import face_view

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

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
    """With every blank missing there is a front page with the reasons, and every offcut is left alone."""
    job, plan = nothing_made(1)
    reasons = {blank.name: f"too short for {blank.name}" for blank in job.blanks}
    pages = read_pages(pdf_bytes(cutting_order(job, plan), reasons=reasons))
    check_legible(pages)
    text = "\n".join(line for page in pages for _, line, _ in page.lines())
    assert "SHORT" in text
    assert f"{job.blanks[0].name}, {job.blanks[0].need} missing: too short" in text
    for offcut in job.offcuts:
        assert offcut.name in text


def test_the_pages_of_300_offcuts_are_legible() -> None:
    """A pile of 300 offcuts prints as well as a small one (every thirtieth page is looked at)."""
    job, plan = random_plan(4, 300)
    check_legible(read_pages(pdf_bytes(cutting_order(job, plan), paper="a4"), every=30))


@pytest.mark.parametrize("times", [3, 40])
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_card_higher_than_a_page_is_printed_whole(paper: Paper, times: int) -> None:
    """Neither many billets nor one with very many pieces is cut off; later pages name the offcut again."""
    order = cutting_order(*random_plan(0, 4))
    card = max(order.cards, key=lambda card: len(card.pieces))
    many = replace(
        card,
        billets=card.billets * 4,
        measures=card.measures * 4,
        pieces=tuple(piece for piece in card.pieces for _ in range(times)),
    )
    pages = read_pages(pdf_bytes(replace(order, cards=(many,)), paper=paper), until="Crosscut saw")
    check_legible(pages)
    cards = [page.lines() for page in pages if page.lines()[0][1] == "Offcuts to cut"]
    assert len(cards) > 1
    assert all(any(text == f"{card.root} (continued)" for _, text, _ in lines) for lines in cards[1:])
    rows = [text for lines in cards for _, text, _ in lines if "its end A:" in text]
    assert len(rows) == len(card.pieces) * times * 4
    assert sum("After jointing" in text for lines in cards for _, text, _ in lines) == len(many.measures)


@pytest.mark.parametrize("seed", range(6))
def test_every_open_piece_is_named_on_the_face_or_below_it(seed: int) -> None:
    """Of the pieces that lie open on face 1 each name is in the drawing or in the line below it, never in both."""
    order = cutting_order(*random_plan(seed, 4))
    for card in order.cards:
        view, unnamed = face_view(card, 500.0, str)
        shown = [
            mark.text.removesuffix(" keep") for mark in view.marks if isinstance(mark, Text) and not mark.bold
        ]
        below = [name.removesuffix(" keep") for name in unnamed]
        assert not set(shown) & set(below)
        open_sections = [
            one
            for one in card.sections
            if not any(
                other.billet == one.billet
                and other.exact_z[0] < one.exact_z[0]
                and other.exact_y[0] < one.exact_y[1]
                and one.exact_y[0] < other.exact_y[1]
                for other in card.sections
            )
        ]
        names = [one.mark for one in open_sections if one.keeper]
        names += [piece.mark for one in open_sections for piece in card.pieces if piece.parent == one.mark]
        names += [segment.mark for segment in card.segments if segment.kind == "keeper"]
        assert sorted(names) == sorted([mark for mark in shown if mark in names] + below)


def test_a_batch_of_no_blanks() -> None:
    """An empty batch prints too."""
    job, plan = nothing_made(1)
    job, plan = replace(job, blanks=()), replace(plan, made=(), extra=(), missing=())
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


LENGTH = re.compile(
    rf"\S+-([A-Z]+\S*), ({FIGURE} to {FIGURE}) from end A(?:: keeper|, rip first|, resaw first)$"
)
PART = re.compile(r"(\S+)  ((?:edge 1|its end A): .+)$")


def card_rows(pages: list[Page]) -> Iterator[tuple[str, str, str, str]]:
    """Yield (card, kind of row, mark, rest of the row) from the cards as printed."""
    card = ""
    for page in pages:
        lines = page.lines()
        for size, text, _ in lines[1:-1] if lines[0][1] == "Offcuts to cut" else []:
            if size > 13.9:
                card = text.removesuffix(" (continued)")
            for kind, row in (("length", LENGTH), ("piece", PART)):
                if match := row.search(text):
                    yield card, kind, match[1], match[2]


def near(job: Job, rest: str, *spans: tuple[int, int]) -> bool:
    """Return whether a row's figures are these spans, to within two marks of the rule (rounding)."""
    found = [
        tuple(read(figure, job.shop.units, Rounding.STOCK) for figure in pair) for pair in RANGE.findall(rest)
    ]
    loose = 2 * job.shop.shown_steps
    return len(found) == len(spans) and all(
        abs(a - b) <= loose
        for pair, span in zip(found, spans, strict=True)
        for a, b in zip(pair, span, strict=True)
    )


@pytest.mark.parametrize("seed", range(100))
def test_the_cards_hold_the_measures_of_the_whole_plan(seed: int) -> None:
    """From the figures on the cards alone every segment, stick, blank and keeper is where the plan has it."""
    job, plan = random_plan(seed, 3)
    pages = read_pages(pdf_bytes(cutting_order(job, plan)), until="Crosscut saw")
    rows = list(card_rows(pages))
    for drawn in plan.offcuts:
        qty = job.offcut(drawn.offcut).qty
        root = drawn.offcut if qty == 1 else f"{drawn.offcut}#{drawn.copy}"
        for segment in drawn.segments:
            span = (segment.start, segment.end)
            if isinstance(segment, WholeKeeper):
                _take(rows, root, "length", lambda rest, span=span: near(job, rest, span))
            for wood, billet in milled(job.offcut(drawn.offcut), segment, job.shop):
                _take(rows, root, "length", lambda rest, span=span: near(job, rest, span))
                _check_billet(job, root, wood, billet, rows)
    assert rows == []


Rows = list[tuple[str, str, str, str]]


def _take(rows: Rows, root: str, table: str, fits: object) -> str:
    """Remove the first row of a card that fits, and return the rest of it."""
    for place, (card, kind, _, rest) in enumerate(rows):
        if card == root and kind == table and fits(rest):  # type: ignore[operator]
            del rows[place]
            return rest
    raise AssertionError(f"no such row on the card of {root}: {rows}")


def _check_billet(job: Job, root: str, wood: Offcut, billet: Billet, rows: Rows) -> None:
    for stick, y, z in lying(wood, billet):
        rest = _take(rows, root, "piece", lambda rest, y=y, z=z: near(job, rest, y, z))
        assert rest.endswith("keeper") == (stick is None or stick.keeper)
        for cut in stick.blanks if stick else ():
            along = (cut.start - billet.start, cut.end - billet.start)
            clear = f", sound end {cut.clear_end}" if job.blank(cut.blank).clear_end else ""
            words = f"  {cut.blank}{clear}"
            _take(
                rows, root, "piece",
                lambda rest, along=along, words=words: near(job, rest, along) and rest.endswith(words),
            )  # fmt: skip
        for keeper in stick.keepers if stick else ():
            along = (keeper.start - billet.start, keeper.end - billet.start)
            _take(rows, root, "piece", lambda rest, along=along: near(job, rest, along))


def test_a_card_says_what_a_billet_must_still_measure() -> None:
    """The figures after jointing are those that the sticks with blanks need, and there is one line a billet."""
    job, plan, pages = printed(3)
    order = cutting_order(job, plan)
    text = " ".join(line for page in pages for _, line, _ in page.lines())
    assert text.count("After jointing at least") == sum(len(card.measures) for card in order.cards)
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
