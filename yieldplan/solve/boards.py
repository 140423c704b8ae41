"""Boards that are begun, for the simple plans: strips and sticks from the jointed side on, open for blanks to come.

Rip first, always. R1 to R10 hold for whatever is laid.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from yieldplan.model import Billet, CutBlank, OffcutPlan, Stick, Strip, is_sawn_off

if TYPE_CHECKING:
    from yieldplan.model import Shop
    from yieldplan.solve.whole import Flaw, Milling, Span, Want


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
