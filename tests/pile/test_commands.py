"""The commands settle and ledger: what is written, what never is, and every exit status."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from rib import Streams
from written import Batch, happened_text, small_batch

from yieldplan.model.planfile import dump_plan
from yieldplan.pile.ledger import ledger_row, read_ledger
from yieldplan.pile.settle import next_input, write_settled
from yieldplan.pile.settlement import settlement

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path


class Shed:
    """A folder with an input, its plan and what happened, and the commands run in it."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str], *, workbook: bool = True) -> None:
        self.folder, self._capsys = folder, capsys
        self.batch: Batch = small_batch(folder, workbook=workbook)
        self.source, self.plan = self.batch.source, folder / "plan.json"
        self.plan.write_bytes(dump_plan(self.batch.plan))
        self.happened = folder / "what-happened.csv"
        self.out = folder / ("next.xlsx" if workbook else "next")
        self.fill({})

    def fill(self, marks: Mapping[str, Mapping[str, object]]) -> None:
        """Write down what happened."""
        self.happened.write_text(happened_text(self.batch, marks), encoding="utf-8")

    def settle(self, *options: str, out: Path | None = None) -> Streams:
        """Run settle."""
        return Streams(
            self._capsys, "settle", self.source, self.plan, self.happened, "--out", out or self.out, *options
        )

    @property
    def files(self) -> dict[str, bytes]:
        """Every file of the folder, by its name."""
        return {
            str(path.relative_to(self.folder)): path.read_bytes()
            for path in self.folder.rglob("*")
            if path.is_file()
        }


@pytest.fixture
def shed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shed:
    """Return a shed with a workbook."""
    return Shed(tmp_path, capsys)


def test_settle_says_what_it_comes_to_and_writes_two_files(shed: Shed) -> None:
    """What was made, what is still to make, what is kept, the wood; the next input and the ledger, nothing else."""
    before = shed.files
    shed.fill({"P1-1": {"Outcome": "short", "Good": 1}})
    run = shed.settle("--date", "2026-03-28")
    assert run.status == 0
    assert run.out.splitlines()[:5] == [
        f"Plan {shed.batch.fingerprint}: 2 boards cut. Good: 3 ribs, 1 cleat; 1 blank spoiled.",
        "Still to make: 3 ribs.",
        "Back on the rack; measure each again:",
        "  K1  20 7/8 × 2 1/4 × 1 5/16, from P1",
        "  K2  26 1/2 × 3 7/16 × 1 11/16, from P2",
    ]
    assert run.err == f"Written: {shed.out}, {shed.folder / 'ledger.csv'}.\n"
    after = shed.files
    assert set(after) - set(before) == {"next.xlsx", "ledger.csv"}
    del before["what-happened.csv"]
    assert {name: after[name] for name in before} == before
    batches = read_ledger(shed.folder / "ledger.csv")
    assert f"{batches['Date'][0]:%d %b %Y}" == "28 Mar 2026"
    assert (batches["Blanks good"][0], batches["Blanks spoiled"][0]) == (4, 1)


def test_nothing_that_is_there_is_overwritten_without_force(shed: Shed) -> None:
    """Another file under that name stays, and no row is added; --force writes over it."""
    shed.out.write_bytes(b"my own")
    before = shed.files
    run = shed.settle()
    assert run.status == 2
    assert run.err.endswith(
        "is there already and is left as it is; choose another name for --out, or overwrite it with --force.\n"
    )
    assert shed.files == before
    assert shed.settle("--force").status == 0
    assert shed.out.read_bytes() != b"my own"


def test_settled_again_it_is_the_same_and_has_no_second_row(shed: Shed) -> None:
    """The same bytes need no --force, for nothing is lost."""
    assert shed.settle().status == 0
    before = shed.files
    assert shed.settle().status == 0
    assert shed.files == before


