"""A column: one complete cutting of one offcut, and how it becomes part of a plan."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from yieldplan.model import (
    Billet,
    CutBlank,
    Job,
    Keeper,
    Segment,
    SplitBillet,
    Stick,
    Strip,
    WholeKeeper,
    billets_of,
    count_crosscuts,
    crosscuts,
    edge_loss,
    face_loss,
    halves,
    milled,
    planed_section,
    worth,
)
from yieldplan.solve.kernel import axis_mask
from yieldplan.solve.stock import END_A, clear_at

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from yieldplan.model import Offcut
    from yieldplan.solve.labels import Label
    from yieldplan.solve.stock import Stock

Segments = tuple[Segment, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One cutting of one of a class of like offcuts.

    Attributes
    ----------
    stock
        Index of the class.
    counts
        Blanks of each kind of the whole batch.
    cost
        Net worth drawn: worth of the offcut less worth of its keepers.
    low
        The least that a cutting with the same pieces may cost at any lengths (a bound on ``cost``).
    crosscuts
        How many crosscuts it takes on the offcut and on its sticks.
    cutting
        Makes the segments of the cutting; every blank in it is marked as needed.
    """

    stock: int
    counts: tuple[int, ...]
    cost: int
    low: int
    crosscuts: int
    cutting: Callable[[], Segments]


def listed(pieces: Any) -> list[Any]:
    """Return the pieces of a linked list (rest, piece), first one first."""
    found = []
    while pieces is not None:
        pieces, piece = pieces
        found.append(piece)
    return found[::-1]


def placed(pieces: Any, length: int) -> list[Any]:
    """Return the pieces on a stick of some length, from its start on.

    A last remainder that goes beyond the stick stands for one before the blanks, which then move on to make room
    (:func:`yieldplan.solve.sticks.outer`): as far as the last blank may go.
    """
    found = listed(pieces)
    if not found or found[-1][0] != "remainder" or found[-1][2] <= length:
        return found
    *blanks, (word, start, end) = found
    kerf = start - blanks[-1][3]
    on = end - start + kerf - blanks[0][2]
    return [(word, 0, end - start), *((*blank[:2], blank[2] + on, blank[3] + on) for blank in blanks)]


def make_column(index: int, stock: Stock, label: Label, job: Job, figures: Figures | None = None) -> Column:
    """Return the column of a label of :meth:`yieldplan.solve.labels.Opener.cuttings`.

    ``figures`` may be handed on from one label of a listing to the next.
    """
    counts = [0] * len(job.blanks)
    for k, count in zip(stock.kinds, label.counts, strict=True):
        counts[k] = count
    kept, whole, crosscuts = (figures or Figures(stock, job)).of(label.pieces)
    trade = stock.trade if 0 < whole < kept else 0
    return Column(
        stock=index,
        counts=tuple(counts),
        cost=stock.cost - kept,
        low=stock.cost - max(kept, int(label.worth)) - trade,
        crosscuts=crosscuts,
        cutting=partial(_segments, stock, label.pieces, job),
    )


def column_of(index: int, segments: Segments, stock: Stock, job: Job) -> Column:
    """Return the column of a cutting of a stock; all blanks count, needed and extra ones."""
    cost = stock.cost - keepers_worth(segments, stock.offcut, job)
    return Column(
        stock=index,
        counts=counts_of(segments, job),
        cost=cost,
        low=cost,
        crosscuts=count_crosscuts(segments, stock.offcut.length, job.shop.crosscut_kerf),
        cutting=partial(tuple, segments),
    )


def counts_of(segments: Segments, job: Job) -> tuple[int, ...]:
    """Return how many blanks of each kind a cutting holds, in the batch's order."""
    names = Counter(cut.blank for segment in segments for stick in sticks_of(segment) for cut in stick.blanks)
    return tuple(names[blank.name] for blank in job.blanks)


def sticks_of(segment: Segment) -> Iterator[Stick]:
    """Yield all sticks of a segment."""
    for billet in billets_of(segment):
        for strip in billet.strips:
            yield from strip.sticks


