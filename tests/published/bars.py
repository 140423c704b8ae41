"""Cutting cases from outside as piles and batches, run through the whole tool: read, plan, verify.

One unit of a case is one inch (or one millimetre) along the grain, or across it for a plate. The shop of these
cases loses nothing: no kerf, no skim, no allowance, no trim; its machines take every piece; no leftover is long
enough to be kept, a board foot is worth the same at any length, and no minute counts. What is left is the cutting case
alone.
"""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

from openpyxl import Workbook

from yieldplan.solve import Options, solve
from yieldplan.verify import verify
from yieldplan.workbook import read

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from yieldplan.model import Job, Plan

Cell = str | int | float
SIDES: Mapping[str, str] = {"in": "6 in", "mm": "150 mm"}
"""Width and thickness of a bar: with 6 by 6 in, an inch of length is worth 250 exactly."""

AN_INCH = 250
"""Worth of an inch of a bar: 1000 x 36 in^3 / 144 in^3."""

_NOUGHTS = (
    *("rip kerf", "bandsaw kerf", "bandsaw skim", "crosscut kerf", "face skim", "edge skim"),
    *("width allowance", "thickness allowance", "length allowance", "least planing", "plane off"),
    *("end trim", "stick trim", "past a check", "past a knot", "length premium"),
    *("narrowest rip", "thinnest planed", "shortest machined length"),
    *("machine setting", "stop setting", "offcut handled", "billet jointed"),
    *("cut", "bandsaw pass", "stick planed"),
)
_REACHES = ("saw depth", "bandsaw height", "resaw height", "jointer width", "planer width")

NO_LOSS: Mapping[str, Cell] = {
    **dict.fromkeys(_NOUGHTS, 0),
    **dict.fromkeys(_REACHES, "1200 mm"),
    "keeper length": "30 m",
}
"""The Shop sheet of a shop that loses nothing, keeps nothing and counts no minute."""

MM: Mapping[str, Cell] = {"units": "mm"}
"""The Shop sheet's units where one unit of a case is a millimetre."""

OFFCUT_HEADINGS = ("Offcut", "Length", "Width", "Thickness", "Qty")
BLANK_HEADINGS = ("Blank", "Need", "Length", "Width", "Thickness")
DEFECT_HEADINGS = ("Offcut", "Kind", "From", "To", "Edge from", "Edge to")


def sheets(
    offcuts: Iterable[tuple[Cell, ...]],
    blanks: Iterable[tuple[Cell, ...]],
    *,
    defects: Iterable[tuple[Cell, ...]] = (),
    shop: Mapping[str, Cell] | None = None,
) -> dict[str, list[tuple[Cell, ...]]]:
    """Return the four sheets of a case; the rows are in the order of the headings above."""
    return {
        "Offcuts": [OFFCUT_HEADINGS, *offcuts],
        "Defects": [DEFECT_HEADINGS, *defects],
        "Blanks": [BLANK_HEADINGS, *blanks],
        "Shop": [("Setting", "Value"), *{**NO_LOSS, **(shop or {})}.items()],
    }


def bars(lengths: Mapping[str, int], unit: str = "in") -> list[tuple[Cell, ...]]:
    """Return offcut rows for bars of square section: how many there are by length."""
    return [(f"Bar {n}", f"{n} {unit}", SIDES[unit], SIDES[unit], qty) for n, qty in lengths.items()]


def pieces(wanted: Mapping[int, int], unit: str = "in") -> list[tuple[Cell, ...]]:
    """Return blank rows that fill a bar's section: how many are wanted by length."""
    return [(f"Piece {n}", need, f"{n} {unit}", SIDES[unit], SIDES[unit]) for n, need in wanted.items()]


def read_folder(case: Mapping[str, list[tuple[Cell, ...]]], folder: Path) -> Job:
    """Write a case as a folder of csv files, and return what the tool reads from it."""
    folder.mkdir(exist_ok=True)
    for name, rows in case.items():
        if len(rows) > 1:
            with (folder / f"{name.lower()}.csv").open("w", newline="", encoding="utf-8") as file:
                csv.writer(file).writerows(rows)
    return read(folder)


def read_workbook(case: Mapping[str, list[tuple[Cell, ...]]], file: Path) -> Job:
    """Write a case as a workbook, and return what the tool reads from it."""
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    for name, rows in case.items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append(row)
    workbook.save(file)
    return read(file)


def planned(job: Job, seconds: float = 60) -> Plan:
    """Return the tool's plan for a job, once it has passed the recheck."""
    found = solve(job, options=Options(seconds=seconds)).plan
    assert verify(job, found) == ()
    return found
