"""Strips across a billet, sticks across a strip: one layout of a billet or half, for the enumeration (:mod:`brute`)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from brute_rows import Labels, Piece, Row

if TYPE_CHECKING:
    from collections.abc import Iterator

    from brute_bench import Bench, Machine

Span = tuple[int, int]


def meet(one: Span, other: Span) -> bool:
    """Return whether two open intervals overlap."""
    return one[0] < other[1] and other[0] < one[1]


class Group(NamedTuple):
    """Blanks that one stick may carry: kinds, how it lies, planed section and rough sizes across y and z (marks)."""

    kinds: tuple[int, ...]
    turned: bool
    planed: Span
    rough: Span
    mask: int


class Flaw(NamedTuple):
    """What some blanks may not meet: a defect (by number), or where rings do not suit kinds that lie so."""

    y: Span
    z: Span
    defect: int = -1
    kind: int = -1
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Milled:
    """What is jointed as one piece: from where across y of the offcut, and how wide (marks)."""

    low: int
    width: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """What a billet or half is sawn from, in marks.

    Attributes
    ----------
    rough, size
        Across y and across z: before jointing and after.
    kept
        Its length if a leftover of that length may be a keeper, else 0.
    flaws
        What stands in the way in it.
    sticks
        What a stick of a group carries that meets certain defects.
    """

    rough: Span
    size: Span
    kept: int
    flaws: tuple[Flaw, ...]
    sticks: dict[tuple[int, frozenset[int]], Labels]


class Layout:
    """A billet or half sawn one way: strips across the first axis, sticks across the second."""

    def __init__(self, bench: Bench, groups: tuple[Group, ...], box: Box, *, rip_first: bool) -> None:
        self.bench, self.tally, self.groups, self.box, self.rip_first = (
            bench,
            bench.tally,
            groups,
            box,
            rip_first,
        )
        self.first, self.second = box.size if rip_first else box.size[::-1]
        self.other_rough, height = box.rough if rip_first else box.rough[::-1]
        self.machine = bench.saw(height, resaw=not rip_first)
        self.kerf = bench.kerf(self.machine)
        self.off = bench.marks("plane_off")
        self.by_first: dict[int, list[int]] = {}
        for number, group in enumerate(groups):
            self.by_first.setdefault(self._sizes(group)[0], []).append(number)
        assert not self.by_first or min(self.by_first) > self.off, "two pieces in what the planer takes"
        self._strips: dict[tuple[object, ...], Labels] = {}

    def _sizes(self, group: Group) -> Span:
        return group.rough if self.rip_first else group.rough[::-1]

    def _axes(self, flaw: Flaw) -> tuple[Span, Span]:
        return (flaw.y, flaw.z) if self.rip_first else (flaw.z, flaw.y)

    def add_to(self, found: Labels) -> None:
        """Add all that this layout gives."""
        bench = self.bench
        odd = 0 if self.machine is None else bench.sawing(self.machine) + bench.setting
        row = Row(
            self.tally,
            self.first,
            self.first,
            self.kerf,
            self._pieces,
            lambda size: bench.keeps(self.box.kept, size, self.second),
            apart=odd,
        )
        name = "rip first" if self.rip_first else "resaw first"
        for blanks, labels in row.opened(0, 0, self.kerf, (0, odd)).items():
            for mask, cost, parts in labels:
                self.tally.put(found, blanks, (mask, cost + bench.billet, (name, parts)))

    def _pieces(self, start: int) -> Iterator[Piece]:
        bench = self.bench
        for size in self.by_first:
            end = start + size
            if end > self.first:
                continue
            sawn = self.first - end > self.off
            alone = (
                not sawn and start <= self.kerf
            )  # no pass in the whole first row: the second counts as the first
            if self.machine is None and not alone:
                continue
            machine = bench.saw(size if sawn else self.other_rough - start, resaw=self.rip_first)
            hit = tuple(flaw for flaw in self.box.flaws if meet(self._axes(flaw)[0], (start, end)))
            key = size, machine, alone, hit
            if key not in self._strips:
                self._strips[key] = self._strip(size, machine, 1 if alone else 2, hit)
            mask = bench.bit(1, self.machine, size) if sawn else 0
            yield Piece(size, self._strips[key], bench.sawing(self.machine) if sawn else 0, mask, size)

    def _strip(self, size: int, machine: Machine | None, number: int, hit: tuple[Flaw, ...]) -> Labels:
        bench = self.bench
        odd = 0 if machine is None else bench.sawing(machine) + bench.setting

        def pieces(start: int) -> Iterator[Piece]:
            for group in self.by_first[size]:
                second = self._sizes(self.groups[group])[1]
                end = start + second
                sawn = self.second - end > self.off
                if end > self.second or (machine is None and (sawn or start)):
                    continue
                flaws = [flaw for flaw in hit if meet(self._axes(flaw)[1], (start, end))]
                mask = bench.bit(number, machine, second) if sawn else 0
                labels = self._stick(group, flaws)
                yield Piece(
                    second,
                    labels,
                    bench.stick + bench.cut + (bench.sawing(machine) if sawn else 0),
                    mask,
                    (group, second),
                )

        kerf = bench.kerf(machine)
        row = Row(
            self.tally,
            self.second,
            self.second,
            kerf,
            pieces,
            lambda gap: bench.keeps(self.box.kept, gap, size),
            apart=odd,
        )
        return row.opened(0, 0, kerf, (0, odd))

    def _stick(self, group: int, flaws: list[Flaw]) -> Labels:
        labels = self.box.sticks[group, frozenset(flaw.defect for flaw in flaws if flaw.defect >= 0)]
        turned = self.groups[group].turned
        barred = sum(
            255 << 8 * kind for kind in {f.kind for f in flaws if f.kind >= 0 and f.turned == turned}
        )
        return {blanks: row for blanks, row in labels.items() if not blanks & barred} if barred else labels
