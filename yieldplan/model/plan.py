"""A plan, as the plan file holds it; every length in steps.

Positions along x are on the offcut; positions across y and z are in the billet's box (after jointing).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeper:
    """A crosscut remainder of a stick that goes back on the rack, from ``start`` to ``end`` along x."""

    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CutBlank:
    """One blank on a stick: its length with the length allowance runs from ``start`` to ``end`` along x.

    ``clear_end`` says at which of its ends the clear end lies; blanks that ask for none have ``"A"``.
    """

    blank: str
    extra: bool
    start: int
    end: int
    clear_end: Literal["A", "B"] = "A"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stick:
    """A stick: across z on a rip-first billet's strip, across y on a resaw-first billet's layer.

    ``turned`` means that the blanks' width runs across z. A ``keeper`` stick carries neither blanks nor
    remainders.
    """

    start: int
    end: int
    turned: bool = False
    keeper: bool = False
    blanks: tuple[CutBlank, ...] = ()
    keepers: tuple[Keeper, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A strip (across y, rip first) or a layer (across z, resaw first) of a billet."""

    start: int
    end: int
    keeper: bool = False
    sticks: tuple[Stick, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeKeeper:
    """A segment that goes back on the rack as it is, unjointed."""

    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Billet:
    """A segment that is milled as one piece; ``face_loss`` and ``edge_loss`` are F and E of R3."""

    start: int
    end: int
    layout: Literal["rip first", "resaw first"]
    face_loss: int
    edge_loss: int
    strips: tuple[Strip, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitBillet:
    """A segment that is split along its length at the bandsaw before each half is jointed by itself.

    ``split`` (steps) is where the near half ends, from edge 1 of the offcut; the far one begins a bandsaw kerf on.
    ``halves`` are the near and the far one, as billets of the same length in frames of their own; one without
    strips is waste and is not jointed.
    """

    start: int
    end: int
    split: int
    halves: tuple[Billet, Billet]


Segment = Billet | SplitBillet | WholeKeeper


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutPlan:
    """What is done with one drawn offcut: its segments in order along x. Waste is not listed."""

    offcut: str
    copy: int
    segments: tuple[Segment, ...]

    @property
    def billets(self) -> tuple[Billet, ...]:
        """All that is milled as one piece: billets, and halves of split ones."""
        return tuple(billet for segment in self.segments for billet in billets_of(segment))


def billets_of(segment: Segment) -> tuple[Billet, ...]:
    """Return the pieces of a segment that are milled: itself, its halves, or none."""
    if isinstance(segment, SplitBillet):
        return segment.halves
    return (segment,) if isinstance(segment, Billet) else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesser:
    """Bounds of aims 3 and 4, each for the plans that are no worse than this one in the aims before it.

    Such a plan misses no more blanks of any class and draws no more net worth. None has more than ``extras`` extras,
    draws fewer than ``offcuts`` offcuts or takes fewer than ``crosscuts`` crosscuts.
    """

    extras: int
    offcuts: int
    crosscuts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What is claimed: ``missing`` blanks a priority class, net worth drawn, its bound, gap and proof.

    ``bound``: no plan under R1-R11 that misses no more blanks draws less. ``gap`` is
    (net_worth - bound) / net_worth, 0.0 where they are equal. ``proven`` means that aim 1 is known to be at
    its best and the gap is 0. ``missing_at_least`` bounds aim 1, class by class: no plan that misses no more in the
    classes before misses fewer. It is empty, and ``lesser`` None, where nothing is said of that.
    """

    missing: tuple[tuple[int, int], ...]
    net_worth: int
    bound: int
    gap: float
    proven: bool
    missing_at_least: tuple[tuple[int, int], ...] = ()
    lesser: Lesser | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """The account of wood, in cubic steps: volume_in = blanks + keepers + kerf + shavings + trimmings."""

    volume_in: int
    blanks: int
    keepers: int
    kerf: int
    shavings: int
    trimmings: int

    @property
    def waste_figure(self) -> float:
        """(kerf + shavings + trimmings) / (volume in - keepers); 0.0 where nothing was drawn."""
        used = self.volume_in - self.keepers
        return (self.kerf + self.shavings + self.trimmings) / used if used else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A whole plan. ``made``, ``extra`` and ``missing`` are (blank, count) pairs, in the batch's order.

    ``made`` counts needed blanks that are made (extras not among them), so made + missing = need.
    """

    input_name: str
    input_sha256: str
    proof: Proof
    made: tuple[tuple[str, int], ...]
    extra: tuple[tuple[str, int], ...]
    missing: tuple[tuple[str, int], ...]
    account: Account
    offcuts: tuple[OffcutPlan, ...]

    @property
    def missing_total(self) -> int:
        """How many needed blanks the plan does not make."""
        return sum(count for _, count in self.missing)

    @property
    def extra_total(self) -> int:
        """How many extras the plan makes."""
        return sum(count for _, count in self.extra)
