"""A plan, as the plan file holds it; every length in steps, every one a whole number of marks.

Positions along x are on the offcut; positions across y and z are in the box of the billet or half (after jointing).
Only blanks are planned: what is left between them is found (:mod:`yieldplan.model.leftovers`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterator

Span = tuple[int, int]
"""From where to where along an axis, in steps."""

SPARES = "spares"
"""The last class of aim 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutBlank:
    """One blank on a stick: its length with the length allowance runs from ``start`` to ``end`` along x.

    ``clear_end`` says at which of its ends the clear end lies; blanks that ask for none have ``"A"``.
    """

    blank: str
    spare: bool = False
    start: int
    end: int
    clear_end: Literal["A", "B"] = "A"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stick:
    """A stick: across z on a rip-first billet's strip, across y on a resaw-first billet's layer.

    ``turned`` means that the blanks' width runs across z.
    """

    start: int
    end: int
    turned: bool = False
    blanks: tuple[CutBlank, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A strip (across y, rip first) or a layer (across z, resaw first) of a billet."""

    start: int
    end: int
    sticks: tuple[Stick, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Billet:
    """What is jointed and sawn as one piece; ``face_loss`` and ``edge_loss`` are F and E of R3."""

    start: int
    end: int
    layout: Literal["rip first", "resaw first"]
    face_loss: int
    edge_loss: int
    strips: tuple[Strip, ...]

    @property
    def rip_first(self) -> bool:
        """Whether its first row is ripped (strips across y)."""
        return self.layout == "rip first"

    @property
    def sticks(self) -> tuple[Stick, ...]:
        """Its sticks, strip by strip, in the order in which they come off the saw."""
        return tuple(stick for strip in self.strips for stick in strip.sticks)

    @property
    def placed(self) -> Iterator[tuple[Stick, Span, Span]]:
        """Its sticks in that order, each with where its rough section lies across y and across z in the box."""
        for strip in self.strips:
            for stick in strip.sticks:
                rows = ((strip.start, strip.end), (stick.start, stick.end))
                yield stick, *(rows if self.rip_first else rows[::-1])


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitBillet:
    """A billet that is split along its length at the bandsaw before each half is jointed by itself.

    ``split`` (steps) is where the near half ends, from edge 1 of the offcut; the far one begins a bandsaw kerf on.
    ``halves`` are the near and the far one, as billets of the same length in frames of their own; None is waste.
    """

    start: int
    end: int
    split: int
    halves: tuple[Billet | None, Billet | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutPlan:
    """What is done with one drawn offcut: its billets in order along x."""

    offcut: str
    copy: int
    billets: tuple[Billet | SplitBillet, ...]

    @property
    def jointed(self) -> tuple[Billet, ...]:
        """All that is jointed as one piece: billets, and halves of split ones that have a layout."""
        return tuple(
            part
            for billet in self.billets
            for part in ((billet,) if isinstance(billet, Billet) else billet.halves)
            if part is not None
        )

    @property
    def sticks(self) -> tuple[Stick, ...]:
        """All its sticks, in the order in which they come off the saw."""
        return tuple(stick for billet in self.jointed for stick in billet.sticks)

    @property
    def blanks(self) -> Iterator[CutBlank]:
        """Every blank that is cut from it."""
        return (cut for stick in self.sticks for cut in stick.blanks)


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What is claimed: ``missing`` blanks a class, cost, its bound, gap and proof.

    Classes are named by their priority, ``"1"`` first, and ``"spares"`` last. ``bound``: no plan under R1-R12 that
    misses no more costs less. ``gap`` is (cost - bound) / cost, 0.0 where they are equal. ``missing_at_least`` bounds
    aim 1 class by class: no plan that misses no more in the classes before misses fewer. ``proven``: aim 1 is known at
    its best and the gap is at most 0.001.
    """

    missing: tuple[tuple[str, int], ...]
    missing_at_least: tuple[tuple[str, int], ...]
    cost: int
    net_worth: int
    bound: int
    gap: float
    proven: bool


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
        """What is wasted / what is used; 0.0 where nothing was drawn."""
        return self.wasted / self.used if self.used else 0.0

    @property
    def wasted(self) -> int:
        """What becomes neither blank nor keeper."""
        return self.kerf + self.shavings + self.trimmings

    @property
    def used(self) -> int:
        """What is drawn and not kept."""
        return self.volume_in - self.keepers


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What a plan takes at the machines, counted; ``hundredths`` of a minute in all.

    ``passes`` are all saw passes, those of the bandsaw and the odd cuts among them; ``crosscuts`` rough and final.
    ``odd_boards`` counts, for each kind in pairs, the offcuts that give an odd number of it: no minutes, but a price.
    """

    hundredths: int
    offcuts: int
    billets: int
    sticks: int
    passes: int
    bandsaw_passes: int
    odd_cuts: int
    crosscuts: int
    saw_settings: int
    planer_settings: int
    stop_settings: int
    odd_boards: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A whole plan. ``made``, ``spare`` and ``missing`` are (blank, count) pairs, in the batch's order.

    ``made`` counts needed blanks that are made (spares not among them), so made + missing = need. ``price`` is the
    hundredths of a minute for a board foot that its cost was counted at, where they are not the shop's own
    (:func:`yieldplan.model.work.prices`).
    """

    input_name: str
    input_sha256: str
    mark: int
    proof: Proof
    made: tuple[tuple[str, int], ...]
    spare: tuple[tuple[str, int], ...]
    missing: tuple[tuple[str, int], ...]
    account: Account
    work: Work
    offcuts: tuple[OffcutPlan, ...]
    price: int | None = None

    @property
    def missing_total(self) -> int:
        """How many needed blanks the plan does not make."""
        return sum(count for _, count in self.missing)

    @property
    def spare_total(self) -> int:
        """How many spares the plan makes."""
        return sum(count for _, count in self.spare)
