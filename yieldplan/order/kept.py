"""What comes out of a plan: the blanks cut from an offcut, and every keeper with its size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model import WholeKeeper, milled, planed_section

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Billet, CutBlank, Job, Offcut, OffcutPlan, Plan, Stick, Strip


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """One keeper, sizes in steps, ``width >= thickness``.

    ``form`` says what it is: ``as measured`` (a whole segment), ``strip``, ``layer``, ``stick`` (all sawn,
    not planed) or ``planed end`` (a crosscut remainder of a stick).
    """

    offcut: str
    copy: int
    form: str
    length: int
    width: int
    thickness: int


def cuts(drawn: OffcutPlan) -> Iterator[CutBlank]:
    """Yield every blank that is cut from one offcut, in the plan's order."""
    for billet in drawn.billets:
        for strip in billet.strips:
            for stick in strip.sticks:
                yield from stick.blanks


def keepers(job: Job, plan: Plan) -> Iterator[Kept]:
    """Yield every keeper of the plan (R11), in the plan's order.

    A strip or layer keeps the whole depth of its billet's box; a remainder has the section of its stick,
    because it is cut off after planing.
    """
    for drawn in plan.offcuts:
        offcut = job.offcut(drawn.offcut)
        for segment in drawn.segments:
            if isinstance(segment, WholeKeeper):
                length = segment.end - segment.start
                yield _kept(drawn, "as measured", length, offcut.width, offcut.thickness)
            for wood, billet in milled(offcut, segment, job.shop):
                for strip in billet.strips:
                    if strip.keeper:
                        yield _kept_strip(drawn, wood, billet, strip)
                    for stick in strip.sticks:
                        yield from _kept_of_stick(job, wood, drawn, billet, strip, stick)


def _kept(drawn: OffcutPlan, form: str, length: int, one: int, other: int) -> Kept:
    return Kept(
        offcut=drawn.offcut,
        copy=drawn.copy,
        form=form,
        length=length,
        width=max(one, other),
        thickness=min(one, other),
    )


def _kept_strip(drawn: OffcutPlan, offcut: Offcut, billet: Billet, strip: Strip) -> Kept:
    rip_first = billet.layout == "rip first"
    depth = offcut.thickness - billet.face_loss if rip_first else offcut.width - billet.edge_loss
    form = "strip" if rip_first else "layer"
    return _kept(drawn, form, billet.end - billet.start, strip.end - strip.start, depth)


def _kept_of_stick(
    job: Job, offcut: Offcut, drawn: OffcutPlan, billet: Billet, strip: Strip, stick: Stick
) -> Iterator[Kept]:
    if stick.keeper:
        length = billet.end - billet.start
        yield _kept(drawn, "stick", length, strip.end - strip.start, stick.end - stick.start)
    for remainder in stick.keepers:
        blank = job.blank(stick.blanks[0].blank)
        section = planed_section(offcut, blank, job.shop, turned=stick.turned)
        yield _kept(drawn, "planed end", remainder.end - remainder.start, *section)
