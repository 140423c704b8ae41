"""The ledger: one row for each settled batch, in a csv file beside the input.

A batch is known by its plan: settled again, its row is written anew, not a second time; a date that was filled in by
hand stays, and so does every column of the user's own.
"""

from __future__ import annotations

import io
from fractions import Fraction
from typing import TYPE_CHECKING, Final

import pandas as pd

from yieldplan.measure import MM
from yieldplan.model import BOARD_FOOT, InputError, Problem
from yieldplan.model.words import fold
from yieldplan.workbook.csvfolder import decoded, dialect

if TYPE_CHECKING:
    from pathlib import Path

    from yieldplan.model import Job
    from yieldplan.pile.settlement import Settlement

LEDGER: Final = "ledger.csv"
BOARD_FEET, CUBIC_METRES = "board feet", "m3"
UNITS: Final = {BOARD_FEET: (BOARD_FOOT, 3), CUBIC_METRES: ((1000 * MM) ** 3, 6)}
"""Cubic steps in a unit of volume, and to how many places it is written."""

VOLUMES: Final = ("Drawn", "Blanks", "Keepers", "Kerf", "Shavings", "Trimmings")
COUNTS: Final = ("Boards", "Blanks good", "Blanks spoiled", "Pieces kept")
MINUTES: Final = "Minutes planned"
HEADINGS: Final = ("Date", "Batch", "Plan", "Half way", *COUNTS, "Unit", *VOLUMES, "Waste per cent", MINUTES)


def ledger_row(job: Job, settled: Settlement, date: str = "") -> dict[str, str]:
    """Return a settled batch as a row of the ledger, volumes in board feet or cubic metres as the input is measured."""
    unit = BOARD_FEET if job.shop.units == "inch" else CUBIC_METRES
    size, places = UNITS[unit]
    account = settled.account
    volumes = (
        account.volume_in,
        account.blanks,
        account.keepers,
        account.kerf,
        account.shavings,
        account.trimmings,
    )
    counts = (len(settled.boards), settled.made, settled.spoiled, len(settled.kept))
    return {
        "Date": date,
        "Batch": job.name,
        "Plan": settled.plan,
        "Half way": "yes" if settled.half_way else "",
        **dict(zip(COUNTS, map(str, counts), strict=True)),
        "Unit": unit,
        **{
            name: f"{_rounded(Fraction(part, size), places)}"
            for name, part in zip(VOLUMES, volumes, strict=True)
        },
        "Waste per cent": f"{100 * account.waste_figure:.1f}",
        MINUTES: f"{settled.hundredths / 100:g}",
    }


def _rounded(value: Fraction, places: int) -> str:
    return f"{float(round(value, places)):.{places}f}"


def with_row(ledger: Path, row: dict[str, str]) -> bytes:
    """Return the ledger's bytes with a batch in it, whether the file is there yet or not.

    Raises
    ------
    InputError
        If what stands there under that name is no ledger.
    """
    frame, separator = _read(ledger) if ledger.exists() else (pd.DataFrame(columns=list(HEADINGS)), ",")
    if separator == ";":
        row = {name: value.replace(".", ",") if _is_figure(name) else value for name, value in row.items()}
    same = frame.index[frame["Plan"] == row["Plan"]]
    if len(same):
        at = same[0]
        row = {**row, "Date": row["Date"] or str(frame.loc[at, "Date"])}
        frame.loc[at, list(row)] = list(row.values())
    else:
        frame = pd.concat([frame, pd.DataFrame([row])], ignore_index=True).fillna("")
    out: bytes = frame.to_csv(index=False, sep=separator, lineterminator="\r\n").encode("utf-8-sig")
    return out


def _is_figure(name: str) -> bool:
    return name in (*VOLUMES, "Waste per cent", MINUTES)


def read_ledger(ledger: Path) -> pd.DataFrame:
    """Return the batches of a ledger in their order, figures as numbers, dates as days or missing.

    Raises
    ------
    InputError
        If it is no ledger, holds no batch, or holds figures that are none.
    """
    frame, _ = _read(ledger)
    if frame.empty:
        raise InputError((_fault(ledger, "", "", "holds no batch yet", "", "settle writes them"),))
    problems = []
    for name in (*COUNTS, *VOLUMES, "Waste per cent", MINUTES):
        numbers = pd.to_numeric(frame[name].str.strip().str.replace(",", "."), errors="coerce")
        problems += [
            _fault(ledger, f"line {at + 2}, {name}", frame.loc[at, name], "is not a number")
            for at in frame.index[numbers.isna() | (numbers < 0)]
        ]
        frame[name] = numbers
    for at in frame.index[~frame["Unit"].isin(list(UNITS))]:
        cell = f"line {at + 2}, Unit"
        problems.append(_fault(ledger, cell, frame.loc[at, "Unit"], "is no unit", " or ".join(UNITS)))
    written = frame["Date"].str.strip()
    frame["Date"] = pd.to_datetime(written, errors="coerce", format="mixed")
    for at in frame.index[frame["Date"].isna() & (written != "")]:
        expected, cell = "a date such as 2026-03-28, or nothing", f"line {at + 2}, Date"
        problems.append(_fault(ledger, cell, written[at], "is not a date", expected))
    if problems:
        raise InputError(tuple(problems))
    return frame


def _read(ledger: Path) -> tuple[pd.DataFrame, str]:
    """Return a ledger's cells as text, and what parts them."""
    try:
        found = decoded(ledger.read_bytes())
    except OSError as error:
        raise InputError(
            (_fault(ledger, "", "", f"cannot be read: {(error.strerror or str(error)).lower()}"),)
        ) from None
    text = found[0] if found else ""
    separator, _, text = dialect(text, HEADINGS)
    try:
        frame = pd.read_csv(io.StringIO(text), sep=separator, dtype=str, keep_default_na=False)
    except (ValueError, pd.errors.ParserError):
        frame = pd.DataFrame()
    names = {fold(str(name)): name for name in frame.columns}
    missing = [name for name in HEADINGS if fold(name) not in names]
    if missing:
        hint = "settle writes one; move this file away if it is another"
        raise InputError((_fault(ledger, "", "", f"is no ledger: it has no column {missing[0]}", "", hint),))
    return frame.rename(columns={names[fold(name)]: name for name in HEADINGS}), separator


def _fault(
    ledger: Path, cell: str, value: object, found: str, expected: str = "", suggestion: str = ""
) -> Problem:
    return Problem(
        file=ledger.name,
        cell=cell,
        value=str(value),
        found=found,
        expected=expected,
        suggestion=suggestion,
    )
