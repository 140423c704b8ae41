"""What is done with a part at the machines: sawn in turn from the jointed side, planed, cut to the stop."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, islice
from typing import TYPE_CHECKING

from yieldplan.model.shop import INCH
from yieldplan.order.data import WASTE, Plane, Saw, Square, Stop

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Row
    from yieldplan.order.data import Span
    from yieldplan.order.parts import Part, Sawn

WET = 15
"""Per cent of moisture above which sawn wood rests before it is planed: common practice, no source."""

THICK = 2 * INCH
"""Stock thicker than this rests overnight: common practice, no source."""


def shaved(part: Part) -> tuple[int, int]:
    """Return how much the jointer takes off edge 1 and face 1 because the first pieces begin within a kerf of it.

    Of a second row's side only where all rows begin there and no keeper of the first row would lose it.
    """
    first, *second = (row.spans[0][0] if row.spans[0][0] <= row.kerf else 0 for row in part.rows)
    kept = any(one.form in ("strip", "layer") for one in part.kept.values())
    inner = second[0] if len(set(second)) == 1 and not kept else 0
    return (first, inner) if part.billet.rip_first else (inner, first)


def passes_of(part: Part) -> Iterator[Saw]:
    """Yield the passes of a part, row by row; like ones one after another are one step."""
    for number, row in enumerate(part.rows):
        for _, alike in groupby(_passes(part, row, number), key=lambda step: (step.fence, step.odd)):
            begin, *more = alike
            yield replace(
                begin,
                passes=begin.passes + len(more),
                gives=begin.gives + tuple(step.gives[0] for step in more),
                rest=more[-1].rest if more else begin.rest,
                jointed=any(step.jointed for step in (begin, *more)),
            )


def _passes(part: Part, row: Row, number: int) -> Iterator[Saw]:
    """Yield pass after pass of a row: in hand is all of it at first, then what lies beyond the last cut.

    An odd cut clears wood before a piece; what is less than a blade's width is jointed off. What is still to be worked
    after a pass on the bandsaw is jointed at once. A second row counts as the first where the first is not cut.
    """
    rip, outer = row.axis == "y", part.rows[0].is_cut
    at = {(sawn.piece, sawn.odd): sawn.at for sawn in row.passes}
    last, word, machine = len(row.spans) - 1, "edge" if rip else "face", row.machine or "bandsaw"
    # a strip that is not the first has only its near side there
    down = ("face 1" if rip else "edge 1") + (" side" if row.number == 2 and outer else "")
    hand, side, here = part.joined(row, 0, last), f"{word} 1", shaved(part)[0 if rip else 1]

    def step(fence: int, gives: tuple[str, ...], rest: str, *, odd: bool = False, off: bool = False) -> Saw:
        return Saw(
            board=part.board,
            machine=machine,
            stage=1 if row.number == 1 or not outer else 2,
            fence=fence,
            hand=hand,
            rip=rip,
            side=side,
            down=down,
            passes=1,
            gives=gives,
            rest=rest,
            height=row.height,
            chain=number if outer else 0,
            jointed=machine == "bandsaw" and not off and (odd or piece < last),
            odd=odd,
            off=off,
        )

    def left(gap: Span) -> str:
        return part.left(part.x, *((gap, row.other) if rip else (row.other, gap)))

    for piece, (begin, end) in enumerate(row.spans):
        held, cleared = part.joined(row, piece, last), at.get((piece, True), 0)
        if begin > here and cleared > 0:
            yield step(cleared, (left((here, begin - row.kerf)),), held, odd=True)
            hand, side = held, f"fresh {word}"
        elif begin > here:
            yield replace(step(begin - here, (), held, odd=True, off=True), passes=int((piece, True) in at))
            hand = held
        if (piece, False) in at:
            rest = part.joined(row, piece + 1, last) if piece < last else left((end + row.kerf, row.end))
            yield step(at[piece, False], (part.joined(row, piece, piece),), rest)
            hand, side = rest, f"fresh {word}"
        here = end + row.kerf


def planing(sticks: Sequence[Sawn]) -> Iterator[Plane]:
    """Yield the planing of a part's sticks, on edge and then flat; neighbours that are planed alike are one step."""
    offcut = sticks[0].part.wood.offcut
    wet = offcut.moisture is not None and offcut.moisture > WET

    def alike(sawn: Sawn) -> tuple[int, int, int, int, bool]:
        (width, _), (thickness, _) = sawn.flat
        thin = 2 * (width if sawn.stick.turned else thickness) < offcut.thickness
        return width, sawn.sizes.planed_width, thickness, sawn.sizes.planed_thickness, thin

    for (width, planed_width, thickness, planed_thickness, thin), group in groupby(sticks, key=alike):
        own = list(group)
        for axis, (before, to) in enumerate(((width, planed_width), (thickness, planed_thickness))):
            yield Plane(
                board=own[0].part.board,
                sticks=tuple(sawn.name for sawn in own),
                on_edge=axis == 0,
                before=before,
                to=to,
                sawn=tuple(sawn.name for sawn in own if not sawn.flat[axis][1]),
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
            kept=_kept(own, (part.billet.start, first - part.job.shop.crosscut_kerf)),
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
    kerf, end = part.job.shop.crosscut_kerf, part.billet.end
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
