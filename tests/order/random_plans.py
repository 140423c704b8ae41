"""Random plans that keep every rule, made by sawing random offcuts up at random: no solver is needed.

The batch is what came out. Shops of three kinds take turns: inches with the default settings but wet wood, whole
millimetres with small keepers, and millimetres with next to no allowance and saws that do not reach far. Pieces lie
anywhere on the marks, not only where the normal form has them.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from yieldplan.model import (
    Billet,
    Blank,
    CutBlank,
    Defect,
    Job,
    Offcut,
    OffcutPlan,
    Plan,
    Shop,
    SplitBillet,
    Stick,
    Strip,
    Wood,
    metric_shop,
    past_machines,
    section,
    whole,
)
from yieldplan.model.shop import INCH, MM
from yieldplan.model.wood import halves, sound_ends, split_range
from yieldplan.solve.assemble import assemble

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model.section import Section

Interval = tuple[int, int]

SPECIES = ("White oak", "Larch", "Yellow-cedar")
SHOPS = (
    Shop(split_warp=INCH // 32, target_moisture=Fraction(12)),
    metric_shop(
        split_warp=MM,
        length_allowance=12 * MM,
        keeper_length=300 * MM,
        keeper_width=35 * MM,
        keeper_thickness=20 * MM,
        plane_off=4 * MM,
        minutes_for_a_board_foot=700,
    ),
    metric_shop(
        split_warp=MM,
        width_allowance=MM,
        thickness_allowance=MM,
        length_allowance=2 * MM,
        stick_trim=20 * MM,
        saw_depth=30 * MM,
        bandsaw_height=120 * MM,
        resaw_height=90 * MM,
        keeper_length=200 * MM,
        keeper_width=30 * MM,
        keeper_thickness=20 * MM,
        narrowest_rip=15 * MM,
    ),
)


@dataclass
class _Batch:
    """Kinds of blanks as they come out of the saw."""

    kinds: dict[tuple[int, int, int, int], str] = field(default_factory=dict)
    blanks: dict[str, Blank] = field(default_factory=dict)

    def kind(self, width: int, thickness: int, length: int, clear: int) -> str:
        key = (width, thickness, length, clear)
        if key not in self.kinds:
            name = f"blank {len(self.kinds) + 1}"
            self.kinds[key] = name
            self.blanks[name] = Blank(
                name=name,
                need=0,
                length=length,
                width=width,
                thickness=thickness,
                clear_end=clear,
                allows=("knot",),
                priority=1 + len(self.kinds) % 2,
            )
        return self.kinds[key]


def random_plan(seed: int, offcuts: int = 6, names: tuple[str, ...] = ()) -> tuple[Job, Plan]:
    """Return a random job and a plan for it that passes the recheck.

    Parameters
    ----------
    seed
        The same seed makes the same plan; its remainder by three picks the shop.
    offcuts
        Rows of the pile; about one in six is left alone.
    names
        Names for the first offcuts, instead of P1, P2, ...
    """
    rng = random.Random(seed)
    saw = _Saw(rng, SHOPS[seed % 3])
    pile, drawn = [], []
    for number in range(offcuts):
        offcut = saw.offcut(names[number] if number < len(names) else f"P{number + 1}")
        plans = [saw.cut_up(offcut, copy) for copy in range(1, offcut.qty + 1)]
        drawn += [plan for plan in plans if plan is not None and (number == 0 or rng.random() > 0.15)]
        pile.append(offcut)
    return _finish(rng, saw, pile, drawn)


def _finish(rng: random.Random, saw: _Saw, pile: list[Offcut], drawn: list[OffcutPlan]) -> tuple[Job, Plan]:
    """Return the job that the cuts are for: of some kinds a spare was wanted, of some one more is missing."""
    counts = Counter(cut.blank for plan in drawn for cut in plan.blanks)
    blanks = []
    for name, blank in saw.batch.blanks.items():
        made = counts[name]
        if made:
            spare = rng.choice((0, 0, 1)) if made > 1 else 0
            short = 0 if spare else rng.choice((0, 0, 0, 1))
            wanted = max(spare, rng.choice((0, 0, 2)))
            blanks.append(replace(blank, need=made - spare + short, spare=wanted))
    job = Job(
        offcuts=tuple(pile), blanks=tuple(blanks), shop=saw.shop, name="random pile.xlsx", sha256="0" * 64
    )
    known = assemble(job, drawn).proof
    bound = rng.choice((known.cost, known.cost - known.cost // 2000, known.cost * 9 // 10))
    least = dict(known.missing) if rng.random() < 0.7 else None
    return job, assemble(job, drawn, bound=bound, missing_at_least=least)


class _Saw:
    """Cuts offcuts up at random within the rules."""

    def __init__(self, rng: random.Random, shop: Shop) -> None:
        self.rng, self.shop, self.batch = rng, shop, _Batch()
        self.unit = INCH // 16 if shop.units == "inch" else MM
        least = max(shop.narrowest_rip, shop.thinnest_planed)
        self.palette: list[Interval] = []
        for _ in range(3):
            sizes = sorted(self.some(least, least + 30 * self.unit) for _ in range(2))
            self.palette.append((sizes[1], sizes[0]))
        self.lengths = [self.some(80 * MM, 500 * MM) for _ in range(6)]

    def some(self, low: int, high: int) -> int:
        """Return a size on the user's rule from ``low`` to ``high``."""
        return (
            self.rng.randint(-(-low // self.unit), max(high // self.unit, -(-low // self.unit))) * self.unit
        )

    def slack(self) -> int:
        """Return how far a piece stands off where it could stand: mostly not at all, else some marks."""
        return self.rng.choice((0, 0, 0, 0, self.shop.mark, self.unit, 6 * self.unit))

    def offcut(self, name: str) -> Offcut:
        """Return a random offcut; half of them are warped, some are kinked, wet or checked at end A."""
        rng, unit = self.rng, self.unit
        length, width = self.some(480 * MM, 1500 * MM), self.some(60 * MM, 190 * MM)
        thickness = min(width, self.some(25 * MM, 80 * MM))
        warped = rng.random() < 0.5
        defects = [
            Defect(
                kind="knot",
                x1=(x := self.some(0, length - 30 * unit)),
                x2=x + self.some(0, 30 * unit),
                y1=(y := self.some(0, width - 8 * unit)),
                y2=y + self.some(unit, 8 * unit),
                z1=0,
                z2=thickness if through else self.some(0, thickness // 2),
                through=through,
            )
            for through in [rng.random() < 0.5 for _ in range(rng.randint(0, 2))]
        ]
        if rng.random() < 0.3:
            x, across = self.some(0, 20 * unit), rng.random() < 0.5
            y1, z2 = (0, thickness) if across else (self.some(0, width // 2), self.some(0, thickness // 2))
            defects.append(
                Defect(
                    kind="end check",
                    x1=x,
                    x2=x + 12 * unit,
                    y1=y1,
                    y2=width,
                    z1=0,
                    z2=z2,
                    through=across,
                )
            )
        return Offcut(
            name=name,
            length=length,
            width=width,
            thickness=thickness,
            qty=2 if rng.random() < 0.15 else 1,
            species=rng.choice(SPECIES),
            bow=self.some(0, 3 * unit) if warped else 0,
            crook=self.some(0, 4 * unit) if warped else 0,
            cup=self.some(0, 2 * unit) if warped else 0,
            twist=self.some(0, 2 * unit) if warped else 0,
            ring_angle=rng.choice((None, 0, 20, 45, 70, 90)),
            moisture=rng.choice((None, Fraction(12), Fraction(20))),
            kinks=(self.some(length // 3, length // 2),) if rng.random() < 0.1 else (),
            rack=rng.choice(("", "A1", "loft")),
            defects=tuple(defects),
        )

    def cut_up(self, offcut: Offcut, copy: int) -> OffcutPlan | None:
        """Return a random plan for one piece, or None if no blank came out."""
        shop, rng = self.shop, self.rng
        billets: list[Billet | SplitBillet] = []
        low, high = sound_ends(offcut, shop)
        at = low + self.slack()
        while high - at >= shop.shortest_machined_length:
            end = min(high, at + self.some(shop.shortest_machined_length, 3 * shop.keeper_length))
            if high - end < self.some(0, shop.shortest_machined_length):
                end = high
            kink = next((kink for kink in offcut.kinks if at < kink < end), None)
            if kink is not None and kink - at < shop.shortest_machined_length:
                at = kink
                continue
            end = end if kink is None else kink
            billet = self.split(offcut, at, end) or self.billet(whole(offcut), at, end)
            if billet is not None and rng.random() > 0.1:
                billets.append(billet)
            at = end + shop.crosscut_kerf + self.slack()
        return OffcutPlan(offcut=offcut.name, copy=copy, billets=tuple(billets)) if billets else None

    def split(self, offcut: Offcut, start: int, end: int) -> SplitBillet | None:
        """Return a billet split at random, blanks in one half at least, or None; so for half of those that may."""
        places = split_range(offcut, self.shop)
        if not places or self.rng.random() < 0.5:
            return None
        at = self.rng.choice(places)
        near, far = (self.billet(half, start, end) for half in halves(offcut, at, self.shop))
        if near is None and far is None:
            return None
        return SplitBillet(start=start, end=end, split=at, halves=(near, far))

    def billet(self, wood: Wood, start: int, end: int) -> Billet | None:
        """Return a random billet with at least one blank, or None."""
        shop, rng = self.shop, self.rng
        if wood.width > shop.jointer_width:
            return None
        face, edge = wood.face_loss(end - start, shop, start), wood.edge_loss(end - start, shop, start)
        layout: Literal["rip first", "resaw first"] = rng.choice(("rip first", "resaw first"))
        rip = layout == "rip first"
        boxed = wood.width - edge, wood.thickness - face
        rough = wood.width, wood.thickness
        (depth, inner), (across, height) = (boxed, rough) if rip else (boxed[::-1], rough[::-1])
        kerf = self.kerf(height, resaw=not rip)
        strips: list[Strip] = []
        at = self.slack() if kerf is not None else 0
        while True:
            room = depth - at
            size = rng.choice([self.rough(wood.offcut, kind)[0 if rip else 1] for kind in self.kinds(wood)])
            planed_off = room - size <= shop.plane_off
            if size > room or (kerf is None and not (planed_off and not strips)):
                break
            seen = across - at if planed_off else size
            strip = self.strip(wood, (at, at + size), (inner, seen), (start, end), rip)
            if strip is not None:
                strips.append(strip)
            if kerf is None:
                break
            at += size + kerf + self.slack()
        if not strips:
            return None
        return Billet(
            start=start, end=end, layout=layout, face_loss=face, edge_loss=edge, strips=tuple(strips)
        )

    def kerf(self, height: int, *, resaw: bool) -> int | None:
        """Return the kerf of cuts of this height, or None where no saw reaches."""
        machine = self.shop.machine_for(height, resaw=resaw)
        return None if machine is None else self.shop.kerf_of(machine)

    def kinds(self, wood: Wood) -> list[tuple[Interval, bool]]:
        """Return the sections of the batch, flat and turned."""
        return [(sizes, turned) for sizes in self.palette for turned in (False, True)]

    def section(self, offcut: Offcut, kind: tuple[Interval, bool]) -> Section:
        """Return the planed and the rough section of a stick of this kind."""
        (width, thickness), turned = kind
        blank = Blank(name="", need=1, length=1, width=width, thickness=thickness)
        return section(offcut, blank, self.shop, turned=turned)

    def rough(self, offcut: Offcut, kind: tuple[Interval, bool]) -> tuple[int, int]:
        """Return the rough size of a stick across y and across z."""
        found = self.section(offcut, kind)
        sizes = found.rough_width, found.rough_thickness
        return sizes[::-1] if kind[1] else sizes

    def strip(
        self, wood: Wood, interval: Interval, room: Interval, along: Interval, rip: bool
    ) -> Strip | None:
        """Return a strip or layer with random sticks that fill it across, or None if none can be had."""
        depth, height = room
        fitting = [
            kind
            for kind in self.kinds(wood)
            if self.rough(wood.offcut, kind)[0 if rip else 1] == interval[1] - interval[0]
            and past_machines(self.section(wood.offcut, kind), self.shop) is None
        ]
        kerf = self.kerf(height, resaw=rip)
        sticks: list[Stick] = []
        at = self.slack() if kerf is not None else 0
        while fitting:
            kind = self.rng.choice(fitting)
            size = self.rough(wood.offcut, kind)[1 if rip else 0]
            if at + size > depth or (kerf is None and depth - size > self.shop.plane_off):
                break
            blanks = self.along(wood, along, kind)
            if blanks:
                sticks.append(Stick(start=at, end=at + size, turned=kind[1], blanks=tuple(blanks)))
            if kerf is None:
                break
            at += size + kerf + self.slack()
        return Strip(start=interval[0], end=interval[1], sticks=tuple(sticks)) if sticks else None

    def along(self, wood: Wood, span: Interval, kind: tuple[Interval, bool]) -> list[CutBlank]:
        """Return random blanks along a stick, clear of every defect that they do not allow."""
        shop, rng = self.shop, self.rng
        bad = [(d.x1, d.x2) for d in wood.defects(shop) if d.kind != "knot"]
        blanks: list[CutBlank] = []
        at = span[0] + shop.stick_trim + self.slack()
        while True:
            length = rng.choice(self.lengths)
            end = at + length + shop.length_allowance
            if end > span[1] - shop.stick_trim:
                return blanks
            met = [x2 for x1, x2 in bad if x1 < end and at < x2]
            if met:
                at = -(-max(met) // shop.mark) * shop.mark
                continue
            clear = rng.choice((0, 0, min(length, 40 * self.unit))) if not wood.offcut.defects else 0
            name = self.batch.kind(*kind[0], length, clear)
            clear_end: Literal["A", "B"] = rng.choice(("A", "B")) if clear else "A"
            blanks.append(CutBlank(blank=name, start=at, end=end, clear_end=clear_end))
            at = end + shop.crosscut_kerf + self.slack()


def lying(billet: Billet) -> Iterator[tuple[Stick, Interval, Interval]]:
    """Yield the sticks of a billet, and where they lie across y and z."""
    for strip in billet.strips:
        outer = (strip.start, strip.end)
        for stick in strip.sticks:
            inner = (stick.start, stick.end)
            yield stick, *((outer, inner) if billet.rip_first else (inner, outer))


def nothing_made(seed: int) -> tuple[Job, Plan]:
    """Return a random job with a plan that draws nothing and misses every blank."""
    job, _ = random_plan(seed)
    missing = assemble(job, ()).proof.missing
    return job, assemble(job, (), bound=0, missing_at_least=dict(missing))
