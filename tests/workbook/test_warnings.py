"""Questionable but usable input: each warning in full, and the job is read all the same."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from skiff_workbook import Maker, cells, good, lines, save_csv, save_xlsx, touched

from yieldplan.measure import INCH
from yieldplan.model import InputError
from yieldplan.workbook import read

if TYPE_CHECKING:
    from pathlib import Path


def _hide(book: Any) -> None:
    book["Offcuts"].row_dimensions[3].hidden = True
    book["Offcuts"].column_dimensions["G"].hidden = True
    book["Defects"].sheet_state = "hidden"


def _add_sheet(book: Any) -> None:
    book.create_sheet("Paint")["A1"].value = "two coats"


def _no_ring(parent: Path) -> Path:
    sheets = good()
    for row in sheets["Offcuts"][1:]:
        row[7] = None
    return save_xlsx(sheets, parent / "skiff.xlsx")


def _loose_csv(parent: Path) -> Path:
    path = save_csv(good(), parent / "skiff")
    (path / "paint.csv").write_text("coat\n")
    return path


CASES: dict[str, tuple[Maker, str]] = {
    "heading unread": (
        cells(Offcuts_K1="Bought", Offcuts_K2="may"),
        (
            "skiff.xlsx, Offcuts!K1: “Bought” is a heading that is not read; the column is kept and "
            "shown back."
        ),
    ),
    "heading misspelt": (
        cells(Offcuts_K1="Crock", Offcuts_K2="1/8"),
        (
            "skiff.xlsx, Offcuts!K1: “Crock” is a heading that is not read; the column is kept and "
            "shown back; did you mean Crook?"
        ),
    ),
    "heading misspelt on Defects": (
        cells(Defects_H1=None, Defects_H3=None, Defects_G3=None, Defects_I1="Nota"),
        "skiff.xlsx, Defects!I1: “Nota” is a heading that is not read; did you mean Note?",
    ),
    "values under no heading": (
        cells(Offcuts_L2="mine"),
        "skiff.xlsx, Offcuts!L2: “mine” has no heading over it, so the column is not read.",
    ),
    "hidden": (
        touched(_hide),
        (
            "skiff.xlsx, Offcuts: row 3 is hidden, and read all the same.\n"
            "skiff.xlsx, Offcuts: hides the column Bow, which is read all the same.\n"
            "skiff.xlsx, Defects: is a hidden sheet, and read all the same."
        ),
    ),
    "another sheet": (touched(_add_sheet), "skiff.xlsx, Paint: is a sheet that is not read."),
    "csv: another file": (_loose_csv, "paint.csv: is a file that is not read."),
    "offcut turned": (
        cells(Offcuts_C3=1, Offcuts_D3=4),
        (
            'skiff.xlsx, Offcuts!C3: “1” is smaller than the thickness; the row is turned: width 4", '
            'thickness 1".'
        ),
    ),
    "blank turned": (
        cells(Blanks_D2="3/4", Blanks_E2="1 1/2"),
        (
            "skiff.xlsx, Blanks!D2: “3/4” is smaller than the thickness; the row is turned: width 1 "
            '1/2", thickness 3/4".'
        ),
    ),
    "offcut too short": (
        cells(Offcuts_A4="A3", Offcuts_B4=13, Offcuts_C4=4, Offcuts_D4=1.5, Offcuts_F4="white oak"),
        (
            'skiff.xlsx, Offcuts!B4: “13” leaves 12" between its trimmed ends, 3" too short for cleat; '
            "nothing can be cut from it."
        ),
    ),
    "offcut too short to machine": (
        cells(Offcuts_A4="A3", Offcuts_F4="ash", Offcuts_B4=9, Offcuts_C4=4, Offcuts_D4=1.5),
        (
            'skiff.xlsx, Offcuts!B4: “9” is below the shortest machined length (12"); nothing can be '
            "cut from it."
        ),
    ),
    "offcut too wide": (
        cells(Offcuts_A4="A3", Offcuts_F4="ash", Offcuts_B4=40, Offcuts_C4=17, Offcuts_D4=6.5),
        (
            'skiff.xlsx, Offcuts!C4: “17” is 9" wider than the jointer (8"), and the bandsaw (6") is too '
            "low to split it; nothing can be cut from it."
        ),
    ),
    "offcut too wide, but it may be split": (
        cells(Offcuts_A4="A3", Offcuts_F4="ash", Offcuts_B4=40, Offcuts_C4=17, Offcuts_D4=1.5),
        "",
    ),
    "offcut too warped, but it may be split": (
        cells(
            Offcuts_K1="Cup",
            Offcuts_A4="A3",
            Offcuts_F4="ash",
            Offcuts_B4=40,
            Offcuts_C4=6,
            Offcuts_D4=1.5,
            Offcuts_K4="1/2",
        ),
        "",
    ),
    "offcut too high for the saws": (
        cells(Offcuts_A4="A3", Offcuts_F4="ash", Offcuts_B4=40, Offcuts_C4=7, Offcuts_D4=6.5),
        (
            'skiff.xlsx, Offcuts!C4: “7” is, 6 1/2" thick, too high for the saws (bandsaw height 6", resaw '
            'height 4"); nothing can be cut from it.'
        ),
    ),
    "offcut with a check in its end": (
        cells(
            Offcuts_A4="A3",
            Offcuts_F4="ash",
            Offcuts_B4=19,
            Offcuts_C4=4,
            Offcuts_D4=1.5,
            Defects_A4="A3",
            Defects_B4="check",
            Defects_C4=0,
            Defects_D4=5,
        ),
        (
            'skiff.xlsx, Offcuts!B4: “19” leaves 12 1/2" between its trimmed ends, 2 1/2" too short for '
            "cleat; nothing can be cut from it."
        ),
    ),
    "offcut kinked in the middle": (
        cells(
            Offcuts_K1="Kink at",
            Offcuts_A4="A3",
            Offcuts_F4="ash",
            Offcuts_B4=26,
            Offcuts_C4=4,
            Offcuts_D4=1.5,
            Offcuts_K4=13,
        ),
        (
            'skiff.xlsx, Offcuts!B4: “26” leaves 12 1/2" between its trimmed ends and kinks, 2 1/2" too '
            "short for cleat; nothing can be cut from it."
        ),
    ),
    "offcut full of knots": (
        cells(
            Offcuts_A4="A3",
            Offcuts_F4="ash",
            Offcuts_B4=20,
            Offcuts_C4=4,
            Offcuts_D4=1.5,
            Defects_A4="A3",
            Defects_B4="knot",
            Defects_C4=5,
            Defects_D4=8,
            Defects_A5="A3",
            Defects_B5="shake",
            Defects_C5=9,
            Defects_D5=12,
            Defects_A6="A3",
            Defects_B6="pith",
            Defects_C6=12,
            Defects_D6=15,
        ),
        (
            'skiff.xlsx, Offcuts!A4: “A3” has knot, shake and pith in the way of cleat, 14" long; nothing '
            "can be cut from it."
        ),
    ),
    "offcut whose rings were not read": (
        cells(
            Offcuts_A4="A3", Offcuts_B4=40, Offcuts_C4=5, Offcuts_D4=1.5, Offcuts_F4="white oak", Blanks_G3=10
        ),
        (
            "skiff.xlsx, Offcuts!A4: “A3” has no ring angle, and rib asks for 0° to 45°; nothing can be cut "
            "from it."
        ),
    ),
    "offcut whose rings suit nothing": (
        cells(
            Offcuts_A4="A3",
            Offcuts_B4=40,
            Offcuts_C4=5,
            Offcuts_D4=1.5,
            Offcuts_F4="white oak",
            Offcuts_H4=45,
            Blanks_H2=30,
            Blanks_H3=30,
            Offcuts_H3=80,
        ),
        (
            "skiff.xlsx, Offcuts!H4: “45” gives the wrong rings for rib (0° to 30°), flat or turned; nothing "
            "can be cut from it."
        ),
    ),
    "offcut whose rings turn across it": (
        cells(
            Offcuts_K1="Ring angle far",
            Offcuts_A4="A3",
            Offcuts_B4=40,
            Offcuts_C4=4,
            Offcuts_D4=1.5,
            Offcuts_F4="white oak",
            Offcuts_H4=20,
            Offcuts_K4=60,
            Blanks_G2=35,
            Blanks_H3=30,
            Blanks_G3=28,
        ),
        (
            "skiff.xlsx, Offcuts!H2: “20” gives the wrong rings for rib (35° to 45°), flat or turned; "
            "nothing can be cut from it.\n"
            "skiff.xlsx, Offcuts!H3: “75” gives the wrong rings for rib (35° to 45°), flat or turned; "
            "nothing can be cut from it.\n"
            'skiff.xlsx, Offcuts!H4: “20” suits rib in only part of the width, 11/16" too narrow; nothing '
            "can be cut from it.\n"
            "skiff.xlsx, Blanks!G2: “35” comes out of no offcut: A3, the nearest, suits rib in only part of "
            'the width, 11/16" too narrow.\n'
            "skiff.xlsx, Blanks!G3: “28” comes out of no offcut: A3, the nearest, suits cleat in only part "
            'of the width, 1" too narrow.'
        ),
    ),
    "offcut whose slope was not read": (
        cells(
            Offcuts_K1="Grain slope",
            Offcuts_K2="1:20",
            Offcuts_K3="1:20",
            Offcuts_A4="A3",
            Offcuts_B4=40,
            Offcuts_C4=5,
            Offcuts_D4=1.5,
            Offcuts_F4="white oak",
            Offcuts_H4=20,
            Blanks_J1="Max slope",
            Blanks_J2="1:12",
            Blanks_J3="1:12",
        ),
        (
            "skiff.xlsx, Offcuts!A4: “A3” has no slope of grain; rib takes at most 1 in 12; nothing can be "
            "cut from it."
        ),
    ),
    "offcut whose grain is too steep": (
        cells(
            Offcuts_K1="Grain slope",
            Offcuts_K2="1:20",
            Offcuts_K3="1:20",
            Offcuts_A4="A3",
            Offcuts_B4=40,
            Offcuts_C4=5,
            Offcuts_D4=1.5,
            Offcuts_F4="white oak",
            Offcuts_H4=20,
            Offcuts_K4="1:6",
            Blanks_J1="Max slope",
            Blanks_J2="1:12",
            Blanks_J3="1:12",
        ),
        ("skiff.xlsx, Offcuts!K4: “1:6” slopes more than rib takes (1 in 12); nothing can be cut from it."),
    ),
    "blank whose rings no offcut has": (
        cells(Blanks_G2=40, Blanks_H2=42),
        (
            "skiff.xlsx, Blanks!G2: “40” comes out of no offcut: A1, the nearest, gives the wrong rings for "
            "rib (40° to 42°), flat or turned."
        ),
    ),
    "blank steeper than any": (
        cells(
            Offcuts_K1="Grain slope",
            Offcuts_K2="1:8",
            Offcuts_K3="1:8",
            Blanks_J1="Max slope",
            Blanks_J2="1:12",
        ),
        (
            "skiff.xlsx, Blanks!J2: “1:12” comes out of no offcut: A1, the nearest, slopes more than rib "
            "takes (1 in 12)."
        ),
    ),
    "blank in the way of defects": (
        cells(
            Blanks_C2=30,
            Defects_F2=None,
            Offcuts_H3=45,
            Defects_C3=25,
            Defects_D3=40,
            Defects_G3=None,
            Defects_H3=None,
        ),
        (
            "skiff.xlsx, Blanks!A2: “rib” comes out of no offcut: A1, the nearest, has knot in the way of "
            'rib, 30" long.'
        ),
    ),
    "blank that is not needed": (cells(Blanks_B2=0, Blanks_C2=60), ""),
    "offcut too thin": (
        cells(
            Offcuts_A4="A3",
            Offcuts_B4=40,
            Offcuts_C4=5,
            Offcuts_D4=0.75,
            Offcuts_F4="white oak",
            Offcuts_H4=10,
        ),
        (
            'skiff.xlsx, Offcuts!D4: “0.75” is, once straight and flat, 1/8" too thin for rib; nothing can '
            "be cut from it."
        ),
    ),
    "offcut of no use by warp": (
        cells(
            Offcuts_A4="A3",
            Offcuts_B4=16,
            Offcuts_C4=5,
            Offcuts_D4=1.25,
            Offcuts_G4="1/2",
            Offcuts_F4="white oak",
        ),
        (
            'skiff.xlsx, Offcuts!G4: “1/2” is a lot of bow: more than 1 in 40 of the length, 16"; measure '
            "it again."
        ),
    ),
    "offcut of another species": (
        cells(
            Offcuts_A4="A3",
            Offcuts_B4=40,
            Offcuts_C4=5,
            Offcuts_D4=1.5,
            Offcuts_F4="ash",
            Blanks_F3="white oak",
        ),
        ("skiff.xlsx, Offcuts!F4: “ash” is not white oak, as rib asks; nothing can be cut from it."),
    ),
    "offcut without species": (
        cells(Offcuts_A4="A3", Offcuts_B4=40, Offcuts_C4=5, Offcuts_D4=1.5, Blanks_F3="white oak"),
        (
            "skiff.xlsx, Offcuts!F4: is empty, though 2 of 3 offcuts have their species; a blank that asks "
            "for one passes this offcut over."
        ),
    ),
    "offcut suits none, in parts": (
        cells(Offcuts_A4="A3", Offcuts_B4="14 1/2", Offcuts_C4=5, Offcuts_D4=1.5, Offcuts_F4="ash"),
        (
            'skiff.xlsx, Offcuts!B4: “14 1/2” leaves 13 1/2" between its trimmed ends, 1 1/2" too short for '
            "cleat; nothing can be cut from it."
        ),
    ),
    "mm typed as inches": (
        cells(Offcuts_B3=1050),
        (
            "skiff.xlsx, Offcuts!B3: “1050” is read as inches, far too long for an offcut; did you mean "
            "1050 mm or 105?"
        ),
    ),
    "species no offcut has": (
        cells(Blanks_F3="white oack, ash"),
        (
            'skiff.xlsx, Offcuts!D3: “1.5” is, once straight and flat, 3/16" too thin for rib; nothing can '
            "be cut from it.\n"
            "skiff.xlsx, Blanks!F3: “white oack, ash” asks for white oack, which no offcut is; did you mean "
            "white oak?\n"
            "skiff.xlsx, Blanks!F3: “white oack, ash” asks for ash, which no offcut is."
        ),
    ),
    "blank too thin": (
        cells(Blanks_E3="3/16"),
        (
            'skiff.xlsx, Offcuts!D3: “1.5” is, once straight and flat, 3/16" too thin for rib; nothing can '
            "be cut from it.\n"
            'skiff.xlsx, Blanks!E3: “3/16” is thinner than the thinnest planed (1/4"), so it cannot be made.'
        ),
    ),
    "blank too wide": (
        cells(Blanks_D3="13"),
        (
            'skiff.xlsx, Offcuts!D3: “1.5” is, once straight and flat, 3/16" too thin for rib; nothing can '
            "be cut from it.\n"
            'skiff.xlsx, Blanks!D3: “13” is wider than the planer (12 1/2"), so it cannot be made.'
        ),
    ),
    "blank below the narrowest rip": (
        cells(Blanks_E3="1/2"),
        (
            'skiff.xlsx, Offcuts!D3: “1.5” is, once straight and flat, 3/16" too thin for rib; nothing can '
            "be cut from it.\n"
            'skiff.xlsx, Blanks!E3: “1/2” is with its allowance below the narrowest rip (3/4"), so it cannot '
            "be made."
        ),
    ),
    "blank too long": (
        cells(Blanks_C2=60),
        (
            'skiff.xlsx, Blanks!C2: “60” comes out of no offcut: A2, the nearest, leaves 59 1/2" between its '
            'trimmed ends, 1 1/2" too short for rib.'
        ),
    ),
    "blank too thick": (
        cells(Blanks_D2=5, Blanks_E2=2),
        (
            "skiff.xlsx, Blanks!E2: “2” comes out of no offcut: A1, the nearest, is, once straight and flat, "
            '3/16" too narrow and 29/32" too thin for rib.'
        ),
    ),
    "ring range but none read": (
        _no_ring,
        (
            "skiff.xlsx, Blanks!H2: “45” comes out of no offcut: A1, the nearest, has no ring angle, and rib "
            "asks for 0° to 45°."
        ),
    ),
    "nothing wanted": (
        cells(Blanks_B2=0, Blanks_B3=0),
        "skiff.xlsx, Blanks: asks for no blank at all: every Need is 0.",
    ),
    "kind misspelt": (
        cells(Defects_B2="knots"),
        "skiff.xlsx, Defects!B2: “knots” is read as a kind of its own; did you mean knot?",
    ),
    "allowed kind misspelt": (
        cells(Blanks_J1="Allows", Blanks_J2="knots"),
        "skiff.xlsx, Blanks!J2: “knots” allows knots, which no defect is; did you mean knot?",
    ),
    "kerf too wide": (
        cells(Shop_B3="3"),
        (
            'skiff.xlsx, Shop!B3: “3” is unusually large for rip kerf (usually 1/32" to 1/4"); did you mean '
            "3 mm?"
        ),
    ),
    "csv: heading unread": (
        lines("offcuts", "Rack", "Rak"),
        (
            "offcuts.csv, line 1: “Rak” is a heading that is not read; the column is kept and shown "
            "back; did you mean Rack?"
        ),
    ),
}


@pytest.mark.parametrize(("make", "message"), CASES.values(), ids=CASES.keys())
def test_each_doubt_is_told_in_full(make: Maker, message: str, tmp_path: Path) -> None:
    """A questionable input is read, with the place, what stands there and what is odd about it."""
    assert "\n".join(warning.sentence() for warning in read(make(tmp_path)).warnings) == message


def test_a_turned_row_is_turned(tmp_path: Path) -> None:
    """Width and thickness are exchanged; edges of its defects are measured across the wider face."""
    make = cells(Offcuts_C3="1 1/2", Offcuts_D3="4", Defects_E3="3", Defects_F3=None)
    offcut = read(make(tmp_path)).offcuts[1]
    assert (offcut.width, offcut.thickness) == (4 * INCH, 3 * INCH // 2)
    assert (offcut.defects[0].y1, offcut.defects[0].y2) == (3 * INCH, 4 * INCH)
    assert offcut.ring_angle == 75


def _refused(make: Maker, parent: Path) -> list[str]:
    with pytest.raises(InputError) as refusal:
        read(make(parent))
    return [problem.cell for problem in refusal.value.problems]


def test_no_doubts_over_an_input_that_is_refused(tmp_path: Path) -> None:
    """What no offcut can yield is not guessed at while offcuts are at fault."""
    assert _refused(cells(Offcuts_B3="x", Blanks_C2=60), tmp_path) == ["B3"]


SHORT = {"Offcuts_A4": "A3", "Offcuts_B4": 9, "Offcuts_C4": 4, "Offcuts_D4": 1.5, "Offcuts_F4": "ash"}


def test_an_offcut_that_gives_nothing_is_told_though_another_is_at_fault(tmp_path: Path) -> None:
    """That a sound offcut gives none of the blanks does not hang on the others: all is said in one go."""
    assert _refused(cells(Offcuts_B3="x", **SHORT), tmp_path) == ["B3", "B4"]


def test_an_offcut_is_not_judged_by_a_batch_that_is_at_fault(tmp_path: Path) -> None:
    """The blank whose row cannot be read may be the one that it gives."""
    assert _refused(cells(Blanks_C3="x", **SHORT), tmp_path) == ["C3"]


def test_nothing_is_said_to_give_nothing_where_a_setting_is_doubted(tmp_path: Path) -> None:
    """An end trim of 15 in would leave nothing of any offcut: the setting alone is told."""
    warnings = read(cells(Shop_A3="end trim", Shop_B3=15, **SHORT)(tmp_path)).warnings
    assert [(warning.sheet, warning.cell) for warning in warnings] == [("Shop", "B3")]


def test_warnings_are_told_down_the_sheets(tmp_path: Path) -> None:
    """Offcuts first, row by row and column by column, then Defects, Blanks and Shop: a walk through the workbook."""
    make = cells(
        Shop_B3=3, Blanks_D2="3/4", Blanks_E2="1 1/2", Defects_B2="knots", Offcuts_G3="4", Offcuts_B2="41 1/3"
    )
    warnings = read(make(tmp_path)).warnings
    assert [warning.sheet for warning in warnings] == ["", "Offcuts", "Defects", "Blanks", "Shop"]
