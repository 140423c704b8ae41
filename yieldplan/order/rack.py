"""Keepers as they go back on the rack: new names, sizes to measure by, rings and defects as they now lie."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model import keepers
from yieldplan.model.shop import INCH, MM
from yieldplan.order.data import Kept

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job, Keeper, Offcut, OffcutPlan, Shop
    from yieldplan.model.pieces import PieceNames

GRAINS = {"inch": (INCH // 4, INCH // 16), "mm": (5 * MM, MM)}
"""To what a keeper's length and its section are rounded down for the rack, by unit."""


def rack_of(job: Job, drawn: OffcutPlan, names: PieceNames) -> Iterator[Kept]:
    """Yield a drawn board's keepers, in the order in which the model finds them."""
    for name, keeper in zip(names.keepers(drawn), keepers(job, drawn), strict=True):
        lying = as_it_lies(job.offcut(drawn.offcut), keeper, name)
        along, across = GRAINS[job.shop.units]
        yield Kept(
            name=name,
            board=names.board(drawn),
            keeper=keeper,
            offcut=lying,
            size=(
                lying.length // along * along,
                lying.width // across * across,
                lying.thickness // across * across,
            ),
            jointed=jointed_sides(job.offcut(drawn.offcut), keeper, job.shop),
        )


def as_it_lies(offcut: Offcut, keeper: Keeper, name: str) -> Offcut:
    """Return a keeper as a row of the pile."""
    length, one, other = keeper.size
    return replace(
        offcut,
        name=name,
        length=length,
        width=max(one, other),
        thickness=min(one, other),
        qty=1,
        kinks=(),
        defects=(),
        note="",
        other=(),
    )


def jointed_sides(offcut: Offcut, keeper: Keeper, shop: Shop) -> tuple[str, ...]:
    """Return which sides of a keeper are true."""
    return ()
