"""A small good run for the tests, as csv folder or workbook, and ways of damaging it.

The scenario is invented: a community boat shed frames a rowing skiff.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from skiff_workbook import Sheets, save_csv, save_xlsx

from yieldplan.measure import MM
from yieldplan.stations.division import Obstacle, Point, Run

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from yieldplan.stations.division import Division

_GOOD: Sheets = {
    "Run": [
        [
            "Run",
            "Length",
            "From start",
            "From end",
            "Spacing",
            "Spaces",
            "Siding",
            "Sides",
            "Allowance",
            "Blank",
        ],
        ["Sides", "3600", "300", "200", "400", None, None, None, "12", "Futtock"],
        ["Floors", "3600", "300", "200", None, "8", None, 1, None, None],
    ],
    "Points": [
        ["Run", "At", "Measure"],
        ["Sides", "200", "310"],
        ["Sides", "900", "402"],
        ["Sides", "1800", "455"],
        ["Sides", "3500", "390"],
    ],
    "Obstacles": [
        ["Run", "At", "Clear", "To", "Obstacle", "Shift"],
        ["Sides", "1200", "25", None, "mould 2", None],
    ],
    "Blanks": [
        ["Blank", "Need", "Length", "Width", "Thickness", "Spare", "Species", "Note"],
        ["Futtock", None, None, "60", "30", "2", "oak", "at the bilge"],
        ["Cleat", "3", "100", "40", "20", None, None, None],
    ],
    "Shop": [["Setting", "Value"], ["units", "mm"]],
    "Offcuts": [
        ["Offcut", "Length", "Width", "Thickness", "Qty", "Species"],
        ["A1", "2500", "120", "50", 8, "oak"],
    ],
}


def good() -> Sheets:
    """Return the good input's cells, by sheet, free to be changed."""
    return {name: [list(row) for row in rows] for name, rows in _GOOD.items()}


def changed(change: Callable[[Sheets], object]) -> Sheets:
    """Return the good input with something done to it."""
    sheets = good()
    change(sheets)
    return sheets


def csv_folder(parent: Path, sheets: Sheets | None = None, **how: Any) -> Path:
    """Write the sheets as a csv folder named ``skiff``."""
    return save_csv(sheets or good(), parent / "skiff", **how)


def workbook(parent: Path, sheets: Sheets | None = None, touch: Callable[[Any], None] | None = None) -> Path:
    """Write the sheets as a workbook named ``skiff.xlsx``."""
    return save_xlsx(sheets or good(), parent / "skiff.xlsx", touch)


def mm(value: str | float) -> Fraction:
    """Return millimetres as steps."""
    return Fraction(str(value)) * MM


def run(length: float, **fields: Any) -> Run:
    """Return a run; lengths in millimetres."""
    plain = {"name", "spaces", "sides", "blank", "points", "obstacles"}
    values: dict[str, Any] = {
        name: value if name in plain or value is None else mm(value) for name, value in fields.items()
    }
    return Run(length=mm(length), **{"name": "run", **values})


def points(*pairs: tuple[float, float]) -> tuple[Point, ...]:
    """Return points from (at, measure) in millimetres."""
    return tuple(Point(at=mm(at), measure=mm(measure)) for at, measure in pairs)


def obstacle(at: float, clear: float, *, to: float | None = None, shift: bool = False) -> Obstacle:
    """Return an obstacle; millimetres."""
    end = at if to is None else to
    return Obstacle(name=f"mould at {at}", start=mm(at), end=mm(end), clear=mm(clear), shift=shift)


def marks(division: Division) -> list[int]:
    """Return where the stations are marked, in millimetres."""
    return [station.mark // MM for station in division.stations]
