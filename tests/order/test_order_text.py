"""The cutting order as text: every line at a pinned width, safe to show whatever was typed."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from random_plans import nothing_made, random_plan
from rich.cells import cell_len
from test_sawmill import demo
from tiny import tiny_job, tiny_plan

from yieldplan.model.pieces import PieceNames
from yieldplan.order import cutting_order, order_text
from yieldplan.order.cautions import ALWAYS, DEFER, cautions
from yieldplan.order.data import At, Square, Stop
from yieldplan.order.sentences import card_lines
from yieldplan.order.text import boards_text
from yieldplan.pages.wording import figure

CARD = """\
P1: 40 × 6 × 1 3/4, White oak, rack loft. Gives 3 ribs.
! No spare board.
[ ] Cut out from 1/2 to 27; keep K1 from 27 1/8 to 40.
[ ] Face 1 flat; edge 1 straight and square: a blank is lost below 4 7/8 wide or 1 3/8
    thick.
[ ] Table saw, face 1 down, edge 1 to fence: rip 2 3/8, twice (sticks 1 and 2); the rest
    is waste.
[ ] Bandsaw, sticks 1 and 2 each, edge 1 side down, face 1 to fence: resaw 1 3/8; the rest
    is waste.
[ ] Sticks 1 and 2: plane 2 1/4 × 1 5/16 (takes 1/8 and 1/16; stick 2: sawn edge down,
    then turn over).
[ ] Stick 1: square end A; stop 12: 1 rib, clear end A; stop 12: 1 rib, clear end B.
[ ] Stick 2: square end A; stop 12: 1 rib, clear end A, the rest is K2: keep it.

"""

ENDING = """\
RACK: WHAT GOES BACK
====================
[ ] K1, 12 7/8 × 6 × 1 3/4: White oak, from P1, rings 45°; no side jointed
[ ] K2, 13 7/8 × 2 1/4 × 1 5/16: White oak, from P1, rings 45°; jointed: all round

LEFT ALONE
==========
P2 (2 of 2)
"""


def tiny_text(*, width: int = 90, offcut: str = "P1", blank: str = "Rib") -> str:
    """Return the tiny plan's text."""
    job = tiny_job(offcut=offcut, blank=blank)
    return order_text(cutting_order(job, tiny_plan(job)), width=width)


def test_the_tiny_plans_card_in_full() -> None:
    """Every line of the tiny plan's one board, as a builder reads it."""
    text = tiny_text()
    begin = text.index("P1: 40")
    assert text[begin : begin + len(CARD)] == CARD


def test_the_tiny_plans_ending_in_full() -> None:
    """What goes back on the rack and what is left alone stand at the end."""
    text = tiny_text()
    assert text[text.index("RACK") :] == ENDING


def test_board_by_board_is_what_the_screen_shows() -> None:
    """Cards and rack, and no machine's list: the same lines as in the file."""
    job = tiny_job()
    text = boards_text(cutting_order(job, tiny_plan(job)), width=90)
    assert text.startswith(f"BOARD BY BOARD\n==============\n{CARD}")
    assert text.endswith(ENDING.partition("LEFT")[0])


@pytest.mark.parametrize("seed", range(12))
def test_cards_and_lists_have_the_same_figures(seed: int) -> None:
    """Every fence, planed size and stop of a machine's list stands on a card as well, written the same."""
    job, plan = random_plan(seed)
    order = cutting_order(job, plan)
    said = " ".join(line.text for card in order.cards for line in card_lines(card, job.shop))
    settings = [setting for one in order.lists for setting in one.settings]
    sizes = {setting.size for setting in settings if not isinstance(setting.steps[0], Square)} - {None}
    assert not [fig for fig in map(figure(job.shop), sizes) if fig not in said]  # type: ignore[arg-type]


