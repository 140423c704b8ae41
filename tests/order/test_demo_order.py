"""The orders of the two demos: followed at the saw they make their plans, and their pages are legible."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from pages import read_pages
from sawmill import Sawmill, from_text, from_xlsx
from test_pdf import check_legible
from test_sawmill import check

from yieldplan import read
from yieldplan.order import cutting_order, order_text
from yieldplan.order.pdf import pdf_bytes
from yieldplan.order.reasons import reasons
from yieldplan.order.xlsx import xlsx_bytes
from yieldplan.solve.assemble import assemble
from yieldplan.solve.first_fit import first_fit

if TYPE_CHECKING:
    from yieldplan.model import Job, Plan

DATA = Path(__file__).resolve().parents[2] / "data_demo"
DEMOS = ("skiff-frames.xlsx", "floor-cleats-mm")


@cache
def planned(name: str) -> tuple[Job, Plan]:
    """Return a demo and a plan for it; any right plan will do here."""
    job = read(DATA / name)
    return job, assemble(job, first_fit(job))


@pytest.mark.parametrize("name", DEMOS)
def test_following_the_demos_orders_makes_their_plans(name: str) -> None:
    """Workbook and text, followed line by line, end with the plan's blanks and keepers."""
    job, made = planned(name)
    order = cutting_order(job, made)
    check(job, made, Sawmill(job).run(from_xlsx(BytesIO(xlsx_bytes(order)))))
    check(job, made, Sawmill(job).run(from_text(order_text(order, width=240))))


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", DEMOS)
def test_the_demos_pages_are_legible_and_small(name: str, paper: str) -> None:
    """Nothing overlaps or leaves the margins, and the file is under 1 MB."""
    job, made = planned(name)
    data = pdf_bytes(cutting_order(job, made), paper=paper, reasons=reasons(job, made))  # type: ignore[arg-type]
    assert len(data) < 1_000_000
    check_legible(read_pages(data))
