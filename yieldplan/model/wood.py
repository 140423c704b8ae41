"""What is milled as one piece: a whole offcut, or one half of a split one; its losses (R3), ends (R1), defects (R9).

A half is as an offcut of its own: its cup an arc, so that it falls with the square of the width, its twist evenly
across, so that it falls with the width; bow and crook run along the grain and stay.

Uniform curvature makes a sagitta fall with the square of the length (s = R - sqrt(R^2 - c^2/4), about c^2/8R); a
twisted rectangle strays from its best plane by half the lift of its fourth corner, and the lift falls with the length;
a full cup stays, because the billet is faced at full width. The sum is safe: their largest places need not coincide.
At a kink the curve is not uniform, so each side of it is taken by itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.model.plan import Billet, SplitBillet
from yieldplan.model.words import fold

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model.pile import Defect, Job, Offcut
    from yieldplan.model.plan import OffcutPlan
    from yieldplan.model.shop import Shop


def _up(numerator: int, denominator: int) -> int:
    return -(-numerator // denominator)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wood:
    """Part of an offcut's width that is jointed as one piece: from ``low`` over ``width`` across y, in steps."""

    offcut: Offcut
    low: int
    width: int

    @property
    def thickness(self) -> int:
        """Its rough thickness."""
        return self.offcut.thickness

    def face_loss(self, length: int, shop: Shop, start: int = 0) -> int:
        """Return F of R3: what a billet of ``length`` that begins at ``start`` loses across z, up to a mark.

        F = bow l^2/L^2 + cup w^2/W^2 + (twist w/W) l/(2L) + face skim.
        """
        offcut, whole, wide = self.offcut, self.offcut.straight_length(start), self.offcut.width
        below = 2 * whole * whole * wide * wide
        above = (
            2 * offcut.bow * length * length * wide * wide
            + 2 * offcut.cup * self.width * self.width * whole * whole
            + offcut.twist * self.width * length * whole * wide
        )
        return _up(above + shop.face_skim * below, below * shop.mark) * shop.mark

    def edge_loss(self, length: int, shop: Shop, start: int = 0) -> int:
        """Return E of R3: what such a billet loses across y: crook l^2/L^2 + edge skim, up to a mark."""
        whole = self.offcut.straight_length(start)
        below = whole * whole
        above = self.offcut.crook * length * length
        return _up(above + shop.edge_skim * below, below * shop.mark) * shop.mark

    def defects(self, shop: Shop) -> tuple[Defect, ...]:
        """Return the defects that reach into it, in its own frame, each as long as R9 takes it."""
        high = self.low + self.width
        return tuple(
            replace(seen, y1=max(seen.y1 - self.low, 0), y2=min(seen.y2 - self.low, self.width))
            for seen in (lengthened(defect, self.offcut, shop) for defect in self.offcut.defects)
            if seen.y1 < high and seen.y2 > self.low
        )


def whole(offcut: Offcut) -> Wood:
    """Return an offcut as what is milled as one piece."""
    return Wood(offcut=offcut, low=0, width=offcut.width)


def halves(offcut: Offcut, split: int, shop: Shop) -> tuple[Wood, Wood]:
    """Return the near and the far half of an offcut split at ``split``; the far one begins a bandsaw kerf on."""
    far = split + shop.bandsaw_kerf
    return (
        Wood(offcut=offcut, low=0, width=split),
        Wood(offcut=offcut, low=far, width=offcut.width - far),
    )


def milled(offcut: Offcut, billet: Billet | SplitBillet, shop: Shop) -> Iterator[tuple[Wood, Billet]]:
    """Yield what is jointed of a billet, each with its wood: itself, or those halves that have a layout."""
    if isinstance(billet, Billet):
        yield whole(offcut), billet
        return
    for wood, half in zip(halves(offcut, billet.split, shop), billet.halves, strict=True):
        if half is not None:
            yield wood, half


def jointed(job: Job, drawn: OffcutPlan) -> Iterator[tuple[Wood, Billet]]:
    """Yield all that is jointed of a drawn offcut, each with its wood."""
    offcut = job.offcut(drawn.offcut)
    for billet in drawn.billets:
        yield from milled(offcut, billet, job.shop)


def is_check(kind: str) -> bool:
    """Return whether a kind is a crack along the grain: it has the word check, split or shake in it (R1, R9)."""
    return not {"check", "split", "shake"}.isdisjoint(fold(kind).split())


def lengthened(defect: Defect, offcut: Offcut, shop: Shop) -> Defect:
    """Return a defect as long along x as R9 takes it: past a check, past a knot, at both ends."""
    if is_check(defect.kind):
        past = shop.past_a_check
    elif "knot" in fold(defect.kind).split():
        past = shop.past_a_knot
    else:
        return defect
    return replace(defect, x1=max(defect.x1 - past, 0), x2=min(defect.x2 + past, offcut.length))


def sound_ends(offcut: Offcut, shop: Shop) -> tuple[int, int]:
    """Return between which places along x billets may lie (R1), in steps; they may cross where nothing is left.

    A through check over the whole width that begins in an end trim lengthens it, and so does the next one that begins
    in what it has become.
    """
    low, high = shop.end_trim, offcut.length - shop.end_trim
    cracks = [
        defect
        for defect in offcut.defects
        if is_check(defect.kind) and defect.through and defect.y1 <= 0 and defect.y2 >= offcut.width
    ]
    for crack in sorted(cracks, key=lambda crack: crack.x1):
        if crack.x1 < low:
            low = max(low, crack.x2 + shop.past_a_check)
    for crack in sorted(cracks, key=lambda crack: -crack.x2):
        if crack.x2 > high:
            high = min(high, crack.x1 - shop.past_a_check)
    return low, high


def split_range(offcut: Offcut, shop: Shop) -> range:
    """Return every place at which a billet of an offcut may be split (R2): marks, each half no less than a rip."""
    warped = 2 * offcut.cup + offcut.twist >= 2 * shop.split_warp
    if (
        offcut.kinks
        or offcut.ring_angle_far is not None
        or offcut.thickness > shop.bandsaw_height
        or not (warped or offcut.width > shop.jointer_width)
    ):
        return range(0)
    least = max(shop.narrowest_rip, shop.mark)
    return range(least, offcut.width - shop.bandsaw_kerf - least + 1, shop.mark)
