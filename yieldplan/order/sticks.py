"""From sawn sticks to blanks: planed on edge and flat, squared at end A, cut to the stop one after the other."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.model.shop import INCH
from yieldplan.order.data import WASTE, Plane, Planed, Square, Stop

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from yieldplan.model import CutBlank
    from yieldplan.order.data import Mark, Span
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


def lengths(
    sticks: Sequence[Sawn], clear: Callable[[CutBlank], str], mark: Callable[[CutBlank], tuple[Mark, ...]]
) -> Iterator[Square | Stop]:
    """Yield the squaring and the stops of a part's sticks; neighbours that are cut alike are cut as one.

    ``clear`` says at which end a blank is clear, if it asks; ``mark`` takes the mark of the next blank of its kind, if
    it is made in pairs.
    """
    for _, group in groupby(sticks, key=_alike):
        own = list(group)
        begin, first = own[0].part.billet.start, own[0].stick.blanks[0].start
        yield Square(
            board=own[0].part.board,
            sticks=tuple(sawn.name for sawn in own),
            cut=first - begin,
            kept=_kept(own, (begin, first - own[0].part.shop.crosscut_kerf)),
        )
        yield from _stops(own, clear, mark)


def _alike(sawn: Sawn) -> tuple[object, ...]:
    cuts = ((cut.blank, cut.start, cut.end, cut.clear_end) for cut in sawn.stick.blanks)
    return (sawn.sizes.planed_width, sawn.sizes.planed_thickness, *cuts)


def _kept(sticks: Sequence[Sawn], gap: Span) -> tuple[str, ...]:
    """Return the names of like leftovers, one of each stick, if they are kept."""
    names = tuple(sawn.part.left(gap, *sawn.yz) for sawn in sticks)
    return () if WASTE in names else names


def _stops(
    sticks: Sequence[Sawn], clear: Callable[[CutBlank], str], mark: Callable[[CutBlank], tuple[Mark, ...]]
) -> Iterator[Stop]:
    """Yield the stops of sticks that are cut alike; like blanks in a row are one step."""
    part, blanks = sticks[0].part, sticks[0].stick.blanks
    kerf, end = part.shop.crosscut_kerf, part.billet.end
    befores = [blanks[0].start, *(cut.end + kerf for cut in blanks)]
    skips = [cut.start - before for cut, before in zip(blanks, befores, strict=False)]

    def run(place: int) -> tuple[str, int, str, int]:
        cut = blanks[place]
        return cut.blank, cut.end - cut.start, clear(cut), sum(skip > 0 for skip in skips[: place + 1])

    for (blank, stop, at, _), group in groupby(range(len(blanks)), key=run):
        places = list(group)
        here, last = places[0], places[-1]
        cuts = [sawn.stick.blanks[place] for sawn in sticks for place in places]
        yield Stop(
            board=part.board,
            sticks=tuple(sawn.name for sawn in sticks),
            blank=blank,
            stop=stop,
            each=len(places),
            clear=at,
            spare=sum(cut.spare for cut in cuts),
            skip=skips[here],
            skipped=_kept(sticks, (befores[here], blanks[here].start - kerf)) if skips[here] else (),
            rest=_kept(sticks, (befores[last + 1], end)) if last + 1 == len(blanks) else (),
            marks=tuple(one for cut in cuts for one in mark(cut)),
        )
