"""Where doubt begins: figures at the edge of what a builder would look at twice, and beyond it."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from fourteen_boards import boards, typed
from skiff_workbook import put, save_xlsx

from yieldplan.measure import write
from yieldplan.model import InputError, Shop, metric_shop
from yieldplan.workbook import read
from yieldplan.workbook.shop_sheet import LENGTHS

if TYPE_CHECKING:
    from pathlib import Path

    from skiff_workbook import Maker


def doubted(make: Maker, parent: Path) -> list[str]:
    """Return the cells that are warned of."""
    return [f"{warning.sheet}!{warning.cell}" for warning in read(make(parent)).warnings]


def test_the_fourteen_boards_are_beyond_doubt(tmp_path: Path) -> None:
    """Typed without a mistake they are read without a word."""
    assert doubted(typed(), tmp_path) == []


@pytest.mark.parametrize("column", ["F", "G", "I"])
def test_bow_crook_and_twist_up_to_one_in_forty(column: str, tmp_path: Path) -> None:
    """Of a board of 40 in an inch is taken, a mark more is looked at twice."""
    for warp, cells in (("1", []), ("1 1/32", [f"Offcuts!{column}8"])):
        make = typed(Offcuts_B8="40", **{f"Offcuts_{column}8": warp})
        assert doubted(make, tmp_path) == cells


def test_cup_up_to_one_in_ten_of_the_wider_face(tmp_path: Path) -> None:
    """Whichever column the wider face stands in."""
    turned = {"Offcuts_C8": "2", "Offcuts_D8": "5"}
    assert doubted(typed(Offcuts_C8="5", Offcuts_H8="1/2"), tmp_path) == []
    assert doubted(typed(Offcuts_C8="5", Offcuts_H8="17/32"), tmp_path) == ["Offcuts!H8"]
    assert doubted(typed(**turned, Offcuts_H8="1/2"), tmp_path) == ["Offcuts!C8"]
    assert doubted(typed(**turned, Offcuts_H8="17/32"), tmp_path) == ["Offcuts!C8", "Offcuts!H8"]


def test_a_size_is_far_from_the_rest_at_three_times_the_next(tmp_path: Path) -> None:
    """60 1/2 in is the longest: 181 is nobody's slip yet, 182 is; what is said of one is not said of its neighbours."""
    assert doubted(typed(Offcuts_B8="181 in"), tmp_path) == []
    assert doubted(typed(Offcuts_B8="182 in"), tmp_path) == ["Offcuts!B8"]
    assert doubted(typed(Offcuts_B8="182 in", Offcuts_B9="190 in"), tmp_path) == ["Offcuts!B8", "Offcuts!B9"]


def test_of_few_boards_none_is_far_from_the_rest(tmp_path: Path) -> None:
    """Four sizes say nothing about a fifth that is not there."""

    def make(parent: Path) -> Path:
        sheets = boards()
        sheets["Offcuts"] = sheets["Offcuts"][:5]
        sheets["Defects"] = sheets["Defects"][:1]
        put(sheets, "Offcuts!B2", "190 in")
        return save_xlsx(sheets, parent / "few.xlsx")

    assert [cell for cell in doubted(make, tmp_path) if cell.startswith("Offcuts")] == []


def test_a_unit_that_is_written_out_is_believed(tmp_path: Path) -> None:
    """Only a bare number is taken to stand in the wrong unit."""
    assert "Offcuts!B3" in doubted(typed(Offcuts_B3="250"), tmp_path)
    wide = [warning.found for warning in read(typed(Offcuts_C3="40 in")(tmp_path)).warnings]
    assert not any("is read as inches" in found for found in wide)


def test_from_half_of_the_rows_on_the_units_are_asked_for_once(tmp_path: Path) -> None:
    """Six of fourteen in millimetres are six slips, seven are a setting."""
    for count, said in ((6, 6), (7, 1)):
        lengths = {f"Offcuts_B{row}": "900" for row in range(2, 2 + count)}
        found = [
            warning for warning in read(typed(**lengths)(tmp_path)).warnings if "inches" in warning.found
        ]
        assert len(found) == said
        assert ("set units to mm" in found[0].suggestion) == (said == 1)


def _in_mm(text: str) -> int:
    """Return inches as typed in millimetres."""
    return round(sum(Fraction(part) for part in text.split()) * Fraction("25.4"))


