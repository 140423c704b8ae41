"""From a sawn stick to its blanks: planed on edge and flat, squared at end A, cut to the stop one after the other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.order.data import SPARE, WASTE, Line
from yieldplan.order.flags import crosscut_flags, edge_planing_flags, flat_planing_flags
from yieldplan.order.schedule import Cut

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import CutBlank, Row, Stick
    from yieldplan.model import Section as Sizes
    from yieldplan.order.data import Span

SOUND = "sound end "


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """A stick across y or z as it comes from the saws: its size (steps), and what lies on the planer's table first."""

    size: int
    down: str


def side_of(row: Row, place: int) -> Side:
    """Return a piece of a row as it comes from the saw; where it was not sawn off, its far side is still rough."""
    start, end = row.spans[place]
    word = "edge" if row.axis == "y" else "face"
    here = row.spans[place - 1][1] + row.kerf if place else 0
    cleared = any(sawn.piece == place and sawn.odd and sawn.at > 0 for sawn in row.passes)
    sawn_off = any(sawn.piece == place and not sawn.odd for sawn in row.passes)
    near_sawn = cleared or (place > 0 and start == here)  # what was jointed off is true
    if not near_sawn or row.machine == "bandsaw":
        down = f"jointed {word} down"
    elif sawn_off:
        down = f"either sawn {word} down, then turn it over"
    else:
        down = f"sawn {word} down"
    return Side(size=(end if sawn_off else row.end) - start, down=down)


@dataclass(frozen=True, slots=True, kw_only=True)
class StickWork:
    """A stick of a billet: its board's and its own name, its sides across y and z, and what it is planed to."""

    root: str
    name: str
    stick: Stick
    y: Side
    z: Side
    sizes: Sizes
    along: Span

    def planing(self) -> tuple[Cut, Cut]:
        """Return the two planing lines: to its width on edge, to its thickness flat."""
        wide, thick = (self.z, self.y) if self.stick.turned else (self.y, self.z)
        width, thickness = self.sizes.planed_width, self.sizes.planed_thickness
        length = self.along[1] - self.along[0]
        found = []
        for side, size, flags in (
            (wide, width, edge_planing_flags(length, width, thick.size)),
            (thick, thickness, flat_planing_flags(length, thickness)),
        ):
            line = Line(
                root=self.root, piece=self.name, where=side.down, size=size, before=side.size, flags=flags
            )
            found.append(Cut(setting=size, line=line))
        return found[0], found[1]

    def squaring(self, kerf: int, kept: Callable[[Span], str]) -> Cut:
        """Return the cut that squares end A: behind it, at ``size`` from there, the first blank begins."""
        begin, start = self.along[0], self.stick.blanks[0].start
        line = Line(
            root=self.root,
            piece=self.name,
            where="end A",
            size=start - begin,
            gives=() if (found := kept((begin, start - kerf))) == WASTE else (found,),
            flags=crosscut_flags(self.along[1] - start),
        )
        return Cut(setting=None, line=line)

    def to_length(
        self, kerf: int, kept: Callable[[Span], str], clear: Callable[[CutBlank], str]
    ) -> list[Cut]:
        """Return the cuts that free its blanks one after the other; like blanks in a row are one line.

        Where a blank does not begin at the cut before, the stick is marked and cut there first.
        """
        cuts: list[Cut] = []
        blanks = self.stick.blanks
        for number, cut in enumerate(blanks):
            here = blanks[number - 1].end + kerf if number else cut.start
            if cut.start > here:
                line = Line(
                    root=self.root,
                    piece=self.name,
                    where="mark from the fresh end",
                    size=cut.start - here,
                    gives=(kept((here, cut.start - kerf)),),
                    rest=self.name,
                )
                cuts.append(Cut(setting=cut.end - cut.start, line=line))  # the stop may stay where it is
            last = number == len(blanks) - 1
            rest = kept((cut.end + kerf, self.along[1])) if last else self.name
            length, end = cut.end - cut.start, clear(cut)
            notes = [*([SPARE] if cut.spare else []), *([SOUND + end] if end else [])]
            line = Line(
                root=self.root,
                piece=self.name,
                where="squared end",
                size=length,
                rest=rest,
                blank=cut.blank,
                flags=crosscut_flags(length),
                note=", ".join(notes),
            )
            before = cuts[-1] if cuts else None
            if before is not None and _alike(before.line, line):
                more = replace(before.line, times=before.line.times + 1, rest=rest)
                cuts[-1] = replace(before, line=more)
            else:
                cuts.append(Cut(setting=length, line=line))
        return cuts


def _alike(one: Line, other: Line) -> bool:
    return (one.size, one.blank, one.note) == (other.size, other.blank, other.note)
