"""The cutting order's workbook: its sheets, ready to print and to fill in; nothing typed that could be a formula."""

from __future__ import annotations

import csv
from dataclasses import replace
from functools import cache
from io import BytesIO, StringIO
from typing import TYPE_CHECKING, Literal

import openpyxl
import pytest
from figures import figures, read_figures
from random_plans import nothing_made, random_plan
from tiny import tiny_job, tiny_plan

from yieldplan.model.pieces import HAPPENED, HAPPENED_SHEET, OUTCOMES, pieces
from yieldplan.order import cutting_order
from yieldplan.order.happened import happened_csv
from yieldplan.order.sheets import RACK, RACK_DEFECTS
from yieldplan.order.xlsx import xlsx_bytes
from yieldplan.workbook import read
from yieldplan.workbook.layouts import DEFECTS, OFFCUTS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

    from yieldplan.order import Order

FORMULAS = ("=1+1", "+SUM(A1)", "-2", "@cmd", '=HYPERLINK("x")')


def opened(order: Order, **given: object) -> Workbook:
    """Return the workbook as another program reads it."""
    return openpyxl.load_workbook(BytesIO(xlsx_bytes(order, **given)))  # type: ignore[arg-type]


def tiny(offcut: str = "P1", blank: str = "Rib") -> Order:
    """Return the tiny plan's order."""
    job = tiny_job(offcut=offcut, blank=blank)
    return cutting_order(job, tiny_plan(job))


def texts(book: Workbook) -> list[str]:
    """Return every text in the workbook."""
    return [str(c.value) for sheet in book for row in sheet.iter_rows() for c in row if c.value is not None]


def rows(sheet: Worksheet, head: str) -> list[list[str]]:
    """Return the rows below the heading row that begins with ``head``."""
    found = [["" if cell is None else str(cell) for cell in row] for row in sheet.iter_rows(values_only=True)]
    return found[next(n for n, row in enumerate(found) if row[0] == head) + 1 :]


def foot(sheet: Worksheet) -> str:
    """Return the left part of a sheet's footer."""
    assert sheet.oddFooter is not None
    return str(sheet.oddFooter.left.text)


def test_its_sheets() -> None:
    """Set-up first, then what is done, what goes back, what happened, and what stands behind the plan."""
    assert opened(tiny()).sheetnames == [
        *("Set-up", "Boards", "Machine lists", "Rack", HAPPENED_SHEET),
        *("Margins", "Left alone", "Figures", "Shop"),
    ]


@pytest.mark.parametrize(("units", "unit", "other"), [("inch", "board feet", "m³"), ("mm", "m³", "board f")])
def test_figures_speak_of_wood_in_the_unit_of_the_job(
    units: Literal["inch", "mm"], unit: str, other: str
) -> None:
    """Volumes, cost and bound in board feet or in cubic metres, nothing in thousandths, never both."""
    job, plan = random_plan(0)
    book = opened(cutting_order(replace(job, shop=replace(job.shop, units=units)), plan))
    found = rows(book["Figures"], "What")
    wood = [row for row in found if row[0].startswith(("Wood:", "Cost", "No plan"))]
    assert len(wood) == 8
    assert all(row[1].endswith(f" {unit}") for row in wood)
    assert not any(other in cell or "thousandth" in cell for row in found for cell in row)


@pytest.mark.parametrize("name", FORMULAS)
def test_nothing_typed_becomes_a_formula(name: str) -> None:
    """Names that look like formulas stay text, marked as such for the spreadsheet."""
    book = opened(tiny(offcut=name, blank=name))
    cells = [c for sheet in book for row in sheet.iter_rows() for c in row if c.value is not None]
    assert all(cell.data_type in ("s", "n") for cell in cells)
    named = [cell for cell in cells if str(cell.value).startswith(name)]
    assert named
    assert all(cell.quotePrefix for cell in named)


def test_every_sheet_prints_to_its_width_with_its_heading_repeated() -> None:
    """Fit to one page wide, any number high; the heading row is repeated; the foot names the plan."""
    order = tiny()
    for sheet in opened(order, paper="a4"):
        assert sheet.sheet_properties.pageSetUpPr is not None
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
        assert str(sheet.page_setup.paperSize) == "9"
        row = int(str(sheet.print_title_rows).replace("$", "").split(":")[0])
        assert sheet.cell(row, 1).font.b
        assert sheet.freeze_panes == f"A{row + 1}"
        assert foot(sheet) == f"tiny.xlsx, plan {order.fingerprint}"


def test_an_ampersand_in_the_inputs_name_is_no_code_of_the_footer() -> None:
    """The footer doubles it, as its code asks for."""
    job, plan = random_plan(0)
    book = opened(cutting_order(replace(job, name="ribs & floors.xlsx"), plan))
    assert foot(book["Boards"]).startswith("ribs && floors.xlsx")


def test_missing_blanks_have_their_reasons_on_the_first_sheet() -> None:
    """The reasons that are handed in stand beside the blanks that are missing."""
    job, plan = nothing_made(0)
    book = opened(cutting_order(job, plan), reasons={blank.name: "all too short" for blank in job.blanks})
    assert texts(book).count("all too short") == len(job.blanks)


