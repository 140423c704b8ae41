"""Whether one offcut could give one blank, were nothing else cut from it, and if not, what stops it first.

This is decided exactly: one blank is tried in the shortest billet that can hold it, because a longer billet loses more
to straightening (R3) and its defects reach further (R9).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from enum import Enum, auto
from itertools import product
from typing import TYPE_CHECKING

from yieldplan.model.pile import ring_window
from yieldplan.model.rows import is_sawn_off
from yieldplan.model.section import fits_machines, section
from yieldplan.model.wood import halves, sound_ends, split_range, whole

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from yieldplan.model.pile import Blank, Defect, Offcut
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
    """Why an offcut gives none of a blank.

    Attributes
    ----------
    hindrance
        The first thing that stops it.
    short, wide, narrow, thin
        By how many steps it is too short between its sound ends and kinks, too wide for the jointer, too narrow or too
        thin after jointing.
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


def billet_needed(blank: Blank, shop: Shop) -> int:
    """Return the shortest billet (steps) that can hold a blank (R2, R8)."""
    return max(shop.shortest_machined_length, blank.length + shop.length_allowance + 2 * shop.stick_trim)


def length_needed(blank: Blank, shop: Shop) -> int:
    """Return the shortest offcut length (steps) from which one such blank can be cut (R1, R2, R8)."""
    return billet_needed(blank, shop) + 2 * shop.end_trim


def rooms(offcut: Offcut, shop: Shop) -> tuple[tuple[int, int], ...]:
    """Return from where to where along x billets may lie: between the sound ends, and from kink to kink."""
    low, high = sound_ends(offcut, shop)
    return tuple((max(low, side[0]), min(high, side[1])) for side in offcut.sides)


def why_not(
    offcut: Offcut, blank: Blank, shop: Shop, *, any_species: bool = False, any_grain: bool = False
) -> Miss | None:
    """Return what stops one piece of an offcut from giving one blank; None where it would do.

    Where it is jointing that stops it, halves of a billet that is split before are looked at as well, and the nearest
    miss of all is returned.

    Parameters
    ----------
    any_species, any_grain
        Leave these rules out, to see whether nothing else stops it.
    """
    if not (any_species or blank.takes_species(offcut.species)):
        return Miss(hindrance=Hindrance.SPECIES)
    ways = [turned for turned in (False, True) if any_grain or blank.takes_rings(offcut, turned=turned)]
    if not ways:
        unread = offcut.ring_angle is None
        return Miss(hindrance=Hindrance.NO_RINGS_READ if unread else Hindrance.GRAIN)
    if not blank.takes_slope(offcut.grain_slope):
        unread = offcut.grain_slope is None
        return Miss(hindrance=Hindrance.NO_SLOPE_READ if unread else Hindrance.SLOPE)
    short = billet_needed(blank, shop) - max(high - low for low, high in rooms(offcut, shop))
    if short > 0:
        return Miss(hindrance=Hindrance.LENGTH, short=short)
    made = [way for way in ways if fits_machines(section(offcut, blank, shop, turned=way), shop)]
    if not made:
        return Miss(hindrance=Hindrance.MACHINES)
    return _nearest_of(_misses(offcut, blank, shop, made, any_grain=any_grain))


def _misses(
    offcut: Offcut, blank: Blank, shop: Shop, ways: list[bool], *, any_grain: bool
) -> Iterator[Miss | None]:
    """Yield what stops each way to lay the blank: on each side of a kink, flat or turned, in halves at last."""
    lying = [
        _Lying(whole(offcut), blank, shop, room, turned=turned, any_grain=any_grain)
        for room in rooms(offcut, shop)
        if room[1] - room[0] >= billet_needed(blank, shop)
        for turned in ways
    ]
    yield from (way.miss() for way in lying)
    places = split_range(offcut, shop)
    for way in lying if places else ():  # such an offcut has no kink
        if (found := way.miss()) and found.narrow:
            continue  # a half is narrower still
        for far in (False, True):
            for at in sorted(_likely_places(way, places[::-1] if far else places, far=far)):
                yield way.in_wood(halves(offcut, at, shop)[far]).miss()


def _nearest_of(misses: Iterator[Miss | None]) -> Miss | None:
    """Return the miss that fails last, and of those by the least; None as soon as one way does not miss."""
    nearest: Miss | None = None
    for miss in misses:
        if miss is None:
            return None
        if nearest is None or _nearness(miss) > _nearness(nearest):
            nearest = miss
    return nearest


def _nearness(miss: Miss) -> tuple[int, int]:
    return miss.hindrance.value, -miss.amount


def _likely_places(lying: _Lying, rising: range, *, far: bool) -> set[int]:
    """Return places at which one split gives a blank in one of its halves if any does, or nearly does.

    The narrower a half, the flatter. So a blank that lies clear can be pushed towards the outer edge until something
    stops it, and then lies clear in the narrowest half that reaches over it; where its thickness has to fill the box,
    in the narrowest of those that are just so thick. If its section fits into none, it misses by least where what it
    lacks in width comes to what it lacks in thickness.

    Parameters
    ----------
    lying
        The blank in the whole offcut.
    rising
        The places, narrow halves first.
    far
        Whether it is the half away from edge 1.
    """
    offcut, shop = lying.wood.offcut, lying.shop
    across, deep = lying.section[0] + lying.edge_loss, offcut.thickness - lying.section[1]
    stops = (offcut.width - defect.y1 if far else defect.y2 - shop.edge_skim for defect in offcut.defects)

    def width(at: int) -> int:
        return offcut.width - at - shop.bandsaw_kerf if far else at

    def lost(at: int) -> int:
        return halves(offcut, at, shop)[far].face_loss(lying.billet, shop)

    full, fits = bisect_left(rising, deep, key=lost), bisect_right(rising, deep, key=lost)
    narrowest = {bisect_left(rising, across + stop, key=width) for stop in (0, *stops)}
    found = {at for least in narrowest for at in (least, max(least, full)) if at < fits}
    if not found:
        even = bisect_left(rising, across + deep, key=lambda at: width(at) + lost(at))
        found = {max(even - 1, 0), min(even, len(rising) - 1)}
    return {rising[at] for at in found}


