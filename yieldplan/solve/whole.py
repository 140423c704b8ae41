"""Offcuts milled whole, for the simple plans: one billet over all that is sound, sticks open for blanks to come.

What a person can do without a computer: ends off, one billet from sound end to sound end (of a kinked piece its
longest straight part), ripped into strips and each strip into sticks from the jointed side on. R1 to R10 hold.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, NamedTuple

from yieldplan.model import (
    Billet,
    CutBlank,
    OffcutPlan,
    Stick,
    Strip,
    fits_machines,
    is_sawn_off,
    ring_window,
    section,
    sound_ends,
    whole,
)
from yieldplan.model.words import fold

if TYPE_CHECKING:
    from yieldplan.model import Blank, Job, Offcut, Shop

Span = tuple[int, int]
"""From where to where along an axis, in steps."""

EVERYWHERE = (-(10**12), 10**12)
"""Across z for a through defect: more than any board."""


class Flaw(NamedTuple):
    """A defect in the box of a billet, wherever jointing may leave it (R9)."""

    kind: str
    x: Span
    y: Span
    z: Span


class Milling(NamedTuple):
    """What milling an offcut whole gives: the billet, its losses, its box and the flaws in it."""

    number: int
    offcut: Offcut
    start: int
    end: int
    edge_loss: int
    face_loss: int
    wide: int
    deep: int
    flaws: tuple[Flaw, ...]
    species: str


def milling(number: int, offcut: Offcut, shop: Shop) -> Milling | None:
    """Return what milling an offcut whole gives; None where no machine takes it or nothing is left."""
    if offcut.width > shop.jointer_width:
        return None
    low, high = sound_ends(offcut, shop)
    parts = [(max(low, side[0]), min(high, side[1])) for side in offcut.sides]
    start, end = max(parts, key=lambda part: part[1] - part[0])
    length, wood = end - start, whole(offcut)
    if length < max(shop.shortest_machined_length, 1):
        return None
    edge, face = wood.edge_loss(length, shop, start), wood.face_loss(length, shop, start)
    if edge >= offcut.width or face >= offcut.thickness:
        return None
    flaws = tuple(
        Flaw(
            kind=fold(seen.kind),
            x=(seen.x1, seen.x2),
            y=(seen.y1 - edge, seen.y2 - shop.edge_skim),
            z=EVERYWHERE if seen.through else (seen.z1 - face, seen.z2 - shop.face_skim),
        )
        for seen in wood.defects(shop)
        if seen.x1 < end and start < seen.x2
    )
    box = (offcut.width - edge, offcut.thickness - face)
    return Milling(number, offcut, start, end, edge, face, *box, flaws, fold(offcut.species))


class Lie(NamedTuple):
    """How a blank's stick lies in an offcut: its rough sizes across y and z, and where across y the rings suit."""

    across: int
    deep: int
    window: Span


class Want:
    """One kind of blank that is looked for, with what does not depend on where."""

    __slots__ = ("_lies", "allows", "blank", "clear", "key", "shop", "size", "species")

    def __init__(self, blank: Blank, shop: Shop) -> None:
        self.blank, self.shop = blank, shop
        self.key = (blank.width, blank.thickness)
        self.size, self.clear = blank.length + shop.length_allowance, blank.clear_end
        self.species = frozenset(map(fold, blank.species))
        self.allows = frozenset(map(fold, blank.allows))
        self._lies: dict[tuple[int, bool], Lie | None] = {}

    def lie(self, milled: Milling, *, turned: bool) -> Lie | None:
        """Return how its stick lies in an offcut, flat or turned; None where it may not (R2, R6, R7, R10)."""
        key = (milled.number, turned)
        if key not in self._lies:
            self._lies[key] = self._found(milled, turned=turned)
        return self._lies[key]

    def _found(self, milled: Milling, *, turned: bool) -> Lie | None:
        blank, shop = self.blank, self.shop
        if self.species and milled.species not in self.species:
            return None
        if milled.end - milled.start < self.size + 2 * shop.stick_trim:
            return None
        least = (blank.thickness, blank.width) if turned else (blank.width, blank.thickness)
        if (
            least[0] > milled.wide
            or least[1] > milled.deep
            or not blank.takes_slope(milled.offcut.grain_slope)
        ):
            return None
        window = ring_window(milled.offcut, blank, turned=turned)
        found = section(milled.offcut, blank, shop, turned=turned)
        if window is None or not fits_machines(found, shop):
            return None
        sizes = (found.rough_width, found.rough_thickness)
        across, deep = sizes[::-1] if turned else sizes
        return Lie(across, deep, window) if across <= milled.wide and deep <= milled.deep else None


