"""The by-hand rule: how a careful person without a computer goes through a pile.

The longest blank comes first. Stock that is begun is used up first: a blank goes on a stick that is cut already
if it finds room there. Else the shortest offcut that will do is taken from the rack. It is milled whole: one
billet, as long as the offcut, jointed, and sawn rip first into sticks of that blank's section, lying flat if it
will and turned if not, as many as it holds. What is over on the sticks stays there for the blanks to come. In the
end every leftover that is a keeper is kept: sticks without a blank, ends of sticks, and what is left beside the
last strip and over the last stick of each. The rules R1-R11 hold for the hand as for the tool.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING, Literal, NamedTuple

from brute import Answer, crosscuts_of, witness

from yieldplan.model import (
    Billet,
    CutBlank,
    Keeper,
    OffcutPlan,
    Stick,
    Strip,
    edge_loss,
    face_loss,
    worth,
)

if TYPE_CHECKING:
    from yieldplan.model import Blank, Defect, Job, Offcut, Plan, Shop

Interval = tuple[int, int]


class Drawn(NamedTuple):
    """What the rule draws: worth, worth less keepers, blanks missing; and all of it as a plan to recheck."""

    worth: int
    net_worth: int
    missing: int
    plan: Plan


@dataclass
class _Stick:
    """A stick from edge and face ``y``, ``z`` (box), its section, and the ends of the blanks on it."""

    offcut: Offcut
    section: tuple[int, int]
    turned: bool
    y: Interval
    z: Interval
    taken: list[Interval] = field(default_factory=list)
    blanks: list[CutBlank] = field(default_factory=list)


class _Milled(NamedTuple):
    """An offcut that was milled whole: its copy, its sticks, and the keepers beside and over them.

    ``beside`` is a strip, ``over`` what is left of each strip; None where that is no keeper.
    """

    offcut: Offcut
    copy: int
    sticks: list[_Stick]
    beside: Interval | None = None
    over: Interval | None = None


def draw(job: Job) -> Drawn:
    """Return what the by-hand rule draws for a job."""
    rack = [(offcut, copy) for offcut in job.offcuts for copy in range(1, offcut.qty + 1)]
    rack.sort(key=lambda piece: piece[0].length)
    sticks: list[_Stick] = []
    begun: list[_Milled] = []
    missing = {blank.priority: 0 for blank in job.blanks}
    for blank in sorted(job.blanks, key=lambda blank: -blank.length):
        for _ in range(blank.need):
            if any(_place(stick, blank, job.shop) for stick in sticks):
                continue
            found = _take(rack, blank, job.shop)
            if found is None:
                missing[blank.priority] += 1
                continue
            begun.append(found)
            sticks += found.sticks
    pieces = [milled.offcut for milled in begun]
    whole = sum(worth(o.length, o.width, o.thickness, job.shop) for o in pieces)
    net = whole - sum(_kept(milled, job.shop) for milled in begun)
    cuttings = tuple(_cutting(milled, job.shop) for milled in begun)
    sawn = crosscuts_of(job, cuttings)
    answer = Answer(tuple(sorted(missing.items())), net, 0, len(begun), sawn, cuttings)
    return Drawn(whole, net, sum(missing.values()), witness(job, answer))


def _take(rack: list[tuple[Offcut, int]], blank: Blank, shop: Shop) -> _Milled | None:
    """Take the shortest offcut that gives the blank off the rack; mill it and put the blank on a stick."""
    for place, (offcut, copy) in enumerate(rack):
        for turned in (False, True):
            milled = _mill(offcut, copy, blank, shop, turned=turned)
            if any(_place(stick, blank, shop) for stick in milled.sticks):
                del rack[place]
                return milled
    return None


def _mill(offcut: Offcut, copy: int, blank: Blank, shop: Shop, *, turned: bool) -> _Milled:
    """Return the sticks of the blank's section that the whole offcut gives, and what is left beside them."""
    if offcut.width > shop.jointer_width or offcut.length < shop.shortest_machined_length:
        return _Milled(offcut, copy, [])
    rough = blank.width + shop.width_allowance, blank.thickness + shop.thickness_allowance
    across, deep = rough[::-1] if turned else rough
    room_y = offcut.width - edge_loss(offcut, offcut.length, shop)
    room_z = offcut.thickness - face_loss(offcut, offcut.length, shop)
    kerf, cross_kerf = shop.kerf_at(offcut.thickness), shop.kerf_at(across)
    strips, layers = _row(room_y, across, kerf), _row(room_z, deep, cross_kerf)
    section = blank.width, blank.thickness
    sticks = [
        _Stick(offcut=offcut, section=section, turned=turned, y=y, z=z) for y, z in product(strips, layers)
    ]
    if not sticks:
        return _Milled(offcut, copy, [])
    beside = (strips[-1][1] + (kerf or 0), room_y)
    over = (layers[-1][1] + (cross_kerf or 0), room_z)
    return _Milled(
        offcut,
        copy,
        sticks,
        beside if _sawn_keeper(offcut.length, beside[1] - beside[0], room_z, shop) else None,
        over if _sawn_keeper(offcut.length, over[1] - over[0], across, shop) else None,
    )


def _row(room: int, size: int, kerf: int | None) -> list[Interval]:
    """Return pieces of a size side by side from 0; one that fills the room where no saw reaches."""
    if kerf is None:
        return [(0, size)] if room == size else []
    count = (room + kerf) // (size + kerf)
    return [(n * (size + kerf), n * (size + kerf) + size) for n in range(max(0, count))]


