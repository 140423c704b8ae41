"""Offcuts milled whole, for the simple plans: one billet over all that is sound, and how blanks lie in it.

What a person can do without a computer: ends off, one billet from sound end to sound end (of a kinked piece its
longest straight part). What is sawn from it: :mod:`yieldplan.solve.boards`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from yieldplan.model import fits_machines, ring_window, section, sound_ends, whole
from yieldplan.model.words import fold

if TYPE_CHECKING:
    from yieldplan.model import Blank, Job, Offcut, Shop

Span = tuple[int, int]
"""From where to where along an axis, in steps."""

EVERYWHERE = (-(10**12), 10**12)
"""Across z for a through defect: more than any board."""


class Flaw(NamedTuple):
    """A defect in the box of a billet, wherever jointing may leave it (R9)."""

    kind: str
    x: Span
    y: Span
    z: Span


class Milling(NamedTuple):
    """What milling an offcut whole gives: the billet, its losses, its box and the flaws in it."""

    number: int
    offcut: Offcut
    start: int
    end: int
    edge_loss: int
    face_loss: int
    wide: int
    deep: int
    flaws: tuple[Flaw, ...]
    species: str


def milling(number: int, offcut: Offcut, shop: Shop) -> Milling | None:
    """Return what milling an offcut whole gives; None where no machine takes it or nothing is left."""
    if offcut.width > shop.jointer_width:
        return None
    low, high = sound_ends(offcut, shop)
    parts = [(max(low, side[0]), min(high, side[1])) for side in offcut.sides]
    start, end = max(parts, key=lambda part: part[1] - part[0])
    length, wood = end - start, whole(offcut)
    if length < max(shop.shortest_machined_length, 1):
        return None
    edge, face = wood.edge_loss(length, shop, start), wood.face_loss(length, shop, start)
    if edge >= offcut.width or face >= offcut.thickness:
        return None
    flaws = tuple(
        Flaw(
            kind=fold(seen.kind),
            x=(seen.x1, seen.x2),
            y=(seen.y1 - edge, seen.y2 - shop.edge_skim),
            z=EVERYWHERE if seen.through else (seen.z1 - face, seen.z2 - shop.face_skim),
        )
        for seen in wood.defects(shop)
        if seen.x1 < end and start < seen.x2
    )
    box = (offcut.width - edge, offcut.thickness - face)
    return Milling(number, offcut, start, end, edge, face, *box, flaws, fold(offcut.species))


class Lie(NamedTuple):
    """How a blank's stick lies in an offcut: its rough sizes across y and z, and where across y the rings suit."""

    across: int
    deep: int
    window: Span


class Want:
    """One kind of blank that is looked for, with what does not depend on where."""

    __slots__ = ("_lies", "allows", "blank", "clear", "key", "shop", "size", "species")

    def __init__(self, blank: Blank, shop: Shop) -> None:
        self.blank, self.shop = blank, shop
        self.key = (blank.width, blank.thickness)
        self.size, self.clear = blank.length + shop.length_allowance, blank.clear_end
        self.species = frozenset(map(fold, blank.species))
        self.allows = frozenset(map(fold, blank.allows))
        self._lies: dict[tuple[int, bool], Lie | None] = {}

    def lie(self, milled: Milling, *, turned: bool) -> Lie | None:
        """Return how its stick lies in an offcut, flat or turned; None where it may not (R2, R6, R7, R10)."""
        key = (milled.number, turned)
        if key not in self._lies:
            self._lies[key] = self._found(milled, turned=turned)
        return self._lies[key]

    def _found(self, milled: Milling, *, turned: bool) -> Lie | None:
        blank, shop = self.blank, self.shop
        if self.species and milled.species not in self.species:
            return None
        if milled.end - milled.start < self.size + 2 * shop.stick_trim:
            return None
        least = (blank.thickness, blank.width) if turned else (blank.width, blank.thickness)
        if (
            least[0] > milled.wide
            or least[1] > milled.deep
            or not blank.takes_slope(milled.offcut.grain_slope)
        ):
            return None
        window = ring_window(milled.offcut, blank, turned=turned)
        found = section(milled.offcut, blank, shop, turned=turned)
        if window is None or not fits_machines(found, shop):
            return None
        sizes = (found.rough_width, found.rough_thickness)
        across, deep = sizes[::-1] if turned else sizes
        return Lie(across, deep, window) if across <= milled.wide and deep <= milled.deep else None


class Turn(NamedTuple):
    """So many blanks of a kind, in the order in which they are looked for."""

    want: Want
    number: int
    spare: bool


def turns(job: Job, *, by_length: bool) -> list[Turn]:
    """Return what is wanted, class by class, spares last; in each the longest first, or else the largest."""
    wants = [Want(blank, job.shop) for blank in job.blanks]

    def order(want: Want) -> tuple[int, ...]:
        area = want.blank.width * want.blank.thickness
        return (-want.size,) if by_length else (-area * want.size, -want.size)

    wants.sort(key=order)
    needed = sorted(wants, key=lambda want: want.blank.priority)
    return [
        *(Turn(want, want.blank.need, spare=False) for want in needed),
        *(Turn(want, want.blank.spare, spare=True) for want in wants),
    ]
