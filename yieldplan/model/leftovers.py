"""R11: what is left over between the pieces of a plan, and which of it is a keeper. One function finds all of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from yieldplan.model.rows import sawn_rows
from yieldplan.model.section import section_of
from yieldplan.model.shop import worth
from yieldplan.model.wood import jointed

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model.pile import Job
    from yieldplan.model.plan import Billet, OffcutPlan, Span
    from yieldplan.model.shop import Shop
    from yieldplan.model.wood import Wood


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
    narrow, wide = sorted((one, other))
    return length >= max(shop.keeper_length, 1) and narrow >= max(least, 1) and wide >= most


SIDES = ("face 1", "face 2", "edge 1", "far edge")
"""The sides of a piece, as steps and tickets name them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeper:
    """One keeper of a drawn offcut: where it is left, and its box in the offcut's own rough frame.

    It is a ``length`` of the rough offcut, unjointed; a ``strip`` or ``layer`` of a billet; a ``stick`` beside or over
    the sticks of a strip or layer; or the ``end`` of a planed stick. ``x`` is on the offcut; ``across`` and ``deep``
    are in the box of its ``billet`` (or half) and ``wood``, of a length the whole rough section. ``size`` is length,
    width across y and depth across z (steps): an end lies within its stick's rough section and has the planed size.
    ``jointed`` are those of its :data:`SIDES`, in the board's frame, that are jointed or planed.
    """

    form: Literal["length", "strip", "layer", "stick", "end"]
    x: Span
    across: Span
    deep: Span
    size: tuple[int, int, int]
    billet: Billet | None = None
    wood: Wood | None = None
    jointed: tuple[str, ...] = ()

    def worth(self, shop: Shop) -> int:
        """Return its worth, in thousandths of a board foot."""
        return worth(*self.size, shop)

    @property
    def volume(self) -> int:
        """Cubic steps."""
        return self.size[0] * self.size[1] * self.size[2]


def rough(x: Span, across: Span, deep: Span) -> Keeper:
    """Return rough wood as a keeper: a length of the offcut, or of a half."""
    size = (x[1] - x[0], across[1] - across[0], deep[1] - deep[0])
    return Keeper(form="length", x=x, across=across, deep=deep, size=size)


def keepers(job: Job, drawn: OffcutPlan) -> Iterator[Keeper]:
    """Yield every keeper that a drawn offcut leaves, from end A on, billet by billet."""
    offcut, shop, kerf = job.offcut(drawn.offcut), job.shop, job.shop.crosscut_kerf
    for x in gaps([(billet.start, billet.end) for billet in drawn.billets], (0, offcut.length), kerf):
        if is_keeper(x[1] - x[0], offcut.width, offcut.thickness, shop):
            yield rough(x, (0, offcut.width), (0, offcut.thickness))
    for wood, part in jointed(job, drawn):
        yield from _across(wood, part, shop)
        for stick, across, deep in part.placed:
            found = section_of(job, offcut, stick)
            planed = (found.planed_width, found.planed_thickness)
            for x in gaps([(cut.start, cut.end) for cut in stick.blanks], (part.start, part.end), kerf):
                size = (x[1] - x[0], *(planed[::-1] if stick.turned else planed))
                if is_keeper(*size, shop):
                    box = rough(x, across, deep)
                    yield replace(box, form="end", size=size, billet=part, wood=wood, jointed=SIDES)


def _across(wood: Wood, part: Billet, shop: Shop) -> Iterator[Keeper]:
    """Yield the keepers beside strips, layers and sticks."""
    rows = list(sawn_rows(wood, part, shop))
    for row in rows:
        own, outer = ("edge 1", "face 1") if row.axis == "y" else ("face 1", "edge 1")
        for gap in gaps(row.spans, (0, row.end), row.kerf):
            across, deep = (gap, row.other) if row.axis == "y" else (row.other, gap)
            box = rough((part.start, part.end), across, deep)
            if is_keeper(*box.size, shop):
                outer_is_jointed = row.number == 1 or rows[0].near_is_jointed(row.other)
                yield replace(
                    box,
                    form="stick" if row.number == 2 else "strip" if part.rip_first else "layer",
                    billet=part,
                    wood=wood,
                    jointed=(outer,) * outer_is_jointed + (own,) * row.near_is_jointed(gap),
                )
