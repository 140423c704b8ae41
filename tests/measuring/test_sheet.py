"""The measuring sheet as it is printed: two pages, rows for a pencil, every column that is measured, marks drawn."""

from __future__ import annotations

import io
from typing import get_args

import pdfplumber
import pytest

from yieldplan.measuring.sheet import measuring_sheet
from yieldplan.pages.paper import Paper
from yieldplan.workbook.layouts import DEFECTS, OFFCUTS

MM = 72 / 25.4


@pytest.mark.parametrize("paper", get_args(Paper))
def test_two_pages_with_every_column_and_rows_of_eight_millimetres(paper: Paper) -> None:
    """Nothing is broken over a page; offcuts have at least 14 rows, defects too, each 8 mm high."""
    with pdfplumber.open(io.BytesIO(measuring_sheet(paper))) as pages:
        assert len(pages.pages) == 2
        for page, layout in zip(pages.pages, (OFFCUTS, DEFECTS), strict=True):
            assert page.width > page.height
            form = max(page.find_tables(), key=lambda table: len(table.rows))
            heads = [" ".join((head or "").split()) for head in form.extract()[0]]
            measured = [head for head in layout.headings if layout is DEFECTS or head != "From"]
            assert heads == measured
            heights = [(row.bbox[3] - row.bbox[1]) / MM for row in form.rows[1:]]
            assert len(heights) >= 14
            assert all(abs(height - 8) < 0.05 for height in heights)
            assert form.bbox[2] <= page.width - 9 * MM
            assert form.bbox[3] <= page.height - 9 * MM


def test_the_marks_on_the_wood_are_drawn_and_said() -> None:
    """Ends, edge 1 and the hollow face up as face 1 stand in the picture and in the rules beside it."""
    with pdfplumber.open(io.BytesIO(measuring_sheet())) as pages:
        first, second = (" ".join(page.extract_text().split()) for page in pages.pages)
    assert "P001 face 1, hollow, up" in first
    assert "edge 1, towards you" in first
    assert "Face 1: the hollow wide face, turned up." in first
    assert "From and To: along the piece, both from end A." in second
    for mark in (" A ", " B "):
        assert mark in f" {first} "
        assert mark in f" {second} "


def test_equal_sheets_are_equal_bytes() -> None:
    """The pdf holds no clock."""
    assert measuring_sheet("a4") == measuring_sheet("a4")
