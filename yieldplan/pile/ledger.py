"""The ledger: one row for each settled batch, in a csv file beside the input, and the sums of its years.

A batch is known by its plan: settled again, its row is written anew, not a second time; a date that was filled in by
hand stays, and so does every column of the user's own. Shown, batches and years stand in a table, and where their wood
went as bars.
"""

from __future__ import annotations

import io
from dataclasses import astuple
from fractions import Fraction
from typing import TYPE_CHECKING, Final, NamedTuple

import pandas as pd
from rich.console import Group
from rich.text import Text

from yieldplan.model import InputError, Problem
from yieldplan.model.pieces import counted
from yieldplan.model.words import fold
from yieldplan.pages.document import Document
from yieldplan.pages.drawing import Box, Sketch
from yieldplan.pages.paper import FOOT, SET, grid, para
from yieldplan.pages.renderables import heading, row, table
from yieldplan.pages.wording import VOLUMES, bare_volume, how_long, percent
from yieldplan.workbook.csvfolder import decoded, dialect

if TYPE_CHECKING:
    from pathlib import Path

    from reportlab.graphics.shapes import Drawing

    from yieldplan.measure import Unit
    from yieldplan.model import Job
    from yieldplan.pages.paper import Paper
    from yieldplan.pile.settlement import Settlement

LEDGER: Final = "ledger.csv"
UNITS: Final[dict[str, Unit]] = {name: units for units, (name, _, _) in VOLUMES.items()}
"""Units of wood, each with the unit of length of the jobs that it is used for."""

MORE_PLACES = 3
"""Volumes are written to so many places more than are shown, so that sums and shares show what the order shows."""

WOOD: Final = ["Drawn", "Blanks", "Keepers", "Kerf", "Shavings", "Trimmings"]
"""The parts of the account, in its order."""

WASTE: Final = WOOD[3:]
COUNTS: Final = ["Boards", "Blanks good", "Blanks spoiled", "Pieces kept"]
WASTED: Final = "Waste per cent"
MINUTES: Final = "Minutes planned"
HEADINGS: Final = ("Date", "Batch", "Plan", "Half way", *COUNTS, "Unit", *WOOD, WASTED, MINUTES)
UNDATED = "no date"

HEADS = ("Batch", "Boards", "Good", "Spoiled", "Drawn", "Kept", "Waste", "Work")
SUMS, BARS = "Batches and the year so far", "Where the wood went"

BAR = 32
"""Signs that the batch with the most wood gets on the screen."""

PARTS, SIGNS = ("blanks", "kept", "waste"), "█▒░"

NAME, WORK = 180.0, 68.0
"""Points for a batch's name and for its hours of work on paper."""

BAR_HIGH = 10.0
HATCHES: tuple[tuple[tuple[float, ...], float], ...] = (((), 0.0), ((90.0,), 8.0), ((45.0, 135.0), 5.0))
"""The parts of a bar on paper, hatched as on the set-up sheet of an order: angles, distance of the lines."""


def ledger_row(job: Job, settled: Settlement, date: str = "") -> dict[str, str]:
    """Return a settled batch as a row of the ledger, volumes in board feet or cubic metres as the input is measured."""
    unit, one, places = VOLUMES[job.shop.units]
    account, places = settled.account, places + MORE_PLACES
    made = sum(count for _, count in settled.good)
    counts = (len(settled.boards), made, settled.spoiled, len(settled.kept))
    volumes = (f"{float(round(Fraction(part, one), places)):.{places}f}" for part in astuple(account))
    wasted = percent(account.wasted, account.used or 1).removesuffix(" %")
    half_way = "yes" if settled.half_way else ""
    texts = (date, job.name, settled.plan, half_way, *map(str, counts), unit, *volumes, wasted)
    return dict(zip(HEADINGS, (*texts, f"{settled.hundredths / 100:g}"), strict=True))


def with_row(ledger: Path, row: dict[str, str]) -> tuple[bytes, bool]:
    """Return the ledger's bytes with a batch in it, and whether another row of the same plan gave way to it.

    Raises InputError if what stands there under that name is no ledger.
    """
    frame, separator = _read(ledger) if ledger.exists() else (pd.DataFrame(columns=list(HEADINGS)), ",")
    if separator == ";":
        figures = (*WOOD, WASTED, MINUTES)
        row = {name: text.replace(".", ",") if name in figures else text for name, text in row.items()}
    same, replaced = frame.index[frame["Plan"] == row["Plan"]], False
    if len(same):
        row = {**row, "Date": row["Date"] or str(frame.loc[same[0], "Date"])}
        replaced = row != {name: frame.loc[same[0], name] for name in row}
        frame.loc[same[0], list(row)] = list(row.values())
    else:
        frame = pd.concat([frame, pd.DataFrame([row])], ignore_index=True).fillna("")
    return _written(frame, separator), replaced