@dataclass(slots=True, kw_only=True)
class OpenStick:
    """A stick on which blanks may still be laid; ``y`` and ``z`` are its rough interval in the box."""

    milled: Milling
    key: tuple[int, int]
    turned: bool
    y: Span
    z: Span
    shop: Shop
    flaws: list[Flaw]
    free: int
    cuts: list[tuple[int, int, Want, Literal["A", "B"]]] = field(default_factory=list)

    @property
    def limit(self) -> int:
        """Where blanks must end."""
        return self.milled.end - self.shop.stick_trim

    def takes(self, want: Want) -> bool:
        """Return whether the stick's wood and rings are right for a kind (R6, R7, R10), room aside."""
        lie = want.lie(self.milled, turned=self.turned) if want.key == self.key else None
        return (
            lie is not None
            and lie.window[0] <= self.y[0]
            and self.y[1] + self.milled.edge_loss <= lie.window[1]
        )

    def place(self, want: Want) -> bool:
        """Lay a blank as near to end A as it goes (R8, R9); return whether it found room."""
        if not self.flaws:
            if self.free + want.size > self.limit:
                return False
            self._lay(self.free, want, "A")
            return True
        kerf, first = self.shop.crosscut_kerf, self.milled.start + self.shop.stick_trim
        starts = {first, *(cut[1] + kerf for cut in self.cuts), *(flaw.x[1] for flaw in self.flaws)}
        if want.clear:
            starts |= {flaw.x[1] - want.size + want.clear for flaw in self.flaws}
        for start in sorted(starts):
            end = start + want.size
            if start < first or end > self.limit:
                continue
            if any(start < cut[1] + kerf and cut[0] < end + kerf for cut in self.cuts):
                continue
            clear_end = self._sound_end(want, start, end)
            if clear_end is not None:
                self._lay(start, want, clear_end)
                return True
        return False

    def _lay(self, start: int, want: Want, clear_end: Literal["A", "B"]) -> None:
        end = start + want.size
        self.cuts.append((start, end, want, clear_end))
        self.free = max(self.free, end + self.shop.crosscut_kerf)

    def _sound_end(self, want: Want, start: int, end: int) -> Literal["A", "B"] | None:
        met = [flaw for flaw in self.flaws if flaw.x[0] < end and start < flaw.x[1]]
        if any(flaw.kind not in want.allows for flaw in met):
            return None
        clear = min(want.clear, want.size)
        if not clear or not any(flaw.x[0] < start + clear for flaw in met):
            return "A"
        return None if any(flaw.x[1] > end - clear for flaw in met) else "B"

    def fill(self, want: Want, most: int) -> int:
        """Lay as many of a kind as find room, at most so many; return how many."""
        done = 0
        while done < most and self.place(want):
            done += 1
        return done

    def blanks(self) -> tuple[CutBlank, ...]:
        """Return the blanks from end A on: the shortest first, unless a defect asks otherwise (R12)."""
        ordered = sorted(self.cuts, key=lambda cut: cut[0])
        again = OpenStick(
            milled=self.milled, key=self.key, turned=self.turned, y=self.y, z=self.z, shop=self.shop,
            flaws=self.flaws, free=self.milled.start + self.shop.stick_trim,
        )  # fmt: skip
        shortest = sorted(ordered, key=lambda cut: (cut[1] - cut[0], cut[2].blank.name))
        if all(again.place(cut[2]) for cut in shortest) and again.free <= self.free:
            ordered = sorted(again.cuts, key=lambda cut: cut[0])
        return tuple(
            CutBlank(blank=want.blank.name, start=start, end=end, clear_end=clear_end)
            for start, end, want, clear_end in ordered
        )


