"""The cutting order's workbook: sheets, print set-up, and nothing typed that could become a formula."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from typing import TYPE_CHECKING

import openpyxl
import pytest
from random_plans import nothing_made, random_plan
from tiny import tiny_job, tiny_plan

from yieldplan.model.errors import OutputError
from yieldplan.order import cutting_order
from yieldplan.order.xlsx import write_xlsx, xlsx_bytes

if TYPE_CHECKING:
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


def foot(sheet: Worksheet) -> str:
    """Return the left part of a sheet's footer."""
    assert sheet.oddFooter is not None
    return str(sheet.oddFooter.left.text)


def test_one_sheet_a_machine_one_of_pieces_one_of_keepers() -> None:
    """Only machines with work have a sheet, in the order in which they are met first on the floor."""
    assert opened(tiny()).sheetnames == [
        "Start here",
        "Boards",
        "Wood",
        "Crosscut saw",
        "Jointer",
        "Table saw",
        "Bandsaw",
        "Planer",
        "Keepers",
        "Margins",
        "Left alone",
        "Settings",
    ]


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
        assert sheet.cell(row, 1).value in ("Done", "Blank", "Offcut", "Species", "Stick", "Setting")
        assert sheet.freeze_panes == f"A{row + 1}"
        assert foot(sheet) == f"tiny.xlsx, plan {order.fingerprint}"


def test_every_line_has_its_tick() -> None:
    """The machines' sheets hold every line of the order, each with a box in its first column."""
    order = tiny()
    book = opened(order)
    machines = [sheet for sheet in book if any(sheet.cell(n, 2).value == "Step" for n in range(1, 20))]
    ticks = [cell.value for sheet in machines for cell in sheet["A"] if cell.value == "☐"]
    assert len(ticks) == sum(len(sheet.lines) for sheet in order.sheets)


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


def test_the_file_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    """Written bytes are the workbook's, nothing else is left; a folder that is a file is refused."""
    write_xlsx(tiny(), tmp_path / "out" / "cutting-order.xlsx")
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["cutting-order.xlsx"]
    assert (tmp_path / "out" / "cutting-order.xlsx").read_bytes() == xlsx_bytes(tiny())
    with pytest.raises(OutputError):
        write_xlsx(tiny(), tmp_path / "out" / "cutting-order.xlsx" / "again.xlsx")
