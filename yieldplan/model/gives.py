"""Whether one offcut could give one blank, were nothing else cut from it, and if not, what stops it first.

This is decided exactly: one blank is tried in the shortest billet that can hold it, because a longer billet loses more
to straightening (R3) and its defects reach further (R9). Only this is not thought of: a longer one, so bent that no
more than the planer takes is left where no saw would reach.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from enum import Enum, auto
from itertools import product
from typing import TYPE_CHECKING

from yieldplan.model.pile import ring_window
from yieldplan.model.rows import is_sawn_off
from yieldplan.model.section import past_machines, section
from yieldplan.model.wood import halves, sound_ends, split_range, whole

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model.pile import Blank, Defect, Offcut
    from yieldplan.model.plan import Span
    from yieldplan.model.shop import Shop
    from yieldplan.model.wood import Wood


class Hindrance(Enum):
    """What stops an offcut from giving a blank, in the order in which it is asked."""

    SPECIES = auto()
    NO_RINGS_READ = auto()
    GRAIN = auto()
    NO_SLOPE_READ = auto()
    SLOPE = auto()
    LENGTH = auto()
    MACHINES = auto()
    JOINTER = auto()
    SECTION = auto()
    RINGS = auto()
    SAWS = auto()
    DEFECTS = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Miss:
    """Why an offcut gives none of a blank: the first thing that stops it, and by how much (steps).

    It is too ``short`` between its sound ends and kinks, too ``wide`` for the jointer, too ``narrow`` or too ``thin``
    after jointing.
    """

    hindrance: Hindrance
    short: int = 0
    wide: int = 0
    narrow: int = 0
    thin: int = 0

    @property
    def amount(self) -> int:
        """How far it misses, in steps; 0 where the hindrance has no measure."""
        return max(self.short, self.wide, self.narrow, self.thin)

    @property
    def nearness(self) -> tuple[int, int]:
        """The higher, the nearer: what fails last is nearest, and of that what fails by least."""
        return self.hindrance.value, -self.amount


def billet_needed(blank: Blank, shop: Shop) -> int:
    """Return the shortest billet (steps) that can hold a blank (R2, R8)."""
    return max(shop.shortest_machined_length, blank.length + shop.length_allowance + 2 * shop.stick_trim)


def length_needed(blank: Blank, shop: Shop) -> int:
    """Return the shortest offcut length (steps) from which one such blank can be cut (R1, R2, R8)."""
    return billet_needed(blank, shop) + 2 * shop.end_trim


def why_not(offcut: Offcut, blank: Blank, shop: Shop) -> Miss | None:
    """Return what stops one piece of an offcut from giving one blank; None where it would do.

    Where it is jointing that stops it, halves of a billet that is split before are looked at as well, and the nearest
    miss of all is returned.
    """
    if not blank.takes_species(offcut.species):
        return Miss(hindrance=Hindrance.SPECIES)
    ways = [way for way in (False, True) if ring_window(offcut, blank, turned=way)]
    if not ways:
        unread = offcut.ring_angle is None
        return Miss(hindrance=Hindrance.NO_RINGS_READ if unread else Hindrance.GRAIN)
    if not blank.takes_slope(offcut.grain_slope):
        unread = offcut.grain_slope is None
        return Miss(hindrance=Hindrance.NO_SLOPE_READ if unread else Hindrance.SLOPE)
    (low, high), needed = sound_ends(offcut, shop), billet_needed(blank, shop)
    rooms = [(max(low, start), min(high, end)) for start, end in offcut.sides]
    short = needed - max(end - start for start, end in rooms)
    if short > 0:
        return Miss(hindrance=Hindrance.LENGTH, short=short)
    ways = [way for way in ways if past_machines(section(offcut, blank, shop, turned=way), shop) is None]
    if not ways:
        return Miss(hindrance=Hindrance.MACHINES)
    long, misses = [room for room in rooms if room[1] - room[0] >= needed], []
    for lying in [_Lying(whole(offcut), blank, shop, room, turned=way) for room in long for way in ways]:
        for miss in _misses(lying):
            if miss is None:
                return None
            misses.append(miss)
    return max(misses, key=lambda miss: miss.nearness)


def _misses(lying: _Lying) -> Iterator[Miss | None]:
    """Yield what stops a blank that lies so in the whole offcut, and then in halves of it."""
    miss, offcut, shop = lying.miss(), lying.wood.offcut, lying.shop
    yield miss
    places = split_range(offcut, shop)
    if not places or (miss and miss.narrow):  # a half is narrower still
        return
    for far in (False, True):
        for at in _likely_places(lying, places[::-1] if far else places, far=far):
            half = halves(offcut, at, shop)[far]
            yield _Lying(half, lying.blank, shop, lying.room, turned=lying.turned).miss()


def _likely_places(lying: _Lying, rising: range, *, far: bool) -> list[int]:
    """Return places at which one split gives a blank in one of its halves if any does.

    The narrower a half, the flatter. So a blank that lies clear can be pushed towards the outer edge until something
    stops it, and then lies clear in the narrowest half that reaches over it; where what is beyond it has to be sawn
    off, in the narrowest of those; where its thickness has to fill the box, in the narrowest that is just so thick. If
    it is too thick for the narrowest half that is wide enough, it is so for all; that half is the nearest miss. The
    blank is ``lying`` in the whole offcut; ``rising`` are the places, those of narrow halves first; ``far`` is the half
    away from edge 1.
    """
    offcut, shop = lying.wood.offcut, lying.shop
    across, deep = lying.section[0] + lying.edge_loss, offcut.thickness - lying.section[1]

    def width(at: int) -> int:
        return offcut.width - at - shop.bandsaw_kerf if far else at

    def lost(at: int) -> int:
        return halves(offcut, at, shop)[far].face_loss(lying.billet, shop)

    least = min(bisect_left(rising, across, key=width), len(rising) - 1)
    if lost(rising[least]) > deep:
        return [rising[least]]
    full, fits = bisect_left(rising, deep - shop.plane_off, key=lost), bisect_right(rising, deep, key=lost)
    stops = (offcut.width - defect.y1 if far else defect.y2 - shop.edge_skim for defect in offcut.defects)
    reaches = [across + stop + over for stop in (0, *stops) for over in (0, shop.plane_off + shop.mark)]
    narrowest = {bisect_left(rising, reach, key=width) for reach in reaches}
    return sorted({rising[at] for least in narrowest for at in (least, max(least, full)) if at < fits})


class _Lying:
    """One blank lying flat or turned in the shortest billet of a room that is long enough."""

    def __init__(self, wood: Wood, blank: Blank, shop: Shop, room: Span, *, turned: bool) -> None:
        self.wood, self.blank, self.shop, self.room, self.turned = wood, blank, shop, room, turned
        self.defects: tuple[Defect, ...] = ()
        self.take = blank.length + shop.length_allowance
        self.billet = billet_needed(blank, shop)
        self.edge_loss = wood.edge_loss(self.billet, shop, room[0])
        self.face_loss = wood.face_loss(self.billet, shop, room[0])
        self.box = (wood.width - self.edge_loss, wood.thickness - self.face_loss)
        found = section(wood.offcut, blank, shop, turned=turned)
        sizes = found.rough_width, found.rough_thickness
        self.section = sizes[::-1] if turned else sizes
        # Halves are cut from wood without a second ring reading, so the window is all of its width.
        low, high = ring_window(wood.offcut, blank, turned=turned) or (0, 0)
        low, high = -(-low // shop.mark) * shop.mark, high // shop.mark * shop.mark  # strips lie on marks
        self.room_y = (low, min(self.box[0], high - self.edge_loss))

    def miss(self) -> Miss | None:
        """Return what stops it, or None."""
        if self.wood.width > self.shop.jointer_width:
            return Miss(hindrance=Hindrance.JOINTER, wide=self.wood.width - self.shop.jointer_width)
        narrow, thin = (max(0, need - have) for need, have in zip(self.section, self.box, strict=True))
        if narrow or thin:
            return Miss(hindrance=Hindrance.SECTION, narrow=narrow, thin=thin)
        outside = self.section[0] - (self.room_y[1] - self.room_y[0])
        if outside > 0:
            return Miss(hindrance=Hindrance.RINGS, narrow=outside)
        self.defects = self.wood.defects(self.shop)
        sawable = [place for place in self._places() if self._is_sawable(*place)]
        if any(self._is_sound(*place) for place in sawable):
            return None
        return Miss(hindrance=Hindrance.DEFECTS if sawable else Hindrance.SAWS)

    def _places(self) -> Iterator[tuple[int, int]]:
        """Return where in the box the blank may lie: pushed towards edge 1 and face 1 until something stops it.

        From the other side as well: there no saw may be needed, or it may have less to reach over.
        """
        (wide, deep), low = self.section, self.room_y[0]
        last_y, last_z = self.room_y[1] - wide, self.box[1] - deep
        across, downward = {low, last_y}, {0, last_z}
        for (y1, y2), (z1, z2) in ((self._across(one), self._deep(one)) for one in self.defects):
            across |= {y for y in (y1 - wide, y2) if low <= y <= last_y}
            downward |= {z for z in (z1 - deep, z2) if 0 <= z <= last_z}
        return product(sorted(across), sorted(downward))

    def _is_sawable(self, y: int, z: int) -> bool:
        """Return whether saws reach the cuts of either layout (R5); where nothing is sawn off they are 0 high."""
        end_y, end_z = y + self.section[0], z + self.section[1]
        off_y, off_z = is_sawn_off(end_y, self.box[0], self.shop), is_sawn_off(end_z, self.box[1], self.shop)
        rip, resaw, wood, reach = y > 0 or off_y, z > 0 or off_z, self.wood, self.shop.machine_for
        tall = self.section[0] if off_y else wood.width - y
        thick = self.section[1] if off_z else wood.thickness - z
        rip_first = reach(rip * wood.thickness, resaw=False) and reach(resaw * tall, resaw=True)
        resaw_first = reach(resaw * wood.width, resaw=True) and reach(rip * thick, resaw=False)
        return bool(rip_first or resaw_first)

    def _is_sound(self, y: int, z: int) -> bool:
        """Return whether the blank lies anywhere along the billet clear of what it does not allow (R1, R8, R9)."""
        met = [defect for defect in self.defects if self._meets(defect, y, z)]
        bad = [defect for defect in met if not self.blank.allows_kind(defect.kind)]
        clear, take = self.blank.clear_end, self.take
        first = self.room[0] + self.shop.stick_trim
        last = self.room[1] - self.shop.stick_trim - take
        along = {first, *(d.x2 for d in met), *(d.x2 - take + clear for d in met)}

        def free(defects: list[Defect], start: int, end: int) -> bool:
            return all(end <= defect.x1 or defect.x2 <= start for defect in defects)

        return any(
            free(bad, x, x + take)
            and (not clear or free(met, x, x + clear) or free(met, x + take - clear, x + take))
            for x in sorted(along)
            if first <= x <= last
        )

    def _meets(self, defect: Defect, y: int, z: int) -> bool:
        (y1, y2), (z1, z2) = self._across(defect), self._deep(defect)
        return y1 < y + self.section[0] and y < y2 and z1 < z + self.section[1] and z < z2

    def _across(self, defect: Defect) -> tuple[int, int]:
        return defect.y1 - self.edge_loss, defect.y2 - self.shop.edge_skim

    def _deep(self, defect: Defect) -> tuple[int, int]:
        if defect.through:
            return 0, self.box[1]
        return defect.z1 - self.face_loss, defect.z2 - self.shop.face_skim
