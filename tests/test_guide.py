"""The guide prints every page, and its pages say what the readers know."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from rib import Streams
from typer.main import get_command

import yieldplan
from yieldplan import guide
from yieldplan.cli import app
from yieldplan.guide import TOPICS, sections
from yieldplan.measure import Unit, exact
from yieldplan.workbook.layouts import LAYOUTS, SETTINGS, STATION_LAYOUTS
from yieldplan.workbook.shop_sheet import default_text

Page = Callable[[str], str]


@pytest.fixture
def page(capsys: pytest.CaptureFixture[str]) -> Page:
    """Return what the command shows of a topic."""

    def shown(topic: str) -> str:
        run = Streams(capsys, "guide", topic)
        assert (run.status, run.err) == (0, "")
        return run.out

    return shown


def test_without_a_topic_it_lists_them(capsys: pytest.CaptureFixture[str]) -> None:
    """Each with a line of its own; every text that is there is one of them."""
    run = Streams(capsys, "guide")
    assert (run.status, run.err) == (0, "")
    listed = re.findall(r"^  (\w+) +\S.*$", run.out, re.MULTILINE)
    assert tuple(listed) == TOPICS
    assert {path.stem for path in Path(guide.__file__).parent.glob("*.txt")} == set(TOPICS)


@pytest.mark.parametrize("topic", TOPICS)
def test_every_page_prints(page: Page, topic: str) -> None:
    """It has a title, fits an ordinary terminal, and every place for a list is filled in."""
    title, empty, *lines = page(topic).splitlines()
    assert ": " in title
    assert empty == ""
    assert len(lines) > 20
    assert max(map(len, lines)) <= 78
    assert not re.search(r"\{[a-z]", page(topic))


def test_an_unknown_topic_is_refused_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    """Where none is near, all are named."""
    run = Streams(capsys, "guide", "mesure")
    assert (run.status, run.out) == (2, "")
    assert run.err == "The guide has no topic 'mesure'; did you mean measure?\n"
    assert "expected one of measure, workbook, " in Streams(capsys, "guide", "xyz").err


def test_every_sheet_and_column_is_there(page: Page) -> None:
    """Sheet by sheet, in the order of the workbook; a star marks what must be there."""
    shown = page("workbook")
    for layout in LAYOUTS:
        block = shown.split(f"\n{layout.name}\n", 1)[1].split("\n\n", 1)[0]
        columns = re.findall(r"^  (\S.*?)(?:  .*|$)", block, re.MULTILINE)
        required = [f"{heading} *" for heading in layout.required]
        assert columns == [*required, *layout.optional]


def test_every_sheet_and_column_for_stations_is_there(page: Page) -> None:
    """On the page of their own."""
    shown = page("stations")
    for layout in STATION_LAYOUTS:
        assert re.search(rf"^{layout.name}, ", shown, re.MULTILINE)
        for heading in set(layout.headings) - {"Note"}:
            assert re.search(rf"\b{heading}\b", shown), heading


def test_every_setting_is_there_with_its_defaults(page: Page) -> None:
    """In their order, each with what an inch and what a metric workbook take."""
    rows = re.findall(r"^  (\S.*?)  +(.+?)  +(\S+)  +\S", page("settings"), re.MULTILINE)[1:]
    assert tuple(name for name, _, _ in rows) == tuple(SETTINGS)
    for name, inch, mm in rows:
        assert inch == (default_text(name, "inch") or "none")
        assert mm == (default_text(name, "mm").removesuffix(" mm") or "none")


def test_every_command_and_option_is_there(page: Page) -> None:
    """The page on commands has the help of each."""
    shown = page("commands")
    commands = getattr(get_command(app), "commands", {})
    assert {"plan", "guide"} <= set(commands)
    for name, command in commands.items():
        assert f"\nyieldplan {name} " in shown
        for option in (name for parameter in command.params for name in parameter.opts if "--" in name):
            assert option in shown


@pytest.mark.parametrize(("row", "unit"), [(0, "inch"), (1, "mm")])
def test_the_ways_of_writing_a_length_are_one(page: Page, row: int, unit: Unit) -> None:
    """All examples of a line are read as the same length."""
    line = re.findall(r"These are one length .*\n    (.+)", page("workbook"))[row]
    written = re.split(r" {3}", line)
    assert len(written) >= 4
    assert len({exact(text, unit) for text in written}) == 1


def test_the_messages_are_those_that_are_said(page: Page) -> None:
    """What stands in quotation marks on the page of faults is said somewhere in the program."""
    sources = "".join(
        path.read_text(encoding="utf-8") for path in Path(yieldplan.__file__).parent.rglob("*.py")
    )
    quoted = re.findall(r'"([^"]+)"', page("faults"))
    assert len(quoted) > 8
    for message in quoted:
        assert message in sources, message


def test_a_page_on_measuring_has_items_under_each_heading() -> None:
    """They go on the sheet that says how to measure."""
    found = sections("measure")
    assert len(found) > 5
    assert all(found.values())


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no pseudo-terminals")
def test_on_a_terminal_the_pager_shows_it() -> None:
    """The one that the user has set."""
    import pty  # noqa: PLC0415 - not on Windows

    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "yieldplan", "guide", "words"],
        stdin=theirs,
        stdout=theirs,
        env={**os.environ, "PAGER": "sed s/^/paged/"},
    ) as reader:
        os.close(theirs)
        shown = b""
        while b"proven" not in shown:
            shown += os.read(ours, 4096)
        reader.kill()
    os.close(ours)
    assert shown.startswith(b"pagedWords: ")


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return what the pages and the screen say of the demo's plan, in small letters."""
    data, out = Path(__file__).parents[1] / "data_demo", tmp_path_factory.mktemp("order")
    arguments = ["order", data / "skiff-frames.xlsx", data / "skiff-plan.json", "--out", out]
    done = subprocess.run(
        [sys.executable, "-m", "yieldplan", *map(str, arguments)], capture_output=True, text=True, check=True
    )
    return (done.stdout + (out / "cutting-order.txt").read_text(encoding="utf-8")).lower()


WORDS = [
    *("board", "blank", "spare", "stick", "keeper", "rest", "waste", "clear end", "left alone", "drawn"),
    *(
        "end a",
        "face 1",
        "edge 1",
        "ring",
        "check",
        "shake",
        "wane",
        "ends off",
        "joint",
        "rip",
        "resaw",
        "cut",
    ),
    *(
        "fence",
        "stop",
        "first cuts",
        "second cuts",
        "takes",
        "to spare",
        "sight",
        "stickered",
        "waste figure",
    ),
    "not proven",
]


@pytest.mark.parametrize("word", WORDS)
def test_a_word_that_the_pages_use_is_explained(page: Page, shown: str, word: str) -> None:
    """The glossary has it, as a term or in the meaning of its neighbour."""
    assert word in shown
    assert re.search(rf"(?m)(^  |, |; ){word}\b", page("words").lower())


@pytest.mark.parametrize("word", ["mark", "cut", "split"])
def test_words_of_two_meanings_are_told_apart(page: Page, word: str) -> None:
    """The line, the pass, the halving; and the place on a tape, the sheet, the defect."""
    entry = re.search(rf"(?m)^  {word}  +(.*(?:\n {{10,}}.*)*)", page("words"))
    assert entry is not None
    assert re.search(r"tape|sheet|defect", entry[1])