@pytest.mark.parametrize("width", [72, 80, 96, 130])
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_no_line_is_longer_than_the_width(seed: int, width: int) -> None:
    """The text keeps to its width, whatever names there are."""
    text = order_text(cutting_order(*random_plan(seed, names=("Ж" * 60, "船" * 20))), width=width)
    assert max(cell_len(line) for line in text.splitlines()) <= width


def test_names_cannot_steer_the_terminal() -> None:
    """Control characters in names are written out, and no row is broken by a line end."""
    text = tiny_text(offcut="P\x1b[31m1\n2", blank="Rib\u202e\x07")
    assert not set(text) & {"\x1b", "\x07", "\u202e"}
    assert "P\\x1b[31m1\\n2" in text
    assert all(line.isprintable() for line in text.splitlines())


def test_cautions_stand_once_a_machine_and_give_way_to_the_manual() -> None:
    """Each machine of a list has its cautions above it, once; what comes first of all is said as well."""
    text = " ".join(tiny_text(width=300).split())
    listed = (caution for at in At if at is not At.JOINTER for caution in cautions(at, tiny_job().shop))
    for caution in (*listed, *ALWAYS, DEFER):
        assert text.count(caution) in (1, 2)  # the crosscut saw has two lists


def test_cautions_say_lengths_in_the_shops_unit_first() -> None:
    """The other unit stands behind it in brackets."""
    inches = tiny_job().shop
    metric = replace(inches, units="mm")
    assert "Clamp anything shorter than 12 in (300 mm)." in cautions(At.CROSSCUT, inches)[0]
    assert "Clamp anything shorter than 300 mm (12 in)." in cautions(At.CROSSCUT, metric)[0]
    assert "At most 1/8 in (3 mm) a pass" in cautions(At.PLANER, inches)[1]


@pytest.mark.parametrize("seed", range(12))
def test_every_stick_and_keeper_is_named_on_its_card(seed: int) -> None:
    """Nothing that a saw frees is left without its name."""
    job, plan = random_plan(seed)
    order = cutting_order(job, plan)
    names = PieceNames(job, plan)
    for card in order.cards:
        said = " ".join(line.text for line in card_lines(card, job.shop))
        for keeper, _ in names.keepers(card.drawn):
            assert keeper in said


def test_nothing_to_cut_lists_what_is_left_alone() -> None:
    """A plan that draws nothing has no cards; all boards are left alone."""
    text = order_text(cutting_order(*nothing_made(0)))
    assert "BOARD BY BOARD" not in text
    assert "P1" in text[text.index("LEFT ALONE") :]


def test_why_blanks_are_missing_stands_in_the_file() -> None:
    """The reasons that the screen gives are kept with the order."""
    job = tiny_job()
    text = order_text(cutting_order(job, tiny_plan(job)), reasons={"Rib": "All boards are used up."})
    assert "Rib, 1 missing: All boards are used up.\n" in text


@pytest.mark.parametrize("seed", range(6))
def test_no_word_of_the_solvers(seed: int) -> None:
    """Nothing is said of how the plan was found, but how good it is."""
    text = order_text(cutting_order(*random_plan(seed))).lower()
    words = set(re.findall("[a-z]+", text))
    assert not words & {
        "bound",
        "gap",
        "column",
        "columns",
        "dual",
        "cost",
        "worth",
        "objective",
        "incumbent",
    }


def test_spares_are_named_where_they_are_cut() -> None:
    """On the lists of the stop as many blanks are said to be spares as the plan makes; needs are not."""
    job, made = demo("skiff-frames.xlsx")
    assert made.spare_total
    order = cutting_order(job, made)
    steps = [step for one in order.lists for setting in one.settings for step in setting.steps]
    stops = [step for step in steps if isinstance(step, Stop)]
    assert sum(step.spare for step in stops) == made.spare_total
    said = re.findall(r"^\[ \] .*\d of \d+, .*spares?\b", order_text(order), re.MULTILINE)
    assert len(said) == sum(step.spare > 0 for step in stops)
