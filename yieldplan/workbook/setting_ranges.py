"""Within what settings of the Shop sheet lie in shops at large; one beyond is probably in another unit.

The spans are wide on purpose: a hobby jointer and a shipyard's band mill are both in them (common practice, no source).
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import INCH, write
from yieldplan.workbook.likely import did_you_mean, is_bare

if TYPE_CHECKING:
    from yieldplan.workbook.table import Row

_SPANS: dict[str, tuple[str, str]] = {
    "rip kerf": ("1/32", "1/4"),
    "bandsaw kerf": ("1/64", "1/8"),
    "bandsaw skim": ("0", "1/8"),
    "crosscut kerf": ("1/32", "1/4"),
    "saw depth": ("1", "8"),
    "bandsaw height": ("2", "36"),
    "resaw height": ("1", "36"),
    "face skim": ("0", "1/4"),
    "edge skim": ("0", "1/4"),
    "width allowance": ("0", "1/2"),
    "thickness allowance": ("0", "1/2"),
    "least planing": ("0", "1/8"),
    "plane off": ("0", "1/2"),
    "length allowance": ("0", "12"),
    "shortest machined length": ("4", "48"),
    "jointer width": ("3", "36"),
    "planer width": ("4", "48"),
    "thinnest planed": ("1/16", "1"),
    "narrowest rip": ("1/8", "6"),
    "split warp": ("0", "3"),
    "end trim": ("0", "12"),
    "stick trim": ("0", "6"),
    "past a check": ("0", "12"),
    "past a knot": ("0", "6"),
    "keeper length": ("2", "120"),
    "keeper width": ("1/4", "24"),
    "keeper thickness": ("1/8", "12"),
    "full length": ("12", "360"),
}
"""The least and the most of each setting that is a length, in inches."""


def doubt_setting(row: Row, name: str) -> None:
    """Warn of a length on the Shop sheet that no machine has, with the likely slip."""
    low, high = (Fraction(bound) * INCH for bound in _SPANS[name])
    steps = row.typed("Value")
    if steps is None or low <= steps <= high:
        return
    text = row.cell("Value").text
    likely = did_you_mean(text, row.unit, lambda meant: bool(low <= meant <= high and meant))
    least, most = (write(_round_here(bound, row), row.unit) for bound in (low, high))
    span = f"usually {least} to {most}" if low else f"usually at most {most}"
    found = f"is unusually {'large' if steps > high else 'small'} for {name} ({span})"
    row.doubt("Value", found, likely or ("check the unit" if is_bare(text) else "check the figure"))


def _round_here(bound: Fraction, row: Row) -> int:
    """Return a bound as it is shown: to half a millimetre in a metric workbook."""
    grain = 1 if row.unit == "inch" else 160
    return round(bound / grain) * grain
