"""The next input: what is the user's own in a workbook or a csv folder is still there, and what is new fits in."""

from __future__ import annotations

import io
import re
import zipfile
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.formatting.rule import ColorScaleRule
from openpyxl.styles import PatternFill
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.table import Table
from soffice import needs_soffice, saved
from written import Batch, settled_at, small_batch

from yieldplan.model import Defect
from yieldplan.model.planfile import dump_plan, load_plan
from yieldplan.pile.settle import next_input
from yieldplan.pile.settlement import settlement
from yieldplan.workbook import read

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

INCH = 8128
KNOT = Defect(
    kind="knot",
    x1=33 * INCH,
    x2=34 * INCH,
    y1=3 * INCH,
    y2=4 * INCH,
    z1=0,
    z2=INCH,
    through=False,
    note="tight",
)


def rebound(batch: Batch, source: Path) -> Batch:
    """Return a batch whose input has been changed in ways that no plan depends on."""
    job = read(source)
    plan = load_plan(dump_plan(batch.plan).replace(batch.job.sha256.encode(), job.sha256.encode()))
    return Batch(source=source, job=job, plan=plan)


def touched(folder: Path, touch: Callable[[Any], None]) -> Batch:
    """Return the batch worked out by hand, in a workbook that something was done to."""
    batch = small_batch(folder, workbook=True)
    book = openpyxl.load_workbook(batch.source)
    touch(book)
    book.save(batch.source)
    return rebound(batch, batch.source)


def settled(batch: Batch, folder: Path) -> Path:
    """Settle a batch of which board P1 is cut as planned and P2 not; return the next workbook."""
    return settled_at(batch, folder, {"P2": {"Outcome": "not cut"}}).out


def rows(path: Path, sheet: str) -> list[tuple[object, ...]]:
    """Return the rows of a sheet that hold something."""
    book = openpyxl.load_workbook(path)
    return [row for row in book[sheet].iter_rows(values_only=True) if any(cell is not None for cell in row)]


