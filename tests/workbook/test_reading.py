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
from skiff_workbook import Sheets, cells, csv_text, folder, good, lines, put, save_csv, save_xlsx, touched

from yieldplan.measure import INCH, write
from yieldplan.model import Defect, InputError, Job, Offcut, Problem, Shop
from yieldplan.workbook import read

if TYPE_CHECKING:
    import random
import functools
import hashlib


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
    assert (cleat.length, cleat.clear_end, cleat.priority, cleat.extra) == (14 * INCH, 2 * INCH, 1, 0)


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
    assert job.offcuts[0].defects[0].x2 == job.offcuts[0].length == int(41.3 * INCH)


def test_each_column_is_rounded_its_own_way(tmp_path: Path) -> None:
    """0.3 in is 2438.4 steps: stock down, warp and wants up, a defect outward."""
    job = read(
        cells(Offcuts_G2="0.3", Offcuts_D2="1.3", Blanks_E2="1.3", Defects_C2="0.3", Defects_D2="1.3")(
            tmp_path
        )
    )
    offcut, blank = job.offcuts[0], job.blanks[0]
    assert (offcut.bow, offcut.thickness, blank.thickness) == (2439, 10_566, 10_567)
    assert (offcut.defects[0].x1, offcut.defects[0].x2) == (2438, 10_567)


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
    """A column of the user's own is kept with the row, and a warning says that no one reads it."""
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
        "Shop": [["Setting", "Value"], ["rip kerf", 3], ["Shown  to", "1"], ["UNITS", "Millimetres"]],
    }
    job = read(save_xlsx(sheets, tmp_path / "skiff.xlsx"))
    assert (job.offcuts[0].length, job.offcuts[0].width, job.offcuts[0].thickness) == (
        336_000,
        40_000,
        10_240,
    )
    assert (job.blanks[0].length, job.blanks[0].width, job.blanks[0].thickness) == (144_000, 12_192, 6400)
    assert (job.shop.units, job.shop.rip_kerf, job.shop.shown_steps) == ("mm", 960, 320)


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

_SIXTY_FOURTHS = st.integers(64, 64 * 90).map(lambda count: count * INCH // 64)


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
@given(st.lists(st.tuples(_SIXTY_FOURTHS, _SIXTY_FOURTHS, _SIXTY_FOURTHS), min_size=1, max_size=5))
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
    "Shop": [["Setting", "Value"], ["rip kerf", 3], ["units", "mm"], ["saw depth", 70], ["snipe", 50]],
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


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No permission is a problem like any other."""
    path = save_xlsx(good(), tmp_path / "skiff.xlsx")

    def refuse(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(InputError, match=r"skiff\.xlsx: may not be read; check its permissions"):
        read(path)


def test_a_path_that_no_disk_can_hold() -> None:
    """A path with a NUL in it is refused, not a traceback."""
    with pytest.raises(InputError, match="does not exist"):
        read("a\0b.xlsx")
