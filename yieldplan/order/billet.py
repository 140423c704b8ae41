"""What a billet becomes: the names of its parts, the cuts that part them, and the sticks with their sides."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.model import planed_section
from yieldplan.order.data import Machine, Stage
from yieldplan.order.marks import stick_mark
from yieldplan.order.row import Cut, Part, Row, row_cuts

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from yieldplan.model import Billet, Blank, Offcut, Shop, Stick, Strip
    from yieldplan.order.figures import Grid


@dataclass(frozen=True, slots=True, kw_only=True)
class Sawing:
    """The cuts of one row, with the machine that makes them."""

    stage: Stage
    machine: Machine
    cuts: tuple[Cut, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """A stick across y or z: its place in the box, and how it comes from the saw to the planer.

    Attributes
    ----------
    start, end
        The plan's interval, steps.
    size
        As it leaves the saw, a shown figure.
    down
        What lies on the planer's table first.
    shave
        How much has to come off the jointed face before all else: a sliver too thin to be sawn off.
    """

    start: int
    end: int
    size: int
    down: str
    shave: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class StickWork:
    """A stick that carries blanks: its mark, the plan's stick, and its sides across y and z."""

    mark: str
    strip_mark: str
    stick: Stick
    y: Side
    z: Side


@dataclass(frozen=True, slots=True, kw_only=True)
class KeeperWork:
    """A strip, layer or stick that goes back on the rack, with its intervals across y and z (steps)."""

    mark: str
    y: tuple[int, int]
    z: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class BilletWork:
    """A billet's whole way through the saws."""

    mark: str
    sawings: tuple[Sawing, ...]
    sticks: tuple[StickWork, ...]
    keepers: tuple[KeeperWork, ...]
    strips: tuple[tuple[str, Strip], ...]
    needs: tuple[int, int]
    """What the box must reach across y and z for all sticks with blanks (steps)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Across:
    """One axis of a billet's box: its depth, and whether its far side is an edge (trimmed) or a face."""

    edge: bool
    depth: int


