"""Good input: what is read, from workbooks and csv folders, however it was typed and saved."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import zipfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skiff_workbook import (
    Maker,
    Sheets,
    cells,
    csv_text,
    folder,
    good,
    lines,
    put,
    save_csv,
    save_xlsx,
    touched,
)

from yieldplan.measure import INCH, MM, write
from yieldplan.model import Defect, InputError, Job, Offcut, Problem, Shop, metric_shop
from yieldplan.workbook import read

if TYPE_CHECKING:
    import random
import functools
import hashlib

MARK = INCH // 32


def same_but_for_the_file(job: Job, other: Job) -> bool:
    """Whether two jobs are the same, the input's name and fingerprint aside."""
    return replace(job, name="", sha256="") == replace(other, name="", sha256="")


@pytest.fixture
def job(tmp_path: Path) -> Job:
    """Return the good workbook, read."""
    return read(save_xlsx(good(), tmp_path / "skiff.xlsx"))


def test_an_offcut_is_read_whole(job: Job) -> None:
    """Every column of an offcut reaches the model, its defects with it."""
    assert job.offcuts[0] == Offcut(
        name="A1",
        length=41 * INCH + 3 * INCH // 8,
        width=5 * INCH,
        thickness=INCH + INCH // 4,
        qty=2,
        species="white oak",
        bow=INCH // 8,
        ring_angle=20,
        moisture=Fraction(23, 2),
        rack="left",
        defects=(
            Defect(
                kind="knot",
                x1=10 * INCH,
                x2=12 * INCH + INCH // 2,
                y1=0,
                y2=INCH + INCH // 2,
                z1=0,
                z2=INCH + INCH // 4,
            ),
        ),
    )


def test_a_blank_is_read_whole(job: Job) -> None:
    """Ranges that are open at one end stay open; clear ends and species reach the model."""
    rib, cleat = job.blanks
    assert (rib.name, rib.need, rib.species, rib.ring_from, rib.ring_to) == (
        "rib",
        3,
        ("white oak",),
        None,
        45,
    )
    assert (cleat.length, cleat.clear_end, cleat.priority, cleat.spare) == (14 * INCH, 2 * INCH, 1, 0)


def test_the_good_workbook_draws_no_warning(job: Job) -> None:
    """Nothing is questionable about it."""
    assert job.warnings == ()


