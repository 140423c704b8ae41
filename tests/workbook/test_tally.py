"""The blank workbook: what it offers, that it reads back, and that it never overwrites."""

from __future__ import annotations

import shutil
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from soffice import needs_soffice, saved

from yieldplan.files import folder_lock
from yieldplan.measure import INCH, MM
from yieldplan.model import InputError, Shop, metric_shop
from yieldplan.model.errors import ArgumentError, OutputError
from yieldplan.stations.reading import read_survey
from yieldplan.workbook import read
from yieldplan.workbook.layouts import EVERY_LAYOUT
from yieldplan.workbook.tally import write_tally

_ROWS: dict[str, list[dict[str, Any]]] = {
    "Offcuts": [
        {
            "Offcut": "A1",
            "Length": "41 3/8",
            "Width": "5",
            "Thickness": "1 1/4",
            "Qty": 2,
            "Species": "white oak",
            "Bow": "1/8",
            "Crook": "1/16",
            "Cup": "1/32",
            "Twist": "3/32",
            "Ring angle": 20,
            "Ring angle far": "rift",
            "Moisture": 11.5,
            "Grain slope": "1:12",
            "Kink at": "20",
            "Rack": "left",
            "Note": "from the old thwart",
        }
    ],
    "Defects": [
        {
            "Offcut": "A1",
            "Kind": "knot",
            "From": "10",
            "To": "12 1/2",
            "Edge from": "1/2",
            "Edge to": "1 1/2",
            "Face": "1",
            "Depth": "3/8",
            "Note": "tight",
        }
    ],
    "Blanks": [
        {
            "Blank": "rib",
            "Need": 3,
            "Length": "18",
            "Width": "1 1/2",
            "Thickness": "3/4",
            "Spare": "10 %",
            "Species": "white oak",
            "Ring from": 0,
            "Ring to": 60,
            "Max slope": "1 in 10",
            "Allows": "sapwood, stain",
            "Clear end": "2",
            "Priority": 1,
            "Note": "steam bent",
        }
    ],
}


