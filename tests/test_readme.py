"""README.md says what is so: its commands, its tables, its example."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from typer.main import get_command

from yieldplan import read as read_job
from yieldplan.cli import app
from yieldplan.measure import LONGEST, MM, Rounding, Unit, read
from yieldplan.model import (
    Billet,
    CutBlank,
    OffcutPlan,
    Stick,
    Strip,
    keepers,
    price_of,
    section,
    sound_ends,
    whole,
    work_of,
    worth,
)
from yieldplan.workbook import blanks, csvfolder, job, offcuts, wood, xlsx_limits
from yieldplan.workbook.layouts import BLANKS, DEFECTS, LAYOUTS, OFFCUTS, SHOP, SPECIES
from yieldplan.workbook.shop_sheet import MOST_MINUTES, SETTINGS, default_text

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
LIMITS: dict[str, tuple[int, ...]] = {
    "rows of Offcuts": (
        *(OFFCUTS.most_rows, offcuts.MOST_QTY, offcuts.MOST_DEFECTS),
        *(wood.MOST_KINKS, offcuts.MOST_PIECES),
    ),
    "rows of Defects": (DEFECTS.most_rows,),
    "rows of Blanks": (BLANKS.most_rows, blanks.MOST_WANTED, blanks.MOST_IN_ALL),
    "rows of Offcuts times rows of Blanks": (job.MOST_PAIRS,),
    "rows of Shop; of Species": (SHOP.most_rows, SPECIES.most_rows),
    "a length": (LONGEST // MM // 1000,),
    "a workbook, unpacked": (xlsx_limits.MOST_UNPACKED // 1_000_000, xlsx_limits.MOST_CELLS),
    "a csv file": (csvfolder.MOST_FIELDS,),
}
"""What each row of the table of limits says, but for those of names and of a file's size."""


def blocks(language: str) -> list[str]:
    """Return the fenced blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def rows(heading: str) -> list[list[str]]:
    """Return the rows of the table that starts with a heading row."""
    table = README.split(heading + "\n", 1)[1].split("\n\n", 1)[0].splitlines()[1:]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in table]


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


def test_the_python_example_runs() -> None:
    """Ten lines at most; they end without an error and say what is missing and what is wasted."""
    (example,) = blocks("python")
    assert len([line for line in example.splitlines() if line.strip()]) <= 10
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", example],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("missing: [(")
    assert re.search(r"^waste figure \d+\.\d%$", done.stdout, re.MULTILINE)


def test_every_command_is_listed() -> None:
    """The table names the commands that there are, no more and no fewer."""
    listed = {re.findall(r"`yieldplan (\w+)", row[0])[0] for row in rows("| command | does | exit status |")}
    assert listed == set(getattr(get_command(app), "commands", {}))


def test_every_option_of_plan_is_listed() -> None:
    """The row of plan names its options, no more and no fewer."""
    (row,) = (row for row in rows("| command | does | exit status |") if "yieldplan plan " in row[0])
    command = getattr(get_command(app), "commands", {})["plan"]
    assert set(re.findall(r"--\w+", row[0])) == {
        name for option in command.params for name in option.opts if "--" in name
    }


def test_every_setting_is_listed_with_its_defaults() -> None:
    """In their order, with what an inch and what a metric workbook take where nothing is written."""
    table = rows("| setting | inch | mm | what it is |")
    assert tuple(row[0] for row in table) == SETTINGS
    for name, inch, mm, _ in table:
        assert inch == (default_text(name, "inch") or "none")
        assert mm == (default_text(name, "mm").removesuffix(" mm") or "none")
    assert f"from 0 to {MOST_MINUTES}" in README


@pytest.mark.parametrize("of", LIMITS)
def test_limits_are_those_that_are_kept(of: str) -> None:
    """Each figure of the table is the one that the reader holds to."""
    found = {}
    for row in rows("| of | at most |"):
        name, words = row
        if name == "an input file":
            for part in words.split("; ")[1:]:
                title = next(
                    title for title in ("a workbook, unpacked", "a csv file") if part.startswith(title)
                )
                found[title] = part
        else:
            found[name] = words
    assert tuple(map(int, re.findall(r"\d+", found[of]))) == LIMITS[of]


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_headings_are_those_that_are_read(layout: object) -> None:
    """Sheet by sheet, required and optional headings in their order; what stands in brackets is the default."""
    name, required, optional = (getattr(layout, part) for part in ("name", "required", "optional"))
    table = {row[0].split(" ")[0]: row for row in rows("| sheet | must have | may have (if left out) |")}
    assert tuple(table[name][1].split(", ")) == required
    assert tuple(re.sub(r" \([^)]*\)", "", table[name][2]).split(", ")) == optional


@pytest.mark.parametrize(("row", "unit"), [(0, "inch"), (1, "mm")])
def test_the_ways_of_writing_a_length_are_one(row: int, unit: Unit) -> None:
    """All examples of a row are read as the same length."""
    written = re.findall(r"`([^`]+)`", rows("| written | means |")[row][0])
    assert len(written) >= 4
    assert len({read(text, unit, Rounding.STOCK) for text in written}) == 1


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_what_it_points_to_is_there(page: str) -> None:
    """Linked files and named paths exist; nothing outside the project is needed."""
    links = re.findall(r"\]\(([^)]+)\)", page)
    paths = re.findall(r"(?:data_demo|yieldplan|tests)/[\w./-]*\w|yieldplan/order/fonts/", page)
    assert paths
    for path in (*links, *paths):
        assert (ROOT / path).exists(), path
    assert "../" not in page


def test_the_worked_board_comes_to_its_figures() -> None:
    """What DEVELOPERS.md works out for one board of the demo is what the model makes of that cutting."""
    demo = read_job(ROOT / "data_demo/skiff-frames.xlsx")
    shop, offcut, frame = demo.shop, demo.offcut("P025"), demo.blank("Transom frame")
    low, high = sound_ends(offcut, shop)
    wood = whole(offcut)
    lost = wood.face_loss(high - low, shop), wood.edge_loss(high - low, shop)
    rough = section(offcut, frame, shop, turned=False)
    figures = (
        low,
        high,
        *lost,
        *wood.box(high - low, shop),
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
    assert price_of(own, shop) == 1400
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
    named = re.findall(r"`((?:model|workbook|solve|verify|order)/\w+\.py)", DEVELOPERS)
    assert named
    for path in named:
        assert (ROOT / "yieldplan" / path).is_file(), path


def test_the_shown_run_is_a_whole_one() -> None:
    """The pasted output has the batch, wood, work, how good it is and the beginning of the order; no gap is left."""
    (shown,) = blocks("text")
    assert "@@" not in README
    for part in (
        "Offcuts drawn",
        "Left alone",
        "Waste figure: ",
        "\nWork\n",
        "\nHow good\n",
        "\nWood or work\n",
        "CUTTING ORDER\n",
    ):
        assert part in shown
