"""Crosscuts slid to where more is kept, strictly between the places that the recurrences try.

Those are places at which something begins to fit or is just long enough. Where leftovers on both sides of a cut share
what there is, a place in between may be worth a unit or two more: each of them is rounded down by itself, and what
straightening takes is rounded up.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from itertools import pairwise, product
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from yieldplan.model import (
    Keeper,
    Stick,
    Strip,
    WholeKeeper,
    count_crosscuts,
    edge_loss,
    face_loss,
    milled,
    planed_section,
)
from yieldplan.solve.columns import sticks_of
from yieldplan.solve.neat import changed, in_a_row, moved_on
from yieldplan.solve.stock import make_rule

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from typing import Literal

    from yieldplan.model import Billet, Job, Offcut, Segment
    from yieldplan.solve.columns import Segments
    from yieldplan.solve.kernel import Flags, Floats, Ints

CELLS = 256
"""Parts of a cut's travel that are looked at before single steps are."""

MARGIN = 0.3
"""Units by which what is kept may be worth more inside such a part than at its ends, before worth is rounded."""

MOST_STEPS = 40_000
"""Single steps of a cut's travel that are tried at the most."""

TRIES = 3
"""Places of a cut of which it is asked whether they keep the rules, at the most."""

NOWHERE = np.zeros(1, np.int64)
"""Where cuts are that are not slid."""


class Slid(NamedTuple):
    """A segment beside a cut that is slid: whether its start, its end, and the blanks in it move along (1) or not."""

    segment: Segment
    start: int = 0
    end: int = 0
    blanks: int = 0


def kept_most(segments: Segments, offcut: Offcut, job: Job, sound: Callable[[Segments], bool]) -> Segments:
    """Return a cutting of the same blanks, with its crosscuts slid one by one to where most is kept.

    Then loose ends to the end of the room they have, where that saves a crosscut and costs nothing. Whether all that
    keeps the rules is asked of ``sound``.
    """
    slider = _Slider(offcut, job, sound)
    better: Segments | None = segments
    while better is not None:
        segments, better = better, slider.better(better)
    return slider.without_loose_ends(segments)