def test_control_characters_are_written_out() -> None:
    """A name with signs that a workbook may not hold is written, with those signs spelt."""
    assert any("P\\x0b1" in text for text in texts(opened(tiny(offcut="P\x0b1"))))


def test_the_same_order_gives_the_same_bytes() -> None:
    """No clock goes into the file."""
    assert xlsx_bytes(tiny()) == xlsx_bytes(tiny())


def test_what_happened_has_a_row_for_every_board_stick_and_keeper() -> None:
    """Each under its name with what was planned, the rest left empty; the csv beside it says the same."""
    job, plan = random_plan(4)
    order = cutting_order(job, plan)
    found = rows(opened(order)[HAPPENED_SHEET], HAPPENED[0])
    made = pieces(job, plan)
    assert [row[0] for row in found] == [piece.name for piece in made]
    planned = [row[1] for row, piece in zip(found, made, strict=True) if piece.kind != "keeper"]
    assert planned == [piece.gives for piece in made if piece.kind != "keeper"]
    assert all(set(row[2:]) == {""} for row in found)
    text = happened_csv(order).decode("utf-8-sig")
    assert list(csv.reader(StringIO(text))) == [list(HAPPENED), *found]


def test_outcomes_are_offered_and_good_is_a_whole_number() -> None:
    """A drop-down list in the column of outcomes, over all rows."""
    sheet = opened(tiny())[HAPPENED_SHEET]
    listed, whole = sheet.data_validations.dataValidation
    assert listed.formula1 == f'"{",".join(OUTCOMES)}"'
    assert (listed.type, whole.type) == ("list", "whole")
    last = len(rows(sheet, HAPPENED[0])) + 1
    assert str(listed.sqref) == f"C2:C{last}"
    assert str(whole.sqref) == f"D2:D{last}"


def test_the_rack_has_the_headings_of_a_pile() -> None:
    """What is written there can be pasted into the sheets of a pile, column for column."""
    assert set(OFFCUTS.headings) <= set(RACK)
    assert [head for head in RACK if head in OFFCUTS.headings] == list(OFFCUTS.headings)
    assert DEFECTS.headings == RACK_DEFECTS


@cache
def rack_of(seed: int) -> tuple[Order, Workbook]:
    """Return a random plan's order and its workbook."""
    order = cutting_order(*random_plan(seed, 8))
    return order, opened(order)


@pytest.mark.parametrize("seed", [1, 2, 4, 5])
def test_the_rack_is_read_back_as_the_pile_that_it_is(seed: int, tmp_path: Path) -> None:
    """Pasted into a pile its rows are the keepers: sizes, wood, warp, rings, defects."""
    order, book = rack_of(seed)
    folder = tmp_path / "pile"
    folder.mkdir()
    paste: dict[str, list[Sequence[str]]] = {
        "offcuts.csv": [RACK, *rows(book["Rack"], RACK[0])],
        "blanks.csv": [("Blank", "Need", "Length", "Width", "Thickness"), ("Rib", "1", "60", "15", "10")],
        "shop.csv": [("Setting", "Value"), ("units", "mm"), ("shortest machined length", "60")],
    }
    if "Rack defects" in book.sheetnames:
        paste["defects.csv"] = [RACK_DEFECTS, *rows(book["Rack defects"], RACK_DEFECTS[0])]
    for name, lines in paste.items():
        with (folder / name).open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(lines)
    read_back = {offcut.name: offcut for offcut in read(folder).offcuts}
    assert list(read_back) == [kept.name for kept in order.rack]
    for kept in order.rack:
        own = read_back[kept.name]
        assert (own.length, own.width, own.thickness) == kept.size
        same = ("species", "bow", "crook", "cup", "twist", "moisture", "ring_angle", "ring_angle_far")
        assert [getattr(own, name) for name in same] == [getattr(kept.offcut, name) for name in same]
        assert [(one.kind, one.x1) for one in own.defects] == [
            (one.kind, one.x1) for one in kept.offcut.defects
        ]


@pytest.mark.parametrize("seed", range(3))
def test_every_figure_is_one_of_the_plan(seed: int) -> None:
    """Fractions of an inch and halves of a millimetre on the sheets of boards and machines are the plan's lengths."""
    job, plan = random_plan(seed, 6)
    book = opened(cutting_order(job, plan))
    known = figures(job, plan)
    found = [
        (text, steps)
        for name in ("Boards", "Machine lists", "Rack", HAPPENED_SHEET)
        for row in book[name].iter_rows(values_only=True)
        for text in map(str, row)
        for steps in read_figures(text, job)
    ]
    assert [(text, steps) for text, steps in found if steps not in known] == []


def test_wood_or_work_has_its_sheet_where_it_was_asked() -> None:
    """A row for each other price of work, unless they all give the same."""
    order = tiny()
    other = replace(order.plan, price=200)
    work = replace(other.work, saw_settings=9)
    book = opened(order, others=[other, replace(other, price=0, work=work)])
    assert len(rows(book["Wood or work"], "For a board foot")) == 2
    assert "Wood or work" not in opened(order, others=[other, replace(other, price=0)]).sheetnames
