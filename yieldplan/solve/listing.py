"""All cuttings of an offcut within a slack of its best: the third question, asked of all four rows.

With a bound b and a plan of cost c, a better plan uses only columns whose reduced cost is below c - b. Where they can
be listed, each with no more blanks than are wanted, the integer step over them is exact. Entries with like blanks and
settings are kept once, at their best value.
"""

from __future__ import annotations

from functools import partial
from operator import add, le
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from yieldplan.model import Billet, CutBlank, SplitBillet, Stick, Strip
from yieldplan.solve.along import best_offcut, lay_billets, side_of
from yieldplan.solve.costing import column_of
from yieldplan.solve.graph import (
    ARCS1,
    ARCS2,
    ARCS3,
    BLANK,
    SCALE,
    STRIPS,
    Box,
    keeper_worth,
    met_across_y,
    met_across_z,
    met_along,
)
from yieldplan.solve.paths import NEVER
from yieldplan.solve.places import BILLETS, CURTAILED, losses
from yieldplan.solve.pricing import WORD, shortest_first
from yieldplan.solve.rows import LONG_STICK, billet_row, stick_row, strip_row

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from yieldplan.solve.budget import Budget
    from yieldplan.solve.columns import Column
    from yieldplan.solve.graph import Terms
    from yieldplan.solve.pricing import Pricer

Counts = tuple[int, ...]
Key = tuple[Counts, frozenset[int]]

EVERY_LENGTH = -1
"""What :func:`best_offcut` is told: what is not best may ask for a length at which no stick gives more."""

MOST_ENTRIES = 4000
"""Entries of one row that are listed; an offcut with more is not listed at all."""

STEP = 3e-6
"""Seconds that a pair that is looked at counts for (:class:`~yieldplan.solve.budget.Budget`)."""

MOST_STEPS = 1_000_000
"""Pairs of entries that are looked at for one offcut (a few seconds); one that takes more is not listed."""


class Entry(NamedTuple):
    """One way to cut a piece: its value (scaled) and what it is in a plan."""

    value: int
    piece: object


Entries = dict[Key, Entry]
Ints: TypeAlias = "NDArray[np.int64]"
Pieces: TypeAlias = "Callable[[int, int], tuple[int, Entries]]"
"""What the piece of an arc's label gives within a slack: the most, and its entries."""


class TooManyError(Exception):
    """There are more cuttings than are listed."""


def list_columns(
    pricer: Pricer, number: int, own: Ints, least: int, wanted: Counts, budget: Budget
) -> list[Column]:
    """Return all columns of a class that hold no more than is wanted and give ``least`` (scaled) at prices of its own.

    Raises
    ------
    TooManyError
        If there are too many to list, or no seconds are left for it.
    """
    terms = pricer.at_own_prices(number, own)
    return _Lister(pricer, number, terms, wanted, budget).columns(least + pricer.base(number))


