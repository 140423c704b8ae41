"""Some rows of a sheet changed: those are as asked, and all else in the file is what it was."""

from __future__ import annotations

import io
import re
import zipfile
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from openpyxl.worksheet.datavalidation import DataValidation

from yieldplan.model.errors import OutputError
from yieldplan.workbook.rewrite import Change, csv_with
from yieldplan.workbook.rewrite_xlsx import xlsx_with

if TYPE_CHECKING:
    from pathlib import Path

ROWS: list[list[Any]] = [
    ["Blank", "Need", "Length", "Note"],
    ["Rib", 3, "17 3/4", "at the bilge"],
    ["Cleat", None, 40, "a, b"],
    ["Rib 2", 1, 12, None],
]
NEW = Change(row=None, like=2, values={1: "Rib 3", 2: 4})


def book(path: Path) -> bytes:
    """Return a workbook of two sheets with what a user may have in it besides values."""
    made = openpyxl.Workbook()
    sheet = made.worksheets[0]
    sheet.title = "Blanks"
    for row in ROWS:
        sheet.append(row)
    sheet["A2"].font, sheet["C2"].fill = Font(bold=True), PatternFill("solid", fgColor="FFFF00")
    sheet["D2"].comment = Comment("seen", "a builder")
    rule = DataValidation(type="whole", operator="between", formula1="0", formula2="99")
    sheet.add_data_validation(rule)
    rule.add("B2:B100")
    made.create_sheet("Own")["A1"] = "=SUM(Blanks!B2:B4)"
    made.save(path / "a.xlsx")
    return (path / "a.xlsx").read_bytes()


def rows_of(data: bytes, sheet: str = "Blanks") -> list[list[Any]]:
    """Return the rows of a sheet that hold something."""
    page = openpyxl.load_workbook(io.BytesIO(data))[sheet]
    return [list(row) for row in page.iter_rows(values_only=True) if any(value is not None for value in row)]


def test_a_row_changed_and_a_row_made_like_it(tmp_path: Path) -> None:
    """The new row follows the last one, with the looks and the other cells of the one that it is like."""
    data = xlsx_with(book(tmp_path), "Blanks", [Change(row=2, like=2, values={2: 7, 3: "15 1/2"}), NEW], 4)
    changed = ["Rib", 7, "15 1/2", "at the bilge"]
    assert rows_of(data) == [ROWS[0], changed, *ROWS[2:], ["Rib 3", 4, "17 3/4", "at the bilge"]]
    page = openpyxl.load_workbook(io.BytesIO(data))["Blanks"]
    assert page["A5"].font.bold
    assert page.calculate_dimension() == "A1:D5"
    assert page["C5"].fill.fgColor.rgb == "00FFFF00"
    assert page["D2"].comment.text == "seen"
    assert page.data_validations.dataValidation[0].sqref.ranges


def test_a_row_emptied_keeps_its_looks(tmp_path: Path) -> None:
    """An emptied row has no values left; rows below it stay where they are."""
    data = xlsx_with(book(tmp_path), "Blanks", [Change(row=2, like=3, values=None)], 4)
    assert rows_of(data) == [ROWS[0], *ROWS[2:]]
    page = openpyxl.load_workbook(io.BytesIO(data))["Blanks"]
    assert (page["A2"].value, page["A2"].font.bold, page["A4"].value) == (None, True, "Rib 2")


def test_a_row_that_stands_is_made_like_another(tmp_path: Path) -> None:
    """What it held before is gone."""
    data = xlsx_with(book(tmp_path), "Blanks", [Change(row=3, like=2, values={1: "Cleat"})], 4)
    assert rows_of(data)[2] == ["Cleat", 3, "17 3/4", "at the bilge"]


def test_every_other_part_of_a_workbook_is_the_same_to_the_byte(tmp_path: Path) -> None:
    """Only the sheet itself and the word that asks for formulas to be worked out are changed."""
    before = book(tmp_path)
    after = xlsx_with(before, "Blanks", [NEW], 4)
    old, new = (zipfile.ZipFile(io.BytesIO(data)) for data in (before, after))
    assert old.namelist() == new.namelist()
    changed = {name for name in old.namelist() if old.read(name) != new.read(name)}
    assert changed <= {"xl/worksheets/sheet1.xml", "xl/workbook.xml"}
    assert b"fullCalcOnLoad" in new.read("xl/workbook.xml")


def test_without_changes_the_bytes_are_the_same(tmp_path: Path) -> None:
    """Nothing to do, nothing done."""
    data = book(tmp_path)
    assert xlsx_with(data, "Blanks", [], 4) == data


