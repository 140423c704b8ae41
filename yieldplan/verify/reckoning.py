"""What a plan takes, added up afresh in one walk over its cuts: the account of wood, and the work with its price.

The account is in = blanks + keepers + kerf + shavings + trimmings, in cubic steps. Exactly this is meant, and the
plan's own account must come to the same figures. W by T is the offcut's section; a half of a split billet has its own
width for W; E and F are the losses of R3; l is a billet's length.

- **in**: L W T of every drawn piece; **keepers**: the volume of every keeper of R11.
- **blanks**: (finished length + length allowance) times the planed section, of needed ones and spares alike.
- **kerf**: for every row of pieces the gaps along it: min(gap, k) before the first and behind the last piece,
  min(gap, 2k) between neighbours, times the section that is cut. Of billets and of blanks k is the crosscut kerf and
  the section W T or the planed one; across, k is the kerf of the row's machine (R5, 0 where no saw reaches), on the
  bandsaw with its skim, and the section l times the row's other size. A split: l T times the bandsaw kerf (no skim:
  each half is jointed anyway). *Behind the last piece of a row across* a gap of at most *plane off* is no kerf.
- **shavings**: jointing, l (W T - (W - E)(T - F)) of each billet or half with a layout; planing, l (rough - planed
  section) of every stick; and those gaps of at most *plane off*, less what R11 calls a keeper there.
- **trimmings**: all the rest: ends, edgings, defects, halves that are waste.

Gap and kerf and leftover of a row add up, so nothing counts twice: no part of a right plan is below 0.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import fields
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet
from yieldplan.verify.boxes import boxes_of
from yieldplan.verify.claims import pairs_cut
from yieldplan.verify.cuts import stock_of
from yieldplan.verify.rows import dust, leftovers, spans_of

if TYPE_CHECKING:
    from yieldplan.model import Offcut, OffcutPlan, Plan, Stick
    from yieldplan.verify.boxes import Box
    from yieldplan.verify.breach import Notebook
    from yieldplan.verify.rows import Row, Span

BOARD_FOOT = 144 * 8128**3
"""Cubic steps in 144 cubic inches."""


class Reckoning:
    """Wood and work as they are added up, by the names under which the plan says them.

    Wood in cubic steps; ``net_worth`` is the worth (or price) drawn less the worth kept; counts of work; and which
    settings of saws, planer and stop there are.
    """

    def __init__(self, notes: Notebook) -> None:
        self.notes = notes
        self.wood, self.work, self.net_worth = Counter[str](), Counter[str](), 0
        self.fences: set[tuple[int, str, int]] = set()
        self.planer: set[tuple[str, int]] = set()
        self.stops: set[int] = set()

    def add_offcut(self, offcut: Offcut, drawn: OffcutPlan) -> None:
        """Add one drawn piece of the pile and all that becomes of it."""
        shop, size = self.notes.shop, (offcut.length, offcut.width, offcut.thickness)
        self.work["offcuts"] += 1
        self.wood["volume_in"] += math.prod(size)
        self.net_worth += self._worth(*size) if offcut.price is None else offcut.price
        self.work["odd_boards"] += sum(made % 2 for made in pairs_cut(self.notes, drawn).values())
        spans = spans_of(drawn.billets)
        self._crosscut(spans, (0, offcut.length), (offcut.width, offcut.thickness))
        ends = [0, *(end for span in spans for end in span[1:]), offcut.length]
        for n, (before, after) in enumerate(zip(ends[::2], ends[1::2], strict=True)):
            if 0 < n < len(spans):  # between two billets
                self.work["crosscuts"] += 2 if after - before > shop.crosscut_kerf else 1
            elif spans and after > before:
                self.work["crosscuts"] += 1
        for billet in drawn.billets:
            if isinstance(billet, SplitBillet):
                self.work.update(passes=1, bandsaw_passes=1, odd_cuts=1)
                self.wood["kerf"] += (billet.end - billet.start) * offcut.thickness * shop.bandsaw_kerf
            for box in boxes_of(offcut, billet, shop):
                self._add_box(box)

    def _add_box(self, box: Box) -> None:
        self.work["billets"] += 1
        self.wood["shavings"] += box.length * (box.width * box.offcut.thickness - box.wide * box.deep)
        first, *seconds = box.rows(self.notes.shop)
        self._add_row(first, box.length, 1)
        for row in seconds:
            self._add_row(row, box.length, 2 if any(first.cuts) else 1)
        for strip in box.billet.strips:
            for stick in strip.sticks:
                self._add_stick(stick, strip.end - strip.start, box)

    def _add_row(self, row: Row, length: int, stage: int) -> None:
        self.wood["kerf"] += length * row.other * dust(row.spans, (0, row.depth - row.over), row.kerf)
        self.wood["shavings"] += length * row.other * row.over
        for start, end in leftovers(row.spans, (0, row.depth), row.kerf):
            kept = self._keep(length, end - start, row.other)
            if row.over and end == row.depth:
                self.wood["shavings"] -= kept
        sizes, odd = row.cuts
        self.work.update(odd_cuts=odd, passes=len(sizes) + odd)
        if row.saw == "bandsaw":
            self.work["bandsaw_passes"] += len(sizes) + odd
        if row.saw:
            self.fences.update((stage, row.saw, size) for size in sizes)

    def _add_stick(self, stick: Stick, wide: int, box: Box) -> None:
        shop, cuts = self.notes.shop, spans_of(stick.blanks)
        self.work.update(sticks=1, crosscuts=1)  # it is squared
        for n, cut in enumerate(cuts):
            stands_off = n > 0 and cut.start - cuts[n - 1].end > shop.crosscut_kerf
            self.work["crosscuts"] += 2 if stands_off else 1
            self.stops.add(cut.size)
        stock = stock_of(self.notes, stick, box.offcut)
        if stock is None:
            return
        self.planer |= {("width", stock.planed_width), ("thickness", stock.planed_thickness)}
        section = stock.planed_width, stock.planed_thickness
        self.wood["shavings"] += box.length * (wide * (stick.end - stick.start) - math.prod(section))
        self._crosscut(cuts, (box.billet.start, box.billet.end), section)
        for blank in (self.notes.blanks.get(cut.blank) for cut in stick.blanks):
            if blank is not None:
                self.wood["blanks"] += (blank.length + shop.length_allowance) * math.prod(section)

    def _crosscut(self, spans: list[Span], room: tuple[int, int], section: tuple[int, int]) -> None:
        """Add the dust and the keepers of a row along x."""
        kerf = self.notes.shop.crosscut_kerf
        self.wood["kerf"] += math.prod(section) * dust(spans, room, kerf)
        for start, end in leftovers(spans, room, kerf):
            self._keep(end - start, *section)

    def _keep(self, length: int, one: int, other: int) -> int:
        """Add a leftover if it is a keeper (R11), and return how much wood that keeps."""
        shop, ways = self.notes.shop, ((one, other), (other, one))
        fits = any(a >= shop.keeper_width and b >= shop.keeper_thickness for a, b in ways)
        if length < max(shop.keeper_length, 1) or min(one, other) < 1 or not fits:
            return 0
        self.wood["keepers"] += length * one * other
        self.net_worth -= self._worth(length, one, other)
        return length * one * other

    def _worth(self, length: int, one: int, other: int) -> int:
        """Return a piece's worth: thousandths of a board foot, dearer in proportion to its length (aim 2)."""
        shop = self.notes.shop
        dearer = 1 + Fraction(shop.length_premium) * Fraction(min(length, shop.full_length), shop.full_length)
        return math.floor(1000 * Fraction(length * one * other, BOARD_FOOT) * dearer)

    def check_account(self, plan: Plan) -> None:
        """Compare the plan's account with the one added up here, to the last cubic step."""
        wood = self.wood
        wood["trimmings"] = wood["volume_in"] - sum(wood[part] for part in wood if part != "volume_in")
        for field in fields(plan.account):
            found, what = wood[field.name], f"cubic steps of {field.name.replace('_', ' ')}"
            self.notes.counted("account", what, getattr(plan.account, field.name), found)
            if found < 0:
                self.notes.note("account", f"{what} come to {found}; no wood is less than none")

    def check_work(self, plan: Plan) -> int:
        """Compare the counts of the plan, and its minutes, with those counted here.

        Return what the work costs, in thousandths of a board foot, each price rounded up to a whole one: a board foot
        is worth so many hundredths of a minute as the plan says, or else the shop; at 0 work costs nothing.
        """
        shop, work = self.notes.shop, self.work
        work["saw_settings"] = len(self.fences) + work["odd_cuts"]
        work["planer_settings"], work["stop_settings"] = len(self.planer), len(self.stops)
        table_passes = work["passes"] - work["bandsaw_passes"]
        timed = (
            (work["saw_settings"] + work["planer_settings"], shop.machine_setting),
            (work["stop_settings"], shop.stop_setting),
            (work["offcuts"], shop.offcut_handled),
            (work["billets"], shop.billet_jointed),
            (table_passes + work["crosscuts"], shop.cut),
            (work["bandsaw_passes"], shop.bandsaw_pass),
            (work["sticks"], shop.stick_planed),
        )
        work["hundredths"] = sum(count * minutes for count, minutes in timed)
        for field in fields(plan.work):
            what = "hundredths of a minute" if field.name == "hundredths" else field.name.replace("_", " ")
            self.notes.counted("work", what, getattr(plan.work, field.name), work[field.name])
        foot = shop.minutes_for_a_board_foot if plan.price is None else plan.price
        if foot <= 0:
            return 0
        odd = work["odd_boards"] * math.ceil(Fraction(1000 * shop.pair_from_one_board, 2 * foot))
        return odd + sum(count * math.ceil(Fraction(1000 * minutes, foot)) for count, minutes in timed)
