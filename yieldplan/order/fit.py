"""Whether one offcut could give one blank, were nothing else cut from it, and if not, what stops it first.

This is decided exactly, in whole steps: one blank is tried in the shortest billet that can
hold it, because a longer billet loses more to straightening (R3) and its defects reach further (R9).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace
from enum import Enum, auto
from itertools import product
from typing import TYPE_CHECKING

from yieldplan.model import edge_loss, face_loss, half, planed_section, ring_window, split_range
from yieldplan.model.losses import longest_blank

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from yieldplan.model import Blank, Defect, Offcut, Shop


class Hindrance(Enum):
    """What stops an offcut from giving a blank, in the order in which it is asked."""

    SPECIES = auto()
    NO_RINGS_READ = auto()
    GRAIN = auto()
    NO_SLOPE_READ = auto()
    SLOPE = auto()
    JOINTER = auto()
    LENGTH = auto()
    PLANER = auto()
    SECTION = auto()
    RINGS = auto()
    SAWS = auto()
    DEFECTS = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether one piece of an offcut could give one blank, were nothing else cut from it.

    Attributes
    ----------
    hindrance
        The first thing that stops it, or None if it would do.
    short, wide, narrow, thin
        By how many steps it is too short, too wide for the jointer, too narrow or too thin after jointing.
    """

    offcut: Offcut
    hindrance: Hindrance | None = None
    short: int = 0
    wide: int = 0
    narrow: int = 0
    thin: int = 0

    @property
    def amount(self) -> int:
        """How far it misses, in steps; 0 where the hindrance has no measure."""
        return max(self.short, self.wide, self.narrow, self.thin)


def length_needed(blank: Blank, shop: Shop) -> int:
    """Return the shortest offcut length (steps) from which one such blank can be cut (R1, R2, R8)."""
    take = blank.length + shop.length_allowance
    return max(shop.shortest_machined_length, take + 2 * max(shop.snipe, shop.end_trim))


def judge(
    blank: Blank, offcut: Offcut, shop: Shop, *, any_species: bool = False, any_grain: bool = False
) -> Verdict:
    """Return whether one piece of the offcut could give one blank, and if not, what stops it first.

    Where it is jointing that stops it, halves of a billet that is split before are looked at as well.

    Parameters
    ----------
    any_species, any_grain
        Leave these rules out, to see whether nothing else stops it.
    """
    whole = _judge(blank, offcut, shop, any_species=any_species, any_grain=any_grain)
    if whole.hindrance not in (Hindrance.JOINTER, Hindrance.SECTION, Hindrance.SAWS, Hindrance.DEFECTS):
        return whole
    best = whole
    for part in _likely_halves(blank, offcut, shop, any_grain=any_grain) if not whole.narrow else ():
        found = _judge(blank, part, shop, any_species=any_species, any_grain=any_grain)
        best = max(best, replace(found, offcut=offcut), key=_nearness)
        if best.hindrance is None:
            return best
    return best


def _likely_halves(blank: Blank, offcut: Offcut, shop: Shop, *, any_grain: bool) -> Iterator[Offcut]:
    """Yield halves of an offcut among which one gives a blank if any does; else the nearest miss is among them."""
    places, bare = split_range(offcut, shop), replace(offcut, defects=())
    stops = (
        (0, *(defect.y2 - shop.edge_skim for defect in offcut.defects)),
        (0, *(offcut.width - defect.y1 for defect in offcut.defects)),
    )
    for turned in (False, True):
        if places and (any_grain or blank.takes_rings(offcut, turned=turned)):
            lying = _Lying(blank, bare, shop, (0, offcut.length), turned=turned, any_grain=any_grain)
            for far in (False, True):
                for at in sorted(_likely_places(lying, places[::-1] if far else places, stops[far], far=far)):
                    yield half(offcut, at, shop, far=far)


