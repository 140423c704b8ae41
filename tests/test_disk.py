"""Disks that are full or may not be written to: real ones, where the machine lets a test have them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from rib import Streams, folder, one_rib

from yieldplan.commands import ORDER_NAMES
from yieldplan.model.planfile import dump_plan
from yieldplan.workbook import read

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

if sys.platform == "win32":
    pytest.skip("limits, mounts and users of another kind", allow_module_level=True)

import resource

NOBODY = 65534
needs_root = pytest.mark.skipif(os.geteuid() != 0, reason="not root")


@pytest.fixture
def source(tmp_path: Path) -> Path:
    """Return a pile with its plan beside it."""
    pile = folder(tmp_path / "pile")
    (tmp_path / "plan.json").write_bytes(dump_plan(one_rib(read(pile))))
    return pile


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """Return a folder with an older set of files."""
    out = tmp_path / "old"
    out.mkdir()
    write_old(out)
    return out


def write_old(out: Path) -> None:
    """Write an older set."""
    for name in ORDER_NAMES:
        (out / name).write_bytes(b"older")


def assert_old(out: Path) -> None:
    """Assert that the older set is whole, and nothing lies beside it."""
    assert {path.name: path.read_bytes() for path in out.iterdir() if path.name != "fill"} == dict.fromkeys(
        ORDER_NAMES, b"older"
    )


def order(
    source: Path, out: Path, *, stdout: str = os.devnull, before: Callable[[], None] | None = None
) -> tuple[int, str]:
    """Print the order of the plan again, in a process of its own; return its status and what it said."""
    arguments = ["order", str(source), str(source.parent / "plan.json"), "--out", str(out)]
    with Path(stdout).open("wb") as stream:
        ran = subprocess.run(
            [sys.executable, "-m", "yieldplan", *arguments],
            stdout=stream,
            stderr=subprocess.PIPE,
            preexec_fn=before,
            check=False,
        )
    return ran.returncode, ran.stderr.decode()


def test_files_that_may_not_grow_so_large(source: Path, old: Path) -> None:
    """Half of a page is written, and no more may be: the older set stays."""
    status, said = order(source, old, before=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (9000, 9000)))
    assert (status, said) == (1, f"{old} could not be written to (File too large); nothing was written.\n")
    assert_old(old)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full")
def test_a_report_that_no_one_can_take(source: Path, old: Path) -> None:
    """Standard output is full: a sentence, and the files are written all the same."""
    assert order(source, old, stdout="/dev/full") == (1, "No space left on device.\n")
    assert (old / "cutting-order.txt").read_bytes() != b"older"


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Path]:
    """Mount a disk of 96 kB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=96k", "tmpfs", str(disk)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("nothing may be mounted here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


@needs_root
def test_a_disk_that_is_full(source: Path, small: Path) -> None:
    """There is no room for the new set beside the older one, which stays."""
    write_old(small)
    (small / "fill").write_bytes(bytes(60_000))
    status, said = order(source, small)
    assert (status, said) == (
        1,
        f"{small} could not be written to (No space left on device); nothing was written.\n",
    )
    assert_old(small)


@needs_root
def test_a_disk_that_is_only_for_reading(
    source: Path, small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The older set stays, and so it is with a new workbook to measure into."""
    write_old(small)
    subprocess.run(["mount", "-o", "remount,ro", str(small)], check=True)
    for out in (small, small / "deep" / "down"):
        assert order(source, out) == (
            1,
            f"{small} cannot be written to: you have no permission there; name another folder.\n",
        )
    assert_old(small)
    run = Streams(capsys, "tally", small / "new.xlsx")
    assert (run.status, run.err) == (
        1,
        f"{small} cannot be written to: you have no permission there; name another folder.\n",
    )


@needs_root
def test_a_folder_of_someone_else(
    source: Path, old: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Who may only read it is told so; who may not read the input is told that."""
    arguments = ("order", source, tmp_path / "plan.json", "--out")
    Streams(capsys, *arguments, tmp_path / "mine")  # loads all that another user may not be able to
    opened = [
        path for path in (tmp_path.resolve(), *tmp_path.resolve().parents) if not path.stat().st_mode & 0o10
    ]
    modes = {path: path.stat().st_mode for path in opened}
    for path in (source, old, *source.iterdir(), *old.iterdir(), tmp_path / "plan.json"):
        path.chmod(0o755)
    for path in opened:
        path.chmod(modes[path] | 0o10)
    try:
        os.setresuid(NOBODY, NOBODY, 0)
        refused = Streams(capsys, *arguments, old)
        os.setresuid(0, 0, 0)
        (source / "offcuts.csv").chmod(0o600)
        os.setresuid(NOBODY, NOBODY, 0)
        unread = Streams(capsys, "check", source)
    finally:
        os.setresuid(0, 0, 0)
        for path in opened:
            path.chmod(modes[path])
    assert (refused.status, refused.err) == (
        1,
        f"{old} cannot be written to: you have no permission there; name another folder.\n",
    )
    assert_old(old)
    assert (unread.status, unread.out) == (2, "")
    assert unread.err.startswith("offcuts.csv: ")
