"""Boards that are begun, for the simple plans: an offcut milled whole, strips and sticks open for blanks to come.

What a person can do without a computer: ends off, one billet from sound end to sound end (of a kinked piece its
longest straight part), ripped from the jointed edge on, the strips resawn. R1 to R10 hold for whatever is laid. All in
marks.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from yieldplan.model import OffcutPlan
from yieldplan.solve.drawn import cutting_of
from yieldplan.solve.graph import Box
from yieldplan.solve.places import losses

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.drawn import Cut

    Span = tuple[int, int]
    Flaw = tuple[int, int, int]

WAYS = ((False, True), (True, False))
"""In which order sticks may be tried: flat before turned, or turned first."""


class Milled:
    """An offcut of a class milled whole: the billet's box, and where defects lie in it wherever jointing leaves them.

    A box without width gives nothing. ``long``: the billet's length, if it does not go to the end.
    ``left`` are the names of the pieces that are untouched.
    """

    def __init__(self, batch: Batch, one: OffcutClass, long: int | None = None) -> None:
        self.batch, self.one, self.wood, shop = batch, one, one.wood, batch.shop
        self.left = list(one.names)
        sides = one.course.sides.tolist()
        side = max(range(len(sides)), key=lambda n: sides[n][1] - sides[n][0])
        start, end = sides[side][0], sides[side][1] if long is None else sides[side][0] + long
        face, edge = losses(self.wood, shop, one.course, side, end - start, self.wood.width)
        self.box = Box(start, end, 0, self.wood.width, int(face), int(edge))
        self.wide = self.wood.width - self.box.edge if self.wood.width <= shop.jointer else 0
        self.deep, self.long = self.wood.thickness - self.box.face, end - start
        self.local = {kind: n for n, kind in enumerate(one.kinds.tolist())}
        self.spans, self.clears = self.wood.spans.tolist(), self.wood.clears.tolist()
        self.fits, self.limits = self.wood.fits.tolist(), self.wood.limits.tolist()
        self.extents = self.wood.types[:, :2].tolist()
        self.defects = self.wood.defects.tolist()

    def types_of(self, kind: int, *, turned: bool) -> list[int]:
        """Return the stick type of a kind that lies flat, or turned, and fits into the box; none if it may not."""
        if kind not in self.local:
            return []
        return [
            n
            for n, (across, deep) in enumerate(self.extents)
            if self.fits[n][self.local[kind]] >= -1 and self.one.types[n].turned == turned
            if across <= self.wide and deep <= self.deep
        ]

    def flaws(self, y: Span, z: Span) -> list[Flaw]:
        """Return what a stick meets: number, and from where to where along the billet (R9)."""
        shop, box = self.batch.shop, self.box
        return [
            (number, x1 - box.start, x2 - box.start)
            for number, (x1, x2, y1, y2, z1, z2, through) in enumerate(self.defects)
            if y1 - box.edge < y[1] and y[0] < y2 - shop.edge_skim
            if through or (z1 - box.face < z[1] and z[0] < z2 - shop.face_skim)
        ]


@dataclass(slots=True, kw_only=True)
class OpenStick:
    """A stick on which blanks may still be laid; ``y`` and ``z`` are its rough interval in the box."""

    milled: Milled
    type: int
    y: Span
    z: Span
    flaws: list[Flaw]
    laid: list[Cut] = field(default_factory=list)

    def fill(self, kind: int, most: int) -> int:
        """Lay as many of a kind as find room, at most so many; return how many."""
        milled = self.milled
        limit = milled.fits[self.type][milled.local[kind]] if kind in milled.local else -2
        low, high = milled.limits[limit] if limit >= 0 else (0, milled.wood.width)
        if limit < -1 or self.y[0] < low or high < self.y[1] + milled.box.edge:
            return 0
        return next((count for count in range(most) if not self._place(kind)), most)

    def _place(self, kind: int) -> bool:
        """Lay a blank as near to end A as it goes (R8, R9); return whether it found room."""
        milled, shop, local = self.milled, self.milled.batch.shop, self.milled.local[kind]
        span, clear = milled.spans[local], milled.clears[local]
        first, last = shop.stick_trim, milled.long - shop.stick_trim - span
        starts = {first, *(at + size + shop.cross_kerf for at, size, _, _ in self.laid)}
        for _, _, behind in self.flaws:
            starts |= {behind, behind - span + clear if clear else behind}
        for start in sorted(start for start in starts if first <= start <= last):
            end = start + span + shop.cross_kerf
            if any(start < at + size + shop.cross_kerf and at < end for at, size, _, _ in self.laid):
                continue
            clear_end = self._sound_end(local, start)
            if clear_end:
                self.laid.append((start, span, kind, clear_end))
                return True
        return False

    def _sound_end(self, local: int, start: int) -> str:
        """Return at which end of a place a blank has its clear end (R9): A or B; nothing if it may not lie there."""
        span, allows = self.milled.spans[local], self.milled.wood.allows[local]
        met = [flaw for flaw in self.flaws if flaw[1] < start + span and start < flaw[2]]
        if not all(allows[number] for number, _, _ in met):
            return ""
        clear = min(self.milled.clears[local], span)
        if not clear or not any(x1 < start + clear for _, x1, _ in met):
            return "A"
        return "" if any(x2 > start + span - clear for _, _, x2 in met) else "B"

    def cuts(self) -> list[Cut]:
        """Return its blanks from end A on: the shortest first, unless a defect asks otherwise (R12)."""
        again, blanks = replace(self, laid=[]), self.milled.batch.blanks
        shortest = sorted(self.laid, key=lambda cut: (cut[1], blanks[cut[2]].name))
        better = all(again._place(kind) for _, _, kind, _ in shortest) and again._end() <= self._end()
        return sorted(again.laid if better else self.laid)

    def _end(self) -> int:
        return max(at + size for at, size, _, _ in self.laid)


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

    def saw_for(
        self, kind: int, count: int, way: tuple[bool, ...] = WAYS[0]
    ) -> Iterator[tuple[OpenStick, int]]:
        """Saw sticks for as many of a kind as it takes, at most so many; yield each and how many lie on it.

        ``way``: whether flat ones are tried before turned ones.
        """
        while count:
            openings = (stick for turned in way for stick in self.openings(kind, turned=turned))
            tried = ((stick, laid) for stick in openings if (laid := stick.fill(kind, count)))
            found = next(tried, None)
            if found is None:
                return
            self.saw(found[0])
            count -= found[1]
            yield found

    def openings(self, kind: int, *, turned: bool) -> Iterator[OpenStick]:
        """Yield a stick of a kind's section in each room for one: over the last of each strip as wide, then beside."""
        return (
            stick for number in self.milled.types_of(kind, turned=turned) for stick in self._rooms(number)
        )

    def _rooms(self, number: int) -> Iterator[OpenStick]:
        milled, wood, (across, deep) = self.milled, self.milled.wood, self.milled.extents[number]
        strips = [(y, row) for y, row in self.strips.items() if y[1] - y[0] == across]
        beside = self._next(list(self.strips), across, milled.wide, wood.thickness, resaw=False)
        if beside is not None:
            strips.append((beside, []))
        for y, row in strips:
            sawn = milled.wide - y[1] > milled.batch.shop.plane_off
            height = y[1] - y[0] if sawn else wood.width - y[0]
            z = self._next([stick.z for stick in row], deep, milled.deep, height, resaw=True)
            if z is not None:
                yield OpenStick(milled=milled, type=number, y=y, z=z, flaws=milled.flaws(y, z))

    def _next(self, row: list[Span], size: int, room: int, height: int, *, resaw: bool) -> Span | None:
        """Return where the next piece of a row lies; None where there is no room or no saw (R4, R5)."""
        shop, mark = self.milled.batch.job.shop, self.milled.batch.job.shop.mark
        machine = shop.machine_for(height * mark, resaw=resaw)
        start = row[-1][1] + shop.kerf_of(machine) // mark if row else 0
        cut = bool(row) or room - start - size > self.milled.batch.shop.plane_off
        return None if start + size > room or (cut and machine is None) else (start, start + size)

    def shortened(self) -> Board:
        """Return it with a billet as short as its sticks ask; itself where saws do not reach the same cuts then."""
        milled, shop = self.milled, self.milled.batch.shop
        long = max(at + size for stick in self.sticks for at, size, _, _ in stick.laid) + shop.stick_trim
        found = Board(Milled(milled.batch, milled.one, max(long, milled.one.course.shortest)))
        found.name = self.name
        for stick in self.sticks:
            same = next(
                (one for one in found._rooms(stick.type) if (one.y, one.z) == (stick.y, stick.z)), None
            )
            if same is None:
                return self
            same.laid = stick.laid
            found.saw(same)
        return found

    def drawing(self) -> OffcutPlan | None:
        """Return what is cut from it; None where no blank is. Sticks without one are not sawn."""
        strips = []
        for (low, high), row in self.strips.items():
            if sticks := [(one.type, *one.z, one.cuts()) for one in row if one.laid]:
                strips.append((low, high, sticks))
        if not strips:
            return None
        milled, box = self.milled, self.milled.box
        billet = cutting_of(milled.batch, milled.one, ((box.start, box.end), None, ((box, True, strips),)))
        return OffcutPlan(offcut=self.name, copy=1, billets=(billet,))
