"""What one offcut gives: every cutting of it, in marks, worked out from the rules alone (R1 to R11).

A stick's blanks, a strip's sticks, a billet's strips and an offcut's billets are four rows (:mod:`brute_rows`), one
inside the other. What lies in a billet does not rest on where it lies: billets of one length share it as long as no
defect lies in them. So a stick in a strip is remembered by what it gives and costs, and its blanks are found again at
the very end.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, partial
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import brute_places as places
from brute_rows import Labels, Piece, Row, Tally

from yieldplan.verify.wood import readings, ring_span, stocked

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Blank, Job, Offcut, Shop

INCH = 8128
FAR = 10**9
"""Beyond every box."""

Span = tuple[int, int]
Machine = Literal["table saw", "bandsaw"]


def word(text: str) -> str:
    """Return a word as species and kinds are compared."""
    return " ".join(text.split()).casefold()


def meet(one: Span, other: Span) -> bool:
    """Return whether two open intervals overlap."""
    return one[0] < other[1] and other[0] < one[1]


def worth(shop: Shop, length: int, one: int, other: int) -> int:
    """Return the worth of a piece (steps), in thousandths of a board foot."""
    over, under = shop.length_premium.as_integer_ratio()
    full = under * shop.full_length
    share = full + over * min(length, shop.full_length)
    return 1000 * length * one * other * share // (144 * INCH**3 * full)


class Bench:
    """What holds for all offcuts of a job: prices, settings by their bits, kinds of blanks."""

    def __init__(self, job: Job) -> None:
        self.job, self.shop, self.mark = job, job.shop, job.shop.mark
        shop = job.shop
        self.setting, self.stop = self.price(shop.machine_setting), self.price(shop.stop_setting)
        self.offcut, self.billet = self.price(shop.offcut_handled), self.price(shop.billet_jointed)
        self.cut, self.band = self.price(shop.cut), self.price(shop.bandsaw_pass)
        self.stick = self.price(shop.stick_planed)
        self.tally = Tally([blank.need + blank.spare for blank in job.blanks], self.setting)
        self.sizes = [(blank.length + shop.length_allowance) // self.mark for blank in job.blanks]
        self.clear = [
            min(self.up(blank.clear_end), size) for blank, size in zip(job.blanks, self.sizes, strict=True)
        ]
        self.allows = [frozenset(map(word, blank.allows)) for blank in job.blanks]
        self._bits: dict[tuple[object, ...], int] = {}

    def price(self, hundredths: int) -> int:
        """Return the price of so much work, rounded up."""
        return -(-hundredths * 1000 // self.shop.minutes_for_a_board_foot)

    def up(self, steps: int) -> int:
        """Return steps in marks, rounded up."""
        return -(-steps // self.mark)

    def marks(self, name: str) -> int:
        """Return a length of the shop in marks."""
        return int(getattr(self.shop, name)) // self.mark

    def bit(self, *setting: object) -> int:
        """Return the bit of a setting."""
        return self._bits.setdefault(setting, 1 << len(self._bits))

    def saw(self, height: int, *, resaw: bool) -> Machine | None:
        """Return the saw that makes a cut so high (marks), None where none does (R5)."""
        if resaw and height > self.marks("resaw_height"):
            return None
        if height <= self.marks("saw_depth"):
            return "table saw"
        return "bandsaw" if height <= self.marks("bandsaw_height") else None

    def kerf(self, machine: Machine | None) -> int:
        """Return what a cut of this saw takes, the skim of the fresh face with it (marks)."""
        if machine is None:
            return 0
        return (
            self.marks("rip_kerf")
            if machine == "table saw"
            else self.marks("bandsaw_kerf") + self.marks("bandsaw_skim")
        )

    def sawing(self, machine: Machine | None) -> int:
        """Return the price of a pass."""
        return self.band if machine == "bandsaw" else self.cut

    def keeps(self, length: int, one: int, other: int) -> int:
        """Return the worth of a leftover (marks), 0 where it is no keeper (R11)."""
        shop, mark = self.shop, self.mark
        small, large = sorted((one * mark, other * mark))
        least, most = sorted((shop.keeper_width, shop.keeper_thickness))
        if length <= 0 or small <= 0 or length * mark < shop.keeper_length or small < least or large < most:
            return 0
        return worth(shop, length * mark, small, large)


class Group(NamedTuple):
    """Blanks that one stick may carry: kinds, how it lies, planed section and rough sizes across y and z (marks)."""

    kinds: tuple[int, ...]
    turned: bool
    planed: Span
    rough: Span
    mask: int


class Flaw(NamedTuple):
    """What some blanks may not meet: a defect (by number), or where rings do not suit kinds that lie so."""

    y: Span
    z: Span
    defect: int = -1
    kind: int = -1
    turned: bool = False


class Fault(NamedTuple):
    """A defect, lengthened as R9 takes it (marks, outward)."""

    kind: str
    x: Span
    y: Span
    z: Span
    through: bool


@dataclass(frozen=True, slots=True)
class Milled:
    """What is jointed as one piece: from where across y of the offcut, and how wide (marks)."""

    low: int
    width: int


class Cutter:
    """All that one offcut can give."""

    def __init__(self, bench: Bench, offcut: Offcut) -> None:
        self.bench, self.shop, self.offcut = bench, bench.shop, offcut
        self.tally = bench.tally
        mark = bench.mark
        self.length, self.width, self.thickness = (
            offcut.length // mark,
            offcut.width // mark,
            offcut.thickness // mark,
        )
        self._sticks: dict[tuple[int, int, frozenset[int]], Row] = {}
        self._carried: dict[tuple[int, int, int, frozenset[int]], Labels] = {}
        self._same: dict[Any, int] = {}
        self._layouts: dict[Any, Labels] = {}
        self._splits: dict[tuple[tuple[int, int], ...], Labels] = {}
        self._clean: dict[tuple[Milled, int, int], Labels] = {}

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
        planed, rough = (sizes.width, sizes.thickness), (sizes.rough_width, sizes.rough_thickness)
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

    # Blanks along a stick (R8, R9)

    def stick(self, start: int, end: int, group: int, met: frozenset[int]) -> Labels:
        """Return what a stick of a billet from ``start`` to ``end`` carries; ``met`` are the defects in its section."""
        met = frozenset(n for n in met if meet(self.faults[n].x, (start, end)))
        if not met:  # all clean sticks are cut from the end of one
            start, end = self.length - (end - start), self.length
        key = start, end, group, met
        if key not in self._carried:
            row = self._sticks.get(key[1:])
            if row is None:
                row = self._sticks[key[1:]] = self._stick_row(end, group, met)
            self._carried[key] = row.opened(start, start + self.bench.marks("stick_trim"), -1, (0, 0))
        return self._carried[key]

    def moved(self, span: Span, met: frozenset[int]) -> int:
        """Return how far a stick's blanks lie from where :meth:`stick` has them: clean sticks end with the offcut."""
        return 0 if any(meet(self.faults[n].x, span) for n in met) else span[1] - self.length

    def _stick_row(self, end: int, group: int, met: frozenset[int]) -> Row:
        bench = self.bench
        kinds, _, planed, _, mask = self.groups[group]
        one = {kind: {1 << 8 * kind: [(mask, 0, None)]} for kind in kinds}

        def pieces(place: int) -> Iterator[Piece]:
            for kind in kinds:
                clear = self.clear_end(kind, place, met)
                if clear:
                    yield Piece(bench.sizes[kind], one[kind], bench.cut, 0, (kind, clear))

        return Row(
            self.tally,
            end,
            end - bench.marks("stick_trim"),
            bench.marks("crosscut_kerf"),
            pieces,
            lambda size: bench.keeps(size, *planed),
            apart=bench.cut,
        )

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

    # Sticks and strips across a billet (R3 to R5)

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

    def _flaws(self, wood: Milled, start: int, end: int, edge: int, face: int) -> tuple[Flaw, ...]:
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
        flaws = self._flaws(wood, *span, *self.losses(wood, *span))
        return frozenset(
            flaw.defect for flaw in flaws if flaw.defect >= 0 and meet(flaw.y, y) and meet(flaw.z, z)
        )

    def contents(self, wood: Milled, start: int, end: int) -> Labels:
        """Return what a billet, or a half of one, may hold; its parts are (layout, row of strips)."""
        if wood.width > self.bench.marks("jointer_width"):
            return {}
        clean = not any(meet(fault.x, (start, end)) for fault in self.faults) and not self.offcut.kinks
        if clean and (wood, end - start, 0) in self._clean:
            return self._clean[wood, end - start, 0]
        edge, face = self.losses(wood, start, end)
        box = wood.width - edge, self.thickness - face
        found: Labels = {}
        if min(box) > 0:
            flaws = self._flaws(wood, start, end, edge, face)
            found = self._layout_both(wood, start, end, box, flaws)
        if clean:
            self._clean[wood, end - start, 0] = found
        return found

    def _layout_both(self, wood: Milled, start: int, end: int, box: Span, flaws: tuple[Flaw, ...]) -> Labels:
        real = [flaw.defect for flaw in flaws if flaw.defect >= 0]
        subsets = [
            frozenset(n for at, n in enumerate(real) if bits >> at & 1) for bits in range(1 << len(real))
        ]
        sticks, names = {}, []
        for number in range(len(self.groups)):
            for met in subsets:
                labels = self.stick(start, end, number, met)
                content = tuple(
                    (blanks, tuple(sorted(label[:2] for label in row)))
                    for blanks, row in sorted(labels.items())
                )
                names.append(self._same.setdefault(content, len(self._same)))
                plain = {
                    blanks: [(mask, cost, (blanks, mask, cost)) for mask, cost, _ in row]
                    for blanks, row in labels.items()
                }
                sticks[number, met] = plain
        length = end - start
        kept = length if length * self.bench.mark >= self.shop.keeper_length else 0
        key = wood.width, box, kept, flaws, tuple(names)
        if key not in self._layouts:
            found: Labels = {}
            if any(sticks.values()):
                for rip_first in (True, False):
                    Layout(self, wood, kept, box, flaws, sticks, rip_first).add_to(found)
            self._layouts[key] = found
        return self._layouts[key]

    # Where a billet may be split (R2)

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

    def split(self, start: int, end: int) -> Labels:
        """Return what a billet that is split may hold; its parts are ("split", at, near, far), None for waste."""
        halves = [
            (at, self.contents(near, start, end), self.contents(far, start, end))
            for at, near, far in self.splits
        ]
        key = tuple((id(near), id(far)) for _, near, far in halves)
        if key not in self._splits:
            found: Labels = {}
            nothing: Labels = {0: [(0, 0, None)]}
            for at, near, far in halves:
                made: Labels = {}
                self.tally.join(made, {**nothing, **near}, {**nothing, **far}, partial(_split, at))
                made.pop(0)
                self.tally.merge(found, made, self.bench.band + self.bench.setting)
            self._splits[key] = found
        return self._splits[key]

    # Billets along the offcut (R1, R8, R12)

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

    def billets(self, *, at_every_mark: bool) -> dict[Span, Labels]:
        """Return what billets may hold, but for what is as good in a shorter one inside."""
        spans = (places.every if at_every_mark else places.normal)(self.reach)
        whole = Milled(0, self.width)
        found: dict[Span, Labels] = {}
        for start, end in spans:
            labels = self.contents(whole, start, end)
            if self.splits:
                both: Labels = {}
                self.tally.merge(both, labels)
                self.tally.merge(both, self.split(start, end))
                labels = both
            if labels:
                found[start, end] = labels
        return found

    def cuttings(self, *, at_every_mark: bool) -> Labels:
        """Return all that is worth cutting from it; the parts are its billets in order."""
        bench = self.bench
        if not self.groups or not self.reach.sides:
            return {}
        begun: dict[int, list[Piece]] = {}
        for (start, end), labels in self.billets(at_every_mark=at_every_mark).items():
            begun.setdefault(start, []).append(Piece(end - start, labels, tag=(start, end)))
        row = Row(
            self.tally,
            self.length,
            self.length,
            bench.marks("crosscut_kerf"),
            lambda place: begun.get(place, ()),
            lambda size: bench.keeps(size, self.width, self.thickness),
            beside=bench.cut,
            apart=2 * bench.cut,
            last=lambda end: bench.cut if end < self.length else 0,
        )
        found: Labels = {}
        own = worth(self.shop, self.offcut.length, self.offcut.width, self.offcut.thickness) + bench.offcut
        self.tally.merge(found, row.opened(0, 0, 0, (0, bench.cut)), own)
        return found


