"""Keepers as they go back on the rack: new names, sizes to measure by, rings and defects as they now lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import keepers
from yieldplan.model.kept import as_offcut, jointed_sides
from yieldplan.model.shop import INCH, MM
from yieldplan.order.data import Kept

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job, OffcutPlan
    from yieldplan.model.pieces import PieceNames

GRAINS = {"inch": (INCH // 4, INCH // 16), "mm": (5 * MM, MM)}
"""To what a keeper's length and its section are rounded down for the rack, by unit."""


def rack_of(job: Job, drawn: OffcutPlan, names: PieceNames) -> Iterator[Kept]:
    """Yield a drawn board's keepers, in the order in which the model finds them."""
    for name, keeper in zip(names.keepers(drawn), keepers(job, drawn), strict=True):
        lying = as_offcut(job.offcut(drawn.offcut), keeper, name, job.shop)
        along, across = GRAINS[job.shop.units]
        yield Kept(
            name=name,
            board=names.board(drawn),
            offcut=lying,
            size=(
                lying.length // along * along,
                lying.width // across * across,
                lying.thickness // across * across,
            ),
            jointed=jointed_sides(keeper, job.shop),
        )
