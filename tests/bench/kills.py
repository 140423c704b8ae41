"""Kill the command line fifty times while it overwrites an older result, and look at what is left.

    python tests/bench/kills.py [TIMES]

Two inputs take turns to be planned into one folder; each run is ended with SIGKILL at a random moment, half of them
late, while the files are made and written. Afterwards the fingerprint of plan.json must be the one that stands in
the text, on the pages and in the workbook. (tests/test_atomic_set.py ends the writing alone, at every step.)
"""

from __future__ import annotations

import hashlib
import os
import random
import subprocess
import sys
import tempfile
import time
import zipfile
from pathlib import Path

import pdfplumber

ROOT = Path(__file__).resolve().parents[2]
OFFCUTS = "Offcut,Length,Width,Thickness\nP1,{},2 3/8,1 1/4\nP2,30,4,1 1/2\n"
BLANKS = "Blank,Need,Length,Width,Thickness\nRib,2,12,2,1\n"


def start(source: Path, out: Path) -> subprocess.Popen[bytes]:
    """Start a run of plan."""
    return subprocess.Popen(
        [sys.executable, "-m", "yieldplan", "plan", str(source), "--out", str(out)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def fingerprint(out: Path) -> str:
    """Return the fingerprint that all four files agree on.

    Raises
    ------
    SystemExit
        If they do not.
    """
    mark = hashlib.sha256((out / "plan.json").read_bytes()).hexdigest()[:8]
    with pdfplumber.open(out / "cutting-order.pdf") as pages:
        printed = pages.pages[0].extract_text()
    with zipfile.ZipFile(out / "cutting-order.xlsx") as book:
        cells = "".join(book.read(name).decode() for name in book.namelist() if name.startswith("xl/"))
    texts = {"txt": (out / "cutting-order.txt").read_text(encoding="utf-8"), "pdf": printed, "xlsx": cells}
    other = [name for name, text in texts.items() if mark not in text]
    if other:
        raise SystemExit(f"a mix: {mark} of plan.json does not stand in {', '.join(other)}")
    return mark


def main(times: int) -> None:
    """Kill, look, and say how often the old set was left and how often the new one."""
    moments = random.Random(0)
    with tempfile.TemporaryDirectory() as name:
        top, out = Path(name), Path(name) / "order"
        sources = []
        for number in range(2):
            source = top / f"pile{number}"
            source.mkdir()
            (source / "offcuts.csv").write_text(OFFCUTS.format(40 + number), encoding="utf-8")
            (source / "blanks.csv").write_text(BLANKS, encoding="utf-8")
            sources.append(source)
        begun = time.perf_counter()
        start(sources[1], out).wait()
        whole = time.perf_counter() - begun
        now, changed = fingerprint(out), 0
        for killing in range(times):
            process = start(sources[killing % 2], out)
            late = killing % 4 < 2
            time.sleep(moments.uniform(0.7 if late else 0.0, 1.1) * whole)
            process.kill()
            process.wait()
            left = fingerprint(out)
            changed += left != now
            now = left
        print(
            f"{times} runs of about {whole:.1f} s killed: {changed} left the new set, {times - changed} the old one"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50)
