"""Bad input: every problem at its place, in full words, all of them at once."""

from __future__ import annotations

import datetime
import io
import zipfile
from typing import TYPE_CHECKING, Any

import pytest
from skiff_workbook import Maker, cells, file, folder, good, lines, save_csv, save_xlsx, touched, without

from yieldplan.model import InputError
from yieldplan.workbook import read

if TYPE_CHECKING:
    from pathlib import Path


def _percent(book: Any) -> None:
    book["Offcuts"]["D2"].value, book["Offcuts"]["D2"].number_format = 0.41, "0.0%"


def _error(book: Any) -> None:
    book["Offcuts"]["C2"].value, book["Offcuts"]["C2"].data_type = "#N/A", "e"


def _merge(book: Any) -> None:
    book["Offcuts"].merge_cells("B2:B3")


def _rename(old: str, new: str) -> Maker:
    def touch(book: Any) -> None:
        book[old].title = new

    return touched(touch)


def _zip(name: str, text: str) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        archive.writestr(name, text)
    return data.getvalue()


def _many(sheet: str, count: int, row: list[Any]) -> Maker:
    def make(parent: Path) -> Path:
        sheets = good()
        sheets[sheet] += [[f"{row[0]}{n}", *row[1:]] for n in range(count)]
        return save_csv(sheets, parent / "skiff")

    return make


def _many_defects(parent: Path) -> Path:
    sheets = good()
    sheets["Defects"] += [["A1", "knot", 20, 21]] * 60
    return save_xlsx(sheets, parent / "skiff.xlsx")


def _missing(parent: Path) -> Path:
    return parent / "nowhere.xlsx"


def _empty_folder(parent: Path) -> Path:
    (parent / "rack").mkdir()
    save_xlsx(good(), parent / "rack" / "skiff.xlsx")
    return parent / "rack"


def _two_cases(parent: Path) -> Path:
    path = save_csv(good(), parent / "skiff")
    (path / "Offcuts.csv").write_bytes((path / "offcuts.csv").read_bytes())
    return path


_LOCKED = b"\xd0\xcf\x11\xe0" + bytes(600) + "EncryptedPackage".encode("utf-16-le")

