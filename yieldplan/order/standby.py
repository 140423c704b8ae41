"""Stand-bys: what could make all blanks of a drawn piece should it fail, an untouched offcut or a keeper.

Whether a piece can give some blanks is asked of whoever knows (the solver, which this room does not import); here the
candidates are made: untouched offcuts as they are, keepers as the offcuts that they become. Planed ends are no
candidates: there is nothing left on them to plane.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model import Defect, Offcut, worth

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model.pile import Angles
    from yieldplan.order.data import Card, Order
    from yieldplan.order.data import Section as _Section

Interval = tuple[int, int]
Gives = Callable[[Offcut, Mapping[str, int]], bool]
"""Tells whether an offcut can give so many blanks of each name, all together."""


def name_stand_bys(order: Order, gives: Gives) -> Order:
    """Return the order with a stand-by named at every margin that has one: the one of least worth.

    Each drawn piece is looked at by itself: the same stand-by may be named for several.
    """
    wanted: dict[str, Counter[str]] = {}
    for piece in order.blanks:
        wanted.setdefault(piece.root, Counter())[piece.blank] += 1
    spare = sorted(
        spare_pieces(order),
        key=lambda one: (worth(one[2].length, one[2].width, one[2].thickness, order.job.shop), one[1]),
    )
    named = {
        root: next((name for source, name, offcut in spare if source != root and gives(offcut, counts)), "")
        for root, counts in wanted.items()
    }
    return replace(
        order, margins=tuple(replace(margin, stand_by=named[margin.root]) for margin in order.margins)
    )


def spare_pieces(order: Order) -> Iterator[tuple[str, str, Offcut]]:
    """Yield what is left over: the drawn piece that it comes from (or nothing), its name, and it as an offcut."""
    for offcut, _ in order.left:
        yield "", offcut.name, replace(offcut, qty=1)
    for card in order.cards:
        for segment in card.segments:
            if segment.kind == "keeper":
                name = f"{card.root}{order.sign}{segment.mark}"
                yield card.root, name, whole_keeper(card.offcut, name, segment.exact)
        yield from _sawn_keepers(order, card)


def _sawn_keepers(order: Order, card: Card) -> Iterator[tuple[str, str, Offcut]]:
    milled = {one.mark: one for one in card.billets}
    for section in card.sections:
        if section.keeper:
            billet, wood = milled[section.billet].billet, milled[section.billet].wood
            name = f"{card.root}{order.sign}{section.mark}"
            losses = (billet.edge_loss, billet.face_loss)
            skims = (order.job.shop.edge_skim, order.job.shop.face_skim)
            span = (billet.start, billet.end)
            yield card.root, name, sawn_keeper(wood, name, span, section, losses, skims)


def whole_keeper(offcut: Offcut, name: str, span: Interval) -> Offcut:
    """Return a whole segment of an offcut as an offcut of its own: as warped as its length makes it (R3)."""
    start, end = span
    run = end - start
    kinks = tuple(kink - start for kink in offcut.kinks if start < kink < end)
    bow, crook, twist = offcut.bow, offcut.crook, offcut.twist
    if not offcut.kinks:
        whole = offcut.length
        bow, crook = (-(-warp * run * run // (whole * whole)) for warp in (bow, crook))
        twist = -(-twist * run // whole)
    defects = tuple(
        replace(d, x1=max(0, d.x1 - start), x2=min(run, d.x2 - start))
        for d in offcut.defects
        if d.x1 < end and start < d.x2
    )
    return replace(
        offcut,
        name=name,
        length=run,
        qty=1,
        bow=bow,
        crook=crook,
        twist=twist,
        kinks=kinks,
        defects=defects,
    )


def sawn_keeper(
    offcut: Offcut, name: str, span: Interval, section: _Section, losses: Interval, skims: Interval
) -> Offcut:
    """Return a strip, layer or stick that is kept as an offcut of its own: straight, its wider side as its width.

    ``losses`` and ``skims`` are those across y and z. Its rings are taken as all that its offcut's readings allow.
    """
    y, z = section.exact_y, section.exact_z
    sizes = y[1] - y[0], z[1] - z[0]
    on_edge = sizes[1] > sizes[0]
    rings = _all_rings(offcut, on_edge=on_edge)
    found = []
    for d in offcut.defects:
        x = max(0, d.x1 - span[0]), min(span[1], d.x2) - span[0]
        in_y = _inside((d.y1 - losses[0], d.y2 - skims[0]), y)
        in_z = (0, sizes[1]) if d.through else _inside((d.z1 - losses[1], d.z2 - skims[1]), z)
        if x[0] < x[1] and in_y[0] < in_y[1] and in_z[0] < in_z[1]:
            wide, deep = (in_z, in_y) if on_edge else (in_y, in_z)
            found.append(
                Defect(
                    kind=d.kind,
                    x1=x[0],
                    x2=x[1],
                    y1=wide[0],
                    y2=wide[1],
                    z1=deep[0],
                    z2=deep[1],
                    through=deep == (0, min(sizes)),
                )
            )
    return Offcut(
        name=name,
        length=span[1] - span[0],
        width=max(sizes),
        thickness=min(sizes),
        species=offcut.species,
        ring_angle=rings,
        moisture=offcut.moisture,
        grain_slope=offcut.grain_slope,
        defects=tuple(found),
    )


def _all_rings(offcut: Offcut, *, on_edge: bool) -> Angles | None:
    if offcut.rings is None:
        return None
    low, high = min(map(min, offcut.rings)), max(map(max, offcut.rings))
    return (90 - high, 90 - low) if on_edge else (low, high)


def _inside(span: Interval, room: Interval) -> Interval:
    """Return the part of an interval in ``room``, counted from where that begins."""
    return max(span[0], room[0]) - room[0], min(span[1], room[1]) - room[0]
