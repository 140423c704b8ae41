"""From sawn sticks to blanks: planed on edge and flat, squared at end A, cut to the stop one after the other."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.model.shop import INCH
from yieldplan.order.data import WASTE, Plane, Planed, Square, Stop

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from yieldplan.model import Billet, CutBlank, Row, Shop, Stick, Wood
    from yieldplan.model.section import Section as Sizes
    from yieldplan.order.data import Mark, Span

WET = 15
"""Per cent of moisture above which sawn wood rests before it is planed: common practice, no source."""

THICK = 2 * INCH
"""Stock thicker than this rests overnight: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sawn:
    """A stick as it comes from the saws: its places in the first and the second row of its billet, its planed sizes."""

    board: str
    name: str
    billet: Billet
    wood: Wood
    rows: tuple[Row, Row]
    at: tuple[int, int]
    sizes: Sizes

    @property
    def stick(self) -> Stick:
        """It as the plan has it."""
        return self.billet.strips[self.at[0]].sticks[self.at[1]]

    @property
    def along(self) -> Span:
        """From where to where along the offcut."""
        return self.billet.start, self.billet.end

    @property
    def yz(self) -> tuple[Span, Span]:
        """From where to where across y and across z, in the box."""
        first, second = (row.spans[place] for row, place in zip(self.rows, self.at, strict=True))
        return (first, second) if self.billet.rip_first else (second, first)

    @property
    def flat(self) -> tuple[tuple[int, bool], tuple[int, bool]]:
        """Its sizes across the blanks' width and thickness, each with whether the near side is jointed."""
        first, second = (_side(row, place) for row, place in zip(self.rows, self.at, strict=True))
        return (first, second) if self.billet.rip_first != self.stick.turned else (second, first)


def _side(row: Row, place: int) -> tuple[int, bool]:
    """Return the size of a piece of a row as it comes from the saw, and whether its near side is jointed.

    Where it was not sawn off, its far side is still rough, and the planer takes what is left there.
    """
    start, end = row.spans[place]
    sawn_off = any(sawn.piece == place and not sawn.odd for sawn in row.passes)
    return (end if sawn_off else row.end) - start, row.near_is_jointed(row.spans[place])


def planing(sticks: Sequence[Sawn]) -> Iterator[Plane]:
    """Yield the planing of a billet's sticks; neighbours that are planed alike are one step."""
    offcut = sticks[0].wood.offcut
    wet = offcut.moisture is not None and offcut.moisture > WET

    def alike(sawn: Sawn) -> tuple[int, int, int, int, bool]:
        (width, _), (thickness, _) = sawn.flat
        thin = 2 * (width if sawn.stick.turned else thickness) < offcut.thickness
        return width, sawn.sizes.planed_width, thickness, sawn.sizes.planed_thickness, thin

    for (width, planed_width, thickness, planed_thickness, thin), group in groupby(sticks, key=alike):
        own = list(group)
        wide, thick = (tuple(sawn.name for sawn in own if not sawn.flat[axis][1]) for axis in range(2))
        yield Plane(
            board=own[0].board,
            sticks=tuple(sawn.name for sawn in own),
            width=Planed(before=width, to=planed_width, sawn=wide),
            thickness=Planed(before=thickness, to=planed_thickness, sawn=thick),
            rest=wet or thin,
            overnight=offcut.thickness > THICK,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """How the sticks of a billet are cut to length.

    ``kept`` names a leftover of a stick, or is :data:`WASTE`; ``clear`` says at which end a blank is clear, if it asks;
    ``mark`` takes the mark of the next blank of its kind, if it is made in pairs.
    """

    shop: Shop
    kept: Callable[[Sawn, Span], str]
    clear: Callable[[CutBlank], str]
    mark: Callable[[CutBlank], tuple[Mark, ...]]

    def steps(self, sticks: Sequence[Sawn]) -> Iterator[Square | Stop]:
        """Yield the squaring and the stops of the sticks; neighbours that are cut alike are cut as one."""
        for _, group in groupby(sticks, key=_alike):
            own = list(group)
            begin, first = own[0].billet.start, own[0].stick.blanks[0].start
            yield Square(
                board=own[0].board,
                sticks=tuple(sawn.name for sawn in own),
                cut=first - begin,
                kept=self._names(own, (begin, first - self.shop.crosscut_kerf)),
            )
            yield from self._stops(own)

    def _names(self, sticks: Sequence[Sawn], gap: Span) -> tuple[str, ...]:
        names = tuple(self.kept(sawn, gap) for sawn in sticks)
        return names if WASTE not in names else ()

    def _stops(self, sticks: Sequence[Sawn]) -> Iterator[Stop]:
        """Yield the stops of sticks that are cut alike; like blanks in a row are one step."""
        one, kerf = sticks[0], self.shop.crosscut_kerf
        blanks, end = one.stick.blanks, one.billet.end
        befores = [blanks[0].start, *(cut.end + kerf for cut in blanks)]
        skips = [cut.start - before for cut, before in zip(blanks, befores, strict=False)]

        def run(place: int) -> tuple[str, int, str, int]:
            cut = blanks[place]
            return (
                cut.blank,
                cut.end - cut.start,
                self.clear(cut),
                sum(skip > 0 for skip in skips[: place + 1]),
            )

        for (blank, stop, clear, _), group in groupby(range(len(blanks)), key=run):
            places = list(group)
            here, last = places[0], places[-1]
            cuts = [sawn.stick.blanks[place] for sawn in sticks for place in places]
            before, start = befores[here], blanks[here].start
            yield Stop(
                board=one.board,
                sticks=tuple(sawn.name for sawn in sticks),
                blank=blank,
                stop=stop,
                each=len(places),
                clear=clear,
                spare=sum(cut.spare for cut in cuts),
                skip=skips[here],
                skipped=self._names(sticks, (before, start - kerf)) if skips[here] else (),
                rest=self._names(sticks, (befores[last + 1], end)) if last + 1 == len(blanks) else (),
                marks=tuple(mark for cut in cuts for mark in self.mark(cut)),
            )


def _alike(sawn: Sawn) -> tuple[object, ...]:
    begin, end = sawn.along
    cuts = ((cut.blank, cut.start - begin, cut.end - begin, cut.clear_end) for cut in sawn.stick.blanks)
    return (end - begin, sawn.sizes.planed_width, sawn.sizes.planed_thickness, *cuts)
