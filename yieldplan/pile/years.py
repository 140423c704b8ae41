"""Sums of the ledger: batches as they stand, and the year so far."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from yieldplan.model.pieces import counted
from yieldplan.pile.ledger import COUNTS, MINUTES, UNITS, VOLUMES

if TYPE_CHECKING:
    from collections.abc import Iterator

WASTE = ["Kerf", "Shavings", "Trimmings"]
UNDATED = "no date"


def in_one_unit(batches: pd.DataFrame) -> pd.DataFrame:
    """Return the batches with all volumes in the unit of the last one."""
    unit = batches["Unit"].iloc[-1]
    factors = batches["Unit"].map(lambda name: UNITS[name][0] / UNITS[unit][0])
    found = batches.copy()
    found[list(VOLUMES)] = found[list(VOLUMES)].mul(factors, axis=0)
    found["Unit"] = unit
    return found


def by_year(batches: pd.DataFrame) -> pd.DataFrame:
    """Return the sums of each year, the years in their order and batches without a date last; years are the index.

    The waste figure is that of all their wood: what became dust, shavings and trimmings, of what was drawn and not
    kept.
    """
    years = batches["Date"].dt.year.astype("Int64").astype("string").fillna(UNDATED)
    order = [*sorted(set(years) - {UNDATED}), *({UNDATED} & set(years))]
    summed = batches.groupby(years, sort=False)[[*COUNTS, *VOLUMES, MINUTES]].sum().loc[order]
    summed.insert(0, "Batches", years.value_counts().loc[order])
    used = summed["Drawn"] - summed["Keepers"]
    summed["Waste per cent"] = (100 * summed[WASTE].sum(axis=1) / used.where(used > 0)).fillna(0.0)
    summed.index.name = "Year"
    return summed


def csv_bytes(batches: pd.DataFrame) -> bytes:
    """Return batches and the sums of the years below them as csv, volumes all in one unit."""
    batches = in_one_unit(batches)
    dated = batches.assign(Date=batches["Date"].dt.strftime("%Y-%m-%d").fillna(""))
    years = by_year(batches).reset_index()
    pairs = zip(years["Year"], years["Batches"], strict=True)
    sums = years.assign(Batch=[_so_far(str(year), int(count)) for year, count in pairs])
    sums["Unit"] = batches["Unit"].iloc[-1]
    whole = pd.concat([dated, sums.drop(columns=["Year", "Batches"])], ignore_index=True)[dated.columns]
    text: str = whole.round(6).to_csv(index=False, lineterminator="\r\n")
    return text.encode("utf-8-sig")


def _so_far(year: str, count: int) -> str:
    return f"{year}: {counted(count, 'batch')}"


def lines_of(batches: pd.DataFrame) -> Iterator[tuple[str, pd.Series[float], bool]]:
    """Yield what stands in the report: each batch, then each year; its name, its figures, whether it is a sum."""
    for _, batch in batches.iterrows():
        day = f"{batch['Date']:%Y-%m-%d}" if pd.notna(batch["Date"]) else UNDATED
        yield f"{day}  {batch['Batch']}", batch, False
    for year, summed in by_year(batches).iterrows():
        yield _so_far(str(year), int(summed["Batches"])), summed, True
