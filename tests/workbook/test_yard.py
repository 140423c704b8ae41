"""The Yard sheet: what may be typed for a price, what is taken where nothing is, and its faults with their cells."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from skiff_workbook import Sheets, good, save_csv, save_xlsx

from yieldplan.measure import INCH
from yieldplan.model import InputError, Job, YardBoard
from yieldplan.workbook import read

if TYPE_CHECKING:
    from pathlib import Path

HEADINGS = ["Stock", "Length", "Width", "Thickness", "Price", "At most", "Faults", "Ring angle", "Bow"]
BOARD = ["Oak 8 ft", 96, 6, 1, "24.50", None, None, None, None]


def yard(path: Path, *rows: list[Any], csv: bool = False) -> tuple[YardBoard, ...]:
    """Return what is read of a Yard sheet of these rows, in an inch workbook or csv folder."""
    return job(path, *rows, csv=csv).yard


def job(path: Path, *rows: list[Any], csv: bool = False) -> Job:
    """Return the job of the good workbook with a Yard sheet of these rows."""
    sheets = {**good(), "Yard": [HEADINGS, *rows]}
    return read(save_csv(sheets, path) if csv else save_xlsx(sheets, path / "pile.xlsx"))


def problems(path: Path, *rows: list[Any]) -> list[str]:
    """Return the errors of a Yard sheet of these rows."""
    with pytest.raises(InputError) as raised:
        job(path, *rows)
    return [one.sentence() for one in raised.value.problems if one.severity == "error"]


@pytest.mark.parametrize(
    ("typed", "hundredths"),
    [
        ("24.50", 2450),
        (24.5, 2450),
        (24, 2400),
        ("24,5 each", 2450),
        ("$24.50 a piece", 2450),
        ("24.50 € each", 2450),
        # 96 x 6 x 1 in is 4 board feet (144 in³ each), a third of a cubic foot, 8 ft long.
        ("6.80 a board foot", 2720),
        ("6.80/bf", 2720),
        ("6.80 per bd ft.", 2720),
        ("60 a cubic foot", 2000),
        ("3.25 a foot", 2600),
        # 2.4384 m; 0.0094389... m³ at 25.4 mm to the inch: a part of a hundredth counts whole.
        ("10 a metre", 2439),
        ("1000 / m3", 944),
        ("0.001", 1),
    ],
)
def test_a_price_is_each_or_by_length_or_volume(tmp_path: Path, typed: Any, hundredths: int) -> None:
    """It comes to hundredths for one board, rounded up."""
    (board,) = yard(tmp_path, [*BOARD[:4], typed, *BOARD[5:]])
    assert board.price == hundredths


@pytest.mark.parametrize("csv", [False, True], ids=["xlsx", "csv"])
def test_what_is_left_out(tmp_path: Path, csv: bool) -> None:
    """Any number can be had, 15 % of the length is not usable, and the board is straight with unread rings."""
    (board,) = yard(tmp_path / "in" if csv else tmp_path, BOARD, csv=csv)
    assert (board.at_most, board.faults, board.currency) == (None, Fraction(15), "")
    one = board.board
    assert (one.name, one.length, one.width, one.thickness) == ("Oak 8 ft", 96 * INCH, 6 * INCH, INCH)
    assert (one.bow, one.ring_angle, one.moisture, one.grain_slope) == (0, None, None, None)


def test_what_is_typed(tmp_path: Path) -> None:
    """At most, faults, rings and warp are read as on the other sheets; none at all may be for sale."""
    rows = [["Oak", 96, 1, 6, "£9 a bf", 0, "12.5 %", "rift", "1/4"], ["Ash", 48, 6, 1, "£3", 7, 0, 40, None]]
    oak, ash = yard(tmp_path, *rows)
    assert (oak.at_most, oak.faults, oak.currency) == (0, Fraction(25, 2), "£")
    assert (oak.board.ring_angle, oak.board.bow) == ((30, 60), INCH // 4)
    assert (oak.board.width, oak.board.thickness) == (6 * INCH, INCH)
    assert (ash.at_most, ash.faults, ash.board.ring_angle) == (7, Fraction(0), 40)


def test_a_share_in_a_cell_of_percentages(tmp_path: Path) -> None:
    """15 % in a cell that a spreadsheet shows as a percentage is 15 %, not 0.15 %."""
    row: list[Any] = [*BOARD[:6], 0.25, *BOARD[7:]]
    sheets: Sheets = {**good(), "Yard": [list[Any](HEADINGS), row]}

    def shown(book: Any) -> None:
        book["Yard"]["G2"].number_format = "0 %"

    (board,) = read(save_xlsx(sheets, tmp_path / "pile.xlsx", shown)).yard
    assert board.faults == 25


def test_a_workbook_without_one_has_no_yard(tmp_path: Path) -> None:
    """The sheet may be missing, and may be empty."""
    assert read(save_xlsx(good(), tmp_path / "pile.xlsx")).yard == ()
    assert read(save_xlsx({**good(), "Yard": []}, tmp_path / "empty.xlsx")).yard == ()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (
            "cheap",
            "Yard!E2: “cheap” is not a price; expected a price such as 24.50 each, or 6.80 a board foot",
        ),
        ("", "Yard!E2: is empty; expected a price such as"),
        ("24.50 a mile", "“24.50 a mile” is not a price"),
        ("-3", "“-3” is not a price"),
        ("0", "“0” is out of range; expected a price above 0"),
        ("1,250 a cubic metre", "could be thousands or thousandths"),
        ("£3 €", "is not a price"),
        ("3-Aug", "is a date, not a price"),
        (True, "is TRUE or FALSE, not a price"),
    ],
)
def test_what_is_no_price(tmp_path: Path, typed: Any, words: str) -> None:
    """The message says the cell, what stands there and what was expected."""
    (problem,) = problems(tmp_path, [*BOARD[:4], typed or None, *BOARD[5:]])
    assert words in problem


def test_all_faults_of_a_row_are_said_at_once(tmp_path: Path) -> None:
    """A bad price hides neither a bad size nor a bad share; a name may stand once, and one currency."""
    rows = [
        ["Oak", "long", 6, 1, "dear", "some", 99, 95, None],
        ["oak", 48, 6, 1, "£3", None, None, None, None],
        ["Ash", 48, 6, 1, "$3", None, None, None, None],
    ]
    cells = [problem.split("!")[1].split(":")[0] for problem in problems(tmp_path, *rows)]
    assert sorted(cells) == ["A3", "B2", "E2", "E4", "F2", "G2", "H2"]