CASES: dict[str, tuple[Maker, str]] = {
    "length is nonsense": (
        cells(Offcuts_B2="about a yard"),
        ("skiff.xlsx, Offcuts!B2: “about a yard” is not a length; expected a length such as 41 3/8."),
    ),
    "length is missing": (
        cells(Offcuts_B3=None),
        "skiff.xlsx, Offcuts!B3: is empty; expected a length such as 41 3/8.",
    ),
    "length is 0": (
        cells(Offcuts_B2=0),
        "skiff.xlsx, Offcuts!B2: “0” is no length at all; expected a length above 0.",
    ),
    "length is negative": (
        cells(Offcuts_B3=-4.5),
        "skiff.xlsx, Offcuts!B3: “-4.5” is negative; expected a length of 0 or more.",
    ),
    "length is too long": (
        cells(Offcuts_B2="41 m"),
        (
            "skiff.xlsx, Offcuts!B2: “41 m” is longer than 30 m; expected a length of at most 30 m; check "
            "the unit and the figure."
        ),
    ),
    "length has two readings": (
        cells(Offcuts_B2="1,050"),
        (
            "skiff.xlsx, Offcuts!B2: “1,050” has a comma that could be a decimal point or a thousands "
            "separator; write 1.050 or 1050."
        ),
    ),
    "mixed number run together": (
        cells(Offcuts_D2="11/4"),
        (
            "skiff.xlsx, Offcuts!D2: “11/4” could be a fraction or a whole number and a fraction run "
            "together; write 1 1/4 or 2 3/4."
        ),
    ),
    "improper part": (
        cells(Offcuts_D2="1 5/4"),
        (
            "skiff.xlsx, Offcuts!D2: “1 5/4” has a fraction of 5/4 after a whole number; expected a "
            "fraction smaller than 1; did you mean 2 1/4?"
        ),
    ),
    "fraction over 0": (
        cells(Blanks_E2="3/0"),
        "skiff.xlsx, Blanks!E2: “3/0” has a fraction over 0; expected a fraction such as 3/8.",
    ),
    "letter for a digit": (
        cells(Offcuts_B2="4l 3/8"),
        (
            "skiff.xlsx, Offcuts!B2: “4l 3/8” is not a length; expected a length such as 41 3/8; did "
            "you mean 41 3/8?"
        ),
    ),
    "unit not read": (
        cells(Offcuts_B2="12 yd"),
        ("skiff.xlsx, Offcuts!B2: “12 yd” has the unit yd, which is not read; expected in, ft, mm, cm or m."),
    ),
    "date in a workbook": (
        cells(Blanks_E2=datetime.datetime(2025, 3, 8)),
        (
            "skiff.xlsx, Blanks!E2: “2025-03-08” is a date, probably 3/8, not a length; expected a "
            "length such as 41 3/8; format the cell as text and type the measure again."
        ),
    ),
    "date of a thirty-second": (
        cells(Offcuts_G2=datetime.datetime(1932, 3, 1)),
        (
            "skiff.xlsx, Offcuts!G2: “1932-03-01” is a date, probably 3/32, not a length; expected a "
            "length such as 41 3/8; format the cell as text and type the measure again."
        ),
    ),
    "date of a mixed number": (
        cells(Offcuts_D2=datetime.datetime(2008, 1, 3)),
        (
            "skiff.xlsx, Offcuts!D2: “2008-01-03” is a date, probably 1 3/8 or 3 1/8, not a length; "
            "expected a length such as 41 3/8; format the cell as text and type the measure again."
        ),
    ),
    "date that is no fraction": (
        cells(Offcuts_D2=datetime.datetime(2025, 7, 23)),
        (
            "skiff.xlsx, Offcuts!D2: “2025-07-23” is a date, not a length; expected a length such as "
            "41 3/8; format the cell as text and type the measure again."
        ),
    ),
    "date as text": (
        cells(Blanks_E2="3-Aug"),
        (
            "skiff.xlsx, Blanks!E2: “3-Aug” is a date, probably 3/8, not a length; expected a length "
            "such as 41 3/8; format the cell as text and type the measure again."
        ),
    ),
    "date in a count": (
        cells(Blanks_B2=datetime.datetime(2025, 3, 8)),
        (
            "skiff.xlsx, Blanks!B2: “2025-03-08” is a date, not a number; expected a whole number "
            "from 0 to 10000; format the cell as text and type the measure again."
        ),
    ),
    "date as a name": (
        cells(Offcuts_A2=datetime.datetime(2025, 3, 8)),
        (
            "skiff.xlsx, Offcuts!A2: “2025-03-08” is a date, not a name; expected the name of an "
            "offcut; format the cell as text and type it again."
        ),
    ),
    "time": (
        cells(Offcuts_D2=datetime.time(1, 4)),
        (
            "skiff.xlsx, Offcuts!D2: “01:04:00” is a time, not a length; expected a length such as 41"
            " 3/8; format the cell as text and type the figure again."
        ),
    ),
    "percentage": (
        touched(_percent),
        (
            "skiff.xlsx, Offcuts!D2: “41%” is a percentage, not a length; expected a length such as "
            "41 3/8; format the cell as text and type the figure again."
        ),
    ),
    "truth value": (
        cells(Offcuts_C2=True),
        (
            "skiff.xlsx, Offcuts!C2: “TRUE” is TRUE or FALSE, not a length; expected a length such as"
            " 41 3/8; type the figure."
        ),
    ),
    "error value": (
        touched(_error),
        (
            "skiff.xlsx, Offcuts!C2: “#N/A” is an error value of the spreadsheet, not a length; "
            "expected a length such as 41 3/8; mend the formula or type the value."
        ),
    ),
    "formula without a value": (
        cells(Offcuts_B2="=A9*2"),
        (
            "skiff.xlsx, Offcuts!B2: is a formula with no stored value, not a length; expected a "
            "length such as 41 3/8; open the file in a spreadsheet program and save it there, or type"
            " the value."
        ),
    ),
    "merged cells": (
        touched(_merge),
        (
            "skiff.xlsx, Offcuts!B2:B3: are merged cells; expected a cell for each value; unmerge "
            "them and fill in each cell."
        ),
    ),
    "heading missing": (
        cells(Offcuts_C1="Wdth"),
        (
            "skiff.xlsx, Offcuts: has no heading Width; expected the headings Offcut, Length, Width, "
            "Thickness; is “Wdth” (C1) meant for it?"
        ),
    ),
    "heading missing, nothing like it": (
        cells(Offcuts_C1=None),
        (
            "skiff.xlsx, Offcuts: has no heading Width; expected the headings Offcut, Length, Width, "
            "Thickness.\n"
            "skiff.xlsx, Offcuts!C2: “5” has no heading over it, so the column is not read."
        ),
    ),
    "heading twice": (
        cells(Offcuts_J1="length"),
        ("skiff.xlsx, Offcuts!J1: “length” is a heading for the second time; expected each heading once."),
    ),
    "sheet missing": (
        without("Blanks"),
        ("skiff.xlsx: has no sheet Blanks; expected the sheets Offcuts and Blanks; it has no others."),
    ),
    "sheet misnamed": (
        _rename("Offcuts", "Offcut"),
        (
            "skiff.xlsx: has no sheet Offcuts; expected the sheets Offcuts and Blanks; rename the "
            "sheet Offcut."
        ),
    ),
    "optional sheet misnamed": (
        _rename("Defects", "Defect"),
        "skiff.xlsx, Defect: is a sheet that is not read under this name; did you mean Defects?",
    ),
    "no row": (
        cells(**{f"Blanks_{c}{r}": None for c in "ABCDEFGHI" for r in (2, 3)}),
        "skiff.xlsx, Blanks: has no row under its headings; expected at least one blank.",
    ),
    "Qty is 0": (
        cells(Offcuts_E2=0),
        "skiff.xlsx, Offcuts!E2: “0” is out of range; expected a whole number from 1 to 500.",
    ),
    "Qty is not whole": (
        cells(Offcuts_E2=1.5),
        ("skiff.xlsx, Offcuts!E2: “1.5” is not a whole number; expected a whole number from 1 to 500."),
    ),
    "Qty is too many": (
        cells(Offcuts_E2=501),
        "skiff.xlsx, Offcuts!E2: “501” is out of range; expected a whole number from 1 to 500.",
    ),
    "Need is a word": (
        cells(Blanks_B2="three"),
        ("skiff.xlsx, Blanks!B2: “three” is not a whole number; expected a whole number from 0 to 10000."),
    ),
    "ring angle beyond 90": (
        cells(Offcuts_H2=95),
        "skiff.xlsx, Offcuts!H2: “95” is out of range; expected a whole number from 0 to 90.",
    ),
    "ring angle with decimals": (
        cells(Offcuts_H2="22.5"),
        ("skiff.xlsx, Offcuts!H2: “22.5” is not a whole number; expected a whole number from 0 to 90."),
    ),
    "ring range backwards": (
        cells(Blanks_G2=60),
        ("skiff.xlsx, Blanks!H2: “45” is less than Ring from; expected from 60 to 90; swap the two."),
    ),
    "clear end longer than the blank": (
        cells(Blanks_I2="20"),
        ('skiff.xlsx, Blanks!I2: “20” is longer than the blank; expected at most its length, 18".'),
    ),
    "moisture is a word": (
        cells(Offcuts_I2="dry"),
        "skiff.xlsx, Offcuts!I2: “dry” is not a number; expected a number from 0 to 300.",
    ),
    "two species on an offcut": (
        cells(Offcuts_F2="white oak, ash"),
        "skiff.xlsx, Offcuts!F2: “white oak, ash” is a list; expected one species.",
    ),
    "offcut twice": (
        cells(Offcuts_A3="a1 "),
        (
            "skiff.xlsx, Offcuts!A3: “a1” is the name of another offcut (A2); expected a name of its "
            "own; like pieces go in one row, with Qty.\n"
            "skiff.xlsx, Defects!A3: “A2” is not in the pile; expected the name of an offcut; did you mean A1?"
        ),
    ),
    "blank twice": (
        cells(Blanks_A3="RIB"),
        ("skiff.xlsx, Blanks!A3: “RIB” is the name of another blank (A2); expected a name of its own."),
    ),
    "name missing": (
        cells(Offcuts_A3=None),
        "skiff.xlsx, Offcuts!A3: is empty; expected the name of an offcut.",
    ),
    "name too long": (
        cells(Blanks_A3="cleat " * 20),
        (
            "skiff.xlsx, Blanks!A3: “cleat cleat cleat cleat cleat cleat cleat cleat cleat cleat…” "
            "has 119 characters; expected a name of at most 80."
        ),
    ),
    "defect on no offcut": (
        cells(Defects_A2="A11"),
        (
            "skiff.xlsx, Defects!A2: “A11” is not in the pile; expected the name of an offcut; did "
            "you mean A1?"
        ),
    ),
    "defect backwards": (
        cells(Defects_C2="13"),
        (
            "skiff.xlsx, Defects!D2: “12 1/2” is not beyond From (13); expected more than From, both "
            "measured from end A; swap the two."
        ),
    ),
    "defect with no length": (
        cells(Defects_C2="12 1/2"),
        (
            "skiff.xlsx, Defects!D2: “12 1/2” is not beyond From (12 1/2); expected more than From, both "
            "measured from end A; write from where to where the wood is bad."
        ),
    ),
    "defect beyond the end": (
        cells(Defects_D2="42"),
        ('skiff.xlsx, Defects!D2: “42” lies beyond the offcut; expected at most its length, 41 3/8".'),
    ),
    "defect beyond the edge": (
        cells(Defects_F2="5 1/2"),
        'skiff.xlsx, Defects!F2: “5 1/2” lies beyond the offcut; expected at most its width, 5".',
    ),
    "face misspelt": (
        cells(Defects_G2="thru"),
        ("skiff.xlsx, Defects!G2: “thru” is not a face; expected through, 1 or 2; did you mean through?"),
    ),
    "face without depth": (
        cells(Defects_G2=2),
        (
            "skiff.xlsx, Defects!H2: is empty; expected a depth, because a face is named; leave Face empty if it "
            "goes through."
        ),
    ),
    "depth without face": (
        cells(Defects_H2="1/4"),
        (
            "skiff.xlsx, Defects!H2: “1/4” is given for a defect that goes through; expected no "
            "depth; or put 1 or 2 under Face."
        ),
    ),
    "depth beyond the thickness": (
        cells(Defects_H3="2"),
        ('skiff.xlsx, Defects!H3: “2” lies beyond the offcut; expected at most its thickness, 1 1/2".'),
    ),
    "too many defects": (
        _many_defects,
        "skiff.xlsx, Defects!A63: “A1” has more than 60 defects; expected at most 60 an offcut.",
    ),
    "setting misspelt": (
        cells(Shop_A3="rib kerf"),
        (
            "skiff.xlsx, Shop!A3: “rib kerf” is not a setting; expected a name from the Shop sheet; "
            "did you mean rip kerf?"
        ),
    ),
    "setting twice": (
        cells(Shop_A4="Rip  Kerf", Shop_B4="1/8"),
        "skiff.xlsx, Shop!A4: “Rip Kerf” is set already (A3); expected each setting once.",
    ),
    "units unknown": (
        cells(Shop_B2="foot"),
        "skiff.xlsx, Shop!B2: “foot” is not a unit; expected inch or mm.",
    ),
    "full length 0": (
        cells(Shop_A3="full length", Shop_B3=0),
        "skiff.xlsx, Shop!B3: “0” is no length at all; expected a length above 0.",
    ),
    "a mark that no rule has": (
        cells(Shop_A3="mark", Shop_B3="1 mm"),
        (
            "skiff.xlsx, Shop!B3: “1 mm” is not a mark that a rule has; expected whole 64ths of an inch, "
            'at most 2".'
        ),
    ),
    "a setting that is gone": (
        cells(Shop_A3="Shown to", Shop_B3="1/16"),
        (
            "skiff.xlsx, Shop!A3: “Shown to” is no longer a setting; use mark: every length is a whole number "
            "of marks, and is shown as it is."
        ),
    ),
    "another setting that is gone": (
        cells(Shop_A3="snipe", Shop_B3="1"),
        (
            "skiff.xlsx, Shop!A3: “snipe” is no longer a setting; use stick trim: it is kept clear at both ends "
            "of a stick, to square it and for snipe."
        ),
    ),
    "a column that is gone": (
        cells(Blanks_J1="Extra"),
        (
            "skiff.xlsx, Blanks!J1: “Extra” is no longer read; head the column Spare: an extra was made only "
            "where it cost no wood, a spare is made after all needs and may draw wood of its own."
        ),
    ),
    "too many minutes": (
        cells(Shop_A3="offcut handled", Shop_B3=601),
        "skiff.xlsx, Shop!B3: “601” is out of range; expected a number from 0 to 600.",
    ),
    "minutes finer than hundredths": (
        cells(Shop_A3="cut", Shop_B3="0.125"),
        "skiff.xlsx, Shop!B3: “0.125” has more than two decimals; expected minutes to the hundredth.",
    ),
    "no minutes for a board foot": (
        cells(Shop_A3="minutes for a board foot", Shop_B3=0),
        (
            "skiff.xlsx, Shop!B3: “0” is no time at all; expected a number above 0, at most 600; plan with "
            "--wood to let work count for nothing."
        ),
    ),
    "spare of a part": (
        cells(Blanks_J1="Spare", Blanks_J2=1.5),
        (
            "skiff.xlsx, Blanks!J2: “1.5” is not a whole number; expected a whole number from 0 to 10000, or a "
            "share such as 10 %."
        ),
    ),
    "spare of more than all": (
        cells(Blanks_J1="Spare", Blanks_J2="150 %"),
        "skiff.xlsx, Blanks!J2: “150 %” is out of range; expected a share from 0 to 100 %.",
    ),
    "stock thinner than a mark": (
        cells(Offcuts_D2="1/64"),
        'skiff.xlsx, Offcuts!D2: “1/64” is no length at all; expected at least a mark, 1/32".',
    ),
    "csv: fraction where bare means mm": (
        folder(
            offcuts="Offcut,Length,Width,Thickness\nA1,1050,125,1 1/4\n",
            defects=None,
            blanks="Blank,Need,Length,Width,Thickness\nrib,1,450,30,20\n",
            shop="Setting,Value\nunits,mm\n",
        ),
        (
            "offcuts.csv, line 2, Thickness: “1 1/4” is a fraction without a unit where bare numbers "
            "are mm; expected the unit with it; write “1 1/4 in” or “1 1/4 mm”."
        ),
    ),
    "csv: length is nonsense": (
        lines("offcuts", "41 3/8", "long"),
        (
            "offcuts.csv, line 2, Length: “long” is not a length; expected a length such as 41 3/8; is it "
            "in the right column?"
        ),
    ),
    "csv: date": (
        lines("blanks", "1 1/2", "1-Feb"),
        (
            "blanks.csv, line 2, Width: “1-Feb” is a date, probably 1/2, not a length; expected a "
            "length such as 41 3/8; format the cell as text and type the measure again."
        ),
    ),
    "csv: comma not quoted": (
        lines("offcuts", "60.5", "60,5"),
        (
            "offcuts.csv, line 3: has 11 fields; expected 10, one under each heading; a value with a "
            "comma in it needs quotation marks round it."
        ),
    ),
    "csv: quotation mark": (
        lines("offcuts", "41 3/8", '"41 3/8"x"'),
        (
            "offcuts.csv, line 2: has a quotation mark that does not close or that text follows; "
            "expected each quoted value to end in a quotation mark; write an inch mark inside a "
            'quoted value twice, as in "41 3/8""".'
        ),
    ),
    "csv: not closed": (
        lines("offcuts", "41 3/8", '"41 3/8'),
        (
            "offcuts.csv, line 2: has a quotation mark that does not close or that text follows; "
            "expected each quoted value to end in a quotation mark; write an inch mark inside a "
            'quoted value twice, as in "41 3/8""".'
        ),
    ),
    "csv: error value": (
        lines("offcuts", "41 3/8", "#REF!"),
        (
            "offcuts.csv, line 2, Length: “#REF!” is an error value of the spreadsheet, not a length;"
            " expected a length such as 41 3/8; mend the formula or type the value."
        ),
    ),
    "csv: heading missing": (
        lines("defects", "Kind", "Sort"),
        (
            "defects.csv: has no heading Kind; expected the headings Offcut, Kind, From, To.\n"
            "defects.csv, line 1: “Sort” is a heading that is not read."
        ),
    ),
    "csv: not text": (
        folder(offcuts=b"\x00\x01\x02\xff\xfe\x90"),
        "offcuts.csv: is not text; expected a csv file, UTF-8; save it as csv, UTF-8.",
    ),
    "csv: empty file": (
        folder(offcuts=b""),
        "offcuts.csv: is empty; expected the headings Offcut, Length, Width, Thickness.",
    ),
    "csv: file missing": (
        folder(blanks=None),
        "skiff: has no file blanks.csv; expected the files offcuts.csv and blanks.csv; it has no others.",
    ),
    "csv: file misnamed": (
        folder(blanks=None, blank="Blank,Need\n"),
        (
            "skiff: has no file blanks.csv; expected the files offcuts.csv and blanks.csv; rename the file "
            "blank.csv."
        ),
    ),
    "csv: optional file misnamed": (
        folder(defects=None, defect="Offcut,Kind\n"),
        "defect.csv: is a file that is not read under this name; did you mean defects.csv?",
    ),
    "csv: two of a name": (
        _two_cases,
        "offcuts.csv: is a second file named offcuts.csv; expected each file once.",
    ),
    "csv: too many rows": (
        _many("Blanks", 500, ["b", 1, 14, 1, "3/4"]),
        "blanks.csv: has 502 rows; expected at most 200.",
    ),
    "csv: control sign in a name": (
        lines("offcuts", "A2", "A\u00ad2"),
        (
            "offcuts.csv, line 3, Offcut: “A\ufffd2” holds a sign that cannot be printed; expected a plain"
            " name; type it again."
        ),
    ),
    "not there": (
        _missing,
        (
            "nowhere.xlsx: does not exist; expected a workbook (.xlsx) or a folder of csv files; "
            "check the path."
        ),
    ),
    "folder without csv files": (
        _empty_folder,
        (
            "rack: has no csv files in it; expected the files offcuts.csv and blanks.csv; did you mean the "
            "workbook skiff.xlsx in it?"
        ),
    ),
    "empty workbook file": (file("skiff.xlsx", b""), "skiff.xlsx: is empty; expected an .xlsx workbook."),
    "not a workbook": (
        file("skiff.xlsx", b"Offcut,Length\n"),
        (
            "skiff.xlsx: is not a workbook; expected an .xlsx workbook; open it in a spreadsheet "
            "program and save it as .xlsx."
        ),
    ),
    "damaged workbook": (
        file("skiff.xlsx", b"PK\x03\x04 torn"),
        (
            "skiff.xlsx: is damaged: its zip archive cannot be read; expected an .xlsx workbook; open"
            " it in a spreadsheet program and save it as .xlsx."
        ),
    ),
    "zip of something else": (
        file("skiff.xlsx", _zip("a.txt", "a")),
        (
            "skiff.xlsx: is not a workbook that can be read; expected an .xlsx workbook; open it in a"
            " spreadsheet program and save it as .xlsx."
        ),
    ),
    "OpenDocument": (
        file("skiff.ods", _zip("mimetype", "application/vnd.oasis.opendocument.spreadsheet")),
        (
            "skiff.ods: is an OpenDocument file; expected an .xlsx workbook; open it in a spreadsheet"
            " program and save it as .xlsx."
        ),
    ),
    "binary workbook": (
        file("skiff.xlsb", _zip("xl/workbook.bin", "")),
        (
            "skiff.xlsb: is a binary .xlsb workbook; expected an .xlsx workbook; open it in a "
            "spreadsheet program and save it as .xlsx."
        ),
    ),
    "old workbook": (
        file("skiff.xls", b"\xd0\xcf\x11\xe0" + bytes(600)),
        (
            "skiff.xls: is an old .xls workbook or another old office file; expected an .xlsx "
            "workbook; open it in a spreadsheet program and save it as .xlsx."
        ),
    ),
    "password": (
        file("skiff.xlsx", _LOCKED),
        (
            "skiff.xlsx: is protected by a password; expected an .xlsx workbook; take the password "
            "off in the spreadsheet program."
        ),
    ),
    "single csv file": (
        file("offcuts.csv", b"Offcut\n"),
        (
            "offcuts.csv: is a single csv file; expected the folder with the files offcuts.csv and blanks.csv "
            "in it."
        ),
    ),
}


@pytest.mark.parametrize(("make", "message"), CASES.values(), ids=CASES.keys())
def test_each_fault_is_told_in_full(make: Maker, message: str, tmp_path: Path) -> None:
    """A damaged input is refused with the place, what stands there, what was expected and the next step."""
    with pytest.raises(InputError) as refusal:
        read(make(tmp_path))
    assert str(refusal.value) == message
