"""The ledger on the screen: batches and years as a table, and where their wood went as bars."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from yieldplan.pages.renderables import heading, row, table
from yieldplan.pile.ledger import BOARD_FEET, MINUTES
from yieldplan.pile.years import WASTE, in_one_unit, lines_of

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import RenderableType

BAR = 32
"""Signs that the batch with the most wood gets."""

PARTS = (("blanks", "█"), ("kept", "▒"), ("waste", "░"))
_NUMBERS = ("Boards", "Good", "Spoiled", "Drawn", "Kept", "Waste", "Work")


def report(batches: pd.DataFrame) -> Group:
    """Return the ledger as it is shown."""
    batches = in_one_unit(batches)
    unit = str(batches["Unit"].iloc[-1])
    shown = table("Batch", *_NUMBERS, right=_NUMBERS)
    bars = table("Batch", f"Wood, {unit}", "Waste", right=("Waste",), whole=(f"Wood, {unit}",))
    most = max(float(batches["Drawn"].max()), 1e-9)
    for name, line, is_sum in lines_of(batches):
        waste = f"{line['Waste per cent']:.1f} %"
        row(
            shown,
            name,
            *(f"{line[count]:.0f}" for count in ("Boards", "Blanks good", "Blanks spoiled")),
            *(volume(float(line[part]), unit) for part in ("Drawn", "Keepers")),
            waste,
            hours(float(line[MINUTES])),
        )
        if not is_sum:
            row(bars, name, f"{_bar(line, most)} {volume(float(line['Drawn']), unit)}", waste)
    legend = ", ".join(f"{sign} {word}" for word, sign in PARTS)
    parts: list[RenderableType] = [heading("Batches and the year so far", first=True), shown]
    parts += [heading(f"Where the wood went ({legend})"), bars]
    return Group(
        *parts, Text(f"\nVolumes in {unit}; work as planned. Waste is of what was drawn and not kept.")
    )


def shares(line: pd.Series[float]) -> tuple[float, float, float]:
    """Return how much of a batch's wood went into blanks, onto the rack, to waste."""
    return float(line["Blanks"]), float(line["Keepers"]), float(line[WASTE].sum())


def _bar(line: pd.Series[float], most: float) -> str:
    """Return a bar as long as the wood drawn, its parts by signs; ends of parts are rounded, so that they add up."""
    ends, total = [0], 0.0
    for share in shares(line):
        total += share
        ends.append(round(BAR * total / most))
    return "".join(sign * (ends[at + 1] - ends[at]) for at, (_, sign) in enumerate(PARTS)).ljust(BAR)


def volume(figure: float, unit: str) -> str:
    """Return a volume with as many places as are of use."""
    return f"{figure:,.1f}" if unit == BOARD_FEET else f"{figure:,.3f}"


def hours(minutes: float) -> str:
    """Return minutes as they are said, half a minute up: ``4 h 05``."""
    whole = int(minutes + 0.5)
    return f"{whole // 60} h {whole % 60:02d}"
