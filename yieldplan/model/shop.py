"""The shop's settings: lengths in steps, minutes in hundredths, with the defaults of the shop model."""

from __future__ import annotations

from dataclasses import dataclass, fields
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """What the machines need, what the shop calls a keeper and how long work takes it; lengths in steps of 1/320 mm.

    The setting's name on the Shop sheet is the attribute's name with spaces for underscores. The defaults are those
    of an inch workbook; :func:`metric_shop` has those of a metric one.

    Attributes
    ----------
    units
        What a bare number in the input means, and the unit that figures are shown in.
    mark
        The finest line the shop works to: every length of the model is a whole number of marks.
    length_premium
        p of the worth: how much dearer a board foot of full length is than one of no length.
    target_moisture
        Per cent at which finished sizes are meant; None: no size is changed for moisture.
    flat_sawn_to, quarter_sawn_from
        Ring angles, whole degrees: up to the first it is called flat sawn, from the second on quarter sawn, between
        them rift. Published usage differs, so these are settings.
    species
        The shop's own rows of how species move; they win over the built-in ones.
    machine_setting, stop_setting, offcut_handled, billet_jointed, cut, bandsaw_pass, stick_planed
        Work, in hundredths of a minute each (estimates, common practice, no source).
    pair_from_one_board
        Hundredths of a minute that the shop would work to get a pair out of one board (likewise an estimate): a wish,
        no time at a machine.
    minutes_for_a_board_foot
        Hundredths of a minute that the shop would work to save a board foot.

    Raises
    ------
    ValueError
        If a setting is negative, or one that must be above nothing is 0, or ring angles are out of order, or a
        length is no whole number of marks.
    """

    units: Literal["inch", "mm"] = "inch"
    mark: int = INCH // 32
    rip_kerf: int = INCH // 8
    bandsaw_kerf: int = INCH // 16
    bandsaw_skim: int = INCH // 32
    crosscut_kerf: int = INCH // 8
    saw_depth: int = 2 * INCH
    bandsaw_height: int = 6 * INCH
    resaw_height: int = 4 * INCH
    face_skim: int = INCH // 16
    edge_skim: int = INCH // 16
    width_allowance: int = INCH // 8
    thickness_allowance: int = INCH // 16
    least_planing: int = INCH // 32
    plane_off: int = 3 * INCH // 16
    length_allowance: int = 0
    shortest_machined_length: int = 12 * INCH
    jointer_width: int = 8 * INCH
    planer_width: int = 12 * INCH + INCH // 2
    thinnest_planed: int = INCH // 4
    narrowest_rip: int = 3 * INCH // 4
    split_warp: int = INCH // 4
    end_trim: int = INCH // 2
    stick_trim: int = INCH // 2
    past_a_check: int = INCH
    past_a_knot: int = INCH // 2
    keeper_length: int = 18 * INCH
    keeper_width: int = 2 * INCH
    keeper_thickness: int = INCH
    full_length: int = 96 * INCH
    length_premium: Fraction = Fraction(1)
    machine_setting: int = 200
    stop_setting: int = 100
    offcut_handled: int = 400
    billet_jointed: int = 300
    cut: int = 50
    bandsaw_pass: int = 150
    stick_planed: int = 150
    pair_from_one_board: int = 500
    minutes_for_a_board_foot: int = 1000
    target_moisture: Fraction | None = None
    flat_sawn_to: int = 30
    quarter_sawn_from: int = 60
    species: tuple[Species, ...] = ()

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, int | Fraction) and value < 0:
                raise ValueError(f"{field.name.replace('_', ' ')} must be 0 or more, not {value}")
        for name in ("full_length", "mark", "minutes_for_a_board_foot"):
            if getattr(self, name) <= 0:
                raise ValueError(f"{name.replace('_', ' ')} must be more than 0")
        for name in LENGTHS:
            if getattr(self, name) % self.mark:
                raise ValueError(f"{name.replace('_', ' ')} must be a whole number of marks")
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


MINUTES = (
    "machine_setting", "stop_setting", "offcut_handled", "billet_jointed", "cut", "bandsaw_pass", "stick_planed",
    "pair_from_one_board", "minutes_for_a_board_foot",
)  # fmt: skip
"""The settings that are minutes, in hundredths."""

_METRIC_MM: dict[str, float] = {
    "mark": 0.5, "rip_kerf": 3, "bandsaw_kerf": 1.5, "bandsaw_skim": 1, "crosscut_kerf": 3, "saw_depth": 50,
    "bandsaw_height": 150, "resaw_height": 100, "face_skim": 1.5, "edge_skim": 1.5, "width_allowance": 3,
    "thickness_allowance": 2, "least_planing": 1, "plane_off": 5, "length_allowance": 0,
    "shortest_machined_length": 300, "jointer_width": 200, "planer_width": 315, "thinnest_planed": 6,
    "narrowest_rip": 20, "split_warp": 6, "end_trim": 15, "stick_trim": 12, "past_a_check": 25, "past_a_knot": 12,
    "keeper_length": 450, "keeper_width": 50, "keeper_thickness": 25, "full_length": 2400,
}  # fmt: skip

LENGTHS = tuple(name for name in _METRIC_MM if name != "mark")
"""The settings that are lengths, each a whole number of marks."""

METRIC_DEFAULTS: dict[str, int] = {name: int(size * MM) for name, size in _METRIC_MM.items()}
"""The defaults of a metric workbook, in steps: round in mm."""


def metric_shop(**settings: Any) -> Shop:
    """Return a shop with the defaults of a metric workbook, but for the settings given."""
    return Shop(**{"units": "mm", **METRIC_DEFAULTS, **settings})


def species_of(word: str, shop: Shop) -> Species | None:
    """Return how a species moves: the shop's own row where it has one, else the built-in one, else None."""
    key = species_key(word)
    return own_rows(shop.species).get(key) or BUILT_IN.get(key)


def worth(length: int, width: int, thickness: int, shop: Shop) -> int:
    """Return floor(1000 v (1 + p min(l, f)/f)) of a piece, in exact integer arithmetic.

    Parameters
    ----------
    length, width, thickness
        Of the piece, in steps; ``length`` is along the grain.
    shop
        Gives p (``length_premium``) and f (``full_length``).
    """
    premium, full = shop.length_premium, shop.full_length
    over = premium.denominator * full + premium.numerator * min(length, full)
    return 1000 * length * width * thickness * over // (BOARD_FOOT * premium.denominator * full)
