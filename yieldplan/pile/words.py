"""A settled batch in words: what was made, what is still to make, what goes back on the rack."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model.pieces import counted
from yieldplan.pile.ledger import BOARD_FEET, CUBIC_METRES, UNITS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job
    from yieldplan.pile.settlement import Settlement


def said(job: Job, settled: Settlement) -> str:
    """Return what a settled batch comes to, a sentence a line."""
    return "\n".join(_lines(job, settled)) + "\n"


def _lines(job: Job, settled: Settlement) -> Iterator[str]:
    if not settled.boards:
        yield f"Plan {settled.plan}: no board was cut, so the next input is the same as this one."
        return
    made = ", ".join(counted(count, name) for name, count in settled.good if count)
    bad = f"; {counted(settled.spoiled, 'blank')} spoiled" if settled.spoiled else ""
    yield f"Plan {settled.plan}: {counted(len(settled.boards), 'board')} cut. Good: {made or 'no blank'}{bad}."
    good = dict(settled.good)
    left = [(max(0, blank.need - good[blank.name]), blank.name) for blank in job.blanks]
    still = ", ".join(counted(count, name) for count, name in left if count)
    yield f"Still to make: {still}." if still else "All that was needed is made."
    if settled.kept:
        yield "Back on the rack; measure each again:"
    for piece in settled.kept:
        sizes = (piece.length, piece.width, piece.thickness)
        size = " × ".join(write(steps, job.shop.units, mark=False) for steps in sizes)
        bad = f", {counted(len(piece.defects), 'defect')}" if piece.defects else ""
        yield f"  {piece.name}  {size}, from {piece.origin}{bad}"
    unit = BOARD_FEET if job.shop.units == "inch" else CUBIC_METRES
    size_of, places = UNITS[unit]
    account = settled.account
    drawn, kept = (
        f"{float(round(Fraction(part, size_of), places)):,.{places - 1}f}"
        for part in (account.volume_in, account.keepers)
    )
    yield f"Wood: {drawn} {unit} drawn, {kept} kept, waste {100 * account.waste_figure:.1f} %."
