"""What the user measured and wants: offcuts with their defects, blanks, and the whole job."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.model.shop import Shop, worth
from yieldplan.model.words import fold

if TYPE_CHECKING:
    from fractions import Fraction

    from yieldplan.model.errors import Problem

Angles = tuple[int, int]
"""Between which two ring angles, in whole degrees, the true one lies; the same twice where it was read in degrees."""

Rings = tuple[Angles, Angles]
"""Ring angles at edge 1 and at the far edge; between them they run evenly across y."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    """A box of bad wood on an offcut, in the offcut's frame, steps of 1/320 mm.

    A ``through`` defect lies at every z (z1 = 0, z2 = the offcut's thickness); one that was marked across the
    whole width has y1 = 0, y2 = the offcut's width.
    """

    kind: str
    x1: int
    x2: int
    y1: int
    y2: int
    z1: int
    z2: int
    through: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """One row of the pile: ``qty`` like pieces; lengths in steps, ``width >= thickness``.

    What was not read is None. Warp is that over the whole piece; where ``kinks`` along x bend it, the largest over a
    straight side of them. ``ring_angle`` is in whole degrees to the wide face, or between which two it lies (a word was
    given); with ``ring_angle_far``, the reading at the far edge, it is that at edge 1. ``moisture`` is in per cent,
    ``grain_slope`` rise over run. ``origin`` is the board that a keeper of an earlier batch was cut from, ``other`` are
    extra columns as (heading, text). ``price`` is what one costs to buy, in hundredths of the currency: then drawing it
    costs that, not its worth; None for wood of the pile.
    """

    name: str
    length: int
    width: int
    thickness: int
    qty: int = 1
    species: str = ""
    bow: int = 0
    crook: int = 0
    cup: int = 0
    twist: int = 0
    ring_angle: int | Angles | None = None
    ring_angle_far: int | Angles | None = None
    moisture: Fraction | None = None
    grain_slope: Fraction | None = None
    kinks: tuple[int, ...] = ()
    rack: str = ""
    origin: str = ""
    note: str = ""
    defects: tuple[Defect, ...] = ()
    other: tuple[tuple[str, str], ...] = ()
    price: int | None = None

    @property
    def rings(self) -> Rings | None:
        """The ring angles at both edges, or None where none was read."""
        if self.ring_angle is None:
            return None
        near = _angles(self.ring_angle)
        return near, near if self.ring_angle_far is None else _angles(self.ring_angle_far)

    @property
    def volume(self) -> int:
        """Length by width by thickness of one piece, in cubic steps."""
        return self.length * self.width * self.thickness

    def cost(self, shop: Shop) -> int:
        """Return what drawing one piece costs before its keepers: its price where it is bought, else its worth."""
        bought = self.price
        return worth(self.length, self.width, self.thickness, shop) if bought is None else bought

    @property
    def sides(self) -> tuple[tuple[int, int], ...]:
        """The straight parts along x, from kink to kink: the whole piece where there is none."""
        places = (0, *sorted(place for place in set(self.kinks) if 0 < place < self.length), self.length)
        return tuple(pairwise(places))

    def straight_length(self, start: int) -> int:
        """Return the length over which warp was measured (R3): that of the side of the kinks that ``start`` lies on."""
        sides = self.sides
        low, high = next((side for side in sides if side[0] <= start < side[1]), sides[-1])
        return high - low


def _angles(reading: int | Angles) -> Angles:
    return (reading, reading) if isinstance(reading, int) else reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """One row of the batch; lengths in steps, ``width >= thickness``, all sizes finished.

    ``ring_from``/``ring_to`` are the range of ring angles to the blank's wide face, both None where any will do (R7).
    ``allows`` and ``species`` are words as typed. ``clear_end`` is the length that must be sound at one end;
    ``max_slope`` the steepest slope of grain (rise over run) that will do, None for any. Of one made in ``pairs`` an
    even number is made of each species; where :attr:`may_be_odd`, one may stand alone (R10).
    """

    name: str
    need: int
    length: int
    width: int
    thickness: int
    spare: int = 0
    pairs: bool = False
    species: tuple[str, ...] = ()
    ring_from: int | None = None
    ring_to: int | None = None
    allows: tuple[str, ...] = ()
    clear_end: int = 0
    max_slope: Fraction | None = None
    priority: int = 1
    note: str = ""
    other: tuple[tuple[str, str], ...] = ()

    @property
    def may_be_odd(self) -> bool:
        """Whether one of a kind in pairs may stand alone: need or spare is odd."""
        return self.need % 2 + self.spare % 2 > 0

    @property
    def ring_range(self) -> tuple[int, int] | None:
        """From and to which ring angle to its wide face it takes, in degrees; None where any will do."""
        if self.ring_from is None and self.ring_to is None:
            return None
        return self.ring_from or 0, 90 if self.ring_to is None else self.ring_to

    def takes_species(self, species: str) -> bool:
        """Return whether wood of this species will do (R10)."""
        return not self.species or fold(species) in {fold(word) for word in self.species}

    def takes_slope(self, slope: Fraction | None) -> bool:
        """Return whether wood of this slope of grain, or of one that was not read, will do (R7)."""
        return self.max_slope is None or (slope is not None and slope <= self.max_slope)

    def allows_kind(self, kind: str) -> bool:
        """Return whether a defect of this kind may lie in the blank, outside its clear end (R9)."""
        return fold(kind) in {fold(word) for word in self.allows}


def ring_window(offcut: Offcut, blank: Blank, *, turned: bool) -> tuple[int, int] | None:
    """Return from where to where across y (steps, on the offcut) the rings suit a blank; None where nowhere.

    The angle runs evenly from edge 1 to the far edge, so the part in range is one interval; it is rounded inward. A
    strip at u to v in a box with edge loss E suits if u and v + E lie in it: between them is all that it can come
    from, wherever jointing leaves edge 1.
    """
    if blank.ring_range is None:
        return 0, offcut.width
    if offcut.rings is None:
        return None
    low, high = blank.ring_range
    near, far = ((90 - b, 90 - a) for a, b in offcut.rings) if turned else offcut.rings
    first, last = 0, offcut.width
    for here, there in ((near[0] - low, far[0] - low), (high - near[1], high - far[1])):
        if here < 0 and there < 0:
            return None
        if here < 0:
            first = max(first, -(here * offcut.width // (there - here)))
        elif there < 0:
            last = min(last, here * offcut.width // (here - there))
    return (first, last) if first < last else None


@dataclass(frozen=True, slots=True, kw_only=True)
class YardBoard:
    """One row of the Yard sheet: boards that can be bought.

    ``board`` is one as it is sold, under the name of the stock; ``price`` what one costs, in hundredths of the
    currency, whose sign may be empty; ``at_most`` how many can be had, None: as many as it takes; ``faults`` how many
    per cent of its length will not be usable.
    """

    board: Offcut
    price: int
    at_most: int | None = None
    faults: Fraction
    currency: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything that was read from one input, in the order of its rows; names are unique in each list.

    ``struck`` are names of boards that earlier batches have cut: no keeper gets one of them again. ``name`` is the
    input's file or folder name, ``sha256`` the fingerprint of its bytes (hex).
    """

    offcuts: tuple[Offcut, ...]
    blanks: tuple[Blank, ...]
    shop: Shop = field(default_factory=Shop)
    yard: tuple[YardBoard, ...] = ()
    struck: tuple[str, ...] = ()
    name: str = ""
    sha256: str = ""
    warnings: tuple[Problem, ...] = ()

    def offcut(self, name: str) -> Offcut:
        """Return the offcut of this name; KeyError where there is none."""
        for offcut in self.offcuts:
            if offcut.name == name:
                return offcut
        raise KeyError(name)

    def blank(self, name: str) -> Blank:
        """Return the blank of this name; KeyError where there is none."""
        for blank in self.blanks:
            if blank.name == name:
                return blank
        raise KeyError(name)
