"""A keeper as a board of the next pile: its own frame, its rings and defects as they lie in it, which sides are true.

A keeper that is deeper than it is wide is turned a quarter about its length: what was edge 1's side becomes face 1, and
what was face 1's side the far edge. End A stays end A.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model.leftovers import SIDES
from yieldplan.model.wood import lengthened

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model.leftovers import Keeper
    from yieldplan.model.pile import Angles, Defect, Offcut
    from yieldplan.model.plan import Span
    from yieldplan.model.shop import Shop

Said = str | int
"""A ring angle as an input has it: degrees, or a word."""


def is_turned(keeper: Keeper) -> bool:
    """Return whether a keeper is deeper than it is wide, so that it lies turned in the pile."""
    return keeper.size[2] > keeper.size[1]


def as_offcut(offcut: Offcut, keeper: Keeper, name: str, shop: Shop) -> Offcut:
    """Return a keeper of an offcut as a row of the next pile; its ``size`` may be what it measures, not what was left.

    Sizes are exact, defects as large as they may be (R3: how much jointing took is known only from skim to loss; inside
    the piece they reach to the nearer face). Warp is gone where the billet was jointed, else it is the board's share of
    it (R3's law), up to a mark.
    """
    length, wide, deep = keeper.size
    near, far = _rings(offcut, keeper)
    bow, crook, cup, twist = _warp(offcut, keeper, shop)
    return replace(
        offcut,
        name=name,
        length=length,
        width=max(wide, deep),
        thickness=min(wide, deep),
        qty=1,
        bow=bow,
        crook=crook,
        cup=cup,
        twist=twist,
        ring_angle=near,
        ring_angle_far=far,
        kinks=tuple(place for at in offcut.kinks if 0 < (place := at - keeper.x[0]) < length),
        defects=tuple(_from_a_face(one, min(wide, deep)) for one in _defects(offcut, keeper, shop)),
        origin="",
        note="",
        other=(),
    )


def said_rings(piece: Offcut, shop: Shop) -> tuple[Said, Said] | None:
    """Return what stands under Ring angle and Ring angle far (``""``: nothing); None where nothing can say it.

    An input knows whole degrees at either edge, evenly between, and words for a span of angles. Degrees that lie
    between two whole ones go outward at the ends; a wider span is said by a word that holds it.
    """
    if piece.rings is None:
        return "", ""
    near, far = piece.rings
    if all(high - low <= 1 for low, high in (near, far)):
        first, last = (near[0], far[1]) if near[0] <= far[0] else (near[1], far[0])
        return first, "" if first == last and near == far else last
    said: list[Said] = []
    for low, high in (near, far):
        holding = [(to - at, word) for word, (at, to) in shop.ring_words.items() if at <= low and high <= to]
        if low < high and not holding:
            return None
        said.append(min(holding)[1] if low < high else low)
    return said[0], "" if near == far else said[1]


def jointed_sides(keeper: Keeper) -> tuple[str, ...]:
    """Return which of a keeper's sides are jointed or planed, by their names in its own frame (of :data:`SIDES`)."""
    true = set(keeper.jointed)
    if is_turned(keeper):
        names = {"edge 1": "face 1", "far edge": "face 2", "face 2": "edge 1", "face 1": "far edge"}
        true = {names[side] for side in true}
    return tuple(side for side in SIDES if side in true)


def _rings(offcut: Offcut, keeper: Keeper) -> tuple[int | Angles | None, int | Angles | None]:
    """Return the ring angles at its edge 1 and, where they differ, at its far edge."""
    if offcut.rings is None:
        return None, None
    wood, billet = keeper.wood, keeper.billet
    begin = 0 if wood is None or billet is None else wood.low + billet.edge_loss
    near, far = (_angles(offcut, begin + place) for place in keeper.across)
    if is_turned(keeper):
        near = far = (90 - max(*near, *far), 90 - min(*near, *far))
    first, last = (low if low == high else (low, high) for low, high in (near, far))
    return first, None if near == far else last


def _angles(offcut: Offcut, place: int) -> Angles:
    """Return between which angles the rings stand at ``place`` across y: evenly from edge to edge, outward."""
    (low1, high1), (low2, high2) = offcut.rings or ((0, 90), (0, 90))
    wide = offcut.width
    place = min(max(place, 0), wide)
    return (
        (low1 * (wide - place) + low2 * place) // wide,
        -(-(high1 * (wide - place) + high2 * place) // wide),
    )


def _defects(offcut: Offcut, keeper: Keeper, shop: Shop) -> Iterator[Defect]:
    """Yield the board's defects that may reach into a keeper, each cut to it and in its frame."""
    (length, wide, deep), low, edge, face = keeper.size, 0, (0, 0), (0, 0)
    if keeper.billet is not None and keeper.wood is not None:
        low, edge = keeper.wood.low, (keeper.billet.edge_loss, shop.edge_skim)
        face = (keeper.billet.face_loss, shop.face_skim)
    for one in offcut.defects:
        x1, x2 = _reach(_along(one, offcut, keeper, shop), keeper.x, length)
        y1, y2 = _reach((one.y1 - low - edge[0], one.y2 - low - edge[1]), keeper.across, wide)
        z1, z2 = _reach((one.z1 - face[0], one.z2 - face[1]), keeper.deep, deep)
        if one.through:
            z1, z2 = 0, deep
        if is_turned(keeper):
            y1, y2, z1, z2 = deep - z2, deep - z1, y1, y2
        if x1 < x2 and y1 < y2 and z1 < z2:
            yield replace(one, x1=x1, x2=x2, y1=y1, y2=y2, z1=z1, z2=z2)


def _reach(defect: Span, span: Span, size: int) -> Span:
    """Return where in a keeper that lay in a span, and measures ``size``, a defect may lie.

    What is gone of the span (to the planer, or because it measures less) went from one side or both.
    """
    less = span[1] - span[0] - size
    return max(defect[0] - span[0] - max(less, 0), 0), min(defect[1] - span[0] - min(less, 0), size)


def _along(one: Defect, offcut: Offcut, keeper: Keeper, shop: Shop) -> Span:
    """Return from where to where along the board a defect lies in a keeper; nowhere: an end before its start.

    One that ended beside it may still run on into it (R9). That is left to the keeper's own trims, which no blank lies
    in; in a shop that trims less than it goes past a check or knot, the keeper's end is marked with it.
    """
    (low, high), trims = keeper.x, shop.end_trim + shop.stick_trim
    seen = lengthened(one, offcut, shop)
    if one.x2 <= low and seen.x2 > low + trims:
        return low, low + shop.mark
    if one.x1 >= high and seen.x1 < high - trims:
        return high - shop.mark, high
    return max(one.x1, low), min(one.x2, high)


def _from_a_face(one: Defect, thickness: int) -> Defect:
    """Return a defect as a sheet can say it: through, or from the nearer face on."""
    if one.z1 > 0 and one.z2 < thickness:
        one = replace(one, z1=0) if one.z1 <= thickness - one.z2 else replace(one, z2=thickness)
    return replace(one, through=(one.z1, one.z2) == (0, thickness))


def _warp(offcut: Offcut, keeper: Keeper, shop: Shop) -> tuple[int, int, int, int]:
    """Return bow, crook, cup and twist of a keeper in its own frame, each up to a mark.

    What comes off a jointed billet has none: its box is what jointing left, and its sides are jointed, planed or sawn
    from a true one (behind the bandsaw the skim is off already). So it is jointed again for the skims alone. What was
    not jointed has its share of the board's by R3's law, of its worst straight part where the board is kinked; laid on
    its side, bow and crook change places, and what was cup stands at its edge.
    """
    if keeper.billet is not None:
        return 0, 0, 0, 0
    (low, high), (_, across, deep), wide = keeper.x, keeper.size, offcut.width
    sides = ((max(low, start), min(high, end), end - start) for start, end in offcut.sides)
    parts = [(end - start, whole) for start, end, whole in sides if start < end]

    def share(full: int, above: int, below: int) -> int:
        return -(-full * above // (below * shop.mark)) * shop.mark

    bow, crook = (
        max(share(full, length * length, whole * whole) for length, whole in parts)
        for full in (offcut.bow, offcut.crook)
    )
    cup = share(offcut.cup, across * across, wide * wide)
    twist = max(share(offcut.twist, max(across, deep) * length, wide * whole) for length, whole in parts)
    return (crook, bow + cup, 0, twist) if is_turned(keeper) else (bow, crook, cup, twist)
