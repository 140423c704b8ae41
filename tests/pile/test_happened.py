"""What happened, read: every wrong thing with its cell and what to do; what comes of a board."""

from __future__ import annotations

import csv
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soffice import needs_soffice, saved
from written import Batch, happened_text, settled_at, small_batch

from yieldplan.measure import write
from yieldplan.model import InputError
from yieldplan.model.pieces import HAPPENED, HAPPENED_SHEET
from yieldplan.pile.settlement import settlement

if TYPE_CHECKING:
    from yieldplan.pile.settlement import Settlement

Marks = dict[str, dict[str, object]]


@pytest.fixture(scope="module")
def batch(tmp_path_factory: pytest.TempPathFactory) -> Batch:
    """Return the batch worked out by hand."""
    return small_batch(tmp_path_factory.mktemp("batch"))


def refused(batch: Batch, happened: Path, **how: bool) -> list[str]:
    """Return the sentences that what happened is refused with."""
    with pytest.raises(InputError) as error:
        settlement(batch.job, batch.plan, happened, **how)
    return [problem.sentence() for problem in error.value.problems if problem.severity == "error"]


def text_of(batch: Batch, marks: Marks) -> str:
    """Return the csv; pieces that the plan has not get a row of their own at the end."""
    text = happened_text(batch, marks)
    known = {piece.name for piece in batch.pieces}
    for name, mark in marks.items():
        if name not in known:
            text += ",".join([name, *(str(mark.get(heading, "")) for heading in HAPPENED[1:])]) + "\r\n"
    return text


def came(batch: Batch, tmp_path: Path, marks: Marks, **how: bool) -> Settlement:
    """Return what comes of a batch."""
    return settled_at(batch, tmp_path, marks, **how).found


def corpus() -> list[tuple[str, list[str]]]:
    """Return what is written wrongly, as ``row, heading: value`` parted by bars, and what is said of it."""
    text = Path(__file__).with_name("happened.tsv").read_text(encoding="utf-8")
    lines = [line.split("\t") for line in text.splitlines() if not line.startswith("#")]
    return [(wrong, said) for wrong, *said in lines]


@pytest.mark.parametrize(("wrong", "said"), corpus())
def test_what_is_wrong_is_said_with_its_cell(
    batch: Batch, tmp_path: Path, wrong: str, said: list[str]
) -> None:
    """All at once, each with place, value, what is wrong, what was expected, the next step."""
    marks: Marks = {}
    for part in wrong.split(" | "):
        place, value = part.split(": ")
        name, heading = place.split(", ")
        marks.setdefault(name, {})[heading] = value
    happened = tmp_path / "what-happened.csv"
    happened.write_text(text_of(batch, marks), encoding="utf-8")
    k2 = next(piece.box for piece in batch.pieces if piece.name == "K2")
    assert k2 is not None
    known = {"plan": batch.fingerprint, "k2": write(k2.size[0], "inch")}
    expected = [f"what-happened.csv, {sentence.format(**known)}" for sentence in said]
    assert sorted(refused(batch, happened)) == sorted(expected)


def test_all_problems_come_at_once(batch: Batch, tmp_path: Path) -> None:
    """Every row is read, whatever is wrong with those before it; a row may be wrong in two cells."""
    happened = tmp_path / "what-happened.csv"
    marks: Marks = {
        "P1-1": {"Outcome": "gone", "Good": "some"},
        "P2-1": {"Outcome": "short"},
        "K2": {"Measured width": "40"},
    }
    happened.write_text(text_of(batch, marks) + "P77,,spoiled,,,,,\r\n", encoding="utf-8")
    assert [line.split(":")[0].removeprefix("what-happened.csv, ") for line in refused(batch, happened)] == [
        *("line 3, Outcome", "line 3, Good", "line 8, Measured width", "line 9, Piece", "line 7, Good"),
    ]


def workbook(batch: Batch, path: Path, marks: Marks, above: str = "", title: str = HAPPENED_SHEET) -> Path:
    """Write what happened as a workbook, a sentence above its headings."""
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = title
    if above:
        sheet.append([above])
        sheet.append([])
    sheet.append(list(HAPPENED))
    for piece in batch.pieces:
        mark = marks.get(piece.name, {})
        sheet.append([piece.name, piece.gives, *(mark.get(heading) for heading in HAPPENED[2:])])
    book.save(path)
    return path


def test_a_workbook_names_its_cells(batch: Batch, tmp_path: Path) -> None:
    """Sentences above the headings do not matter; places are those of the sheet."""
    marks: Marks = {"P1-1": {"Outcome": "gone"}, "K2": {"Measured length": 300}}
    found = refused(
        batch, workbook(batch, tmp_path / "order.xlsx", marks, f"Batch of plan {batch.fingerprint}")
    )
    assert [line.split(": ")[0] for line in found] == [
        "order.xlsx, What happened!C5",
        "order.xlsx, What happened!E10",
    ]