class Figures:
    """Worth of keepers and number of crosscuts of the cuttings of one listing; what they share is worked out once."""

    def __init__(self, stock: Stock, job: Job) -> None:
        self.stock, self.job = stock, job
        self._start, self._end = stock.arcs.start, stock.arcs.end
        self._known: dict[tuple[int, ...], tuple[int, int]] = {}

    def of(self, pieces: Any) -> tuple[int, int, int]:
        """Return the worth of the keepers of a cutting, exactly, of whole ones alone, and its number of crosscuts."""
        offcut, shop = self.stock.offcut, self.job.shop
        kept, whole, cuts, ends = 0, 0, 0, []
        for piece in listed(pieces):
            if piece[0] == "whole":
                ends.append(piece[1:])
                whole += worth(piece[2] - piece[1], offcut.width, offcut.thickness, shop)
                continue
            parts = listed(piece[2]) if piece[0] == "split" else [piece]
            start, end = int(self._start[parts[0][1]]), int(self._end[parts[0][1]])
            ends.append((start, end))
            for _, arc, side, strips in parts:
                more = self._all(strips, self._strip, end - start, self._depth(arc, side))
                kept, cuts = kept + more[0], cuts + more[1]
        return kept + whole, whole, cuts + crosscuts(ends, 0, offcut.length, shop.crosscut_kerf)

    def _all(
        self, pieces: Any, one: Callable[[Any, int, int], tuple[int, int]], length: int, more: int
    ) -> tuple[int, int]:
        """Return the figures of a linked list of pieces of a billet of some length, each by ``one``."""
        if pieces is None:
            return 0, 0
        key = (id(pieces), length, more)
        if key not in self._known:
            rest, piece = pieces
            before, here = self._all(rest, one, length, more), one(piece, length, more)
            self._known[key] = before[0] + here[0], before[1] + here[1]
        return self._known[key]

    def _depth(self, arc: int, side: int) -> int:
        """Return the depth of a keeper strip or layer of a billet or half."""
        arcs = self.stock.arcs
        if side:
            return int(arcs.width[arc] - arcs.edge[arc])
        return self.stock.offcut.thickness - int(arcs.face[arc])

    def _strip(self, piece: Any, length: int, depth: int) -> tuple[int, int]:
        if piece[0] == "strip":
            return self._all(piece[3], self._stick, length, piece[2] - piece[1])
        return worth(length, piece[2] - piece[1], depth, self.job.shop), 0

    def _stick(self, piece: Any, length: int, size: int) -> tuple[int, int]:
        shop = self.job.shop
        if piece[0] == "keeper stick":
            return worth(length, size, piece[2] - piece[1], shop), 0
        stick, kept, ends = self.stock.sticks[piece[3]], 0, []
        for part in placed(piece[4], length):
            start, end = part[-2:]
            if part[0] == "blank":
                ends.append((start, end))
            elif end - start >= self.stock.rule.keeper_length:  # some are listed for the bound's sake alone
                ends.append((start, end))
                kept += worth(end - start, stick.width, stick.thickness, shop)
        return kept, crosscuts(sorted(ends), 0, length, shop.crosscut_kerf)


def _segments(stock: Stock, pieces: Any, job: Job) -> Segments:
    return tuple(_segment(stock, piece, job) for piece in listed(pieces))


def _segment(stock: Stock, piece: Any, job: Job) -> Segment:
    if piece[0] == "whole":
        return WholeKeeper(start=piece[1], end=piece[2])
    return _split(stock, piece, job) if piece[0] == "split" else _billet(stock, piece, stock.offcut, job)


def _split(stock: Stock, piece: Any, job: Job) -> SplitBillet:
    _, near, parts = piece
    at, found = int(stock.arcs.width[near]), {part[1]: part for part in listed(parts)}
    one, other = (
        _billet(stock, found.get(arc, ("billet", arc, 0, None)), wood, job)
        for arc, wood in zip(
            (near, int(stock.arcs.twin[near])), halves(stock.offcut, at, job.shop), strict=True
        )
    )
    return SplitBillet(start=one.start, end=one.end, split=at, halves=(one, other))


