"""R11: what is left over between the pieces of a plan, and which of it is a keeper. One function finds all of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from yieldplan.model.rows import sawn_rows
from yieldplan.model.section import section
from yieldplan.model.wood import milled
from yieldplan.model.worth import worth

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model.pile import Job, Offcut
    from yieldplan.model.plan import Billet, OffcutPlan, SplitBillet, Stick
    from yieldplan.model.shop import Shop
    from yieldplan.model.wood import Wood

Span = tuple[int, int]
"""From where to where along the axis of a row, in steps."""


def gaps(spans: Sequence[Span], room: Span, kerf: int) -> Iterator[Span]:
    """Yield the leftovers of a row of pieces in ``room``: before the first, between two, behind the last.

    A cut takes its kerf on the side of the leftover: one at an end of the row, two between neighbours.
    """
    here = room[0]
    for start, end in sorted(spans):
        if start - kerf > here:
            yield here, start - kerf
        here = end + kerf
    if here < room[1]:
        yield here, room[1]


def is_keeper(length: int, one: int, other: int, shop: Shop) -> bool:
    """Return whether a leftover of this length and section, either way round, goes back on the rack (R11)."""
    least, most = sorted((shop.keeper_width, shop.keeper_thickness))
    return (
        length >= shop.keeper_length
        and length > 0
        and min(one, other) >= max(least, 1)
        and max(one, other) >= most
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeper:
    """One keeper of a drawn offcut: where it is left, and its box in the offcut's own rough frame.

    Attributes
    ----------
    form
        ``"length"`` of the rough offcut, unjointed; ``"strip"`` or ``"layer"`` of a billet; ``"stick"`` beside or over
        the sticks of a strip or layer; ``"end"`` of a planed stick.
    x
        From where to where along the offcut.
    across, deep
        From where to where across y and z in the billet's box; of a length the whole rough section. The end of a stick
        lies within its stick's rough section and has the planed ``size``.
    billet, wood
        The billet or half it comes from and its wood; None of a length.
    size
        Length, width across y and depth across z (steps).
    """

    form: Literal["length", "strip", "layer", "stick", "end"]
    x: Span
    across: Span
    deep: Span
    size: tuple[int, int, int]
    billet: Billet | None = None
    wood: Wood | None = None
    stick: Stick | None = None

    def worth(self, shop: Shop) -> int:
        """Return its worth, in thousandths of a board foot."""
        return worth(*self.size, shop)

    @property
    def volume(self) -> int:
        """Cubic steps."""
        return self.size[0] * self.size[1] * self.size[2]


def keepers(job: Job, drawn: OffcutPlan) -> Iterator[Keeper]:
    """Yield every keeper that a drawn offcut leaves, from end A on, billet by billet."""
    offcut, shop = job.offcut(drawn.offcut), job.shop
    rough = [(billet.start, billet.end) for billet in drawn.billets]
    for span in gaps(rough, (0, offcut.length), shop.crosscut_kerf):
        length = span[1] - span[0]
        if is_keeper(length, offcut.width, offcut.thickness, shop):
            yield Keeper(
                form="length",
                x=span,
                across=(0, offcut.width),
                deep=(0, offcut.thickness),
                size=(length, offcut.width, offcut.thickness),
            )
    for billet in drawn.billets:
        yield from _of_billet(job, offcut, billet)


def _of_billet(job: Job, offcut: Offcut, billet: Billet | SplitBillet) -> Iterator[Keeper]:
    shop = job.shop
    for wood, part in milled(offcut, billet, shop):
        x, length, rip = (part.start, part.end), part.end - part.start, part.rip_first
        for row in sawn_rows(wood, part, shop):
            for gap in gaps(row.spans, (0, row.end), row.kerf):
                across, deep = (gap, row.other) if row.axis == "y" else (row.other, gap)
                size = (length, across[1] - across[0], deep[1] - deep[0])
                if is_keeper(*size, shop):
                    form: Literal["strip", "layer", "stick"] = (
                        "stick" if row.number == 2 else "strip" if rip else "layer"
                    )
                    yield Keeper(form=form, x=x, across=across, deep=deep, size=size, billet=part, wood=wood)
        yield from _ends(job, offcut, wood, part)


def _ends(job: Job, offcut: Offcut, wood: Wood, part: Billet) -> Iterator[Keeper]:
    """Yield the keepers among what is left of the planed sticks."""
    shop = job.shop
    for strip in part.strips:
        for stick in strip.sticks:
            if not stick.blanks:
                continue
            found = section(offcut, job.blank(stick.blanks[0].blank), shop, turned=stick.turned)
            wide, deep = found.planed_width, found.planed_thickness
            if stick.turned:
                wide, deep = deep, wide
            rows = ((strip.start, strip.end), (stick.start, stick.end))
            across, depth = rows if part.rip_first else rows[::-1]
            cuts = [(cut.start, cut.end) for cut in stick.blanks]
            for gap in gaps(cuts, (part.start, part.end), shop.crosscut_kerf):
                if is_keeper(gap[1] - gap[0], wide, deep, shop):
                    yield Keeper(
                        form="end",
                        x=gap,
                        across=across,
                        deep=depth,
                        size=(gap[1] - gap[0], wide, deep),
                        billet=part,
                        wood=wood,
                        stick=stick,
                    )
