"""What the screen says behind a plan's summary: what to buy, how much more there is, which cards hold."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

import pytest
from rib import BLANKS, OFFCUTS, Streams, folder

if TYPE_CHECKING:
    from pathlib import Path

NEEDY = [BLANKS[0], ["Rib", "4", *BLANKS[1][2:]]]
YARD = [
    ["Stock", "Length", "Width", "Thickness", "Price", "Faults", "At most"],
    ["Short oak", "20", "2 1/2", "1 1/4", "$3", "20", ""],
    ["Long oak", "84", "2 1/2", "1 1/4", "$8.50", "0", ""],
]


def pile(path: Path, *yard: list[str], blanks: list[list[str]] = NEEDY) -> Path:
    """Write a csv folder of one board that gives one Rib, and a yard.csv with these rows if there are any."""
    made = folder(path / "pile", OFFCUTS, blanks)
    if yard:
        with (made / "yard.csv").open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([YARD[0], *yard])
    return made


def plan(capsys: pytest.CaptureFixture[str], source: Path, *more: str) -> Streams:
    """Return one run of plan, its report on one line."""
    run = Streams(capsys, "plan", source, "--out", source.parent / "order", "--seconds", "1", *more)
    run.out = " ".join(run.out.split("CUTTING ORDER")[0].split())
    return run


def test_the_cheapest_boards_of_the_yard(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Money, how many of each, what they give, how they are cut, how good that is, and the waste; the status is 3."""
    run = plan(capsys, pile(tmp_path, *YARD[1:]))
    assert run.status == 3
    assert "What to buy $8.50 buys boards that make what is missing: 3 ribs." in run.out
    assert run.out.index("What to buy") < run.out.index("SHORT: ")
    assert "1 Long oak 84 × 2 1/2 × 1 1/4 $8.50 3 ribs" in run.out
    assert "for 3 ribs. Proven: no boards on Yard that make as much cost less." in run.out
    # 84 x 2 1/2 x 1 1/4 in is 1.82 board feet, three ribs of 12 x 2 x 1 in 0.50; what is kept is said by the account.
    assert "That is 1.82 board feet of boards" in run.out
    assert "for 0.50 board feet of blanks" in run.out
    assert "none is missing" not in run.out


def test_what_no_board_of_the_yard_gives(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What can be had is bought; for the rest the smallest board is said."""
    limited = [*YARD[1][:5], "0", "2"]
    run = plan(capsys, pile(tmp_path, limited))
    assert run.status == 3
    assert "$6.00 buys boards that make part of what is missing: 2 ribs." in run.out
    assert "No boards were found on Yard for Rib (1)." in run.out
    assert "Rib, 3 missing: each takes a sound, straight board, at least 14 × 2 3/16 × 1 1/8 in." in run.out


def test_without_a_yard_the_smallest_board(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its size, one for all, and what a sheet Yard would tell."""
    run = plan(capsys, pile(tmp_path))
    assert run.status == 3
    assert "Rib, 3 missing: each takes a sound, straight board, at least 14 × 2 3/16 × 1 1/8 in." in run.out
    # 14 in and two more ribs of 12 in with a crosscut of 1/8 in each.
    assert 'One 38 1/4" long gives all 3.' in run.out
    assert "on a sheet Yard" in run.out


def test_nothing_to_buy(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where nothing is missing the yard is not spoken of."""
    run = plan(capsys, pile(tmp_path, *YARD[1:], blanks=BLANKS))
    assert run.status == 0
    assert "What to buy" not in run.out


def test_how_much_more_and_how_often(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Only where they are asked for."""
    source = pile(tmp_path, blanks=BLANKS)
    assert "How much more" not in plan(capsys, source).out
    run = plan(capsys, source, "--more", "--sets")
    assert run.status == 0
    assert "How much more Not enough for one more: Rib." in run.out
    assert (
        "Whole batches The whole pile makes the batch 1 time, and not more. Spares are not counted."
        in run.out
    )


def test_a_batch_that_is_never_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """That no plan makes it is said as such."""
    run = plan(capsys, pile(tmp_path), "--sets")
    assert "No plan makes the whole batch out of this pile." in run.out


def test_cards_that_hold(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Planned again like itself every card holds; after the board has gone none does."""
    source = pile(tmp_path, blanks=BLANKS)
    plan(capsys, source)
    kept = tmp_path / "older.json"
    (tmp_path / "order" / "plan.json").rename(kept)
    assert "Cards Cards that still hold: P1." in plan(capsys, source, "--like", str(kept)).out
    paper = (tmp_path / "order" / "cutting-order.txt").read_text("utf-8")
    assert "Cards that still hold: P1." in paper
    other = [OFFCUTS[0], ["P2", "14", "2 3/8", "1 1/4"]]
    (tmp_path / "next").mkdir()
    run = plan(capsys, folder(tmp_path / "next" / "pile", other, BLANKS), "--like", str(kept))
    assert run.status == 0
    assert "None of the older plan's cards holds any more" in run.out


@pytest.mark.parametrize("data", ["{}", None])
def test_an_older_plan_must_be_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], data: str | None
) -> None:
    """A file that is none, or is not there, is bad input; nothing is planned."""
    older = tmp_path / "older.json"
    if data:
        older.write_text(data)
    run = plan(capsys, pile(tmp_path), "--like", str(older))
    assert (run.status, run.out) == (2, "")
    assert "expected a plan.json that yieldplan wrote" in run.err


def test_words_of_the_user_steer_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Square brackets in a stock's name are shown as they are."""
    run = plan(capsys, pile(tmp_path, ["[bold]oak", *YARD[2][1:]]))
    assert "[bold]oak: a billet" in run.out
