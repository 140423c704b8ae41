"""What each blank has to spare, and what stands by for it."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from tiny import INCH, tiny_job, tiny_plan

from yieldplan.model import Defect, Offcut
from yieldplan.order import cutting_order
from yieldplan.order.margins import free_beside
from yieldplan.order.standby import name_stand_bys, sawn_keeper, spare_pieces, whole_keeper

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldplan.model import Job
    from yieldplan.order.margins import Margin

WANE = {"kind": "wane", "x1": 0, "x2": 40 * INCH, "z1": 0, "z2": 7 * INCH // 4}


def margins(job: Job) -> list[Margin]:
    """Return the margins of the tiny plan."""
    return list(cutting_order(job, tiny_plan(job)).margins)


def with_defect(y1: int, y2: int) -> Job:
    """Return the tiny job with a wane along its offcut."""
    job = tiny_job()
    wane = Defect(**WANE, y1=y1, y2=y2)  # type: ignore[arg-type]
    return replace(job, offcuts=(replace(job.offcuts[0], defects=(wane,)), *job.offcuts[1:]))


def test_allowances_and_gaps_are_what_is_to_spare() -> None:
    """By hand: 13/32 of thickness; 1/8 of width beside a kerf, 1 7/32 at the far edge; 1/2 of length and more."""
    found = {m.name: (m.thickness, m.width, m.length) for m in margins(tiny_job())}
    thick = 13 * INCH // 32
    assert found == {
        "P1-A1a1": (thick, INCH // 8, INCH // 2),
        "P1-A1a2": (thick, INCH // 8, 15 * INCH // 8),
        "P1-A2a1": (thick, 39 * INCH // 32, 11 * INCH // 8),
    }


def test_a_defect_takes_of_the_margin() -> None:
    """Wane from 5 in on counts from 5 in less the edge loss: 1/8 - 1/32 in beyond the strip are left, and 1/8."""
    found = {m.name: m.width for m in margins(with_defect(5 * INCH, 6 * INCH))}
    assert found["P1-A2a1"] == 3 * INCH // 32 + INCH // 8


def test_rings_that_do_not_suit_take_of_the_margin() -> None:
    """Rings from 30 at edge 1 to 54 at the far edge: up to 50 they suit 5 in, of which jointing may take 1/32."""
    job = tiny_job()
    turning = replace(job.offcuts[0], ring_angle=30, ring_angle_far=54)
    blank = replace(job.blanks[0], ring_from=30, ring_to=50)
    job = replace(job, offcuts=(turning, *job.offcuts[1:]), blanks=(blank,))
    assert {m.name: m.width for m in margins(job)}["P1-A2a1"] == 3 * INCH // 32 + INCH // 8


def test_the_tightest_come_first() -> None:
    """Sorted by the smallest of the three margins, then by thickness, width, length."""
    found = margins(tiny_job())
    assert [m.tightest for m in found] == sorted(m.tightest for m in found)
    assert found[0].name == "P1-A1a1"


def test_free_wood_ends_a_kerf_from_a_neighbour() -> None:
    """Between 0 and 20, with a neighbour at 2 to 5 and a kerf of 1, a piece at 8 to 12 has 2 before and 8 behind it."""
    assert free_beside((8, 12), [(2, 5), (8, 12)], (0, 20), 1) == (2, 8)


def test_the_least_piece_that_can_do_it_stands_by() -> None:
    """All blanks of the piece are asked of each spare piece in turn, least worth first; its own keepers are not."""
    job = tiny_job()
    order = cutting_order(job, tiny_plan(job))
    asked: list[tuple[str, Counter[str]]] = []

    def gives(offcut: Offcut, counts: Mapping[str, int]) -> bool:
        asked.append((offcut.name, Counter(counts)))
        return offcut.name == "P2"

    named = name_stand_bys(order, gives)
    assert {margin.stand_by for margin in named.margins} == {"P2"}
    assert asked == [("P2", Counter({"Rib": 3}))]
    none = name_stand_bys(order, lambda _, __: False)
    assert {margin.stand_by for margin in none.margins} == {""}


def test_spare_pieces_are_what_is_left_and_what_is_kept() -> None:
    """The untouched offcut, and the whole keeper with its own length; planed ends are none."""
    job = tiny_job()
    found = {name: offcut for _, name, offcut in spare_pieces(cutting_order(job, tiny_plan(job)))}
    assert {name: offcut.length for name, offcut in found.items()} == {
        "P2": 9 * INCH,
        "P1-B": 40 * INCH - 27 * INCH - INCH // 8,
    }


def test_a_whole_keeper_is_as_warped_as_its_length_makes_it() -> None:
    """Half the length: a quarter of the bow and crook, half the twist; defects move with the cut."""
    knot = Defect(kind="knot", x1=30, x2=60, y1=0, y2=9, z1=0, z2=5)
    offcut = Offcut(
        name="P", length=100, width=9, thickness=5, bow=8, crook=6, cup=1, twist=3, defects=(knot,)
    )
    kept = whole_keeper(offcut, "P-B", (50, 100))
    assert (kept.length, kept.bow, kept.crook, kept.cup, kept.twist) == (50, 2, 2, 1, 2)
    assert [(d.x1, d.x2) for d in kept.defects] == [(0, 10)]


def test_a_sawn_keeper_lies_on_its_wider_side() -> None:
    """A strip taller than it is wide is turned: its rings are seen from the other side, its defects move along."""
    job = with_defect(0, INCH)
    job = replace(job, offcuts=(replace(job.offcuts[0], ring_angle=20, ring_angle_far=35), *job.offcuts[1:]))
    order = cutting_order(job, tiny_plan(job))
    section = replace(order.cards[0].sections[0], exact_y=(0, INCH), exact_z=(0, 3 * INCH // 2), keeper=True)
    kept = sawn_keeper(job.offcuts[0], "K", (0, 27 * INCH), section, (254, 254), (254, 254))
    assert (kept.width, kept.thickness, kept.bow) == (3 * INCH // 2, INCH, 0)
    assert kept.ring_angle == (55, 70)
    (wane,) = kept.defects
    assert (wane.y1, wane.y2, wane.z1, wane.z2) == (0, 3 * INCH // 2, 0, INCH - 254)
    assert not wane.through
