"""The demo: the skiff's frames come out of her run as the other demo asks for them, and plan makes them."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING

from rib import Streams

from yieldplan.solve.assemble import assemble
from yieldplan.solve.simple import first_fit
from yieldplan.verify import verify
from yieldplan.workbook import read

if TYPE_CHECKING:
    import pytest

DATA = Path(__file__).resolve().parents[2] / "data_demo"


def test_the_blanks_of_the_inch_demo_come_out_of_the_skiffs_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With one length a kind, Blanks asks for the same frames to the mark: number, length and all else."""
    run = Streams(capsys, "stations", DATA / "skiff-run", "--out", tmp_path / "out", "--at-most", 1)
    assert (run.status, [line for line in run.err.splitlines() if "Warning" in line]) == (0, [])
    job = read(tmp_path / "out")
    assert job.warnings == ()
    wanted = {blank.name: blank for blank in read(DATA / "skiff-frames.xlsx").blanks}
    assert [blank.name for blank in job.blanks] == ["Floor timber", "Lower futtock", "Upper futtock"]
    assert all(blank == wanted[blank.name] for blank in job.blanks)


def test_one_station_gives_way_to_a_mould(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Station 5 is shifted in all three runs alike; the others stand in equal spaces of 17 in."""
    Streams(capsys, "stations", DATA / "skiff-run", "--out", tmp_path / "out")
    rows = list(csv.DictReader((tmp_path / "out" / "stations.csv").read_text(encoding="utf-8").splitlines()))
    marks = [(row["Mark, mm"], row["Mark, in"]) for row in rows]
    assert marks[:7] == marks[7:14] == marks[14:]
    inches = ['15"', '32"', '49"', '66"', '82 15/32"', '100"', '117"']
    assert [inch for _, inch in marks[:7]] == inches
    assert [row["Station"] for row in rows if row["Unshifted, mm"]] == ["5"] * 3


def test_the_list_stands_whole_in_80_columns(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With all its columns, no heading is cut short and no blank's name broken."""
    run = Streams(capsys, "stations", DATA / "skiff-run", "--out", tmp_path / "out", "--at-most", 1)
    lines = run.out.splitlines()
    assert max(map(len, lines)) <= 80
    words = [line.split() for line in lines]
    at = words.index(["Mark,", "Mark,", "Unshifted,", "Length,", "Length,"])
    assert words[at + 1] == ["Station", "mm", "in", "mm", "mm", "in", "Blank"]
    assert lines[at + 3].rstrip().endswith('10 1/16"  Floor timber')


def test_the_demos_own_pile_makes_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The copy is planned as it is: a plan from it makes every frame and passes the recheck."""
    Streams(capsys, "stations", DATA / "skiff-run", "--out", tmp_path / "out", "--at-most", 2)
    job = read(tmp_path / "out")
    plan = assemble(job, first_fit(job))
    assert verify(job, plan) == ()
    assert not plan.missing_total
    assert sum(blank.need for blank in job.blanks) == 7 + 14 + 14
