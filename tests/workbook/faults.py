"""Bad input, each fault by itself; what is said of it stands in corpus.tsv."""

from __future__ import annotations

import datetime
import io
import zipfile
from typing import TYPE_CHECKING, Any

from skiff_workbook import (
    Maker,
    cells,
    file,
    folder,
    good,
    lines,
    save_csv,
    save_xlsx,
    touched,
    without,
    wood,
)

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

FAULTS: dict[str, Maker] = {
    "length is nonsense": cells(Offcuts_B2="about a yard"),
    "length is missing": cells(Offcuts_B3=None),
    "length is negative": cells(Offcuts_B3=-4.5),
    "length is too long": cells(Offcuts_B2="41 m"),
    "length has two readings": cells(Offcuts_B2="1,050"),
    "mixed number run together": cells(Offcuts_D2="11/4"),
    "improper part": cells(Offcuts_D2="1 5/4"),
    "fraction over 0": cells(Blanks_E2="3/0"),
    "letter for a digit": cells(Offcuts_B2="4l 3/8"),
    "unit not read": cells(Offcuts_B2="12 yd"),
    "date in a workbook": cells(Blanks_E2=datetime.datetime(2025, 3, 8)),
    "date of a thirty-second": cells(Offcuts_G2=datetime.datetime(1932, 3, 1)),
    "date of a mixed number": cells(Offcuts_D2=datetime.datetime(2008, 1, 3)),
    "date that is no fraction": cells(Offcuts_D2=datetime.datetime(2025, 7, 23)),
    "date as text": cells(Blanks_E2="3-Aug"),
    "time": cells(Offcuts_D2=datetime.time(1, 4)),
    "percentage": touched(_percent),
    "truth value": cells(Offcuts_C2=True),
    "error value": touched(_error),
    "merged cells": touched(_merge),
    "heading missing": cells(Offcuts_C1="Wdth"),
    "heading missing, nothing like it": cells(Offcuts_C1=None),
    "heading twice": cells(Offcuts_J1="length"),
    "sheet missing": without("Blanks"),
    "sheet misnamed": _rename("Offcuts", "Offcut"),
    "optional sheet misnamed": _rename("Defects", "Defect"),
    "no row": cells(**{f"Blanks_{c}{r}": None for c in "ABCDEFGHI" for r in (2, 3)}),
    "Qty is not whole": cells(Offcuts_E2=1.5),
    "Qty is too many": cells(Offcuts_E2=501),
    "Need is a word": cells(Blanks_B2="three"),
    "ring angle beyond 90": cells(Offcuts_H2=95),
    "ring angle with decimals": cells(Offcuts_H2="22.5"),
    "ring range backwards": cells(Blanks_G2=60),
    "clear end longer than the blank": cells(Blanks_I2="20"),
    "moisture is a word": cells(Offcuts_I2="dry"),
    "two species on an offcut": cells(Offcuts_F2="white oak, ash"),
    "blank twice": cells(Blanks_A3="RIB"),
    "name missing": cells(Offcuts_A3=None),
    "name too long": cells(Blanks_A3="cleat " * 20),
    "defect on no offcut": cells(Defects_A2="A11"),
    "defect backwards": cells(Defects_C2="13"),
    "defect with no length": cells(Defects_C2="12 1/2"),
    "defect beyond the end": cells(Defects_D2="42"),
    "defect beyond the edge": cells(Defects_F2="5 1/2"),
    "face misspelt": cells(Defects_G2="thru"),
    "face without depth": cells(Defects_G2=2),
    "depth without face": cells(Defects_H2="1/4"),
    "depth beyond the thickness": cells(Defects_H3="2"),
    "too many defects": _many_defects,
    "setting misspelt": cells(Shop_A3="rib kerf"),
    "setting twice": cells(Shop_A4="Rip  Kerf", Shop_B4="1/8"),
    "units unknown": cells(Shop_B2="foot"),
    "full length 0": cells(Shop_A3="full length", Shop_B3=0),
    "a mark that no rule has": cells(Shop_A3="mark", Shop_B3="1 mm"),
    "a setting that is gone": cells(Shop_A3="Shown to", Shop_B3="1/16"),
    "another setting that is gone": cells(Shop_A3="snipe", Shop_B3="1"),
    "a column that is gone": cells(Blanks_J1="Extra"),
    "spare of a part": cells(Blanks_J1="Spare", Blanks_J2=1.5),
    "spare of more than all": cells(Blanks_J1="Spare", Blanks_J2="150 %"),
    "stock thinner than a mark": cells(Offcuts_D2="1/64"),
    "csv: fraction where bare means mm": folder(
        offcuts="Offcut,Length,Width,Thickness\nA1,1050,125,1 1/4\n",
        defects=None,
        blanks="Blank,Need,Length,Width,Thickness\nrib,1,450,30,20\n",
        shop="Setting,Value\nunits,mm\n",
    ),
    "csv: length is nonsense": lines("offcuts", "41 3/8", "long"),
    "csv: date": lines("blanks", "1 1/2", "1-Feb"),
    "csv: comma not quoted": lines("offcuts", "60.5", "60,5"),
    "csv: quotation mark": lines("offcuts", "41 3/8", '"41 3/8"x"'),
    "csv: not closed": lines("offcuts", "41 3/8", '"41 3/8'),
    "csv: error value": lines("offcuts", "41 3/8", "#REF!"),
    "csv: heading missing": lines("defects", "Kind", "Sort"),
    "csv: not text": folder(offcuts=b"\x00\x01\x02\xff\xfe\x90"),
    "csv: file misnamed": folder(blanks=None, blank="Blank,Need\n"),
    "csv: optional file misnamed": folder(defects=None, defect="Offcut,Kind\n"),
    "csv: two of a name": _two_cases,
    "csv: too many rows": _many("Blanks", 500, ["b", 1, 14, 1, "3/4"]),
    "csv: control sign in a name": lines("offcuts", "A2", "A\u00ad2"),
    "not there": _missing,
    "folder without csv files": _empty_folder,
    "empty workbook file": file("skiff.xlsx", b""),
    "not a workbook": file("skiff.xlsx", b"Offcut,Length\n"),
    "damaged workbook": file("skiff.xlsx", b"PK\x03\x04 torn"),
    "zip of something else": file("skiff.xlsx", _zip("a.txt", "a")),
    "OpenDocument": file("skiff.ods", _zip("mimetype", "application/vnd.oasis.opendocument.spreadsheet")),
    "binary workbook": file("skiff.xlsb", _zip("xl/workbook.bin", "")),
    "old workbook": file("skiff.xls", b"\xd0\xcf\x11\xe0" + bytes(600)),
    "password": file("skiff.xlsx", _LOCKED),
    "single csv file": file("offcuts.csv", b"Offcut\n"),
    "no ring word": wood(Offcuts_H2="rfit"),
    "far reading alone": wood(Offcuts_H2=None, Offcuts_K2=40),
    "range of words backwards": cells(Blanks_G2="quarter sawn", Blanks_H2=20),
    "bare number for a slope": wood(Offcuts_L2=12),
    "slope turned over": wood(Blanks_J2="12:1"),
    "slope over nothing": wood(Blanks_J2="1:0"),
    "slope that became a time": wood(Offcuts_L2=datetime.time(1, 12)),
    "slope that became a date": wood(Offcuts_L2=datetime.date(2025, 1, 12)),
    "kink beyond the piece": wood(Offcuts_M2="42"),
    "kink that is no place": wood(Offcuts_M2="middle"),
    "wet target": cells(Shop_A4="target moisture", Shop_B4=31),
    "no room for rift": cells(Shop_A4="flat sawn to", Shop_B4=61),
}
