"""One named tiny pile with a plan made by hand: an offcut of 40 x 6 x 1 3/4 in that gives three ribs."""

from __future__ import annotations

from yieldplan.model import (
    Account,
    Billet,
    Blank,
    CutBlank,
    Job,
    Keeper,
    Offcut,
    OffcutPlan,
    Plan,
    Proof,
    Shop,
    Stick,
    Strip,
    WholeKeeper,
)

INCH = 8128
THIRTY_SECOND = INCH // 32


def tiny_job(*, offcut: str = "P1", blank: str = "Rib") -> Job:
    """Return the job: one offcut to cut, one to leave, ribs of 12 x 2 1/4 x 1 5/16 in, 2 in sound at one end."""
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
        shop=Shop(),
        name="tiny.xlsx",
        sha256="ab" * 32,
    )


def tiny_plan(job: Job) -> Plan:
    """Return the plan: a billet of 27 in with two strips, its third strip kept, and a whole keeper."""
    name, blank = job.offcuts[0].name, job.blanks[0].name
    deep, allowed = 11 * INCH // 8, INCH // 2
    first = (INCH // 2, 13 * INCH)
    second = (first[1] + INCH // 8, first[1] + INCH // 8 + 12 * INCH + allowed)

    def rib(span: tuple[int, int], *, clear_end: str = "A") -> CutBlank:
        end = "B" if clear_end == "B" else "A"
        return CutBlank(blank=blank, extra=False, start=span[0], end=span[1], clear_end=end)  # type: ignore[arg-type]

    billet = Billet(
        start=0,
        end=27 * INCH,
        layout="rip first",
        face_loss=THIRTY_SECOND,
        edge_loss=THIRTY_SECOND,
        strips=(
            Strip(
                start=0,
                end=19 * INCH // 8,
                sticks=(Stick(start=0, end=deep, blanks=(rib(first), rib(second, clear_end="B"))),),
            ),
            Strip(
                start=5 * INCH // 2,
                end=39 * INCH // 8,
                sticks=(
                    Stick(
                        start=0,
                        end=deep,
                        blanks=(rib(first),),
                        keepers=(Keeper(start=14 * INCH, end=27 * INCH),),
                    ),
                ),
            ),
        ),
    )
    drawn = OffcutPlan(
        offcut=name, copy=1, segments=(billet, WholeKeeper(start=27 * INCH + INCH // 8, end=40 * INCH))
    )
    return Plan(
        input_name=job.name,
        input_sha256=job.sha256,
        proof=Proof(missing=((1, 1),), net_worth=1, bound=1, gap=0.0, proven=True),
        made=((blank, 3),),
        extra=((blank, 0),),
        missing=((blank, 1),),
        account=Account(volume_in=10, blanks=4, keepers=2, kerf=1, shavings=1, trimmings=2),
        offcuts=(drawn,),
    )
