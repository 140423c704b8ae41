"""From sawn sticks to blanks: planed on edge and flat, squared at end A, cut to the stop one after the other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.model.shop import INCH
from yieldplan.order.data import WASTE, Plane, Planed, Square, Stop

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from yieldplan.model import CutBlank, Row, Shop, Stick, Wood
    from yieldplan.model import Section as Sizes
    from yieldplan.order.data import Span

WET = 15
"""Per cent of moisture above which sawn wood rests before it is planed: common practice, no source."""

THICK = 2 * INCH
"""Stock thicker than this rests overnight: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sawn:
    """A stick as it comes from the saws: its name, its size and what lies down on either axis, its planed sizes."""

    name: str
    stick: Stick
    wood: Wood
    y: tuple[int, str]
    z: tuple[int, str]
    sizes: Sizes
    along: Span


def side_of(row: Row, place: int) -> tuple[int, str]:
    """Return a piece's size (steps) as it comes from its row, and which side lies on the planer's table first.

    Where it was not sawn off, its far side is still rough, and the planer takes what is left there.
    """
    start, end = row.spans[place]
    word = "edge" if row.axis == "y" else "face"
    here = row.spans[place - 1][1] + row.kerf if place else 0
    cleared = any(sawn.piece == place and sawn.odd and sawn.at > 0 for sawn in row.passes)
    sawn_off = any(sawn.piece == place and not sawn.odd for sawn in row.passes)
    near_sawn = cleared or (place > 0 and start == here)  # what was jointed off is true
    size = (end if sawn_off else row.end) - start
    if not near_sawn or row.machine == "bandsaw":
        return size, f"jointed {word}"
    return size, f"either sawn {word}" if sawn_off else f"sawn {word}"


def planing(board: str, sticks: Sequence[Sawn]) -> Iterator[Plane]:
    """Yield the planing of a billet's sticks; like ones one after another are one step."""
    for key, group in groupby(sticks, key=_planed):
        width, thickness, rest, overnight = key
        names = tuple(sawn.name for sawn in group)
        yield Plane(
            board=board, sticks=names, width=width, thickness=thickness, rest=rest, overnight=overnight
        )


def _planed(sawn: Sawn) -> tuple[Planed, Planed, bool, bool]:
    wide, thick = (sawn.z, sawn.y) if sawn.stick.turned else (sawn.y, sawn.z)
    offcut = sawn.wood.offcut
    wet = offcut.moisture is not None and offcut.moisture > WET
    return (
        Planed(before=wide[0], to=sawn.sizes.planed_width, down=wide[1]),
        Planed(before=thick[0], to=sawn.sizes.planed_thickness, down=thick[1]),
        wet or 2 * sawn.z[0] < offcut.thickness,
        offcut.thickness > THICK,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """How the sticks of a billet are cut to length; ``kept`` names a leftover of the stick so named, or ``"waste"``."""

    board: str
    shop: Shop
    kept: Callable[[Sawn, Span], str]
    sound: Callable[[CutBlank], str]

    def steps(self, sticks: Sequence[Sawn]) -> Iterator[tuple[Square, tuple[Stop, ...]]]:
        """Yield the squaring and the stops of the sticks; neighbours that are cut alike are cut as one."""
        for _, group in groupby(sticks, key=_alike):
            parts = [self._of_one(sawn) for sawn in group]
            square, stops = parts[0]
            for more, others in parts[1:]:
                square = replace(square, sticks=square.sticks + more.sticks, kept=square.kept + more.kept)
                stops = tuple(
                    replace(
                        stop,
                        sticks=stop.sticks + other.sticks,
                        skipped=stop.skipped + other.skipped,
                        rest=stop.rest + other.rest,
                    )
                    for stop, other in zip(stops, others, strict=True)
                )
            yield square, stops

    def _named(self, sawn: Sawn, gap: Span) -> tuple[str, ...]:
        name = self.kept(sawn, gap)
        return () if name == WASTE else (name,)

    def _of_one(self, sawn: Sawn) -> tuple[Square, tuple[Stop, ...]]:
        """Return the squaring and the stops of one stick; like blanks in a row are one step."""
        blanks, kerf = sawn.stick.blanks, self.shop.crosscut_kerf
        begin, end = sawn.along
        names = (sawn.name,)
        square = Square(
            board=self.board,
            sticks=names,
            cut=blanks[0].start - begin,
            kept=self._named(sawn, (begin, blanks[0].start - kerf)),
        )
        stops: list[Stop] = []
        here = blanks[0].start
        for number, cut in enumerate(blanks):
            skip = cut.start - here
            last = number == len(blanks) - 1
            stop = Stop(
                board=self.board,
                sticks=names,
                blank=cut.blank,
                stop=cut.end - cut.start,
                each=1,
                sound=self.sound(cut),
                spare=cut.spare,
                skip=skip,
                skipped=self._named(sawn, (here, cut.start - kerf)) if skip else (),
                rest=self._named(sawn, (cut.end + kerf, end)) if last else (),
            )
            before = stops[-1] if stops else None
            if before is not None and not skip and _same(before, stop):
                stops[-1] = replace(before, each=before.each + 1, rest=stop.rest)
            else:
                stops.append(stop)
            here = cut.end + kerf
        return square, tuple(stops)


def _alike(sawn: Sawn) -> tuple[object, ...]:
    begin, end = sawn.along
    cuts = (
        (cut.blank, cut.spare, cut.start - begin, cut.end - begin, cut.clear_end) for cut in sawn.stick.blanks
    )
    return (end - begin, sawn.sizes.planed_width, sawn.sizes.planed_thickness, *cuts)


def _same(one: Stop, other: Stop) -> bool:
    return (one.stop, one.blank, one.sound, one.spare) == (other.stop, other.blank, other.sound, other.spare)
