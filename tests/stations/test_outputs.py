"""What the command writes: the tape list as text, csv and page, and the input again that plan takes as it is."""

from __future__ import annotations

import csv
import zipfile
from io import BytesIO
from typing import TYPE_CHECKING

import openpyxl
import pdfplumber
import pytest
from pages import read_pages
from rib import Streams
from skiff_workbook import put
from surveys import changed, csv_folder, good, workbook
from test_pdf import check_legible

from yieldplan.measure import MM
from yieldplan.stations import tape
from yieldplan.stations.page import pdf_bytes
from yieldplan.stations.reading import read_survey
from yieldplan.stations.tape import tape_list
from yieldplan.workbook import read

if TYPE_CHECKING:
    from pathlib import Path

    from skiff_workbook import Sheets

    from yieldplan.model import Blank
    from yieldplan.pages.paper import Paper
    from yieldplan.stations.division import Survey


def blanks(path: Path) -> dict[str, Blank]:
    """Return the blanks of an input by name."""
    return {blank.name: blank for blank in read(path).blanks}


def listed(out: Path) -> list[dict[str, str]]:
    """Return the rows of the tape list as csv."""
    return list(csv.DictReader((out / "stations.csv").read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("make", [workbook, csv_folder])
def test_the_copy_asks_for_the_frames(
    make: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The blank has the longest frame's length and a number for both sides; what else its row said stays."""
    source, out = make(tmp_path), tmp_path / "out"  # type: ignore[operator]
    run = Streams(capsys, "stations", source, "--out", out, "--at-most", 1)
    assert run.status == 0
    found = blanks(out / source.name if source.is_file() else out)
    futtock = found["Futtock"]
    longest = max(int(row["Length, mm"]) for row in listed(out) if row["Length, mm"])
    assert (futtock.need, futtock.length, futtock.spare) == (18, longest * MM, 2)
    assert (futtock.width, futtock.species, futtock.note) == (60 * MM, ("oak",), "at the bilge")
    assert found["Cleat"].need == 3
    assert read(out / source.name if source.is_file() else out).warnings == ()


@pytest.mark.parametrize("make", [workbook, csv_folder])
def test_several_lengths_become_numbered_rows(
    make: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The longest is number 1 and has the spares; together they are as many as the frames."""
    source, out = make(tmp_path), tmp_path / "out"  # type: ignore[operator]
    Streams(capsys, "stations", source, "--out", out, "--at-most", 3)
    found = blanks(out / source.name if source.is_file() else out)
    kinds = [found[f"Futtock {number}"] for number in (1, 2, 3)]
    assert sum(kind.need for kind in kinds) == 18
    assert [kind.spare for kind in kinds] == [2, 0, 0]
    assert {kind.width for kind in kinds} == {60 * MM}
    assert sorted({kind.length for kind in kinds}, reverse=True) == [kind.length for kind in kinds]
    assert "Futtock" not in found


@pytest.mark.parametrize("make", [workbook, csv_folder])
def test_stations_of_a_copy_write_the_same_rows(
    make: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Rows written before are found again: the same number of lengths gives the same bytes, one gives one row."""
    source = make(tmp_path)  # type: ignore[operator]
    once, twice, single = (tmp_path / name for name in ("once", "twice", "single"))
    again = once / source.name if source.is_file() else once
    Streams(capsys, "stations", source, "--out", once, "--at-most", 3)
    Streams(capsys, "stations", again, "--out", twice, "--at-most", 3)
    Streams(capsys, "stations", again, "--out", single, "--at-most", 1)
    for file in (once / source.name,) if source.is_file() else once.glob("*.csv"):
        if file.suffix == ".xlsx":
            assert blanks(file) == blanks(twice / file.name)
        else:
            assert file.read_bytes() == (twice / file.name).read_bytes()
    assert list(blanks(single / source.name if source.is_file() else single)) == ["Futtock", "Cleat"]


def test_a_share_of_spares_holds_for_each_length(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """10 % of each kind is spare, not of the longest alone."""
    source = csv_folder(tmp_path, changed(lambda sheets: put(sheets, "Blanks!F2", "10 %")))
    Streams(capsys, "stations", source, "--out", tmp_path / "out", "--at-most", 2)
    assert all(kind.spare for name, kind in blanks(tmp_path / "out").items() if name.startswith("Futtock"))


def test_runs_that_name_one_blank_share_its_lengths(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The frames of both runs are counted together, each as often as its run says."""

    def change(sheets: Sheets) -> None:
        put(sheets, "Run!J3", "Futtock")
        sheets["Points"] += [["Floors", "300", "500"], ["Floors", "3400", "500"]]

    out = tmp_path / "out"
    Streams(capsys, "stations", csv_folder(tmp_path, changed(change)), "--out", out, "--at-most", 1)
    futtock = blanks(out)["Futtock"]
    assert (futtock.need, futtock.length) == (2 * 9 + 9, 500 * MM)


def test_the_tape_list_has_whole_millimetres_and_no_inches_in_a_metric_input(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every mark is the exact place rounded by itself; a run without a blank has marks alone."""
    Streams(capsys, "stations", csv_folder(tmp_path), "--out", tmp_path / "out")
    rows = listed(tmp_path / "out")
    sides = [row for row in rows if row["Run"] == "Sides"]
    assert [int(row["Mark, mm"]) for row in sides] == [300, 688, 1075, 1463, 1850, 2238, 2625, 3013, 3400]
    assert "Mark, in" not in rows[0]
    floors = [row for row in rows if row["Run"] == "Floors"]
    assert [row["Mark, mm"] for row in floors] == [row["Mark, mm"] for row in sides]
    assert {row["Length, mm"] + row["Blank"] for row in floors} == {""}


def test_inches_stand_beside_the_millimetres(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In an inch input each mark is also said as a fraction, rounded from the exact place, not from millimetres."""
    sheets: Sheets = {
        "Run": [["Run", "Length", "Spaces"], ["Keel", "100", "3"]],
        "Offcuts": good()["Offcuts"],
    }
    Streams(capsys, "stations", csv_folder(tmp_path, sheets), "--out", tmp_path / "out")
    assert [(row["Mark, mm"], row["Mark, in"]) for row in listed(tmp_path / "out")] == [
        ("847", '33 11/32"'),
        ("1693", '66 21/32"'),
    ]
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "stations.csv",
        "stations.pdf",
        "stations.txt",
    ]


def test_both_places_of_a_shifted_station_are_shown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The list has the place in equal spaces beside the mark, and says what was in the way and what is free."""

    def change(sheets: Sheets) -> None:
        put(sheets, "Obstacles!B2", "1080")
        put(sheets, "Obstacles!F2", "yes")

    out = tmp_path / "out"
    run = Streams(capsys, "stations", csv_folder(tmp_path, changed(change)), "--out", out)
    row = listed(out)[2]
    assert (row["Mark, mm"], row["Unshifted, mm"]) == ("1055", "1075")
    said = " ".join(run.out.split())
    assert (
        "Station 3 is shifted from 1075 mm, where it is 5 mm from mould 2 at 1080 mm, which needs 25 mm clear, to "
        "1055 mm. The largest space beside it is now 408 mm; 400 mm was wanted."
    ) in said
    assert (
        "Free of clashes, nearest first: 9 spaces of 344.4 mm; 7 spaces of 442.9 mm, above the spacing wanted;"
        in said
    )


def test_a_clash_is_said_and_nothing_moved(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without Shift the station stays where equal spaces put it, and how to let it give way is said."""
    sheets = changed(lambda sheets: put(sheets, "Obstacles!B2", "1075"))
    run = Streams(capsys, "stations", csv_folder(tmp_path, sheets), "--out", tmp_path / "out")
    assert "Station 3 at 1075 mm falls on mould 2 at 1075 mm, which needs 25 mm clear." in " ".join(
        run.out.split()
    )
    assert "type yes under Shift" in run.out
    assert listed(tmp_path / "out")[2]["Mark, mm"] == "1075"


def test_straight_lines_are_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With --linear the length at a station between two points is on the line through them."""
    source = csv_folder(tmp_path)
    run = Streams(capsys, "stations", source, "--out", tmp_path / "out", "--linear")
    assert listed(tmp_path / "out")[0]["Length, mm"] == "336"  # 310 + 92/7 + 12
    assert "straight lines through the points" in " ".join(run.out.split())


def test_the_pages_are_legible_and_the_same_each_time(tmp_path: Path) -> None:
    """Nothing overlaps or leaves the margins, on either paper, however much stands in the way."""

    def change(sheets: Sheets) -> None:
        put(sheets, "Run!E2", "60")
        for place in range(400, 3300, 90):
            sheets["Obstacles"].append(
                ["Sides", str(place), "10", str(place + 20), f"mould at {place}", "yes"]
            )

    found = tape_list(read_survey(csv_folder(tmp_path, changed(change))), at_most=4)
    papers: tuple[Paper, ...] = ("letter", "a4")
    for paper in papers:
        data = pdf_bytes(found, paper=paper)
        assert data == pdf_bytes(found, paper=paper)
        check_legible(read_pages(data))


def test_a_run_stands_on_one_page_where_it_fits(tmp_path: Path) -> None:
    """A run that does not fit below the last one begins a page; a longer one goes on under its name."""
    with pdfplumber.open(BytesIO(pdf_bytes(tape_list(read_survey(csv_folder(tmp_path)))))) as pages:
        assert not any("(continued)" in page.extract_text() for page in pages.pages)
        assert "Floors" in pages.pages[1].extract_text()
    (tmp_path / "more").mkdir()
    source = csv_folder(tmp_path / "more", changed(lambda sheets: put(sheets, "Run!E2", "60")))
    found = tape_list(read_survey(source), at_most=2)
    with pdfplumber.open(BytesIO(pdf_bytes(found))) as pages:
        assert pages.pages[1].extract_text().startswith("Sides (continued)")


def test_the_input_itself_is_never_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its own folder is refused, for a workbook and for a csv folder."""
    folder, book = csv_folder(tmp_path), workbook(tmp_path)
    for source, out in ((folder, folder), (book, tmp_path)):
        before = source.read_bytes() if source.is_file() else (folder / "blanks.csv").read_bytes()
        run = Streams(capsys, "stations", source, "--out", out)
        assert run.status == 2
        assert "is where the input is" in run.err
        assert before == (source.read_bytes() if source.is_file() else (folder / "blanks.csv").read_bytes())


@pytest.mark.parametrize("make", [workbook, csv_folder])
def test_a_copy_that_was_worked_in_is_left_as_it_is(
    make: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A copy as it was written gives way to a new one; one with measures typed in since does not."""
    source, out = make(tmp_path), tmp_path / "out"  # type: ignore[operator]
    Streams(capsys, "stations", source, "--out", out)
    assert Streams(capsys, "stations", source, "--out", out, "--at-most", 2).status == 0
    file = out / source.name if source.is_file() else out / "offcuts.csv"
    if file.suffix == ".csv":
        file.write_text(file.read_text() + "A9,100,50,20,1,oak\n")
    else:
        book = openpyxl.load_workbook(file)
        book["Offcuts"]["B2"] = 2400
        book.save(file)
    before = file.read_bytes()
    run = Streams(capsys, "stations", source, "--out", out, "--at-most", 1)
    assert run.status == 2
    assert "not as yieldplan stations wrote it; it is left as it is" in run.err
    assert file.read_bytes() == before


def test_a_folder_with_sheets_that_the_copy_would_not_replace_is_left_as_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The old sheet would be read beside the new ones."""
    out = tmp_path / "out"
    source = csv_folder(tmp_path)
    (source / "species.csv").write_text("Species\n")
    Streams(capsys, "stations", source, "--out", out)
    (source / "species.csv").unlink()
    assert Streams(capsys, "stations", source, "--out", out).status == 2


def test_more_lengths_than_blanks_has_rows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """So many rows could not be planned; what to ask for is said."""

    def change(sheets: Sheets) -> None:
        put(sheets, "Run!E2", "6.5")
        put(sheets, "Points!C5", "1300")

    source = csv_folder(tmp_path, changed(change))
    run = Streams(capsys, "stations", source, "--out", tmp_path / "out", "--linear")
    assert run.status == 2
    assert "Blanks takes 200 rows at most: ask for fewer lengths with --at-most" in run.err


def test_an_input_that_changes_meanwhile_is_noticed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A copy is made of what was read or not at all."""
    source, changing = csv_folder(tmp_path), tape.tape_list

    def list_tapes(survey: Survey, **how: int | None) -> tape.TapeList:
        (source / "points.csv").write_text("Run,At,Measure\n")
        return changing(survey, **how)

    monkeypatch.setattr(tape, "tape_list", list_tapes)
    run = Streams(capsys, "stations", source, "--out", tmp_path / "out")
    assert (run.status, run.out) == (1, "")
    assert "skiff was changed or moved during the run" in run.err
    assert not (tmp_path / "out").exists()


def test_one_limit_or_the_other(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Both together are refused before anything is read."""
    limits = ("--at-most", 1, "--none-longer-by", "20 mm")
    run = Streams(capsys, "stations", csv_folder(tmp_path), "--out", tmp_path / "out", *limits)
    assert run.status == 2
    assert "--at-most and --none-longer-by: expected one of the two, or neither" in run.err
    assert not (tmp_path / "out").exists()


def test_plan_reads_past_the_sheets_of_the_run(tmp_path: Path) -> None:
    """An input that has them, even with mistakes in them, is a job all the same, without a warning of them."""

    def change(sheets: Sheets) -> None:
        put(sheets, "Run!B2", "far")
        put(sheets, "Blanks!B2", "3")
        put(sheets, "Blanks!C2", "400")

    for source in (workbook(tmp_path, changed(change)), csv_folder(tmp_path, changed(change))):
        assert read(source).warnings == ()


def test_a_copied_workbook_keeps_what_no_one_reads(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Sheets of the user's own and every other part are there to the byte."""

    def touch(book: openpyxl.Workbook) -> None:
        book.create_sheet("My notes")["A1"] = "call the yard"

    source, out = workbook(tmp_path, touch=touch), tmp_path / "out"
    Streams(capsys, "stations", source, "--out", out)
    old, new = zipfile.ZipFile(source), zipfile.ZipFile(BytesIO((out / source.name).read_bytes()))
    same = [name for name in old.namelist() if old.read(name) == new.read(name)]
    assert len(same) >= len(old.namelist()) - 2
    assert openpyxl.load_workbook(out / source.name)["My notes"]["A1"].value == "call the yard"
