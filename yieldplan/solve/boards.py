"""Boards that are begun, for the simple plans: an offcut milled whole, strips and sticks open for blanks to come.

What a person can do without a computer: ends off, one billet from sound end to sound end (of a kinked piece its
longest straight part), ripped from the jointed edge on, the strips resawn. R1 to R10 hold for whatever is laid.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal, NamedTuple

from yieldplan.model import (
    Billet,
    CutBlank,
    OffcutPlan,
    Stick,
    Strip,
    fits_machines,
    ring_window,
    section,
    whole,
)
from yieldplan.model.rows import is_sawn_off
from yieldplan.model.wood import sound_ends

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Blank, Defect, Offcut, Shop

Span = tuple[int, int]
"""From where to where along an axis, in steps."""


WAYS = ((False, True), (True, False))
"""In which order sticks may be tried: flat before turned, or turned first."""


class Lie(NamedTuple):
    """How a blank's stick lies in an offcut: its rough sizes across y and z, and where across y the rings suit."""

    across: int
    deep: int
    window: Span


class Milled:
    """An offcut milled whole: the billet's ends and losses, its box, the defects in it wherever jointing leaves them.

    A box without width or depth, or a billet that is too short, gives nothing.
    """

    def __init__(self, offcut: Offcut, shop: Shop) -> None:
        self.offcut, self.shop, wood = offcut, shop, whole(offcut)
        low, high = sound_ends(offcut, shop)
        parts = [(max(low, side[0]), min(high, side[1])) for side in offcut.sides]
        self.start, self.end = max(parts, key=lambda part: part[1] - part[0])
        length = self.end - self.start
        self.edge_loss = wood.edge_loss(length, shop, self.start)
        self.face_loss = wood.face_loss(length, shop, self.start)
        self.wide, self.deep = offcut.width - self.edge_loss, offcut.thickness - self.face_loss
        if offcut.width > shop.jointer_width or length < max(shop.shortest_machined_length, 1):
            self.wide = 0
        self.flaws = tuple(
            replace(
                seen,
                y1=seen.y1 - self.edge_loss,
                y2=seen.y2 - shop.edge_skim,
                z1=-offcut.thickness if seen.through else seen.z1 - self.face_loss,
                z2=offcut.thickness if seen.through else seen.z2 - shop.face_skim,
            )
            for seen in wood.defects(shop)
            if seen.x1 < self.end and self.start < seen.x2
        )
        self._lies: dict[tuple[str, bool], Lie | None] = {}

    def lie(self, blank: Blank, *, turned: bool) -> Lie | None:
        """Return how a blank's stick lies in it, flat or turned; None where it may not (R2, R6, R7, R10)."""
        if (blank.name, turned) not in self._lies:
            self._lies[blank.name, turned] = self._found(blank, turned=turned)
        return self._lies[blank.name, turned]

    def _found(self, blank: Blank, *, turned: bool) -> Lie | None:
        offcut, shop = self.offcut, self.shop
        if self.end - self.start < blank.length + shop.length_allowance + 2 * shop.stick_trim:
            return None
        if min(self.wide, self.deep) < blank.thickness or not blank.takes_slope(offcut.grain_slope):
            return None
        window, made = ring_window(offcut, blank, turned=turned), section(offcut, blank, shop, turned=turned)
        if window is None or not blank.takes_species(offcut.species) or not fits_machines(made, shop):
            return None
        sizes = (made.rough_width, made.rough_thickness)
        across, deep = sizes[::-1] if turned else sizes
        return Lie(across, deep, window) if across <= self.wide and deep <= self.deep else None


@dataclass(slots=True, kw_only=True)
class OpenStick:
    """A stick on which blanks may still be laid; ``y`` and ``z`` are its rough interval in the box."""

    milled: Milled
    key: tuple[int, int]
    turned: bool
    y: Span
    z: Span
    laid: list[tuple[CutBlank, Blank]] = field(default_factory=list)

    def fill(self, blank: Blank, most: int) -> int:
        """Lay as many of a kind as find room, at most so many; return how many."""
        lie = self.milled.lie(blank, turned=self.turned)
        if (blank.width, blank.thickness) != self.key or lie is None:
            return 0
        if self.y[0] < lie.window[0] or lie.window[1] < self.y[1] + self.milled.edge_loss:
            return 0
        return next((count for count in range(most) if not self._place(blank)), most)

    def _place(self, blank: Blank) -> bool:
        """Lay a blank as near to end A as it goes (R8, R9); return whether it found room."""
        shop, milled, (y1, y2), (z1, z2) = self.milled.shop, self.milled, self.y, self.z
        kerf, size = shop.crosscut_kerf, blank.length + shop.length_allowance
        first, last = milled.start + shop.stick_trim, milled.end - shop.stick_trim - size
        flaws = [f for f in milled.flaws if f.y1 < y2 and y1 < f.y2 and f.z1 < z2 and z1 < f.z2]
        starts = {first, *(cut.end + kerf for cut, _ in self.laid)}
        for flaw in flaws:
            starts |= {flaw.x2, flaw.x2 - size + blank.clear_end if blank.clear_end else flaw.x2}
        for start in sorted(start for start in starts if first <= start <= last):
            end = start + size
            if any(start < cut.end + kerf and cut.start < end + kerf for cut, _ in self.laid):
                continue
            clear_end = _sound_end(blank, start, end, flaws)
            if clear_end is not None:
                cut = CutBlank(blank=blank.name, start=start, end=end, clear_end=clear_end)
                self.laid.append((cut, blank))
                return True
        return False

    def stick(self) -> Stick:
        """Return it with its blanks from end A on: the shortest first, unless a defect asks otherwise (R12)."""
        again = replace(self, laid=[])
        shortest = sorted(self.laid, key=lambda one: (one[1].length, one[1].name))
        better = all(again._place(blank) for _, blank in shortest) and _end(again) <= _end(self)
        cuts = sorted((cut for cut, _ in (again if better else self).laid), key=lambda cut: cut.start)
        return Stick(start=self.z[0], end=self.z[1], turned=self.turned, blanks=tuple(cuts))