def test_the_shop_keeps_what_is_not_set(job: Job) -> None:
    """A setting that is not on the sheet keeps its default."""
    assert job.shop == Shop(rip_kerf=3 * INCH // 32)


def test_a_job_without_optional_sheets(tmp_path: Path) -> None:
    """Defects and Shop may be missing."""
    sheets = good()
    del sheets["Defects"], sheets["Shop"]
    job = read(save_xlsx(sheets, tmp_path / "skiff.xlsx"))
    assert (job.shop, job.offcuts[0].defects, job.warnings) == (Shop(), (), ())


@pytest.mark.parametrize(
    ("face", "depth", "box"),
    [
        (None, None, (0, 10_160, True)),
        ("through", None, (0, 10_160, True)),
        (1, "3/8", (0, 3048, False)),
        ("2", "3/8", (7112, 10_160, False)),
        (1.0, "1 1/4", (0, 10_160, True)),
    ],
)
def test_how_deep_a_defect_goes(
    face: object, depth: object, box: tuple[int, int, bool], tmp_path: Path
) -> None:
    """A defect lies from its face to its depth; one as deep as the piece is through."""
    (defect,) = read(cells(Defects_G2=face, Defects_H2=depth)(tmp_path)).offcuts[0].defects
    assert (defect.z1, defect.z2, defect.through) == box


def test_one_edge_given_means_up_to_the_piece_s_own(tmp_path: Path) -> None:
    """Edge from alone runs to the far edge, and Edge to alone starts at edge 1."""
    job = read(cells(Defects_E2="2", Defects_F2=None, Defects_F3="1")(tmp_path))
    spans = [(defect.y1, defect.y2) for offcut in job.offcuts for defect in offcut.defects]
    assert spans == [(2 * INCH, 5 * INCH), (0, INCH)]


def test_a_defect_carried_over_the_edge_by_rounding_only(tmp_path: Path) -> None:
    """Stock is rounded down and defects up: a defect to the very end is cut to the piece."""
    job = read(cells(Offcuts_B2="41.3", Defects_D2="41.3")(tmp_path))
    assert job.offcuts[0].defects[0].x2 == job.offcuts[0].length == 41 * INCH + 9 * MARK


def test_a_defect_in_what_rounding_takes_off_keeps_a_mark(tmp_path: Path) -> None:
    """A check in the last hair of a board, beyond its last whole mark, spoils that last mark."""
    job = read(cells(Offcuts_B2="41.31", Defects_C2="41.3", Defects_D2="41.31")(tmp_path))
    length = job.offcuts[0].length
    assert (job.offcuts[0].defects[0].x1, job.offcuts[0].defects[0].x2) == (length - MARK, length)


def test_each_column_is_rounded_its_own_way(tmp_path: Path) -> None:
    """0.3 in is 9.6 marks and 1.3 in 41.6: stock down, warp and wants up, a defect outward."""
    job = read(
        cells(Offcuts_G2="0.3", Offcuts_D2="1.3", Blanks_E2="1.3", Defects_C2="0.3", Defects_D2="1.3")(
            tmp_path
        )
    )
    offcut, blank = job.offcuts[0], job.blanks[0]
    assert (offcut.bow, offcut.thickness, blank.thickness) == (10 * MARK, 41 * MARK, 42 * MARK)
    assert (offcut.defects[0].x1, offcut.defects[0].x2) == (9 * MARK, 42 * MARK)


def test_a_wanted_size_between_two_marks_is_told(tmp_path: Path) -> None:
    """It is rounded up, and the warning says from what to what; one on a mark is not mentioned."""
    job = read(cells(Blanks_C2="18.01", Blanks_I3="2 1/64")(tmp_path))
    assert (job.blanks[0].length, job.blanks[1].clear_end) == (18 * INCH + MARK, 2 * INCH + MARK)
    assert [warning.sentence() for warning in job.warnings] == [
        'skiff.xlsx, Blanks!C2: “18.01” is not a whole number of marks of 1/32", so it is made 18 1/32".',
        'skiff.xlsx, Blanks!I3: “2 1/64” is not a whole number of marks of 1/32", so it is made 2 1/32".',
    ]


def test_lengths_that_move_by_more_than_half_a_mark_are_counted(tmp_path: Path) -> None:
    """One warning for all of them, the first three named; half a mark and less is not worth a word."""
    job = read(
        cells(Offcuts_B2="41.37", Offcuts_C2="5.03", Offcuts_D2="1 17/64", Offcuts_G2="0.126", Shop_B3="0.1")(
            tmp_path
        )
    )
    (warning,) = job.warnings
    assert warning.sentence() == (
        'skiff.xlsx: has 4 lengths that were rounded on the safe side by more than half a mark of 1/32": Shop!B3, '
        "Offcuts!B2, Offcuts!C2 and 1 more."
    )
    assert (job.shop.rip_kerf, job.offcuts[0].thickness) == (4 * MARK, INCH + INCH // 4)


def test_the_shop_says_how_fine_its_marks_are(tmp_path: Path) -> None:
    """A finer mark keeps what a coarser one rounds; defaults between two coarser marks go to their safe side."""
    fine = read(cells(Shop_A4="mark", Shop_B4="1/64", Blanks_C2="18 1/64")(tmp_path))
    assert (fine.blanks[0].length, fine.warnings) == (18 * INCH + INCH // 64, ())
    coarse = read(
        cells(Shop_A4="Mark", Shop_B4="1/4", Shop_A5="planer width", Shop_B5="12 3/8")(tmp_path)
    ).shop
    quarter = INCH // 4
    assert (coarse.mark, coarse.rip_kerf, coarse.bandsaw_skim) == (quarter, quarter, quarter)
    assert (coarse.planer_width, coarse.plane_off, coarse.keeper_width) == (49 * quarter, 0, 2 * INCH)


@pytest.mark.parametrize(
    ("typed", "spares"),
    [(None, 0), (0, 0), (2, 2), ("3", 3), ("10 %", 2), ("10%", 2), ("12,5 %", 2), ("100 %", 14), ("0 %", 0)],
)
def test_spares_are_a_number_or_a_share_of_the_need(typed: object, spares: int, tmp_path: Path) -> None:
    """A share is rounded up to a whole blank: a tenth of 14 is 2."""
    job = read(cells(Blanks_B2=14, Blanks_J1="Spare", Blanks_J2=typed)(tmp_path))
    assert (job.blanks[0].need, job.blanks[0].spare) == (14, spares)


def test_a_share_by_the_format_of_its_cell(tmp_path: Path) -> None:
    """A cell that a spreadsheet shows as 7 % is 7 %: a seventeenth of 21 up is 2."""

    def touch(book: Any) -> None:
        book["Blanks"]["B2"].value = 21
        book["Blanks"]["J1"].value = "Spare"
        book["Blanks"]["J2"].value, book["Blanks"]["J2"].number_format = 0.07, "0%"

    assert read(touched(touch)(tmp_path)).blanks[0].spare == 2


def test_nothing_may_be_needed_of_a_kind(tmp_path: Path) -> None:
    """Need 0 is read; a share of nothing is no spare."""
    job = read(cells(Blanks_B2=0, Blanks_J1="Spare", Blanks_J2="10 %", Blanks_J3=2)(tmp_path))
    assert [(blank.need, blank.spare) for blank in job.blanks] == [(0, 0), (1, 2)]


def test_minutes_are_read_to_the_hundredth(tmp_path: Path) -> None:
    """Minutes come as numbers, with a point or a comma; they are held in hundredths."""
    job = read(
        cells(
            Shop_A4="machine setting",
            Shop_B4=1.25,
            Shop_A5="cut",
            Shop_B5="0,4",
            Shop_A6="stick planed",
            Shop_B6=0,
        )(tmp_path)
    )
    assert (job.shop.machine_setting, job.shop.cut, job.shop.stick_planed) == (125, 40, 0)
    assert job.shop.minutes_for_a_board_foot == 1000


def test_headings_in_any_case_order_and_spacing(tmp_path: Path) -> None:
    """Columns are found by their headings alone."""
    sheets = good()
    for name, rows in sheets.items():
        width = max(len(row) for row in rows)
        rows[:] = [[*row, *[None] * (width - len(row))][::-1] for row in rows]
        rows[0] = [f" {heading.upper().replace(' ', '  ')}\u00a0" for heading in rows[0]]
        assert name
    turned = read(save_xlsx(sheets, tmp_path / "turned.xlsx"))
    assert same_but_for_the_file(turned, read(save_xlsx(good(), tmp_path / "skiff.xlsx")))


def test_sheets_in_any_case_and_order(tmp_path: Path) -> None:
    """Sheets are found by their names alone."""
    sheets = {f" {name.upper()}": rows for name, rows in reversed(good().items())}
    assert read(save_xlsx(sheets, tmp_path / "skiff.xlsx")).warnings == ()


def test_empty_rows_are_skipped(tmp_path: Path) -> None:
    """Rows of nothing, and of spaces, are no rows; places still count them."""
    sheets = good()
    sheets["Offcuts"][1:1] = [[], ["  ", None, ""]]
    job = read(save_xlsx(sheets, tmp_path / "skiff.xlsx"))
    assert [offcut.name for offcut in job.offcuts] == ["A1", "A2"]
    put(sheets, "Offcuts!B4", "x")
    with pytest.raises(InputError, match="Offcuts!B4"):
        read(save_xlsx(sheets, tmp_path / "bad.xlsx"))


def test_extra_columns_are_kept(tmp_path: Path) -> None:
    """A column of the user's own is kept with the row, and a warning says that is not read it."""
    job = read(cells(Offcuts_K1="Bought", Offcuts_K2=2019, Blanks_J1="Sheet", Blanks_J3="7b")(tmp_path))
    assert job.offcuts[0].other == (("Bought", "2019"),)
    assert job.offcuts[1].other == ()
    assert job.blanks[1].other == (("Sheet", "7b"),)
    assert [warning.cell for warning in job.warnings] == ["K1", "J1"]


def test_words_are_parted_by_commas(tmp_path: Path) -> None:
    """Species and Allows are lists; a word twice counts once, and spacing is tidied."""
    job = read(
        cells(Blanks_F2="white  oak, ash ,White Oak,", Blanks_J1="Allows", Blanks_J2="sapwood,stain")(
            tmp_path
        )
    )
    assert job.blanks[0].species == ("white oak", "ash")
    assert job.blanks[0].allows == ("sapwood", "stain")


def test_bare_numbers_mean_the_unit_of_the_shop_sheet(tmp_path: Path) -> None:
    """Units count wherever they stand, for the Shop sheet itself too."""
    sheets: Sheets = {
        "Offcuts": [["Offcut", "Length", "Width", "Thickness"], ["A1", 1050, "125", "32 mm"]],
        "Blanks": [["Blank", "Need", "Length", "Width", "Thickness"], ["rib", 1, "45 cm", "1 1/2 in", 20]],
        "Shop": [["Setting", "Value"], ["rip kerf", 3], ["Mark", "1"], ["UNITS", "Millimetres"]],
    }
    job = read(save_xlsx(sheets, tmp_path / "skiff.xlsx"))
    assert (job.offcuts[0].length, job.offcuts[0].width, job.offcuts[0].thickness) == (
        336_000,
        40_000,
        10_240,
    )
    assert (job.blanks[0].length, job.blanks[0].width, job.blanks[0].thickness) == (144_000, 12_480, 6400)
    assert job.shop == metric_shop(mark=320, rip_kerf=960, bandsaw_kerf=640, face_skim=640, edge_skim=640)


def test_the_length_premium_is_exact(tmp_path: Path) -> None:
    """0.1 is one tenth."""
    job = read(cells(Shop_A4="Length premium", Shop_B4=0.1)(tmp_path))
    assert job.shop.length_premium == Fraction(1, 10)


def test_moisture_as_a_percentage(tmp_path: Path) -> None:
    """12 %, typed as text or shown by the cell's format, is 12."""

    def touch(book: Any) -> None:
        book["Offcuts"]["I2"].value, book["Offcuts"]["I2"].number_format = 0.12, "0%"
        book["Offcuts"]["I3"].value = "9,5 %"

    assert [offcut.moisture for offcut in read(touched(touch)(tmp_path)).offcuts] == [12.0, 9.5]


@pytest.mark.parametrize("angle", [45, 45.0, "45", "45°", "45 deg"])
def test_ways_of_writing_an_angle(angle: object, tmp_path: Path) -> None:
    """Whole degrees come as numbers or text, with or without the sign."""
    assert read(cells(Offcuts_H2=angle)(tmp_path)).offcuts[0].ring_angle == 45


def test_names_may_look_like_anything_typed_as_text(tmp_path: Path) -> None:
    """An offcut named 3-8, or by a bare number, has that name."""
    job = read(cells(Offcuts_A2="3-Aug", Offcuts_A3=7, Defects_A2="3-aug", Defects_A3="7")(tmp_path))
    assert [offcut.name for offcut in job.offcuts] == ["3-Aug", "7"]


def test_stored_values_of_formulas_are_read(tmp_path: Path) -> None:
    """A formula counts as the value that was stored with it; one that gave empty text is an empty cell."""
    path = save_xlsx(good(), tmp_path / "plain.xlsx")
    text = '<c r="B3"><f>120.5/2</f><v>60.5</v></c>'
    empty = '<c r="J3" t="str"><f>""</f><v></v></c>'
    worked = _with_sheet_xml(path, tmp_path / "worked.xlsx", '<c r="B3" t="n"><v>60.5</v></c>', text, empty)
    assert same_but_for_the_file(read(worked), read(path))


def _with_sheet_xml(path: Path, out: Path, old: str, new: str, last: str) -> Path:
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            data = source.read(name).decode()
            if name.endswith("sheet1.xml"):
                assert old in data
                data = data.replace(old, new).replace("</row></sheetData>", f"{last}</row></sheetData>")
            target.writestr(name, data)
    return out


# --- csv ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_csv_folders_say_what_the_workbook_says(separator: str, encoding: str, tmp_path: Path) -> None:
    """Whatever parts the fields and whatever encodes the text, a csv folder is read like the workbook."""
    sheets = good()
    sheets["Offcuts"][1][9] = "gauche, été"
    job = read(save_csv(sheets, tmp_path / "skiff", separator, encoding))
    assert same_but_for_the_file(job, read(save_xlsx(sheets, tmp_path / "skiff.xlsx")))


def test_fractions_survive_csv_in_utf_8(tmp_path: Path) -> None:
    """Typographic signs in a csv file are read."""
    job = read(lines("offcuts", "41 3/8", "3′ 5⅜″")(tmp_path))
    assert job.offcuts[0].length == 331 * INCH // 8


def test_decimal_commas_go_with_semicolons(tmp_path: Path) -> None:
    """Where semicolons part the fields a comma is a decimal comma, however many figures follow."""
    job = read(lines("offcuts", "60.5", "60,125", ";")(tmp_path))
    assert job.offcuts[1].length == 60 * INCH + INCH // 8


def test_the_separator_line_of_some_spreadsheets(tmp_path: Path) -> None:
    """A first line sep=; is obeyed, and places still count it."""
    text = "sep=;\n" + csv_text(good()["Offcuts"], ";")
    assert read(folder(offcuts=text)(tmp_path)).offcuts[1].name == "A2"


def test_places_count_lines_within_quoted_notes(tmp_path: Path) -> None:
    """A note over two lines moves the places below it as an editor shows them."""
    text = 'Offcut,Length,Width,Thickness,Note\nA1,41,5,1,"two\nlines"\nA2,x,4,1,\n'
    with pytest.raises(InputError, match=r"offcuts\.csv, line 4, Length"):
        read(folder(offcuts=text)(tmp_path))


def test_csv_names_in_other_case(tmp_path: Path) -> None:
    """Offcuts.CSV is offcuts.csv."""
    path = save_csv(good(), tmp_path / "skiff")
    (path / "offcuts.csv").rename(path / "Offcuts.CSV")
    assert len(read(path).offcuts) == 2


# --- name and fingerprint -----------------------------------------------------------------------------------


def test_the_job_is_named_without_its_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the last part of the path reaches the plan file, even for the folder one stands in."""
    path = save_csv(good(), tmp_path / "skiff")
    monkeypatch.chdir(path)
    assert (read(path).name, read(".").name, read("../skiff/").name) == ("skiff", "skiff", "skiff")


def test_the_fingerprint_is_of_the_bytes(tmp_path: Path) -> None:
    """Equal bytes give equal fingerprints under any name; one changed byte of any file gives another."""
    first, second = (read(save_csv(good(), tmp_path / name)) for name in ("one", "two"))
    changed = read(lines("shop", "3/32", "3/16")(tmp_path))
    assert first.sha256 == second.sha256 != changed.sha256
    assert len(first.sha256) == 64


def test_the_workbook_s_fingerprint_is_what_sha256sum_says(tmp_path: Path) -> None:
    """A user can compare it with a tool at hand."""
    path = save_xlsx(good(), tmp_path / "skiff.xlsx")
    assert read(path).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def test_the_package_loads_without_openpyxl() -> None:
    """Help and version must not wait for the spreadsheet library."""
    code = "import sys, yieldplan.workbook; sys.exit('openpyxl' in sys.modules or 'pandas' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# --- laws ---------------------------------------------------------------------------------------------------

_SHARED = 127 * MM
"""The shortest length that is a whole number of marks in both systems: 5 in, 127 mm."""

_FIVES = st.integers(1, 20).map(lambda count: count * _SHARED)


def _pile(sizes: list[tuple[int, int, int]], unit: str, bare: bool) -> Sheets:
    def shown(steps: int) -> str:
        return write(steps, "mm" if unit == "mm" else "inch", mark=not bare)

    return {
        "Offcuts": [
            ["Offcut", "Length", "Width", "Thickness"],
            *([f"A{n}", *map(shown, size)] for n, size in enumerate(sizes)),
        ],
        "Blanks": [
            ["Blank", "Need", "Length", "Width", "Thickness"],
            *([f"b{n}", n, *map(shown, size)] for n, size in enumerate(sizes)),
        ],
        "Shop": [["Setting", "Value"], ["units", unit]],
    }


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(_FIVES, _FIVES, _FIVES), min_size=1, max_size=5))
def test_the_unit_of_entry_changes_nothing(sizes: list[tuple[int, int, int]]) -> None:
    """Inches or millimetres, marked or bare: the offcuts and blanks are the same."""
    with tempfile.TemporaryDirectory() as parent:
        jobs = [
            read(save_csv(_pile(sizes, unit, bare), Path(parent) / f"{unit}{bare}"))
            for unit in ("inch", "mm")
            for bare in (False, True)
        ]
    assert len({(job.offcuts, job.blanks) for job in jobs}) == 1


_METRIC: Sheets = {
    "Offcuts": [
        ["Offcut", "Length", "Width", "Thickness", "Qty"],
        ["A1", 1050, 125, 32, 2],
        ["A2", 1500, 100, 38, None],
        ["A3", 820, 90, 26, None],
    ],
    "Defects": [
        ["Offcut", "Kind", "From", "To", "Face", "Depth"],
        ["A1", "knot", 250, 320, None, None],
        ["A3", "wane", 0, 40, 1, 9],
    ],
    "Blanks": [
        ["Blank", "Need", "Length", "Width", "Thickness"],
        ["rib", 3, 450, 38, 20],
        ["cleat", 1, 350, 26, 20],
    ],
    "Shop": [
        ["Setting", "Value"],
        ["rip kerf", 3],
        ["units", "mm"],
        ["saw depth", 70],
        ["stick trim", 50],
        ["mark", 1],
    ],
}


@settings(deadline=None, max_examples=40)
@given(st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(shuffler: random.Random) -> None:
    """Rows, and the settings on the Shop sheet, say the same in any order."""
    sheets = {name: [list(row) for row in rows] for name, rows in _METRIC.items()}
    with tempfile.TemporaryDirectory() as parent:
        before = read(save_csv(sheets, Path(parent) / "before"))
        for rows in sheets.values():
            body = rows[1:]
            shuffler.shuffle(body)
            rows[1:] = body
        after = read(save_csv(sheets, Path(parent) / "after"))
    assert set(before.offcuts) == set(after.offcuts)
    assert set(before.blanks) == set(after.blanks)
    assert before.shop == after.shop


# --- whatever the bytes -------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=150)
@given(st.binary(max_size=300))
def test_no_bytes_of_a_csv_file_lead_to_a_traceback(data: bytes) -> None:
    """Any bytes are read or refused with problems."""
    with tempfile.TemporaryDirectory() as parent:
        path = folder(offcuts=data, shop=data)(Path(parent))
        with pytest.raises(InputError) as refusal:
            read(path)
    assert refusal.value.problems


_NEARLY_CSV = st.text(alphabet='Offcut,Length;Width\t"\n\r 1/8\u00a0A#%:-.', max_size=120)


def _problems(path: Path) -> tuple[Problem, ...]:
    try:
        return read(path).warnings
    except InputError as refusal:
        return refusal.problems


@settings(deadline=None, max_examples=150)
@given(_NEARLY_CSV, st.sampled_from(["offcuts", "defects", "blanks", "shop"]))
def test_no_text_of_a_csv_file_leads_to_a_traceback(text: str, name: str) -> None:
    """Any text added to a good csv file is read or refused with problems."""
    with tempfile.TemporaryDirectory() as parent:
        rows = csv_text(good()[name.capitalize()])
        problems = _problems(folder(**{name: rows + text})(Path(parent)))
    assert all(problem.sentence() for problem in problems)


@functools.cache
def _parts() -> tuple[tuple[str, bytes], ...]:
    """Return the parts of the good workbook's archive."""
    with tempfile.TemporaryDirectory() as parent:
        path = save_xlsx(good(), Path(parent) / "skiff.xlsx")
        with zipfile.ZipFile(path) as archive:
            return tuple((name, archive.read(name)) for name in archive.namelist())


@settings(deadline=None, max_examples=150)
@given(
    st.integers(0, 40),
    st.lists(st.tuples(st.floats(0, 0.999), st.binary(min_size=1, max_size=6)), min_size=1, max_size=5),
)
def test_no_damage_to_a_workbook_leads_to_a_traceback(which: int, damage: list[tuple[float, bytes]]) -> None:
    """A workbook whose parts are changed anywhere is read or refused with problems."""
    with tempfile.TemporaryDirectory() as parent:
        path = Path(parent) / "skiff.xlsx"
        with zipfile.ZipFile(path, "w") as archive:
            for number, (name, data) in enumerate(_parts()):
                changed = bytearray(data)
                for at, new in damage if number == which % len(_parts()) else ():
                    start = int(at * len(changed))
                    changed[start : start + len(new)] = new
                archive.writestr(name, bytes(changed))
        problems = _problems(path)
    assert all(problem.sentence() for problem in problems)


@settings(deadline=None, max_examples=60)
@given(st.floats(0, 1))
def test_no_workbook_cut_short_leads_to_a_traceback(kept: float) -> None:
    """The beginning of a workbook is refused with a problem."""
    with tempfile.TemporaryDirectory() as parent:
        path = save_xlsx(good(), Path(parent) / "skiff.xlsx")
        data = path.read_bytes()
        path.write_bytes(data[: int(kept * (len(data) - 1))])
        assert _problems(path)


def test_all_problems_come_at_once(tmp_path: Path) -> None:
    """Faults in every sheet are told together, questionable things behind them."""
    make = cells(Offcuts_B2="x", Offcuts_E3=0, Defects_D3="0", Blanks_B2=-1, Shop_B3="y", Blanks_J1="Colour")
    with pytest.raises(InputError) as refusal:
        read(make(tmp_path))
    places = [(problem.severity, f"{problem.sheet}!{problem.cell}") for problem in refusal.value.problems]
    assert places == [
        ("error", "Shop!B3"),
        ("error", "Offcuts!B2"),
        ("error", "Offcuts!E3"),
        ("error", "Defects!D3"),
        ("error", "Blanks!B2"),
        ("warning", "Blanks!J1"),
    ]


def _places(make: Maker, tmp_path: Path) -> list[str]:
    with pytest.raises(InputError) as refusal:
        read(make(tmp_path))
    return [f"{problem.sheet}!{problem.cell}" for problem in refusal.value.problems]


def test_a_row_at_fault_is_checked_in_its_other_cells(tmp_path: Path) -> None:
    """Every bad cell of one row is told in one go, on every sheet."""
    make = cells(
        Offcuts_B2="x", Offcuts_D2="y", Offcuts_E2=0, Offcuts_G2="-1", Offcuts_H2=120, Offcuts_I2="damp",
        Defects_B2=None, Defects_C2="a", Defects_F2="b", Defects_G2=3,
        Blanks_A2=None, Blanks_B2=-1, Blanks_C2="c", Blanks_E2="d", Blanks_H2=91, Blanks_J1="Spare", Blanks_J2="e",
        Shop_A3="cut", Shop_B3="f", Shop_A4="mark", Shop_B4="g", Shop_A5="snipe", Shop_B5="h",
    )  # fmt: skip
    assert _places(make, tmp_path) == [
        *("Shop!A5", "Shop!B4", "Shop!B3"),
        *("Offcuts!B2", "Offcuts!D2", "Offcuts!E2", "Offcuts!G2", "Offcuts!H2", "Offcuts!I2"),
        *("Defects!B2", "Defects!C2", "Defects!F2", "Defects!G2"),
        *("Blanks!A2", "Blanks!B2", "Blanks!J2", "Blanks!C2", "Blanks!E2", "Blanks!H2"),
    ]


def test_defects_are_held_against_what_is_known_of_their_offcut(tmp_path: Path) -> None:
    """Though the thickness of an offcut cannot be read, a defect beyond its length or width is told."""
    make = cells(
        Offcuts_D2="thick", Defects_D2="42", Defects_F2="6", Offcuts_C3="?", Defects_D3="61", Defects_H3="2"
    )
    assert _places(make, tmp_path) == [
        *("Offcuts!D2", "Offcuts!C3", "Defects!D2", "Defects!F2", "Defects!D3", "Defects!H3")
    ]


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No permission is a problem like any other."""
    path = save_xlsx(good(), tmp_path / "skiff.xlsx")

    def refuse(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(
        InputError,
        match=r"skiff\.xlsx: may not be read; close it where it is open in another program, or check its permissions",
    ):
        read(path)


def test_a_path_that_no_disk_can_hold() -> None:
    """A path with a NUL in it is refused, not a traceback."""
    with pytest.raises(InputError, match="does not exist"):
        read("a\0b.xlsx")
