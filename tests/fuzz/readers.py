"""Coverage-guided fuzzing of what reads a user's text: lengths, csv folders, sheets of a workbook, plan files.

    pip install atheris
    python tests/fuzz/readers.py measure CORPUS -max_total_time=1800 -timeout=10 -rss_limit_mb=2048

The first argument names what is fuzzed, the second a folder that keeps what libFuzzer finds interesting (filled
with seeds when it is new); all others go to libFuzzer. Anything but a refusal in plain words or a sane answer
(tests/sane.py) ends the run with the input that did it. What was found so far stands in tests/fuzz/test_found.py.
atheris is no dependency: nothing else needs it.

Longest runs, 2026-11-26, of the readers before marks and version 2 of the plan file: lengths 9,760,986, csv folders
over 45,000, sheets 25,077, plan files 3,464,560; one control sign in a message.
"""

from __future__ import annotations

import os
import re
import sys
import tempfile
import unicodedata
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

import atheris

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent / "workbook")]

with atheris.instrument_imports(include=["yieldplan", "csv", "openpyxl.reader", "openpyxl.worksheet"]):
    from yieldplan import measure
    from yieldplan.model import InputError
    from yieldplan.model.errors import PlanFileError
    from yieldplan.model.planfile import dump_plan, load_plan
    from yieldplan.verify import verify
    from yieldplan.workbook import read

from sane import check_job, check_refusal  # noqa: E402 - after the path to it is set
from skiff_workbook import csv_text, good, save_xlsx  # noqa: E402 - same

if TYPE_CHECKING:
    from collections.abc import Callable

SHEETS = ("Offcuts", "Defects", "Blanks", "Shop")
SCRATCH = Path(tempfile.mkdtemp(prefix="fuzz-", dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
_WORDS = (
    *("inches", "inch", "ins", "in", "feet", "foot", "ft", "mm", "cm", "m"),
    *(f"{unit}{end}" for unit in ("met", "millimet", "centimet") for end in ("res", "ers", "re", "er")),
)
_UNIT_WORDS = re.compile("|".join(sorted(_WORDS, key=len, reverse=True)))


def fuzz_measure(data: bytes) -> None:
    """Read any text as a length; what is accepted is in range, has a digit, knows its words, and reads back."""
    source = atheris.FuzzedDataProvider(data)
    unit: measure.Unit = "inch" if source.ConsumeBool() else "mm"
    comma = source.ConsumeBool()
    text = source.ConsumeUnicodeNoSurrogates(100)
    try:
        exact = measure.exact(text, unit, decimal_comma=comma)
    except measure.MeasureError:
        return
    assert 0 <= exact <= measure.LONGEST
    plain = unicodedata.normalize("NFKC", text).lower()
    assert re.search(r"\d", plain), text
    assert not re.search(r"[a-z]", _UNIT_WORDS.sub("", plain)), text
    assert "%" not in plain, text
    if len(text) < 78:
        assert measure.exact(f"  {text} ", unit, decimal_comma=comma) == exact
    for rounding in measure.Rounding:
        for mark in (1, measure.INCH // 32, measure.MM // 2):
            steps = rounding.steps(exact, mark)
            assert measure.exact(measure.write(steps, unit), unit) == steps


def fuzz_csv(data: bytes) -> None:
    """Read any four files as a csv folder, parted by a line of four hashes."""
    folder = SCRATCH / "skiff"
    folder.mkdir(exist_ok=True)
    parts = data.split(b"####\n")[:4]
    for number, sheet in enumerate(SHEETS):
        file = folder / f"{sheet.lower()}.csv"
        if number < len(parts):
            file.write_bytes(parts[number])
        else:
            file.unlink(missing_ok=True)
    _read(folder)


def fuzz_sheet(data: bytes) -> None:
    """Read a workbook in which one part of the good one is replaced by any bytes."""
    names = sorted(PARTS)
    chosen = names[data[0] % len(names)] if data else names[0]
    path = SCRATCH / "skiff.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        for name in names:
            archive.writestr(name, data[1:] if name == chosen else PARTS[name])
    _read(path)


def _read(path: Path) -> None:
    try:
        job = read(path)
    except InputError as error:
        check_refusal(error)
        return
    check_job(job)


def fuzz_plan(data: bytes) -> None:
    """Load any bytes as a plan file; what is loaded is written back the same and can be rechecked."""
    try:
        plan = load_plan(data)
    except PlanFileError:
        return
    for breach in verify(JOB, plan):
        assert breach.sentence()
    assert load_plan(dump_plan(plan)) == plan


def _seeds(what: str) -> list[bytes]:
    if what == "measure":
        texts = ("41 3/8", '41-3/8"', "3' 5 3/8\"", "3ft 5 3/8in", "1,05 m", "1 050 mm", "⅜", "1⁄2", "2,5")
        return [bytes(2) + text.encode() for text in texts]
    if what == "csv":
        sheets = good()
        return [
            "####\n".join(csv_text(sheets[name], separator) for name in SHEETS).encode(encoding)
            for separator in ",;\t"
            for encoding in ("utf-8", "utf-8-sig", "cp1252")
        ]
    if what == "sheet":
        return [bytes([number]) + PARTS[name] for number, name in enumerate(sorted(PARTS))]
    from hand_plans import RICH_RAW, TINY_RAW, plan_of  # noqa: PLC0415 - only here

    return [dump_plan(plan_of(raw)) for raw in (TINY_RAW, RICH_RAW)]


TARGETS: dict[str, Callable[[bytes], None]] = {
    "measure": fuzz_measure,
    "csv": fuzz_csv,
    "sheet": fuzz_sheet,
    "plan": fuzz_plan,
}


def _parts() -> dict[str, bytes]:
    with zipfile.ZipFile(save_xlsx(good(), SCRATCH / "good.xlsx")) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


PARTS = _parts()
JOB = read(save_xlsx(good(), SCRATCH / "job.xlsx"))


def main() -> None:
    """Fuzz the target that is named."""
    what, corpus, *options = sys.argv[1:]
    folder = Path(corpus)
    if not folder.exists():
        folder.mkdir(parents=True)
        for number, seed in enumerate(_seeds(what)):
            (folder / f"seed-{number}").write_bytes(seed)
    os.environ.setdefault("PYTHONWARNINGS", "ignore")
    atheris.Setup([sys.argv[0], str(folder), *options], TARGETS[what])
    atheris.Fuzz()


if __name__ == "__main__":
    main()
