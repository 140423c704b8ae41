"""What keeps an offcut from yielding a blank: necessary conditions of the shop model, one pair at a time.

No obstacle found promises nothing; one that is found is certain.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import Blank, Offcut, Shop, edge_loss, face_loss, jointable, planed_section
from yieldplan.model.losses import longest_blank

if TYPE_CHECKING:
    from collections.abc import Sequence

LENGTH, SPECIES, RING, SECTION, MACHINE, SLOPE = 1, 2, 4, 8, 16, 32
"""The obstacles, as bits: too short, wrong species (R10), wrong ring angle (R7), too thin, not machined (R2), wrong
slope of grain (R7)."""


def common_obstacles(
    pile: Sequence[Offcut], batch: Sequence[Blank], shop: Shop
) -> tuple[list[int | None], list[int | None]]:
    """Return for each offcut what keeps every blank from it, and for each blank what keeps it from every offcut.

    None stands for one that has a partner without an obstacle, 0 for one that has none but for differing
    reasons. A pair is looked at only while one of the two has no partner, so the usual job costs little.
    """
    everything = LENGTH | SPECIES | RING | SECTION | MACHINE | SLOPE
    of_offcuts: list[int | None] = [everything] * len(pile)
    of_blanks: list[int | None] = [everything] * len(batch)
    species = {offcut.species for offcut in pile}
    woods = [jointable(offcut, shop) for offcut in pile]
    for j, blank in enumerate(batch):
        taken = {word for word in species if blank.takes_species(word)}
        ways: dict[object, tuple[bool, bool]] = {}
        for i, offcut in enumerate(pile):
            mine, its = of_offcuts[i], of_blanks[j]
            if mine is None and its is None:
                continue
            key = (offcut.rings, offcut.width)
            if key not in ways:
                ways[key] = (blank.takes_rings(offcut, turned=False), blank.takes_rings(offcut, turned=True))
            flat, turned = ways[key]
            bits = 0 if offcut.species in taken else SPECIES
            bits |= 0 if blank.takes_slope(offcut.grain_slope) else SLOPE
            if not (flat or turned):
                bits |= RING
                flat = turned = True
            bits |= _size_obstacle(woods[i], offcut, blank, shop, flat=flat, turned=turned)
            of_offcuts[i] = mine & bits if bits and mine is not None else None
            of_blanks[j] = its & bits if bits and its is not None else None
    return of_offcuts, of_blanks


def _size_obstacle(
    woods: list[Offcut], offcut: Offcut, blank: Blank, shop: Shop, *, flat: bool, turned: bool
) -> int:
    """Return the obstacle in the sizes alone, the blank lying flat or turned as far as its grain lets it.

    ``woods`` is what may be jointed of the offcut (:func:`yieldplan.model.jointable`).
    """
    if not woods or offcut.length < shop.shortest_machined_length:
        return MACHINE
    cut = blank.length + shop.length_allowance
    if cut > longest_blank(offcut, shop):
        return LENGTH
    # The shortest billet that could hold the blank loses least to warp (R3).
    billet = min(max(cut + 2 * shop.snipe, shop.shortest_machined_length), offcut.length)
    boxes = [
        (wood.width - edge_loss(wood, billet, shop), wood.thickness - face_loss(wood, billet, shop))
        for wood in woods
    ]
    for lies, on_edge in ((flat, False), (turned, True)):
        wide, thin = planed_section(offcut, blank, shop, turned=on_edge)
        sizes = wide + shop.width_allowance, thin + shop.thickness_allowance
        y, z = sizes[::-1] if on_edge else sizes
        if lies and any(y <= across and z <= deep for across, deep in boxes):
            return 0
    return SECTION