def test_a_row_that_gives_way_to_another_is_announced(shed: Shed) -> None:
    """The same batch settled again with another outcome: one row, and the screen says that it took one's place."""
    shed.settle()
    shed.fill({"P1-1": {"Outcome": "spoiled"}})
    run = shed.settle("--force")
    ledger = shed.folder / "ledger.csv"
    instead = f"(in place of the row of plan {shed.batch.fingerprint} that stood there)"
    assert run.err == f"Written: {shed.out}, {ledger} {instead}.\n"
    assert list(read_ledger(ledger)["Blanks spoiled"]) == [2]
    assert "in place of" not in shed.settle().err


@pytest.mark.parametrize(
    ("out", "said"),
    [
        ("pile.xlsx", "is the input itself, which is left as it is; choose another name for --out."),
        ("next.csv", "next.csv does not end in .xlsx, as the input does; give --out such a name."),
    ],
)
def test_the_next_input_is_another_of_the_same_kind(shed: Shed, out: str, said: str) -> None:
    """Never the input itself, not even with --force; a workbook for a workbook."""
    before = shed.files
    run = shed.settle("--force", out=shed.folder / out)
    assert (run.status, run.out) == (2, "")
    assert run.err.rstrip().endswith(said)
    assert shed.files == before


def test_the_next_input_may_go_elsewhere(shed: Shed) -> None:
    """The ledger stays beside the input that was cut from."""
    elsewhere = shed.folder / "next week" / "next.xlsx"
    assert shed.settle(out=elsewhere).status == 0
    assert elsewhere.is_file()
    assert (shed.folder / "ledger.csv").is_file()
    assert [path.name for path in elsewhere.parent.iterdir()] == ["next.xlsx"]


def test_a_folder_is_settled_into_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The ledger lies beside it; a workbook's name is refused; the folder itself is never written into."""
    shed = Shed(tmp_path, capsys, workbook=False)
    assert shed.settle(out=tmp_path / "next.xlsx").status == 2
    assert shed.settle("--force", out=shed.source).status == 2
    assert shed.settle().status == 0
    assert (tmp_path / "ledger.csv").is_file()
    assert {"offcuts.csv", "cut.csv"} <= {path.name for path in shed.out.iterdir()}


def test_a_changed_input_is_refused_in_the_words_of_verify(
    shed: Shed, capsys: pytest.CaptureFixture[str]
) -> None:
    """A plan of another input settles nothing."""
    shed.source.write_bytes(_other(shed))
    run = shed.settle()
    verified = Streams(capsys, "verify", shed.source, shed.plan)
    assert (run.status, run.out) == (1, verified.out.splitlines(keepends=True)[0])
    assert "it was made for an input of fingerprint" in run.out
    assert not shed.out.exists()


def _other(shed: Shed) -> bytes:
    """Return the input with something typed into it since."""
    import openpyxl  # noqa: PLC0415 - slow to load

    book = openpyxl.load_workbook(shed.source)
    book["Offcuts"]["P2"] = "shed"
    book.save(shed.folder / "changed.xlsx")
    return (shed.folder / "changed.xlsx").read_bytes()


def test_problems_of_what_happened_stop_it_before_anything_is_written(shed: Shed) -> None:
    """Status 2, a line for each, and how many."""
    shed.fill({"P1": {"Outcome": "gone"}, "K2": {"Good": 1}})
    before = shed.files
    run = shed.settle()
    assert (run.status, run.out) == (2, "")
    assert len(run.err.splitlines()) == 3
    assert run.err.endswith("2 problems to put right; nothing was written.\n")
    assert shed.files == before


def test_a_ledger_that_is_none_stops_it_as_well(shed: Shed) -> None:
    """A file of the user's own called ledger.csv is left alone, and no next input is written without its row."""
    (shed.folder / "ledger.csv").write_text("Name,Phone\n", encoding="utf-8")
    before = shed.files
    assert shed.settle().status == 2
    assert shed.files == before


