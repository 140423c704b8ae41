"""Fourteen boards typed in an evening, and the mistakes that this invites; each case is the sheet with some of them.

The scenario is invented, as all demo data: two species of offcuts for the frames of a skiff.
"""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

from skiff_workbook import Maker, Sheets, csv_text, put, save_xlsx

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

_OFFCUTS: list[list[object]] = [
    ["Offcut", "Length", "Width", "Thickness", "Species", "Bow", "Crook", "Cup", "Twist"],
    ["P01", "36 1/2", "5 1/4", "1 3/4", "white oak", "1/8", None, "1/16", None],
    ["P02", "41 3/8", "4 1/2", "1 5/8", "white oak", None, "1/8", None, None],
    ["P03", "28", "6", "2", "white oak", "1/16", None, None, "1/8"],
    ["P04", "52 1/4", "3 3/4", "1 3/4", "white oak", "1/4", None, None, None],
    ["P05", "33 3/4", "5 7/8", "1 5/8", "white oak", None, None, "1/8", None],
    ["P06", "60 1/2", "4 7/8", "2 1/16", "white oak", "3/8", "1/4", None, "1/4"],
    ["P07", "24", "6 1/4", "1 7/8", "white oak", None, None, None, None],
    ["P08", "47", "3", "2", "white oak", "1/8", None, None, None],
    ["P09", "39 1/4", "5", "1 3/4", "black locust", None, None, None, None],
    ["P10", "30 5/8", "4 3/8", "1 3/4", "black locust", None, "1/16", None, None],
    ["P11", "44", "5 1/2", "1 5/8", "black locust", "1/16", None, "1/16", None],
    ["P12", "26 3/8", "4", "2", "black locust", None, None, None, None],
    ["P13", "35", "3 1/2", "1 3/4", "black locust", None, None, None, "1/16"],
    ["P14", "50", "6", "1 7/8", "black locust", "1/4", None, "1/16", None],
]
_READINGS: list[list[object]] = [
    ["Ring angle", "Moisture", "Grain slope", "Kink at"],
    [40, 12, "1:20", None], [35, 12, "1:16", None], [50, 13, "1:20", None], [45, 12, "1:14", None],
    [30, 12, "1:25", None], [40, 14, "1:20", None], [55, 12, "1:15", None], [38, 12, "1:20", None],
    [42, 12, "1:18", None], [45, 11, "1:20", None], [36, 12, "1:20", None], [48, 12, "1:15", None],
    [40, 12, "1:20", None], [44, 12, "1:20", "25"],
]  # fmt: skip
_SHEETS: Sheets = {
    "Offcuts": [[*one, *other] for one, other in zip(_OFFCUTS, _READINGS, strict=True)],
    "Defects": [
        ["Offcut", "Kind", "From", "To", "Edge from", "Edge to", "Face", "Depth"],
        ["P01", "knot", "12", "13 1/2", "0", "1 1/2", None, None],
        ["P04", "check", "0", "4", None, None, None, None],
        ["P06", "pin knot", "20", "20 1/2", "2", "2 1/2", "1", "3/8"],
        ["P11", "knot", "30", "32", "4", "5 1/2", None, None],
        ["P14", "wane", "38", "50", "5 1/4", "6", None, None],
    ],
    "Blanks": [
        [
            "Blank",
            "Need",
            "Length",
            "Width",
            "Thickness",
            "Species",
            "Ring from",
            "Ring to",
            "Clear end",
            "Max slope",
        ],
        ["floor timber", 4, "15 1/2", "2 1/4", "1 5/16", "white oak, black locust", 30, 60, None, "1:12"],
        ["futtock", 6, "17 3/4", "2 1/4", "1 5/16", "white oak, black locust", 30, 60, "4", "1:12"],
        ["cleat", 6, "6 1/2", "1 3/4", "1 1/8", None, None, None, None, None],
    ],
    "Shop": [
        ["Setting", "Value"],
        ["units", "inch"],
        ["rip kerf", "1/8"],
        ["jointer width", "8"],
        ["target moisture", "12 %"],
    ],
}


def boards() -> Sheets:
    """Return the workbook's cells without a mistake, free to be changed."""
    return {name: [list(row) for row in rows] for name, rows in _SHEETS.items()}


def typed(**values: object) -> Maker:
    """Return a maker of the workbook with cells typed otherwise: ``Offcuts_B2="413/8"``."""

    def make(folder: Path) -> Path:
        sheets = boards()
        for cell, value in values.items():
            put(sheets, cell.replace("_", "!"), value)
        return save_xlsx(sheets, folder / "boards.xlsx")

    return make