def test_what_no_one_here_reads_is_the_same_to_the_byte(tmp_path: Path) -> None:
    """Charts, other sheets, styles, notes: every part but the sheets written to and the lists that name a new one."""

    def touch(book: Any) -> None:
        own = book.create_sheet("Launching day")
        own["A1"], own["A2"] = "=SUM(A2:A3)", 4
        chart = BarChart()
        chart.add_data(Reference(own, min_col=1, min_row=2, max_row=3))
        own.add_chart(chart)
        book["Shop"]["A1"].comment = Comment("ours since the flood", "me")

    batch = touched(tmp_path, touch)
    before, after = (zipfile.ZipFile(path) for path in (batch.source, settled(batch, tmp_path)))
    changed = {name for name in before.namelist() if before.read(name) != after.read(name)}
    sheets = {"xl/worksheets/sheet1.xml", "xl/worksheets/sheet3.xml"}
    assert changed == {*sheets, "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "[Content_Types].xml"}
    assert set(after.namelist()) - set(before.namelist()) == {"xl/worksheets/sheet6.xml"}


def test_formats_lists_and_rules_stay_on_the_sheets_written_to(tmp_path: Path) -> None:
    """A fill, a drop-down, a rule of colours, a column's width are where they were; a new row looks like the last."""

    def touch(book: Any) -> None:
        sheet = book["Offcuts"]
        sheet["B4"].fill = PatternFill("solid", fgColor="FFCC00")
        sheet.column_dimensions["A"].width = 31
        listed = DataValidation(type="list", formula1='"loft,shed"')
        listed.add("P2:P90")
        sheet.add_data_validation(listed)
        scale: Any = ColorScaleRule
        sheet.conditional_formatting.add("B2:B90", scale("min", None, "FFFFFF", "max", None, "00FF00"))

    batch = touched(tmp_path, touch)
    sheet = openpyxl.load_workbook(settled(batch, tmp_path))["Offcuts"]
    assert sheet["B4"].fill.fgColor.rgb == "00FFCC00"
    assert sheet["B5"].fill.fgColor.rgb == "00FFCC00"
    assert sheet["A5"].value == "K1"
    assert sheet.column_dimensions["A"].width == 31
    assert [str(one.sqref) for one in sheet.data_validations.dataValidation] == ["P2:P90"]
    assert len(sheet.conditional_formatting) == 1


def test_rows_move_up_only_where_nothing_is_bound_to_them(tmp_path: Path) -> None:
    """A plain sheet has no gaps; with a formula, a rule or a note on a row every board stays in its own."""
    plain = touched(tmp_path, lambda book: None)
    assert [row[0] for row in rows(settled(plain, tmp_path), "Offcuts")] == ["Offcut", "P2", "P3", "K1"]
    sheet = openpyxl.load_workbook(tmp_path / "next.xlsx")["Offcuts"]
    assert [sheet.cell(row, 1).value for row in (2, 3, 4, 5)] == ["P2", "P3", "K1", None]

    def note(book: Any) -> None:
        book["Offcuts"]["C3"].comment = Comment("look again", "me")

    def formula(book: Any) -> None:
        book.create_sheet("Longest")["A1"] = "=MAX(Offcuts!B2:B4)"

    for number, touch in enumerate((note, formula)):
        folder = tmp_path / str(number)
        folder.mkdir()
        sheet = openpyxl.load_workbook(settled(touched(folder, touch), folder))["Offcuts"]
        assert [sheet.cell(row, 1).value for row in (2, 3, 4, 5)] == [None, "P2", "P3", "K1"]


def cached(path: Path, sheet: str, formulas: dict[str, tuple[str, str]], shared: str = "") -> None:
    """Put formulas with the values that a program worked out into a workbook; ``shared`` is where they are shared."""
    out = io.BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w") as new:
        for info in old.infolist():
            part = old.read(info).decode() if info.filename == sheet else old.read(info)
            if isinstance(part, str):
                for number, (cell, (text, value)) in enumerate(formulas.items()):
                    tag = f"<f>{text}</f>"
                    if shared:
                        own = f' ref="{shared}"' if number == 0 else ""
                        tag = f'<f t="shared" si="0"{own}>{text if number == 0 else ""}</f>'
                    row = re.search("[0-9]+", cell)
                    assert row is not None
                    part = re.sub(rf'<c r="{cell}"[^>]*?(/>|>.*?</c>)', "", part)
                    end = re.search(rf'<row r="{row[0]}".*?(</row>)', part, re.DOTALL)
                    assert end is not None
                    made = f'<c r="{cell}">{tag}<v>{value}</v></c>'
                    part = part[: end.start(1)] + made + part[end.start(1) :]
            new.writestr(info.filename, part)
    path.write_bytes(out.getvalue())


@pytest.mark.parametrize("shared", ["", "R2:R4"], ids=["each its own", "shared"])
def test_formulas_keep_their_values_so_that_the_next_input_can_be_read(tmp_path: Path, shared: str) -> None:
    """A sheet with worked out cells is read again; a struck board's go, and those of the others stand by themselves."""
    batch = touched(tmp_path, lambda book: book["Offcuts"].__setitem__("R1", "Sound length"))
    texts = {"R2": ("B2*1", "44"), "R3": ("B3*1", "40"), "R4": ("B4*1", "30")}
    cached(batch.source, "xl/worksheets/sheet1.xml", texts, shared)
    batch = rebound(batch, batch.source)
    assert dict(batch.job.offcuts[0].other) == {"Sound length": "44"}
    job = read(settled(batch, tmp_path))
    assert [dict(one.other).get("Sound length") for one in job.offcuts] == ["40", "30", None]
    sheet = openpyxl.load_workbook(tmp_path / "next.xlsx")["Offcuts"]
    assert [sheet[cell].value for cell in ("R2", "R3", "R4")] == [None, "=B3*1", "=B4*1"]
    assert b'fullCalcOnLoad="1"' in zipfile.ZipFile(tmp_path / "next.xlsx").read("xl/workbook.xml")
    cut = rows(tmp_path / "next.xlsx", "Cut")
    assert 44 in cut[1]


def test_a_struck_board_stands_on_the_sheet_cut_as_it_was_typed(tmp_path: Path) -> None:
    """With a cell left for the date, the plan's fingerprint, what came of it, and its defects in words."""
    batch = small_batch(tmp_path, workbook=True, defects=(KNOT,), note="from the barn", qty=2)
    out = settled(batch, tmp_path)
    heads, board = rows(out, "Cut")
    found = dict(zip(heads, board, strict=True))
    assert found["Date"] is None
    assert (found["Plan"], found["Offcut"], found["Qty"]) == (batch.fingerprint, "P1#1", 1)
    assert found["What came of it"] == "2 ribs, 1 cleat; kept K1"
    assert (found["Length"], found["Rack"], found["Note"]) == ("44", "loft", "from the barn")
    assert found["Defects"] == "knot 33 to 34, 3 to 4 from edge 1, face 1, 1 deep (tight)"
    job = read(out)
    assert [(one.name, one.qty) for one in job.offcuts] == [("P1", 1), ("P2", 1), ("P3", 1), ("K1", 1)]
    assert len(job.offcut("P1").defects) == 1
    assert job.struck == ("P1#1",)


def test_a_second_batch_goes_below_the_first_on_cut_and_names_go_on(tmp_path: Path) -> None:
    """The sheet Cut grows; keepers are named on from those that there are or were."""
    first = settled(small_batch(tmp_path, workbook=True), tmp_path)
    batch = rebound(small_batch(tmp_path, workbook=True), first)
    drawn = tuple(one for one in batch.plan.offcuts if one.offcut == "P2")
    from yieldplan.solve.assemble import assemble  # noqa: PLC0415 - a plan made by hand

    batch = Batch(source=first, job=batch.job, plan=assemble(batch.job, drawn))
    (tmp_path / "second").mkdir()
    second = settled_at(batch, tmp_path / "second", {})
    assert [row[3] for row in rows(second.out, "Cut")] == ["Offcut", "P1", "P2"]
    assert [one.name for one in second.job.offcuts] == ["P3", "K1", "K2"]
    assert second.job.offcut("K2").origin == "P2"


def test_need_goes_down_and_spares_that_are_made_are_taken_off(tmp_path: Path) -> None:
    """A kind that is made stays, at 0; more good ones than needed come off a number of spares."""
    batch = small_batch(tmp_path)
    job = settled_at(batch, tmp_path, {}).job
    assert [(blank.name, blank.need, blank.spare) for blank in job.blanks] == [("Rib", 2, 0), ("Cleat", 0, 1)]


def test_a_csv_folder_keeps_its_lines_separators_and_other_files(tmp_path: Path) -> None:
    """Untouched lines are the same to the byte: quotes, decimal commas, line ends, a mark before them."""
    batch = small_batch(tmp_path)
    folder = batch.source
    for name in ("offcuts", "defects", "blanks", "shop"):
        text = (folder / f"{name}.csv").read_text(encoding="utf-8")
        lines = [line.replace(",", ";").replace("44;", '"44";') for line in text.splitlines()]
        (folder / f"{name}.csv").write_bytes("\r\n".join(lines).encode("utf-8-sig"))
    (folder / "photo list.txt").write_text("P1: by the door", encoding="utf-8")
    batch = rebound(batch, folder)
    out = settled(batch, tmp_path)
    old, new = ((place / "offcuts.csv").read_bytes().split(b"\r\n") for place in (folder, out))
    assert new[0] == old[0] + b";From"
    assert new[1:3] == old[2:4]
    assert new[3].startswith(b"K1;20 7/8;2 1/4;1 5/16;;")
    assert (out / "photo list.txt").read_bytes() == (folder / "photo list.txt").read_bytes()
    assert (out / "shop.csv").read_bytes() == (folder / "shop.csv").read_bytes()
    assert (out / "cut.csv").read_bytes().startswith(b"\xef\xbb\xbfDate;Plan;What came of it;Offcut;")
    assert read(out).struck == ("P1",)


def test_a_measured_keeper_has_its_defects_wherever_they_may_be(tmp_path: Path) -> None:
    """An inch shorter than planned, nobody knows at which end: a defect reaches an inch further towards end A."""
    knot = Defect(
        kind="knot", x1=20 * INCH, x2=21 * INCH, y1=3 * INCH, y2=7 * INCH // 2, z1=0, z2=7 * INCH // 4
    )
    batch = small_batch(tmp_path, defects=(knot,))
    planned = next(piece.box for piece in batch.pieces if piece.name == "K1")
    assert planned is not None
    found = settled_at(
        batch, tmp_path, {"K1": {"Measured length": "19 7/8", "Measured width": "1 1/4"}}
    ).found
    kept = found.kept[0]
    start = 20 * INCH - planned.x[0]
    assert (kept.length, kept.width, kept.thickness) == (159 * INCH // 8, 21 * INCH // 16, 5 * INCH // 4)
    assert (kept.defects[0].x1, kept.defects[0].x2) == (start - INCH, start + INCH)


def test_rings_that_no_cell_can_say_stand_in_the_note(tmp_path: Path) -> None:
    """Rift at edge 1 and quarter sawn at the far edge: a span between the two has no word, so it is noted."""
    after = settled_at(small_batch(tmp_path, ring_angle=(30, 60), ring_angle_far=(60, 90)), tmp_path, {})
    kept = after.job.offcut("K1")
    assert kept.rings is None
    # K1 is the end of P1-2, the second strip: from 2 3/8 and a kerf on, with the edge's loss before it, of 6 in.
    assert kept.note == "measure again; rings 42° to 73° at edge 1, 54° to 85° at the far edge: read again"
    assert after.job.offcut("K2").note == "measure again"


@needs_soffice
def test_a_spreadsheet_program_opens_the_next_workbook_and_saves_the_same(tmp_path: Path) -> None:
    """What another program reads in it is what we read."""
    batch = small_batch(tmp_path, workbook=True, defects=(KNOT,))
    out = settled(batch, tmp_path)
    again = read(saved(out, tmp_path))
    assert again.offcuts == read(out).offcuts
    assert again.struck == read(out).struck


def test_the_same_input_may_be_settled_as_often_as_one_likes(tmp_path: Path) -> None:
    """No clock, no name of the machine: a day later the bytes are the same."""
    batch = small_batch(tmp_path, workbook=True)
    happened = tmp_path / "what-happened.csv"
    happened.write_text("Piece,Outcome\n", encoding="utf-8")
    found = settlement(batch.job, batch.plan, happened)
    assert next_input(batch.source, batch.job, found) == next_input(batch.source, batch.job, found)


def test_an_empty_sheet_of_the_name_cut_is_taken(tmp_path: Path) -> None:
    """A workbook has no two sheets of one name."""
    batch = touched(tmp_path, lambda book: book.create_sheet("CUT"))
    out = settled(batch, tmp_path)
    assert openpyxl.load_workbook(out).sheetnames == ["Offcuts", "Defects", "Blanks", "Shop", "CUT"]
    assert read(out).struck == ("P1",)


def test_a_table_that_the_pile_is_formatted_as_reaches_over_new_rows(tmp_path: Path) -> None:
    """Struck rows close up in it, keepers belong to it; it is not cut short."""

    def touch(book: Any) -> None:
        book["Offcuts"].add_table(Table(displayName="Pile", ref="A1:Q4"))

    batch = touched(tmp_path, touch)
    happened = {"P1": {"Outcome": "as planned"}, "P2": {"Outcome": "as planned"}}
    out = settled_at(batch, tmp_path, happened).out
    book = openpyxl.load_workbook(out)
    assert [row[0] for row in rows(out, "Offcuts")] == ["Offcut", "P3", "K1", "K2"]
    assert book["Offcuts"].tables["Pile"].ref == "A1:Q4"
    (tmp_path / "more").mkdir()
    batch = touched(tmp_path / "more", touch)
    marks = {"P1": {"Outcome": "as planned"}, "P2": {"Outcome": "not cut"}}
    marks |= {"P1-1": {"Outcome": "not cut"}}
    out = settled_at(batch, tmp_path / "more", marks).out
    assert [row[0] for row in rows(out, "Offcuts")] == ["Offcut", "P2", "P3", "K1", "K3"]
    table = openpyxl.load_workbook(out)["Offcuts"].tables["Pile"]
    assert (table.ref, table.autoFilter and table.autoFilter.ref) == ("A1:Q5", "A1:Q5")
