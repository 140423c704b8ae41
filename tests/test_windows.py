"""What Windows and macOS do otherwise than Linux, acted out here: neither was at hand."""

from __future__ import annotations

import errno
import os
import unicodedata
from pathlib import Path

import pytest
from skiff_workbook import good, save_csv

from yieldplan import cli, terminal, workbook
from yieldplan.files import write_set
from yieldplan.model import InputError
from yieldplan.model.errors import OutputError
from yieldplan.workbook import fingerprint, read

OLD = {"plan.json": b"old", "cutting-order.pdf": b"old", "cutting-order.xlsx": b"old"}
NEW = dict.fromkeys((*OLD, "cutting-order.txt"), b"new")


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the rooms that ask believe that they run on Windows, where few may make a link."""
    monkeypatch.setattr("yieldplan.atomic_set.LINKS", False)

    def refuse(*_: object) -> None:
        raise AssertionError("Windows is asked for a link")

    monkeypatch.setattr(os, "symlink", refuse)


def _contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name != ".yieldplan-lock"}


def _open_elsewhere(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """Refuse to put another file in the place of one of this name, as Windows does while a program has it open."""
    plain = os.replace

    def replace(source: Path, target: Path) -> None:
        if Path(target).name == name and Path(target).exists():
            raise PermissionError(errno.EACCES, "Access is denied")
        plain(source, target)

    monkeypatch.setattr(os, "replace", replace)
    monkeypatch.setattr(Path, "replace", replace)


@pytest.mark.usefixtures("windows")
def test_a_set_is_replaced_without_links(tmp_path: Path) -> None:
    """The new files stand in the place of the old ones and nothing else is left."""
    for name, data in OLD.items():
        (tmp_path / name).write_bytes(data)
    write_set(tmp_path, NEW)
    assert _contents(tmp_path) == NEW


@pytest.mark.usefixtures("windows")
@pytest.mark.parametrize("name", sorted(OLD))
def test_a_page_that_is_open_leaves_the_whole_old_set(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whichever file is open in another program: no mix of two plans, no new name, and the hint says why."""
    for old, data in OLD.items():
        (tmp_path / old).write_bytes(data)
    _open_elsewhere(monkeypatch, name)
    with pytest.raises(OutputError, match="nothing was written; is a file in it open in another program"):
        write_set(tmp_path, NEW)
    assert _contents(tmp_path) == OLD


def test_files_of_the_system_are_no_sheets(tmp_path: Path) -> None:
    """What macOS and spreadsheet programs lay beside csv files is passed over, and changes no fingerprint."""
    path = save_csv(good(), tmp_path / "skiff")
    before = fingerprint(path)
    (path / "._offcuts.csv").write_bytes(b"\0\5\x16\7")
    (path / "~$blanks.csv").write_bytes(b"me")
    job = read(path)
    assert job.warnings == ()
    assert job.sha256 == before == fingerprint(path)


def test_a_workbook_in_a_folder_is_offered_whatever_its_ending_looks_like(tmp_path: Path) -> None:
    """Windows shows endings in either case; the mark that a workbook is open is not offered."""
    (tmp_path / "~$SKIFF.XLSX").write_bytes(b"me")
    (tmp_path / "SKIFF.XLSX").write_bytes(b"")
    with pytest.raises(InputError, match=r"did you mean the workbook SKIFF\.XLSX in it\?"):
        read(tmp_path)


def test_a_name_is_the_same_however_the_disk_makes_its_accents(tmp_path: Path) -> None:
    """MacOS hands out letters with their accents apart; the job's name is one with what was typed."""
    path = save_csv(good(), tmp_path / unicodedata.normalize("NFD", "Bööte"))
    assert read(path).name == "Bööte"


def test_a_reader_that_has_gone_ends_the_run_quietly_on_windows(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """There a closed pipe is told as an invalid argument that names no file."""

    def closed(*_: object, **__: object) -> int:
        raise OSError(errno.EINVAL, "Invalid argument")

    dropped = []
    monkeypatch.setattr(workbook, "read", closed)
    monkeypatch.setattr(cli, "drop_stdout", lambda: dropped.append(True))
    assert cli.main(["check", "x"]) == 1
    assert "Invalid argument" in capsys.readouterr().err
    monkeypatch.setattr(terminal, "ON_WINDOWS", True)
    assert cli.main(["check", "x"]) == 1
    assert (capsys.readouterr().err, dropped) == ("", [True])


def test_text_is_opened_with_its_encoding_named() -> None:
    """No room leaves it to the system in which encoding a file's text is read or written."""
    package = Path(cli.__file__).parent
    calls = [
        (path.name, line.strip())
        for path in sorted(package.rglob("*.py"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if (".read_text(" in line or ".write_text(" in line) and "encoding=" not in line
    ]
    assert calls == []