def _likely_places(lying: _Lying, rising: range, stops: Iterable[int], *, far: bool) -> set[int]:
    """Return places at which one split gives a blank in one of its halves if any does, or nearly does.

    The narrower a half, the flatter. So a blank that lies clear can be pushed towards the outer edge until something
    stops it, and then lies clear in the narrowest half that reaches over it; where its thickness has to fill the box,
    in the narrowest of those that are just so thick. If its section fits into none, it misses by least where what it
    lacks in width comes to what it lacks in thickness.

    Parameters
    ----------
    lying
        The blank in the offcut, its defects left out.
    rising
        The places, narrow halves first.
    stops
        How far from the outer edge something may stop the blank, in steps.
    far
        Whether it is the half away from edge 1.
    """
    offcut, shop = lying.offcut, lying.shop
    across, deep = lying.section[0] + lying.edge_loss, offcut.thickness - lying.section[1]

    def width(at: int) -> int:
        return offcut.width - at - shop.bandsaw_kerf if far else at

    def lost(at: int) -> int:
        return face_loss(half(offcut, at, shop, far=far), lying.billet, shop)

    full, fits = bisect_left(rising, deep, key=lost), bisect_right(rising, deep, key=lost)
    narrowest = {bisect_left(rising, across + stop, key=width) for stop in stops}
    found = {at for least in narrowest for at in (least, max(least, full)) if at < fits}
    if not found:
        even = bisect_left(rising, across + deep, key=lambda at: width(at) + lost(at))
        found = {max(even - 1, 0), min(even, len(rising) - 1)}
    return {rising[at] for at in found}


def _judge(blank: Blank, offcut: Offcut, shop: Shop, *, any_species: bool, any_grain: bool) -> Verdict:
    if not (any_species or blank.takes_species(offcut.species)):
        return Verdict(offcut=offcut, hindrance=Hindrance.SPECIES)
    ways = [t for t in (False, True) if any_grain or blank.takes_rings(offcut, turned=t)]
    if not ways:
        unread = offcut.ring_angle is None
        return Verdict(offcut=offcut, hindrance=Hindrance.NO_RINGS_READ if unread else Hindrance.GRAIN)
    if not blank.takes_slope(offcut.grain_slope):
        unread = offcut.grain_slope is None
        return Verdict(offcut=offcut, hindrance=Hindrance.NO_SLOPE_READ if unread else Hindrance.SLOPE)
    if offcut.width > shop.jointer_width:
        wide = offcut.width - shop.jointer_width
        return Verdict(offcut=offcut, hindrance=Hindrance.JOINTER, wide=wide)
    longest = longest_blank(offcut, shop)
    side = max(high - low for low, high in offcut.sides)
    short = blank.length + shop.length_allowance - longest if longest else length_needed(blank, shop) - side
    if short > 0:
        return Verdict(offcut=offcut, hindrance=Hindrance.LENGTH, short=short)
    verdicts = [
        _Lying(blank, offcut, shop, side, turned=turned, any_grain=any_grain).verdict()
        for turned in ways
        for side in offcut.sides
        if side[1] - side[0] >= _billet_needed(blank, shop)
    ]
    return max(verdicts, key=_nearness)


def _nearness(verdict: Verdict) -> tuple[int, int]:
    """Sort key: what will do is nearest, then what fails later, then what fails by less."""
    stage = len(Hindrance) + 1 if verdict.hindrance is None else verdict.hindrance.value
    return stage, -verdict.amount


def _billet_needed(blank: Blank, shop: Shop) -> int:
    """Return the shortest billet (steps) that can hold a blank."""
    return max(shop.shortest_machined_length, blank.length + shop.length_allowance + 2 * shop.snipe)


