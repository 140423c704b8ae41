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
from typing import TYPE_CHECKING, NamedTuple

from yieldplan.model import edge_loss, face_loss, worth

if TYPE_CHECKING:
    from yieldplan.model import Blank, Defect, Job, Offcut, Shop


class Drawn(NamedTuple):
    """What the rule draws: worth, worth less keepers, blanks missing, offcuts drawn."""

    worth: int
    net_worth: int
    missing: int
    offcuts: int


@dataclass
class _Stick:
    """A stick from edge and face ``y``, ``z`` (box), its section, and the ends of the blanks on it."""

    offcut: Offcut
    section: tuple[int, int]
    turned: bool
    y: tuple[int, int]
    z: tuple[int, int]
    taken: list[tuple[int, int]] = field(default_factory=list)


class _Milled(NamedTuple):
    """An offcut that was milled whole: its sticks, and the worth of the keepers beside and over them."""

    offcut: Offcut
    sticks: list[_Stick]
    kept: int


def draw(job: Job) -> Drawn:
    """Return what the by-hand rule draws for a job."""
    rack = [offcut for offcut in job.offcuts for _ in range(offcut.qty)]
    rack.sort(key=lambda offcut: offcut.length)
    sticks: list[_Stick] = []
    begun: list[_Milled] = []
    missing = 0
    for blank in sorted(job.blanks, key=lambda blank: -blank.length):
        for _ in range(blank.need):
            if any(_place(stick, blank, job.shop) for stick in sticks):
                continue
            found = _take(rack, blank, job.shop)
            if found is None:
                missing += 1
                continue
            begun.append(found)
            sticks += found.sticks
    pieces = [milled.offcut for milled in begun]
    whole = sum(worth(o.length, o.width, o.thickness, job.shop) for o in pieces)
    kept = sum(milled.kept for milled in begun) + sum(_kept(stick, job.shop) for stick in sticks)
    return Drawn(whole, whole - kept, missing, len(begun))


def _take(rack: list[Offcut], blank: Blank, shop: Shop) -> _Milled | None:
    """Take the shortest offcut that gives the blank off the rack; mill it and put the blank on a stick."""
    for place, offcut in enumerate(rack):
        for turned in (False, True):
            milled = _mill(offcut, blank, shop, turned=turned)
            if any(_place(stick, blank, shop) for stick in milled.sticks):
                del rack[place]
                return milled
    return None


def _mill(offcut: Offcut, blank: Blank, shop: Shop, *, turned: bool) -> _Milled:
    """Return the sticks of the blank's section that the whole offcut gives, and what is left beside them."""
    if offcut.width > shop.jointer_width or offcut.length < shop.shortest_machined_length:
        return _Milled(offcut, [], 0)
    rough = blank.width + shop.width_allowance, blank.thickness + shop.thickness_allowance
    across, deep = rough[::-1] if turned else rough
    room_y = offcut.width - edge_loss(offcut, offcut.length, shop)
    room_z = offcut.thickness - face_loss(offcut, offcut.length, shop)
    kerf, cross_kerf = shop.kerf_at(offcut.thickness), shop.kerf_at(across)
    strips, layers = _row(room_y, across, kerf), _row(room_z, deep, cross_kerf)
    section = blank.width, blank.thickness
    kept = 0
    if strips and layers:
        beside = room_y - strips[-1][1] - (kerf or 0)
        over = room_z - layers[-1][1] - (cross_kerf or 0)
        kept = _keeper(offcut.length, beside, room_z, shop)
        kept += len(strips) * _keeper(offcut.length, over, across, shop)
    sticks = [
        _Stick(offcut=offcut, section=section, turned=turned, y=y, z=z) for y, z in product(strips, layers)
    ]
    return _Milled(offcut, sticks, kept)


def _row(room: int, size: int, kerf: int | None) -> list[tuple[int, int]]:
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
    if not blank.takes_ring(offcut.ring_angle, turned=stick.turned):
        return False
    size, kerf = blank.length + shop.length_allowance, shop.crosscut_kerf
    margin = max(shop.end_trim, shop.snipe)
    flaws = [defect for defect in offcut.defects if _meets(stick, defect, shop)]
    starts = {margin, *(end + kerf for _, end in stick.taken), *(flaw.x2 for flaw in flaws)}
    starts |= {flaw.x2 - size + blank.clear_end for flaw in flaws}
    for start in sorted(start for start in starts if margin <= start <= offcut.length - margin - size):
        end = start + size
        free = all(end + kerf <= a or b + kerf <= start for a, b in stick.taken)
        if free and _sound(blank, [flaw for flaw in flaws if flaw.x1 < end and start < flaw.x2], start, end):
            stick.taken.append((start, end))
            return True
    return False


def _sound(blank: Blank, met: list[Defect], start: int, end: int) -> bool:
    if not all(blank.allows_kind(flaw.kind) for flaw in met):
        return False
    zones = (start, start + blank.clear_end), (end - blank.clear_end, end)
    return any(not any(flaw.x1 < b and a < flaw.x2 for flaw in met) for a, b in zones)


def _meets(stick: _Stick, flaw: Defect, shop: Shop) -> bool:
    """Return whether a defect, moved by the straightening, meets the stick's rough section (R9)."""
    offcut = stick.offcut
    edge, face = edge_loss(offcut, offcut.length, shop), face_loss(offcut, offcut.length, shop)
    across = flaw.y1 - edge < stick.y[1] and stick.y[0] < flaw.y2 - shop.edge_skim
    deep = flaw.through or (flaw.z1 - face < stick.z[1] and stick.z[0] < flaw.z2 - shop.face_skim)
    return across and deep


def _kept(stick: _Stick, shop: Shop) -> int:
    """Return the worth of what is kept of a stick: the whole of it, or what is left at its ends."""
    length, kerf = stick.offcut.length, shop.crosscut_kerf
    if not stick.taken:
        return _keeper(length, stick.y[1] - stick.y[0], stick.z[1] - stick.z[0], shop)
    before = min(start for start, _ in stick.taken) - kerf
    after = length - max(end for _, end in stick.taken) - kerf
    return _keeper(before, *stick.section, shop) + _keeper(after, *stick.section, shop)


def _keeper(length: int, one: int, other: int, shop: Shop) -> int:
    """Return the worth of a leftover, 0 where it is no keeper (R11)."""
    small, large = min(one, other), max(one, other)
    least, most = sorted((shop.keeper_width, shop.keeper_thickness))
    stout = small >= max(least, shop.narrowest_rip) and large >= most
    return worth(length, one, other, shop) if stout and length >= shop.keeper_length else 0