def _changed(change: Callable[[Sheets], object]) -> Maker:
    def make(folder: Path) -> Path:
        sheets = boards()
        change(sheets)
        return save_xlsx(sheets, folder / "boards.xlsx")

    return make


def _column(heading: str, value: Callable[[str, int], object], sheet: str = "Offcuts") -> Maker:
    """Return a maker that types a whole column anew: ``value`` gets what stood there, and the row."""

    def change(sheets: Sheets) -> None:
        at = sheets[sheet][0].index(heading)
        for number, row in enumerate(sheets[sheet][1:], 2):
            if row[at] is not None:
                row[at] = value(str(row[at]), number)

    return _changed(change)


def _swapped(one: str, other: str, rows: int = 99) -> Maker:
    def change(sheets: Sheets) -> None:
        at, to = (sheets["Offcuts"][0].index(heading) for heading in (one, other))
        for row in sheets["Offcuts"][1 : rows + 1]:
            row[at], row[to] = row[to], row[at]

    return _changed(change)


def _in_inches(text: str) -> float:
    return sum(
        int(part.split("/")[0]) / int(part.split("/")[1]) if "/" in part else float(part)
        for part in text.split()
    )


def _millimetres(sheets: Sheets, *, units: str = "inch") -> None:
    """Type every size of the pile and the batch in millimetres, as if the shop had said so."""
    for name in ("Offcuts", "Blanks"):
        for heading in ("Length", "Width", "Thickness"):
            at = sheets[name][0].index(heading)
            for row in sheets[name][1:]:
                row[at] = round(25.4 * _in_inches(row[at]))
    sheets["Defects"] = sheets["Defects"][:1]
    sheets["Shop"] = [["Setting", "Value"], ["units", units], ["target moisture", "12 %"]]
    put(sheets, "Offcuts!M15", None)


def _decimal_inches(sheets: Sheets) -> None:
    """Type every size as decimal inches in a workbook whose units are millimetres."""
    for name in ("Offcuts", "Blanks"):
        for heading in ("Length", "Width", "Thickness"):
            at = sheets[name][0].index(heading)
            for row in sheets[name][1:]:
                row[at] = round(_in_inches(row[at]), 2)
        for heading in ("Bow", "Crook", "Cup", "Twist", "Kink at", "Clear end"):
            if heading in sheets[name][0]:
                at = sheets[name][0].index(heading)
                for row in sheets[name][1:]:
                    row[at] = None
    sheets["Defects"] = sheets["Defects"][:1]
    sheets["Shop"] = [["Setting", "Value"], ["units", "mm"]]


def _metric(**values: object) -> Maker:
    """Return a maker of the boards typed rightly in a metric workbook, but for these cells."""

    def change(sheets: Sheets) -> None:
        _millimetres(sheets, units="mm")
        for row in sheets["Offcuts"][1:]:
            row[5:9] = [None] * 4
        for row in sheets["Blanks"][1:]:
            row[8] = None
        for cell, value in values.items():
            put(sheets, cell.replace("_", "!"), value)

    return _changed(change)


def _csv(offcuts: Callable[[list[list[Any]]], str]) -> Maker:
    """Return a maker of the boards as a csv folder, the pile's file written by ``offcuts``."""

    def make(parent: Path) -> Path:
        path = parent / "boards"
        path.mkdir()
        for name, rows in boards().items():
            text = offcuts(rows) if name == "Offcuts" else csv_text(rows)
            (path / f"{name.lower()}.csv").write_text(text, encoding="utf-8")
        return path

    return make


def _unquoted_commas(rows: list[list[Any]]) -> str:
    rows[1][1] = "36,5"
    return "".join(",".join("" if value is None else str(value) for value in row) + "\n" for row in rows)


def _quoted_commas(rows: list[list[Any]]) -> str:
    rows[1][1], rows[2][3] = "36,5", "1,62"
    return csv_text(rows)


def _species(sheets: Sheets, rows: range, value: object) -> None:
    for number in rows:
        put(sheets, f"Offcuts!E{number}", value)


