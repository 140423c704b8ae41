"""The same input gives the same bytes, wherever and however it is run."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from skiff_workbook import good, save_xlsx

from yieldplan.commands import OUTPUT_NAMES

HERE = {"LC_ALL": "C.UTF-8", "TZ": "UTC", "PYTHONHASHSEED": "0"}
ELSEWHERE = {
    "LC_ALL": "de_DE.ISO-8859-1",
    "LANGUAGE": "de",
    "TZ": "Pacific/Auckland",
    "PYTHONHASHSEED": "4242",
    "PYTHONCOERCECLOCALE": "0",
    "PYTHONUTF8": "0",
    "COLUMNS": "200",
    "FORCE_COLOR": "1",
    "OMP_NUM_THREADS": "1",
}


def planned(folder: Path, variables: dict[str, str], *, one_core: bool) -> dict[str, bytes]:
    """Plan the good workbook in a process of its own; return what is printed, and every file by its name."""
    folder.mkdir(parents=True)
    source = Path(shutil.copy(folder.parents[1] / "Späne.xlsx", folder))
    command = [
        sys.executable,
        "-m",
        "yieldplan",
        "plan",
        source.name,
        "--out",
        "Säge plan",
        "--seconds",
        "4",
    ]
    if one_core and (taskset := shutil.which("taskset")):
        command = [taskset, "-c", str(min(os.sched_getaffinity(0))), *command]
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("LC_", "LANG"))}
    root = str(Path(__file__).parents[1])
    done = subprocess.run(
        command,
        cwd=folder,
        env={**environment, "PYTHONPATH": root, **variables},
        capture_output=True,
        check=False,
        timeout=240,
    )
    assert done.returncode == 0, done.stderr
    out = folder / "Säge plan"
    files = {name: (out / name).read_bytes() for name in OUTPUT_NAMES}
    with zipfile.ZipFile(out / "cutting-order.xlsx") as book:
        files["cutting-order.xlsx"] = b"".join(
            name.encode() + book.read(name) for name in sorted(book.namelist())
        )
    return files


@pytest.mark.skipif(sys.platform == "win32", reason="locales have other names there")
def test_the_same_bytes_under_another_locale_zone_seed_and_number_of_cores(tmp_path: Path) -> None:
    """plan.json, text, pdf and what is in the workbook do not depend on where, when and on what they were made."""
    save_xlsx(good(), tmp_path / "Späne.xlsx")
    here = planned(tmp_path / "a" / "here", HERE, one_core=False)
    elsewhere = planned(tmp_path / "b" / "else where", ELSEWHERE, one_core=True)
    assert b'"offcuts": []' not in here["plan.json"]
    for name, content in here.items():
        assert elsewhere[name] == content, name