def _place(stick: _Stick, blank: Blank, shop: Shop) -> bool:
    """Put a blank on a stick as near to end A as it goes; return whether it found room."""
    offcut = stick.offcut
    if (blank.width, blank.thickness) != stick.section or not blank.takes_species(offcut.species):
        return False
    if not blank.takes_rings(offcut, turned=stick.turned):
        return False
    size, kerf = blank.length + shop.length_allowance, shop.crosscut_kerf
    margin = max(shop.end_trim, shop.snipe)
    flaws = [defect for defect in offcut.defects if _meets(stick, defect, shop)]
    starts = {margin, *(end + kerf for _, end in stick.taken), *(flaw.x2 for flaw in flaws)}
    starts |= {flaw.x2 - size + blank.clear_end for flaw in flaws}
    for start in sorted(start for start in starts if margin <= start <= offcut.length - margin - size):
        end = start + size
        free = all(end + kerf <= a or b + kerf <= start for a, b in stick.taken)
        met = [flaw for flaw in flaws if flaw.x1 < end and start < flaw.x2]
        sound = _sound_end(blank, met, start, end)
        if free and sound:
            stick.taken.append((start, end))
            stick.blanks.append(
                CutBlank(blank=blank.name, extra=False, start=start, end=end, clear_end=sound)
            )
            return True
    return False


def _sound_end(blank: Blank, met: list[Defect], start: int, end: int) -> Literal["A", "B"] | None:
    """Return at which end the blank has its clear end, None where it may not lie there (R9)."""
    if not all(blank.allows_kind(flaw.kind) for flaw in met):
        return None
    if not any(flaw.x1 < start + blank.clear_end and start < flaw.x2 for flaw in met) or not blank.clear_end:
        return "A"
    return None if any(flaw.x1 < end and end - blank.clear_end < flaw.x2 for flaw in met) else "B"


def _meets(stick: _Stick, flaw: Defect, shop: Shop) -> bool:
    """Return whether a defect, moved by the straightening, meets the stick's rough section (R9)."""
    offcut = stick.offcut
    edge, face = edge_loss(offcut, offcut.length, shop), face_loss(offcut, offcut.length, shop)
    across = flaw.y1 - edge < stick.y[1] and stick.y[0] < flaw.y2 - shop.edge_skim
    deep = flaw.through or (flaw.z1 - face < stick.z[1] and stick.z[0] < flaw.z2 - shop.face_skim)
    return across and deep


def _kept(milled: _Milled, shop: Shop) -> int:
    """Return the worth of all keepers of an offcut."""
    length = milled.offcut.length
    kept = 0
    if milled.beside:
        room_z = milled.offcut.thickness - face_loss(milled.offcut, length, shop)
        kept += worth(length, milled.beside[1] - milled.beside[0], room_z, shop)
    for stick in milled.sticks:
        across, deep = stick.y[1] - stick.y[0], stick.z[1] - stick.z[0]
        if milled.over and stick.z[0] == 0:
            kept += worth(length, across, milled.over[1] - milled.over[0], shop)
        if stick.taken:
            kept += sum(worth(end - start, *stick.section, shop) for start, end in _ends(stick, shop))
        elif _sawn_keeper(length, across, deep, shop):
            kept += worth(length, across, deep, shop)
    return kept


def _ends(stick: _Stick, shop: Shop) -> list[Interval]:
    """Return the keepers at the ends of a stick that carries blanks."""
    length, kerf = stick.offcut.length, shop.crosscut_kerf
    before = (0, min(start for start, _ in stick.taken) - kerf)
    after = (max(end for _, end in stick.taken) + kerf, length)
    return [(start, end) for start, end in (before, after) if _keeper(end - start, *stick.section, shop)]


def _keeper(length: int, one: int, other: int, shop: Shop) -> bool:
    """Return whether a leftover is a keeper (R11)."""
    small, large = min(one, other), max(one, other)
    least, most = sorted((shop.keeper_width, shop.keeper_thickness))
    return small >= least and large >= most and length >= shop.keeper_length


def _sawn_keeper(length: int, one: int, other: int, shop: Shop) -> bool:
    """Return whether a leftover strip or stick is a keeper that may be ripped off (R2)."""
    return min(one, other) >= shop.narrowest_rip and _keeper(length, one, other, shop)


def _cutting(milled: _Milled, shop: Shop) -> OffcutPlan:
    """Return what was done with an offcut, as a plan has it."""
    offcut = milled.offcut
    strips = []
    for interval in sorted({stick.y for stick in milled.sticks}):
        sticks = [_stick(stick, shop) for stick in milled.sticks if stick.y == interval]
        if milled.over:
            sticks.append(Stick(start=milled.over[0], end=milled.over[1], keeper=True))
        kept = tuple(stick for stick in sticks if stick is not None)
        if kept:
            strips.append(Strip(start=interval[0], end=interval[1], sticks=kept))
    if milled.beside:
        strips.append(Strip(start=milled.beside[0], end=milled.beside[1], keeper=True))
    billet = Billet(
        start=0,
        end=offcut.length,
        layout="rip first",
        face_loss=face_loss(offcut, offcut.length, shop),
        edge_loss=edge_loss(offcut, offcut.length, shop),
        strips=tuple(strips),
    )
    return OffcutPlan(offcut=offcut.name, copy=milled.copy, segments=(billet,))


def _stick(stick: _Stick, shop: Shop) -> Stick | None:
    """Return a stick as a plan has it; None where it is waste."""
    start, end = stick.z
    if stick.taken:
        return Stick(
            start=start,
            end=end,
            turned=stick.turned,
            blanks=tuple(sorted(stick.blanks, key=lambda cut: cut.start)),
            keepers=tuple(Keeper(start=a, end=b) for a, b in _ends(stick, shop)),
        )
    if _sawn_keeper(stick.offcut.length, stick.y[1] - stick.y[0], end - start, shop):
        return Stick(start=start, end=end, keeper=True)
    return None
