"""What a plan takes, added up afresh in one walk over its cuts: the account of wood, and the work with its price.

The account is in = blanks + keepers + kerf + shavings + trimmings, in cubic steps. Exactly this is meant, and the
plan's own account must come to the same figures. W by T is the offcut's section; a
half of a split billet has its own width w for W; E and F are the losses of R3; l is a billet's length.

- **in**: L W T of every drawn piece.
- **blanks**: (finished length + length allowance) times the planed section, of needed ones and spares alike.
- **keepers**: the volume of every keeper of R11, as the leftovers have it.
- **kerf**: for every row of pieces the gaps along it: min(gap, k) before the first and behind the last piece,
  min(gap, 2k) between neighbours, times the section that is cut:

  - billets on an offcut, and the blanks on a stick: k is the crosscut kerf; the section is W T, or the planed section
    (a stick's row runs from the start to the end of its billet);
  - strips or layers in a box: k is the kerf of the row's machine (R5), on the bandsaw with its skim; the section is l
    times the box's other size (T - F under strips, W - E under layers);
  - sticks in a strip or layer: k as before, by the height of their own cuts; the section is l times the strip's size;
  - a split: l T times the bandsaw kerf (no skim: each half is jointed anyway).

  Where no saw reaches k is 0. But *behind the last piece of a row across* (strips, layers or sticks) a gap of at most
  *plane off* is no kerf at all: no cut is made there.
- **shavings**: jointing, l (W T - (W - E)(T - F)) of each billet or half with a layout; planing, l (rough - planed
  section) of every stick; and those gaps of at most *plane off*, the whole gap times the section of its row, less what
  R11 calls a keeper there (only in a shop whose keepers are thinner than what it planes off).
- **trimmings**: all the rest: ends, edgings, defects, halves that are waste.

Gap and kerf and leftover of a row add up, so nothing counts twice: no part of a right plan is below 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet
from yieldplan.verify.boxes import boxes_of
from yieldplan.verify.breach import plain
from yieldplan.verify.claims import pairs_cut
from yieldplan.verify.pieces import stock_of
from yieldplan.verify.rows import Span, dust, leftovers

if TYPE_CHECKING:
    from yieldplan.model import Offcut, OffcutPlan, Plan, Stick
    from yieldplan.verify.boxes import Box
    from yieldplan.verify.breach import Notebook
    from yieldplan.verify.rows import Row

BOARD_FOOT = 144 * 8128**3
"""Cubic steps in 144 cubic inches."""


@dataclass(slots=True)
class Reckoning:
    """Wood and work as they are added up.

    Wood in cubic steps, with the worth (or price) drawn less the worth kept; then counts of work: passes a machine, odd
    cuts, crosscuts, and which settings there are.
    """

    notes: Notebook
    volume_in: int = 0
    blanks: int = 0
    keepers: int = 0
    kerf: int = 0
    shavings: int = 0
    net_worth: int = 0
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
        """Add one drawn piece of the pile and all that becomes of it."""
        shop, size = self.notes.shop, (offcut.length, offcut.width, offcut.thickness)
        self.offcuts += 1
        self.volume_in += math.prod(size)
        self.net_worth += self._worth(*size) if offcut.price is None else offcut.price
        self.odd_boards += sum(made % 2 for made in pairs_cut(self.notes, drawn).values())
        spans = [Span("", billet.start, billet.end) for billet in drawn.billets]
        self._crosscut(spans, (0, offcut.length), (offcut.width, offcut.thickness))
        ends = [0, *(end for span in spans for end in span[1:]), offcut.length]
        for n, (before, after) in enumerate(zip(ends[::2], ends[1::2], strict=True)):
            if 0 < n < len(spans):  # between two billets
                self.crosscuts += 2 if after - before > shop.crosscut_kerf else 1
            elif spans and after > before:
                self.crosscuts += 1
        for billet in drawn.billets:
            if isinstance(billet, SplitBillet):
                self.band_passes += 1
                self.odd += 1
                self.kerf += (billet.end - billet.start) * offcut.thickness * shop.bandsaw_kerf
            for box in boxes_of(offcut, billet, shop):
                self._add_box(box)

    def _add_box(self, box: Box) -> None:
        self.billets += 1
        self.shavings += box.length * (box.width * box.offcut.thickness - box.wide * box.deep)
        first, *seconds = box.rows(self.notes.shop)
        self._add_row(first, box.length, 1)
        first_is_cut = any(first.cuts)
        for row in seconds:
            self._add_row(row, box.length, 2 if first_is_cut else 1)
        for strip in box.billet.strips:
            for stick in strip.sticks:
                self._add_stick(stick, strip.end - strip.start, box)

    def _add_row(self, row: Row, length: int, stage: int) -> None:
        self.kerf += length * row.other * dust(row.spans, (0, row.depth - row.over), row.kerf)
        self.shavings += length * row.other * row.over
        for start, end in leftovers(row.spans, (0, row.depth), row.kerf):
            kept = self._keep(length, end - start, row.other)
            if row.over and end == row.depth:
                self.shavings -= kept
        sizes, odd = row.cuts
        self.odd += odd
        if row.bandsaw:
            self.band_passes += len(sizes) + odd
        else:
            self.table_passes += len(sizes) + odd
        if row.reached:
            self.fences.update((stage, row.bandsaw, size) for size in sizes)

    def _add_stick(self, stick: Stick, wide: int, box: Box) -> None:
        kerf = self.notes.shop.crosscut_kerf
        self.sticks += 1
        self.crosscuts += 1  # it is squared
        for n, cut in enumerate(stick.blanks):
            stands_off = n > 0 and cut.start - stick.blanks[n - 1].end > kerf
            self.crosscuts += 2 if stands_off else 1
            self.stops.add(cut.end - cut.start)
        stock = stock_of(self.notes, stick, box.offcut)
        if stock is None:
            return
        self.planer |= {("width", stock.planed_width), ("thickness", stock.planed_thickness)}
        section = stock.planed_width, stock.planed_thickness
        self.shavings += box.length * (wide * (stick.end - stick.start) - math.prod(section))
        spans = [Span("", cut.start, cut.end) for cut in stick.blanks]
        self._crosscut(spans, (box.billet.start, box.billet.end), section)
        for cut in stick.blanks:
            blank = self.notes.blanks.get(cut.blank)
            if blank is not None:
                self.blanks += (blank.length + self.notes.shop.length_allowance) * math.prod(section)

    def _crosscut(self, spans: list[Span], room: tuple[int, int], section: tuple[int, int]) -> None:
        """Add the dust and the keepers of a row along x."""
        kerf = self.notes.shop.crosscut_kerf
        self.kerf += math.prod(section) * dust(spans, room, kerf)
        for start, end in leftovers(spans, room, kerf):
            self._keep(end - start, *section)

    def _keep(self, length: int, one: int, other: int) -> int:
        """Add a leftover if it is a keeper (R11), and return how much wood that keeps."""
        shop = self.notes.shop
        fits = any(
            a >= shop.keeper_width and b >= shop.keeper_thickness for a, b in ((one, other), (other, one))
        )
        if length < max(shop.keeper_length, 1) or min(one, other) < 1 or not fits:
            return 0
        self.keepers += length * one * other
        self.net_worth -= self._worth(length, one, other)
        return length * one * other

    def _worth(self, length: int, one: int, other: int) -> int:
        """Return a piece's worth: thousandths of a board foot, dearer in proportion to its length (aim 2)."""
        shop = self.notes.shop
        dearer = 1 + Fraction(shop.length_premium) * Fraction(min(length, shop.full_length), shop.full_length)
        return math.floor(1000 * Fraction(length * one * other, BOARD_FOOT) * dearer)

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


