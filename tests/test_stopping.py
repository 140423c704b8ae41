"""Ctrl-C at any time, and an input that changes under the run's feet."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from test_cli import Streams, folder, one_rib

from yieldplan import commands, solve
from yieldplan.solve import aims
from yieldplan.stopping import noting_stop
from yieldplan.verify import Breach, verify
from yieldplan.workbook import fingerprint, read

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Job, Plan

DATA = Path(__file__).parents[1] / "data_demo"


@pytest.fixture
def pile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make a csv folder from which one Rib can be cut, and an empty current folder beside it."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return folder(tmp_path / "pile")


def press() -> None:
    """Press Ctrl-C."""
    os.kill(os.getpid(), signal.SIGINT)


def found(job: Job, *, on_event: Callable[[solve.Progress], None], **_: object) -> Plan:
    """Say that the search is over, and return its plan."""
    on_event(solve.Progress(phase=solve.RECHECK, best=0, missing=0, bound=0, gap=0.0, looked_at=1, offcuts=1))
    return one_rib(job)


def test_ctrl_c_in_the_search_shows_and_writes_what_was_found(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The best plan up to then is shown and written, and the status says that the run was stopped."""

    def search(job: Job, **_: object) -> Plan:
        with pytest.raises(KeyboardInterrupt):
            press()
        return one_rib(job)

    monkeypatch.setattr(solve, "plan", search)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert run.status == 130
    assert run.out.startswith("The one needed blank is made.\n")
    assert run.err.endswith("cutting-order.xlsx\nStopped: this is the best plan up to then.\n")
    assert sorted(path.name for path in Path("order").iterdir()) == sorted(commands.OUTPUT_NAMES)


@pytest.mark.parametrize("asked", [(), ("--why", "P1")], ids=["plan", "with why"])
def test_ctrl_c_between_the_search_and_the_writing_loses_nothing(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch, asked: tuple[str, ...]
) -> None:
    """While the plan that was found is put together and rechecked, Ctrl-C is only noted."""
    rechecked: list[Plan] = []

    def pressed(job: Job, result: Plan) -> tuple[Breach, ...]:
        if not rechecked:
            press()
        rechecked.append(result)
        return verify(job, result)

    monkeypatch.setattr(aims, "verify", pressed)
    run = Streams(capsys, "plan", pile, "--out", "order", "--seconds", "1", *asked)
    assert run.status == 130
    assert run.err.endswith("Stopped: this is the best plan up to then.\n")
    assert Path("order/plan.json").exists()


def test_a_second_ctrl_c_in_the_recheck_stops_at_once(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sentence that does not say that there was no plan, status 130, nothing written."""

    def pressed_twice(*_: object) -> tuple[Breach, ...]:
        press()
        press()
        return ()

    monkeypatch.setattr(aims, "verify", pressed_twice)
    run = Streams(capsys, "plan", pile, "--out", "order", "--seconds", "1")
    assert (run.status, run.out, run.err) == (130, "", "Stopped.\n")
    assert not Path("order").exists()


def test_ctrl_c_while_the_pages_are_made_is_held_back(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan that has been found is not lost because someone stops the run a second later."""
    monkeypatch.setattr(solve, "plan", found)
    order = commands._order

    def pressed(*arguments: Any) -> Any:
        press()
        return order(*arguments)

    monkeypatch.setattr(commands, "_order", pressed)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert run.status == 130
    assert Path("order/plan.json").exists()


def test_a_second_ctrl_c_stops_at_once(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who presses twice means it: a sentence, status 130, nothing written."""
    monkeypatch.setattr(solve, "plan", found)

    def pressed_twice(*_: object) -> None:
        press()
        press()

    monkeypatch.setattr(commands, "_order", pressed_twice)
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


@pytest.mark.parametrize("after", [0.02, 0.1, 0.2, 0.3, 0.4, 0.5, 0.7])
def test_a_process_stopped_early_says_one_sentence(tmp_path: Path, after: float) -> None:
    """Stopped while it loads or reads, the process answers with one sentence, 130 and no file.

    Warnings of the input may stand before it, once it has been read.
    """
    code = (
        "import signal, sys; signal.signal(signal.SIGINT, signal.default_int_handler); "  # ignored in the background
        "from yieldplan.__main__ import main; print(flush=True); sys.exit(main())"
    )
    arguments = ["plan", str(DATA / "skiff-frames.xlsx"), "--out", "order"]
    process = subprocess.Popen(
        [sys.executable, "-c", code, *arguments], cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    with process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        time.sleep(after)
        process.send_signal(signal.SIGINT)
        said = process.stderr.read().decode()
    sentences = [line for line in said.splitlines() if not line.startswith("Warning: ")]
    assert (process.returncode, len(sentences)) == (130, 1), said
    assert not (tmp_path / "order").exists()


def test_an_input_that_changes_during_the_run_is_noticed(
    capsys: pytest.CaptureFixture[str], pile: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan for wood that has been measured anew meanwhile is neither shown nor written."""

    def search(job: Job, **_: object) -> Plan:
        with (pile / "offcuts.csv").open("a", encoding="utf-8") as file:
            file.write("P2,20,4,2\n")
        return one_rib(job)

    monkeypatch.setattr(solve, "plan", search)
    run = Streams(capsys, "plan", pile, "--out", "order")
    assert (run.status, run.out) == (1, "")
    assert run.err == (
        "pile was changed or moved while its plan was being made, so the plan is not shown and nothing was "
        "written; run the same command again.\n"
    )
    assert not Path("order").exists()


@pytest.mark.parametrize("name", ["skiff-frames.xlsx", "floor-cleats-mm"])
def test_fingerprint_is_the_one_that_was_read(name: str) -> None:
    """Asked again of an unchanged input, the fingerprint is the job's; of nothing there is none."""
    assert fingerprint(DATA / name) == read(DATA / name).sha256
    assert fingerprint(DATA / "gone.xlsx") == ""