def test_a_bad_date_is_a_bad_argument(shed: Shed) -> None:
    """Before anything is read."""
    run = shed.settle("--date", "soon")
    assert run.status == 2
    assert run.err.startswith("yieldplan: Invalid value for '--date': expected a date such as 2026-03-28")


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a run can be killed here only by forking")
def test_killed_at_any_moment_the_ledger_has_the_row_or_has_it_not(shed: Shed) -> None:
    """The next input and the row appear at one moment; what is half written is cleared up by the next run."""
    found = settlement(shed.batch.job, shed.batch.plan, shed.happened)
    files = next_input(shed.source, shed.batch.job, found)
    row = ledger_row(shed.batch.job, found)
    seen, steps, ended = [], 0, False
    while not ended:
        for name in ("next.xlsx", "ledger.csv"):
            (shed.folder / name).unlink(missing_ok=True)
        ended = _killed_at(steps, lambda: write_settled(shed.source, shed.out, files, row, force=False))
        ledger = shed.folder / "ledger.csv"
        seen.append((shed.out.is_file(), ledger.is_file() and len(read_ledger(ledger)) == 1))
        steps += 1
    assert set(seen) == {(False, False), (True, True)}
    assert len(seen) > 5
    assert not [path for path in shed.folder.iterdir() if path.name.startswith(".")]


def _killed_at(steps: int, work: Callable[[], object]) -> bool:
    """Do work in a process that is killed at its so-manieth change of the disk; return whether it came to its end."""
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    left = steps

    def ending(call: Callable[..., object]) -> Callable[..., object]:
        def counted(*args: object, **named: object) -> object:
            nonlocal left
            left -= 1
            if left < 0:
                os._exit(9)
            return call(*args, **named)

        return counted

    for name in ("replace", "rename", "symlink", "link", "unlink", "rmdir", "mkdir", "fsync"):
        setattr(os, name, ending(getattr(os, name)))
    work()
    os._exit(0)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="runs are made here by forking")
def test_runs_at_once_wait_for_each_other(shed: Shed) -> None:
    """Every batch has its row in the ledger, whichever run came first."""
    found = settlement(shed.batch.job, shed.batch.plan, shed.happened)
    files = next_input(shed.source, shed.batch.job, found)
    row = ledger_row(shed.batch.job, found)
    children = []
    for number in range(8):
        child = os.fork()
        if not child:
            own, out = {**row, "Plan": f"{number:08d}"}, shed.folder / f"next-{number}.xlsx"
            write_settled(shed.source, out, files, own, force=False)
            os._exit(0)
        children.append(child)
    assert [os.waitpid(child, 0)[1] for child in children] == [0] * 8
    assert set(read_ledger(shed.folder / "ledger.csv")["Plan"]) == {f"{number:08d}" for number in range(8)}
    assert len([*shed.folder.glob("next-*.xlsx")]) == 8


def test_ledger_shows_and_writes(shed: Shed, capsys: pytest.CaptureFixture[str]) -> None:
    """The table on standard output; a page and a csv where asked, over nothing without --force."""
    shed.settle("--date", "2026-03-28")
    page, table = shed.folder / "ledger.pdf", shed.folder / "years.csv"
    args = ("ledger", shed.folder / "ledger.csv", "--out", page, "--csv", table)
    run = Streams(capsys, *args)
    assert run.status == 0
    assert "2026-03-28  pile.xlsx" in run.out
    assert "2026: 1 batch" in run.out
    assert page.read_bytes().startswith(b"%PDF")
    assert "2026: 1 batch" in table.read_text(encoding="utf-8-sig")
    again = Streams(capsys, *args)
    assert (again.status, again.out) == (2, "")
    assert Streams(capsys, *args, "--force").status == 0


def test_no_ledger_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With the file's name."""
    run = Streams(capsys, "ledger", tmp_path / "ledger.csv")
    assert (run.status, run.out) == (2, "")
    assert run.err.startswith("ledger.csv: cannot be read: no such file or directory")