def check_account(notes: Notebook, plan: Plan, found: Reckoning) -> None:
    """Compare the plan's account with the one added up here, to the last cubic step."""
    said = plan.account
    accounted = found.blanks + found.keepers + found.kerf + found.shavings
    for word, has, needs in (
        ("volume in", said.volume_in, found.volume_in),
        ("blanks", said.blanks, found.blanks),
        ("keepers", said.keepers, found.keepers),
        ("kerf", said.kerf, found.kerf),
        ("shavings", said.shavings, found.shavings),
        ("trimmings", said.trimmings, found.volume_in - accounted),
    ):
        come = f"come to {plain(needs)}"
        if has != needs:
            notes.note("account", f"{word} are said to be {plain(has)} cubic steps; they {come}")
        if needs < 0:
            notes.note("account", f"{word} {come} cubic steps; no wood can be less than none")
    total = said.blanks + said.keepers + said.kerf + said.shavings + said.trimmings
    if total != said.volume_in:
        goes = f"{plain(said.volume_in)} cubic steps go in, {plain(total)} come out"
        notes.note("account", f"it does not balance: {goes}")


def check_work(notes: Notebook, plan: Plan, found: Reckoning) -> None:
    """Compare the counts of the plan, and its minutes, with those counted here."""
    for name, count in found.figures.items():
        said = getattr(plan.work, name)
        if said != count:
            word = "hundredths of a minute" if name == "hundredths" else name.replace("_", " ")
            notes.note("work", f"{word} are said to be {plain(said)}; they come to {plain(count)}")