def _split(at: int, near: Any, far: Any) -> tuple[str, int, Any, Any]:
    return "split", at, near, far


class Layout:
    """A billet or half sawn one way: strips across the first axis, sticks across the second."""

    def __init__(
        self,
        cutter: Cutter,
        wood: Milled,
        kept: int,
        box: Span,
        flaws: tuple[Flaw, ...],
        sticks: dict[tuple[int, frozenset[int]], Labels],
        rip_first: bool,
    ) -> None:
        self.bench, self.tally, self.groups = cutter.bench, cutter.tally, cutter.groups
        self.kept, self.flaws, self.carried, self.rip_first = kept, flaws, sticks, rip_first
        self.first, self.second = box if rip_first else box[::-1]
        rough = wood.width, cutter.thickness
        self.other_rough, height = rough if rip_first else rough[::-1]
        self.machine = self.bench.saw(height, resaw=not rip_first)
        self.kerf = self.bench.kerf(self.machine)
        self.off = self.bench.marks("plane_off")
        self.by_first: dict[int, list[int]] = {}
        for number, group in enumerate(self.groups):
            self.by_first.setdefault(self._sizes(group)[0], []).append(number)
        assert not self.by_first or min(self.by_first) > self.off, "two pieces in what the planer takes"
        self._strips: dict[tuple[object, ...], Labels] = {}

    def _sizes(self, group: Group) -> Span:
        return group.rough if self.rip_first else group.rough[::-1]

    def _axes(self, flaw: Flaw) -> tuple[Span, Span]:
        return (flaw.y, flaw.z) if self.rip_first else (flaw.z, flaw.y)

    def add_to(self, found: Labels) -> None:
        """Add all that this layout gives."""
        bench = self.bench
        odd = 0 if self.machine is None else bench.sawing(self.machine) + bench.setting
        row = Row(
            self.tally,
            self.first,
            self.first,
            self.kerf,
            self._pieces,
            lambda size: bench.keeps(self.kept, size, self.second),
            apart=odd,
        )
        name = "rip first" if self.rip_first else "resaw first"
        for blanks, labels in row.opened(0, 0, self.kerf, (0, odd)).items():
            for mask, cost, parts in labels:
                self.tally.put(found, blanks, (mask, cost + bench.billet, (name, parts)))

    def _pieces(self, start: int) -> Iterator[Piece]:
        bench = self.bench
        for size in self.by_first:
            end = start + size
            if end > self.first:
                continue
            sawn = self.first - end > self.off
            alone = (
                not sawn and start <= self.kerf
            )  # no pass in the whole first row: the second counts as the first
            if self.machine is None and not alone:
                continue
            machine = bench.saw(size if sawn else self.other_rough - start, resaw=self.rip_first)
            hit = tuple(flaw for flaw in self.flaws if meet(self._axes(flaw)[0], (start, end)))
            key = size, machine, alone, hit
            if key not in self._strips:
                self._strips[key] = self._strip(size, machine, 1 if alone else 2, hit)
            mask = bench.bit(1, self.machine, size) if sawn else 0
            yield Piece(size, self._strips[key], bench.sawing(self.machine) if sawn else 0, mask, size)

    def _strip(self, size: int, machine: Machine | None, number: int, hit: tuple[Flaw, ...]) -> Labels:
        bench = self.bench
        odd = 0 if machine is None else bench.sawing(machine) + bench.setting

        def pieces(start: int) -> Iterator[Piece]:
            for group in self.by_first[size]:
                second = self._sizes(self.groups[group])[1]
                end = start + second
                sawn = self.second - end > self.off
                if end > self.second or (machine is None and (sawn or start)):
                    continue
                flaws = [flaw for flaw in hit if meet(self._axes(flaw)[1], (start, end))]
                mask = bench.bit(number, machine, second) if sawn else 0
                labels = self._stick(group, flaws)
                yield Piece(
                    second,
                    labels,
                    bench.stick + bench.cut + (bench.sawing(machine) if sawn else 0),
                    mask,
                    (group, second),
                )

        kerf = bench.kerf(machine)
        row = Row(
            self.tally,
            self.second,
            self.second,
            kerf,
            pieces,
            lambda gap: bench.keeps(self.kept, gap, size),
            apart=odd,
        )
        return row.opened(0, 0, kerf, (0, odd))

    def _stick(self, group: int, flaws: list[Flaw]) -> Labels:
        labels = self.carried[group, frozenset(flaw.defect for flaw in flaws if flaw.defect >= 0)]
        turned = self.groups[group].turned
        barred = sum(
            255 << 8 * kind for kind in {f.kind for f in flaws if f.kind >= 0 and f.turned == turned}
        )
        return {blanks: row for blanks, row in labels.items() if not blanks & barred} if barred else labels
