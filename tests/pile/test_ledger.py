"""The ledger: a row a batch whatever stands in it already, sums of the years, table, bars, page and csv."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pandas as pd
import pdfplumber
import pytest

from yieldplan.model import InputError
from yieldplan.pages.renderables import plain_text
from yieldplan.pile.ledger import HEADINGS, read_ledger, with_row
from yieldplan.pile.ledger import csv_bytes as ledger_csv
from yieldplan.pile.ledger import pdf_bytes as ledger_pdf
from yieldplan.pile.ledger import report as ledger_report

if TYPE_CHECKING:
    from pathlib import Path

FIRST = {
    "Date": "2025-11-02",
    "Batch": "frames.xlsx",
    "Plan": "aaaa0001",
    "Half way": "",
    "Boards": "4",
    "Blanks good": "12",
    "Blanks spoiled": "4",
    "Pieces kept": "2",
    "Unit": "board feet",
    "Drawn": "10.000",
    "Blanks": "2.500",
    "Keepers": "2.000",
    "Kerf": "0.500",
    "Shavings": "1.500",
    "Trimmings": "3.500",
    "Waste per cent": "68.8",
    "Minutes planned": "77",
}
SECOND = {
    **FIRST,
    "Date": "2026-02-03",
    "Plan": "bbbb0002",
    "Drawn": "6.000",
    "Keepers": "4.000",
    "Trimmings": "0.000",
}
SECOND |= {"Blanks": "1.000", "Kerf": "0.500", "Shavings": "0.500", "Minutes planned": "62.5"}
THIRD = {**SECOND, "Date": "", "Plan": "cccc0003"}


def ledger(folder: Path, *rows: dict[str, str]) -> Path:
    """Write a ledger of some batches, one after the other."""
    path = folder / "ledger.csv"
    for row in rows:
        path.write_bytes(with_row(path, row)[0])
    return path


def test_a_batch_is_a_row_and_settled_again_it_is_the_same_row(tmp_path: Path) -> None:
    """The same batch changes no byte; the same plan with another outcome takes its row's place."""
    path = ledger(tmp_path, FIRST, SECOND)
    before = path.read_bytes()
    assert with_row(path, FIRST) == (before, False)
    data, replaced = with_row(path, {**FIRST, "Blanks good": "11"})
    assert replaced
    frame = pd.read_csv(io.BytesIO(data))
    assert list(frame["Plan"]) == ["aaaa0001", "bbbb0002"]
    assert list(frame["Blanks good"]) == [11, 12]
    assert tuple(frame.columns) == HEADINGS


def test_what_the_user_has_added_stays(tmp_path: Path) -> None:
    """Dates filled in by hand, a column of their own, semicolons and decimal commas of their spreadsheet."""
    path = tmp_path / "ledger.csv"
    row = {**FIRST, "Date": "3.11.2025", "Weather": "rain"}
    figures = {name: text.replace(".", ",") for name, text in row.items() if name in HEADINGS[9:]}
    lines = [";".join(cells) for cells in (row, {**row, **figures}.values())]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    path.write_bytes(with_row(path, {**FIRST, "Date": ""})[0])
    path.write_bytes(with_row(path, SECOND)[0])
    lines = path.read_text(encoding="utf-8-sig").splitlines()
    assert lines[0].endswith(";Weather")
    assert lines[1].startswith("3.11.2025;frames.xlsx;aaaa0001;")
    assert lines[1].endswith(";rain")
    assert ";6,000;" in lines[2]
    batches = read_ledger(path)
    assert list(batches["Drawn"]) == [10.0, 6.0]


def test_years_are_summed_and_batches_without_a_date_stand_by_themselves(tmp_path: Path) -> None:
    """The waste figure of a year is that of all its wood, not the mean of its batches."""
    more = {**FIRST, "Date": "2026-03-01", "Plan": "dddd0004"}
    text = plain_text(ledger_report(read_ledger(ledger(tmp_path, FIRST, SECOND, THIRD, more))), 100)
    lines = {
        line.split("  ")[0].strip(): line.split() for line in text.split("Where")[0].splitlines() if line
    }
    assert lines["2025: 1 batch"][-8:] == ["10.00", "2.00", "68.8", "%", "1", "h", "17", "min"]
    # 2026: drawn 16, kept 6, waste 0.5 + 0.5 + 0 and 0.5 + 1.5 + 3.5: 6.5 of 10
    assert lines["2026: 2 batches"][-7:] == ["6.00", "65.0", "%", "2", "h", "20", "min"]
    assert lines["no date: 1 batch"][-7:] == ["4.00", "50.0", "%", "1", "h", "3", "min"]