@needs_soffice
def test_a_workbook_that_a_spreadsheet_program_saved_is_read(batch: Batch, tmp_path: Path) -> None:
    """Filled in, opened and saved by another program it says the same."""
    marks: Marks = {
        "P1-1": {"Outcome": "short", "Good": 1},
        "K2": {"Measured length": "26 1/4", "Measured width": 3.25, "Measured thickness": "1 5/8"},
    }
    made = workbook(batch, tmp_path / "order.xlsx", marks)
    assert settlement(batch.job, batch.plan, saved(made, tmp_path)) == settlement(batch.job, batch.plan, made)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda path: path.mkdir(), "is a folder; expected cutting-order.xlsx or its csv."),
        (
            lambda path: None,
            "cannot be read: no such file or directory; expected cutting-order.xlsx or its csv.",
        ),
        (
            lambda path: path.write_bytes(b"PK nonsense"),
            "is damaged: its zip archive cannot be read; expected an",
        ),
    ],
    ids=["folder", "missing", "damaged"],
)
def test_what_is_no_sheet_at_all_is_refused(batch: Batch, tmp_path: Path, make: object, said: str) -> None:
    """A folder, nothing, a damaged file."""
    path = tmp_path / "order.xlsx"
    assert callable(make)
    make(path)
    assert refused(batch, path)[0].startswith(f"order.xlsx: {said}")


def test_a_workbook_without_the_sheet_and_a_csv_without_its_headings_are_refused(
    batch: Batch, tmp_path: Path
) -> None:
    """What it has is said, and what was looked for."""
    book = workbook(batch, tmp_path / "order.xlsx", {}, title="Boards")
    assert refused(batch, book) == [
        "order.xlsx: has no sheet What happened; expected the order's workbook or csv; it has Boards."
    ]
    (tmp_path / "what.csv").write_text("Board,Fate\nP1,gone\n", encoding="utf-8")
    assert "expected the headings Piece, Outcome" in refused(batch, tmp_path / "what.csv")[0]


def test_the_sheet_of_another_plan_is_refused_by_its_name(batch: Batch, tmp_path: Path) -> None:
    """Names of boards and sticks are the same in every plan of a pile, so the workbook says whose it is."""
    book = workbook(batch, tmp_path / "order.xlsx", {}, "Cutting order for pile, plan 0123abcd")
    (said,) = refused(batch, book)
    assert said.startswith(
        f"order.xlsx: is of plan 0123abcd, and the plan file given is {batch.fingerprint}; expected"
    )


def test_exceptions_alone_are_written_down(batch: Batch, tmp_path: Path) -> None:
    """A row left out, or left empty, is as planned; so many good and no word means short."""
    happened = tmp_path / "few.csv"
    happened.write_text("Piece;Outcome;Good\np1-1; ;1\nP2;AS  PLANNED;\n", encoding="utf-8")
    found = settlement(batch.job, batch.plan, happened)
    assert dict(found.good) == {"Rib": 3, "Cleat": 1}
    assert found.spoiled == 1
    assert [piece.name for piece in found.kept] == ["K1", "K2"]


@pytest.mark.parametrize("said", ["1 rib, 0 cleats", "1 Rib", "0 cleat; 1 × ribs", "1 rib + 0 cleat"])
def test_good_ones_are_told_apart_by_their_kind(batch: Batch, tmp_path: Path, said: str) -> None:
    """A board with two kinds says how many of each are good, in words of its own."""
    found = came(batch, tmp_path, {"P1": {"Outcome": "short", "Good": said}})
    assert dict(found.good) == {"Rib": 3, "Cleat": 0}
    assert found.spoiled == 2


def test_a_kind_as_it_is_typed_goes_before_another_as_it_is_counted(tmp_path: Path) -> None:
    """Of a rib and the ribs, “1 ribs” means the kind of that name."""
    batch = small_batch(tmp_path, cleat="Ribs")
    found = came(batch, tmp_path, {"P1": {"Outcome": "short", "Good": "1 ribs"}})
    assert dict(found.good) == {"Rib": 2, "Ribs": 1}


def test_a_short_board_may_leave_it_to_its_sticks(batch: Batch, tmp_path: Path) -> None:
    """Short alone is enough where the sticks say what came of them."""
    found = came(batch, tmp_path, {"P1": {"Outcome": "short"}, "P1-1": {"Outcome": "spoiled"}})
    assert dict(found.good) == {"Rib": 2, "Cleat": 1}


def test_a_spoiled_board_gives_nothing_and_keeps_nothing(batch: Batch, tmp_path: Path) -> None:
    """Its keepers are gone with it; all its wood is trimmings but for dust and shavings."""
    found = came(batch, tmp_path, {"P1": {"Outcome": "spoiled", "Note": "split at the jointer"}})
    assert dict(found.good) == {"Rib": 2, "Cleat": 0}
    assert [piece.name for piece in found.kept] == ["K2"]
    assert found.boards[0].gave == "nothing; 3 blanks spoiled; split at the jointer"


