"""The command line: what goes to which stream, and every exit status."""

from __future__ import annotations

import csv
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import openpyxl
import pdfplumber
import pytest
from rib import BLANKS, OFFCUTS, Streams, folder, found, one_rib

from yieldplan import __version__, commands, solve
from yieldplan.model import BOARD_FOOT
from yieldplan.model.errors import SolverError
from yieldplan.model.planfile import dump_plan
from yieldplan.model.work import QUICK, WOOD_ALONE
from yieldplan.solve import Options, Progress, Solution
from yieldplan.terminal import progress_words
from yieldplan.workbook import read

if TYPE_CHECKING:
    from yieldplan.model import Job


COMMANDS = ("tally", "check", "plan", "order", "verify", "settle", "ledger", "stations", "guide")


@pytest.fixture
def pile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make a csv folder from which one Rib can be cut, and an empty current folder beside it."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return folder(tmp_path / "pile")


@pytest.fixture
def planned(pile: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Replace the search by its known answer for the pile."""
    monkeypatch.setattr(solve, "solve", found)
    return pile


# Arguments


def test_help_is_on_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    """Help names the commands and is no failure."""
    run = Streams(capsys, "--help")
    assert (run.status, run.err) == (0, "")
    assert all(f"\n  {command} " in run.out for command in COMMANDS)


@pytest.mark.parametrize("command", [None, *COMMANDS])
def test_help_is_plain_and_fits(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, command: str | None
) -> None:
    """At 80 columns no line is cut short, and none has a programmer's braces, types or ranges in it."""
    monkeypatch.setenv("COLUMNS", "80")
    usage, *lines = Streams(capsys, *([command] if command else []), "--help").out.splitlines()
    assert usage.startswith("Usage: yieldplan ")
    assert len(lines) > 5
    assert max(map(len, lines)) <= 80
    assert not any(sign in line for line in lines for sign in ("...", "{", "<", "=", "range"))
    assert "{" not in usage


@pytest.mark.parametrize(("command", "words"), [("stations", "1 to 200"), ("plan", "--show order")])
def test_help_says_what_may_be_typed(capsys: pytest.CaptureFixture[str], command: str, words: str) -> None:
    """Which numbers, which word."""
    assert words in " ".join(Streams(capsys, command, "--help").out.split())


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    """The version is said in one line."""
    run = Streams(capsys, "--version")
    assert (run.status, run.out, run.err) == (0, f"yieldplan {__version__}\n", "")


@pytest.mark.parametrize(
    ("args", "wrong", "command"),
    [
        ((), "Missing command", "yieldplan"),
        (("frob",), "No such command 'frob'", "yieldplan"),
        (("plan",), "Missing argument 'INPUT'", "yieldplan plan"),
        (("check", "x", "--fast"), "No such option: --fast", "yieldplan check"),
        (("plan", "x", "--seconds", "soon"), "Invalid value for '--seconds'", "yieldplan plan"),
        (("plan", "x", "--seconds", "0"), "Invalid value for '--seconds': expected", "yieldplan plan"),
        (("plan", "x", "--seconds", "nan"), "Invalid value for '--seconds': expected", "yieldplan plan"),
        (
            ("plan", "x", "--wood", "--quick"),
            "Invalid value for --wood and --quick: expected",
            "yieldplan plan",
        ),
        (
            ("stations", "x", "--at-most", "201"),
            "Invalid value for '--at-most': expected 1 to",
            "yieldplan stations",
        ),
        (
            ("settle", *"xxx", "--out", "x", "--date", "May"),
            "Invalid value for '--date': expected",
            "yieldplan settle",
        ),
        (("verify", "x"), "Missing argument 'PLAN.json'", "yieldplan verify"),
    ],
)
def test_bad_arguments(
    capsys: pytest.CaptureFixture[str], args: tuple[str, ...], wrong: str, command: str
) -> None:
    """Bad arguments are status 2: what is wrong, the usage and where to read more, without frames."""
    run = Streams(capsys, *args)
    assert (run.status, run.out) == (2, "")
    first, usage, hint = run.err.splitlines()
    assert first.startswith(f"yieldplan: {wrong}")
    assert first.endswith(".")
    assert usage.startswith(f"Usage: {command} ")
    assert hint == f"Try: {command} --help"


# tally


def test_tally_makes_a_workbook(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The empty workbook is made, with a sheet to print beside it, and both are said to be ready."""
    run = Streams(capsys, "tally", tmp_path / "pile.xlsx")
    book, sheet = tmp_path / "pile.xlsx", tmp_path / "pile-sheet.pdf"
    assert run.out == f"{book} is ready to fill in; print {sheet} and take it to the rack.\n"
    assert run.status == 0
    assert sheet.read_bytes().startswith(b"%PDF")
    assert (tmp_path / "pile.xlsx").stat().st_size > 0


def test_tally_does_not_overwrite(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A file that is there stays as it is, with status 2 and one sentence."""
    (tmp_path / "pile.xlsx").write_bytes(b"measured all day")
    run = Streams(capsys, "tally", tmp_path / "pile.xlsx")
    assert (run.status, run.out, run.err.count("\n")) == (2, "", 1)
    assert (tmp_path / "pile.xlsx").read_bytes() == b"measured all day"


# check


def test_check_reports_what_it_understood(capsys: pytest.CaptureFixture[str], pile: Path) -> None:
    """The report goes to standard output, without any escape code when piped."""
    run = Streams(capsys, "check", pile)
    assert (run.status, run.err) == (0, "")
    assert "1 row of offcuts, 1 piece, 0 defects marked, 1 without a ring angle." in run.out
    assert "\x1b" not in run.out


def test_check_calls_the_boards_over(capsys: pytest.CaptureFixture[str], pile: Path) -> None:
    """With --call there is a line a board and how to stand, and nothing else."""
    run = Streams(capsys, "check", pile, "--call")
    assert run.status == 0
    head, *lines = run.out.splitlines()
    assert "Hook the tape on end A" in head
    assert [line.partition(":")[0] for line in lines] == [offcut.name for offcut in read(pile).offcuts]


def test_check_counts_the_warnings_that_have_scrolled_away(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The last line says that there are any."""
    offcuts = [OFFCUTS[0], ["P1", "1050", "2 3/8", "1 1/4"], ["P2", "40", "2 3/8", "1 1/4"]]
    run = Streams(capsys, "check", folder(tmp_path / "pile", offcuts))
    *warnings, last = run.err.splitlines()
    assert (run.status, len(warnings)) == (0, 1)
    assert last == "See the warning above the report."


def test_check_says_every_problem_at_once(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Bad input is status 2: a line a problem on standard error, then their count; no report."""
    offcuts = [OFFCUTS[0], ["P1", "long", "2 3/8", "1 1/4"], ["P2", "14", "-3", "1 1/4"]]
    run = Streams(capsys, "check", folder(tmp_path / "pile", offcuts))
    assert (run.status, run.out) == (2, "")
    lines = run.err.splitlines()
    assert lines[0].startswith("offcuts.csv, line 2, Length: “long” ")
    assert lines[1].startswith("offcuts.csv, line 3, Width: “-3” ")
    assert lines[-1] == "2 problems to put right; nothing was written."


def test_warnings_go_to_standard_error(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Questionable input is reported and goes on."""
    offcuts = [[*OFFCUTS[0], "Colour"], [*OFFCUTS[1], "brown"]]
    run = Streams(capsys, "check", folder(tmp_path / "pile", offcuts))
    assert run.status == 0
    assert run.err.startswith("Warning: offcuts.csv")
    assert "Colour" in run.err
    assert "Warning" not in run.out


def test_missing_input(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """An input that is not there is bad input, named."""
    run = Streams(capsys, "check", tmp_path / "gone.xlsx")
    assert (run.status, run.out) == (2, "")
    assert "gone.xlsx" in run.err


def test_steering_signs_in_the_input_are_shown_harmless(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """What was typed cannot steer the terminal, in problems or in reports."""
    blanks = [BLANKS[0], ["\u202e[bold]Rib", "1", "12", "2", "1"]]
    run = Streams(capsys, "check", folder(tmp_path / "pile", blanks=blanks))
    assert "\u202e" not in run.out + run.err
    assert "[bold]Rib" in run.out + run.err


# plan


def test_plan_writes_and_shows(capsys: pytest.CaptureFixture[str], planned: Path) -> None:
    """All made is status 0: the files, and last on the screen the summary and what was written where."""
    run = Streams(capsys, "plan", planned, "--out", "order")
    assert run.status == 0
    assert run.out.startswith("The one needed blank is made, from 1 board.\n")
    assert sorted(path.name for path in Path("order").iterdir()) == sorted(commands.OUTPUT_NAMES)
    assert "[ ]" not in run.out
    assert Path("order/plan.json").read_bytes() == dump_plan(one_rib(read(planned)))
    names = re.sub(r" \(\d+ pages?\)", "", run.err.splitlines()[-1])
    assert names == f"Written to order: {', '.join(commands.OUTPUT_NAMES)}."
    assert "\x1b" not in run.out + run.err


def test_pages_are_counted(capsys: pytest.CaptureFixture[str], planned: Path) -> None:
    """How many pages there are to print is said; tickets to cut out, where they are asked for, are pages too."""
    counts = []
    for more in ((), ("--tickets",)):
        run = Streams(capsys, "plan", planned, "--out", "order", *more)
        with pdfplumber.open("order/cutting-order.pdf") as pages:
            counts.append(len(pages.pages))
        assert f"cutting-order.pdf ({counts[-1]} page" in run.err
    assert counts[0] < counts[1]


def test_the_order_on_the_screen(capsys: pytest.CaptureFixture[str], planned: Path) -> None:
    """With --show order it is shown board by board, above the summary; so it is by order."""
    Streams(capsys, "plan", planned, "--out", "order")
    for command in (("plan", planned), ("order", planned, "order/plan.json")):
        run = Streams(capsys, *command, "--out", "order", "--show", "order")
        assert run.out.startswith("BOARD BY BOARD\n")
        assert 0 < run.out.index("[ ] Face 1 ") < run.out.index("The one needed blank is made")


def test_what_was_written_back_is_never_overwritten(
    capsys: pytest.CaptureFixture[str], planned: Path
) -> None:
    """Once What happened is filled in, in the csv or in the workbook, plan and order refuse to replace it."""
    assert Streams(capsys, "plan", planned, "--out", "order").status == 0
    assert Streams(capsys, "plan", planned, "--out", "order").status == 0
    book = openpyxl.load_workbook("order/cutting-order.xlsx")
    sheet = book["What happened"]
    sheet.cell(sheet.max_row, 3).value = "spoiled"
    book.save("order/cutting-order.xlsx")
    run = Streams(capsys, "order", planned, "order/plan.json")
    assert (run.status, run.out) == (1, "")
    assert "order/cutting-order.xlsx has been filled in with what happened" in run.err
    Path("order/cutting-order.xlsx").unlink()
    csv_file = Path("order/what-happened.csv")
    csv_file.write_bytes(csv_file.read_bytes().replace(b",,,,,,\r\n", b",not cut,,,,,\r\n", 1))
    run = Streams(capsys, "plan", planned, "--out", "order")
    assert (run.status, run.out) == (1, "")
    assert "order/what-happened.csv has been filled in with what happened" in run.err


def test_plan_into_a_folder_of_its_own(capsys: pytest.CaptureFixture[str], planned: Path) -> None:
    """Without --out the files go into a folder named after the input, where the user stands."""
    assert Streams(capsys, "plan", planned).status == 0
    assert Path("pile-order/plan.json").exists()
    assert commands.default_folder(Path("boats/skiff.v2.xlsx")) == Path("skiff.v2-order")


def test_plan_that_is_short(capsys: pytest.CaptureFixture[str], planned: Path) -> None:
    """Short is status 3, said behind the reason, on the last screen; the files are written all the same."""
    with (planned / "blanks.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([BLANKS[0], ["Rib", "2", "12", "2", "1"]])
    run = Streams(capsys, "plan", planned, "--out", "order")
    assert run.status == 3
    assert run.out.startswith("1 rib missing:\n  ")
    assert "SHORT: 1 of 2 needed blanks is missing." in run.out.splitlines()[-23:]
    assert "Proven: no plan makes more of the blanks;" in run.out
    assert Path("order/plan.json").exists()


@pytest.mark.parametrize(
    ("args", "asked"),
    [
        ((), Options()),
        (("--seconds", "2.5"), Options(seconds=2.5)),
        (("--wood",), Options(price=WOOD_ALONE)),
        (("--quick", "--seconds", "3"), Options(seconds=3.0, price=QUICK)),
    ],
)
def test_what_is_asked_reaches_the_search(
    capsys: pytest.CaptureFixture[str],
    pile: Path,
    monkeypatch: pytest.MonkeyPatch,
    args: tuple[str, ...],
    asked: Options,
) -> None:
    """Seconds and the price of work are the search's, and other prices are looked at; else its own defaults hold."""
    heard: list[Options] = []

    def search(job: Job, *, options: Options, **_: object) -> Solution:
        heard.append(options)
        return found(job)

    monkeypatch.setattr(solve, "solve", search)
    Streams(capsys, "plan", pile, *args)
    assert heard == [replace(asked, alternatives=True)]


def test_help_tells_the_seconds_that_hold(capsys: pytest.CaptureFixture[str]) -> None:
    """The default in the help of plan is the search's own."""
    words = " ".join(Streams(capsys, "plan", "--help").out.split())
    assert re.findall(r"--seconds N .*?\[default: (\d+)\]", words) == [f"{Options().seconds:g}"]


@pytest.mark.parametrize(("option", "price"), [("--wood", WOOD_ALONE), ("--quick", QUICK)])
def test_the_price_of_work_is_kept_with_the_plan(
    capsys: pytest.CaptureFixture[str],
    pile: Path,
    monkeypatch: pytest.MonkeyPatch,
    option: str,
    price: int,
) -> None:
    """A plan made at another price of work is right by itself: verify and order take it as it was written."""

    def search(job: Job, *, options: Options, **_: object) -> Solution:
        return Solution(
            plan=one_rib(job, price=options.price), ended="it is proven", coarse=(), alternatives=()
        )

    monkeypatch.setattr(solve, "solve", search)
    assert Streams(capsys, "plan", pile, "--out", "order", option).status == 0
    assert Streams(capsys, "verify", pile, "order/plan.json").status == 0
    assert Streams(capsys, "order", pile, "order/plan.json").status == 0
    assert f'"hundredths_for_a_board_foot": {price},' in Path("order/plan.json").read_text(encoding="utf-8")


def test_a_plan_that_breaks_a_rule_is_not_shown(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the search gives is rechecked in sight: a breach is status 1, a sentence, and nothing is written."""

    def search(job: Job, **_: object) -> Solution:
        plan = one_rib(job)
        worse = replace(plan, work=replace(plan.work, sticks=2))
        return Solution(plan=worse, ended="it is proven", coarse=(), alternatives=())

    monkeypatch.setattr(solve, "solve", search)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert (run.status, run.out) == (1, "")
    assert run.err.startswith("The plan found does not pass the recheck, so it is not shown: ")
    assert not Path("order").exists()


def test_the_column_extra_is_refused_by_name(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A batch of the first edition is told to use Spare, with status 2 and nothing planned."""
    blanks = [[*BLANKS[0], "Extra"], [*BLANKS[1], "2"]]
    run = Streams(capsys, "plan", folder(tmp_path / "old", blanks=blanks), "--out", str(tmp_path / "order"))
    assert (run.status, run.out) == (2, "")
    assert "Extra" in run.err
    assert "Spare" in run.err
    assert not (tmp_path / "order").exists()


def test_the_public_function_solves_and_rechecks(planned: Path) -> None:
    """``yieldplan.plan`` returns the job with the plan that the search found, once it has passed the recheck."""
    import yieldplan  # noqa: PLC0415 - asked as a user of the package would

    job = read(planned)
    assert yieldplan.plan(job) == yieldplan.Planned(job=job, plan=one_rib(job))
    assert yieldplan.verify(job, yieldplan.plan(job).plan) == ()


def test_the_public_function_refuses_a_plan_that_breaks_a_rule(
    pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody gets such a plan, from the command line or from Python."""
    import yieldplan  # noqa: PLC0415 - asked as a user of the package would

    def search(job: Job, **_: object) -> Solution:
        plan = one_rib(job)
        return Solution(plan=replace(plan, mark=1), ended="it is proven", coarse=(), alternatives=())

    monkeypatch.setattr(solve, "solve", search)
    with pytest.raises(SolverError, match="does not pass the recheck"):
        yieldplan.plan(read(pile))


def test_bad_input_touches_no_earlier_output(capsys: pytest.CaptureFixture[str], planned: Path) -> None:
    """When the input has turned bad, what was written before stays."""
    Streams(capsys, "plan", planned, "--out", "order")
    before = Path("order/plan.json").read_bytes()
    (planned / "offcuts.csv").write_text("Offcut,Length\nP1,long\n", encoding="utf-8")
    assert Streams(capsys, "plan", planned, "--out", "order").status == 2
    assert Path("order/plan.json").read_bytes() == before


def test_a_folder_that_cannot_be_used_is_refused_before_the_search(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody waits half a minute to hear that the folder is a file."""
    monkeypatch.setattr(solve, "solve", lambda *_, **__: pytest.fail("searched"))
    Path("order").write_bytes(b"")
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert (run.status, run.out) == (1, "")
    assert run.err == "order is not a folder, so nothing can be written there; name another folder.\n"


def test_a_full_disk_still_shows_the_plan(
    capsys: pytest.CaptureFixture[str], planned: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan that cannot be written is shown, with status 1 and the reason; no half of it is left."""

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    run = Streams(capsys, "plan", planned, "--out", "order")
    assert run.status == 1
    assert run.out.startswith("The one needed blank is made")
    assert run.err == "order could not be written to (No space left on device); nothing was written.\n"
    assert not Path("order").exists()


UNFORESEEN = (
    "Something went wrong that should not have (ZeroDivisionError: division by zero). "
    "Run the same command with --debug to see where.\n"
)


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (KeyboardInterrupt(), 130, "Stopped before there was any plan; nothing was written.\n"),
        (SolverError("the plan does not pass the recheck"), 1, "the plan does not pass the recheck\n"),
        (
            ZeroDivisionError("division by zero"),
            1,
            UNFORESEEN,
        ),
        (PermissionError(13, "Permission denied", "pile.xlsx"), 1, "pile.xlsx: Permission denied.\n"),
    ],
)
def test_failures_are_one_sentence(
    capsys: pytest.CaptureFixture[str],
    pile: Path,
    monkeypatch: pytest.MonkeyPatch,
    error: BaseException,
    status: int,
    said: str,
) -> None:
    """Any failure is one plain sentence and its status; nothing is written, and no traceback shown."""

    def fail(*_: object, **__: object) -> Solution:
        raise error

    monkeypatch.setattr(solve, "solve", fail)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert (run.status, run.out, run.err) == (status, "", said)
    assert not Path("order").exists()


@pytest.mark.parametrize("place", ["before", "after"])
def test_debug_shows_the_traceback(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    """With --debug, before or after the command, the traceback stands above the sentence."""

    def fail(*_: object, **__: object) -> Solution:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(solve, "solve", fail)
    args = ["--debug", "plan", pile] if place == "before" else ["plan", pile, "--debug"]
    run = Streams(capsys, *args)
    assert run.status == 1
    assert run.err.startswith("Traceback")
    assert "Something went wrong" in run.err.splitlines()[-1]


AT = Progress(
    phase="[b]filling", seconds=1.5, missing=1, used=214 * BOARD_FOOT // 10, hundredths=24_950, gap=0.0167
)


def telling(job: Job, *, on_event: object, **_: object) -> Solution:
    """Stand in for the search: say once how far it is."""
    assert callable(on_event)
    on_event(AT)
    return found(job)


def test_no_progress_when_piped(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where standard error is no terminal nothing is said of the search."""
    monkeypatch.setattr(solve, "solve", telling)
    assert "so far" not in Streams(capsys, "plan", pile).err


def test_progress_line_on_a_terminal(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a terminal one line says how far the search is, in a builder's words."""
    monkeypatch.setattr(solve, "solve", telling)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "120")
    assert progress_words(AT, 1, "inch") in Streams(capsys, "plan", pile).err


@pytest.mark.parametrize(
    ("event", "width", "words"),
    [
        (
            AT,
            100,
            "52 of 53 made; 21.40 board feet, 4 h 10 min; within 1.7 %; Ctrl-C keeps this",
        ),
        (
            replace(AT, gap=0.02),
            107,
            "52 of 53 made; 21.40 board feet, 4 h 10 min so far; nothing better by more than 2 %; Ctrl-C keeps this",
        ),
        (
            replace(AT, missing=0, gap=None),
            200,
            "all 53 made; 21.40 board feet, 4 h 10 min so far; Ctrl-C keeps this",
        ),
    ],
)
def test_progress_in_a_builders_words(event: Progress, width: int, words: str) -> None:
    """What is made, wood and work so far, how much better there may be; what is not known is not said."""
    assert progress_words(event, 53, "inch", width) == words


# verify


@pytest.fixture
def plan_file(planned: Path) -> Path:
    """Write the known plan of the pile as a file."""
    path = Path("plan.json")
    path.write_bytes(dump_plan(one_rib(read(planned))))
    return path


def test_verify_a_right_plan(capsys: pytest.CaptureFixture[str], pile: Path, plan_file: Path) -> None:
    """A plan that keeps every rule is status 0 and said so."""
    run = Streams(capsys, "verify", pile, plan_file)
    assert (run.status, run.err) == (0, "")
    assert run.out == (
        "plan.json keeps every rule, its account of wood balances, and it was made from this pile.\n"
    )


def test_verify_a_broken_plan(capsys: pytest.CaptureFixture[str], pile: Path, plan_file: Path) -> None:
    """A broken plan is status 1, a sentence a breach on standard output, then their count."""
    plan = one_rib(read(pile))
    plan_file.write_bytes(dump_plan(replace(plan, account=replace(plan.account, kerf=plan.account.kerf + 1))))
    run = Streams(capsys, "verify", pile, plan_file)
    assert (run.status, run.err) == (1, "")
    *breaches, last = run.out.splitlines()
    assert breaches
    assert all(line.startswith("account of wood, plan: ") for line in breaches)
    assert (
        last
        == f"{len(breaches)} {'breach' if len(breaches) == 1 else 'breaches'}: do not cut from this plan."
    )


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"{", "plan.json: the file is not JSON"),
        (b"{}", "plan.json: the file is not a yieldplan plan; expected a plan.json that yieldplan wrote."),
        (
            b'{"format": "yieldplan", "version": 1}',
            "plan.json: the plan file is of version 1, by an earlier edition whose rules were others;",
        ),
        (None, "plan.json: No such file or directory; expected a plan.json that yieldplan wrote."),
    ],
)
def test_verify_what_is_no_plan(
    capsys: pytest.CaptureFixture[str], pile: Path, content: bytes | None, said: str
) -> None:
    """What is no plan file is bad input, status 2, and named."""
    if content is not None:
        Path("plan.json").write_bytes(content)
    run = Streams(capsys, "verify", pile, "plan.json")
    assert (run.status, run.out) == (2, "")
    assert run.err.startswith(said)


# The process


def process(
    *args: object, stdout: int = subprocess.PIPE, **environment: str
) -> subprocess.CompletedProcess[bytes]:
    """Run the command line as a process of its own."""
    code = "import sys; from yieldplan.cli import main; sys.exit(main())"
    return subprocess.run(
        [sys.executable, "-c", code, *map(str, args)],
        stdout=stdout,
        stderr=subprocess.PIPE,
        env={**os.environ, **environment},
        check=False,
        timeout=60,
    )


def test_help_loads_nothing_heavy() -> None:
    """--help is there at once: none of the slow libraries is imported for it."""
    code = (
        "import sys; from yieldplan.cli import main; main(['--help']); "
        "slow = {'ortools', 'pandas', 'numpy', 'openpyxl', 'reportlab', 'numba', 'rich'} & set(sys.modules); "
        "sys.exit(','.join(sorted(slow)) or 0)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, timeout=60)
    assert (run.returncode, run.stderr) == (0, b"")


def test_help_within_half_a_second() -> None:
    """The best of three runs of --help takes at most half a second of the processor, whatever else runs."""
    times = []
    for _ in range(3):
        before = os.times()
        assert process("--help").returncode == 0
        after = os.times()
        times.append(sum(after[2:4]) - sum(before[2:4]))  # user and system time of children
    assert min(times) <= 0.5


def test_narrow_encoding_does_not_end_the_run(pile: Path) -> None:
    """Signs that the terminal's encoding lacks are written out, not fatal."""
    run = process("check", pile, PYTHONIOENCODING="ascii")
    assert run.returncode == 0
    assert b"12 \\xd7 2 \\xd7 1" in run.stdout


def test_no_colour_codes_when_piped(pile: Path) -> None:
    """A pipe gets plain text even where colour is asked for by the environment."""
    assert b"\x1b" not in process("check", pile, FORCE_COLOR="1").stdout


def test_reader_that_goes_away(pile: Path) -> None:
    """A pipe closed by its reader ends the run without a traceback or a sentence."""
    reader, writer = os.pipe()
    os.close(reader)
    run = process("check", pile, stdout=writer)
    os.close(writer)
    assert (run.returncode, run.stderr) == (1, b"")
