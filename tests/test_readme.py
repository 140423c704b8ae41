"""README.md says what is so: its commands, its run, its example; and DEVELOPERS.md its worked board."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from rib import Streams

from yieldplan import read as read_job
from yieldplan.guide import TOPICS, title
from yieldplan.model import (
    Billet,
    CutBlank,
    OffcutPlan,
    Stick,
    Strip,
    keepers,
    section,
    whole,
    work_of,
    worth,
)
from yieldplan.model.wood import sound_ends
from yieldplan.model.work import prices

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
DEMO = ROOT / "data_demo"


def blocks(language: str) -> list[str]:
    """Return the fenced blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def test_there_are_two_commands_of_one_line_each() -> None:
    """One for the main job, one for the tests; each makes its own environment."""
    job, tests = blocks("sh")
    assert job.count("\n") == tests.count("\n") == 1
    assert job.startswith("python3 -m venv .venv && ")
    assert tests.startswith("python3 -m venv .venv && ")
    assert "yieldplan plan data_demo/skiff-frames.xlsx" in job


def test_ci_runs_the_test_command_as_it_stands() -> None:
    """The line in .ci/run is README's, letter for letter."""
    _, tests = blocks("sh")
    assert f'\nrun "{tests.strip()}"\n' in (ROOT / ".ci/run").read_text(encoding="utf-8")


def test_ci_also_runs_what_reads_the_code() -> None:
    """Each in the same fresh environment."""
    script = (ROOT / ".ci/run").read_text(encoding="utf-8")
    for tool in ("ruff check .", "ruff format --check .", "mypy", "lint-imports"):
        assert f'run ".venv/bin/{tool}"' in script


def test_it_is_short() -> None:
    """A screen and a half: all else is in the guide."""
    assert len(README.encode()) < 9000


def test_developers_page_is_short() -> None:
    """What belongs beside the code or its tests stands there."""
    assert len(DEVELOPERS.encode()) < 20_000


def test_the_shown_run_is_what_is_printed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Word for word what is said of the demo's saved plan, which is rechecked for it."""
    monkeypatch.setenv("COLUMNS", "80")
    saved = DEMO / "skiff-plan.json"
    run = Streams(capsys, "order", DEMO / "skiff-frames.xlsx", saved, "--out", tmp_path)
    assert run.status == 0
    (shown,) = blocks("text")
    assert 10 <= shown.count("\n") <= 16
    assert run.out == shown


def test_the_picture_is_small() -> None:
    """A png that a slow line can bear."""
    picture = (DEMO / "board-card.png").read_bytes()
    assert picture.startswith(b"\x89PNG\r\n")
    assert 10_000 < len(picture) < 150_000


def test_every_page_of_the_guide_is_listed() -> None:
    """With what the page itself says that it is about."""
    listed = re.findall(r"^\| `(\w+)` \| (.*) \|$", README, re.MULTILINE)
    assert listed == [(topic, title(topic).partition(": ")[2]) for topic in TOPICS]


def test_the_python_example_runs() -> None:
    """Ten lines at most; they end without an error and show tables, minutes and what is wasted."""
    (example,) = blocks("python")
    assert "seconds=5" in example
    assert len([line for line in example.splitlines() if line.strip()]) <= 10
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", example.replace("seconds=5", "seconds=0.5")],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert re.search(r"blank +need +made +missing$", done.stdout, re.MULTILINE)
    assert re.search(r"^minutes: \d+", done.stdout, re.MULTILINE)
    assert re.search(r"kerf +\d+\.\d+$", done.stdout, re.MULTILINE)


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_what_it_points_to_is_there(page: str) -> None:
    """Linked files and named paths exist; nothing outside the project is needed."""
    links = re.findall(r"\]\(([^)]+)\)", page)
    paths = re.findall(r"(?:data_demo|yieldplan|tests)/[\w./-]*\w|yieldplan/pages/fonts/", page)
    assert paths
    for path in (*links, *paths):
        assert (ROOT / path).exists(), path
    assert "../" not in page


def test_the_worked_board_comes_to_its_figures() -> None:
    """What DEVELOPERS.md works out for one board of the demo is what the model makes of that cutting."""
    demo = read_job(DEMO / "skiff-frames.xlsx")
    shop, offcut, frame = demo.shop, demo.offcut("P025"), demo.blank("Transom frame")
    low, high = sound_ends(offcut, shop)
    wood = whole(offcut)
    lost = wood.face_loss(high - low, shop), wood.edge_loss(high - low, shop)
    rough = section(offcut, frame, shop, turned=False)
    figures = (
        low,
        high,
        *lost,
        wood.width - lost[1],
        wood.thickness - lost[0],
        rough.rough_width,
        rough.rough_thickness,
        frame.length,
    )
    assert tuple(figure // shop.mark for figure in figures) == (24, 744, 3, 4, 188, 49, 76, 44, 672)
    first = low + shop.stick_trim
    cut = CutBlank(blank=frame.name, start=first, end=first + frame.length)
    stick = Stick(start=0, end=44 * shop.mark, blanks=(cut,))
    strips = tuple(Strip(start=n * shop.mark, end=(n + 76) * shop.mark, sticks=(stick,)) for n in (0, 80))
    billet = Billet(
        start=low, end=high, layout="rip first", face_loss=lost[0], edge_loss=lost[1], strips=strips
    )
    drawn = OffcutPlan(offcut="P025", copy=1, billets=(billet,))
    work = work_of(demo, [drawn])
    assert (work.passes, work.crosscuts, work.sticks, work.saw_settings, work.planer_settings) == (
        2,
        6,
        2,
        1,
        2,
    )
    own = replace(work, saw_settings=0, planer_settings=0, stop_settings=0)
    assert prices(shop).of(own) == 1400
    assert worth(offcut.length, offcut.width, offcut.thickness, shop) == 2031
    assert not list(keepers(demo, drawn))
    for words in (
        "= 2,031",
        "together 1,400",
        "costs 3,431",
        "24 to 744",
        "188 by 49",
        "76 by 44",
        "672 marks",
    ):
        assert words in DEVELOPERS


def test_modules_that_are_named_are_there() -> None:
    """A module that DEVELOPERS.md names within its room, as in `solve/master.py`, exists there."""
    named = re.findall(
        r"`((?:model|workbook|solve|verify|order|measuring|pile|stations)/\w+\.py)", DEVELOPERS
    )
    assert named
    for path in named:
        assert (ROOT / "yieldplan" / path).is_file(), path
