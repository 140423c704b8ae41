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
from yieldplan.pages.wording import VOLUMES, bare_volume
from yieldplan.pile.ledger import MINUTES, UNDATED, WASTE, WASTED, by_year, in_one_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportlab.graphics.shapes import Drawing

    from yieldplan.measure import Unit
    from yieldplan.pages.paper import Paper

HEADS = ("Batch", "Boards", "Good", "Spoiled", "Drawn", "Kept", "Waste", "Work")
SUMS, BARS = "Batches and the year so far", "Where the wood went"

BAR = 32
"""Signs that the batch with the most wood gets on the screen."""

PARTS, SIGNS = ("blanks", "kept", "waste"), "█▒░"

NAME = 190.0
"""Points for a batch's name on paper."""

KEY, BAR_HIGH = 14.0, 10.0
HATCHES: Sequence[tuple[tuple[float, ...], float]] = (((), 0.0), ((90.0,), 8.0), ((45.0, 135.0), 5.0))
"""The parts of a bar on paper, hatched as on the set-up sheet of an order: angles, distance of the lines."""


class Line(NamedTuple):
    """A batch, or the sum of a year: what stands under :data:`HEADS`, its wood and that of its parts."""

    cells: tuple[str, ...]
    drawn: float
    parts: tuple[float, float, float]
    is_sum: bool


def _lines(batches: pd.DataFrame, units: Unit) -> list[Line]:
    """Return what stands in the report: each batch, then each year."""
    return [
        _line(batch, units, is_sum=is_sum)
        for frame, is_sum in ((batches, False), (by_year(batches), True))
        for _, batch in frame.iterrows()
    ]


def _line(batch: pd.Series[float], units: Unit, *, is_sum: bool) -> Line:
    day = UNDATED if is_sum or pd.isna(batch["Date"]) else f"{batch['Date']:%Y-%m-%d}"
    minutes = int(batch[MINUTES] + 0.5)
    _, one, _ = VOLUMES[units]
    return Line(
        cells=(
            str(batch["Batch"]) if is_sum else f"{day}  {batch['Batch']}",
            *(f"{batch[count]:.0f}" for count in ("Boards", "Blanks good", "Blanks spoiled")),
            *(bare_volume(round(batch[part] * one), units) for part in ("Drawn", "Keepers")),
            f"{batch[WASTED]:.1f} %",
            f"{minutes // 60} h {minutes % 60:02d}",
        ),
        drawn=batch["Drawn"],
        parts=(batch["Blanks"], batch["Keepers"], float(batch[WASTE].sum())),
        is_sum=is_sum,
    )


def _note(units: Unit) -> str:
    return f"Volumes in {VOLUMES[units][0]}; work as planned. Waste is of what was drawn and not kept."


def report(batches: pd.DataFrame) -> Group:
    """Return the ledger as it is shown."""
    batches, units = in_one_unit(batches)
    lines = _lines(batches, units)
    shown, wood = table(*HEADS, right=HEADS[1:]), f"Wood, {VOLUMES[units][0]}"
    bars = table("Batch", wood, "Waste", right=("Waste",), whole=(wood,))
    most = max(line.drawn for line in lines if not line.is_sum)
    for line in lines:
        name, _, _, _, drawn, _, waste, _ = line.cells
        row(shown, *line.cells)
        if not line.is_sum:
            row(bars, name, f"{_bar(line, most)} {drawn}", waste)
    legend = ", ".join(f"{sign} {word}" for word, sign in zip(PARTS, SIGNS, strict=True))
    return Group(
        heading(SUMS, first=True), shown, heading(f"{BARS} ({legend})"), bars, Text(f"\n{_note(units)}")
    )


def _bar(line: Line, most: float) -> str:
    """Return a bar as long as the wood drawn, its parts by signs; ends of parts are rounded, so that they add up."""
    ends, total = [0], 0.0
    for part in line.parts:
        total += part
        ends.append(round(BAR * total / most) if most else 0)
    return "".join(sign * (ends[at + 1] - ends[at]) for at, sign in enumerate(SIGNS)).ljust(BAR)


def pdf_bytes(batches: pd.DataFrame, *, paper: Paper = "letter") -> bytes:
    """Return the ledger's pages; the same ledger gives the same bytes."""
    batches, units = in_one_unit(batches)
    lines = _lines(batches, units)
    document = Document(paper, "Ledger", f"Ledger: volumes in {VOLUMES[units][0]}")
    rest = (document.measure - NAME) / (len(HEADS) - 1)
    wide, single = 5 * rest, [line for line in lines if not line.is_sum]
    most = max(line.drawn for line in single) or 1.0
    bars = [
        (line.cells[0], _box(wide, *(wide * part / most for part in line.parts)), line.cells[4])
        for line in single
    ]
    key = [(_box(KEY, *(KEY * (part == own) for part in PARTS)), own) for own in PARTS]
    document.story += [
        para(SUMS, SET, bold=True, after=4.0),
        grid(HEADS, [line.cells for line in lines], [NAME, *[rest] * (len(HEADS) - 1)]),
        para(BARS, SET, bold=True, before=8.0, after=4.0),
        grid((), [[cell for pair in key for cell in pair]], [KEY + 8, rest + 8] * len(PARTS)),
        grid((), bars, [NAME, wide + 6, rest]),
        para(_note(units), FOOT),
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
