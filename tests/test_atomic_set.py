"""Whatever kills a run, a folder holds the whole old set of files or the whole new one."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest

from yieldplan.atomic_set import PREFIX, tidy
from yieldplan.files import folder_lock, write_set

if TYPE_CHECKING:
    from pathlib import Path

NAMES = ("plan.json", "cutting-order.txt", "cutting-order.pdf", "cutting-order.xlsx")
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no fork and no SIGKILL")


def read_set(folder: Path) -> set[bytes | None]:
    """Return the different contents that the files of the set have; None stands for a file that is not there."""
    return {(folder / name).read_bytes() if (folder / name).exists() else None for name in NAMES}


def is_tidy(folder: Path) -> bool:
    """Return whether a folder holds plain files alone."""
    return all(path.is_file() and not path.is_symlink() for path in folder.iterdir())


KILLED_AT_EVERY_STEP = """
import os, sys
from pathlib import Path
from yieldplan.files import write_set

os.fsync = lambda _: None  # no plug is pulled here
NAMES = sys.argv[2].split(",")
STEPS = ("open", "os.rename", "os.symlink", "os.mkdir", "os.remove", "os.rmdir", "os.listdir", "shutil.copyfile")
left = None

def kill(event, arguments):
    global left
    if left is not None and event in STEPS:
        left -= 1
        if left < 0:
            os._exit(9)

sys.addaudithook(kill)
if sys.argv[3] == "no links":
    def refuse(*_):
        raise OSError(95, "Operation not supported")
    os.symlink = refuse

top = Path(sys.argv[1])
step, status = 0, 9
while status == 9:
    folder = top / f"{step:03}"
    folder.mkdir()
    if sys.argv[4] == "old":
        for name in NAMES:
            (folder / name).write_bytes(b"old")
    child = os.fork()
    if child == 0:
        left = step
        write_set(folder, {name: b"new" for name in NAMES})
        os._exit(0)
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    step += 1
print(step)
"""


@pytest.fixture(scope="module", params=["old", "nothing"])
def killed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    """Return what a folder held before, and folders in which a run was ended; no test changes them."""
    top = tmp_path_factory.mktemp("killed")
    killed_folders(top, "links", request.param)
    return request.param, top


def killed_folders(top: Path, links: str, before: str) -> list[Path]:
    """Return a folder for every step at which a run writing a set was ended, and one of a run that was not."""
    done = subprocess.run(
        [sys.executable, "-c", KILLED_AT_EVERY_STEP, str(top), ",".join(NAMES), links, before],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    folders = sorted(top.iterdir())
    assert len(folders) == int(done.stdout)
    return folders


def test_ended_at_any_step_the_set_is_old_or_new(killed: tuple[str, Path]) -> None:
    """A run is ended before each single thing that it does to the disk: what is read is one set, never two."""
    old = b"old" if killed[0] == "old" else None
    folders = sorted(killed[1].iterdir())
    assert len(folders) > 30
    found = [read_set(folder) for folder in folders]
    assert all(one in ({old}, {b"new"}) for one in found)
    assert found == sorted(found, key=lambda one: one == {b"new"}), "once it is the new set it stays so"
    assert found[0] == {old}
    assert found[-1] == {b"new"}


def test_the_next_run_clears_up(killed: tuple[str, Path], tmp_path: Path) -> None:
    """After a run that was ended the next one leaves its own set and nothing else; so does tidying alone."""
    old = b"old" if killed[0] == "old" else None
    again = shutil.copytree(killed[1], tmp_path / "again", symlinks=True)
    for number, folder in enumerate(sorted(again.iterdir())):
        if number % 2:
            was = read_set(folder)
            tidy(folder)
            assert read_set(folder) == was
            assert was in ({old}, {b"new"})
        else:
            write_set(folder, dict.fromkeys(NAMES, b"newer"))
            assert read_set(folder) == {b"newer"}
        assert is_tidy(folder)


def test_without_links_the_next_run_puts_the_old_set_back(tmp_path: Path) -> None:
    """Where the disk knows no links a run ended half-way leaves a mix, but only until the next run looks."""
    for folder in killed_folders(tmp_path, "no links", "old"):
        tidy(folder)
        assert read_set(folder) in ({b"old"}, {b"new"})
        assert is_tidy(folder)


WRITES_ON_AND_ON = """
import os, sys
from pathlib import Path
from yieldplan.files import write_set

os.fsync = lambda _: None  # no plug is pulled here
names = sys.argv[2].split(",")
number = 0
while True:
    number += 1
    write_set(Path(sys.argv[1]), {name: b"%d %d" % (number, int(sys.argv[3])) for name in names})
    print(number, flush=True)
"""


def test_killed_at_fifty_random_moments(tmp_path: Path) -> None:
    """A process that overwrites the set over and over is killed with SIGKILL fifty times: never a mix."""
    moments = random.Random(0)
    write_set(tmp_path, dict.fromkeys(NAMES, b"0"))
    for killing in range(50):
        with subprocess.Popen(
            [sys.executable, "-c", WRITES_ON_AND_ON, str(tmp_path), ",".join(NAMES), str(killing)],
            stdout=subprocess.PIPE,
        ) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == b"1\n"
            time.sleep(moments.uniform(0, 0.01))
            writer.kill()
        (content,) = read_set(tmp_path)
        assert content is not None
        assert content.endswith(f" {killing}".encode())


def test_a_second_run_waits_for_the_first(tmp_path: Path) -> None:
    """While one run holds the folder another one that would write into it stands still, then writes."""
    names = ",".join(NAMES)
    with folder_lock(tmp_path):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITES_ON_AND_ON, str(tmp_path), names, "7"], stdout=subprocess.PIPE
        )
        time.sleep(0.5)
        assert read_set(tmp_path) == {None}
    with writer:
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"1\n"
        writer.kill()
    (content,) = read_set(tmp_path)
    assert content is not None
    assert content.endswith(b" 7")


def test_what_the_user_keeps_there_stays(tmp_path: Path) -> None:
    """Tidying touches no folder, link or file that is not of its own making."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "a").write_bytes(b"a")
    (tmp_path / "link").symlink_to("mine/a")
    (tmp_path / f"{PREFIX}note").write_bytes(b"a file, no workshop")
    (tmp_path / f"{PREFIX}left").mkdir()
    tidy(tmp_path)
    assert sorted(os.listdir(tmp_path)) == [f"{PREFIX}note", "link", "mine"]
    assert (tmp_path / "link").read_bytes() == b"a"
