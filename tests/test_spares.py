"""Spares from the sheet to the saw: a share of the need, made after all needs, and named as spares in the order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rib import BLANKS, OFFCUTS, Streams, folder

from yieldplan.model.planfile import load_plan

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

HEADINGS = [*BLANKS[0], "Spare", "Priority"]
BOARD = ["P1", "14", "2 3/8", "1 1/4"]


def planned(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], boards: int, *rows: list[str]
) -> tuple[Streams, dict[str, tuple[int, int]], str]:
    """Return a run of plan on like boards of one rib each: what is made and spare, and the order's text."""
    pile = [[*OFFCUTS[0], "Qty"], [*BOARD, str(boards)]]
    source = folder(tmp_path / "pile", pile, [HEADINGS, *rows])
    run = Streams(capsys, "plan", source, "--out", tmp_path / "order", "--seconds", "1")
    plan = load_plan((tmp_path / "order" / "plan.json").read_bytes())
    spare = dict(plan.spare)
    made = {name: (count, spare[name]) for name, count in plan.made}
    return run, made, (tmp_path / "order" / "cutting-order.txt").read_text(encoding="utf-8")


def test_a_share_of_the_need(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """34 % of 3 is two spares, a part of one counted whole; screen and order say so."""
    run, made, text = planned(tmp_path, capsys, 6, ["Rib", "3", "12", "2", "1", "34 %", ""])
    assert (run.status, made) == (0, {"Rib": (3, 2)})
    assert "All 3 needed blanks are made, and 2 of 2 spares" in run.out
    assert "3 of 3 made and 2 spares" in text


def test_needs_come_before_spares(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A need of the last priority is met before a spare of the first; what is not made of spares is no failure."""
    rows = (["Rib", "2", "12", "2", "1", "2", "1"], ["Cleat", "2", "11", "2", "1", "", "2"])
    run, made, _ = planned(tmp_path, capsys, 5, *rows)
    assert (run.status, made) == (0, {"Rib": (2, 1), "Cleat": (2, 0)})
    assert "All 4 needed blanks are made, and 1 of 2 spares" in run.out


def test_a_kind_that_misses_any_has_no_spare(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two of three are made, so nothing is called a spare; the status says that one is missing."""
    run, made, text = planned(tmp_path, capsys, 2, ["Rib", "3", "12", "2", "1", "100 %", ""])
    assert (run.status, made) == (3, {"Rib": (2, 0)})
    assert "and 2 spares" not in text
    assert "2 of 3 made" in text