class _Slider:
    """What one offcut's cuts are slid on. Places are integers, or arrays of as many as are looked at together (Any)."""

    def __init__(self, offcut: Offcut, job: Job, sound: Callable[[Segments], bool]) -> None:
        self.offcut, self.job, self.shop, self.sound = offcut, job, job.shop, sound
        self.rule = make_rule(job.shop)

    def better(self, segments: Segments) -> Segments | None:
        """Return the cutting with one cut slid, so that more is kept; None where there is no such place."""
        kept = [self._worth([Slid(one)], NOWHERE)[0] for one in segments]
        for at, slid in self._slides(segments):
            before, after = segments[:at], segments[at + len(slid) :]
            now = sum(kept[at : at + len(slid)])
            for by in self._places(slid, now, self._room(before, after)):
                found = (*before, *(self._at(one, by) for one in slid), *after)
                if self.sound(found):
                    return found
        return None

    def without_loose_ends(self, segments: Segments) -> Segments:
        """Return the cutting with loose ends slid to the end of their room, where that saves a crosscut for nothing."""
        for at in range(len(segments)):
            before, one, after = segments[:at], segments[at], segments[at + 1 :]
            begin, end = self._room(before, after)
            for slid, by in ((Slid(one, start=1), begin - one.start), (Slid(one, end=1), end - one.end)):
                found = (*before, self._at(slid, by), *after)
                same = self._worth([slid], np.array([by]))[0] >= self._worth([slid], NOWHERE)[0]
                if same and self._crosscuts(found) < self._crosscuts(segments) and self.sound(found):
                    segments = found
                    break
        return segments

    def _crosscuts(self, segments: Segments) -> int:
        return count_crosscuts(segments, self.offcut.length, self.shop.crosscut_kerf)

    def _room(self, before: Segments, after: Segments) -> tuple[int, int]:
        """Return from where to where there is room between segments."""
        kerf = self.shop.crosscut_kerf
        begin = before[-1].end + kerf if before else 0
        return begin, after[0].start - kerf if after else self.offcut.length

    def _slides(self, segments: Segments) -> Iterator[tuple[int, list[Slid]]]:
        """Yield what may be slid together, and which segment is the first of it.

        That is a loose end of a segment, a cut between two, or both cuts beside one, which then moves between them.
        """
        joined = [one.end + self.shop.crosscut_kerf == other.start for one, other in pairwise(segments)]
        for at, one in enumerate(segments):
            before, after = at > 0 and joined[at - 1], at < len(joined) and joined[at]
            if not before:
                yield from ((at, [same._replace(start=1)]) for same in self._ways(one, 1))
            if after:
                for near, far in product(self._ways(one, -1), self._ways(segments[at + 1], 1)):
                    yield at, [near._replace(end=1), far._replace(start=1)]
            else:
                yield from ((at, [same._replace(end=1)]) for same in self._ways(one, -1))
            ahead = [Slid(segments[at - 1], end=1)] if before else []
            behind = [Slid(segments[at + 1], start=1)] if after else []
            yield at - before, [*ahead, Slid(one, 1, 1, 1), *behind]

    def _ways(self, segment: Segment, way: int) -> Iterator[Slid]:
        """Yield a segment whose blanks stay, move along, or are pushed away from the cut: to end A for -1.

        And one with what carries blanks laid close together, where something was left out; and one in the other layout:
        as good, but for what is rounded, so that of the two only one is known.
        """
        yield Slid(segment)
        if not isinstance(segment, WholeKeeper):
            yield Slid(segment, blanks=1)
            yield Slid(changed(segment, self.offcut, self.shop, partial(self._pushed, way=way)))
            for change in (self._laid_close, _in_other_layout):
                other = Slid(changed(segment, self.offcut, self.shop, change))
                if self._at(other, 0) != segment:
                    yield other

    def _pushed(self, billet: Billet, _: Offcut, way: int) -> Billet:
        """Return a billet with the blanks of each stick moved together towards end A, or B."""
        low = max(billet.start + self.shop.snipe, self.shop.end_trim)
        high = min(billet.end - self.shop.snipe, self.offcut.length - self.shop.end_trim)

        def stick(one: Stick) -> Stick:
            if not one.blanks:
                return one
            by = low - one.blanks[0].start if way < 0 else high - one.blanks[-1].end
            keepers = tuple(moved_on(keeper, by) for keeper in _between(one))
            return replace(one, blanks=tuple(moved_on(cut, by) for cut in one.blanks), keepers=keepers)

        strips = (replace(strip, sticks=tuple(map(stick, strip.sticks))) for strip in billet.strips)
        return replace(billet, strips=tuple(strips))

    def _laid_close(self, billet: Billet, wood: Offcut) -> Billet:
        """Return a billet with only the strips and sticks that carry blanks, a kerf apart."""
        strips = []
        for strip in billet.strips:
            sticks = [stick for stick in strip.sticks if stick.blanks]
            if sticks:
                kerf = self.shop.kerf_at(strip.end - strip.start) or 0
                strips.append(replace(strip, sticks=in_a_row(sticks, kerf)))
        return replace(billet, strips=in_a_row(strips, self.shop.kerf_at(self._height(billet, wood)) or 0))

    def _travel(self, slid: Sequence[Slid], room: tuple[int, int]) -> tuple[int, int]:
        """Return how far these may be slid towards end A and towards end B, as far as room, lengths and trims go."""
        shop, length = self.shop, self.offcut.length
        rooms: list[tuple[int, int]] = []
        for one in slid:
            start, end = one.segment.start, one.segment.end
            whole = isinstance(one.segment, WholeKeeper)
            least = self.rule.keeper_length if whole else shop.shortest_machined_length
            rooms += [
                (end - start - least, one.end - one.start),
                (start - room[0], one.start),
                (room[1] - end, -one.end),
            ]
            rows = [stick.blanks for stick in sticks_of(one.segment) if stick.blanks]
            if rows:
                first, last = min(row[0].start for row in rows), max(row[-1].end for row in rows)
                rooms += [
                    (first - start - shop.snipe, one.blanks - one.start),
                    (end - shop.snipe - last, one.end - one.blanks),
                    (first - shop.end_trim, one.blanks),
                    (length - shop.end_trim - last, -one.blanks),
                ]
        if any(room < 0 for room, _ in rooms):
            return 0, 0
        return max(-room for room, way in rooms if way > 0), min(room for room, way in rooms if way < 0)

    def _places(self, slid: Sequence[Slid], now: float, room: tuple[int, int]) -> list[int]:
        """Return by how much these are slid to keep a unit more than ``now``, the best first."""
        low, high = self._travel(slid, room)
        if low >= high:
            return []
        wanted = now + 1.0
        marks = np.unique(np.linspace(low, high, CELLS + 1).astype(np.int64))
        values = self._worth(slid, marks, rounded=False)
        most = np.maximum(values[1:], values[:-1])
        cells = np.argsort(-most, kind="stable")
        steps = np.cumsum(np.diff(marks)[cells])
        cells = np.sort(cells[(most[cells] + MARGIN >= wanted) & (steps <= MOST_STEPS)])
        if not len(cells):
            return []
        at = np.concatenate([np.arange(marks[cell], marks[cell + 1] + 1) for cell in cells])
        values = self._worth(slid, at)
        best = np.argsort(-values, kind="stable")[:TRIES]
        return [int(at[place]) for place in best if values[place] >= wanted]

    def _worth(self, slid: Sequence[Slid], by: Ints, *, rounded: bool = True) -> Floats:
        """Return what these keep at each place, in units; so near to it that at most a place is missed by that.

        Minus infinity where a billet is no longer straight enough for its blanks.
        """
        rule, total = self.rule, np.zeros(len(by))
        for one in slid:
            total[~self._fits(one, by)] = -np.inf
            for length, first, second in self._leftovers(one, by):
                value = rule.per_volume * length * first * second
                value *= 1.0 + rule.per_length * np.minimum(length, rule.full)
                value = np.floor(value + 1e-9) if rounded else value
                total += np.where(self._kept(length, first, second), value, 0.0)
        return total

    def _kept(self, length: Any, first: Any, second: Any) -> Any:
        """Return whether, or where, what is left is a keeper (R11)."""
        wide, thin = np.maximum(first, second), np.minimum(first, second)
        rule = self.rule
        return (length >= rule.keeper_length) & (wide >= rule.keeper_width) & (thin >= rule.keeper_thickness)

    def _fits(self, one: Slid, by: Ints) -> Flags:
        """Return at which places all that carries blanks lies inside the box of its billet."""
        fits = np.ones(len(by), bool)
        for wood, billet in milled(self.offcut, one.segment, self.shop):
            length = billet.end - billet.start + (one.end - one.start) * by
            first, second = self._box(billet, wood, length)
            for strip, stick in _carrying(billet):
                fits &= (strip.end <= first) & (stick.end <= second)
        return fits

    def _leftovers(self, one: Slid, by: Ints) -> Iterator[tuple[Ints, Ints, Ints]]:
        """Yield the length and both sizes across of all that a segment keeps, or may keep, at each place."""
        segment, same = one.segment, np.ones_like(by)
        start, end = segment.start + one.start * by, segment.end + one.end * by
        length = end - start
        if isinstance(segment, WholeKeeper):
            yield length, same * self.offcut.width, same * self.offcut.thickness
        for wood, billet in milled(self.offcut, segment, self.shop):
            first, second = self._box(billet, wood, length)
            yield length, self._far(billet.strips, first, self._height(billet, wood))[1], second
            for strip in billet.strips:
                across = strip.end - strip.start
                if strip.keeper and strip is not billet.strips[-1]:
                    yield length, same * across, second
                if strip.sticks:
                    yield length, same * across, self._far(strip.sticks, second, across)[1]
                for stick in strip.sticks:
                    if stick.keeper and stick is not strip.sticks[-1]:
                        yield length, same * across, same * (stick.end - stick.start)
                    if stick.blanks:
                        w, t = self._section(stick)
                        for low, high in self._runs(stick, start, end, one.blanks * by):
                            yield high - low, same * w, same * t

    def _at(self, one: Slid, by: int) -> Segment:
        """Return a segment slid so far, with all that it keeps then."""
        start, end = one.segment.start + one.start * by, one.segment.end + one.end * by
        if isinstance(one.segment, WholeKeeper):
            return WholeKeeper(start=start, end=end)
        change = partial(self._billet_at, start=start, end=end, by=one.blanks * by)
        return changed(one.segment, self.offcut, self.shop, change)

    def _billet_at(self, billet: Billet, wood: Offcut, start: int, end: int, by: int) -> Billet:
        length = end - start
        first, second = self._box(billet, wood, length)

        def stick(one: Stick) -> Stick:
            if not one.blanks:
                return one
            section = self._section(one)
            runs = sorted(r for r in self._runs(one, start, end, by) if self._kept(r[1] - r[0], *section))
            keepers = tuple(Keeper(start=low, end=high) for low, high in runs)
            return replace(one, blanks=tuple(moved_on(cut, by) for cut in one.blanks), keepers=keepers)

        strips: list[Strip] = []
        for strip in billet.strips:
            sticks, across = [stick(one) for one in strip.sticks], strip.end - strip.start
            if sticks:
                low, size = self._far(sticks, second, across)
                sticks = sticks[: len(sticks) - sticks[-1].keeper]
                if self._kept(length, across, size):
                    sticks.append(Stick(start=low, end=second, keeper=True))
            if sticks or (strip.keeper and strip is not billet.strips[-1]):
                strips.append(replace(strip, sticks=tuple(sticks)))
        if billet.strips:
            low, size = self._far(billet.strips, first, self._height(billet, wood))
            if self._kept(length, size, second):
                strips.append(Strip(start=low, end=first, keeper=True))
        return replace(
            billet,
            start=start,
            end=end,
            face_loss=face_loss(wood, length, self.shop, start),
            edge_loss=edge_loss(wood, length, self.shop, start),
            strips=tuple(strips),
        )

    def _box(self, billet: Billet, wood: Offcut, length: Any) -> tuple[Any, Any]:
        """Return the sizes of a billet's box across its strips, and across their sticks, at such lengths (R3)."""
        high = wood.width - edge_loss(wood, length, self.shop, billet.start)
        deep = wood.thickness - face_loss(wood, length, self.shop, billet.start)
        return (high, deep) if billet.layout == "rip first" else (deep, high)

    def _height(self, billet: Billet, wood: Offcut) -> int:
        """Return how high the cuts between a billet's strips are (R5)."""
        return wood.thickness if billet.layout == "rip first" else wood.width

    def _far(self, row: Sequence[Strip | Stick], box: Any, height: int) -> tuple[int, Any]:
        """Return where the leftover on the far side of a row begins, and its size; 0 where it cannot be ripped."""
        last, kerf = row[-1], self.shop.kerf_at(height)
        low = last.start if last.keeper else last.end + (kerf or 0)
        size = box - low
        return low, size * ((size >= self.rule.narrowest) & (kerf is not None))

    def _section(self, stick: Stick) -> tuple[int, int]:
        blank = self.job.blank(stick.blanks[0].blank)
        return planed_section(self.offcut, blank, self.shop, turned=stick.turned)

    def _runs(self, stick: Stick, start: Any, end: Any, by: Any) -> list[tuple[Any, Any]]:
        """Return from where to where there is something left of a stick whose blanks are moved."""
        kerf = self.shop.crosscut_kerf
        between = [(keeper.start + by, keeper.end + by) for keeper in _between(stick)]
        first, last = stick.blanks[0].start + by, stick.blanks[-1].end + by
        return [(start, first - kerf), *between, (last + kerf, end)]


def _carrying(billet: Billet) -> list[tuple[Strip, Stick]]:
    """Return the sticks that carry blanks, each with its strip."""
    return [(strip, stick) for strip in billet.strips for stick in strip.sticks if stick.blanks]


def _between(stick: Stick) -> list[Keeper]:
    """Return the remainders of a stick that lie between blanks."""
    return [k for k in stick.keepers if stick.blanks[0].start < k.start < stick.blanks[-1].start]


def _in_other_layout(billet: Billet, _: Offcut) -> Billet:
    """Return a billet of which one stick carries all blanks in the other layout, keepers left out."""
    carrying = _carrying(billet)
    if len(carrying) != 1:
        return billet
    strip, stick = carrying[0]
    inner = replace(stick, start=strip.start, end=strip.end)
    turned = replace(strip, start=stick.start, end=stick.end, sticks=(inner,))
    other: Literal["rip first", "resaw first"] = (
        "resaw first" if billet.layout == "rip first" else "rip first"
    )
    return replace(billet, layout=other, strips=(turned,))
