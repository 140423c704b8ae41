"""The ledger to look at: batches and years as a table, and where their wood went as bars, on screen and on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import pandas as pd
from rich.console import Group
from rich.text import Text

from yieldplan.pages.document import Document
from yieldplan.pages.drawing import Sketch
from yieldplan.pages.paper import FOOT, SET, grid, para
from yieldplan.pages.renderables import heading, row, table
from yieldplan.pages.shapes import Box
from yieldplan.pages.wording import VOLUMES, bare_volume, how_long
from yieldplan.pile.ledger import MINUTES, UNDATED, WASTE, WASTED, with_years

if TYPE_CHECKING:
    from reportlab.graphics.shapes import Drawing

    from yieldplan.pages.paper import Paper

HEADS = ("Batch", "Boards", "Good", "Spoiled", "Drawn", "Kept", "Waste", "Work")
SUMS, BARS = "Batches and the year so far", "Where the wood went"

BAR = 32
"""Signs that the batch with the most wood gets on the screen."""

PARTS, SIGNS = ("blanks", "kept", "waste"), "█▒░"

NAME, WORK = 180.0, 68.0
"""Points for a batch's name and for its hours of work on paper."""

KEY, BAR_HIGH = 14.0, 10.0
HATCHES: tuple[tuple[tuple[float, ...], float], ...] = (((), 0.0), ((90.0,), 8.0), ((45.0, 135.0), 5.0))
"""The parts of a bar on paper, hatched as on the set-up sheet of an order: angles, distance of the lines."""


class Line(NamedTuple):
    """A batch, or the sum of a year: what stands under :data:`HEADS`, and the wood of its parts."""

    cells: tuple[str, ...]
    parts: tuple[float, float, float]


def _lines(batches: pd.DataFrame) -> tuple[list[Line], list[Line], str]:
    """Return the lines of batches, those of years, and the unit of wood."""
    whole, units = with_years(batches)
    lines = []
    for number, (_, batch) in enumerate(whole.iterrows()):
        day = UNDATED if pd.isna(batch["Date"]) else f"{batch['Date']:%Y-%m-%d}"
        unit, one, _ = VOLUMES[units]
        cells = (
            f"{day}  {batch['Batch']}" if number < len(batches) else str(batch["Batch"]),
            *(f"{batch[count]:.0f}" for count in ("Boards", "Blanks good", "Blanks spoiled")),
            *(bare_volume(round(batch[part] * one), units) for part in ("Drawn", "Keepers")),
            f"{batch[WASTED]:.1f} %",
            how_long(100 * int(batch[MINUTES] + 0.5)),
        )
        parts = (batch["Blanks"], batch["Keepers"], float(batch[WASTE].sum()))
        lines.append(Line(cells, parts))
    return lines[: len(batches)], lines[len(batches) :], unit


def _note(unit: str) -> str:
    return f"Volumes in {unit}; work as planned. Waste is of what was drawn and not kept."


def report(batches: pd.DataFrame) -> Group:
    """Return the ledger as it is shown."""
    single, years, unit = _lines(batches)
    shown, wood = table(*HEADS, right=HEADS[1:]), f"Wood, {unit}"
    bars = table("Batch", wood, "Waste", right=("Waste",), whole=(wood,))
    most = max(sum(line.parts) for line in single)
    for line in (*single, *years):
        row(shown, *line.cells)
    for line in single:
        name, _, _, _, drawn, _, waste, _ = line.cells
        row(bars, name, f"{_bar(line, most)} {drawn}", waste)
    legend = ", ".join(f"{sign} {word}" for word, sign in zip(PARTS, SIGNS, strict=True))
    sums, went = heading(SUMS, first=True), heading(f"{BARS} ({legend})")
    return Group(sums, shown, went, bars, Text(f"\n{_note(unit)}"))


def _bar(line: Line, most: float) -> str:
    """Return a bar as long as the wood drawn, its parts by signs; ends of parts are rounded, so that they add up."""
    ends = [round(BAR * sum(line.parts[:number]) / most) if most else 0 for number in range(4)]
    return "".join(sign * (ends[at + 1] - ends[at]) for at, sign in enumerate(SIGNS)).ljust(BAR)


def pdf_bytes(batches: pd.DataFrame, *, paper: Paper = "letter") -> bytes:
    """Return the ledger's pages; the same ledger gives the same bytes."""
    single, years, unit = _lines(batches)
    document = Document(paper, "Ledger", f"Ledger: volumes in {unit}")
    rest = (document.measure - NAME - WORK) / (len(HEADS) - 2)
    wide, most = 5 * rest, max(sum(line.parts) for line in single) or 1.0
    bars = [
        (line.cells[0], _box(wide, *(wide * part / most for part in line.parts)), line.cells[4])
        for line in single
    ]
    key = [cell for own in PARTS for cell in (_box(KEY, *(KEY * (part == own) for part in PARTS)), own)]
    lines = [line.cells for line in (*single, *years)]
    document.story += [
        para(SUMS, SET, bold=True, after=4.0),
        grid(HEADS, lines, [NAME, *[rest] * (len(HEADS) - 2), WORK]),
        para(BARS, SET, bold=True, before=8.0, after=4.0),
        grid((), [key], [KEY + 8, rest + 8] * len(PARTS)),
        grid((), bars, [NAME, wide + 6, rest]),
        para(_note(unit), FOOT),
    ]
    return document.drawn()


def _box(room: float, *parts: float) -> Drawing:
    """Return a bar whose parts are so wide (points), hatched."""
    sketch, x = Sketch(room, BAR_HIGH), 0.0
    for wide, (angles, spacing) in zip(parts, HATCHES, strict=True):
        if wide:
            box = Box(x, 0.5, x + wide, BAR_HIGH - 0.5)
            sketch.rect(box)
            sketch.hatch(box, angles, spacing)
        x += wide
    return sketch.drawing
