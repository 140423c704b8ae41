"""The command line: what goes to which stream, and every exit status."""

from __future__ import annotations

import csv
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from yieldplan import __version__, commands, solve
from yieldplan.cli import main
from yieldplan.model import (
    Account,
    Billet,
    CutBlank,
    Job,
    OffcutPlan,
    Plan,
    Proof,
    Stick,
    Strip,
    dump_plan,
    worth,
)
from yieldplan.model.errors import SolverError
from yieldplan.model.shop import INCH
from yieldplan.solve import Options, Progress
from yieldplan.terminal import progress_words
from yieldplan.workbook import read

OFFCUTS = [["Offcut", "Length", "Width", "Thickness"], ["P1", "14", "2 3/8", "1 1/4"]]
BLANKS = [["Blank", "Need", "Length", "Width", "Thickness"], ["Rib", "1", "12", "2", "1"]]


def folder(path: Path, offcuts: list[list[str]] = OFFCUTS, blanks: list[list[str]] = BLANKS) -> Path:
    """Write a csv folder and return it."""
    path.mkdir()
    for name, rows in (("offcuts.csv", offcuts), ("blanks.csv", blanks)):
        with (path / name).open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(rows)
    return path


def one_rib(job: Job, *, missing: int = 0) -> Plan:
    """Return the plan that cuts the one Rib out of P1, as exact as the recheck wants it."""
    offcut, skim = job.offcuts[0], INCH // 32
    length, width, thickness = offcut.length, offcut.width, offcut.thickness
    cut = CutBlank(blank="Rib", extra=False, start=INCH // 2, end=13 * INCH)
    wide, thick = 2 * INCH + INCH // 8, INCH + INCH // 16
    strip = Strip(start=0, end=wide, sticks=(Stick(start=0, end=thick, blanks=(cut,)),))
    billet = Billet(start=0, end=length, layout="rip first", face_loss=skim, edge_loss=skim, strips=(strip,))
    whole, box = length * width * thickness, length * (width - skim) * (thickness - skim)
    blanks = 12 * 2 * INCH**3
    kerf = (
        length * (thickness - skim) * min(width - skim - wide, INCH // 8)
        + length * wide * min(thickness - skim - thick, INCH // 8)
        + 2 * INCH**2 * (INCH // 8) * 2
    )
    shavings = whole - box + length * (wide * thick - 2 * INCH**2)
    drawn = worth(length, width, thickness, job.shop)
    return Plan(
        input_name=job.name,
        input_sha256=job.sha256,
        proof=Proof(missing=((1, missing),), net_worth=drawn, bound=drawn, gap=0.0, proven=True),
        made=(("Rib", 1),),
        extra=(("Rib", 0),),
        missing=(("Rib", missing),),
        account=Account(
            volume_in=whole,
            blanks=blanks,
            keepers=0,
            kerf=kerf,
            shavings=shavings,
            trimmings=whole - blanks - kerf - shavings,
        ),
        offcuts=(OffcutPlan(offcut="P1", copy=1, segments=(billet,)),),
    )


@pytest.fixture
def pile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make a csv folder from which one Rib can be cut, and an empty current folder beside it."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return folder(tmp_path / "pile")


@pytest.fixture
def planned(pile: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Replace the search by its known answer for the pile."""
    monkeypatch.setattr(solve, "plan", lambda job, options, on_event: one_rib(job))
    return pile


class Streams:
    """What one run wrote, and its exit status."""

    def __init__(self, capsys: pytest.CaptureFixture[str], *args: object) -> None:
        self.status = main([str(arg) for arg in args])
        self.out, self.err = capsys.readouterr()


# Arguments


def test_help_is_on_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    """Help names the four commands and is no failure."""
    run = Streams(capsys, "--help")
    assert (run.status, run.err) == (0, "")
    assert all(f"\n  {command} " in run.out for command in ("tally", "check", "plan", "verify"))


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
        (("plan", "x", "--seconds", "0"), "Invalid value for --seconds: expected", "yieldplan plan"),
        (("plan", "x", "--seconds", "nan"), "Invalid value for --seconds: expected", "yieldplan plan"),
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
    assert usage.startswith(f"Usage: {command} ")
    assert hint == f"Try: {command} --help"


# tally


def test_tally_makes_a_workbook(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The empty workbook is made and said to be ready."""
    run = Streams(capsys, "tally", tmp_path / "pile.xlsx")
    assert (run.status, run.out) == (0, f"{tmp_path / 'pile.xlsx'} is ready to measure into.\n")
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
    assert "1 row of offcuts, 1 piece, 0 defects marked, no ring angle on 1." in run.out
    assert "\x1b" not in run.out


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
    """All made is status 0: the files, the summary, then the same cutting order that is in the file."""
    run = Streams(capsys, "plan", planned, "--out", "order")
    assert run.status == 0
    assert run.out.startswith("The one needed blank is made.\n")
    assert sorted(path.name for path in Path("order").iterdir()) == sorted(commands.OUTPUT_NAMES)
    assert run.out.endswith("\n\n" + Path("order/cutting-order.txt").read_text(encoding="utf-8"))
    assert Path("order/plan.json").read_bytes() == dump_plan(one_rib(read(planned)))
    assert run.err.splitlines()[-1] == "Written: " + ", ".join(f"order/{n}" for n in commands.OUTPUT_NAMES)
    assert "\x1b" not in run.out + run.err


def test_plan_into_a_folder_of_its_own(capsys: pytest.CaptureFixture[str], planned: Path) -> None:
    """Without --out the files go into a folder named after the input, where the user stands."""
    assert Streams(capsys, "plan", planned).status == 0
    assert Path("pile-order/plan.json").exists()
    assert commands.default_folder(Path("boats/skiff.v2.xlsx")) == Path("skiff.v2-order")


def test_plan_that_is_short(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Short is status 3, said first, with the reason; the files are written all the same."""
    monkeypatch.setattr(solve, "plan", lambda job, options, on_event: one_rib(job, missing=1))
    with (pile / "blanks.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([BLANKS[0], ["Rib", "2", "12", "2", "1"]])
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert run.status == 3
    assert run.out.startswith("SHORT: 1 of the 2 needed blanks is missing.\n")
    assert "Enough for 1 of 2: only P1 will do, and it is used up for these." in run.out
    assert Path("order/plan.json").exists()


def test_seconds_reach_the_search(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """--seconds is the search's; without it the search's own default holds."""
    asked: list[Options] = []

    def search(job: Job, *, options: Options, on_event: object) -> Plan:
        asked.append(options)
        return one_rib(job)

    monkeypatch.setattr(solve, "plan", search)
    Streams(capsys, "plan", pile, "--seconds", "2.5")
    Streams(capsys, "plan", pile)
    assert asked == [Options(seconds=2.5), Options()]


def test_why_shows_what_was_tried(capsys: pytest.CaptureFixture[str], pile: Path) -> None:
    """The report on the offcut stands last, however its name is typed."""
    run = Streams(capsys, "plan", pile, "--why", " p1", "--seconds", "5")
    assert "What was tried on P1\n" in run.out
    assert "planned" in run.out.partition("What was tried on P1\n")[2]


def test_why_of_an_unknown_offcut_is_bad_input(capsys: pytest.CaptureFixture[str], pile: Path) -> None:
    """Nothing is searched or written; the nearest name is offered."""
    run = Streams(capsys, "plan", pile, "--why", "P11")
    assert (run.status, run.out) == (2, "")
    assert run.err == f"--why P11: there is no offcut of that name in {pile.name}; did you mean P1?\n"
    assert not Path("pile-order").exists()


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
    monkeypatch.setattr(solve, "plan", lambda *_, **__: pytest.fail("searched"))
    Path("order").write_bytes(b"")
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert (run.status, run.out) == (1, "")
    assert run.err == "order is not a folder, so nothing can be written there; name another folder\n"


def test_a_full_disk_still_shows_the_plan(
    capsys: pytest.CaptureFixture[str], planned: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan that cannot be written is shown, with status 1 and the reason; no half of it is left."""

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    run = Streams(capsys, "plan", planned, "--out", "order")
    assert run.status == 1
    assert run.out.startswith("The one needed blank is made.")
    assert run.err == "order could not be written to (No space left on device); nothing was written\n"
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

    def fail(*_: object, **__: object) -> Plan:
        raise error

    monkeypatch.setattr(solve, "plan", fail)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert (run.status, run.out, run.err) == (status, "", said)
    assert not Path("order").exists()


@pytest.mark.parametrize("place", ["before", "after"])
def test_debug_shows_the_traceback(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    """With --debug, before or after the command, the traceback stands above the sentence."""

    def fail(*_: object, **__: object) -> Plan:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(solve, "plan", fail)
    args = ["--debug", "plan", pile] if place == "before" else ["plan", pile, "--debug"]
    run = Streams(capsys, *args)
    assert run.status == 1
    assert run.err.startswith("Traceback")
    assert "Something went wrong" in run.err.splitlines()[-1]


def test_no_progress_when_piped(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where standard error is no terminal nothing is said of the search."""

    def search(job: Job, *, options: Options, on_event: object) -> Plan:
        assert callable(on_event)
        on_event(
            Progress(phase="filling", best=1200, missing=2, bound=1180, gap=0.0, looked_at=3, offcuts=48)
        )
        return one_rib(job)

    monkeypatch.setattr(solve, "plan", search)
    assert "filling" not in Streams(capsys, "plan", pile).err


def test_progress_line_on_a_terminal(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a terminal the line shows the phase, the best so far, bound, gap and offcuts looked at."""

    def search(job: Job, *, options: Options, on_event: object) -> Plan:
        assert callable(on_event)
        on_event(
            Progress(
                phase="[b]filling", best=1200, missing=2, bound=1180, gap=0.0167, looked_at=3, offcuts=48
            )
        )
        return one_rib(job)

    monkeypatch.setattr(solve, "plan", search)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "120")
    run = Streams(capsys, "plan", pile)
    assert "[b]filling, 2 missing, best 1,200, bound 1,180, gap 1.7 %, offcuts 3 of 48" in run.err


def test_progress_before_anything_is_known() -> None:
    """What is not known yet is not shown."""
    event = Progress(phase="reading", best=None, missing=None, bound=None, gap=None, looked_at=0, offcuts=48)
    assert progress_words(event) == "reading, offcuts 0 of 48"


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
    plan_file.write_bytes(dump_plan(replace(plan, account=replace(plan.account, kerf=0))))
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
