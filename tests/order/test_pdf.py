"""The printed pages: few, legible, to scale, with no figure that the plan does not have."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest
from figures import figures_and_margins, read_figures
from pages import Letter, Page, Stroke, overlapping, read_pages, struck_through
from random_plans import nothing_made, random_plan
from test_sawmill import DATA, demo
from tiny import INCH, tiny_drawn, tiny_job, tiny_plan

from yieldplan import read
from yieldplan.measuring.reasons import reasons
from yieldplan.model import Billet
from yieldplan.model.planfile import load_plan
from yieldplan.order import cutting_order
from yieldplan.order.listed import setting_lines
from yieldplan.order.pdf import page_count, pdf_bytes
from yieldplan.order.sentences import card_lines
from yieldplan.solve.assemble import assemble

if TYPE_CHECKING:
    from yieldplan.model import Job, Plan
    from yieldplan.pages.paper import Paper

LONG = ("Ж" * 60, "<b>&[red]{0}%s", "Λάρικας από το παλιό κατάρτι της βάρκας του λιμανιού, αριθμός 7")
MARGIN = 30.0
BOX = "☐"
CARDS = "Face 1 up"
"""How the head of every page of cards begins."""


SEEDS = range(4)


def printed(seed: int, paper: Paper = "letter", names: tuple[str, ...] = ()) -> tuple[Job, Plan, list[Page]]:
    """Return a random job, its plan, and the printed pages."""
    return _printed(seed, paper, names)


@cache
def _printed(seed: int, paper: Paper, names: tuple[str, ...]) -> tuple[Job, Plan, list[Page]]:
    job, plan = random_plan(seed, 4, names)
    return job, plan, read_pages(pdf_bytes(cutting_order(job, plan), paper=paper))


def words(page: Page) -> str:
    """Return all that stands on a page, line after line, with common spaces."""
    return "\n".join(text for _, text, _ in page.lines()).replace("\xa0", " ")


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
@pytest.mark.parametrize("seed", SEEDS)
def test_pages_are_legible_on_both_papers_in_both_units(seed: int, paper: Paper) -> None:
    """Nothing leaves the margins, nothing overlaps, no text is below 9 pt (seeds 0 and 3 are in inches)."""
    check_legible(printed(seed, paper)[2])


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_long_and_odd_names_wrap(paper: Paper) -> None:
    """Names of 60 signs, in Cyrillic and Greek, and with markup signs are printed whole and stay legible."""
    _, plan, pages = printed(0, paper, LONG)
    check_legible(pages)
    squeezed = "".join(letter.text for page in pages for letter in page.letters if not letter.text.isspace())
    for name in LONG:
        if any(drawn.offcut == name for drawn in plan.offcuts):
            assert name.replace(" ", "") in squeezed


def test_pages_of_a_plan_that_makes_nothing() -> None:
    """With every blank missing there is a set-up sheet with the reasons, and nothing else."""
    job, plan = nothing_made(1)
    reasons = {blank.name: f"too short for {blank.name}" for blank in job.blanks}
    (page,) = read_pages(pdf_bytes(cutting_order(job, plan), reasons=reasons))
    check_legible([page])
    assert "SHORT" in words(page)
    assert f"{job.blanks[0].name}, {job.blanks[0].need} missing: too short" in words(page)


def test_a_batch_of_no_blanks() -> None:
    """An empty batch prints too."""
    job, plan = nothing_made(1)
    job, plan = replace(job, blanks=()), replace(plan, made=(), spare=(), missing=())
    check_legible(read_pages(pdf_bytes(cutting_order(job, plan))))


def test_the_pages_of_a_large_pile_are_legible() -> None:
    """A pile of 50 offcuts prints as well as a small one (every fifteenth page is looked at)."""
    job, plan = random_plan(4, 50)
    check_legible(read_pages(pdf_bytes(cutting_order(job, plan), paper="a4"), every=15))


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize(
    ("name", "boards", "most"), [("skiff-frames.xlsx", 14, 8), ("floor-cleats-mm", 10, 6)]
)
def test_the_demos_take_few_pages(name: str, boards: int, most: int, paper: Paper) -> None:
    """Eight pages hold 14 boards in inches, six hold 10 in millimetres, with a quarter to spare.

    Each further two cost at most one page more. They are legible, and the file is under 1 MB.
    """
    job, plan = demo(name)
    data = pdf_bytes(cutting_order(job, plan), paper=paper, reasons=reasons(job, plan))
    assert len(data) < 1_000_000
    pages = read_pages(data)
    check_legible(pages)
    most += max(0, -(-(len(plan.offcuts) - boards) // 2))
    low = max(letter.y2 for letter in pages[-1].letters if letter.y2 < pages[-1].height - 60)
    assert len(pages) < most or (len(pages) == most and low < 0.75 * pages[-1].height)


def test_each_further_two_boards_cost_at_most_a_page() -> None:
    """Sixty boards that are all a little different, so that no two share a card."""
    job, count = tiny_job(), 60
    piles = [replace(job.offcuts[0], name=f"P{number}", note=f"number {number}") for number in range(count)]
    blanks = (replace(job.blanks[0], need=3 * count),)
    many = replace(job, offcuts=tuple(piles), blanks=blanks, shop=replace(job.shop, keeper_length=100 * INCH))
    plan = assemble(many, [replace(tiny_drawn(job), offcut=pile.name) for pile in piles])
    assert page_count(pdf_bytes(cutting_order(many, plan))) <= 10 + (count - 14) // 2


@pytest.mark.parametrize("seed", [0, 2])
def test_no_page_of_cards_is_less_than_a_third_full_but_the_last(seed: int) -> None:
    """A card that does not fit below another goes to the next page only where this one is full enough."""
    job, plan = random_plan(seed, 8)
    pages = read_pages(pdf_bytes(cutting_order(job, plan)))
    cards = [page for page in pages if words(page).startswith(CARDS)]
    assert len(cards) > 1
    for page in cards[:-1]:
        foot = max(letter.y2 for letter in page.letters)
        low = max(letter.y2 for letter in page.letters if letter.y2 < foot - 2)
        assert low - MARGIN > (foot - MARGIN) / 3


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("seed", SEEDS)
def test_no_list_begins_where_none_of_its_lines_has_room(seed: int, paper: Paper) -> None:
    """Under the title of a machine list there are boxes to tick on the same page."""
    job, plan, pages = printed(seed, paper)
    titles = [one.title for one in cutting_order(job, plan).lists]
    assert sum(title in words(page).split("\n") for page in pages for title in titles) == len(titles)
    for page in pages:
        for title in titles:
            before, found, after = words(page).partition(f"{title}\n")
            assert not found or BOX in after, before


def test_a_list_that_goes_on_says_its_title_again() -> None:
    """Each page of machine lists begins with a list's title."""
    job, plan = random_plan(1, 16)
    order = cutting_order(job, plan)
    titles = {one.title for one in order.lists}
    pages = read_pages(pdf_bytes(order))
    tops = [page.lines()[0][1] for page in pages]
    listed = [place for place, page in enumerate(pages) if titles & set(words(page).split("\n"))]
    assert len(listed) > 1
    for place in range(listed[0] + 1, listed[-1] + 1):
        assert tops[place].removesuffix(", continued") in titles
    assert any(top.endswith(", continued") for top in tops)