def test_the_end_of_a_spoiled_stick_is_gone_with_it(batch: Batch, tmp_path: Path) -> None:
    """K1 is the end of P1-2; K2 keeps its name all the same, for it may be written on the wood."""
    found = came(batch, tmp_path, {"P1-2": {"Outcome": "spoiled"}})
    assert [piece.name for piece in found.kept] == ["K2"]


def test_a_keeper_a_mark_too_large_adds_no_wood(batch: Batch, tmp_path: Path) -> None:
    """It stands in the pile as it measures; the account has no more of it than there was."""
    planned = came(batch, tmp_path, {})
    box = next(piece.box for piece in batch.pieces if piece.name == "K2")
    more = write(box.size[0] + batch.job.shop.mark, "inch")
    found = came(batch, tmp_path, {"K2": {"Measured length": more}})
    assert found.kept[1].length == planned.kept[1].length + batch.job.shop.mark
    assert found.account == planned.account


def test_a_stick_that_is_not_cut_goes_back_as_it_came_off_the_saw(batch: Batch, tmp_path: Path) -> None:
    """Rough, under the next free name behind the plan's keepers, as measured; no blank of it is spoiled."""
    found = came(batch, tmp_path, {"P1-2": {"Outcome": "not cut", "Measured length": "29 1/4"}})
    assert [piece.name for piece in found.kept] == ["K3", "K2"]
    stick = found.kept[0]
    assert (stick.length, stick.width, stick.thickness) == (
        29 * 8128 + 8128 // 4,
        19 * 8128 // 8,
        11 * 8128 // 8,
    )
    assert (found.spoiled, dict(found.good)["Cleat"]) == (0, 0)


def test_a_billet_of_which_no_stick_is_cut_goes_back_whole(tmp_path: Path) -> None:
    """With the ends off it is what it was: its share of the warp, its own defects."""
    batch = small_batch(tmp_path, crook=8128 // 4)
    marks: Marks = {
        "P1-1": {"Outcome": "not cut"},
        "P1-2": {"Outcome": "not cut"},
        "P1": {"Outcome": "as planned"},
    }
    found = came(batch, tmp_path, marks)
    billet = found.kept[0]
    assert (billet.length, billet.width, billet.thickness) == (59 * 8128 // 2, 6 * 8128, 7 * 8128 // 4)
    assert 0 < billet.crook < 8128 // 4
    assert found.account.trimmings + found.account.kerf < found.account.volume_in // 2


def test_a_board_of_which_nothing_is_cut_is_as_it_was(batch: Batch, tmp_path: Path) -> None:
    """All its sticks not cut, and no word on the board: nobody has touched it."""
    found = came(batch, tmp_path, {"P2-1": {"Outcome": "not cut"}})
    assert [board.name for board in found.boards] == ["P1"]


def test_half_way_boards_without_a_mark_are_still_to_be_cut(batch: Batch, tmp_path: Path) -> None:
    """Any row of a board commits it, its blanks count as made unless marked; a note alone does not."""
    marks: Marks = {"K2": {"Measured length": "26"}, "P1-1": {"Note": "mind the knot"}}
    found = came(batch, tmp_path, marks, half_way=True)
    assert [board.name for board in found.boards] == ["P2"]
    assert dict(found.good) == {"Rib": 2, "Cleat": 0}
    everything = came(batch, tmp_path, marks)
    assert [board.name for board in everything.boards] == ["P1", "P2"]


CELLS = st.one_of(
    st.sampled_from(
        ["P1", "P1-1", "K2", "short", "spoiled", "not cut", "1", "1 rib", "26 1/2", "=1+1", "12 May", "½"]
    ),
    st.text(max_size=8),
    st.integers(-3, 10**6).map(str),
)


@given(st.lists(st.lists(CELLS, min_size=len(HAPPENED), max_size=len(HAPPENED)), max_size=6), st.booleans())
@settings(max_examples=150)
def test_whatever_is_typed_is_understood_or_refused_with_cells(rows: list[list[str]], half_way: bool) -> None:
    """Never anything but a settlement whose wood adds up, or problems that name a line."""
    with tempfile.TemporaryDirectory() as folder:
        batch, happened = known_batch(), Path(folder) / "what.csv"
        with happened.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([HAPPENED, *rows])
        try:
            account = settlement(batch.job, batch.plan, happened, half_way=half_way).account
        except InputError as error:
            found = {problem.file for problem in error.problems if problem.found}
        else:
            found = set()
        if found:
            assert found == {"what.csv"}
            return
        parts = (account.blanks, account.keepers, account.kerf, account.shavings, account.trimmings)
        assert sum(parts) == account.volume_in


@cache
def known_batch() -> Batch:
    """Return the batch worked out by hand, written once."""
    return small_batch(Path(tempfile.mkdtemp()))


def test_a_decimal_comma_in_a_measure_is_questioned(batch: Batch, tmp_path: Path) -> None:
    """It is read as a point, as on the sheets of the input, and settling goes on."""
    (told,) = came(batch, tmp_path, {"K2": {"Measured length": "20,5"}}).warnings
    assert told.found == "is read as 20.5 inches, the comma as a decimal point"