def read_ledger(ledger: Path) -> pd.DataFrame:
    """Return the batches of a ledger in their order, figures as numbers, dates as days or missing.

    Raises InputError if it is no ledger, holds no batch, or holds figures that are none.
    """
    frame, _ = _read(ledger)
    if frame.empty:
        raise _no_ledger(ledger, "has no batch yet", "settle writes them")
    problems: list[Problem] = []

    def check(name: str, wrong: pd.Series[bool], found: str, expected: str = "") -> None:
        for at in frame.index[wrong]:
            cell, value = f"line {at + 2}, {name}", str(frame.loc[at, name])
            problems.append(Problem(file=ledger.name, cell=cell, value=value, found=found, expected=expected))

    for name in (*COUNTS, *WOOD, WASTED, MINUTES):
        numbers = pd.to_numeric(frame[name].str.strip().str.replace(",", "."), errors="coerce")
        check(name, numbers.isna() | (numbers < 0), "is not a number")
        frame[name] = numbers
    frame["Unit"] = frame["Unit"].replace("m3", "m³")
    check("Unit", ~frame["Unit"].isin(list(UNITS)), "is not a unit", " or ".join(UNITS))
    days = pd.to_datetime(frame["Date"].str.strip(), errors="coerce", format="mixed")
    undated = days.isna() & (frame["Date"].str.strip() != "")
    check("Date", undated, "is not a date", "a date such as 2026-03-28, or nothing")
    frame["Date"] = days
    if problems:
        raise InputError(tuple(problems))
    return frame


def _read(ledger: Path) -> tuple[pd.DataFrame, str]:
    """Return a ledger's cells as text, and what parts them."""
    try:
        found = decoded(ledger.read_bytes())
    except OSError as error:
        raise _no_ledger(ledger, f"cannot be read: {(error.strerror or str(error)).lower()}") from None
    separator, _, text = dialect(found[0] if found else "", HEADINGS)
    try:
        frame = pd.read_csv(io.StringIO(text), sep=separator, dtype=str, keep_default_na=False)
    except (ValueError, pd.errors.ParserError):
        frame = pd.DataFrame()
    names = {fold(str(name)): name for name in frame.columns}
    for name in HEADINGS:
        if fold(name) not in names:
            hint = "settle writes one; move this file away if it is another"
            raise _no_ledger(ledger, f"is not a ledger: it has no column {name}", hint)
    return frame.rename(columns={names[fold(name)]: name for name in HEADINGS}), separator


def _no_ledger(ledger: Path, found: str, suggestion: str = "") -> InputError:
    return InputError((Problem(file=ledger.name, found=found, suggestion=suggestion),))


def _written(frame: pd.DataFrame, separator: str = ",") -> bytes:
    text: str = frame.to_csv(index=False, sep=separator, lineterminator="\r\n")
    return text.encode("utf-8-sig")


def with_years(batches: pd.DataFrame) -> tuple[pd.DataFrame, Unit]:
    """Return batches, below them the sums of each year (no date last), and the unit of length of the last batch.

    All volumes are in that one's unit of wood. A year's waste figure is that of all its wood: what became
    dust, shavings and trimmings, of what was drawn and not kept.
    """
    units = UNITS[str(batches["Unit"].iloc[-1])]
    unit, one, _ = VOLUMES[units]
    factors = batches["Unit"].map(lambda name: VOLUMES[UNITS[name]][1] / one)
    batches = batches.assign(Unit=unit, **{name: batches[name] * factors for name in WOOD})
    years = batches["Date"].dt.year.astype("Int64").astype("string").fillna(UNDATED)
    summed = batches.groupby(years)[[*COUNTS, *WOOD, MINUTES]].sum()  # years sort before words
    used, numbers = summed["Drawn"] - summed["Keepers"], years.value_counts()
    summed[WASTED] = (100 * summed[WASTE].sum(axis=1) / used.where(used > 0)).fillna(0.0)
    summed["Batch"] = [f"{year}: {counted(int(numbers[year]), 'batch')}" for year in summed.index]
    return pd.concat([batches, summed.assign(Unit=unit)], ignore_index=True)[batches.columns], units


def csv_bytes(batches: pd.DataFrame) -> bytes:
    """Return batches and the sums of the years below them as csv, volumes all in one unit."""
    whole, _ = with_years(batches)
    return _written(whole.assign(Date=whole["Date"].dt.strftime("%Y-%m-%d")).round(7))


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
    lines = [line.cells for line in (*single, *years)]
    document.story += [
        para(SUMS, SET, bold=True, after=4.0),
        grid(HEADS, lines, [NAME, *[rest] * (len(HEADS) - 2), WORK]),
        para(BARS, SET, bold=True, before=8.0, after=4.0),
        para("Plain: blanks. Upright lines: kept. Crossed: waste.", FOOT),
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