TYPED: dict[str, Maker] = {
    "boards: no mistake": typed(),
    # fractions
    "boards: a fraction as a date": typed(Offcuts_F2=datetime.datetime(2026, 1, 8)),
    "boards: a length as a date": typed(Offcuts_B3=datetime.datetime(2008, 3, 1)),
    "boards: thirty-seconds as a date": typed(Offcuts_H2=datetime.datetime(1932, 3, 1)),
    "boards: a date written out": typed(Offcuts_G3="8-Jan"),
    "boards: a space lost before the fraction": typed(Offcuts_B3="413/8"),
    "boards: a space lost in a thickness": typed(Offcuts_D2="13/4"),
    "boards: the bar lost": typed(Offcuts_B3="41 38"),
    "boards: space and bar lost": typed(Offcuts_B3="4138"),
    "boards: a backslash for the bar": typed(Offcuts_B3="41 3\\8"),
    "boards: a letter l for a one": typed(Offcuts_B3="4l 3/8"),
    "boards: a letter O for a nought": typed(Offcuts_B15="5O"),
    "boards: a fraction of eight eighths": typed(Offcuts_B3="41 8/8"),
    "boards: a decimal and a fraction": typed(Offcuts_B3="41.3/8"),
    "boards: a nought below the bar": typed(Offcuts_B3="41 3/0"),
    "boards: two lengths in a cell": typed(Offcuts_C3="4 1/2 to 5"),
    "boards: about": typed(Offcuts_C3="~4 1/2"),
    "boards: a question mark": typed(Offcuts_F2="1/8?"),
    "boards: a dash for nothing": typed(Offcuts_G2="-"),
    "boards: none written out": typed(Offcuts_G2="none"),
    "boards: no fraction of a rule": typed(Offcuts_B3="41 1/3"),
    "boards: a foot mark for an inch mark": typed(Offcuts_B3="41'"),
    "boards: feet and too many inches": typed(Offcuts_B7="4' 12 1/2\""),
    # points and commas
    "boards: a decimal comma": typed(Offcuts_B3="41,4"),
    "boards: a decimal comma of three places": typed(Offcuts_B3="41,375"),
    "boards: a decimal comma in the warp": typed(Offcuts_F2="0,125"),
    "boards: a decimal comma at a kink": typed(Offcuts_M15="24,5"),
    "boards: a decimal point lost": typed(Offcuts_B7="605"),
    "boards: a decimal point lost in a width": typed(Offcuts_C4="60"),
    "boards: a csv with decimal commas between commas": _csv(_unquoted_commas),
    "boards: a csv with quoted decimal commas": _csv(_quoted_commas),
    # units
    "boards: one length in millimetres": typed(Offcuts_B3="1051"),
    "boards: one thickness in millimetres": typed(Offcuts_D3="41"),
    "boards: one length in metres": typed(Offcuts_B3="1.05"),
    "boards: one length beyond 30 m": typed(Offcuts_B7="1537"),
    "boards: all in millimetres": _changed(_millimetres),
    "boards: all in inches, units mm": _changed(_decimal_inches),
    "boards: metric, no mistake": _metric(),
    "boards: metric, a length in inches": _metric(Offcuts_B3="41.4"),
    "boards: metric, a thickness in inches": _metric(Offcuts_D3=1.6),
    "boards: metric, a length in centimetres": _metric(Offcuts_B3=105),
    "boards: metric, a fraction": _metric(Offcuts_B3="41 3/8"),
    "boards: metric, a kerf in inches": _metric(Shop_A4="rip kerf", Shop_B4=0.125),
    "boards: metric, a blank in inches": _metric(Blanks_C3=17.75),
    "boards: a defect in millimetres": typed(Defects_C2="305", Defects_D2="343"),
    "boards: a kerf in millimetres": typed(Shop_B3="3"),
    "boards: a jointer in millimetres": typed(Shop_B4="200"),
    "boards: a blank in millimetres": typed(Blanks_C3="450"),
    "boards: units centimetres": typed(Shop_B2="cm"),
    # columns and rows
    "boards: length and width exchanged": _swapped("Length", "Width", 1),
    "boards: width and thickness exchanged": _swapped("Width", "Thickness", 1),
    "boards: bow and length exchanged": _swapped("Bow", "Length", 1),
    "boards: moisture and ring angle exchanged": typed(Offcuts_J2=12, Offcuts_K2=74),
    "boards: need and length exchanged": typed(Blanks_B3="17 3/4", Blanks_C3=6),
    "boards: a name twice": typed(Offcuts_A11="P09"),
    "boards: a name left out": typed(Offcuts_A11=None),
    "boards: a letter for a figure in a name": typed(Defects_A3="PO4"),
    "boards: a name with a space": typed(Defects_A3="P 04"),
    "boards: a row one cell to the right": _changed(lambda sheets: sheets["Offcuts"][3].insert(1, None)),
    "boards: a width left out": typed(Offcuts_C9=None),
    "boards: a row left half done": typed(Offcuts_A16="P15", Offcuts_B16="22"),
    # warp
    "boards: bow of 14 in": typed(Offcuts_F2="14"),
    "boards: bow in millimetres": typed(Offcuts_F5="6"),
    "boards: crook of 38": typed(Offcuts_G3=38),
    "boards: cup beyond one in ten": typed(Offcuts_H2="3/4"),
    "boards: twist beyond one in forty": typed(Offcuts_I4="1"),
    "boards: a negative bow": typed(Offcuts_F2="-1/8"),
    # readings
    "boards: a ring angle above 90": typed(Offcuts_J2=120),
    "boards: a ring word misspelt": typed(Offcuts_J2="quater sawn"),
    "boards: a ring angle with a sign": typed(Offcuts_J2="40°"),
    "boards: ring bounds exchanged": typed(Blanks_G2=60, Blanks_H2=30),
    "boards: moisture as a share": typed(Offcuts_K2=0.12),
    "boards: green wood": typed(Offcuts_K2=85),
    "boards: target moisture as a share": typed(Shop_B5="0.12"),
    "boards: a slope turned round": typed(Offcuts_L2="20:1"),
    "boards: a slope with a full stop": typed(Offcuts_L2="1:2.0"),
    "boards: a slope of one figure": typed(Offcuts_L2="20"),
    "boards: a slope as a time": typed(Offcuts_L2=datetime.time(1, 20)),
    "boards: a kink beyond the end": typed(Offcuts_M15="52"),
    # species
    "boards: species left out on two": _changed(lambda sheets: _species(sheets, range(14, 16), None)),
    "boards: species left out on most": _changed(lambda sheets: _species(sheets, range(4, 16), None)),
    "boards: a letter of the species wrong": typed(Offcuts_E4="white oka"),
    "boards: half of the species missing": _changed(lambda sheets: _species(sheets, range(10, 13), "locust")),
    "boards: a hyphen in the species": typed(Offcuts_E10="black-locust"),
    "boards: a species wanted by half its name": typed(Blanks_F2="oak"),
    "boards: two species in a cell": typed(Offcuts_E4="white oak, ash"),
    # defects
    "boards: from and to exchanged": typed(Defects_C2="13 1/2", Defects_D2="12"),
    "boards: the length of the knot for its end": typed(Defects_D5="2"),
    "boards: edges exchanged": typed(Defects_E4="2 1/2", Defects_F4="2"),
    "boards: a face without a depth": typed(Defects_H4=None),
    "boards: a depth without a face": typed(Defects_G4=None),
    "boards: a face with a word": typed(Defects_G4="top", Defects_H4="9"),
    "boards: deeper than thick": typed(Defects_H4="3"),
    "boards: a defect beyond the edge": typed(Defects_F2="15"),
    "boards: a defect of no length": typed(Defects_D2="12"),
    "boards: a long knot": typed(Defects_C2="1", Defects_D2="13 1/2"),
    "boards: a kind misspelt": typed(Defects_B2="know"),
    "boards: no kind": typed(Defects_B2=None),
    "boards: all wrong in a row": typed(
        Offcuts_B2="abc",
        Offcuts_C2=None,
        Offcuts_F2="14",
        Offcuts_J2=95,
        Offcuts_L2="20",
        Defects_F2="x",
        Defects_G2="9",
    ),
    "boards: a defect of a board that is at fault": typed(
        Offcuts_B2="36 1/2?", Defects_D2="11", Defects_F2="15"
    ),
    # blanks and settings
    "boards: a size between two marks": typed(Blanks_D2="2.26"),
    "boards: a blank of the wrong species alone": typed(Blanks_F3="ash"),
    "boards: clear end longer than the blank": typed(Blanks_I3="40"),
    "boards: width and thickness of a blank exchanged": typed(Blanks_D2="1 5/16", Blanks_E2="2 1/4"),
    "boards: need left out": typed(Blanks_B2=None),
    "boards: need as a word": typed(Blanks_B2="four"),
    "boards: a kerf of a foot": typed(Shop_B3="1 ft"),
    "boards: a setting misspelt": typed(Shop_A3="rip curf"),
    "boards: a jointer of 80 inches": typed(Shop_B4="80"),
    "boards: end trim of 15": typed(Shop_A6="end trim", Shop_B6="15"),
    "boards: minutes in seconds": typed(Shop_A6="machine setting", Shop_B6="120"),
    "boards: too wide and kinked": typed(Offcuts_C15="9", Shop_B4="8"),
    "boards: too wide, but it may be split": typed(Offcuts_C14="9", Shop_B4="8"),
}
"""The mistakes, by what was done."""
