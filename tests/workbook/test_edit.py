"""Rows of an input changed, added and struck: they are as asked, and all else in the file is what it was."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from openpyxl.worksheet.datavalidation import DataValidation

from yieldplan.model.errors import OutputError
from yieldplan.workbook.edit import Copied
from yieldplan.workbook.edit_xlsx import edit_input

if TYPE_CHECKING:
    from pathlib import Path

    from yieldplan.workbook.edit import SheetEdit
    from yieldplan.workbook.edit_xlsx import InputEdit

ROWS: list[list[Any]] = [
    ["Blank", "Need", "Length", "Note"],
    ["Rib", 3, "17 3/4", "at the bilge"],
    ["Cleat", None, 40, "a, b"],
    ["Rib 2", 1, 12, None],
]


def book(folder: Path) -> Path:
    """Write a workbook of two sheets with what a user may have in it besides values."""
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
    made.save(folder / "a.xlsx")
    return folder / "a.xlsx"


def blanks(edit: InputEdit) -> SheetEdit:
    """Return the sheet that is changed."""
    sheet = edit.sheet("blanks")
    assert sheet is not None
    return sheet


def as_the_first(sheet: SheetEdit) -> Copied:
    """Return all that stands in the first row."""
    return Copied(sheet=sheet, row=2, headings=tuple(text for _, text in sheet.heads))


def with_new(path: Path) -> bytes:
    """Return the workbook with a row made like the first."""
    edit = edit_input(path)
    sheet = blanks(edit)
    sheet.add({"Blank": "Rib 3", "Need": 4}, as_the_first(sheet))
    return edit.contents()[""]


def rows_of(data: bytes) -> list[list[Any]]:
    """Return the rows that hold something."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library says what it would not keep
        page = openpyxl.load_workbook(io.BytesIO(data))["Blanks"]
    return [list(row) for row in page.iter_rows(values_only=True) if any(value is not None for value in row)]


def test_a_row_changed_and_a_row_made_like_it(tmp_path: Path) -> None:
    """The new row follows the last one, with the looks and the other cells of the one that it is like."""
    edit = edit_input(book(tmp_path))
    sheet = blanks(edit)
    copied = as_the_first(sheet)
    sheet.put(2, "need", 7)
    sheet.put(2, "Length", "15 1/2")
    sheet.add({"Blank": "Rib 3", "Need": 4}, copied)
    data = edit.contents()[""]
    assert rows_of(data)[1] == ["Rib", 7, "15 1/2", "at the bilge"]
    page = openpyxl.load_workbook(io.BytesIO(data))["Blanks"]
    assert [cell.value for cell in page[5]] == ["Rib 3", 4, "15 1/2", "at the bilge"]
    assert page["C5"].fill.fgColor.rgb == "00FFFF00"
    assert page["C2"].fill.fgColor.rgb == "00FFFF00"


def test_a_column_that_is_not_there_yet_is_added_on_the_right(tmp_path: Path) -> None:
    """With its heading, for the new row alone."""
    edit = edit_input(book(tmp_path))
    blanks(edit).add({"Blank": "Rib 3", "From": "P1"})
    assert [row[-1] for row in rows_of(edit.contents()[""])] == ["From", None, None, None, "P1"]


def test_every_other_part_of_a_workbook_is_the_same_to_the_byte(tmp_path: Path) -> None:
    """Only the sheet itself and the word that asks for formulas to be worked out are changed."""
    path = book(tmp_path)
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(io.BytesIO(with_new(path))) as new:
        assert old.namelist() == new.namelist()
        changed = {name for name in old.namelist() if old.read(name) != new.read(name)}
        around = [re.sub(b"<dimension.*?/>|<sheetData.*</sheetData>", b"", z.read(SHEET)) for z in (old, new)]
    assert changed <= {SHEET, "xl/workbook.xml"}
    assert around[0] == around[1]


SHEET = "xl/worksheets/sheet1.xml"


def rewritten(path: Path, change: Any) -> Path:
    """Change the xml of the workbook's first sheet."""
    out = io.BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, change(part.decode()).encode() if name == SHEET else part)
    path.write_bytes(out.getvalue())
    return path


def test_stored_values_of_formulas_stay(tmp_path: Path) -> None:
    """A formula elsewhere keeps its stored value; a copied row gets the value and not the formula."""
    formula = '<c r="B2"><f>1+2</f><v>3</v></c>'
    path = rewritten(book(tmp_path), lambda xml: re.sub(r'<c r="B2".*?</c>', formula, xml))
    edit = edit_input(path)
    sheet = blanks(edit)
    sheet.add({"Blank": "Rib 3"}, as_the_first(sheet))
    after = edit.contents()[""]
    stored = openpyxl.load_workbook(io.BytesIO(after), data_only=True)["Blanks"]
    assert (stored["B2"].value, stored["B5"].value) == (3, 3)
    assert [row[1] for row in rows_of(after)[1:]] == ["=1+2", None, 1, 3]