def test_a_pile_in_mm_among_inches_is_said_in_one_line(tmp_path: Path) -> None:
    """Not one message for each length beyond 30 m, kerf, knot and blank: one that says what to set."""

    def make(parent: Path) -> Path:
        sheets = boards()
        for name, headings in (
            ("Offcuts", {"Length", "Width", "Thickness", "Bow", "Crook", "Cup", "Twist", "Kink at"}),
            ("Defects", {"From", "To", "Edge from", "Edge to", "Depth"}),
            ("Blanks", {"Length", "Width", "Thickness", "Clear end"}),
        ):
            for at, heading in enumerate(sheets[name][0]):
                for row in sheets[name][1:] if heading in headings else ():
                    row[at] = _in_mm(row[at]) if row[at] else None
        sheets["Shop"] = [["Setting", "Value"], ["jointer width", 200]]
        return save_xlsx(sheets, parent / "pile.xlsx")

    with pytest.raises(InputError) as refusal:
        read(make(tmp_path))
    assert str(refusal.value) == (
        "pile.xlsx, Offcuts: looks like a pile measured in mm: 14 of its 14 rows make sense in millimetres and not in "
        "inches; set units to mm on the sheet Shop, or write the unit with each figure."
    )


def test_a_batch_in_mm_beside_a_pile_in_inches_leaves_the_units_alone(tmp_path: Path) -> None:
    """What is set on Shop would be wrong for one of the two whatever it is."""
    blanks = {
        f"Blanks_{column}{row}": 400 // part
        for row in (2, 3, 4)
        for column, part in zip("CDE", (1, 7, 12), strict=True)
    }
    (told,) = read(typed(**blanks, Blanks_I3=None)(tmp_path)).warnings
    assert (told.sheet, told.found.split(":")[0]) == ("Blanks", "looks like a batch written in mm")
    assert told.suggestion == "write the unit with each figure; other sheets are right as they are"


def test_a_pile_in_inches_among_mm_is_said_in_one_line(tmp_path: Path) -> None:
    """A fraction means inches; what is wrong in inches as well is said beside it."""
    with pytest.raises(InputError) as refusal:
        read(typed(Shop_B2="mm", Offcuts_B4="about 28")(tmp_path))
    first, *others = refusal.value.problems
    assert (first.sheet, first.cell, first.found.split(":")[0]) == (
        "Offcuts",
        "",
        "looks like a pile measured in inches",
    )
    assert "set units to inch on the sheet Shop" in first.suggestion
    assert [problem.place for problem in others] == ["boards.xlsx, Offcuts!B4"]


@pytest.mark.parametrize("shop", [Shop(), metric_shop()], ids=["inch", "mm"])
def test_no_default_of_the_shop_is_doubted(shop: Shop, tmp_path: Path) -> None:
    """Every length on the Shop sheet has a span, and its default lies within, in inches and in millimetres."""

    def make(parent: Path) -> Path:
        sheets = boards()
        rows = [[name, write(getattr(shop, name.replace(" ", "_")), shop.units)] for name in LENGTHS]
        sheets["Shop"] = [["Setting", "Value"], ["units", "inch"], *rows]
        return save_xlsx(sheets, parent / "shop.xlsx")

    assert [cell for cell in doubted(make, tmp_path) if cell.startswith("Shop")] == []


def test_every_setting_in_the_other_unit_is_doubted(tmp_path: Path) -> None:
    """The metric defaults typed bare in an inch workbook are questioned, every one that is more than nothing."""
    metric = metric_shop()
    for name in LENGTHS:
        value = write(getattr(metric, name.replace(" ", "_")), "mm").removesuffix(" mm")
        try:
            told = read(_set(name, value)(tmp_path)).warnings
        except InputError as refusal:
            told = refusal.problems
        on_shop = [problem.suggestion for problem in told if problem.sheet == "Shop"]
        assert value == "0" or (len(on_shop) == 1 and f"{value} mm" in on_shop[0]), name


def _set(name: str, value: str) -> Maker:
    def make(parent: Path) -> Path:
        sheets = boards()
        sheets["Shop"] = [["Setting", "Value"], [name, value]]
        return save_xlsx(sheets, parent / "shop.xlsx")

    return make
