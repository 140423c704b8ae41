"""From sawn sticks to blanks: planed on edge and flat, squared at end A, cut to the stop one after the other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.model.shop import INCH
from yieldplan.order.data import WASTE, Plane, Planed, Square, Stop

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from yieldplan.model import Billet, CutBlank, Row, Shop, Stick, Wood
    from yieldplan.model import Section as Sizes
    from yieldplan.order.data import Mark, Span

WET = 15
"""Per cent of moisture above which sawn wood rests before it is planed: common practice, no source."""

THICK = 2 * INCH
"""Stock thicker than this rests overnight: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """A stick across one axis as it comes from the saws: its size (steps), whether its near side is jointed."""

    size: int
    jointed: bool


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
    def flat(self) -> tuple[Side, Side]:
        """Its sides across the blanks' width and thickness."""
        first, second = (_side(row, place) for row, place in zip(self.rows, self.at, strict=True))
        return (first, second) if self.billet.rip_first != self.stick.turned else (second, first)


def _side(row: Row, place: int) -> Side:
    """Return a piece of a row as it comes from the saw.

    Where it was not sawn off, its far side is still rough, and the planer takes what is left there.
    """
    start, end = row.spans[place]
    sawn_off = any(sawn.piece == place and not sawn.odd for sawn in row.passes)
    return Side(size=(end if sawn_off else row.end) - start, jointed=row.near_is_jointed(place))


def planing(sticks: Sequence[Sawn]) -> Iterator[Plane]:
    """Yield the planing of a billet's sticks; neighbours that are planed alike are one step."""
    for (width, thickness, rest, overnight), group in groupby(sticks, key=_planed):
        own = list(group)
        wide, thick = (tuple(sawn.name for sawn in own if not sawn.flat[axis].jointed) for axis in range(2))
        yield Plane(
            board=own[0].board,
            sticks=tuple(sawn.name for sawn in own),
            width=replace(width, sawn=wide),
            thickness=replace(thickness, sawn=thick),
            rest=rest,
            overnight=overnight,
        )


def _planed(sawn: Sawn) -> tuple[Planed, Planed, bool, bool]:
    """Return what a stick is planed from and to on edge and flat, whether it rests before, whether for a night."""
    offcut = sawn.wood.offcut
    wet = offcut.moisture is not None and offcut.moisture > WET
    width, thickness = sawn.flat
    deep = (thickness, width)[sawn.stick.turned].size
    return (
        Planed(before=width.size, to=sawn.sizes.planed_width),
        Planed(before=thickness.size, to=sawn.sizes.planed_thickness),
        wet or 2 * deep < offcut.thickness,
        offcut.thickness > THICK,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """How the sticks of a billet are cut to length.

    ``kept`` names a leftover of a stick, or is :data:`WASTE`; ``sound`` says at which end a blank is sound, if it asks;
    ``mark`` takes the mark of the next blank of its kind, if it is made in pairs.
    """

    shop: Shop
    kept: Callable[[Sawn, Span], str]
    sound: Callable[[CutBlank], str]
    mark: Callable[[CutBlank], tuple[Mark, ...]]

    def steps(self, sticks: Sequence[Sawn]) -> Iterator[tuple[Square, tuple[Stop, ...]]]:
        """Yield the squaring and the stops of the sticks; neighbours that are cut alike are cut as one."""
        for _, group in groupby(sticks, key=_alike):
            (square, stops), *more = (self._of_one(sawn) for sawn in group)
            for other, others in more:
                square = replace(square, sticks=square.sticks + other.sticks, kept=square.kept + other.kept)
                stops = tuple(map(_joined, stops, others))
            yield square, stops

    def _named(self, sawn: Sawn, gap: Span) -> tuple[str, ...]:
        name = self.kept(sawn, gap)
        return () if name == WASTE else (name,)

    def _of_one(self, sawn: Sawn) -> tuple[Square, tuple[Stop, ...]]:
        """Return the squaring and the stops of one stick; like blanks in a row are one step."""
        blanks, kerf = sawn.stick.blanks, self.shop.crosscut_kerf
        (begin, end), names = sawn.along, (sawn.name,)
        here = blanks[0].start
        square = Square(
            board=sawn.board, sticks=names, cut=here - begin, kept=self._named(sawn, (begin, here - kerf))
        )
        stops: list[Stop] = []
        for cut in blanks:
            skip = cut.start - here
            stop = Stop(
                board=sawn.board,
                sticks=names,
                blank=cut.blank,
                stop=cut.end - cut.start,
                each=1,
                sound=self.sound(cut),
                spare=int(cut.spare),
                marks=self.mark(cut),
                skip=skip,
                skipped=self._named(sawn, (here, cut.start - kerf)) if skip else (),
                rest=self._named(sawn, (cut.end + kerf, end)) if cut == blanks[-1] else (),
            )
            here = cut.end + kerf
            before = stops[-1] if stops else None
            if before is None or skip or not _same(before, stop):
                stops.append(stop)
            else:
                stops[-1] = replace(
                    before,
                    each=before.each + 1,
                    spare=before.spare + stop.spare,
                    rest=stop.rest,
                    marks=before.marks + stop.marks,
                )
        return square, tuple(stops)


def _alike(sawn: Sawn) -> tuple[object, ...]:
    begin, end = sawn.along
    cuts = ((cut.blank, cut.start - begin, cut.end - begin, cut.clear_end) for cut in sawn.stick.blanks)
    return (end - begin, sawn.sizes.planed_width, sawn.sizes.planed_thickness, *cuts)


def _same(one: Stop, other: Stop) -> bool:
    return (one.stop, one.blank, one.sound) == (other.stop, other.blank, other.sound)


def _joined(one: Stop, other: Stop) -> Stop:
    return replace(
        one,
        sticks=one.sticks + other.sticks,
        spare=one.spare + other.spare,
        skipped=one.skipped + other.skipped,
        rest=one.rest + other.rest,
        marks=one.marks + other.marks,
    )
