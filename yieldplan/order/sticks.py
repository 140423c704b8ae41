"""From sawn sticks to blanks: planed on edge and flat, squared at end A, cut to the stop one after the other."""

from __future__ import annotations

from itertools import groupby, islice
from typing import TYPE_CHECKING

from yieldplan.model.shop import INCH
from yieldplan.order.data import WASTE, Plane, Planed, Square, Stop

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.order.data import Span
    from yieldplan.order.parts import Sawn

WET = 15
"""Per cent of moisture above which sawn wood rests before it is planed: common practice, no source."""

THICK = 2 * INCH
"""Stock thicker than this rests overnight: common practice, no source."""


def planing(sticks: Sequence[Sawn]) -> Iterator[Plane]:
    """Yield the planing of a part's sticks; neighbours that are planed alike are one step."""
    offcut = sticks[0].part.wood.offcut
    wet = offcut.moisture is not None and offcut.moisture > WET

    def alike(sawn: Sawn) -> tuple[int, int, int, int, bool]:
        (width, _), (thickness, _) = sawn.flat
        thin = 2 * (width if sawn.stick.turned else thickness) < offcut.thickness
        return width, sawn.sizes.planed_width, thickness, sawn.sizes.planed_thickness, thin

    for (width, planed_width, thickness, planed_thickness, thin), group in groupby(sticks, key=alike):
        own = list(group)
        wide, thick = (tuple(sawn.name for sawn in own if not sawn.flat[axis][1]) for axis in range(2))
        yield Plane(
            board=own[0].part.board,
            sticks=tuple(sawn.name for sawn in own),
            width=Planed(before=width, to=planed_width, sawn=wide),
            thickness=Planed(before=thickness, to=planed_thickness, sawn=thick),
            rest=wet or thin,
            overnight=offcut.thickness > THICK,
        )


def lengths(sticks: Sequence[Sawn]) -> Iterator[Square | Stop]:
    """Yield the squaring and the stops of a part's sticks; neighbours that are cut alike are cut as one."""
    for _, group in groupby(sticks, key=_alike):
        own = list(group)
        part, first = own[0].part, own[0].stick.blanks[0].start
        yield Square(
            board=part.board,
            sticks=tuple(sawn.name for sawn in own),
            cut=first - part.billet.start,
            kept=_kept(own, (part.billet.start, first - part.shop.crosscut_kerf)),
        )
        yield from _stops(own)


def _alike(sawn: Sawn) -> tuple[object, ...]:
    cuts = ((cut.blank, cut.start, cut.end, cut.clear_end) for cut in sawn.stick.blanks)
    return (sawn.sizes.planed_width, sawn.sizes.planed_thickness, *cuts)


def _kept(sticks: Sequence[Sawn], gap: Span) -> tuple[str, ...]:
    """Return the names of like leftovers, one of each stick, if they are kept."""
    names = tuple(sawn.part.left(gap, *sawn.yz) for sawn in sticks)
    return () if WASTE in names else names


def _stops(sticks: Sequence[Sawn]) -> Iterator[Stop]:
    """Yield the stops of sticks that are cut alike; like blanks in a row are one step."""
    part, blanks = sticks[0].part, sticks[0].stick.blanks
    kerf, end = part.shop.crosscut_kerf, part.billet.end
    befores = [blanks[0].start, *(cut.end + kerf for cut in blanks)]
    skips = [cut.start - before for cut, before in zip(blanks, befores, strict=False)]

    def run(place: int) -> tuple[str, int, str, int]:
        cut = blanks[place]
        clear = cut.clear_end if part.job.blank(cut.blank).clear_end else ""
        return cut.blank, cut.end - cut.start, clear, sum(skip > 0 for skip in skips[: place + 1])

    for (blank, stop, clear, _), group in groupby(range(len(blanks)), key=run):
        places = list(group)
        here, last = places[0], places[-1]
        cuts = [sawn.stick.blanks[place] for sawn in sticks for place in places]
        yield Stop(
            board=part.board,
            sticks=tuple(sawn.name for sawn in sticks),
            blank=blank,
            stop=stop,
            each=len(places),
            clear=clear,
            spare=sum(cut.spare for cut in cuts),
            skip=skips[here],
            skipped=_kept(sticks, (befores[here], blanks[here].start - kerf)) if skips[here] else (),
            rest=_kept(sticks, (befores[last + 1], end)) if last + 1 == len(blanks) else (),
            marks=tuple(islice(part.marks.get(blank, ()), len(cuts))),
        )