class BilletPlanner:
    """Works billets out for one shop and one batch."""

    def __init__(self, shop: Shop, grid: Grid, blanks: Mapping[str, Blank]) -> None:
        self.shop, self.grid, self.blanks = shop, grid, blanks

    def work(self, offcut: Offcut, billet: Billet, mark: str) -> BilletWork:
        """Return what ``billet``, the segment ``mark`` of ``offcut``, becomes."""
        rip_first = billet.layout == "rip first"
        across_y = _Across(edge=True, depth=offcut.width - billet.edge_loss)
        across_z = _Across(edge=False, depth=offcut.thickness - billet.face_loss)
        outer, inner = (across_y, across_z) if rip_first else (across_z, across_y)
        marks = [f"{mark}{number}" for number in range(1, len(billet.strips) + 1)]
        rows = [
            self._inner(offcut, strip, name, inner, rip_first)
            for strip, name in zip(billet.strips, marks, strict=True)
        ]
        born = [_born(row, cuts) for row, cuts in rows]
        whole = self._row(
            tuple(
                self._outer_part(offcut, strip, name, rip_first)
                for strip, name in zip(billet.strips, born, strict=True)
            ),
            outer,
            mark,
            offcut.thickness if rip_first else offcut.width,
            lambda low, high: f"{mark}{low + 1}-{high + 1}",
        )
        cuts = row_cuts(whole)
        first = Stage.RIP if rip_first else Stage.RESAW_BILLETS
        second = Stage.RESAW_STRIPS if rip_first else Stage.RIP
        sawings = [self._sawing(first, offcut.thickness if rip_first else offcut.width, cuts)]
        sticks: list[StickWork] = []
        keepers: list[KeeperWork] = []
        for index, (strip, (row, inner_cuts)) in enumerate(zip(billet.strips, rows, strict=True)):
            outer_side = self._side(whole, index, cuts, edge=outer.edge)
            sawings.append(self._sawing(second, strip.end - strip.start, inner_cuts))
            if strip.keeper:
                keepers.append(_keeper(marks[index], (strip.start, strip.end), (0, inner.depth), rip_first))
            for place, stick in enumerate(strip.sticks):
                own = self._side(row, place, inner_cuts, edge=inner.edge)
                name = row.parts[place].mark
                if stick.keeper:
                    keepers.append(
                        _keeper(name, (strip.start, strip.end), (stick.start, stick.end), rip_first)
                    )
                else:
                    y, z = (outer_side, own) if rip_first else (own, outer_side)
                    sticks.append(StickWork(mark=name, strip_mark=marks[index], stick=stick, y=y, z=z))
        return BilletWork(
            mark=_born(whole, cuts),
            sawings=tuple(sawing for sawing in sawings if sawing.cuts),
            sticks=tuple(sticks),
            keepers=tuple(keepers),
            strips=tuple(zip(marks, billet.strips, strict=True)),
            needs=(max((s.y.end for s in sticks), default=0), max((s.z.end for s in sticks), default=0)),
        )

    def planed(self, offcut: Offcut, stick: Stick) -> tuple[int, int]:
        """Return the sizes across y and across z that a stick is planed to (0, 0 for a keeper stick)."""
        if not stick.blanks:
            return 0, 0
        blank = self.blanks[stick.blanks[0].blank]
        flat = planed_section(offcut, blank, self.shop, turned=stick.turned)
        return flat[::-1] if stick.turned else flat

    def _inner(
        self, offcut: Offcut, strip: Strip, mark: str, across: _Across, rip_first: bool
    ) -> tuple[Row, tuple[Cut, ...]]:
        parts = tuple(
            Part(
                start=stick.start,
                end=stick.end,
                size=self._size(stick.end - stick.start, self.planed(offcut, stick)[1 if rip_first else 0]),
                mark=mark + stick_mark(number),
                keeper=stick.keeper,
                shared=not stick.keeper,
            )
            for number, stick in enumerate(strip.sticks, 1)
        )
        row = self._row(
            parts,
            across,
            mark,
            strip.end - strip.start,
            lambda low, high: f"{mark}{stick_mark(low + 1)}-{stick_mark(high + 1)}",
        )
        return row, row_cuts(row)

    def _outer_part(self, offcut: Offcut, strip: Strip, mark: str, rip_first: bool) -> Part:
        planed = max((self.planed(offcut, stick)[0 if rip_first else 1] for stick in strip.sticks), default=0)
        blanks = any(stick.blanks for stick in strip.sticks)
        return Part(
            start=strip.start,
            end=strip.end,
            size=self._size(strip.end - strip.start, planed),
            mark=mark,
            keeper=not blanks,
            shared=blanks,
        )

    def _size(self, rough: int, planed: int) -> int:
        return self.grid.rough(rough, planed)

    def _row(
        self,
        parts: tuple[Part, ...],
        across: _Across,
        mark: str,
        height: int,
        group: Callable[[int, int], str],
    ) -> Row:
        return Row(
            parts=parts,
            depth=across.depth,
            mark=mark,
            kerf=self.shop.kerf_at(height),
            trim=across.edge,
            grid=self.grid,
            group=group,
        )

    def _sawing(self, stage: Stage, height: int, cuts: tuple[Cut, ...]) -> Sawing:
        machine = Machine.TABLE_SAW if height <= self.shop.saw_depth else Machine.BANDSAW
        return Sawing(stage=stage, machine=machine, cuts=cuts)

    def _side(self, row: Row, index: int, cuts: tuple[Cut, ...], *, edge: bool) -> Side:
        part = row.parts[index]
        rough = index == len(row.parts) - 1 and _leaves_rough(row, cuts)
        word = "edge" if edge else "face"
        shave = 0
        if index == 0 and not edge and self.grid.step <= part.start < (row.kerf or 0):
            shave = part.start
            down = (
                "jointed face down until the other is flat, then turn it over" if rough else "sawn face down"
            )
        elif part.start < self.grid.step:
            down = f"jointed {word} down"
        else:
            down = f"sawn {word} down" if rough else f"either sawn {word} down, then turn it over"
        size = part.size
        if rough or shave:
            size = self.grid.down((row.depth if rough else part.end) - (part.start - shave))
        return Side(start=part.start, end=part.end, size=max(size, part.size), down=down, shave=shave)


def _born(row: Row, cuts: tuple[Cut, ...]) -> str:
    """Return the mark that the piece a row is cut from gets: a single part's, where no cut follows."""
    return row.mark if cuts or len(row.parts) != 1 else row.parts[0].mark


def _leaves_rough(row: Row, cuts: tuple[Cut, ...]) -> bool:
    """Return whether the far side of a row's last part is left as it came from the offcut."""
    closed = any(cut.gives == (row.mark,) for cut in cuts)
    return not closed and (not cuts or any(cut.rest == row.parts[-1].mark for cut in cuts))


def _keeper(mark: str, outer: tuple[int, int], inner: tuple[int, int], rip_first: bool) -> KeeperWork:
    return KeeperWork(mark=mark, y=outer if rip_first else inner, z=inner if rip_first else outer)