class _Lister:
    def __init__(self, pricer: Pricer, number: int, terms: Terms, wanted: Counts, budget: Budget) -> None:
        self.pricer, self.number, self.terms = pricer, number, terms
        self.one, self.desk, self.table = pricer.classes[number], pricer.desk, pricer.table
        self.shop, self.wanted, self.mark = pricer.batch.shop, wanted, pricer.batch.job.shop.mark
        self.given = (self.one.wood, self.shop, terms, self.desk)
        self.none = ((0,) * len(wanted), frozenset[int]())
        self.steps, self.budget = 0, budget
        self.strips: dict[tuple[object, ...], tuple[int, int, Entries]] = {}
        self.sticks: dict[tuple[int, ...], tuple[int, int, Entries]] = {}

    def columns(self, least: int) -> list[Column]:
        """Return every column that gives at least so much."""
        one, wood = self.one, self.one.wood
        best, _, _ = best_offcut(
            wood,
            one.bare,
            self.shop,
            self.terms,
            self.desk,
            one.course,
            self.table,
            (NEVER, 1 << 60, 0, EVERY_LENGTH),
        )
        if self.table.counts[CURTAILED]:
            raise TooManyError
        if best < least:
            return []
        lay_billets(wood, self.shop, self.terms, self.table, 0)
        arcs = [tuple(map(int, row[:3])) for row in self.table.arcs[: self.table.counts[BILLETS]]]
        found: Entries = {}
        listed: dict[tuple[int, int], Entries] = {}
        for value, rows in self._rows(sorted(set(arcs)), least):
            parts: Entries = {self.none: Entry(0, ())}
            slack = value - least
            for start, end, bound in reversed(rows):
                if (start, end) not in listed:
                    listed[start, end] = self._billet(start, end, bound - (best - least))
                parts = self._joined(parts, listed[start, end], bound, slack)
            _merge(found, ((key, Entry(value + entry.value, entry.piece)) for key, entry in parts.items()))
        name = one.names[0]
        return [
            column_of(self.pricer.batch, self.number, name, entry.piece)  # type: ignore[arg-type]
            for entry in found.values()
        ]

    def _joined(self, parts: Entries, more: Entries, bound: int, slack: int) -> Entries:
        """Return every pair of entries within the slack; values are by how much they fall short, below 0."""
        found: Entries = {}
        self._pair(found, parts, more, bound, slack)
        return found

    def _pair(self, found: Entries, parts: Entries, more: Entries, bound: int, slack: int) -> None:
        """Add every pair of entries within the slack to those found."""
        steps = len(parts) * len(more)
        self.steps += steps
        self.budget.spend(steps * STEP)
        if self.steps > MOST_STEPS or self.budget.out():
            raise TooManyError
        for (counts, settings), entry in parts.items():
            for (others, used), other in more.items():
                value = entry.value + other.value - bound
                if value >= -slack:
                    both = tuple(map(add, counts, others))
                    if all(map(le, both, self.wanted)):
                        key = both, settings | used
                        known = found.get(key)
                        if known is None or value > known.value:
                            found[key] = Entry(value, (other.piece, *entry.piece))  # type: ignore[misc]
        if len(found) > MOST_ENTRIES:
            raise TooManyError

    def _within(self, arcs: Ints, best: Ints, end: int, slack: int, piece: Pieces) -> Entries:
        """Return all rows within a slack of the best, like ones once; values are by how much they fall short, below 0.

        From the end back: what is found at a node is all that can follow, of like entries the best.
        """
        into: dict[int, list[tuple[int, int, int]]] = {}
        for tail, head, value, label in arcs.tolist():
            into.setdefault(head, []).append((tail, value, label))
        found: dict[int, Entries] = {end: {self.none: Entry(0, ())}}
        for node in range(end, 0, -1):
            here = found.pop(node, None)
            if here is None:
                continue
            for tail, value, label in into.get(node, ()):
                short = int(best[node] - best[tail]) - value
                if short > slack:
                    continue
                there = found.setdefault(tail, {})
                if label < BLANK:
                    _merge(
                        there,
                        (
                            (k, e._replace(value=e.value - short))
                            for k, e in here.items()
                            if e.value - short >= -slack
                        ),
                    )
                else:
                    bound, entries = piece(label - BLANK, slack - short)
                    self._pair(there, here, entries, bound + short, slack)
        return found.get(0, {})

    def _rows(
        self, arcs: Sequence[tuple[int, ...]], least: int
    ) -> Iterator[tuple[int, list[tuple[int, int, int]]]]:
        """Yield rows of billets, with the most that each could give, that come to ``least``."""
        table, wood, kerf, cut = self.table, self.one.wood, self.shop.cross_kerf, self.terms.cut
        into: dict[int, list[tuple[int, int]]] = {}
        for start, end, bound in arcs:
            if bound > NEVER:
                into.setdefault(end, []).append((start, bound))
        ends = sorted(end for end in into if table.at_end[end] > NEVER)

        def kept(length: int) -> int:
            return int(keeper_worth(self.shop, length, wood.width, wood.thickness)) * SCALE * self.terms.worth

        def walk(end: int, behind: int) -> Iterator[tuple[int, list[tuple[int, int, int]]]]:
            for start, bound in into[end]:
                own = bound - (cut if start > 0 else 0) - (cut if end < wood.length else 0) + behind
                here = (start, end, bound)
                if table.fixed[start] and own + kept(start - kerf) >= least:
                    yield own + kept(start - kerf), [here]
                for before in ends:
                    if before > start - kerf:
                        break
                    touching = before == start - kerf
                    if not (touching or table.fixed[start]):
                        continue
                    more = own + (cut if touching else kept(start - kerf - before - kerf))
                    if int(table.at_end[before]) + more >= least:
                        for value, rows in walk(before, more):
                            yield value, [*rows, here]

        for end in ends:
            rest = kept(wood.length - end - kerf)
            if int(table.at_end[end]) + rest >= least:
                yield from walk(end, rest)

    # -- billets and halves -----------------------------------------------------------------------------------

    def _billet(self, start: int, end: int, least: int) -> Entries:
        course, wood = self.one.course, self.one.wood
        side = side_of(course, start)
        found = self._half(side, Box(start, end, 0, wood.width, 0, 0), least)
        price = self.terms.saw[1] + self.terms.setting
        for at in range(course.splits[0], course.splits[1] + 1):
            low = at + course.band_kerf
            boxes = (Box(start, end, 0, at, 0, 0), Box(start, end, low, wood.width - low, 0, 0))
            tops = [max(self._top(side, box), 0) for box in boxes]
            near, far = (
                {
                    **self._half(side, box, least + int(price) - other),
                    self.none: Entry(0, None),
                }
                for box, other in zip(boxes, tops[::-1], strict=True)
            )
            pairs = self._joined({self.none: Entry(0, ())}, far, 0, 1 << 60)
            pairs = self._joined(pairs, near, 0, 1 << 60)
            _merge(
                found,
                (
                    (
                        key,
                        Entry(
                            entry.value - int(price),
                            SplitBillet(
                                start=start * self.mark,
                                end=end * self.mark,
                                split=int(at) * self.mark,
                                halves=entry.piece,  # type: ignore[arg-type]
                            ),
                        ),
                    )
                    for key, entry in pairs.items()
                    if entry.value - price >= least and any(key[0])
                ),
            )
        return found

    def _boxed(self, side: int, box: Box) -> Box:
        face, edge = losses(self.one.wood, self.shop, self.one.course, side, box.end - box.start, box.width)
        return box._replace(face=int(face), edge=int(edge))

    def _top(self, side: int, box: Box) -> int:
        whole = self._boxed(side, box)
        self.desk.counts[STRIPS] = 0
        return max(int(self.desk.best1[billet_row(*self.given, whole, rip)]) for rip in (True, False))

    def _half(self, side: int, box: Box, least: int) -> Entries:
        box = self._boxed(side, box)
        found: Entries = {}
        for rip in (True, False):
            self.desk.counts[STRIPS] = 0
            node = billet_row(*self.given, box, rip)
            top = int(self.desk.best1[node])
            if top < least:
                continue
            graph = self.desk.arcs1[: self.desk.counts[ARCS1]].copy()
            best = self.desk.best1[: node + 1].copy()
            rows = self._within(graph, best, node, top - least, partial(self._strip, box, rip))
            _merge(
                found,
                (
                    (
                        key,
                        Entry(
                            top + entry.value,
                            Billet(
                                start=box.start * self.mark,
                                end=box.end * self.mark,
                                layout="rip first" if rip else "resaw first",
                                face_loss=box.face * self.mark,
                                edge_loss=box.edge * self.mark,
                                strips=entry.piece,  # type: ignore[arg-type]
                            ),
                        ),
                    )
                    for key, entry in rows.items()
                ),
            )
        return found

    # -- strips and sticks ------------------------------------------------------------------------------------

    def _across(self, box: Box, along_y: bool, low: int, high: int) -> int:
        meets = met_across_y if along_y else met_across_z
        return int(meets(self.one.wood, self.shop, box, low, high))

    def _strip(self, box: Box, rip: bool, label: int, slack: int) -> tuple[int, Entries]:
        """Return the most that a strip gives, and its entries within the slack of that."""
        wood, shop = self.one.wood, self.shop
        place, rest = divmod(label, 8)
        rank, start = divmod(place, WORD)
        second, stage = rest // 2 - 1, rest % 2 + 1
        end = start + int((wood.sizes_y if rip else wood.sizes_z)[rank])
        used: set[int] = set()
        if (box.width - box.edge if rip else wood.thickness - box.face) - end > shop.plane_off:
            height = wood.thickness if rip else box.width
            saw = int((wood.saw_y if rip else wood.saw_z)[rank])
            used.add(4 * saw + 2 * (height > shop.saw_depth))
        along = met_along(wood, box.start, box.end)
        meets = int(along & self._across(box, rip, start, end)) if along else 0
        top, inside = self._inside(box, rip, (rank, meets, second, stage), slack)
        own = frozenset(used)
        return top, {
            (counts, settings | own): Entry(
                entry.value,
                Strip(start=start * self.mark, end=end * self.mark, sticks=entry.piece),  # type: ignore[arg-type]
            )
            for (counts, settings), entry in inside.items()
            if entry.value >= top - slack
        }

    def _inside(
        self, box: Box, rip: bool, strip: tuple[int, int, int, int], slack: int
    ) -> tuple[int, Entries]:
        """Return the most that the sticks of a strip give, and their entries; those of a wider slack do as well."""
        held = self.strips.get((box, rip, strip))
        if held is not None and held[0] >= slack:
            return held[1], held[2]
        wood, (_, meets, second, stage) = self.one.wood, strip
        node = strip_row(*self.given, box, rip, strip)
        top = int(self.desk.best2[node])
        graph = self.desk.arcs2[: self.desk.counts[ARCS2]].copy()
        best = self.desk.best2[: node + 1].copy()
        room = wood.thickness - box.face if rip else box.width - box.edge

        def stick(label: int, left: int) -> tuple[int, Entries]:
            number, low = divmod(label, WORD)
            high = low + int(wood.types[number, 1 if rip else 0])
            settings = {int(wood.types[number, 6]), int(wood.types[number, 7])}
            if room - high > self.shop.plane_off:
                saws = (wood.saw_z, 5) if rip else (wood.saw_y, 4)
                settings.add(4 * int(saws[0][wood.types[number, saws[1]]]) + 2 * second + stage - 1)
            bound, entries = self._stick(box, number, meets & self._across(box, not rip, low, high), left)
            return bound, {
                (counts, frozenset(settings)): Entry(
                    entry.value,
                    self._piece(number, (low, high), entry.piece),  # type: ignore[arg-type]
                )
                for (counts, _), entry in entries.items()
            }

        rows = self._within(graph, best, node, slack, stick)
        found = {key: entry._replace(value=top + entry.value) for key, entry in rows.items()}
        self.strips[box, rip, strip] = slack, top, found
        return top, found

    def _stick(self, box: Box, number: int, meets: int, slack: int) -> tuple[int, Entries]:
        """Return the most that a stick gives, and the cuts of its entries; those of a wider slack do as well."""
        wood = self.one.wood
        meets &= int(met_along(wood, box.start, box.end))
        held = self.sticks.get((box.start, box.end, number, meets))
        if held is not None and held[0] >= slack:
            return held[1], held[2]
        flawed = meets & ((1 << len(wood.defects)) - 1)
        back = not flawed or box.end - box.start < LONG_STICK
        node = stick_row(*self.given, number, meets, box.start, box.end, back)
        top = int(self.desk.best3[node])
        graph = self.desk.arcs3[: self.desk.counts[ARCS3]].copy()
        best = self.desk.best3[: node + 1].copy()

        def blank(label: int, _: int) -> tuple[int, Entries]:
            piece, far = divmod(label, 2)
            local, start = divmod(piece, WORD)
            kind = int(self.one.kinds[local])
            one = tuple(int(n == kind) for n in range(len(self.wanted)))
            return 0, {
                (one, self.none[1]): Entry(0, (start, int(wood.spans[local]), kind, "B" if far else "A"))
            }

        found: Entries = {}
        for key, entry in self._within(graph, best, node, slack, blank).items():
            cuts: list[tuple[int, int, int, str]] = list(entry.piece)  # type: ignore[call-overload]
            if not meets:
                cuts = shortest_first(cuts, box.start + self.shop.stick_trim, self.shop.cross_kerf)
            found[key] = Entry(top + entry.value, cuts)
        self.sticks[box.start, box.end, number, meets] = slack, top, found
        return top, found

    def _piece(self, number: int, place: tuple[int, int], cuts: Iterable[tuple[int, int, int, str]]) -> Stick:
        return Stick(
            start=place[0] * self.mark,
            end=place[1] * self.mark,
            turned=self.one.types[number].turned,
            blanks=tuple(
                CutBlank(
                    blank=self.pricer.batch.blanks[kind].name,
                    start=start * self.mark,
                    end=(start + span) * self.mark,
                    clear_end="B" if side == "B" else "A",
                )
                for start, span, kind, side in cuts
            ),
        )


def _merge(found: Entries, more: Iterable[tuple[Key, Entry]]) -> None:
    for key, entry in more:
        known = found.get(key)
        if known is None or entry.value > known.value:
            found[key] = entry
    if len(found) > MOST_ENTRIES:
        raise TooManyError