def test_every_page_says_which_plan_it_belongs_to() -> None:
    """Input name, fingerprint and page n of m stand at every page's foot; the count is what is told the user."""
    job, plan, pages = printed(3)
    order = cutting_order(job, plan)
    assert page_count(pdf_bytes(order)) == len(pages)
    for number, page in enumerate(pages, 1):
        foot = page.lines()[-1][1]
        assert foot == f"{job.name}, plan {order.fingerprint}  page {number} of {len(pages)}"


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


@pytest.mark.parametrize("seed", SEEDS)
def test_every_step_and_every_line_of_a_list_has_a_box_to_tick(seed: int) -> None:
    """The pages hold a box for each step of each board and for each item of the machine lists."""
    job, plan, pages = printed(seed)
    order = cutting_order(job, plan)
    steps = sum(len(card_lines(card, job.shop)) for card in order.cards)
    items = sum(
        len(line.items)
        for one in order.lists
        for setting in one.settings
        for line in setting_lines(setting, job.shop)
    )
    assert sum(words(page).count(BOX) for page in pages) == steps + items


@pytest.mark.parametrize("seed", SEEDS)
def test_what_a_hand_works_by_is_large_enough(seed: int) -> None:
    """Steps and lines to tick are set in 11 pt, and a machine's setting in 14 pt."""
    _, _, pages = printed(seed)
    for page in pages:
        sizes = {letter.size for letter in page.letters if letter.text == BOX}
        assert all(size > 10.9 for size in sizes)
    settings = [
        letter for page in pages for letter in page.letters if letter.size > 13.9 and "Bold" in letter.font
    ]
    assert any(letter.text.isdigit() for letter in settings)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_figure_is_one_of_the_plan(seed: int) -> None:
    """Read back out of the file each fraction of an inch, each half of a millimetre is a length that the plan has."""
    job, plan, pages = printed(seed)
    order = cutting_order(job, plan)
    known = figures_and_margins(order)
    read_back = [
        (text, steps)
        for page in pages
        for text in words(page).split("\n")
        for steps in read_figures(text, job)
    ]
    assert read_back
    assert [(text, steps) for text, steps in read_back if steps not in known] == []


@pytest.mark.parametrize("seed", SEEDS)
def test_the_face_is_drawn_to_scale(seed: int) -> None:
    """Every board's face is drawn as a rectangle of its own proportions."""
    job, plan, pages = printed(seed)
    boxes = [box for page in pages for box in page.boxes if box[2] - box[0] > 60]
    shapes = [(x2 - x1) / (y2 - y1) for x1, y1, x2, y2 in boxes]
    for drawn in plan.offcuts:
        offcut = job.offcut(drawn.offcut)
        assert any(abs(shape - offcut.length / offcut.width) < 0.01 for shape in shapes), offcut.name


