"""The demo that stops half way: its README's commands, from the first settling to the ledger."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest
from rib import Streams

from yieldplan.cli import main
from yieldplan.model.planfile import load_plan
from yieldplan.pages.wording import bare_volume
from yieldplan.pile.ledger import UNITS, read_ledger
from yieldplan.verify import verify
from yieldplan.workbook import read

DEMO = Path(__file__).parents[2] / "data_demo"
SHED = DEMO / "half-way"


def commands() -> list[list[str]]:
    """Return the commands that the README gives for this demo, in their order."""
    text = (DEMO / "README.md").read_text(encoding="utf-8").split("## `half-way/`")[1]
    found = re.findall(r"^    yieldplan (.*)$", text, re.MULTILINE)
    return [shlex.split(line) for line in found]


@pytest.fixture(scope="module")
def shed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy the demo into a folder of its own, for the ledger is kept beside the input."""
    return Path(shutil.copytree(SHED, tmp_path_factory.mktemp("demo") / "half-way"))


def test_its_plan_is_one_of_its_input() -> None:
    """It passes the recheck, draws six to eight boards and makes all that is needed."""
    job, plan = read(SHED / "stern-frames.xlsx"), load_plan((SHED / "plan.json").read_bytes())
    assert verify(job, plan) == ()
    assert 6 <= len(plan.offcuts) <= 8
    assert plan.missing_total == 0


def test_the_commands_of_its_readme_lead_from_half_way_to_the_ledger(
    shed: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Settle half way, plan the rest, finish, see the ledger: the lost blanks are made from other boards."""
    monkeypatch.chdir(shed)
    half_way, plan, finish, ledger = commands()
    assert [line[0] for line in (half_way, plan, finish, ledger)] == ["settle", "plan", "settle", "ledger"]
    first = Streams(capsys, *half_way)
    assert first.status == 0
    assert "4 boards cut. Good: 2 floor timbers, 2 futtocks, 8 quarter knees; 4 blanks spoiled." in first.out
    assert main([*plan, "--seconds", "1"]) == 0
    order = shed / plan[plan.index("--out") + 1]
    rest = load_plan((order / "plan.json").read_bytes())
    assert {"S01", "S03", "S09"} & {drawn.offcut for drawn in rest.offcuts}
    capsys.readouterr()
    last = Streams(capsys, *finish)
    assert (last.status, last.out.splitlines()[1]) == (0, "All that was needed is made.")
    shown = Streams(capsys, *ledger)
    assert "2026: 2 batches" in shown.out
    batches = read_ledger(shed / "ledger.csv")
    assert list(batches["Blanks spoiled"]) == [4, 0]
    assert batches["Blanks good"].sum() == 12 + sum(1 for drawn in rest.offcuts for _ in drawn.blanks)


@pytest.mark.parametrize(
    ("source", "plan"),
    [
        ("skiff-frames.xlsx", "skiff-plan.json"),
        ("half-way/stern-frames.xlsx", "half-way/plan.json"),
        ("floor-cleats-mm", ""),
    ],
)
def test_order_settling_and_ledger_agree_to_the_digit(
    source: str, plan: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is drawn and kept, and the waste figure, are the same figures wherever they are printed."""
    place = tmp_path / Path(source).name
    (shutil.copytree if (DEMO / source).is_dir() else shutil.copy)(DEMO / source, place)
    plan_file, order, out = (
        tmp_path / "order" / "plan.json",
        tmp_path / "order",
        tmp_path / f"next{place.suffix}",
    )
    if plan:
        order.mkdir()
        shutil.copy(DEMO / plan, plan_file)
        shown = Streams(capsys, "order", place, plan_file, "--out", order).out
    else:
        shown = Streams(capsys, "plan", place, "--out", order, "--seconds", 0.2).out
    said = re.search(
        r"Wood: (\S+) (board feet|m³) drawn(?:, (\S+) kept)?; waste figure (\S+ %)\.", " ".join(shown.split())
    )
    assert said is not None
    settled = Streams(capsys, "settle", place, plan_file, order / "what-happened.csv", "--out", out)
    assert said[0] in settled.out
    drawn, unit, kept, waste = said.groups()
    ledger = Streams(capsys, "ledger", tmp_path / "ledger.csv").out
    figures = " ".join((drawn, kept or bare_volume(0, UNITS[unit]), waste))
    lines = [" ".join(line.split()) for line in ledger.splitlines()]
    assert sum(figures in line for line in lines) == 2, "the batch and the sum of its year"
    assert f"Volumes in {unit};" in ledger