@dataclass(slots=True, kw_only=True)
class Board:
    """One piece of the pile that is begun: its strips from the jointed edge on, each with its sticks."""

    milled: Milling
    shop: Shop
    strips: list[tuple[Span, list[OpenStick]]] = field(default_factory=list)

    def beside(self, across: int) -> Span | None:
        """Return where the next strip so wide lies; None where there is no room or no saw (R4, R5)."""
        machine = self.shop.machine_for(self.milled.offcut.thickness, resaw=False)
        start = self.strips[-1][0][1] + self.shop.kerf_of(machine) if self.strips else 0
        end = start + across
        if end > self.milled.wide:
            return None
        cut = bool(self.strips) or is_sawn_off(end, self.milled.wide, self.shop)
        return None if cut and machine is None else (start, end)

    def over(self, strip: Span, sticks: list[OpenStick], deep: int) -> Span | None:
        """Return where the next stick so deep lies in a strip; None where there is no room or no saw (R4, R5)."""
        sawn = is_sawn_off(strip[1], self.milled.wide, self.shop)
        height = strip[1] - strip[0] if sawn else self.milled.offcut.width - strip[0]
        machine = self.shop.machine_for(height, resaw=True)
        start = sticks[-1].z[1] + self.shop.kerf_of(machine) if sticks else 0
        end = start + deep
        if end > self.milled.deep:
            return None
        cut = bool(sticks) or is_sawn_off(end, self.milled.deep, self.shop)
        return None if cut and machine is None else (start, end)

    def open(self, want: Want, y: Span, z: Span, *, turned: bool) -> OpenStick:
        """Return a stick at a place, not yet in the board's list."""
        flaws = [
            flaw
            for flaw in self.milled.flaws
            if flaw.y[0] < y[1] and y[0] < flaw.y[1] and flaw.z[0] < z[1] and z[0] < flaw.z[1]
        ]
        free = self.milled.start + self.shop.stick_trim
        return OpenStick(
            milled=self.milled, key=want.key, turned=turned, y=y, z=z, shop=self.shop, flaws=flaws, free=free
        )

    def drawing(self) -> OffcutPlan | None:
        """Return what is cut from it; None where no blank is. Sticks without one are not sawn."""
        strips = []
        for y, sticks in self.strips:
            kept = tuple(
                Stick(start=stick.z[0], end=stick.z[1], turned=stick.turned, blanks=stick.blanks())
                for stick in sticks
                if stick.cuts
            )
            if kept:
                strips.append(Strip(start=y[0], end=y[1], sticks=kept))
        if not strips:
            return None
        milled = self.milled
        billet = Billet(
            start=milled.start,
            end=milled.end,
            layout="rip first",
            face_loss=milled.face_loss,
            edge_loss=milled.edge_loss,
            strips=tuple(strips),
        )
        return OffcutPlan(offcut=milled.offcut.name, copy=1, billets=(billet,))


class Turn(NamedTuple):
    """So many blanks of a kind, in the order in which they are looked for."""

    want: Want
    number: int
    spare: bool


def turns(job: Job, *, by_length: bool) -> list[Turn]:
    """Return what is wanted, class by class, spares last; in each the longest first, or else the largest."""
    wants = [Want(blank, job.shop) for blank in job.blanks]

    def order(want: Want) -> tuple[int, ...]:
        area = want.blank.width * want.blank.thickness
        return (-want.size,) if by_length else (-area * want.size, -want.size)

    wants.sort(key=order)
    needed = sorted(wants, key=lambda want: want.blank.priority)
    return [
        *(Turn(want, want.blank.need, spare=False) for want in needed),
        *(Turn(want, want.blank.spare, spare=True) for want in wants),
    ]
