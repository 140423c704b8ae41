"""Random plans that keep every rule, made by sawing random offcuts up at random: no solver is needed.

The batch is what came out. Shops of three kinds take turns: inches with the default allowances, whole
millimetres with a kerf that falls between the marks of a rule, and millimetres with next to no allowance.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from yieldplan.model import (
    Account,
    Billet,
    Blank,
    CutBlank,
    Defect,
    Job,
    Keeper,
    Offcut,
    OffcutPlan,
    Plan,
    Proof,
    Segment,
    Shop,
    SplitBillet,
    Stick,
    Strip,
    WholeKeeper,
    edge_loss,
    face_loss,
    halves,
    split_range,
)
from yieldplan.model.shop import INCH, MM
from yieldplan.verify.breach import Notebook
from yieldplan.verify.figures import Tally

if TYPE_CHECKING:
    from collections.abc import Iterator

Interval = tuple[int, int]

SPECIES = ("White oak", "Larch", "Yellow-cedar")
SHOPS = (
    Shop(split_warp=INCH // 32),
    Shop(
        units="mm",
        rip_kerf=3 * MM + MM // 5,
        bandsaw_kerf=MM + 3 * MM // 5,
        crosscut_kerf=3 * MM + MM // 5,
        width_allowance=3 * MM,
        thickness_allowance=2 * MM,
        length_allowance=12 * MM,
        narrowest_rip=20 * MM,
        shortest_machined_length=300 * MM,
        keeper_length=300 * MM,
        keeper_width=35 * MM,
        keeper_thickness=20 * MM,
        split_warp=MM,
    ),
    Shop(
        units="mm",
        split_warp=MM,
        width_allowance=MM,
        thickness_allowance=MM,
        length_allowance=2 * MM,
        snipe=20 * MM,
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
    shop = SHOPS[seed % 3]
    saw = _Saw(rng, shop)
    pile, drawn = [], []
    for number in range(offcuts):
        name = names[number] if number < len(names) else f"P{number + 1}"
        offcut = saw.offcut(name)
        plans = [saw.cut_up(offcut, copy) for copy in range(1, offcut.qty + 1)]
        drawn += [plan for plan in plans if plan is not None and (number == 0 or rng.random() > 0.15)]
        pile.append(offcut)
    return _finish(shop, pile, saw.batch, drawn)


def _finish(shop: Shop, pile: list[Offcut], batch: _Batch, drawn: list[OffcutPlan]) -> tuple[Job, Plan]:
    counts = Counter(
        cut.blank
        for plan in drawn
        for billet in plan.billets
        for strip in billet.strips
        for stick in strip.sticks
        for cut in stick.blanks
    )
    blanks = tuple(replace(blank, need=counts[name]) for name, blank in batch.blanks.items() if counts[name])
    job = Job(offcuts=tuple(pile), blanks=blanks, shop=shop, name="random pile.xlsx", sha256="0" * 64)
    tally = Tally(Notebook(shop=shop, blanks={blank.name: blank for blank in blanks}))
    for plan in drawn:
        tally.add_offcut(job.offcut(plan.offcut), plan.segments)
    used = tally.blanks + tally.keepers + tally.kerf + tally.shavings
    worth = tally.drawn - tally.kept
    return job, Plan(
        input_name=job.name,
        input_sha256=job.sha256,
        proof=Proof(missing=((1, 0),), net_worth=worth, bound=worth, gap=0.0, proven=True),
        made=tuple((blank.name, blank.need) for blank in blanks),
        extra=tuple((blank.name, 0) for blank in blanks),
        missing=tuple((blank.name, 0) for blank in blanks),
        account=Account(
            volume_in=tally.volume_in,
            blanks=tally.blanks,
            keepers=tally.keepers,
            kerf=tally.kerf,
            shavings=tally.shavings,
            trimmings=tally.volume_in - used,
        ),
        offcuts=tuple(drawn),
    )


class _Saw:
    """Cuts offcuts up at random within the rules."""

    def __init__(self, rng: random.Random, shop: Shop) -> None:
        self.rng, self.shop, self.batch = rng, shop, _Batch()
        self.unit = INCH // 16 if shop.units == "inch" else MM
        self.palette = [self.some(shop.narrowest_rip, shop.narrowest_rip + 30 * self.unit) for _ in range(4)]

    def some(self, low: int, high: int) -> int:
        """Return a size on the user's rule from ``low`` to ``high``."""
        return (
            self.rng.randint(-(-low // self.unit), max(high // self.unit, -(-low // self.unit))) * self.unit
        )

    def offcut(self, name: str) -> Offcut:
        """Return a random offcut; half of them are warped."""
        rng, unit = self.rng, self.unit
        length, width = self.some(320 * MM, 1500 * MM), self.some(60 * MM, 190 * MM)
        thickness = min(width, self.some(25 * MM, 80 * MM))
        warped = rng.random() < 0.5
        defects = tuple(
            Defect(
                kind="knot",
                x1=(x := self.some(0, length - 30 * unit)),
                x2=x + self.some(0, 30 * unit),
                y1=(y := self.some(0, width - 8 * unit)),
                y2=y + self.some(unit, 8 * unit),
                z1=0,
                z2=thickness if through else thickness // 2,
                through=through,
            )
            for through in [rng.random() < 0.5 for _ in range(rng.randint(0, 2))]
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
            cup=self.some(0, unit) if warped else 0,
            twist=self.some(0, 2 * unit) if warped else 0,
            ring_angle=rng.choice((None, 0, 20, 45, 70, 90)),
            rack=rng.choice(("", "A1", "loft")),
            defects=defects,
        )

    def cut_up(self, offcut: Offcut, copy: int) -> OffcutPlan | None:
        """Return a random plan for one piece, or None if no blank came out."""
        shop, rng = self.shop, self.rng
        segments: list[Segment] = []
        at = rng.choice((0, 0, shop.end_trim, self.unit))
        while offcut.length - at >= shop.shortest_machined_length:
            end = min(offcut.length, at + self.some(shop.shortest_machined_length, 3 * shop.keeper_length))
            if offcut.length - end < self.some(0, shop.shortest_machined_length):
                end = offcut.length - rng.choice((0, 0, shop.end_trim))
            if end - at < shop.shortest_machined_length:
                break
            keeps = end - at >= shop.keeper_length and _keeps(offcut.width, offcut.thickness, shop)
            billet = self.split(offcut, at, end) or self.billet(offcut, at, end)
            if keeps and rng.random() < 0.2:
                segments.append(WholeKeeper(start=at, end=end))
            elif billet is not None:
                segments.append(billet)
            at = end + shop.crosscut_kerf + rng.choice((0, 0, 1, self.unit, 5 * self.unit))
        if all(isinstance(segment, WholeKeeper) for segment in segments):
            return None
        return OffcutPlan(offcut=offcut.name, copy=copy, segments=tuple(segments))

    def split(self, offcut: Offcut, start: int, end: int) -> SplitBillet | None:
        """Return a billet split at random with blanks in one half at least, or None; so for half of those that may."""
        places = split_range(offcut, self.shop)
        if not places or self.rng.random() < 0.5:
            return None
        at = self.rng.choice(places)
        near, far = (self.billet(half, start, end) for half in halves(offcut, at, self.shop))
        if near is None and far is None:
            return None
        near, far = (
            billet or self._waste(half, start, end)
            for billet, half in zip((near, far), halves(offcut, at, self.shop), strict=True)
        )
        return SplitBillet(start=start, end=end, split=at, halves=(near, far))

    def _waste(self, half: Offcut, start: int, end: int) -> Billet:
        face, edge = face_loss(half, end - start, self.shop), edge_loss(half, end - start, self.shop)
        return Billet(start=start, end=end, layout="rip first", face_loss=face, edge_loss=edge, strips=())

    def billet(self, offcut: Offcut, start: int, end: int) -> Billet | None:
        """Return a random billet with at least one blank, or None."""
        face, edge = face_loss(offcut, end - start, self.shop), edge_loss(offcut, end - start, self.shop)
        layout: Literal["rip first", "resaw first"] = self.rng.choice(("rip first", "resaw first"))
        rip_first = layout == "rip first"
        y, z = offcut.width - edge, offcut.thickness - face
        outer, inner = (y, z) if rip_first else (z, y)
        height = offcut.thickness if rip_first else offcut.width
        strips = [
            strip
            for low, high in self.row(outer, height)
            if (strip := self.strip(offcut, (low, high), inner, (start, end), rip_first)) is not None
        ]
        if not any(stick.blanks for strip in strips for stick in strip.sticks):
            return None
        return Billet(
            start=start, end=end, layout=layout, face_loss=face, edge_loss=edge, strips=tuple(strips)
        )

    def row(self, depth: int, height: int) -> list[tuple[int, int]]:
        """Return random intervals at least a kerf apart; one that fills the depth if no saw reaches."""
        rng, kerf = self.rng, self.shop.kerf_at(height)
        if kerf is None or rng.random() < 0.1:
            return [(0, depth)]
        at = rng.choice((0, 0, 0, 0, 5, self.unit, 6 * self.unit))
        intervals: list[tuple[int, int]] = []
        while True:
            size = rng.choice(self.palette)
            if rng.random() < 0.15 or at + size > depth:
                size = depth - at
            if size < self.shop.narrowest_rip or at + size > depth:
                return intervals
            intervals.append((at, at + size))
            at += size + kerf + rng.choice((0, 0, 0, 0, 3, self.unit, 6 * self.unit))

    def strip(
        self, offcut: Offcut, interval: tuple[int, int], depth: int, along: tuple[int, int], rip_first: bool
    ) -> Strip | None:
        """Return a strip or layer with random sticks, a keeper, or None if nothing can be had."""
        size = interval[1] - interval[0]
        long_enough = along[1] - along[0] >= self.shop.keeper_length
        if long_enough and _keeps(size, depth, self.shop) and self.rng.random() < 0.15:
            return Strip(start=interval[0], end=interval[1], keeper=True)
        sticks = []
        for low, high in self.row(depth, size):
            stick = self.stick((size, high - low), (low, high), along, rip_first, bool(offcut.defects))
            if stick is not None:
                sticks.append(stick)
            elif long_enough and _keeps(size, high - low, self.shop):
                sticks.append(Stick(start=low, end=high, keeper=True))
        return Strip(start=interval[0], end=interval[1], sticks=tuple(sticks)) if sticks else None

    def stick(
        self,
        rough: tuple[int, int],
        interval: tuple[int, int],
        along: tuple[int, int],
        rip_first: bool,
        defects: bool,
    ) -> Stick | None:
        """Return a stick with blanks, lying flat or turned, or None if its section or length will not do."""
        shop, rng = self.shop, self.rng
        across, through = rough if rip_first else rough[::-1]
        ways = []
        for turned in (False, True):
            wide, thick = (through, across) if turned else (across, through)
            width, thickness = wide - shop.width_allowance, thick - shop.thickness_allowance
            if width >= thickness >= shop.thinnest_planed and width <= shop.planer_width:
                ways.append((turned, width, thickness))
        if not ways or rng.random() < 0.1:
            return None
        turned, width, thickness = rng.choice(ways)
        blanks, keepers = self.along(along, width, thickness, defects)
        if not blanks:
            return None
        return Stick(
            start=interval[0],
            end=interval[1],
            turned=turned,
            blanks=tuple(blanks),
            keepers=tuple(keepers),
        )

    def along(
        self, span: tuple[int, int], width: int, thickness: int, defects: bool
    ) -> tuple[list[CutBlank], list[Keeper]]:
        """Return blanks, and remainders that are kept, along a stick."""
        shop, rng = self.shop, self.rng
        blanks: list[CutBlank] = []
        keepers: list[Keeper] = []
        trim = shop.end_trim
        low, high = max(span[0] + shop.snipe, trim), span[1] - max(shop.snipe, trim)
        at = low + rng.choice((0, 0, 7, self.unit))
        while True:
            length = self.some(80 * MM, 500 * MM)
            end = at + length + shop.length_allowance
            if end > high:
                break
            clear = rng.choice((0, 0, min(length, 40 * self.unit))) if not defects else 0
            name = self.batch.kind(width, thickness, length, clear)
            clear_end: Literal["A", "B"] = rng.choice(("A", "B")) if clear else "A"
            blanks.append(CutBlank(blank=name, extra=False, start=at, end=end, clear_end=clear_end))
            at = end + shop.crosscut_kerf + rng.choice((0, 0, 9, self.unit))
        if blanks and span[1] - at >= shop.keeper_length and _keeps(width, thickness, shop):
            keepers.append(Keeper(start=at, end=span[1]))
        return blanks, keepers


def _keeps(one: int, other: int, shop: Shop) -> bool:
    """Return whether a section is large enough to be kept, either way round."""
    return max(one, other) >= shop.keeper_width and min(one, other) >= shop.keeper_thickness


def lying(wood: Offcut, billet: Billet) -> Iterator[tuple[Stick | None, Interval, Interval]]:
    """Yield the sticks of a billet (None for a strip that is kept whole), and where they lie across y and z."""
    rip_first = billet.layout == "rip first"
    depth = wood.thickness - billet.face_loss if rip_first else wood.width - billet.edge_loss
    for strip in billet.strips:
        outer = (strip.start, strip.end)
        if strip.keeper:
            yield None, *((outer, (0, depth)) if rip_first else ((0, depth), outer))
        for stick in strip.sticks:
            inner = (stick.start, stick.end)
            yield stick, *((outer, inner) if rip_first else (inner, outer))


def nothing_made(seed: int) -> tuple[Job, Plan]:
    """Return a random job with a plan that draws nothing and misses every blank."""
    job, plan = random_plan(seed)
    none = tuple((blank.name, 0) for blank in job.blanks)
    total = sum(blank.need for blank in job.blanks)
    return job, replace(
        plan,
        proof=Proof(missing=((1, total),), net_worth=0, bound=0, gap=0.0, proven=True),
        made=none,
        missing=plan.made,
        account=Account(volume_in=0, blanks=0, keepers=0, kerf=0, shavings=0, trimmings=0),
        offcuts=(),
    )
