"""What keeps an offcut from yielding a blank: necessary conditions of the shop model, one pair at a time.

No obstacle found promises nothing; one that is found is certain.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import Blank, Offcut, Shop, edge_loss, face_loss

if TYPE_CHECKING:
    from collections.abc import Sequence

LENGTH, SPECIES, RING, SECTION, MACHINE = 1, 2, 4, 8, 16
"""The obstacles, as bits: too short, wrong species (R10), wrong ring angle (R7), too thin, not machined (R2)."""


def common_obstacles(
    pile: Sequence[Offcut], batch: Sequence[Blank], shop: Shop
) -> tuple[list[int | None], list[int | None]]:
    """Return for each offcut what keeps every blank from it, and for each blank what keeps it from every offcut.

    None stands for one that has a partner without an obstacle, 0 for one that has none but for differing
    reasons. A pair is looked at only while one of the two has no partner, so the usual job costs little.
    """
    everything = LENGTH | SPECIES | RING | SECTION | MACHINE
    of_offcuts: list[int | None] = [everything] * len(pile)
    of_blanks: list[int | None] = [everything] * len(batch)
    species = {offcut.species for offcut in pile}
    angles = {offcut.ring_angle for offcut in pile}
    for j, blank in enumerate(batch):
        taken = {word for word in species if blank.takes_species(word)}
        ways = {
            angle: tuple(blank.takes_ring(angle, turned=turned) for turned in (False, True))
            for angle in angles
        }
        for i, offcut in enumerate(pile):
            mine, its = of_offcuts[i], of_blanks[j]
            if mine is None and its is None:
                continue
            flat, turned = ways[offcut.ring_angle]
            bits = 0 if offcut.species in taken else SPECIES
            if not (flat or turned):
                bits |= RING
                flat = turned = True
            bits |= _size_obstacle(offcut, blank, shop, flat=flat, turned=turned)
            of_offcuts[i] = mine & bits if bits and mine is not None else None
            of_blanks[j] = its & bits if bits and its is not None else None
    return of_offcuts, of_blanks


def _size_obstacle(offcut: Offcut, blank: Blank, shop: Shop, *, flat: bool, turned: bool) -> int:
    """Return the obstacle in the sizes alone, the blank lying flat or turned as far as its grain lets it."""
    if offcut.width > shop.jointer_width or offcut.length < shop.shortest_machined_length:
        return MACHINE
    cut = blank.length + shop.length_allowance
    if cut > offcut.length - 2 * max(shop.end_trim, shop.snipe):
        return LENGTH
    # The shortest billet that could hold the blank loses least to warp (R3).
    billet = min(max(cut + 2 * shop.snipe, shop.shortest_machined_length), offcut.length)
    across = offcut.width - edge_loss(offcut, billet, shop)
    deep = offcut.thickness - face_loss(offcut, billet, shop)
    wide, thin = blank.width + shop.width_allowance, blank.thickness + shop.thickness_allowance
    lies = (flat and wide <= across and thin <= deep) or (turned and thin <= across and wide <= deep)
    return 0 if lies else SECTION