class _Lying:
    """One blank lying flat or turned in the shortest billet of one side of an offcut that is long enough."""

    def __init__(
        self,
        blank: Blank,
        offcut: Offcut,
        shop: Shop,
        side: tuple[int, int],
        *,
        turned: bool,
        any_grain: bool,
    ) -> None:
        self.blank, self.offcut, self.shop, self.side = blank, offcut, shop, side
        self.take = blank.length + shop.length_allowance
        self.billet = _billet_needed(blank, shop)
        self.edge_loss = edge_loss(offcut, self.billet, shop, side[0])
        self.face_loss = face_loss(offcut, self.billet, shop, side[0])
        self.box = (offcut.width - self.edge_loss, offcut.thickness - self.face_loss)
        self.planed = planed_section(offcut, blank, shop, turned=turned)
        wide, thick = self.planed[0] + shop.width_allowance, self.planed[1] + shop.thickness_allowance
        self.section = (thick, wide) if turned else (wide, thick)
        window = None if any_grain else ring_window(offcut, blank, turned=turned)
        low, high = window or (0, offcut.width)
        self.room_y = (low, min(self.box[0], high - self.edge_loss))

    def verdict(self) -> Verdict:
        if self.planed[0] > self.shop.planer_width:
            return Verdict(offcut=self.offcut, hindrance=Hindrance.PLANER)
        narrow, thin = (max(0, need - have) for need, have in zip(self.section, self.box, strict=True))
        if narrow or thin:
            return Verdict(offcut=self.offcut, hindrance=Hindrance.SECTION, narrow=narrow, thin=thin)
        outside = self.section[0] - (self.room_y[1] - self.room_y[0])
        if outside > 0:
            return Verdict(offcut=self.offcut, hindrance=Hindrance.RINGS, narrow=outside)
        if not self._sawable():
            return Verdict(offcut=self.offcut, hindrance=Hindrance.SAWS)
        return Verdict(offcut=self.offcut, hindrance=None if self._sound_place() else Hindrance.DEFECTS)

    def _sawable(self) -> bool:
        """Return whether a saw reaches the cuts of either layout (R5); a side that is full needs no cut."""
        across, deep = self.section
        full_across, full_deep = across == self.box[0], deep == self.box[1]
        reach = self.shop.kerf_at
        rip_first = (full_across or reach(self.offcut.thickness) is not None) and (
            full_deep or reach(across) is not None
        )
        resaw_first = (full_deep or reach(self.offcut.width) is not None) and (
            full_across or reach(deep) is not None
        )
        return rip_first or resaw_first

    def _sound_place(self) -> bool:
        """Return whether the blank lies anywhere clear of what it does not allow (R1, R8, R9).

        A blank that lies clear can be pushed towards end A, edge 1 and face 1 until something stops it, so
        only the places where it is stopped are tried.
        """
        defects, clear, take = self.offcut.defects, self.blank.clear_end, self.take
        snipe, trim = self.shop.snipe, self.shop.end_trim
        first = max(self.side[0] + snipe, trim)
        last = min(self.side[1] - snipe, self.offcut.length - trim) - take
        across = {self.room_y[0], *(self._across(defect)[1] for defect in defects)}
        deep = {0, *(self._deep(defect)[1] for defect in defects)}
        along = {first, *(d.x2 for d in defects), *(d.x2 - take + clear for d in defects)}
        return any(
            any(self._clear(x, y, z, zone) for zone in ((x, x + clear), (x + take - clear, x + take)))
            for x, y, z in product(along, across, deep)
            if first <= x <= last
            and self.room_y[0] <= y <= self.room_y[1] - self.section[0]
            and 0 <= z <= self.box[1] - self.section[1]
        )

    def _across(self, defect: Defect) -> tuple[int, int]:
        return defect.y1 - self.edge_loss, defect.y2 - self.shop.edge_skim

    def _deep(self, defect: Defect) -> tuple[int, int]:
        if defect.through:
            return 0, self.box[1]
        return defect.z1 - self.face_loss, defect.z2 - self.shop.face_skim

    def _clear(self, x: int, y: int, z: int, zone: tuple[int, int]) -> bool:
        for defect in self.offcut.defects:
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