def test_running_measures_stand_over_their_places() -> None:
    """The figure of a rough crosscut is joined by a line to its place on the face, to scale."""
    job = tiny_job()
    (page,) = [
        page
        for page in read_pages(pdf_bytes(cutting_order(job, tiny_plan(job))))
        if words(page).startswith(CARDS)
    ]
    offcut = job.offcuts[0]
    face = max(page.boxes, key=lambda box: box[2] - box[0])
    scale = (face[2] - face[0]) / offcut.length
    billet = tiny_drawn(job).billets[0]
    for place in (billet.start, billet.end):
        x = face[0] + scale * place
        assert any(
            abs(one.x1 - x) < 0.01
            and abs(min(one.y1, one.y2) - face[1]) < 7
            and abs(max(one.y1, one.y2) - face[1]) < 0.1
            for one in page.strokes
        ), place


def test_a_blank_behind_a_gap_has_a_running_measure_where_it_begins() -> None:
    """Where a defect or a clear end leaves a gap, the figures say where it ends as well."""
    job = tiny_job()
    drawn = tiny_drawn(job)
    (billet,) = drawn.billets
    assert isinstance(billet, Billet)
    strip, *others = billet.strips
    before, behind = strip.sticks[0].blanks
    moved = replace(behind, start=behind.start + INCH, end=behind.end + INCH)
    strip = replace(strip, sticks=(replace(strip.sticks[0], blanks=(before, moved)),))
    billet = replace(billet, end=28 * INCH, strips=(strip, *others))
    order = cutting_order(job, assemble(job, [replace(drawn, billets=(billet,))]))
    (card,) = [text for text in map(words, read_pages(pdf_bytes(order))) if text.startswith(CARDS)]
    assert "14 1/8" in card


@pytest.mark.parametrize("seed", SEEDS)
def test_billets_and_ends_are_told_apart(seed: int) -> None:
    """Every end view says what it shows and which face is up; no billet is called by its letter alone."""
    job, plan, pages = printed(seed)
    cards = "\n".join(text for text in map(words, pages) if text.startswith(CARDS))
    for card in cutting_order(job, plan).cards:
        for milled in card.milled:
            mark = milled.name.removeprefix(card.board).lstrip("-")
            shown = f"Billet {mark}, face 1 up" if mark[:1].isalpha() and mark[:1].isupper() else "face 1 up"
            assert shown in cards
    assert not re.search(r"(?m)^☐+ +[A-Z]: ", cards)


def test_the_end_is_seen_from_end_a() -> None:
    """With face 1 up, edge 1 is on the right: the first strip's stick stands right of the second's."""
    job = tiny_job()
    pages = read_pages(pdf_bytes(cutting_order(job, tiny_plan(job))))
    page = next(page for page in pages if words(page).startswith(CARDS))
    right = [letter for letter in page.letters if letter.x1 > page.width - 80 and letter.y1 > 2 * MARGIN]
    edge = next(letter for letter in right if letter.text == "e")
    ones, twos = (
        [
            one.x1
            for one in page.letters
            if one.text == sign and one.x1 > page.width * 0.7 and abs(one.y1 - edge.y1) < 30
        ]
        for sign in "12"
    )
    assert min(ones) > min(twos)


def test_low_faces_are_raised_for_names_where_that_costs_no_page() -> None:
    """On A4 the cards of the inch demo are low to save a page; all lower futtocks are named all the same."""
    job, plan = read(DATA / "skiff-frames.xlsx"), load_plan((DATA / "skiff-plan.json").read_bytes())
    pages = read_pages(pdf_bytes(cutting_order(job, plan), paper="a4"))
    cards = [words(page) for page in pages if words(page).startswith(CARDS)]
    assert len(cards) == 3
    assert sum(page.count("Lower futtock") for page in cards) == 16


def test_like_boards_cut_alike_share_a_card() -> None:
    """Each step has a box a board, and each board its line to write what came of it."""
    job = tiny_job()
    job = replace(
        job,
        offcuts=(replace(job.offcuts[0], qty=3), job.offcuts[1]),
        shop=replace(job.shop, keeper_length=100 * INCH),
        blanks=(replace(job.blanks[0], need=9),),
    )
    drawn = tiny_drawn(job)
    plan = assemble(job, [replace(drawn, copy=copy) for copy in (1, 2, 3)])
    pages = read_pages(pdf_bytes(cutting_order(job, plan)))
    (page,) = [words(page) for page in pages if words(page).startswith(CARDS)]
    assert "P1#1, P1#2 and P1#3" in page
    assert BOX * 3 in page
    assert page.count("blanks good") == 3


def test_tickets_are_printed_only_when_asked_for() -> None:
    """A ticket for each stick and each keeper, three beside one another."""
    job = tiny_job()
    order = cutting_order(job, tiny_plan(job))
    plain, more = (read_pages(pdf_bytes(order, tickets=tickets)) for tickets in (False, True))
    assert len(more) == len(plain) + 1
    check_legible(more)
    ticket = words(more[-1])
    assert "P1-1" in ticket
    assert "P1-2" in ticket
    assert all(kept.name in ticket for kept in order.rack)


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
