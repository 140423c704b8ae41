"""An input that is too large is refused, and the message names the limit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from skiff_workbook import Maker, Sheets, cells, file, good, save_csv

from yieldplan.model import InputError
from yieldplan.workbook import read

if TYPE_CHECKING:
    from pathlib import Path


def _rows(sheet: str, count: int) -> Maker:
    def make(parent: Path) -> Path:
        sheets = good()
        last = sheets[sheet][-1]
        sheets[sheet] += [[f"{last[0]} {number}", *last[1:]] for number in range(count)]
        return save_csv(sheets, parent / "skiff")

    return make


def _big(offcuts: int, blanks: int, qty: int = 1, need: int = 1) -> Maker:
    """Return a maker of a pile whose rows are allowed one by one."""

    def make(parent: Path) -> Path:
        sheets: Sheets = {
            "Offcuts": [["Offcut", "Length", "Width", "Thickness", "Qty"]],
            "Blanks": [["Blank", "Need", "Length", "Width", "Thickness"]],
        }
        sheets["Offcuts"] += [[f"P{number}", "30", "4", "2", qty] for number in range(offcuts)]
        sheets["Blanks"] += [[f"K{number}", need, "12", "2", "1"] for number in range(blanks)]
        return save_csv(sheets, parent / "skiff")

    return make


@pytest.mark.parametrize(
    ("make", "limit"),
    [
        (_big(41, 1, qty=500), "offcuts.csv: has 20500 pieces in all; expected at most 20000"),
        (
            _big(1, 3, need=7000),
            "blanks.csv: asks for 21000 blanks in all, spares among them; expected at most 20000",
        ),
        (
            _big(1500, 150),
            "offcuts.csv: has 1500 rows, which times the 150 rows of Blanks is 225000; expected at most 200000",
        ),
        (
            cells(Offcuts_Q1="Kink at", Offcuts_Q2=";".join(map(str, range(1, 22)))),
            "has 21 places; expected at most 20",
        ),
        (_rows("Offcuts", 2000), "at most 2000"),
        (_rows("Blanks", 200), "at most 200"),
        (_rows("Shop", 200), "at most 200"),
        (cells(Offcuts_B2="31 m"), "at most 30 m"),
        (cells(Offcuts_A2="A" * 81), "at most 80"),
        (cells(Offcuts_J2="A" * 2001), "at most 2000"),
        (file("skiff.xlsx", bytes(50_000_001)), "larger than 50 MB"),
    ],
)
def test_the_message_names_the_limit(make: Maker, limit: str, tmp_path: Path) -> None:
    """One more than is allowed is refused with the figure that is."""
    with pytest.raises(InputError) as refusal:
        read(make(tmp_path))
    assert any(limit in problem.sentence() for problem in refusal.value.problems)


@pytest.mark.parametrize(
    "make", [_big(40, 1, qty=500), _big(1, 2, need=10_000), _big(2000, 100)], ids=["pieces", "blanks", "rows"]
)
def test_what_just_reaches_a_limit_is_read(make: Maker, tmp_path: Path) -> None:
    """The figures that are named are themselves allowed."""
    assert read(make(tmp_path)).blanks
