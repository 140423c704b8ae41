"""The shop's settings, in steps, with the defaults of the shop model."""

from __future__ import annotations

from dataclasses import dataclass, fields
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from yieldplan.model.species import Species

INCH = 8128
"""Steps in one inch: 25.4 mm exactly (international yard and pound, 1959) at 320 steps a millimetre."""

MM = 320
"""Steps in one millimetre."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """What the machines need and what the shop calls a keeper; all lengths in steps of 1/320 mm.

    The setting's name on the Shop sheet is the attribute's name with spaces for underscores.

    Attributes
    ----------
    units
        What a bare number in the input means, and the unit that figures are shown in.
    length_premium
        p of the worth: how much dearer a board foot of full length is than one of no length.
    shown_to
        Steps to which a shown figure is rounded; 0 means 1/32 in, or 0.5 mm where units is mm.
    target_moisture
        Per cent at which finished sizes are meant; None: no size is changed for moisture.
    flat_sawn_to, quarter_sawn_from
        Ring angles, whole degrees: up to the first it is called flat sawn, from the second on quarter sawn, between
        them rift. Published usage differs, so these are settings.
    species
        The shop's own rows of how species move; they win over the built-in ones.

    Raises
    ------
    ValueError
        If a setting is negative, or a size that must be above nothing is 0, or ring angles are out of order.
    """

    rip_kerf: int = INCH // 8
    bandsaw_kerf: int = INCH // 16
    crosscut_kerf: int = INCH // 8
    saw_depth: int = 3 * INCH
    bandsaw_height: int = 6 * INCH
    face_skim: int = INCH // 32
    edge_skim: int = INCH // 32
    width_allowance: int = INCH // 8
    thickness_allowance: int = INCH // 16
    length_allowance: int = INCH // 2
    length_premium: Fraction = Fraction(1)
    shortest_machined_length: int = 12 * INCH
    jointer_width: int = 8 * INCH
    planer_width: int = 12 * INCH + INCH // 2
    thinnest_planed: int = INCH // 4
    narrowest_rip: int = 3 * INCH // 4
    split_warp: int = INCH // 4
    end_trim: int = INCH // 2
    snipe: int = 0
    keeper_length: int = 12 * INCH
    keeper_width: int = INCH + INCH // 2
    keeper_thickness: int = 3 * INCH // 4
    full_length: int = 96 * INCH
    units: Literal["inch", "mm"] = "inch"
    shown_to: int = 0
    target_moisture: Fraction | None = None
    flat_sawn_to: int = 30
    quarter_sawn_from: int = 60
    species: tuple[Species, ...] = ()

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, int | Fraction) and value < 0:
                raise ValueError(f"{field.name.replace('_', ' ')} must be 0 or more, not {value}")
        if self.full_length <= 0:
            raise ValueError("full length must be more than 0")
        if not self.flat_sawn_to <= self.quarter_sawn_from <= 90:
            raise ValueError("flat sawn to must be at most quarter sawn from, and that at most 90")
        if self.units not in ("inch", "mm"):
            raise ValueError(f"units must be inch or mm, not {self.units!r}")

    @property
    def shown_steps(self) -> int:
        """Steps to which shown figures are rounded."""
        return self.shown_to or (INCH // 32 if self.units == "inch" else MM // 2)

    @property
    def ring_words(self) -> dict[str, tuple[int, int]]:
        """What flat sawn, rift and quarter sawn mean here, in whole degrees, ends included."""
        return {
            "flat sawn": (0, self.flat_sawn_to),
            "rift": (self.flat_sawn_to, self.quarter_sawn_from),
            "quarter sawn": (self.quarter_sawn_from, 90),
        }

    def kerf_at(self, height: int) -> int | None:
        """Return the kerf of a rip or resaw of this height (R5), or None where no saw reaches."""
        if height <= self.saw_depth:
            return self.rip_kerf
        return self.bandsaw_kerf if height <= self.bandsaw_height else None
