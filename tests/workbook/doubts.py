"""Questionable but usable input; what is said of it, and what is read, stands in corpus.tsv."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from skiff_workbook import Maker, cells, good, lines, save_csv, save_xlsx, touched

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


DOUBTS: dict[str, Maker] = {
    "heading unread": cells(Offcuts_K1="Bought", Offcuts_K2="may"),
    "heading misspelt": cells(Offcuts_K1="Crock", Offcuts_K2="1/8"),
    "heading misspelt on Defects": cells(
        Defects_H1=None, Defects_H3=None, Defects_G3=None, Defects_I1="Nota"
    ),
    "values under no heading": cells(Offcuts_L2="mine"),
    "hidden": touched(_hide),
    "another sheet": touched(_add_sheet),
    "csv: another file": _loose_csv,
    "offcut turned": cells(Offcuts_C3=1, Offcuts_D3=4),
    "blank turned": cells(Blanks_D2="3/4", Blanks_E2="1 1/2"),
    "offcut too short": cells(
        Offcuts_A4="A3", Offcuts_B4=13, Offcuts_C4=4, Offcuts_D4=1.5, Offcuts_F4="white oak"
    ),
    "offcut too short to machine": cells(
        Offcuts_A4="A3", Offcuts_F4="ash", Offcuts_B4=9, Offcuts_C4=4, Offcuts_D4=1.5
    ),
    "offcut too wide": cells(Offcuts_A4="A3", Offcuts_F4="ash", Offcuts_B4=40, Offcuts_C4=17, Offcuts_D4=6.5),
    "offcut too wide, but it may be split": cells(
        Offcuts_A4="A3", Offcuts_F4="ash", Offcuts_B4=40, Offcuts_C4=17, Offcuts_D4=1.5
    ),
    "offcut too warped, but it may be split": cells(
        Offcuts_K1="Cup",
        Offcuts_A4="A3",
        Offcuts_F4="ash",
        Offcuts_B4=40,
        Offcuts_C4=6,
        Offcuts_D4=1.5,
        Offcuts_K4="1/2",
    ),
    "offcut too high for the saws": cells(
        Offcuts_A4="A3", Offcuts_F4="ash", Offcuts_B4=40, Offcuts_C4=7, Offcuts_D4=6.5
    ),
    "offcut with a check in its end": cells(
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
    "offcut kinked in the middle": cells(
        Offcuts_K1="Kink at",
        Offcuts_A4="A3",
        Offcuts_F4="ash",
        Offcuts_B4=26,
        Offcuts_C4=4,
        Offcuts_D4=1.5,
        Offcuts_K4=13,
    ),
    "offcut full of knots": cells(
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
    "offcut whose rings were not read": cells(
        Offcuts_A4="A3", Offcuts_B4=40, Offcuts_C4=5, Offcuts_D4=1.5, Offcuts_F4="white oak", Blanks_G3=10
    ),
    "offcut whose rings suit nothing": cells(
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
    "offcut whose rings turn across it": cells(
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
    "offcut whose slope was not read": cells(
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
    "offcut whose grain is too steep": cells(
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
    "blank whose rings no offcut has": cells(Blanks_G2=40, Blanks_H2=42),
    "blank steeper than any": cells(
        Offcuts_K1="Grain slope",
        Offcuts_K2="1:8",
        Offcuts_K3="1:8",
        Blanks_J1="Max slope",
        Blanks_J2="1:12",
    ),
    "blank in the way of defects": cells(
        Blanks_C2=30,
        Defects_F2=None,
        Offcuts_H3=45,
        Defects_C3=25,
        Defects_D3=40,
        Defects_G3=None,
        Defects_H3=None,
    ),
    "blank that is not needed": cells(Blanks_B2=0, Blanks_C2=60),
    "offcut too thin": cells(
        Offcuts_A4="A3",
        Offcuts_B4=40,
        Offcuts_C4=5,
        Offcuts_D4=0.75,
        Offcuts_F4="white oak",
        Offcuts_H4=10,
    ),
    "offcut of no use by warp": cells(
        Offcuts_A4="A3",
        Offcuts_B4=16,
        Offcuts_C4=5,
        Offcuts_D4=1.25,
        Offcuts_G4="1/2",
        Offcuts_F4="white oak",
    ),
    "offcut of another species": cells(
        Offcuts_A4="A3",
        Offcuts_B4=40,
        Offcuts_C4=5,
        Offcuts_D4=1.5,
        Offcuts_F4="ash",
        Blanks_F3="white oak",
    ),
    "offcut without species": cells(
        Offcuts_A4="A3", Offcuts_B4=40, Offcuts_C4=5, Offcuts_D4=1.5, Blanks_F3="white oak"
    ),
    "offcut suits none, in parts": cells(
        Offcuts_A4="A3", Offcuts_B4="14 1/2", Offcuts_C4=5, Offcuts_D4=1.5, Offcuts_F4="ash"
    ),
    "mm typed as inches": cells(Offcuts_B3=1050),
    "species no offcut has": cells(Blanks_F3="white oack, ash"),
    "blank too thin": cells(Blanks_E3="3/16"),
    "blank too wide": cells(Blanks_D3="13"),
    "blank below the narrowest rip": cells(Blanks_E3="1/2"),
    "blank too long": cells(Blanks_C2=60),
    "blank too thick": cells(Blanks_D2=5, Blanks_E2=2),
    "ring range but none read": _no_ring,
    "kind misspelt": cells(Defects_B2="knots"),
    "allowed kind misspelt": cells(Blanks_J1="Allows", Blanks_J2="knots"),
    "kerf too wide": cells(Shop_B3="3"),
    "csv: heading unread": lines("offcuts", "Rack", "Rak"),
}
