"""What each blank has to spare, and what stands by for it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from random_plans import random_plan
from tiny import INCH, tiny_drawn, tiny_job, tiny_plan

from yieldplan.measure import exact
from yieldplan.model import Billet, Defect
from yieldplan.order import cutting_order
from yieldplan.order.sheets import sheets
from yieldplan.solve.assemble import assemble

if TYPE_CHECKING:
    from yieldplan.model import Job
    from yieldplan.order.data import Margin

WANE = {"kind": "wane", "x1": 0, "x2": 40 * INCH, "z1": 0, "z2": 7 * INCH // 4}


def margins(job: Job) -> list[Margin]:
    """Return the margins of the tiny plan."""
    return [one for card in cutting_order(job, tiny_plan(job)).cards for one in card.margins]


def with_defect(y1: int, y2: int) -> Job:
    """Return the tiny job with a wane along its offcut."""
    job = tiny_job()
    wane = Defect(**WANE, y1=y1, y2=y2)  # type: ignore[arg-type]
    return replace(job, offcuts=(replace(job.offcuts[0], defects=(wane,)), *job.offcuts[1:]))


def test_what_is_planed_and_gaps_are_what_is_to_spare() -> None:
    """By hand: 3/8 of thickness; 1/8 of width beside a kerf, 1 3/16 at the far edge; what each stick has left along."""
    found = [(m.name, m.thickness, m.width, m.length) for m in margins(tiny_job())]
    thick = 3 * INCH // 8
    assert found == [
        ("P1-1", thick, INCH // 8, 11 * INCH // 8),
        ("P1-1", thick, INCH // 8, 11 * INCH // 8),
        ("P1-2", thick, 19 * INCH // 16, 27 * INCH // 2),
    ]


def test_a_defect_takes_of_the_margin() -> None:
    """Wane from 5 in on counts from 5 in less the edge loss: 1/8 - 1/16 in beyond the strip are left, and 1/8."""
    found = {m.name: m.width for m in margins(with_defect(5 * INCH, 6 * INCH))}
    assert found["P1-2"] == INCH // 16 + INCH // 8


def test_rings_that_do_not_suit_take_of_the_margin() -> None:
    """Rings from 30 at edge 1 to 54 at the far edge: up to 50 they suit 5 in, of which jointing may take 1/16."""
    job = tiny_job()
    turning = replace(job.offcuts[0], ring_angle=30, ring_angle_far=54)
    blank = replace(job.blanks[0], ring_from=30, ring_to=50)
    job = replace(job, offcuts=(turning, *job.offcuts[1:]), blanks=(blank,))
    assert {m.name: m.width for m in margins(job)}["P1-2"] == INCH // 16 + INCH // 8


def test_the_tightest_come_first() -> None:
    """In the workbook they are sorted by the smallest of the three."""
    job, plan = random_plan(3)
    order = cutting_order(job, plan)
    (sheet,) = (sheet for sheet in sheets(order, {}, ()) if sheet.title == "Margins")
    least = [min(exact(cell, job.shop.units) for cell in row[2:5]) for row in sheet.rows]
    assert len(least) == sum(1 for drawn in plan.offcuts for _ in drawn.blanks)
    assert least == sorted(least)


def test_the_least_board_that_gives_every_kind_stands_by() -> None:
    """Of the boards left alone the one of least worth is named; one that gives only one of two kinds is not."""
    job = tiny_job()
    block = replace(job.blanks[0], name="Block", need=1, length=6 * INCH, clear_end=0)
    boards = [
        replace(job.offcuts[0], name=name, length=size * INCH)
        for name, size in (("P3", 60), ("P4", 30), ("P5", 13))
    ]
    job = replace(job, offcuts=(*job.offcuts, *boards), blanks=(*job.blanks, block))
    drawn = tiny_drawn(job)
    (billet,) = drawn.billets
    assert isinstance(billet, Billet)
    (stick,) = billet.strips[0].sticks
    rib, other = stick.blanks
    two_kinds = replace(stick, blanks=(rib, replace(other, blank="Block", end=other.start + 6 * INCH)))
    strips = (replace(billet.strips[0], sticks=(two_kinds,)), billet.strips[1])
    plan = assemble(job, [replace(drawn, billets=(replace(billet, strips=strips),))])
    assert {card.stand_by for card in cutting_order(job, plan).cards} == {"P4"}


def test_no_board_stands_by_where_none_gives_the_blanks() -> None:
    """What is left of the tiny pile is too short."""
    job = tiny_job()
    assert {card.stand_by for card in cutting_order(job, tiny_plan(job)).cards} == {""}
