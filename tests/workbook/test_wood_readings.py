"""The wood itself as it is typed: ring words, slopes, kinks, moisture, the Species sheet; and what is wrong with it."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from skiff_workbook import Maker, cells, good, put, save_csv, save_xlsx, wood

from yieldplan.model import InputError
from yieldplan.model.shop import species_of
from yieldplan.model.species import coefficient, shrinkage_of
from yieldplan.workbook import read

if TYPE_CHECKING:
    from pathlib import Path

INCH = 8128
SHOP = {"A4": "target moisture", "A5": "flat sawn to", "A6": "quarter sawn from"}


def refused(make: Maker, folder: Path) -> str:
    """Return what is said of an input that is refused."""
    with pytest.raises(InputError) as refusal:
        read(make(folder))
    return str(refusal.value)


@pytest.mark.parametrize(
    ("typed", "read_as"),
    [
        ("flat sawn", (0, 30)),
        ("Flat-sawn", (0, 30)),
        ("plain sawn", (0, 30)),
        ("RIFT", (30, 60)),
        ("rift sawn", (30, 60)),
        ("quarter  sawn", (60, 90)),
        ("quartersawn", (60, 90)),
        ("45°", 45),
        (7, 7),
    ],
)
def test_ring_readings(typed: object, read_as: object, tmp_path: Path) -> None:
    """Degrees are one angle; a word is all that it may mean, at either edge."""
    offcut = read(wood(Offcuts_H2=typed, Offcuts_K2=typed)(tmp_path)).offcuts[0]
    assert (offcut.ring_angle, offcut.ring_angle_far) == (read_as, read_as)


@pytest.mark.parametrize(
    ("first", "last", "expected"),
    [
        ("quarter sawn", None, (60, 90)),
        (None, "flat sawn", (0, 30)),
        ("rift", "quarter sawn", (30, 90)),
        ("rift", 45, (30, 45)),
        (10, "rift", (10, 60)),
        (None, None, (None, None)),
    ],
)
def test_ring_ranges(first: object, last: object, expected: tuple[object, object], tmp_path: Path) -> None:
    """A word alone means its whole range; beside another word or a figure its own end of it."""
    blank = read(cells(Blanks_G2=first, Blanks_H2=last)(tmp_path)).blanks[0]
    assert (blank.ring_from, blank.ring_to) == expected


def test_the_shop_says_what_the_words_mean(tmp_path: Path) -> None:
    """With other bounds on Shop a word means those, for the reading and for the range."""
    job = read(
        wood(
            **{f"Shop_{cell}": name for cell, name in SHOP.items()},
            Shop_B5=45,
            Shop_B6="75",
            Offcuts_H2="rift",
            Blanks_G2="quarter sawn",
            Blanks_H2=None,
        )(tmp_path)
    )
    assert (job.offcuts[0].ring_angle, job.blanks[0].ring_from, job.blanks[0].ring_to) == ((45, 75), 75, 90)


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("1:12", Fraction(1, 12)),
        ("1 : 12", Fraction(1, 12)),
        ("1 in 12", Fraction(1, 12)),
        ("1in12.5", Fraction(2, 25)),
        ("1/12", Fraction(1, 12)),
        ("8 %", Fraction(2, 25)),
        ("8%", Fraction(2, 25)),
        ("6.5 percent", Fraction(13, 200)),
        ("straight", Fraction(0)),
    ],
)
def test_ways_of_writing_a_slope(typed: str, expected: Fraction, tmp_path: Path) -> None:
    """A ratio or a percentage, exactly, on an offcut and as a limit."""
    job = read(wood(Offcuts_L2=typed, Blanks_J2=typed)(tmp_path))
    assert (job.offcuts[0].grain_slope, job.blanks[0].max_slope) == (expected, expected)


def test_a_slope_shown_as_a_percentage(tmp_path: Path) -> None:
    """A cell formatted as a percentage holds 0.08 for 8 %."""

    def touch(book: Any) -> None:
        book["Offcuts"]["L1"].value, book["Offcuts"]["L2"].value = "Grain slope", 0.08
        book["Offcuts"]["L2"].number_format = "0%"

    path = save_xlsx(good(), tmp_path / "skiff.xlsx", touch)
    assert read(path).offcuts[0].grain_slope == Fraction(2, 25)


def test_kinks(tmp_path: Path) -> None:
    """One place, or several separated by semicolons, in order."""
    job = read(wood(Offcuts_M2="20 1/2; 12", Offcuts_M3=18)(tmp_path))
    assert [offcut.kinks for offcut in job.offcuts] == [(12 * INCH, 41 * INCH // 2), (18 * INCH,)]


def test_the_target_moisture(tmp_path: Path) -> None:
    """Read exactly, with or without its sign; left empty there is none."""
    job = read(cells(Shop_A4="Target moisture", Shop_B4="12.5 %")(tmp_path))
    assert job.shop.target_moisture == Fraction(25, 2)
    assert read(cells(Shop_A4="Target moisture")(tmp_path)).shop.target_moisture is None


SPECIES_HEADS = ["Species", "Radial coefficient", "Tangential coefficient", "Radial shrinkage"]


def with_species(*rows: list[object]) -> dict[str, list[list[Any]]]:
    """Return the good sheets with a Species sheet of these rows."""
    return {**good(), "Species": [[*SPECIES_HEADS, "Tangential shrinkage"], *rows]}


def test_the_species_sheet_wins(tmp_path: Path) -> None:
    """Of either pair the other is worked out; a row for a species of the built-in table stands before it."""
    sheets = with_species(
        ["White oak", 0.002, 0.004, None, None],
        ["bog oak", None, None, "5 %", 9],
        ["larch", 0.001, 0.002, 4, 8],
    )
    for path in (save_xlsx(sheets, tmp_path / "skiff.xlsx"), save_csv(sheets, tmp_path / "csv")):
        shop = read(path).shop
        oak, bog, larch = (species_of(name, shop) for name in ("white oak", "Bog Oak", "Larch"))
        assert oak is not None
        assert bog is not None
        assert larch is not None
        assert (oak.radial, oak.tangential) == (Fraction("0.002"), Fraction("0.004"))
        assert oak.tangential_shrinkage == shrinkage_of(Fraction("0.004"))
        assert (bog.radial_shrinkage, bog.tangential) == (Fraction(5), coefficient(Fraction(9)))
        assert (larch.tangential, larch.tangential_shrinkage) == (Fraction("0.002"), Fraction(8))


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (
            ["oak", 0.002, None, None, None],
            "C2: is empty, though the other of the pair is given; expected both, or neither.",
        ),
        (["oak"], "A2: “oak” has no figures; expected both coefficients, or both shrinkages."),
        (
            ["oak", 0.2, 0.365, None, None],
            "B2: “0.2” is more than any wood moves; expected a number from 0 to 0.02; write it as a share: 0.00365.",
        ),
        (["oak", "much", 0.003, None, None], "B2: “much” is not a number; expected a number from 0 to 100."),
    ],
)
def test_what_is_wrong_on_the_species_sheet(row: list[object], sentence: str, tmp_path: Path) -> None:
    """Half a pair, nothing at all, a per cent for a share, a word."""
    make = lambda folder: save_xlsx(with_species(row), folder / "skiff.xlsx")  # noqa: E731
    assert f"skiff.xlsx, Species!{sentence}" in refused(make, tmp_path)


def test_one_row_a_species(tmp_path: Path) -> None:
    """A second row for the same word, hyphens and case aside, is refused."""
    sheets = with_species(["red-oak", 0.002, 0.004], ["Red oak", 0.002, 0.004])
    text = refused(lambda folder: save_xlsx(sheets, folder / "skiff.xlsx"), tmp_path)
    assert text == "skiff.xlsx, Species!A3: “Red oak” has a row already; expected one row for each species."


def test_a_species_without_coefficients_is_warned_of_once(tmp_path: Path) -> None:
    """Only where a target is set and the moisture was read; with the nearest known name, or the next step."""
    sheets = good()
    put(sheets, "Shop!A4", "target moisture")
    put(sheets, "Shop!B4", 12)
    for row in (2, 3):
        put(sheets, f"Offcuts!F{row}", "white oka")
        put(sheets, f"Offcuts!I{row}", 14)
    put(sheets, "Blanks!F2", "white oka")
    job = read(save_xlsx(sheets, tmp_path / "skiff.xlsx"))
    assert [warning.sentence() for warning in job.warnings] == [
        (
            "skiff.xlsx, Offcuts!F2: “white oka” is a species whose movement with moisture is not known, so no size is "
            "changed for its moisture; did you mean white oak?"
        )
    ]
    put(sheets, "Shop!B4", None)
    assert read(save_xlsx(sheets, tmp_path / "other.xlsx")).warnings == ()


def test_a_limit_where_no_slope_was_read_is_warned_of(tmp_path: Path) -> None:
    """No offcut that could serve has its slope read, so the blank cannot be made."""
    warnings = [warning.sentence() for warning in read(wood(Blanks_J2="1:12")(tmp_path)).warnings]
    assert warnings == [
        (
            "skiff.xlsx, Blanks!J2: “1:12” comes out of no offcut: A1, the nearest, has no slope of grain; rib takes "
            "at most 1 in 12."
        )
    ]
