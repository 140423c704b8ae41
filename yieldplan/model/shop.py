"""The shop's settings: lengths in steps, minutes in hundredths, with the defaults of the shop model."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from fractions import Fraction
from typing import Any, Literal

from yieldplan.model.species import BUILT_IN, Species, own_rows, species_key

INCH = 8128
"""Steps in one inch: 25.4 mm exactly (international yard and pound, 1959) at 320 steps a millimetre."""

MM = 320
"""Steps in one millimetre."""

BOARD_FOOT = 144 * INCH**3
"""Cubic steps in one board foot: 144 in^3, 1 x 12 x 12 in (NIST SP 811 App. B, from memory)."""

Machine = Literal["table saw", "bandsaw"]


def _length(inches: float, millimetres: float) -> Any:
    """Return a field for a length with its defaults in an inch and in a metric workbook (whole steps, both)."""
    return field(default=int(inches * INCH), metadata={"metric": int(millimetres * MM)})


def _minutes(hundredths: int) -> Any:
    """Return a field for minutes, in hundredths."""
    return field(default=hundredths, metadata={"minutes": True})


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """What the machines need, what the shop calls a keeper and how long work takes it; lengths in steps of 1/320 mm.

    The setting's name on the Shop sheet is the attribute's name with spaces for underscores. The defaults are those
    of an inch workbook; :func:`metric_shop` has those of a metric one. Minutes are estimates (common practice, no
    source); ``minutes_for_a_board_foot`` is how long the shop would work to save a board foot, and
    ``pair_from_one_board`` to get a pair out of one board: wishes, no time at a machine.

    Raises
    ------
    ValueError
        If a setting is negative, or one that must be above nothing is 0, or ring angles are out of order, or a
        length is no whole number of marks.
    """

    units: Literal["inch", "mm"] = "inch"
    """What a bare number in the input means, and the unit that figures are shown in."""
    mark: int = _length(1 / 32, 0.5)
    """The finest line the shop works to: every length of the model is a whole number of marks."""
    rip_kerf: int = _length(1 / 8, 3)
    bandsaw_kerf: int = _length(1 / 16, 1.5)
    bandsaw_skim: int = _length(1 / 32, 1)
    crosscut_kerf: int = _length(1 / 8, 3)
    saw_depth: int = _length(2, 50)
    bandsaw_height: int = _length(6, 150)
    resaw_height: int = _length(4, 100)
    face_skim: int = _length(1 / 16, 1.5)
    edge_skim: int = _length(1 / 16, 1.5)
    width_allowance: int = _length(1 / 8, 3)
    thickness_allowance: int = _length(1 / 16, 2)
    least_planing: int = _length(1 / 32, 1)
    plane_off: int = _length(3 / 16, 5)
    length_allowance: int = _length(0, 0)
    shortest_machined_length: int = _length(12, 300)
    jointer_width: int = _length(8, 200)
    planer_width: int = _length(12.5, 315)
    thinnest_planed: int = _length(1 / 4, 6)
    narrowest_rip: int = _length(3 / 4, 20)
    split_warp: int = _length(1 / 4, 6)
    end_trim: int = _length(1 / 2, 15)
    stick_trim: int = _length(1 / 2, 12)
    past_a_check: int = _length(1, 25)
    past_a_knot: int = _length(1 / 2, 12)
    keeper_length: int = _length(18, 450)
    keeper_width: int = _length(2, 50)
    keeper_thickness: int = _length(1, 25)
    full_length: int = _length(96, 2400)
    length_premium: Fraction = Fraction(1)
    """p of the worth: how much dearer a board foot of full length is than one of no length."""
    machine_setting: int = _minutes(200)
    stop_setting: int = _minutes(100)
    offcut_handled: int = _minutes(400)
    billet_jointed: int = _minutes(300)
    cut: int = _minutes(50)
    bandsaw_pass: int = _minutes(150)
    stick_planed: int = _minutes(150)
    pair_from_one_board: int = _minutes(500)
    minutes_for_a_board_foot: int = _minutes(1000)
    target_moisture: Fraction | None = None
    """Per cent at which finished sizes are meant; None: no size is changed for moisture."""
    flat_sawn_to: int = 30
    quarter_sawn_from: int = 60
    """Up to the first angle it is called flat sawn, from the second on quarter sawn; published usage differs."""
    species: tuple[Species, ...] = ()
    """The shop's own rows of how species move; they win over the built-in ones."""

    def __post_init__(self) -> None:
        for one in fields(self):
            value, name = getattr(self, one.name), one.name.replace("_", " ")
            if isinstance(value, int | Fraction) and value < 0:
                raise ValueError(f"{name} must be 0 or more, not {value}")
            if not value and one.name in ("full_length", "mark", "minutes_for_a_board_foot"):
                raise ValueError(f"{name} must be more than 0")
            if "metric" in one.metadata and value % self.mark:
                raise ValueError(f"{name} must be a whole number of marks")
        if not self.flat_sawn_to <= self.quarter_sawn_from <= 90:
            raise ValueError("flat sawn to must be at most quarter sawn from, and that at most 90")
        if self.units not in ("inch", "mm"):
            raise ValueError(f"units must be inch or mm, not {self.units!r}")

    @property
    def ring_words(self) -> dict[str, tuple[int, int]]:
        """What flat sawn, rift and quarter sawn mean here, in whole degrees, ends included."""
        return {
            "flat sawn": (0, self.flat_sawn_to),
            "rift": (self.flat_sawn_to, self.quarter_sawn_from),
            "quarter sawn": (self.quarter_sawn_from, 90),
        }

    def machine_for(self, height: int, *, resaw: bool) -> Machine | None:
        """Return the saw for a rip or resaw of this height (R5), or None where no saw reaches."""
        if height > self.bandsaw_height and height > self.saw_depth:
            return None
        if resaw and height > self.resaw_height:
            return None
        return "table saw" if height <= self.saw_depth else "bandsaw"

    def kerf_of(self, machine: Machine | None) -> int:
        """Return what lies at least between neighbours that this saw parts (R5), the skim after a bandsaw with it."""
        if machine is None:
            return 0
        return self.rip_kerf if machine == "table saw" else self.bandsaw_kerf + self.bandsaw_skim


MINUTES = tuple(one.name for one in fields(Shop) if "minutes" in one.metadata)
"""The settings that are minutes, in hundredths."""

METRIC_DEFAULTS = {one.name: int(one.metadata["metric"]) for one in fields(Shop) if "metric" in one.metadata}
"""The defaults of a metric workbook, in steps: round in mm."""

LENGTHS = tuple(name for name in METRIC_DEFAULTS if name != "mark")
"""The settings that are lengths, each a whole number of marks."""


def metric_shop(**settings: Any) -> Shop:
    """Return a shop with the defaults of a metric workbook, but for the settings given."""
    return Shop(**{"units": "mm", **METRIC_DEFAULTS, **settings})


def species_of(word: str, shop: Shop) -> Species | None:
    """Return how a species moves: the shop's own row where it has one, else the built-in one, else None."""
    key = species_key(word)
    return own_rows(shop.species).get(key) or BUILT_IN.get(key)


def worth(length: int, width: int, thickness: int, shop: Shop) -> int:
    """Return floor(1000 v (1 + p min(l, f)/f)) of a piece of these sizes (steps), in exact integer arithmetic.

    ``length`` is along the grain; the shop gives p (``length_premium``) and f (``full_length``).
    """
    premium, full = shop.length_premium, shop.full_length
    over = premium.denominator * full + premium.numerator * min(length, full)
    return 1000 * length * width * thickness * over // (BOARD_FOOT * premium.denominator * full)
