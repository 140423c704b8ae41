"""Keepers as rows of the next pile: as measured if they were, in words and figures that an input can hold."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model.kept import as_offcut, is_turned, said_rings
from yieldplan.pages.wording import noted
from yieldplan.workbook.edit import typed_length

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldplan.model import Defect, Job, Keeper, Offcut, Shop
    from yieldplan.pile.agreement import Back
    from yieldplan.workbook.edit import Value

LONGEST_NOTE = 2000
"""Signs that a note may have in an input."""

AS_THE_BOARD = ("Species", "Moisture", "Grain slope", "Rack")
"""What a keeper has of its board's row, cell for cell."""


def row_of(job: Job, back: Back, board: str, offcut: Offcut, name: str) -> Offcut:
    """Return what goes back on the rack as an offcut of the next pile.

    Parameters
    ----------
    back
        The piece, and what it measures.
    board, offcut
        The written name of the board that it came from, and that board.
    name
        Its own.
    """
    lying = as_offcut(offcut, _measured(back), name, job.shop)
    note = "; ".join(filter(None, (noted(lying, job.shop), back.note)))[:LONGEST_NOTE]
    if said_rings(lying, job.shop) is None:
        lying = replace(lying, ring_angle=None, ring_angle_far=None)
    return replace(lying, origin=board, note=note)


def _measured(back: Back) -> Keeper:
    """Return a piece with the sizes that were measured; of two across, the larger is its width."""
    keeper, (length, width, thickness) = back.keeper, back.sizes
    planned, *across = keeper.size
    if width is not None and thickness is not None and width < thickness:
        width, thickness = thickness, width
    lying = (max(across) if width is None else width, min(across) if thickness is None else thickness)
    wide, deep = lying[::-1] if is_turned(keeper) else lying
    return replace(keeper, size=(planned if length is None else length, wide, deep))


def cells_of(piece: Offcut, shop: Shop) -> Mapping[str, Value]:
    """Return a keeper's row of Offcuts, but for what it has of its board's row; only cells that hold something."""
    near, far = said_rings(piece, shop) or ("", "")
    lengths = ("length", "width", "thickness", "bow", "crook", "cup", "twist")
    measures = {name.title(): steps for name in lengths if (steps := getattr(piece, name))}
    cells: dict[str, Value] = {
        "Offcut": piece.name,
        **{heading: typed_length(steps, shop.units) for heading, steps in measures.items()},
        "Ring angle": near,
        "Ring angle far": far,
        "Kink at": "; ".join(str(typed_length(place, shop.units)) for place in piece.kinks),
        "From": piece.origin,
        "Note": piece.note,
    }
    return {heading: value for heading, value in cells.items() if value != ""}


def defect_cells(piece: Offcut, one: Defect, shop: Shop) -> Mapping[str, Value]:
    """Return a row of Defects for a defect of a keeper; only cells that hold something."""
    lengths = {"From": one.x1, "To": one.x2}
    if (one.y1, one.y2) != (0, piece.width):
        lengths |= {"Edge from": one.y1, "Edge to": one.y2}
    face = {}
    if not one.through:
        face = {"Face": "1" if one.z1 == 0 else "2"}
        lengths["Depth"] = one.z2 if one.z1 == 0 else piece.thickness - one.z1
    return {
        "Offcut": piece.name,
        "Kind": one.kind,
        **{heading: typed_length(steps, shop.units) for heading, steps in lengths.items()},
        **face,
        **({"Note": one.note} if one.note else {}),
    }
