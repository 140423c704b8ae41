"""Ctrl-C at any time, and an input that changes under the run's feet."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from rib import Streams, folder, found

from yieldplan import commands, solve, workbook
from yieldplan.planning import recheck
from yieldplan.stopping import noting_stop
from yieldplan.workbook import fingerprint, read

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from yieldplan.model import Job
    from yieldplan.solve import Progress, Solution

DATA = Path(__file__).parents[1] / "data_demo"
FIRST = solve.Progress(phase="first plan", seconds=0.1, missing=0, used=1, hundredths=1, gap=None)


@pytest.fixture
def pile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make a csv folder from which one Rib can be cut, and an empty current folder beside it."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return folder(tmp_path / "pile")


def press() -> None:
    """Press Ctrl-C."""
    os.kill(os.getpid(), signal.SIGINT)


def test_ctrl_c_in_the_search_shows_and_writes_what_was_found(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The search is told, ends with the best plan up to then, and the status says that the run was stopped."""
    told: list[bool] = []

    def search(
        job: Job, *, on_event: Callable[[Progress], None], stopped: Callable[[], bool], **_: object
    ) -> Solution:
        on_event(FIRST)
        told.append(stopped())
        press()
        told.append(stopped())
        return found(job)

    monkeypatch.setattr(solve, "solve", search)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert told == [False, True]
    assert run.status == 130
    assert run.out.startswith("The one needed blank is made, from 1 board.\n")
    assert run.err.endswith("what-happened.csv.\nStopped: this is the best plan found so far.\n")
    assert sorted(path.name for path in Path("order").iterdir()) == sorted(commands.OUTPUT_NAMES)


def _pressed() -> None:
    press()
    pytest.fail("it went on")


def _lost() -> None:
    with suppress(KeyboardInterrupt):
        press()


def _made_another_error() -> None:
    try:
        press()
    except KeyboardInterrupt:
        raise ImportError("initialization failed") from None


@pytest.mark.parametrize("pressing", [_pressed, _lost, _made_another_error])
def test_ctrl_c_before_the_first_plan_stops_at_once(
    capsys: pytest.CaptureFixture[str],
    pile: Path,
    monkeypatch: pytest.MonkeyPatch,
    pressing: Callable[[], None],
) -> None:
    """There is nothing to lose yet: a sentence that says so, status 130, nothing written.

    So it is where a library that is being loaded catches the Ctrl-C, or makes an error of its own of it.
    """

    def search(job: Job, *, on_event: Callable[[Progress], None], **_: object) -> Solution:
        pressing()
        on_event(FIRST)
        pytest.fail("it went on")

    monkeypatch.setattr(solve, "solve", search)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert (run.status, run.out) == (130, "")
    assert run.err == "Stopped before there was any plan; nothing was written.\n"
    assert not Path("order").exists()