def test_bars_are_as_long_as_the_wood_drawn_and_add_up(tmp_path: Path) -> None:
    """The batch with the most wood has the longest bar; blanks, kept and waste are told apart without colour."""
    text = plain_text(ledger_report(read_ledger(ledger(tmp_path, FIRST, SECOND))), 100)
    bars = [line for line in text.split("Where")[1].splitlines() if "frames.xlsx" in line]
    assert [sum(bar.count(sign) for sign in "█▒░") for bar in bars] == [32, 19]
    assert [bars[0].count(sign) for sign in "█▒░"] == [8, 6, 18]


def test_batches_in_metres_and_feet_are_summed_in_the_unit_of_the_last(tmp_path: Path) -> None:
    """A board foot is 144 cubic inches, 0.002359737216 m³; what was written as m3 is read."""
    metric = {**SECOND, "Unit": "m3", "Drawn": "0.014158", "Keepers": "0.009439"}
    data = ledger_csv(read_ledger(ledger(tmp_path, FIRST, metric)))
    frame = pd.read_csv(io.BytesIO(data))
    assert frame["Drawn"][0] == pytest.approx(10 * 0.002359737, abs=1e-6)
    assert set(frame["Unit"]) == {"m³"}
    assert list(frame["Batch"]) == ["frames.xlsx", "frames.xlsx", "2025: 1 batch", "2026: 1 batch"]


def test_the_page_says_what_the_screen_says(tmp_path: Path) -> None:
    """Names, figures and sums stand on it; the same ledger gives the same bytes."""
    batches = read_ledger(ledger(tmp_path, FIRST, SECOND, THIRD))
    data = ledger_pdf(batches)
    assert data == ledger_pdf(batches)
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        text = pdf.pages[0].extract_text()
        assert len(pdf.pages) == 1
        assert len(pdf.pages[0].rects) >= 9
    for said in ("2025-11-02 frames.xlsx", "68.8 %", "2026: 1 batch", "no date: 1 batch", "1 h 17 min"):
        assert said in text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "Name,Phone\nme,1\n",
            ["ledger.csv: is not a ledger: it has no column Date; settle writes one; move this file"],
        ),
        ("", ["ledger.csv: is not a ledger: it has no column Date"]),
    ],
    ids=["another file", "empty"],
)
def test_what_is_no_ledger_is_never_written_over(tmp_path: Path, text: str, said: list[str]) -> None:
    """A file of that name that is another is refused, with what to do."""
    path = tmp_path / "ledger.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as error:
        with_row(path, FIRST)
    assert [
        one.sentence()[: len(start)] for one, start in zip(error.value.problems, said, strict=True)
    ] == said
    assert path.read_text(encoding="utf-8") == text


def test_a_ledger_without_a_batch_has_nothing_to_show(tmp_path: Path) -> None:
    """Headings alone are said to be that; a batch can still be written below them."""
    path = tmp_path / "ledger.csv"
    path.write_text(",".join(HEADINGS) + "\n", encoding="utf-8")
    with pytest.raises(InputError) as error:
        read_ledger(path)
    assert str(error.value) == "ledger.csv: has no batch yet; settle writes them."
    path.write_bytes(with_row(path, FIRST)[0])
    assert len(read_ledger(path)) == 1


def test_figures_and_dates_that_are_none_are_said_with_their_lines(tmp_path: Path) -> None:
    """All at once."""
    path = ledger(tmp_path, {**FIRST, "Kerf": "lots"}, {**SECOND, "Date": "soon", "Unit": "cords"})
    with pytest.raises(InputError) as error:
        read_ledger(path)
    assert [problem.sentence() for problem in error.value.problems] == [
        "ledger.csv, line 2, Kerf: “lots” is not a number.",
        "ledger.csv, line 3, Unit: “cords” is not a unit; expected board feet or m³.",
        "ledger.csv, line 3, Date: “soon” is not a date; expected a date such as 2026-03-28, or nothing.",
    ]