def fill(path: Path) -> None:
    """Type a row into each sheet under its headings, as a user would."""
    book = openpyxl.load_workbook(path)
    for name, rows in _ROWS.items():
        headings = [cell.value for cell in book[name][1]]
        for number, row in enumerate(rows, 2):
            for heading, value in row.items():
                book[name].cell(number, headings.index(heading) + 1).value = value
    book.save(path)


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the blank workbook, as it is written; no test changes it."""
    path = tmp_path_factory.mktemp("blank") / "tally.xlsx"
    write_tally(path)
    return path


@pytest.fixture
def path(blank: Path, tmp_path: Path) -> Path:
    """Return a copy of the blank workbook, to be filled in."""
    return Path(shutil.copy(blank, tmp_path))


@pytest.fixture(scope="module")
def book(blank: Path) -> openpyxl.Workbook:
    """Return the blank workbook, opened."""
    return openpyxl.load_workbook(blank)


def test_the_sheets_and_their_headings(book: openpyxl.Workbook) -> None:
    """Every sheet with every heading that is read, and the one on how to measure."""
    assert book.sheetnames == [*(layout.name for layout in EVERY_LAYOUT), "How to measure"]
    for layout in EVERY_LAYOUT:
        assert tuple(cell.value for cell in book[layout.name][1]) == layout.headings


def test_no_line_runs_over_another(book: openpyxl.Workbook) -> None:
    """Every row is as high as its lines, for some programs leave it at one; a note on Shop fits its column."""
    how_to, shop = book["How to measure"], book["Shop"]
    for number, (text,) in enumerate(how_to.iter_rows(max_col=1, values_only=True), 1):
        lines = str(text).split("\n")
        assert how_to.row_dimensions[number].height >= 15 * len(lines)
        assert max(map(len, lines)) <= 110
    for row in shop.iter_rows(max_col=4, values_only=True):
        for column, value in zip("ABCD", row, strict=True):
            assert len(str(value or "")) <= shop.column_dimensions[column].width


def test_measures_are_formatted_as_text(book: openpyxl.Workbook) -> None:
    """A fraction typed into a measure column, down to row 501, does not turn into a date."""
    measures = {
        "Offcuts": ("Length", "Width", "Thickness", "Bow", "Crook", "Cup", "Twist", "Grain slope", "Kink at"),
        "Defects": ("From", "To", "Edge from", "Edge to", "Depth"),
        "Blanks": ("Length", "Width", "Thickness", "Clear end", "Max slope"),
        "Shop": ("Value",),
    }
    for name, headings in measures.items():
        row = [cell.value for cell in book[name][1]]
        for heading in headings:
            for number in (2, 250, 501):
                assert book[name].cell(number, row.index(heading) + 1).number_format == "@"


def test_every_heading_carries_a_note_and_stays_in_sight(book: openpyxl.Workbook) -> None:
    """Notes say how to measure; the heading row is frozen and repeats on paper."""
    for layout in EVERY_LAYOUT:
        sheet = book[layout.name]
        assert all(cell.comment and len(cell.comment.text) > 8 for cell in sheet[1])
        assert sheet.freeze_panes == "B2"
        assert sheet.print_title_rows == "$1:$1"
        assert sheet.page_setup.orientation == "landscape"


def test_an_empty_sheet_prints_as_a_form(book: openpyxl.Workbook) -> None:
    """The first forty rows have lines round their cells, to be filled in by hand at the rack."""
    for name in ("Offcuts", "Defects", "Blanks"):
        columns = len(list(book[name][1]))
        ruled = [
            book[name].cell(row, column).border.bottom.style for row in (2, 41) for column in (1, columns)
        ]
        assert ruled == ["thin"] * 4


def _lists(book: openpyxl.Workbook) -> dict[tuple[str, str], tuple[str, bool]]:
    """Return (sheet, first cell) -> (source, whether other words are refused) of every drop-down."""
    return {
        (sheet.title, str(rule.sqref).split(":")[0]): (rule.formula1, bool(rule.showErrorMessage))
        for sheet in book.worksheets
        for rule in sheet.data_validations.dataValidation
        if rule.type == "list"
    }


def test_drop_downs(book: openpyxl.Workbook) -> None:
    """Words typed before, kinds, rings, slopes, faces are offered; only faces and units take no other word."""
    lists = _lists(book)
    rings = ('"flat sawn,rift,quarter sawn"', False)
    slopes = ('"1 in 25,1 in 20,1 in 15,1 in 12,1 in 10,1 in 8"', False)
    kinds = lists["Defects", "B2"]
    assert '"knot,check,shake,split,wane,' in kinds[0]
    assert lists == {
        ("Offcuts", "F2"): ("Offcuts!$F$2:$F$501", False),
        ("Offcuts", "K2"): rings,
        ("Offcuts", "L2"): rings,
        ("Offcuts", "N2"): slopes,
        ("Defects", "A2"): ("Offcuts!$A$2:$A$501", False),
        ("Defects", "B2"): kinds,
        ("Defects", "G2"): ('"through,1,2"', True),
        ("Blanks", "G2"): ('"yes,no"', True),
        ("Blanks", "H2"): ("Offcuts!$F$2:$F$501", False),
        ("Blanks", "I2"): rings,
        ("Blanks", "J2"): rings,
        ("Blanks", "K2"): slopes,
        ("Blanks", "L2"): kinds,
        ("Shop", "B2"): ('"inch,mm"', True),
        ("Yard", "F2"): ("Blanks!$H$2:$H$501", False),
        ("Yard", "M2"): rings,
        ("Yard", "N2"): rings,
        ("Yard", "P2"): slopes,
        ("Run", "J2"): ("Blanks!$A$2:$A$501", False),
        ("Points", "A2"): ("Run!$A$2:$A$501", False),
        ("Obstacles", "A2"): ("Run!$A$2:$A$501", False),
        ("Obstacles", "F2"): ('"yes,no"', True),
    }
    assert not kinds[1]


def test_lists_fit_what_spreadsheets_take(book: openpyxl.Workbook) -> None:
    """A list written out in a cell rule may have at most 255 characters (common practice, from memory)."""
    assert all(len(source) <= 257 for source, _ in _lists(book).values())


def test_the_shop_sheet_holds_every_setting_with_its_note(book: openpyxl.Workbook) -> None:
    """Each setting of the model is there with what it is if left empty, in inches and in mm, and what it means."""
    rows = {row[0]: row[1:] for row in book["Shop"].iter_rows(min_row=2, values_only=True) if row[0]}
    assert set(rows) == {name.replace("_", " ") for name in Shop.__dataclass_fields__ if name != "species"}
    assert {name: row[0] for name, row in rows.items() if row[0] is not None} == {"units": "inch"}
    assert (rows["rip kerf"][1], rows["cut"][1], rows["mark"][1]) == (
        '1/8" or 3 mm',
        "0.5",
        '1/32" or 0.5 mm',
    )
    assert all(row[2] for row in rows.values())
    assert all(row[1] for name, row in rows.items() if name != "target moisture")


def test_the_sheets_for_stations_may_stay_empty_or_be_filled(path: Path) -> None:
    """A pile alone is read without a word on them; filled in, the run is divided."""
    fill(path)
    assert read(path).warnings == ()
    book = openpyxl.load_workbook(path)
    for sheet, row in (("Run", ("chine", "90", "0", "0", "18")), ("Points", ("chine", "0", "9"))):
        for column, value in enumerate(row, 1):
            book[sheet].cell(2, column).value = value
    book.save(path)
    with pytest.raises(InputError) as refusal:
        read_survey(path)
    assert [problem.cell for problem in refusal.value.problems] == ["B2"]  # one point is too few
    book["Points"]["A3"].value, book["Points"]["B3"].value, book["Points"]["C3"].value = "chine", "90", "12"
    book.save(path)
    assert [len(division.stations) for division in read_survey(path).divisions] == [6]


def test_filled_in_it_reads_without_a_warning(path: Path) -> None:
    """Every column filled in reaches the model, and nothing of the tool's own is questioned."""
    fill(path)
    job = read(path)
    assert job.warnings == ()
    assert job.shop == Shop()
    offcut, blank = job.offcuts[0], job.blanks[0]
    assert (offcut.length, offcut.crook, offcut.note) == (331 * INCH // 8, INCH // 16, "from the old thwart")
    assert (offcut.defects[0].kind, offcut.defects[0].z2) == ("knot", 3 * INCH // 8)
    assert (blank.spare, blank.allows, blank.clear_end) == (1, ("sapwood", "stain"), 2 * INCH)
    assert (offcut.ring_angle_far, offcut.grain_slope, offcut.kinks) == (
        (30, 60),
        Fraction(1, 12),
        (20 * INCH,),
    )
    assert blank.max_slope == Fraction(1, 10)


def test_units_may_be_changed_alone(path: Path) -> None:
    """No default is typed in, so setting units to mm gives those of a metric workbook."""
    fill(path)
    book = openpyxl.load_workbook(path)
    book["Shop"]["B2"].value = "mm"
    for sheet in ("Offcuts", "Defects", "Blanks"):
        for row in book[sheet].iter_rows(min_row=2, max_row=2):
            for head, cell in zip(book[sheet][1], row, strict=True):
                if str(head.value).endswith("slope"):
                    continue  # no length
                if cell.number_format == "@" and str(cell.value or "")[:1].isdigit() and cell.value != "1":
                    cell.value = f"{cell.value} in"
    book.save(path)
    job = read(path)
    assert (job.shop, job.blanks[0].length) == (metric_shop(), 457 * MM + MM // 2)
    wanted = [warning.cell for warning in job.warnings if warning.sheet == "Blanks"]
    assert wanted == ["C2", "D2", "E2", "M2"]  # 18, 1 1/2, 3/4 and 2 in lie between two marks


def test_empty_it_says_what_is_missing(path: Path) -> None:
    """Read before anything is typed, it asks for offcuts and blanks and nothing else."""
    with pytest.raises(InputError) as refusal:
        read(path)
    assert str(refusal.value) == (
        "tally.xlsx, Offcuts: has no row under its headings; expected at least one offcut.\n"
        "tally.xlsx, Blanks: has no row under its headings; expected at least one blank."
    )


def test_it_never_overwrites(tmp_path: Path) -> None:
    """A file of that name is left as it is, byte for byte, and nothing lies beside it."""
    path = tmp_path / "tally.xlsx"
    path.write_bytes(b"mine")
    with pytest.raises(ArgumentError, match=r"tally\.xlsx is there already and is left as it is"):
        write_tally(path)
    assert [(file.name, file.read_bytes()) for file in tmp_path.iterdir()] == [("tally.xlsx", b"mine")]


@pytest.mark.parametrize("name", ["CON.xlsx", "aux.tally.xlsx", "Lpt1 .xlsx"])
def test_names_that_windows_keeps_for_itself_are_refused(name: str, tmp_path: Path) -> None:
    """The workbook could not be copied to a Windows machine (device names; Microsoft's naming rules, from memory)."""
    with pytest.raises(ArgumentError, match="a name that Windows keeps for itself"):
        write_tally(tmp_path / name)
    assert not any(tmp_path.iterdir())


@pytest.mark.parametrize("name", ["pile 3:4.xlsx", "what?.xlsx"])
def test_signs_that_windows_allows_in_no_name_are_refused(name: str, tmp_path: Path) -> None:
    """After a colon NTFS would write beside the file, unseen (Microsoft's naming rules, from memory)."""
    with pytest.raises(ArgumentError, match="which Windows does not allow in a name; leave it out"):
        write_tally(tmp_path / name)
    assert not any(tmp_path.iterdir())


def test_what_goes_beside_it_comes_with_it_or_not_at_all(tmp_path: Path) -> None:
    """The sheet to print lies beside the workbook; where its name is taken neither is written."""
    written = write_tally(tmp_path / "rack.xlsx", {"-sheet.pdf": b"pages"})
    assert [path.name for path in written] == ["rack.xlsx", "rack-sheet.pdf"]
    assert written[1].read_bytes() == b"pages"
    written[0].unlink()
    with pytest.raises(ArgumentError, match=r"rack-sheet\.pdf is there already"):
        write_tally(tmp_path / "rack.xlsx", {"-sheet.pdf": b"others"})
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("rack-sheet.pdf", b"pages")]


def test_a_file_that_comes_meanwhile_is_not_overwritten(tmp_path: Path) -> None:
    """Should the name be taken while another run holds the folder, the other file stays."""
    path = tmp_path / "tally.xlsx"
    with ThreadPoolExecutor() as runs, folder_lock(tmp_path):
        made = runs.submit(write_tally, path)
        with pytest.raises(TimeoutError):
            made.result(timeout=0.5)
        path.write_bytes(b"mine")
    with pytest.raises(ArgumentError, match="is there already"):
        made.result()
    assert [(file.name, file.read_bytes()) for file in tmp_path.iterdir()] == [("tally.xlsx", b"mine")]


def test_a_disk_that_is_full_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A write that fails leaves no half file."""

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", refuse)
    with pytest.raises(
        OutputError, match=r"could not be written to \(No space left on device\); nothing was"
    ):
        write_tally(tmp_path / "tally.xlsx")
    assert list(tmp_path.iterdir()) == []


def test_another_ending_is_refused(tmp_path: Path) -> None:
    """A tally is an xlsx workbook, whatever it is asked to be called."""
    with pytest.raises(ArgumentError, match=r"tally\.ods does not end in \.xlsx"):
        write_tally(tmp_path / "tally.ods")


@needs_soffice
def test_it_survives_another_spreadsheet_program(path: Path, tmp_path: Path) -> None:
    """Filled in, opened and saved by LibreOffice it keeps its lists and formats and is read the same."""
    fill(path)
    before = read(path)
    again = saved(path, tmp_path)
    after = read(again)
    assert (after.offcuts, after.blanks, after.shop) == (before.offcuts, before.blanks, before.shop)
    assert after.warnings == ()
    book = openpyxl.load_workbook(again)
    lists = {(sheet, cell.replace("$", "")) for sheet, cell in _lists(book)}
    assert {("Offcuts", "F2"), ("Defects", "A2"), ("Defects", "B2"), ("Defects", "G2")} <= lists
    assert {("Blanks", "H2"), ("Blanks", "L2"), ("Shop", "B2")} <= lists
    assert book["Offcuts"].column_dimensions["B"].number_format == "@"  # what empty cells take
    assert book["Offcuts"]["B2"].number_format == "@"
    assert book["Offcuts"]["G1"].comment