def test_the_real_search_heeds_ctrl_c(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pressed as soon as there is a plan, the search gives that plan long before its seconds are spent."""
    real = solve.solve

    def search(job: Job, *, on_event: Callable[[Progress], None], **asked: Any) -> Solution:
        def pressing(event: Progress) -> None:
            on_event(event)
            if not asked["stopped"]():
                press()

        return real(job, on_event=pressing, **asked)

    monkeypatch.setattr(solve, "solve", search)
    run = Streams(capsys, "plan", DATA / "skiff-frames.xlsx", "--out", "order", "--seconds", "300")
    assert run.status == 130
    assert run.err.endswith("Stopped: this is the best plan found so far.\n")
    assert Path("order/plan.json").exists()


@pytest.mark.parametrize("presses", [1, 2])
def test_ctrl_c_in_the_recheck(
    capsys: pytest.CaptureFixture[str],
    pile: Path,
    monkeypatch: pytest.MonkeyPatch,
    presses: int,
) -> None:
    """While the plan that was found is rechecked, Ctrl-C is only noted; a second one stops at once."""

    def pressed(*arguments: Any) -> None:
        for _ in range(presses):
            press()
        recheck(*arguments)

    monkeypatch.setattr(solve, "solve", found)
    monkeypatch.setattr("yieldplan.commands.recheck", pressed)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert run.status == 130
    assert Path("order/plan.json").exists() == (presses == 1)
    if presses == 2:
        assert (run.out, run.err) == ("", "Stopped.\n")


def test_ctrl_c_before_the_pages_are_made_is_held_back(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan that has been found is not lost because someone stops the run a second later."""
    monkeypatch.setattr(solve, "solve", found)

    def pressed(source: Path) -> str:
        press()
        return fingerprint(source)

    monkeypatch.setattr(workbook, "fingerprint", pressed)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert run.status == 130
    assert Path("order/plan.json").exists()


def test_a_second_ctrl_c_stops_at_once(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who presses twice means it: a sentence, status 130, nothing written."""
    monkeypatch.setattr(solve, "solve", found)

    def pressed_twice(*_: object) -> None:
        press()
        press()

    monkeypatch.setattr(workbook, "fingerprint", pressed_twice)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert (run.status, run.out, run.err) == (130, "", "Stopped.\n")
    assert not Path("order").exists()


def test_ctrl_c_is_python_s_again_afterwards() -> None:
    """The handler that was there before is put back."""
    before = signal.getsignal(signal.SIGINT)
    with noting_stop() as stop:
        assert signal.getsignal(signal.SIGINT) is not before
    assert signal.getsignal(signal.SIGINT) is before
    assert not stop.asked


STARTED = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a process in the background may have been told to ignore it
from yieldplan.__main__ import main
{more}
print(flush=True)
sys.exit(main())
"""

CAUGHT = """
import importlib.abc

class Finder(importlib.abc.MetaPathFinder):
    def find_spec(self, name, *_):
        if name == "{name}":
            try:
                signal.raise_signal(signal.SIGINT)
            except BaseException:
                pass

sys.meta_path.insert(0, Finder())
"""


PLAN = ("plan", str(DATA / "skiff-frames.xlsx"), "--out", "order")


def started(folder: Path, more: str = "", arguments: Sequence[str] = PLAN) -> subprocess.Popen[bytes]:
    """Start the program in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-c", STARTED.format(more=more), *arguments],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def assert_stopped(process: subprocess.Popen[bytes], folder: Path) -> None:
    """Assert that it ended with one sentence, 130 and no file; warnings of the input may stand before it."""
    said = process.communicate(timeout=60)[1].decode()
    sentences = [line for line in said.splitlines() if not line.startswith("Warning: ")]
    assert (process.returncode, len(sentences)) == (130, 1), said
    assert not any(folder.iterdir())


@pytest.mark.parametrize("after", [0.02, 0.1, 0.2, 0.4, 0.7])
def test_a_process_stopped_early_says_one_sentence(tmp_path: Path, after: float) -> None:
    """Stopped while it loads or reads, the process answers with one sentence, 130 and no file."""
    with started(tmp_path) as process:
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(after)
        process.send_signal(signal.SIGINT)
        assert_stopped(process, tmp_path)


@pytest.mark.parametrize("name", ["typer", "openpyxl"])
def test_a_library_that_catches_everything_does_not_keep_ctrl_c(tmp_path: Path, name: str) -> None:
    """Pressed while a library is imported that lets no error out, it stops the process all the same."""
    with started(tmp_path, CAUGHT.format(name=name)) as process:
        assert_stopped(process, tmp_path)


def test_files_that_are_being_written_are_put_back(tmp_path: Path) -> None:
    """Pressed when a file is written down to the disk, nothing of the set is left."""
    pressing = "import os; os.fsync = lambda _: signal.raise_signal(signal.SIGINT)"
    with started(tmp_path, pressing, ("tally", "pile.xlsx")) as process:
        assert_stopped(process, tmp_path)


def test_compiling_the_kernels_is_stopped_as_quietly(tmp_path: Path) -> None:
    """README's first command does that before it plans."""
    code = (
        "import runpy, signal, threading\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "threading.Timer(0.4, signal.raise_signal, [signal.SIGINT]).start()\n"
        "runpy.run_module('yieldplan.solve', run_name='__main__')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (130, b"", b"Stopped.\n")


def test_the_search_gives_ctrl_c_back(tmp_path: Path) -> None:
    """Pressed once the search is over, the plan is rechecked, shown and written; the solver's library had its turn."""
    arguments = ("plan", str(DATA / "floor-cleats-mm"), "--out", "order", "--seconds", "0.2")
    with started(tmp_path, CAUGHT.format(name="yieldplan.verify"), arguments) as process:
        said = process.communicate(timeout=60)[1].decode()
    assert said.endswith("Stopped: this is the best plan found so far.\n")
    assert process.returncode == 130
    assert (tmp_path / "order" / "plan.json").exists()


def test_an_input_that_changes_during_the_run_is_noticed(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan for wood that has been measured anew meanwhile is neither shown nor written."""

    def search(job: Job, **_: object) -> Solution:
        with (pile / "offcuts.csv").open("a", encoding="utf-8") as file:
            file.write("P2,20,4,2\n")
        return found(job)

    monkeypatch.setattr(solve, "solve", search)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert (run.status, run.out) == (1, "")
    assert run.err == (
        "pile was changed or moved during the run, so nothing is shown and nothing was written; run the same "
        "command again.\n"
    )
    assert not Path("order").exists()


@pytest.mark.parametrize("name", ["skiff-frames.xlsx", "floor-cleats-mm"])
def test_fingerprint_is_the_one_that_was_read(name: str) -> None:
    """Asked again of an unchanged input, the fingerprint is the job's; of nothing there is none."""
    assert fingerprint(DATA / name) == read(DATA / name).sha256
    assert fingerprint(DATA / "gone.xlsx") == ""
