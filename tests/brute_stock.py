"""What one offcut is, for the enumeration (:mod:`brute`): what it can give, where, and what stands in the way."""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import brute_places as places
from brute_bench import word
from brute_sawing import Flaw, Group, Milled, meet

from yieldplan.verify.wood import readings, ring_span, stocked

if TYPE_CHECKING:
    from brute_bench import Bench

    from yieldplan.model import Blank, Offcut

FAR = 10**9
"""Beyond every box."""

Span = tuple[int, int]


class Fault(NamedTuple):
    """A defect, lengthened as R9 takes it (marks, outward)."""

    kind: str
    x: Span
    y: Span
    z: Span
    through: bool


class Stock:
    """All that one offcut is, in marks."""

    def __init__(self, bench: Bench, offcut: Offcut) -> None:
        self.bench, self.shop, self.offcut = bench, bench.shop, offcut
        mark = bench.mark
        self.length, self.width, self.thickness = (
            size // mark for size in (offcut.length, offcut.width, offcut.thickness)
        )

    # What it can give at all (R2, R6, R7, R10)

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """Return the sticks that it can give."""
        found: dict[tuple[int, int, bool], list[int]] = {}
        for kind, blank in enumerate(self.bench.job.blanks):
            for turned in (False, True):
                if self.bench.tally.wanted[kind] and self._takes(blank, turned=turned):
                    found.setdefault((blank.width, blank.thickness, turned), []).append(kind)
        groups = (self._group(kinds, turned=key[2]) for key, kinds in found.items())
        return tuple(group for group in groups if group)

    def _takes(self, blank: Blank, *, turned: bool) -> bool:
        offcut = self.offcut
        if blank.species and word(offcut.species) not in map(word, blank.species):
            return False
        if blank.max_slope is not None and (
            offcut.grain_slope is None or offcut.grain_slope > blank.max_slope
        ):
            return False
        return self._window(blank, turned=turned) is not None

    def _window(self, blank: Blank, *, turned: bool) -> Span | None:
        """Return from which mark to which across y the rings suit a blank (R7), None where nowhere."""
        if blank.ring_from is None and blank.ring_to is None:
            return -FAR, FAR
        low, high = blank.ring_from or 0, 90 if blank.ring_to is None else blank.ring_to
        both, mark, width = readings(self.offcut), self.bench.mark, self.offcut.width
        if both is None:
            return None

        def suits(y: int) -> bool:
            least, most = ring_span(both, width, (y * mark, y * mark), turned=turned)
            return low <= least and most <= high

        good = [y for y in range(width // mark + 1) if suits(y)]
        return (good[0], good[-1]) if good else None

    def _group(self, kinds: list[int], *, turned: bool) -> Group | None:
        bench, shop, mark = self.bench, self.shop, self.bench.mark
        sizes = stocked(self.offcut, bench.job.blanks[kinds[0]], shop, turned=turned)
        planed, rough = (
            (sizes.planed_width, sizes.planed_thickness),
            (sizes.rough_width, sizes.rough_thickness),
        )
        if (
            min(planed) < shop.thinnest_planed
            or max(planed) > shop.planer_width
            or min(rough) < shop.narrowest_rip
        ):
            return None
        mask = bench.bit("width", planed[0]) | bench.bit("thickness", planed[1])
        if turned:
            planed, rough = planed[::-1], rough[::-1]
        wide, deep = planed
        return Group(
            tuple(kinds), turned, (wide // mark, deep // mark), (rough[0] // mark, rough[1] // mark), mask
        )

    @cached_property
    def faults(self) -> tuple[Fault, ...]:
        """Return its defects, lengthened (R9)."""
        shop, mark, found = self.shop, self.bench.mark, []
        for defect in self.offcut.defects:
            words = set(word(defect.kind).split())
            past = 0
            if words & {"check", "split", "shake"}:
                past = shop.past_a_check
            elif "knot" in words:
                past = shop.past_a_knot
            x1, x2 = max(defect.x1 - past, 0), min(defect.x2 + past, self.offcut.length)
            x, y, z = (
                (low // mark, -(-high // mark))
                for low, high in ((x1, x2), (defect.y1, defect.y2), (defect.z1, defect.z2))
            )
            found.append(Fault(word(defect.kind), x, y, z, defect.through))
        return tuple(found)

    def clear_end(self, kind: int, start: int, met: frozenset[int]) -> str:
        """Return at which end a blank there has its clear end, "" where it may not lie there (R9)."""
        bench = self.bench
        end, clear = start + bench.sizes[kind], bench.clear[kind]
        hit = [self.faults[n] for n in met if meet(self.faults[n].x, (start, end))]
        if any(fault.kind not in bench.allows[kind] for fault in hit):
            return ""
        for name, zone in (("A", (start, start + clear)), ("B", (end - clear, end))):
            if not any(clear and meet(fault.x, zone) for fault in hit):
                return name
        return ""

    # What stands in the way in a billet (R3, R9)

    def losses(self, wood: Milled, start: int, end: int) -> Span:
        """Return what a billet loses across y and across z (R3), in marks."""
        offcut, shop, mark = self.offcut, self.shop, self.bench.mark
        places = [0, *sorted(kink for kink in offcut.kinks if 0 < kink < offcut.length), offcut.length]
        low = max(place for place in places[:-1] if place <= start * mark)
        whole = min(place for place in places if place > low) - low
        share = Fraction((end - start) * mark, whole)
        part = Fraction(wood.width, self.width)
        edge = offcut.crook * share**2 + shop.edge_skim
        face = offcut.bow * share**2 + offcut.cup * part**2 + offcut.twist * part * share / 2 + shop.face_skim
        return -(-edge // mark), -(-face // mark)

    def flaws(self, wood: Milled, start: int, end: int, edge: int, face: int) -> tuple[Flaw, ...]:
        """Return what stands in the way in a billet or half that loses so much, in its box."""
        bench, skims = self.bench, (self.bench.marks("edge_skim"), self.bench.marks("face_skim"))
        found = []
        for number, fault in enumerate(self.faults):
            across = max(fault.y[0] - wood.low, 0), min(fault.y[1] - wood.low, wood.width)
            if meet(fault.x, (start, end)) and fault.y[0] < wood.low + wood.width and fault.y[1] > wood.low:
                y = across[0] - edge, across[1] - skims[0]
                z = (-FAR, FAR) if fault.through else (fault.z[0] - face, fault.z[1] - skims[1])
                if y[1] > 0 and z[1] > 0 and z[0] < self.thickness - face and y[0] < wood.width - edge:
                    found.append(Flaw(y, z, number))
        for group in self.groups:
            for kind in group.kinds:
                window = self._window(bench.job.blanks[kind], turned=group.turned)
                assert window is not None
                if window == (-FAR, FAR):
                    continue
                found += [
                    Flaw(y, (-FAR, FAR), kind=kind, turned=group.turned)
                    for y in ((-FAR, window[0]), (window[1] - edge, FAR))
                    if meet(y, (0, wood.width - edge))
                ]
        return tuple(found)

    def met(self, wood: Milled, span: Span, layout: str, first: Span, second: Span) -> frozenset[int]:
        """Return the defects that a stick's section meets in a billet of some layout."""
        y, z = (first, second) if layout == "rip first" else (second, first)
        flaws = self.flaws(wood, *span, *self.losses(wood, *span))
        return frozenset(
            flaw.defect for flaw in flaws if flaw.defect >= 0 and meet(flaw.y, y) and meet(flaw.z, z)
        )

    # Where billets lie and may be split (R1, R2, R12)

    @cached_property
    def splits(self) -> tuple[tuple[int, Milled, Milled], ...]:
        """Return where its billets may be split, with both halves."""
        offcut, bench = self.offcut, self.bench
        if offcut.kinks or offcut.ring_angle_far is not None or offcut.thickness > self.shop.bandsaw_height:
            return ()
        warp = offcut.cup + Fraction(offcut.twist, 2)
        if warp < self.shop.split_warp and offcut.width <= self.shop.jointer_width:
            return ()
        kerf, least = bench.marks("bandsaw_kerf"), max(bench.marks("narrowest_rip"), 1)
        return tuple(
            (at, Milled(0, at), Milled(at + kerf, self.width - at - kerf))
            for at in range(least, self.width - kerf - least + 1)
        )

    @cached_property
    def reach(self) -> places.Reach:
        """Return what the places of its billets rest on."""
        bench, offcut, mark = self.bench, self.offcut, self.bench.mark
        kinds = sorted({kind for group in self.groups for kind in group.kinds})
        behind, before = places.obstacles(
            [(*fault.x, fault.kind) for fault in self.faults],
            [(bench.sizes[kind], bench.clear[kind], bench.allows[kind]) for kind in kinds],
        )
        low, high = self._sound()
        inner = [kink // mark for kink in offcut.kinks if low < kink // mark < high]
        ends = [low, *sorted(set(inner)), high]
        least = bench.marks("shortest_machined_length")
        keeper = bench.marks("keeper_length")
        return places.Reach(
            length=self.length,
            sides=tuple((a, b) for a, b in pairwise(ends) if b - a >= max(least, 1)),
            kerf=bench.marks("crosscut_kerf"),
            trim=bench.marks("stick_trim"),
            least=least,
            keeper=keeper,
            sizes=frozenset(bench.sizes[kind] for kind in kinds),
            behind=behind,
            before=before,
            sticks_kept=any(bench.keeps(keeper, *group.planed) for group in self.groups),
        )

    def _sound(self) -> Span:
        """Return between which places billets may lie (R1)."""
        offcut, shop, mark = self.offcut, self.shop, self.bench.mark
        low, high = shop.end_trim, offcut.length - shop.end_trim
        cracks = [
            defect
            for defect in offcut.defects
            if {"check", "split", "shake"} & set(word(defect.kind).split())
            and defect.through
            and defect.y1 <= 0
            and defect.y2 >= offcut.width
        ]
        moved = True
        while moved:  # one crack may bring the next into the trim
            before = low, high
            for crack in cracks:
                if crack.x1 < low:
                    low = max(low, crack.x2 + shop.past_a_check)
                if crack.x2 > high:
                    high = min(high, crack.x1 - shop.past_a_check)
            moved = (low, high) != before
        return -(-low // mark), high // mark
