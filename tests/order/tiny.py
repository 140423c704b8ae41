"""One named tiny pile with a plan made by hand: a board of 40 x 6 x 1 3/4 in that gives three ribs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from yieldplan.model import Billet, Blank, CutBlank, Job, Offcut, OffcutPlan, Shop, Stick, Strip
from yieldplan.solve.assemble import assemble

if TYPE_CHECKING:
    from yieldplan.model import Plan

INCH = 8128


def tiny_job(*, offcut: str = "P1", blank: str = "Rib") -> Job:
    """Return the job: one board to cut, one to leave, ribs of 12 x 2 1/4 x 1 5/16 in, 2 in sound at one end."""
    return Job(
        offcuts=(
            Offcut(
                name=offcut,
                length=40 * INCH,
                width=6 * INCH,
                thickness=7 * INCH // 4,
                species="White oak",
                ring_angle=45,
                rack="loft",
            ),
            Offcut(name="P2", length=9 * INCH, width=2 * INCH, thickness=INCH, qty=2),
        ),
        blanks=(
            Blank(
                name=blank,
                need=4,
                length=12 * INCH,
                width=9 * INCH // 4,
                thickness=21 * INCH // 16,
                clear_end=2 * INCH,
            ),
        ),
        shop=Shop(keeper_length=12 * INCH),
        name="tiny.xlsx",
        sha256="ab" * 32,
    )


def tiny_drawn(job: Job) -> OffcutPlan:
    """Return what is cut: a billet of 26 1/2 in with two strips of one stick each; an end of the second is kept."""
    deep = 11 * INCH // 8
    first = (INCH, 13 * INCH)
    second = (first[1] + INCH // 8, first[1] + INCH // 8 + 12 * INCH)

    def rib(span: tuple[int, int], clear_end: Literal["A", "B"] = "A") -> CutBlank:
        return CutBlank(blank=job.blanks[0].name, start=span[0], end=span[1], clear_end=clear_end)

    strips = tuple(
        Strip(start=low, end=low + 19 * INCH // 8, sticks=(Stick(start=0, end=deep, blanks=ribs),))
        for low, ribs in ((0, (rib(first), rib(second, "B"))), (5 * INCH // 2, (rib(first),)))
    )
    billet = Billet(
        start=INCH // 2,
        end=27 * INCH,
        layout="rip first",
        face_loss=INCH // 16,
        edge_loss=INCH // 16,
        strips=strips,
    )
    return OffcutPlan(offcut=job.offcuts[0].name, copy=1, billets=(billet,))


def tiny_plan(job: Job) -> Plan:
    """Return the plan that draws :func:`tiny_drawn` and misses one rib."""
    return assemble(job, [tiny_drawn(job)])