def test_a_formula_that_others_share_goes_without_them(tmp_path: Path) -> None:
    """The cells that lean on it get theirs written out, as it is for their own row."""
    cells = {
        "B2": '<f t="shared" ref="B2:B4" si="0">C2+2</f><v>3</v>',
        "B4": '<f t="shared" si="0"/><v>14</v>',
    }

    def shared(xml: str) -> str:
        for place, inner in cells.items():
            xml = re.sub(rf'<c r="{place}".*?</c>', f'<c r="{place}">{inner}</c>', xml)
        return xml

    edit = edit_input(rewritten(book(tmp_path), shared))
    blanks(edit).put(2, "Need", 5)
    after = edit.contents()[""]
    assert [row[1] for row in rows_of(after)[1:]] == [5, None, "=C4+2"]
    assert openpyxl.load_workbook(io.BytesIO(after), data_only=True)["Blanks"]["B4"].value == 14


@pytest.mark.parametrize(
    "change",
    [
        lambda xml: re.sub(r' r="[A-Z]*[0-9]+"', "", xml),
        lambda xml: re.sub(r"<(/?)(?=[a-z])", r"<\1x:", xml).replace("xmlns=", "xmlns:x="),
        lambda xml: re.sub(r"(<row [^>]*)>", r'\1 xmlns:x14ac="urn:x" x14ac:dyDescent="0.25">', xml),
        lambda xml: re.sub(r"(<row .*?)(</row>)", r"\1<extLst><ext uri='urn:x'/></extLst>\2", xml),
    ],
    ids=["no references", "prefixed", "foreign attributes", "more behind the cells"],
)
def test_other_ways_to_write_a_sheet(tmp_path: Path, change: Any) -> None:
    """Rows and cells may be without references, tags may have prefixes, rows attributes and parts of other makers."""
    data = with_new(rewritten(book(tmp_path), change))
    assert rows_of(data)[-1][:4] == ["Rib 3", 4, "17 3/4", "at the bilge"]


def test_signs_that_xml_keeps_for_itself_are_written(tmp_path: Path) -> None:
    """A name may hold any of them, and blanks at its ends."""
    edit = edit_input(book(tmp_path))
    blanks(edit).put(2, "Blank", ' <R&D> "rib" ')
    assert rows_of(edit.contents()[""])[1][0] == ' <R&D> "rib" '


def test_a_sheet_that_cannot_be_changed_is_refused(tmp_path: Path) -> None:
    """A sheet in an encoding that no spreadsheet program writes is refused with the next step."""

    def utf_16(xml: str) -> str:
        return '<?xml version="1.0" encoding="latin-1"?>' + xml.replace("at the bilge", "at the bîlge")

    path = rewritten(book(tmp_path), utf_16)
    data = path.read_bytes()
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, part.decode().encode("latin-1") if name == SHEET else part)
    path.write_bytes(out.getvalue())
    with pytest.raises(OutputError, match=r"save it as \.xlsx"):
        with_new(path)


TEXT = 'Blank,Need,Length,Note\nRib,3,17 3/4,"at the\nbilge"\nCleat,,40,"a, ""b"""\n\nRib 2,1,12,\n'


def folder_of(folder: Path, data: bytes) -> Path:
    """Write a csv folder with such a file of blanks."""
    (folder / "pile").mkdir()
    (folder / "pile" / "blanks.csv").write_bytes(data)
    return folder / "pile"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16-le", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_lines_of_a_csv_file(tmp_path: Path, encoding: str, end: str) -> None:
    """A line changed, one made like it at the end, one gone; the others stand as they were typed."""
    text = TEXT.replace("\n", end).replace("Cleat", "Clé")
    edit = edit_input(folder_of(tmp_path, text.encode(encoding)))
    sheet = blanks(edit)
    copied = as_the_first(sheet)
    sheet.put(2, "Need", 7)
    sheet.add({"Blank": "Rib 3", "Need": 4}, copied)
    sheet.strike([6])
    after = edit.contents()["blanks.csv"].decode(encoding)
    note = f'"at the{end}bilge"'
    wanted = f'Blank,Need,Length,Note{end}Rib,7,17 3/4,{note}{end}Clé,,40,"a, ""b"""{end}{end}'
    assert after == wanted + f"Rib 3,4,17 3/4,{note}{end}"


def test_a_csv_file_with_a_line_for_its_separator_and_no_last_line_end(tmp_path: Path) -> None:
    """The line that names the separator counts; a last line without an end gets one before a new one follows."""
    edit = edit_input(folder_of(tmp_path, b"sep=;\nBlank;Need\nRib;3"))
    sheet = blanks(edit)
    sheet.add({"Blank": "Rib; 2"}, Copied(sheet=sheet, row=3, headings=("Need",)))
    assert edit.contents()["blanks.csv"] == b'sep=;\nBlank;Need\nRib;3\n"Rib; 2";3\n'


def test_a_csv_file_of_utf_16_keeps_its_mark(tmp_path: Path) -> None:
    """Either way round."""
    for number, encoding in enumerate(("utf-16-le", "utf-16-be")):
        data = "\ufeffBlank,Need\r\nRib,3\r\n".encode(encoding)
        (tmp_path / str(number)).mkdir()
        edit = edit_input(folder_of(tmp_path / str(number), data))
        blanks(edit).put(2, "Need", 5)
        assert edit.contents()["blanks.csv"] == "\ufeffBlank,Need\r\nRib,5\r\n".encode(encoding)
