"""Boards that are begun, for plans built without prices of a master: strips and sticks open for blanks to come.

What a person can do without a computer: ends off, a billet out of the longest straight part, ripped from the jointed
edge on, the strips resawn. R1 to R10 hold for whatever is laid. All in marks.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from yieldplan.model.wood import whole
from yieldplan.solve.drawn import cutting_of
from yieldplan.solve.graph import Box

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Billet, SplitBillet
    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.drawn import Cut

    Span = tuple[int, int]


class Milled:
    """A billet of an offcut class: its box, and where defects lie in it wherever jointing leaves them.

    It reaches from end to end of the longest straight part, unless it is asked :meth:`between` which places. A box
    without width gives nothing. ``left`` are the names of the pieces that are untouched.
    """

    def __init__(self, batch: Batch, one: OffcutClass) -> None:
        self.batch, self.one, self.wood, kinds = batch, one, one.wood, one.kinds.tolist()
        self.left = list(one.names)
        self.spans = dict(zip(kinds, self.wood.spans.tolist(), strict=True))
        self.clears = dict(zip(kinds, self.wood.clears.tolist(), strict=True))
        self.allows = dict(zip(kinds, self.wood.allows.tolist(), strict=True))
        self.limits = {-1: (0, self.wood.width), **dict(enumerate(self.wood.limits.tolist()))}
        fits = [zip(kinds, row, strict=True) for row in self.wood.fits.tolist()]
        self.carries = [{kind: limit for kind, limit in row if limit >= -1} for row in fits]
        self.extents, self.defects = self.wood.types[:, :2].tolist(), self.wood.defects.tolist()
        self.start, self.end = max(one.course.sides[:, :2].tolist(), key=lambda side: side[1] - side[0])
        self._mill()

    def _mill(self) -> None:
        shop, wood, mark = self.batch.job.shop, whole(self.one.offcut), self.batch.job.shop.mark
        self.long, at = self.end - self.start, self.start * mark
        face, edge = wood.face_loss(self.long * mark, shop, at), wood.edge_loss(self.long * mark, shop, at)
        self.box = Box(self.start, self.end, 0, self.wood.width, face // mark, edge // mark)
        self.wide = self.wood.width - self.box.edge if self.wood.width <= self.batch.shop.jointer else 0
        self.deep = self.wood.thickness - self.box.face

    def between(self, start: int, end: int) -> Milled:
        """Return a billet of the same part from one place along it to another."""
        found = copy(self)
        found.start, found.end = start, end
        found._mill()
        return found

    def types_of(self, kind: int) -> list[int]:
        """Return the stick types of a kind that fit into the box: that which lies flat before that which is turned."""
        found = [
            number
            for number, (across, deep) in enumerate(self.extents)
            if kind in self.carries[number] and across <= self.wide and deep <= self.deep
        ]
        return sorted(found, key=lambda number: self.one.types[number].turned)

    def open_stick(self, number: int, y: Span, z: Span) -> OpenStick:
        """Return a stick of a type with nothing on it: the kinds whose rings suit there (R7), what it meets (R9)."""
        shop, box, (low, high) = self.batch.shop, self.box, (y[0], y[1] + self.box.edge)
        kinds = frozenset(
            kind
            for kind, limit in self.carries[number].items()
            if self.limits[limit][0] <= low and high <= self.limits[limit][1]
        )
        flaws = [
            (number, x1 - box.start, x2 - box.start)
            for number, (x1, x2, y1, y2, z1, z2, through) in enumerate(self.defects)
            if y1 - box.edge < y[1] and y[0] < y2 - shop.edge_skim
            if through or (z1 - box.face < z[1] and z[0] < z2 - shop.face_skim)
        ]
        return OpenStick(milled=self, type=number, y=y, z=z, kinds=kinds, flaws=flaws)


@dataclass(slots=True, kw_only=True)
class OpenStick:
    """A stick on which blanks may still be laid; ``y`` and ``z`` are its rough interval in the box."""

    milled: Milled
    type: int
    y: Span
    z: Span
    kinds: frozenset[int]
    flaws: list[tuple[int, int, int]]
    laid: list[Cut] = field(default_factory=list)

    def fill(self, kind: int, most: int) -> int:
        """Lay as many of a kind as find room, at most so many; return how many."""
        if kind not in self.kinds:
            return 0
        return next((count for count in range(most) if not self._place(kind)), most)

    def _place(self, kind: int) -> bool:
        """Lay a blank as near to end A as it goes (R8, R9); return whether it found room."""
        shop, span, clear = self.milled.batch.shop, self.milled.spans[kind], self.milled.clears[kind]
        first, last = shop.stick_trim, self.milled.long - shop.stick_trim - span
        starts = {first, *(at + size + shop.cross_kerf for at, size, _, _ in self.laid)}
        for _, _, behind in self.flaws:
            starts |= {behind, behind - span + clear if clear else behind}
        for start in sorted(start for start in starts if first <= start <= last):
            end = start + span + shop.cross_kerf
            if any(start < at + size + shop.cross_kerf and at < end for at, size, _, _ in self.laid):
                continue
            if clear_end := self._sound_end(kind, start):
                self.laid.append((start, span, kind, clear_end))
                return True
        return False

    def _sound_end(self, kind: int, start: int) -> str:
        """Return at which end of a place a blank has its clear end (R9): A or B; nothing if it may not lie there."""
        span, allows = self.milled.spans[kind], self.milled.allows[kind]
        met = [flaw for flaw in self.flaws if flaw[1] < start + span and start < flaw[2]]
        if not all(allows[number] for number, _, _ in met):
            return ""
        clear = min(self.milled.clears[kind], span)
        if not clear or not any(x1 < start + clear for _, x1, _ in met):
            return "A"
        return "" if any(x2 > start + span - clear for _, _, x2 in met) else "B"

    def sound(self) -> Iterator[Span]:
        """Yield the stretches between its trims that meet no defect."""
        at, trim = self.milled.batch.shop.stick_trim, self.milled.batch.shop.stick_trim
        for _, low, high in sorted(self.flaws, key=lambda flaw: flaw[1]):
            if low > at:
                yield at, min(low, self.milled.long - trim)
            at = max(at, high)
        yield at, self.milled.long - trim

    def cuts(self) -> list[Cut]:
        """Return its blanks from end A on: the shortest first, unless a defect asks otherwise (R12)."""
        again, blanks = replace(self, laid=[]), self.milled.batch.blanks
        shortest = sorted(self.laid, key=lambda cut: (cut[1], blanks[cut[2]].name))
        better = all(again._place(kind) for _, _, kind, _ in shortest) and again.end <= self.end
        return sorted(again.laid if better else self.laid)

    @property
    def end(self) -> int:
        """Where its last blank ends; 0 where there is none."""
        return max((at + size for at, size, _, _ in self.laid), default=0)


class Board:
    """One piece of the pile that is begun: its strips from the jointed edge on, each with its sticks."""

    def __init__(self, milled: Milled) -> None:
        self.milled, self.name = milled, ""
        self.strips: dict[Span, list[OpenStick]] = {}

    @property
    def sticks(self) -> list[OpenStick]:
        """Its sticks, strip by strip."""
        return [stick for row in self.strips.values() for stick in row]

    def saw(self, stick: OpenStick) -> None:
        """Saw a stick."""
        self.strips.setdefault(stick.y, []).append(stick)

    def saw_for(self, kind: int, count: int, types: Sequence[int]) -> Iterator[tuple[OpenStick, int]]:
        """Saw sticks of these types for as many of a kind as it takes; yield each and how many lie on it."""
        while count:
            tried = ((stick, stick.fill(kind, count)) for number in types for stick in self.rooms(number))
            found = next((one for one in tried if one[1]), None)
            if found is None:
                return
            self.saw(found[0])
            count -= found[1]
            yield found

    def rooms(self, number: int) -> Iterator[OpenStick]:
        """Yield a stick of a type in each room for one: over the last of each strip as wide, then beside them."""
        across = self.milled.extents[number][0]
        beside = self.beside(across)
        strips = [(y, row) for y, row in self.strips.items() if y[1] - y[0] == across]
        for y, row in [*strips, (beside, [])] if beside else strips:
            if stick := self.over(number, y, row):
                yield stick

    def beside(self, across: int) -> Span | None:
        """Return where the next strip of a width lies; None where there is no room or no saw."""
        milled = self.milled
        return self._next(list(self.strips), across, milled.wide, milled.wood.thickness, resaw=False)

    def over(self, number: int, y: Span, row: Sequence[OpenStick]) -> OpenStick | None:
        """Return a stick of a type over those of a strip; None where there is no room or no saw."""
        milled = self.milled
        sawn = milled.wide - y[1] > milled.batch.shop.plane_off
        height = y[1] - y[0] if sawn else milled.wood.width - y[0]
        z = self._next([s.z for s in row], milled.extents[number][1], milled.deep, height, resaw=True)
        return milled.open_stick(number, y, z) if z else None

    def _next(self, row: list[Span], size: int, room: int, height: int, *, resaw: bool) -> Span | None:
        """Return where the next piece of a row lies; None where there is no room or no saw (R4, R5)."""
        shop, mark = self.milled.batch.job.shop, self.milled.batch.job.shop.mark
        machine = shop.machine_for(height * mark, resaw=resaw)
        start = row[-1][1] + shop.kerf_of(machine) // mark if row else 0
        cut = bool(row) or room - start - size > self.milled.batch.shop.plane_off
        return None if start + size > room or (cut and machine is None) else (start, start + size)

    def shortened(self) -> Board:
        """Return it with a billet as short as its sticks ask; itself where saws do not reach the same cuts then."""
        milled = self.milled
        long = max((stick.end for stick in self.sticks), default=0) + milled.batch.shop.stick_trim
        found = Board(milled.between(milled.start, milled.start + max(long, milled.one.course.shortest)))
        found.name = self.name
        for stick in self.sticks:
            same = [one for one in found.rooms(stick.type) if (one.y, one.z) == (stick.y, stick.z)]
            if not same:
                return self
            found.saw(replace(same[0], laid=stick.laid))
        return found

    def billet(self) -> Billet | SplitBillet | None:
        """Return it as a plan has it; None where no blank is on it. Sticks without one are not sawn."""
        strips = []
        for (low, high), row in self.strips.items():
            if sticks := [(one.type, *one.z, one.cuts()) for one in row if one.laid]:
                strips.append((low, high, sticks))
        milled, box = self.milled, self.milled.box
        piece = ((box.start, box.end), None, ((box, True, strips),))
        return cutting_of(milled.batch, milled.one, piece) if strips else None
