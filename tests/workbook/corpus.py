"""Broken and odd inputs, each made in a folder: what people, spreadsheet programs and ill will produce.

What is expected of each stands in corpus.tsv beside this file: the whole message, or what is understood.
"""

from __future__ import annotations

import datetime
import io
import math
import os
import zipfile
from typing import TYPE_CHECKING, Any

import pandas as pd
from doubts import DOUBTS
from faults import FAULTS
from fourteen_boards import TYPED
from skiff_workbook import (
    Maker,
    cells,
    file,
    folder,
    good,
    lines,
    put,
    save_csv,
    save_xlsx,
    touched,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

LATER = datetime.datetime(2025, 3, 8, 14, 30)
VALUES: dict[str, object] = {
    "True": True,
    "a date": datetime.datetime(2025, 3, 8),
    "a moment": LATER,
    "a time": datetime.time(3, 8),
    "a span": datetime.timedelta(hours=30),
    "a percentage": (0.12, "0.0%"),
    "#N/A": ("#N/A", "error"),
    "#DIV/0! as text": "#DIV/0!",
    "a formula without a value": "=B9*2",
    "nan": "nan",
    "inf": "inf",
    "-1": -1,
    "0": 0,
    "0.5": 0.5,
    "1E+300": 1e300,
    "a number of 21 digits": 10**20,
    "1e3 as text": "1e3",
    "text in a number": "about 3",
    "blanks": "   ",
    "a minus sign": "\N{MINUS SIGN}5",
    "Arabic digits": "\u0663",
    "full-width digits": "\uff14\uff11",
    "an apostrophe": "'41",
    "a list": "3, 4",
    "a line break": "3\n4",
    "a terminal escape": "\\x1b[31m3",
    "markup": "[bold]3[/bold]",
    "a tag": "<b>3</b>",
    "right-to-left": "\u202e3",
    "10 000 characters": "3" * 10_000,
}
COLUMNS = {
    "Offcut": "Offcuts!A2",
    "Length": "Offcuts!B2",
    "Qty": "Offcuts!E2",
    "Species": "Offcuts!F2",
    "Bow": "Offcuts!G2",
    "Ring angle": "Offcuts!H2",
    "Moisture": "Offcuts!I2",
    "Rack": "Offcuts!J2",
    "Need": "Blanks!B2",
}


def _odd_cell(cell: str, value: Any) -> Maker:
    def make(parent: Path) -> Path:
        sheets = good()
        del sheets["Defects"]  # it names an offcut that may be the odd one
        value_, form = value if isinstance(value, tuple) else (value, "")
        put(sheets, cell, value_)

        def touch(book: Any) -> None:
            sheet, where = cell.split("!")
            if form == "error":
                book[sheet][where].data_type = "e"
            elif form:
                book[sheet][where].number_format = form

        return save_xlsx(sheets, parent / "skiff.xlsx", touch)

    return make


# Sheets and headings


def _rows(sheet: str, change: Callable[[list[list[Any]]], object]) -> Maker:
    def make(parent: Path) -> Path:
        sheets = good()
        change(sheets[sheet])
        return save_xlsx(sheets, parent / "skiff.xlsx")

    return make


def _hide(what: str) -> Maker:
    def touch(book: Any) -> None:
        sheet = book["Offcuts"]
        if what == "row":
            sheet.row_dimensions[3].hidden = True
        elif what == "column":
            sheet.column_dimensions["C"].hidden = True
        else:
            sheet.sheet_state = what

    return touched(touch)


def _merge(cells: str) -> Maker:
    return touched(lambda book: book["Offcuts"].merge_cells(cells))


def _retitle(old: str, new: str) -> Maker:
    def touch(book: Any) -> None:
        book[old].title = new

    return touched(touch)


def _filter(book: Any) -> None:
    sheet = book["Offcuts"]
    sheet.auto_filter.ref = "A1:J3"
    sheet.freeze_panes = "B2"
    sheet["B2"].hyperlink = "https://example.org/"
    from openpyxl.comments import Comment  # noqa: PLC0415

    sheet["B2"].comment = Comment("measured twice", "shed")


def _swapped(rows: list[list[Any]]) -> None:
    for row in rows:
        row[1], row[3] = row[3], row[1]


def _spread(rows: list[list[Any]]) -> None:
    rows[:] = [[], rows[0], [], *rows[1:], [], [None]]


def _shifted(rows: list[list[Any]]) -> None:
    rows[:] = [[None, *row] for row in rows]


def _column(heading: object, value: object) -> Callable[[list[list[Any]]], None]:
    def change(rows: list[list[Any]]) -> None:
        rows[0].append(heading)
        rows[1].append(value)

    return change


SHEETS: dict[str, Maker] = {
    "columns in another order": _rows("Offcuts", _swapped),
    "headings exchanged, values not": _rows("Offcuts", lambda rows: _swapped(rows[:1])),
    "a title above the headings": _rows("Offcuts", lambda rows: rows.insert(0, ["Our pile", "", ""])),
    "empty rows above, between and below": _rows("Offcuts", _spread),
    "an empty column first": _rows("Offcuts", _shifted),
    "a heading twice, in capitals and spaces": _rows("Offcuts", lambda rows: rows[0].append(" LENGTH ")),
    "headings in capitals": _rows("Blanks", lambda rows: rows.__setitem__(0, [h.upper() for h in rows[0]])),
    "headings with units": _rows("Blanks", lambda rows: rows[0].__setitem__(2, "Length (in)")),
    "a heading that is a number": _rows("Offcuts", _column(7, "x")),
    "a column of our own": _rows("Offcuts", _column("Found", "2024")),
    "a row without a name only": _rows("Offcuts", lambda rows: rows.append(["", 20, 4, 2])),
    "no sheet at all that is known": _rows("Offcuts", lambda rows: rows.clear()),
    "headings alone": _rows("Offcuts", lambda rows: rows.__delitem__(slice(1, None))),
    "defects under headings alone": _rows("Defects", lambda rows: rows.__delitem__(slice(1, None))),
    "a defect over the whole piece": _rows("Defects", lambda rows: rows.append(["A2", "rot", 0, 60.5])),
    "every offcut spoilt": _rows(
        "Defects", lambda rows: rows.extend([["A1", "rot", 0, "41 3/8"], ["A2", "rot", 0, 60.5]])
    ),
    "the same defect twice": _rows("Defects", lambda rows: rows.append(list(rows[1]))),
    "a defect before the piece": cells(Defects_C2=-1),
    "a defect wholly beyond the piece": cells(Defects_C2=50, Defects_D2=51),
    "an unknown offcut": cells(Defects_A2="Z9"),
    "a row hidden": _hide("row"),
    "a column hidden": _hide("column"),
    "a sheet hidden": _hide("hidden"),
    "a sheet hidden from the menus": _hide("veryHidden"),
    "merged over a row": _merge("A3:D3"),
    "merged in the headings": _merge("A1:B1"),
    "merged beside the table": _merge("M5:N9"),
    "merged below the table": _merge("A20:D30"),
    "filter, frozen panes, link and remark": touched(_filter),
    "a sheet renamed in capitals": _retitle("Offcuts", " OFFCUTS "),
    "a sheet renamed out of recognition": _retitle("Offcuts", "Wood"),
    "a sheet of notes": _rows("Shop", lambda rows: rows.append(["units", "mm"])),
    "offcuts of the same name but for capitals": cells(Offcuts_A3="a1"),
    "offcuts of the same name but for a hard space": cells(
        Offcuts_A2="A 1", Offcuts_A3="A\u00a01", Defects_A2="A 1"
    ),
    "offcuts of the same name but for how an accent is made": cells(
        Offcuts_A2="caf\u00e9", Offcuts_A3="cafe\u0301", Defects_A2="caf\u00e9", Defects_A3="caf\u00e9"
    ),
    "need 0 and no spare everywhere": cells(Blanks_B2=0, Blanks_B3=0),
    "spare negative": cells(Blanks_J1="Spare", Blanks_J2=-2),
    "spare of a third": cells(Blanks_J1="Spare", Blanks_J2="1/3"),
    "spare in per cent, below nothing": cells(Blanks_J1="Spare", Blanks_J2="-10 %"),
    "spare in per cent, of nothing": cells(Blanks_J1="Spare", Blanks_J2="%"),
    "a column Extra": cells(Blanks_J1="EXTRA", Blanks_J2=2),
    "need of 10001": cells(Blanks_B2=10_001),
    "priority 0": cells(Blanks_J1="Priority", Blanks_J2=0),
    "pairs": cells(Blanks_B2=4, Blanks_J1="Pairs", Blanks_J2="Yes"),
    "pairs by a tick": cells(Blanks_J1="Pairs", Blanks_J2="x"),
    "pairs as a truth value": cells(Blanks_B2=4, Blanks_J1="Pairs", Blanks_J2=True),
    "pairs of an odd need": cells(Blanks_B2=3, Blanks_J1="Pairs", Blanks_J2="yes"),
    "a blank larger than any offcut": cells(Blanks_C2="20 ft"),
    "a blank wider than long": cells(Blanks_D2=4, Blanks_E2=5),
    "a setting left empty": cells(Shop_B3=None),
    "a setting below nothing": cells(Shop_B3=-0.1),
    "a kerf of a foot": cells(Shop_B3="1 ft"),
    "units in French": cells(Shop_B2="pouce"),
    "a mark of nothing": cells(Shop_A3="mark", Shop_B3=0),
    "a mark of a third": cells(Shop_A3="mark", Shop_B3="1/3"),
    "a mark in millimetres among inches": cells(Shop_A3="mark", Shop_B3="0.5 mm"),
    "a mark of a yard": cells(Shop_A3="mark", Shop_B3="3 ft"),
    "minutes as a length": cells(Shop_A3="cut", Shop_B3='1/2"'),
    "minutes as a time": cells(Shop_A3="cut", Shop_B3=datetime.time(0, 1)),
    "minutes of an afternoon": cells(Shop_A3="offcut handled", Shop_B3=601),
    "minutes to the thousandth": cells(Shop_A3="cut", Shop_B3=0.125),
    "no minutes for a board foot": cells(Shop_A3="minutes for a board foot", Shop_B3=0),
    "a setting of the first edition": cells(Shop_A3="Snipe", Shop_B3="2"),
    "another setting of the first edition": cells(Shop_A3="shown to", Shop_B3="1/16"),
    "lengths finer than any rule": cells(
        Offcuts_B2="41.37", Offcuts_C2="5.09", Offcuts_C3="4.02", Blanks_C2="18.01", Shop_B3="0.126"
    ),
}


# Files


def _zipped(parts: dict[str, bytes]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return data.getvalue()


def parts_of(path: Path) -> dict[str, bytes]:
    """Return the parts of a workbook by their names."""
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def rebuilt(change: Callable[[dict[str, bytes]], object], name: str = "skiff.xlsx") -> Maker:
    """Return a maker of the good workbook whose parts were changed."""

    def make(parent: Path) -> Path:
        parts = parts_of(save_xlsx(good(), parent / "good.xlsx"))
        change(parts)
        (parent / "good.xlsx").unlink()
        return file(name, _zipped(parts))(parent)

    return make


SHEET = "xl/worksheets/sheet1.xml"
COLUMN = b'</sheetData><mergeCells count="1"><mergeCell ref="B2:B90000"/></mergeCells>'
FIRST = b'<c r="A1" t="inlineStr"><is><t>Offcut</t></is></c>'


def _replaced(part: str, old: bytes, new: bytes) -> Maker:
    def change(parts: dict[str, bytes]) -> None:
        assert old in parts[part]
        parts[part] = parts[part].replace(old, new, 1)

    return rebuilt(change)


def _cut(keep: Callable[[bytes], bytes]) -> Maker:
    def make(parent: Path) -> Path:
        path = save_xlsx(good(), parent / "skiff.xlsx")
        path.write_bytes(keep(path.read_bytes()))
        return path

    return make


def _million_rows(parts: dict[str, bytes]) -> None:
    rows = b"".join(b'<row r="%d" s="1"><c r="A%d" s="1"/></row>' % (n, n) for n in range(4, 1_000_001))
    parts[SHEET] = parts[SHEET].replace(b"</sheetData>", rows + b"</sheetData>")


def _many_cells(parts: dict[str, bytes]) -> None:
    rows = b"".join(b'<row r="%d"><c r="A%d"><v>1</v></c></row>' % (n, n) for n in range(4, 400_100))
    parts[SHEET] = parts[SHEET].replace(b"</sheetData>", rows + b"</sheetData>")


def _many_texts(parts: dict[str, bytes]) -> None:
    parts["xl/sharedStrings.xml"] = b"<sst>" + b"<si><t>knot</t></si>" * 1_600_000 + b"</sst>"


def _laughing(parts: dict[str, bytes]) -> None:
    names = [b"a" * 100, *(b"&e%d;" % n * 30 for n in range(7))]
    entities = b"".join(b'<!ENTITY e%d "%s">' % (n, text) for n, text in enumerate(names))
    head, _, rest = parts[SHEET].partition(b"<worksheet")
    rest = rest.replace(b"<t>Offcut", b"<t>&e7;", 1)
    parts[SHEET] = head + b"<!DOCTYPE worksheet [" + entities + b"]><worksheet" + rest


def _macros(parts: dict[str, bytes]) -> None:
    types = "[Content_Types].xml"
    plain, macro = b"spreadsheetml.sheet.main", b"macroEnabled.main"
    whole = b"application/vnd.openxmlformats-officedocument." + plain
    parts[types] = parts[types].replace(whole, b"application/vnd.ms-excel.sheet." + macro)
    parts["xl/vbaProject.bin"] = b"\xd0\xcf\x11\xe0 no program"


def _directory(parent: Path) -> Path:
    (parent / "skiff.xlsx").mkdir()
    return parent / "skiff.xlsx"


def _link_to_itself(parent: Path) -> Path:
    (parent / "skiff.xlsx").symlink_to("skiff.xlsx")
    return parent / "skiff.xlsx"


def _pipe(parent: Path) -> Path:
    os.mkfifo(parent / "skiff.xlsx")
    return parent / "skiff.xlsx"


def _many_offcuts(parent: Path) -> Path:
    sheets = good()
    sheets["Offcuts"] += [[f"B{n}", 20, 4, 2] for n in range(20_000)]
    return save_csv(sheets, parent / "skiff")


FILES: dict[str, Maker] = {
    "a workbook with macros": rebuilt(_macros, "skiff.xlsm"),
    "a workbook under another name": rebuilt(lambda _: None, "skiff.dat"),
    "spaces and letters of many scripts in the name": rebuilt(lambda _: None, "Bööte & Späne – 舟.xlsx"),
    "only the first half": _cut(lambda data: data[: len(data) // 2]),
    "without its last byte": _cut(lambda data: data[:-1]),
    "only the first hundred bytes": _cut(lambda data: data[:100]),
    "bytes in front": _cut(lambda data: b"From the shed:\n" + data),
    "bytes turned over in the middle": _cut(
        lambda data: data[:1500] + bytes(255 - byte for byte in data[1500:1600]) + data[1600:]
    ),
    "no list of contents": rebuilt(lambda parts: parts.pop("[Content_Types].xml")),
    "no list of sheets": rebuilt(lambda parts: parts.pop("xl/workbook.xml")),
    "no styles": rebuilt(lambda parts: parts.pop("xl/styles.xml")),
    "a sheet that is not there": rebuilt(lambda parts: parts.pop(SHEET)),
    "a sheet that is no XML": rebuilt(lambda parts: parts.update({SHEET: b"Offcut,Length"})),
    "a sheet that breaks off": rebuilt(lambda parts: parts.update({SHEET: parts[SHEET][:900]})),
    "a text that is not in the list": _replaced(SHEET, FIRST, b'<c r="A1" t="s"><v>999</v></c>'),
    "a style that is not in the list": _replaced(SHEET, b'<c r="A1"', b'<c s="99" r="A1"'),
    "a million empty rows": rebuilt(_million_rows),
    "400 000 filled rows": rebuilt(_many_cells),
    "a zip bomb": rebuilt(lambda parts: parts.update({"xl/media/a.xml": bytes(301_000_000)})),
    "a bomb of texts": rebuilt(_many_texts),
    "a bomb of merged cells": _replaced(
        SHEET, b"</sheetData>", b'</sheetData><mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>'
    ),
    "merged over a whole column": _replaced(SHEET, b"</sheetData>", COLUMN),
    "a bomb of a link on all cells": _replaced(
        SHEET,
        b"</sheetData>",
        b'</sheetData><hyperlinks><hyperlink ref="A1:XFD1048576" display="x"/></hyperlinks>',
    ),
    "a bomb of entities": rebuilt(_laughing),
    "a cell in the farthest corner": _replaced(
        SHEET, b"</sheetData>", b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    ),
    "20 000 offcuts": _many_offcuts,
    "a folder named as a workbook": _directory,
    "a link to itself": _link_to_itself,
    "a pipe that no one writes to": _pipe,
    "a picture": file("skiff.xlsx", b"\x89PNG\r\n\x1a\n" + bytes(100)),
    "a pdf": file("skiff.xlsx", b"%PDF-1.7\n"),
    "a web page": file("skiff.xls", b"<html><table><tr><td>Offcut</td></tr></table></html>"),
    "a word processor's document": file("skiff.xlsx", _zipped({"word/document.xml": b"<w/>"})),
}


# csv


def _encoded(encoding: str, mark: bytes = b"", separator: str = ",") -> Maker:
    def make(parent: Path) -> Path:
        sheets = good()
        sheets["Offcuts"][1][5] = sheets["Blanks"][1][5] = "Kiefer f\u00fcr K\u00e4hne"
        path = save_csv(sheets, parent / "skiff", separator, encoding)
        for name in path.iterdir():
            name.write_bytes(mark + name.read_bytes())
        return path

    return make


def _ending(end: str) -> Maker:
    def make(parent: Path) -> Path:
        path = save_csv(good(), parent / "skiff")
        for name in path.iterdir():
            name.write_bytes(name.read_bytes().replace(b"\n", end.encode()))
        return path

    return make


OFF = "Offcut,Length,Width,Thickness\n"
CSV: dict[str, Maker] = {
    "csv in UTF-8": _encoded("utf-8"),
    "csv in UTF-8 with its mark": _encoded("utf-8-sig"),
    "csv in cp1252": _encoded("cp1252"),
    "csv in UTF-16": _encoded("utf-16"),
    "csv in UTF-16 big end first": _encoded("utf-16-be", b"\xfe\xff"),
    "csv in UTF-16 without its mark": _encoded("utf-16-le"),
    "csv in UTF-32": _encoded("utf-32"),
    "csv with semicolons": _encoded("utf-8", separator=";"),
    "csv with tabs": _encoded("utf-8", separator="\t"),
    "csv with bars": _encoded("utf-8", separator="|"),
    "csv with Windows line ends": _ending("\r\n"),
    "csv with old line ends": _ending("\r"),
    "csv with blank lines between": _ending("\n\n"),
    "csv with decimal commas": folder(
        offcuts="Offcut;Length;Width;Thickness\nA1;41,375;5;1,25\nA2;60,5;4;1,5\n", defects=None
    ),
    "csv with decimal commas between commas": folder(offcuts=OFF + "A1,41,375,5,1,25\n", defects=None),
    "csv with quoted decimal commas": folder(offcuts=OFF + 'A1,"41,37",5,"1,25"\nA2,60,4,1\n'),
    "csv with a name over two lines": folder(offcuts=OFF + '"A\n1",41,5,1\nA2,60,4,1\n', defects=None),
    "csv with an open quote": folder(offcuts=OFF + 'A1,41 3/8",5,1\nA2,"60,4,1\n'),
    "csv with inch marks": folder(offcuts=OFF + 'A1,41 3/8",5",1 1/4"\nA2,60.5",4,1.5\n'),
    "csv with too few fields": folder(offcuts=OFF + "A1,41\nA2,60,4,1\n", defects=None),
    "csv with too many fields": folder(offcuts=OFF + "A1,41,5,1,9,9\nA2,60,4,1\n", defects=None),
    "csv with commas at the ends": folder(
        offcuts="Offcut,Length,Width,Thickness,,\nA1,41,5,1,,\nA2,60,4,1,,\n"
    ),
    "csv with a line that says the separator": folder(
        offcuts="sep=;\n" + OFF.replace(",", ";") + "A1;41;5;1\nA2;60;4;1"
    ),
    "csv with a field of 200 000 characters": folder(offcuts=OFF + f"A1,41,5,{'1' * 200_000}\nA2,60,4,1\n"),
    "csv with a nought byte": folder(offcuts=OFF.encode() + b"A1,41\0,5,1\nA2,60,4,1\n"),
    "csv that is empty": folder(offcuts=b""),
    "csv of a mark alone": folder(offcuts=b"\xef\xbb\xbf"),
    "csv of headings alone": folder(offcuts=OFF, defects=None),
    "csv of spaces": folder(offcuts="  \n \n"),
    "csv without headings": folder(offcuts="A1,41,5,1\nA2,60,4,1\n"),
    "csv that is a workbook": folder(offcuts=b"PK\x03\x04\x00\x00\x00"),
    "csv that is a web page": folder(offcuts="<html><body>Offcut</body></html>\n"),
    "csv that is JSON": folder(offcuts='[{"Offcut": "A1", "Length": 41}]\n'),
    "csv with formulas as text": folder(offcuts=OFF + "A1,=41+1,5,1\nA2,60,4,1\n"),
    "csv with a name that is a formula": folder(offcuts=OFF + "=1+1,41,5,1\nA2,60,4,1\n", defects=None),
    "csv with error values": lines("offcuts", "60.5", "#REF!"),
    "csv with a percentage": lines("offcuts", "60.5", "60%"),
    "csv with marks of thousands": lines("offcuts", "60.5", '"1,060.5"'),
    "csv with a plus sign": lines("offcuts", "60.5", "+60.5"),
    "csv with a hard space": lines("offcuts", "41 3/8", "41\u00a03/8"),
    "csv without offcuts": folder(offcuts=None),
    "csv without blanks": folder(blanks=None),
    "csv of offcuts misnamed": lambda parent: _renamed(parent, "offcuts.csv", "offcut.csv"),
    "csv of defects misnamed": lambda parent: _renamed(parent, "defects.csv", "defect.csv"),
    "csv named in capitals": lambda parent: _renamed(parent, "offcuts.csv", "OFFCUTS.CSV"),
    "csv with 2 000 000 fields": folder(offcuts=OFF + "," * 2_000_000),
    "csv with other files beside": folder(notes="anything"),
}


def _renamed(parent: Path, old: str, new: str) -> Path:
    path = save_csv(good(), parent / "skiff")
    (path / old).rename(path / new)
    return path


# What pandas writes


def _frames() -> dict[str, pd.DataFrame]:
    sheets = good()
    return {name: pd.DataFrame(rows[1:], columns=rows[0]) for name, rows in sheets.items()}


def _pandas(change: Callable[[dict[str, Any]], object], *, index: bool = False) -> Maker:
    def make(parent: Path) -> Path:
        frames: dict[str, Any] = dict(_frames())
        change(frames)
        with pd.ExcelWriter(parent / "skiff.xlsx", engine="openpyxl") as writer:
            for name, frame in frames.items():
                frame.to_excel(writer, sheet_name=name, index=index)
        return parent / "skiff.xlsx"

    return make


def _pandas_csv(**options: Any) -> Maker:
    def make(parent: Path) -> Path:
        path = parent / "skiff"
        path.mkdir()
        for name, frame in _frames().items():
            frame.to_csv(path / f"{name.lower()}.csv", **{"index": False, **options})
        return path

    return make


def _set(sheet: str, column: str, value: Any) -> Callable[[dict[str, Any]], None]:
    def change(frames: dict[str, Any]) -> None:
        frames[sheet][column] = value

    return change


def _grouped(frames: dict[str, Any]) -> None:
    frames["Offcuts"] = pd.concat([frames["Offcuts"]] * 2).set_index(["Rack", "Offcut"])


PANDAS: dict[str, Maker] = {
    "pandas as it comes": _pandas(lambda _: None),
    "pandas with its index": _pandas(lambda _: None, index=True),
    "pandas with nan": _pandas(_set("Offcuts", "Length", [math.nan, 60.5])),
    "pandas with inf": _pandas(_set("Offcuts", "Length", [math.inf, 60.5])),
    "pandas with dates": _pandas(_set("Offcuts", "Length", pd.to_datetime(["2025-03-08", "2025-01-02"]))),
    "pandas with truth values": _pandas(_set("Offcuts", "Qty", [True, False])),
    "pandas with whole numbers as floats": _pandas(_set("Offcuts", "Qty", [2.0, 1.0])),
    "pandas with merged groups": _pandas(_grouped, index=True),
    "pandas csv": _pandas_csv(),
    "pandas csv with its index": _pandas_csv(index=True),
    "pandas csv with semicolons and decimal commas": _pandas_csv(sep=";", decimal=","),
    "pandas csv with NULL": _pandas_csv(na_rep="NULL"),
    "pandas csv with everything quoted": _pandas_csv(quoting=1),
    "pandas csv in UTF-16": _pandas_csv(encoding="utf-16"),
}

CASES: dict[str, Maker] = {
    **{
        f"{column}: {word}": _odd_cell(cell, value)
        for column, cell in COLUMNS.items()
        for word, value in VALUES.items()
    },
    **SHEETS,
    **FILES,
    **CSV,
    **PANDAS,
    **TYPED,
    **FAULTS,
    **DOUBTS,
}
