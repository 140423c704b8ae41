"""The pages of the two demos' orders are legible and small."""

from __future__ import annotations

import pytest
from pages import read_pages
from test_pdf import check_legible
from test_sawmill import DEMOS, demo

from yieldplan.measuring.reasons import reasons
from yieldplan.order import cutting_order
from yieldplan.order.pdf import pdf_bytes


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", DEMOS)
def test_the_demos_pages_are_legible_and_small(name: str, paper: str) -> None:
    """Nothing overlaps or leaves the margins, and the file is under 1 MB."""
    job, made = demo(name)
    data = pdf_bytes(cutting_order(job, made), paper=paper, reasons=reasons(job, made))  # type: ignore[arg-type]
    assert len(data) < 1_000_000
    check_legible(read_pages(data))
