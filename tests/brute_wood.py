"""What one offcut gives: every cutting of it, in marks, worked out from the rules alone (R1 to R11).

A stick's blanks, a strip's sticks, a billet's strips and an offcut's billets are four rows (:mod:`brute_rows`), one
inside the other. What lies in a billet does not rest on where it lies: billets of one length share it as long as no
defect lies in them. So a stick in a strip is remembered by what it gives and costs, and its blanks are found again at
the very end.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import brute_places as places
from brute_bench import worth
from brute_rows import Labels, Piece, Row
from brute_sawing import Box, Layout, Milled, meet
from brute_stock import Stock

if TYPE_CHECKING:
    from collections.abc import Iterator

    from brute_bench import Bench
    from brute_sawing import Flaw

    from yieldplan.model import Offcut

Span = tuple[int, int]


class Cutter:
    """All cuttings of one offcut."""

    def __init__(self, bench: Bench, offcut: Offcut) -> None:
        self.bench, self.stock, self.tally = bench, Stock(bench, offcut), bench.tally
        self.length = self.stock.length
        self._sticks: dict[tuple[int, int, frozenset[int]], Row] = {}
        self._carried: dict[tuple[int, int, int, frozenset[int]], Labels] = {}
        self._same: dict[Any, int] = {}
        self._layouts: dict[Any, Labels] = {}
        self._splits: dict[tuple[tuple[int, int], ...], Labels] = {}
        self._clean: dict[tuple[Milled, int, int], Labels] = {}

    # Blanks along a stick (R8, R9)

    def stick(self, start: int, end: int, group: int, met: frozenset[int]) -> Labels:
        """Return what a stick of a billet from ``start`` to ``end`` carries; ``met`` are the defects in its section."""
        met = frozenset(n for n in met if meet(self.stock.faults[n].x, (start, end)))
        if not met:  # all clean sticks are cut from the end of one
            start, end = self.length - (end - start), self.length
        key = start, end, group, met
        if key not in self._carried:
            row = self._sticks.get(key[1:])
            if row is None:
                row = self._sticks[key[1:]] = self._stick_row(end, group, met)
            self._carried[key] = row.opened(start, start + self.bench.marks("stick_trim"), -1, (0, 0))
        return self._carried[key]

    def moved(self, span: Span, met: frozenset[int]) -> int:
        """Return how far a stick's blanks lie from where :meth:`stick` has them: clean sticks end with the offcut."""
        return 0 if any(meet(self.stock.faults[n].x, span) for n in met) else span[1] - self.length

    def _stick_row(self, end: int, group: int, met: frozenset[int]) -> Row:
        bench = self.bench
        kinds, _, planed, _, mask = self.stock.groups[group]
        one = {kind: {1 << 8 * kind: [(mask, 0, None)]} for kind in kinds}

        def pieces(place: int) -> Iterator[Piece]:
            for kind in kinds:
                clear = self.stock.clear_end(kind, place, met)
                if clear:
                    yield Piece(bench.sizes[kind], one[kind], bench.cut, 0, (kind, clear))

        return Row(
            self.tally,
            end,
            end - bench.marks("stick_trim"),
            bench.marks("crosscut_kerf"),
            pieces,
            lambda size: bench.keeps(size, *planed),
            apart=bench.cut,
        )

    # Sticks and strips across a billet (R3 to R5)

    def contents(self, wood: Milled, start: int, end: int) -> Labels:
        """Return what a billet, or a half of one, may hold; its parts are (layout, row of strips)."""
        if wood.width > self.bench.marks("jointer_width"):
            return {}
        clean = (
            not any(meet(fault.x, (start, end)) for fault in self.stock.faults)
            and not self.stock.offcut.kinks
        )
        if clean and (wood, end - start, 0) in self._clean:
            return self._clean[wood, end - start, 0]
        edge, face = self.stock.losses(wood, start, end)
        box = wood.width - edge, self.stock.thickness - face
        found: Labels = {}
        if min(box) > 0:
            flaws = self.stock.flaws(wood, start, end, edge, face)
            found = self._layout_both(wood, start, end, box, flaws)
        if clean:
            self._clean[wood, end - start, 0] = found
        return found

    def _layout_both(self, wood: Milled, start: int, end: int, box: Span, flaws: tuple[Flaw, ...]) -> Labels:
        real = [flaw.defect for flaw in flaws if flaw.defect >= 0]
        subsets = [
            frozenset(n for at, n in enumerate(real) if bits >> at & 1) for bits in range(1 << len(real))
        ]
        sticks, names = {}, []
        for number in range(len(self.stock.groups)):
            for met in subsets:
                labels = self.stick(start, end, number, met)
                content = tuple(
                    (blanks, tuple(sorted(label[:2] for label in row)))
                    for blanks, row in sorted(labels.items())
                )
                names.append(self._same.setdefault(content, len(self._same)))
                plain = {
                    blanks: [(mask, cost, (blanks, mask, cost)) for mask, cost, _ in row]
                    for blanks, row in labels.items()
                }
                sticks[number, met] = plain
        length = end - start
        kept = length if length * self.bench.mark >= self.bench.shop.keeper_length else 0
        key = wood.width, box, kept, flaws, tuple(names)
        if key not in self._layouts:
            found: Labels = {}
            if any(sticks.values()):
                whole = Box(
                    rough=(wood.width, self.stock.thickness), size=box, kept=kept, flaws=flaws, sticks=sticks
                )
                for rip_first in (True, False):
                    Layout(self.bench, self.stock.groups, whole, rip_first=rip_first).add_to(found)
            self._layouts[key] = found
        return self._layouts[key]

    # Where a billet may be split (R2)

    def split(self, start: int, end: int) -> Labels:
        """Return what a billet that is split may hold; its parts are ("split", at, near, far), None for waste."""
        halves = [
            (at, self.contents(near, start, end), self.contents(far, start, end))
            for at, near, far in self.stock.splits
        ]
        key = tuple((id(near), id(far)) for _, near, far in halves)
        if key not in self._splits:
            found: Labels = {}
            nothing: Labels = {0: [(0, 0, None)]}
            for at, near, far in halves:
                made: Labels = {}
                self.tally.join(made, {**nothing, **near}, {**nothing, **far}, partial(_split, at))
                made.pop(0)
                self.tally.merge(found, made, self.bench.band + self.bench.setting)
            self._splits[key] = found
        return self._splits[key]

    # Billets along the offcut (R1, R8, R12)

    def billets(self, *, at_every_mark: bool) -> dict[Span, Labels]:
        """Return what billets may hold, but for what is as good in a shorter one inside."""
        spans = (places.every if at_every_mark else places.normal)(self.stock.reach)
        whole = Milled(0, self.stock.width)
        found: dict[Span, Labels] = {}
        for start, end in spans:
            labels = self.contents(whole, start, end)
            if self.stock.splits:
                both: Labels = {}
                self.tally.merge(both, labels)
                self.tally.merge(both, self.split(start, end))
                labels = both
            if labels:
                found[start, end] = labels
        return found

    def cuttings(self, *, at_every_mark: bool) -> Labels:
        """Return all that is worth cutting from it; the parts are its billets in order."""
        bench = self.bench
        if not self.stock.groups or not self.stock.reach.sides:
            return {}
        begun: dict[int, list[Piece]] = {}
        for (start, end), labels in self.billets(at_every_mark=at_every_mark).items():
            begun.setdefault(start, []).append(Piece(end - start, labels, tag=(start, end)))
        row = Row(
            self.tally,
            self.length,
            self.length,
            bench.marks("crosscut_kerf"),
            lambda place: begun.get(place, ()),
            lambda size: bench.keeps(size, self.stock.width, self.stock.thickness),
            beside=bench.cut,
            apart=2 * bench.cut,
            last=lambda end: bench.cut if end < self.length else 0,
        )
        found: Labels = {}
        offcut = self.stock.offcut
        own = worth(bench.shop, offcut.length, offcut.width, offcut.thickness) + bench.offcut
        self.tally.merge(found, row.opened(0, 0, 0, (0, bench.cut)), own)
        return found


def _split(at: int, near: Any, far: Any) -> tuple[str, int, Any, Any]:
    return "split", at, near, far