def _billet(stock: Stock, piece: Any, wood: Offcut, job: Job) -> Billet:
    _, arc, side, strips = piece
    start, end = int(stock.arcs.start[arc]), int(stock.arcs.end[arc])
    made = []
    for strip in listed(strips):
        if strip[0] == "keeper strip":
            made.append(Strip(start=strip[1], end=strip[2], keeper=True))
            continue
        _, u, u_end, sticks = strip
        made.append(
            Strip(
                start=u,
                end=u_end,
                sticks=tuple(_stick(stock, arc, side, u, u_end, stick, job) for stick in listed(sticks)),
            )
        )
    return Billet(
        start=start,
        end=end,
        layout="resaw first" if side else "rip first",
        face_loss=face_loss(wood, end - start, job.shop, start),
        edge_loss=edge_loss(wood, end - start, job.shop, start),
        strips=tuple(made),
    )


def _stick(stock: Stock, arc: int, side: int, u: int, u_end: int, piece: Any, job: Job) -> Stick:
    if piece[0] == "keeper stick":
        return Stick(start=piece[1], end=piece[2], keeper=True)
    _, v, v_end, s, pieces = piece
    layout = stock.layouts[side]
    begin = int(stock.arcs.start[arc])
    on_y = layout.first_is_y
    mask = axis_mask(stock.arcs, arc, stock.grain.defects, on_y, u, u_end, stock.rule)
    mask &= axis_mask(stock.arcs, arc, stock.grain.defects, not on_y, v, v_end, stock.rule)
    blanks, keepers = [], []
    for part in placed(pieces, int(stock.arcs.end[arc]) - begin):
        if part[0] == "remainder":
            if part[2] - part[1] >= stock.rule.keeper_length:  # some are listed for the bound's sake alone
                keepers.append(Keeper(start=begin + part[1], end=begin + part[2]))
            continue
        k, start, end = part[1], begin + part[2], begin + part[3]
        blank = job.blanks[stock.kinds[k]]
        ends = clear_at(stock.offcut, blank, end - start, np.array([start]), int(mask))
        blanks.append(
            CutBlank(
                blank=blank.name,
                extra=False,
                start=start,
                end=end,
                clear_end="A" if int(ends[0]) == END_A else "B",
            )
        )
    return Stick(
        start=v, end=v_end, turned=stock.sticks[s].turned, blanks=tuple(blanks), keepers=tuple(keepers)
    )


def keeper_sections(billet: Billet, wood: Offcut) -> Iterator[tuple[int, int, int]]:
    """Yield (length, size on the first axis, size on the second) of the keeper strips and sticks of a billet.

    ``wood`` is what it is jointed from: the offcut, or a half of it.
    """
    deep = wood.thickness - billet.face_loss
    high = wood.width - billet.edge_loss
    other = deep if billet.layout == "rip first" else high
    length = billet.end - billet.start
    for strip in billet.strips:
        if strip.keeper:
            yield length, strip.end - strip.start, other
        for stick in strip.sticks:
            if stick.keeper:
                yield length, strip.end - strip.start, stick.end - stick.start


def keepers_worth(segments: Segments, offcut: Offcut, job: Job) -> int:
    """Return the worth of all keepers of a cutting, exactly."""
    shop, total = job.shop, 0
    for segment in segments:
        if isinstance(segment, WholeKeeper):
            total += worth(segment.end - segment.start, offcut.width, offcut.thickness, shop)
        for wood, billet in milled(offcut, segment, shop):
            total += sum(worth(*section, shop) for section in keeper_sections(billet, wood))
            for strip in billet.strips:
                for stick in strip.sticks:
                    if stick.keepers:
                        blank = job.blank(stick.blanks[0].blank)
                        section = planed_section(offcut, blank, shop, turned=stick.turned)
                        total += sum(worth(k.end - k.start, *section, shop) for k in stick.keepers)
    return total