def _with_sheet(data: bytes, change: Any, **more: bytes) -> bytes:
    """Return the workbook with the xml of its first sheet changed, and parts added."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, change(part.decode()).encode() if name.endswith("sheet1.xml") else part)
        for name, part in more.items():
            new.writestr(name, part)
    return out.getvalue()


def test_stored_values_of_formulas_stay(tmp_path: Path) -> None:
    """A formula elsewhere keeps its stored value; a copied row gets the value and not the formula."""
    formula = '<c r="B2"><f>1+2</f><v>3</v></c>'
    data = _with_sheet(book(tmp_path), lambda xml: re.sub(r'<c r="B2".*?</c>', formula, xml))
    after = xlsx_with(data, "Blanks", [Change(row=None, like=2, values={1: "Rib 3"})], 4)
    stored = openpyxl.load_workbook(io.BytesIO(after), data_only=True)["Blanks"]
    assert (stored["B2"].value, stored["B5"].value) == (3, 3)
    assert [row[1] for row in rows_of(after)[1:]] == ["=1+2", None, 1, 3]


def test_a_formula_that_others_share_is_not_overwritten(tmp_path: Path) -> None:
    """The cells that lean on it would lose it; its place and the next step are said."""
    shared = '<c r="B2"><f t="shared" ref="B2:B4" si="0">1+2</f><v>3</v></c>'
    data = _with_sheet(book(tmp_path), lambda xml: re.sub(r'<c r="B2".*?</c>', shared, xml))
    with pytest.raises(OutputError, match=r"Blanks!B2 holds a formula that other cells share"):
        xlsx_with(data, "Blanks", [Change(row=2, like=2, values={2: 5})], 4)


@pytest.mark.parametrize(
    "change",
    [
        lambda xml: re.sub(r' r="[A-Z]*[0-9]+"', "", xml),
        lambda xml: re.sub(r"<(/?)(?=[a-z])", r"<\1x:", xml).replace("xmlns=", "xmlns:x="),
        lambda xml: re.sub(r"(<row [^>]*)>", r'\1 xmlns:x14ac="urn:x" x14ac:dyDescent="0.25">', xml),
    ],
    ids=["no references", "prefixed", "foreign attributes"],
)
def test_other_ways_to_write_a_sheet(tmp_path: Path, change: Any) -> None:
    """Rows and cells may be without references, tags may have prefixes, rows attributes of other makers."""
    data = xlsx_with(_with_sheet(book(tmp_path), change), "Blanks", [NEW], 4)
    assert rows_of(data)[-1] == ["Rib 3", 4, "17 3/4", "at the bilge"]


def test_a_sheet_that_cannot_be_changed_is_refused(tmp_path: Path) -> None:
    """A sheet in an encoding that no spreadsheet program writes is refused with the next step."""
    data = _with_sheet(book(tmp_path), lambda xml: xml.replace("sheetData", "sheetdata"))
    with pytest.raises(OutputError, match=r"save it as \.xlsx"):
        xlsx_with(data, "Blanks", [NEW], 4)


TEXT = 'Blank,Need,Length,Note\nRib,3,17 3/4,"at the\nbilge"\nCleat,,40,"a, ""b"""\n\nRib 2,1,12,\n'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_lines_of_a_csv_file(encoding: str, end: str) -> None:
    """A line changed, one made like it behind it, one gone; the others stand as they were typed."""
    text = TEXT.replace("\n", end).replace("Cleat", "Clé")
    changes = [
        Change(row=2, like=2, values={2: 7, 6: "new"}),
        NEW,
        Change(row=6, like=2, values=None),
    ]
    after = csv_with(text.encode(encoding), changes, ",").decode(encoding)
    note = f'"at the{end}bilge"'
    wanted = f"Blank,Need,Length,Note{end}Rib,7,17 3/4,{note},,new{end}Rib 3,4,17 3/4,{note}{end}"
    assert after == wanted + f'Clé,,40,"a, ""b"""{end}{end}'


def test_a_csv_file_with_a_line_for_its_separator_and_no_last_line_end() -> None:
    """The line that names the separator counts; a last line without an end gets one before a new one follows."""
    data = b"sep=;\nBlank;Need\nRib;3"
    after = csv_with(data, [Change(row=None, like=3, values={1: "Rib; 2"})], ";")
    assert after == b'sep=;\nBlank;Need\nRib;3\n"Rib; 2";3\n'