class _Lying:
    """One blank lying flat or turned in the shortest billet of a room that is long enough."""

    def __init__(
        self,
        wood: Wood,
        blank: Blank,
        shop: Shop,
        room: tuple[int, int],
        *,
        turned: bool,
        any_grain: bool,
    ) -> None:
        self.wood, self.blank, self.shop, self.room = wood, blank, shop, room
        self.turned, self.any_grain = turned, any_grain
        self.take = blank.length + shop.length_allowance
        self.billet = billet_needed(blank, shop)
        self.edge_loss = wood.edge_loss(self.billet, shop, room[0])
        self.face_loss = wood.face_loss(self.billet, shop, room[0])
        self.box = (wood.width - self.edge_loss, wood.thickness - self.face_loss)
        found = section(wood.offcut, blank, shop, turned=turned)
        sizes = found.rough_width, found.rough_thickness
        self.section = sizes[::-1] if turned else sizes
        # Halves are cut from wood without a second ring reading, so their window is all of the width or nothing.
        window = ring_window(wood.offcut, blank, turned=turned) if wood.is_whole and not any_grain else None
        low, high = window or (0, wood.width)
        low, high = -(-low // shop.mark) * shop.mark, high // shop.mark * shop.mark  # strips lie on marks
        self.room_y = (low, min(self.box[0], high - self.edge_loss))

    def in_wood(self, wood: Wood) -> _Lying:
        """Return the same in a half of the offcut."""
        return _Lying(wood, self.blank, self.shop, self.room, turned=self.turned, any_grain=self.any_grain)

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
        places = [place for place in self._places() if self._is_sawable(*place)]
        if not places:
            return Miss(hindrance=Hindrance.SAWS)
        return None if self._sound_place(places) else Miss(hindrance=Hindrance.DEFECTS)

    def _places(self) -> Iterator[tuple[int, int]]:
        """Yield where in the box the blank may lie: pushed towards edge 1 and face 1 until something stops it.

        At the far end of the box as well, for no saw may be needed there.
        """
        defects = self.wood.defects(self.shop)
        last_y, last_z = self.room_y[1] - self.section[0], self.box[1] - self.section[1]
        across = {self.room_y[0], last_y, *(self._across(defect)[1] for defect in defects)}
        deep = {0, last_z, *(self._deep(defect)[1] for defect in defects)}
        for y, z in product(sorted(across), sorted(deep)):
            if self.room_y[0] <= y <= last_y and 0 <= z <= last_z:
                yield y, z

    def _is_sawable(self, y: int, z: int) -> bool:
        """Return whether saws reach the cuts of either layout (R5); where nothing is sawn off none is needed."""
        end_y, end_z = y + self.section[0], z + self.section[1]
        across, deep = self._sawn(y, end_y, 0), self._sawn(z, end_z, 1)
        tall = self.section[0] if is_sawn_off(end_y, self.box[0], self.shop) else self.wood.width - y
        thick = self.section[1] if is_sawn_off(end_z, self.box[1], self.shop) else self.wood.thickness - z
        reach = self.shop.machine_for
        rip_first = (not across or reach(self.wood.thickness, resaw=False)) and (
            not deep or reach(tall, resaw=True)
        )
        resaw_first = (not deep or reach(self.wood.width, resaw=True)) and (
            not across or reach(thick, resaw=False)
        )
        return bool(rip_first or resaw_first)

    def _sawn(self, start: int, end: int, axis: int) -> bool:
        return start > 0 or is_sawn_off(end, self.box[axis], self.shop)

    def _sound_place(self, places: Iterable[tuple[int, int]]) -> bool:
        """Return whether the blank lies anywhere clear of what it does not allow (R1, R8, R9)."""
        defects, clear, take = self.wood.defects(self.shop), self.blank.clear_end, self.take
        first = self.room[0] + self.shop.stick_trim
        last = self.room[1] - self.shop.stick_trim - take
        along = {first, *(d.x2 for d in defects), *(d.x2 - take + clear for d in defects)}
        return any(
            self._is_clear(defects, (x, y, z), zone)
            for x, (y, z) in product((x for x in sorted(along) if first <= x <= last), places)
            for zone in ((x, x + clear), (x + take - clear, x + take))
        )

    def _across(self, defect: Defect) -> tuple[int, int]:
        return defect.y1 - self.edge_loss, defect.y2 - self.shop.edge_skim

    def _deep(self, defect: Defect) -> tuple[int, int]:
        if defect.through:
            return 0, self.box[1]
        return defect.z1 - self.face_loss, defect.z2 - self.shop.face_skim

    def _is_clear(
        self, defects: tuple[Defect, ...], place: tuple[int, int, int], zone: tuple[int, int]
    ) -> bool:
        x, y, z = place
        for defect in defects:
            if not self.blank.allows_kind(defect.kind):
                start, end = x, x + self.take
            elif self.blank.clear_end:
                start, end = zone
            else:
                continue
            (y1, y2), (z1, z2) = self._across(defect), self._deep(defect)
            if (
                (defect.x1 < end and start < defect.x2)
                and (y1 < y + self.section[0] and y < y2)
                and (z1 < z + self.section[1] and z < z2)
            ):
                return False
        return True
