"""Keepers as rows of the next pile: as measured if they were, in words and figures that an input can hold."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model.kept import as_offcut, said_rings
from yieldplan.pages.wording import noted
from yieldplan.workbook.edit import typed_length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from yieldplan.measure import Unit
    from yieldplan.model import Defect, Job, Offcut, Shop
    from yieldplan.model.pile import Angles
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
    lying = _measured(as_offcut(offcut, back.keeper, name, job.shop), back)
    note = "; ".join(filter(None, (noted(lying, job.shop), back.note)))[:LONGEST_NOTE]
    if said_rings(lying, job.shop) is None:
        lying = replace(lying, ring_angle=None, ring_angle_far=None)
    return replace(lying, origin=board, note=note)


def _measured(lying: Offcut, back: Back) -> Offcut:
    """Return a piece with the sizes that were measured; laid with its larger size across."""
    length, width, thickness = back.sizes
    if width is not None and thickness is not None and width < thickness:
        width, thickness = thickness, width
    sizes = (
        lying.length if length is None else length,
        lying.width if width is None else width,
        lying.thickness if thickness is None else thickness,
    )
    old = (lying.length, lying.width, lying.thickness)
    found = replace(
        lying,
        length=sizes[0],
        width=sizes[1],
        thickness=sizes[2],
        kinks=tuple(kink for kink in lying.kinks if kink < sizes[0]),
        defects=tuple(_moved(lying.defects, old, sizes)),
    )
    return found if found.width >= found.thickness else _on_its_side(found)


def _moved(
    defects: Iterable[Defect], old: tuple[int, int, int], new: tuple[int, int, int]
) -> Iterator[Defect]:
    """Yield defects of a piece that measures otherwise than planned.

    Nobody knows on which side it is smaller, so each reaches as far as it may on either.
    """
    for one in defects:
        ends = []
        for (low, high), was, size in zip(
            ((one.x1, one.x2), (one.y1, one.y2), (one.z1, one.z2)), old, new, strict=True
        ):
            less = size - was
            ends.append((max(low + min(less, 0), 0), min(high + max(less, 0), size)))
        (x1, x2), (y1, y2), (z1, z2) = ends
        if x1 < x2 and y1 < y2 and z1 < z2:
            through = (z1, z2) == (0, new[2])
            yield replace(one, x1=x1, x2=x2, y1=y1, y2=y2, z1=z1, z2=z2, through=through)


def _on_its_side(piece: Offcut) -> Offcut:
    """Return a piece turned a quarter about its length: face 1 is where edge 1 was, as keepers that are deep lie.

    A defect inside reaches to the nearer face then, for a sheet cannot say it otherwise.
    """
    defects = []
    for one in piece.defects:
        low, high = one.y1, one.y2
        if low > 0 and high < piece.width:
            low, high = (0, high) if low <= piece.width - high else (low, piece.width)
        across = (piece.thickness - one.z2, piece.thickness - one.z1)
        through = (low, high) == (0, piece.width)
        defects.append(replace(one, y1=across[0], y2=across[1], z1=low, z2=high, through=through))
    rings = piece.rings
    angles: int | Angles | None = None
    if rings is not None:
        low, high = 90 - max(map(max, rings)), 90 - min(map(min, rings))
        angles = low if low == high else (low, high)
    return replace(
        piece,
        width=piece.thickness,
        thickness=piece.width,
        bow=piece.crook,
        crook=piece.bow + piece.cup,
        cup=0,
        ring_angle=angles,
        ring_angle_far=None,
        defects=tuple(defects),
    )


def cells_of(piece: Offcut, shop: Shop) -> Mapping[str, Value]:
    """Return a keeper's row of Offcuts, but for what it has of its board's row; only cells that hold something."""
    unit: Unit = shop.units
    near, far = said_rings(piece, shop) or ("", "")
    measures = {
        "Length": piece.length,
        "Width": piece.width,
        "Thickness": piece.thickness,
        **{
            name.title(): steps
            for name in ("bow", "crook", "cup", "twist")
            if (steps := getattr(piece, name))
        },
    }
    return {
        "Offcut": piece.name,
        **{heading: typed_length(steps, unit) for heading, steps in measures.items()},
        **{heading: said for heading, said in (("Ring angle", near), ("Ring angle far", far)) if said != ""},
        **({"Kink at": _listed(piece.kinks, unit)} if piece.kinks else {}),
        "From": piece.origin,
        "Note": piece.note,
    }


def _listed(places: tuple[int, ...], unit: Unit) -> Value:
    if len(places) == 1:
        return typed_length(places[0], unit)
    return "; ".join(str(typed_length(place, unit)) for place in places)


def defect_cells(piece: Offcut, one: Defect, shop: Shop) -> Mapping[str, Value]:
    """Return a row of Defects for a defect of a keeper; only cells that hold something."""
    unit = shop.units
    wide = (one.y1, one.y2) == (0, piece.width)
    edges = {} if wide else {"Edge from": one.y1, "Edge to": one.y2}
    lengths = {"From": one.x1, "To": one.x2, **edges}
    face, depth = ("1", one.z2) if one.z1 == 0 else ("2", piece.thickness - one.z1)
    return {
        "Offcut": piece.name,
        "Kind": one.kind,
        **{heading: typed_length(steps, unit) for heading, steps in lengths.items()},
        **({} if one.through else {"Face": face, "Depth": typed_length(depth, unit)}),
        **({"Note": one.note} if one.note else {}),
    }
