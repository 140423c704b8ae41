"""The work of a plan, counted afresh from its cuts, and what it costs."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet
from yieldplan.verify.boxes import boxes_of
from yieldplan.verify.breach import plain
from yieldplan.verify.counts import pairs_cut
from yieldplan.verify.pieces import stock_of

if TYPE_CHECKING:
    from yieldplan.model import Offcut, OffcutPlan, Plan, Stick
    from yieldplan.verify.boxes import Box
    from yieldplan.verify.breach import Notebook


@dataclass(slots=True)
class Tally:
    """The work as it is counted: passes a machine, odd cuts, crosscuts, and which settings there are."""

    notes: Notebook
    offcuts: int = 0
    billets: int = 0
    sticks: int = 0
    table_passes: int = 0
    band_passes: int = 0
    odd: int = 0
    crosscuts: int = 0
    fences: set[tuple[int, bool, int]] = field(default_factory=set)
    planer: set[tuple[str, int]] = field(default_factory=set)
    stops: set[int] = field(default_factory=set)
    odd_boards: int = 0

    def add_offcut(self, offcut: Offcut, drawn: OffcutPlan) -> None:
        """Count what one drawn offcut takes."""
        shop = self.notes.shop
        self.offcuts += 1
        ends = [0, *(end for billet in drawn.billets for end in (billet.start, billet.end)), offcut.length]
        for n, (before, after) in enumerate(zip(ends[::2], ends[1::2], strict=True)):
            if 0 < n < len(drawn.billets):  # between two billets
                self.crosscuts += 2 if after - before > shop.crosscut_kerf else 1
            elif drawn.billets and after > before:
                self.crosscuts += 1
        self.odd_boards += sum(made % 2 for made in pairs_cut(self.notes, drawn).values())
        for billet in drawn.billets:
            if isinstance(billet, SplitBillet):
                self.band_passes += 1
                self.odd += 1
            for box in boxes_of(offcut, billet, shop):
                self._add_box(box)

    def _add_box(self, box: Box) -> None:
        self.billets += 1
        first_is_cut = False
        for n, row in enumerate(box.rows(self.notes.shop)):
            sizes, odd = row.cuts
            first_is_cut = first_is_cut or (n == 0 and bool(sizes or odd))
            self.odd += odd
            if row.bandsaw:
                self.band_passes += len(sizes) + odd
            else:
                self.table_passes += len(sizes) + odd
            if row.reached:
                stage = 2 if n and first_is_cut else 1
                self.fences.update((stage, row.bandsaw, size) for size in sizes)
        for strip in box.billet.strips:
            for stick in strip.sticks:
                self._add_stick(stick, box.offcut)

    def _add_stick(self, stick: Stick, offcut: Offcut) -> None:
        kerf = self.notes.shop.crosscut_kerf
        self.sticks += 1
        self.crosscuts += 1  # it is squared
        for n, cut in enumerate(stick.blanks):
            stands_off = n > 0 and cut.start - stick.blanks[n - 1].end > kerf
            self.crosscuts += 2 if stands_off else 1
            self.stops.add(cut.end - cut.start)
        stock = stock_of(self.notes, stick, offcut)
        if stock is not None:
            self.planer |= {("width", stock.width), ("thickness", stock.thickness)}

    @property
    def _priced(self) -> tuple[tuple[int, int], ...]:
        """How many there are of each thing that takes time, and the hundredths of a minute that one takes."""
        shop = self.notes.shop
        return (
            (len(self.fences) + self.odd + len(self.planer), shop.machine_setting),
            (len(self.stops), shop.stop_setting),
            (self.offcuts, shop.offcut_handled),
            (self.billets, shop.billet_jointed),
            (self.table_passes + self.crosscuts, shop.cut),
            (self.band_passes, shop.bandsaw_pass),
            (self.sticks, shop.stick_planed),
        )

    @property
    def figures(self) -> dict[str, int]:
        """What the plan has to say, by the names that it says it under."""
        return {
            "hundredths": sum(count * minutes for count, minutes in self._priced),
            "offcuts": self.offcuts,
            "billets": self.billets,
            "sticks": self.sticks,
            "passes": self.table_passes + self.band_passes,
            "bandsaw_passes": self.band_passes,
            "odd_cuts": self.odd,
            "crosscuts": self.crosscuts,
            "saw_settings": len(self.fences) + self.odd,
            "planer_settings": len(self.planer),
            "stop_settings": len(self.stops),
            "odd_boards": self.odd_boards,
        }

    def price(self, foot: int | None) -> int:
        """Return what the work costs, in thousandths of a board foot, each price rounded up to a whole one.

        ``foot`` is how many hundredths of a minute a board foot is worth, None as the shop says; nothing at 0.
        """
        foot = self.notes.shop.minutes_for_a_board_foot if foot is None else foot
        if foot <= 0:
            return 0
        odd = self.odd_boards * math.ceil(Fraction(1000 * self.notes.shop.pair_from_one_board, 2 * foot))
        return odd + sum(count * math.ceil(Fraction(1000 * minutes, foot)) for count, minutes in self._priced)


def check_work(notes: Notebook, plan: Plan, tally: Tally) -> None:
    """Compare the counts of the plan, and its minutes, with those counted here."""
    for name, count in tally.figures.items():
        said = getattr(plan.work, name)
        if said != count:
            word = "hundredths of a minute" if name == "hundredths" else name.replace("_", " ")
            notes.note("work", f"{word} are said to be {plain(said)}; they come to {plain(count)}")