def _end(stick: OpenStick) -> int:
    return max(cut.end for cut, _ in stick.laid)


def _sound_end(blank: Blank, start: int, end: int, flaws: list[Defect]) -> Literal["A", "B"] | None:
    """Return at which end of a place a blank has its clear end (R9); None where it may not lie there."""
    met = [flaw for flaw in flaws if flaw.x1 < end and start < flaw.x2]
    if not all(blank.allows_kind(flaw.kind) for flaw in met):
        return None
    clear = min(blank.clear_end, end - start)
    if not clear or not any(flaw.x1 < start + clear for flaw in met):
        return "A"
    return None if any(flaw.x2 > end - clear for flaw in met) else "B"


class Board:
    """One piece of the pile that is begun: its strips from the jointed edge on, each with its sticks."""

    def __init__(self, milled: Milled) -> None:
        self.milled = milled
        self.strips: dict[Span, list[OpenStick]] = {}

    @property
    def sticks(self) -> list[OpenStick]:
        """Its sticks, strip by strip."""
        return [stick for row in self.strips.values() for stick in row]

    def saw(self, stick: OpenStick) -> None:
        """Saw a stick."""
        self.strips.setdefault(stick.y, []).append(stick)

    def saw_for(
        self, blank: Blank, count: int, way: tuple[bool, ...] = WAYS[0]
    ) -> Iterator[tuple[OpenStick, int]]:
        """Saw sticks for as many of a kind as it takes, at most so many; yield each and how many lie on it.

        ``way``: whether flat ones are tried before turned ones.
        """
        while count:
            openings = (one for turned in way for one in self.openings(blank, turned=turned))
            tried = ((stick, laid) for stick in openings if (laid := stick.fill(blank, count)))
            found = next(tried, None)
            if found is None:
                return
            self.saw(found[0])
            count -= found[1]
            yield found

    def openings(self, blank: Blank, *, turned: bool) -> Iterator[OpenStick]:
        """Yield a stick of a kind's section in each room for one: over the last of each strip as wide, then beside."""
        milled, shop = self.milled, self.milled.shop
        lie = milled.lie(blank, turned=turned)
        if lie is None:
            return
        strips = [(y, row) for y, row in self.strips.items() if y[1] - y[0] == lie.across]
        beside = self._next(list(self.strips), lie.across, milled.wide, milled.offcut.thickness, resaw=False)
        if beside is not None:
            strips.append((beside, []))
        for y, row in strips:
            sawn = is_sawn_off(y[1], milled.wide, shop)
            height = y[1] - y[0] if sawn else milled.offcut.width - y[0]
            z = self._next([stick.z for stick in row], lie.deep, milled.deep, height, resaw=True)
            if z is not None:
                key = (blank.width, blank.thickness)
                yield OpenStick(milled=milled, key=key, turned=turned, y=y, z=z)

    def _next(self, row: list[Span], size: int, room: int, height: int, *, resaw: bool) -> Span | None:
        """Return where the next piece of a row lies; None where there is no room or no saw (R4, R5)."""
        shop = self.milled.shop
        machine = shop.machine_for(height, resaw=resaw)
        start = row[-1][1] + shop.kerf_of(machine) if row else 0
        cut = bool(row) or is_sawn_off(start + size, room, shop)
        return None if start + size > room or (cut and machine is None) else (start, start + size)

    def drawing(self) -> OffcutPlan | None:
        """Return what is cut from it; None where no blank is. Sticks without one are not sawn."""
        strips = []
        for y, row in self.strips.items():
            if sticks := tuple(stick.stick() for stick in row if stick.laid):
                strips.append(Strip(start=y[0], end=y[1], sticks=sticks))
        billet = Billet(
            start=self.milled.start,
            end=self.milled.end,
            layout="rip first",
            face_loss=self.milled.face_loss,
            edge_loss=self.milled.edge_loss,
            strips=tuple(strips),
        )
        return OffcutPlan(offcut=self.milled.offcut.name, copy=1, billets=(billet,)) if strips else None
