"""Whole workbooks put together at random, valid and damaged: each is refused in plain words or makes a sane job."""

from __future__ import annotations

import datetime
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sane import check_job, check_refusal
from skiff_workbook import Sheets, csv_text, good, save_xlsx

from yieldplan.model import InputError, Job
from yieldplan.workbook import read

FEW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])

SIGNS = st.characters(codec="utf-8", exclude_characters="\x00")
LENGTHS = st.sampled_from(("41 3/8", "5", "1 1/4", "3'", "600 mm", 12, 1.5, "0", "2 ½", "18", "3/4"))
ODD: st.SearchStrategy[Any] = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 10**12),
    st.floats(allow_nan=False, allow_infinity=False),
    st.dates(datetime.date(1901, 1, 1), datetime.date(2100, 1, 1)),
    st.times(),
    st.text(SIGNS, max_size=12),
    st.sampled_from(
        ("#N/A", "=A1", "3-Aug", "1/0", "1,000", "A1", "a1 ", "knot", "through", "white oak, ash", "mm")
    ),
)
CELL = st.one_of(LENGTHS, LENGTHS, ODD)


@st.composite
def sheets(draw: st.DrawFn) -> Sheets:
    """Return a strategy of sheets: the good ones, with a few cells, headings, rows and sheets changed."""
    made = good()
    for _ in range(draw(st.integers(0, 4))):
        name = draw(st.sampled_from(sorted(made)))
        rows = made[name]
        what = draw(st.sampled_from(("cell", "cell", "cell", "row", "heading", "repeat", "drop", "sheet")))
        row = draw(st.integers(1, len(rows) - 1)) if len(rows) > 1 else 0
        column = draw(st.integers(0, len(rows[0]) - 1)) if rows and rows[0] else 0
        if what == "sheet":
            made[draw(st.sampled_from((name.lower(), name[:-1], "Notes")))] = made.pop(name)
        elif what == "row":
            rows.insert(row, draw(st.lists(CELL, max_size=12)))
        elif what == "repeat" and rows:
            rows.append(list(rows[row]))
        elif what == "drop" and rows:
            del rows[row]
        elif rows and column < len(rows[row]):
            heading = what == "heading"
            rows[0 if heading else row][column] = draw(st.text(SIGNS, max_size=9) if heading else CELL)
    return made


def outcome(path: Path) -> Job | None:
    """Read an input, see that what comes of it is in order, and return the job if there is one."""
    try:
        job = read(path)
    except InputError as error:
        check_refusal(error)
        return None
    check_job(job)
    return job


def printable(value: object) -> object:
    """Return a value that a workbook can hold: most control characters are no XML."""
    return "".join(sign for sign in value if sign.isprintable()) if isinstance(value, str) else value


@FEW
@given(made=sheets())
def test_any_workbook_is_refused_or_read(made: Sheets) -> None:
    """Read twice, a workbook is answered the same way, and never with an exception of another kind."""
    rows: Sheets = {
        name: [[printable(value) for value in row] for row in sheet] for name, sheet in made.items()
    }
    with tempfile.TemporaryDirectory() as folder:
        path = save_xlsx(rows or {"Notes": []}, Path(folder) / "skiff.xlsx")
        assert outcome(path) == outcome(path)


@FEW
@given(
    made=sheets(),
    separator=st.sampled_from((",", ";", "\t")),
    encoding=st.sampled_from(("utf-8", "utf-8-sig", "utf-16", "cp1252")),
)
def test_any_csv_folder_is_refused_or_read(made: Sheets, separator: str, encoding: str) -> None:
    """Whatever parts the fields, and however the letters are written."""
    with tempfile.TemporaryDirectory() as folder:
        for name, rows in made.items():
            data = csv_text(rows, separator).encode(encoding, "replace")
            (Path(folder) / f"{name.lower()}.csv").write_bytes(data)
        outcome(Path(folder))


@FEW
@given(data=st.data())
def test_a_damaged_workbook_is_refused_or_read(data: st.DataObject) -> None:
    """Bytes turned over, left out or put in anywhere in the file."""
    with tempfile.TemporaryDirectory() as folder:
        path = save_xlsx(good(), Path(folder) / "skiff.xlsx")
        raw = bytearray(path.read_bytes())
        for _ in range(data.draw(st.integers(1, 4))):
            at = data.draw(st.integers(0, 100_000)) % len(raw)  # how long it is depends on the time
            length = data.draw(st.sampled_from((1, 1, 1, 2, 30, 1000)))
            raw[at : at + length] = data.draw(st.binary(max_size=3))
        path.write_bytes(raw)
        outcome(path)


@FEW
@given(data=st.data())
def test_a_damaged_csv_file_is_refused_or_read(data: st.DataObject) -> None:
    """Bytes turned over, left out or put in anywhere in one of the files."""
    with tempfile.TemporaryDirectory() as folder:
        for name, rows in good().items():
            raw = bytearray(csv_text(rows).encode())
            for _ in range(data.draw(st.integers(0, 3))):
                at = data.draw(st.integers(0, len(raw) - 1))
                raw[at : at + data.draw(st.integers(0, 9))] = data.draw(st.binary(max_size=6))
            (Path(folder) / f"{name.lower()}.csv").write_bytes(raw)
        outcome(Path(folder))
