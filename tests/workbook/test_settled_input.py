"""What settling has written into an input is read back: where a keeper came from, and which boards are gone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from skiff_workbook import good, put, save_csv, save_xlsx

from yieldplan.workbook import fingerprint, read

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from skiff_workbook import Sheets


@pytest.mark.parametrize("save", [save_xlsx, save_csv])
def test_where_a_keeper_came_from_and_what_was_struck_are_read(
    save: Callable[[Sheets, Path], Path], tmp_path: Path
) -> None:
    """The column From is text; of the sheet Cut only the names are read, and nothing in it is a problem."""
    sheets = good()
    put(sheets, "Offcuts!K1", "From")
    put(sheets, "Offcuts!K2", "P006")
    sheets["Cut"] = [["Date", "Offcut", "Length"], ["12 May", "K7", "many"], [None, "P014#2", None]]
    job = read(save(sheets, tmp_path / "pile.xlsx"))
    assert [offcut.origin for offcut in job.offcuts] == ["P006", ""]
    assert job.struck == ("K7", "P014#2")
    assert job.warnings == ()


def test_a_date_in_the_file_of_struck_boards_makes_no_plan_stale(tmp_path: Path) -> None:
    """The fingerprint of a csv folder is that of what is planned from; cut.csv is only kept."""
    folder = save_csv(good(), tmp_path / "pile")
    before = fingerprint(folder)
    (folder / "cut.csv").write_text("Date,Offcut\n,K7\n", encoding="utf-8")
    assert read(folder).sha256 == fingerprint(folder) == before
