"""What the row graphs of a billet are made of: the records they read, the nodes of a row, the arcs that leave wood out.

The nodes of a row are 0, five for each mark p, 1 + 5p + state (see :data:`OPEN`), and END. Only those that can be
reached have arcs. Where no defect or ring limit is met, pieces stand pushed together from the start; else a piece may
also stand where rows pushed against an edge of one, from either side, or against the row's end, have one (R12), and
where a leftover before it becomes a keeper. The rows themselves are in :mod:`yieldplan.solve.rows`.

Everything is int64; prices and worths are scaled by :data:`SCALE`. Floats appear only in the worth of a leftover.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np  # noqa: TC002 - the records are read at run time

from yieldplan.solve.paths import compiled, put

# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

SCALE = 1024
"""Parts of a unit (a thousandth of a board foot) that prices are whole numbers of."""


class ShopMarks(NamedTuple):
    """The shop's settings as the graphs need them, in marks; machine 0 is the table saw, 1 the bandsaw."""

    kerf: np.ndarray
    saw_depth: int
    band_height: int
    resaw_height: int
    plane_off: int
    cross_kerf: int
    stick_trim: int
    keeper_length: int
    keeper_small: int
    keeper_large: int
    edge_skim: int
    face_skim: int
    jointer: int
    premium: float
    full: float
    unit: float


class Terms(NamedTuple):
    """At what prices a cutting is asked for, scaled.

    ``saw`` is what a pass costs on each machine; ``worth`` is 1, or 0 where wood counts for nothing. ``prices`` are
    those of the class's kinds, ``clean`` and ``steps`` the tables of clean sticks (:mod:`yieldplan.solve.tables`),
    ``allowed`` the settings that may be used, ``free`` whether these are all: else pieces pushed back from a
    row's end may do without one, and a flawed billet may give more than a sound one.
    """

    saw: np.ndarray
    setting: int
    cut: int
    stick: int
    billet: int
    worth: int
    prices: np.ndarray
    clean: np.ndarray
    steps: np.ndarray
    allowed: np.ndarray
    free: bool = True


class Wooden(NamedTuple):
    """An offcut class as the graphs need it, in marks.

    ``types`` (S, 8): of each stick type its extent across y and z, planed width and thickness, the rank of its extents
    among ``sizes_y`` and ``sizes_z``, and the planer settings of its width and thickness. ``of_y``/``from_y``: the
    types of each extent across y, from ``from_y[i]`` up to ``from_y[i + 1]``; likewise z. ``saw_y``/``saw_z`` are the
    ranks of the extents among all sizes of the batch. ``fits`` (S, K): the ring limit that a kind has on a type, -1
    for none, -2 where it does not belong there. ``spans`` and ``clears`` (K,): length with allowance, clear end.
    ``allows`` (K, D). ``defects`` (D, 7): x, y, z intervals and whether it is through. ``limits`` (N, 2): from where to
    where across y rings suit. ``tables`` (S, 2**N): which table of clean sticks holds for a type outside some limits.
    """

    length: int
    width: int
    thickness: int
    types: np.ndarray
    sizes_y: np.ndarray
    sizes_z: np.ndarray
    of_y: np.ndarray
    from_y: np.ndarray
    of_z: np.ndarray
    from_z: np.ndarray
    saw_y: np.ndarray
    saw_z: np.ndarray
    fits: np.ndarray
    spans: np.ndarray
    clears: np.ndarray
    allows: np.ndarray
    defects: np.ndarray
    limits: np.ndarray
    tables: np.ndarray


class Desk(NamedTuple):
    """Room to work in: the graphs of the three rows, and what was found of sticks and strips."""

    arcs1: np.ndarray
    best1: np.ndarray
    via1: np.ndarray
    arcs2: np.ndarray
    best2: np.ndarray
    via2: np.ndarray
    arcs3: np.ndarray
    best3: np.ndarray
    via3: np.ndarray
    kept1: np.ndarray
    kept2: np.ndarray
    kept3: np.ndarray
    next1: np.ndarray
    next2: np.ndarray
    next3: np.ndarray
    ends: np.ndarray
    edges: np.ndarray
    reach: np.ndarray
    run_keys: np.ndarray
    runs: np.ndarray
    strip_keys: np.ndarray
    strip_values: np.ndarray
    stick_keys: np.ndarray
    stick_values: np.ndarray
    last1: np.ndarray
    last2: np.ndarray
    counts: np.ndarray


class Box(NamedTuple):
    """A billet or half: its place along x, where its wood begins across y and how wide that is, its losses."""

    start: int
    end: int
    low: int
    width: int
    face: int
    edge: int


STRIPS, STICKS, ARCS1, ARCS2, ARCS3, BEHIND, BEFORE, RUNS, WORK = range(9)
"""What ``Desk.counts`` counts; WORK is nodes and arcs in all."""

OPEN, TRUE, GAP, KEPT, JUST = 0, 1, 2, 3, 4
"""States at a mark: no piece yet; behind a piece and its kerf; behind a gap; behind a gap of which a keeper is left;
behind one that is just a keeper."""

STATES = 5

FEW_MARKS = 64
"""Up to so many marks every length of a keeper between two pieces has an arc of its own; in longer rows it grows mark
by mark, by the most that a mark can be worth (too much by less than a unit across)."""

PLAIN, GAP_LABEL, LEFT_LABEL = 0, 1, 2
BLANK = 8
"""Labels: what is no piece, and from BLANK on pieces."""


@compiled
def worth_of(shop, length, one, other):
    """Return the worth of a piece, unscaled; never below the exact floor."""
    return int(
        length * one * other * shop.unit * (1.0 + shop.premium * min(length, shop.full) / shop.full) + 1e-9
    )


@compiled
def keeper_worth(shop, length, one, other):
    """Return the worth of a leftover, unscaled; 0 where it is no keeper (R11)."""
    if length < shop.keeper_length or min(one, other) < shop.keeper_small:
        return 0
    if max(one, other) < shop.keeper_large or length <= 0 or one <= 0 or other <= 0:
        return 0
    return worth_of(shop, length, one, other)


@compiled
def machine_for(shop, height, resaw):
    """Return the saw for a cut (R5): 0 table saw, 1 bandsaw, -1 none."""
    if height > max(shop.band_height, shop.saw_depth) or (resaw and height > shop.resaw_height):
        return -1
    return 0 if height <= shop.saw_depth else 1


@compiled
def met_across_y(wood, shop, box, start, end):
    """Return the defects and ring limits that y from ``start`` to ``end`` of a box meets, as bits (R7, R9)."""
    found, bit = 0, 1
    for d in range(wood.defects.shape[0]):
        if (
            wood.defects[d, 2] - box.low - box.edge < end
            and start < wood.defects[d, 3] - box.low - shop.edge_skim
        ):
            found |= bit
        bit <<= 1
    for n in range(wood.limits.shape[0]):
        if start + box.low < wood.limits[n, 0] or end + box.low + box.edge > wood.limits[n, 1]:
            found |= bit
        bit <<= 1
    return found


@compiled
def met_across_z(wood, shop, box, start, end):
    """Return the defects that z from ``start`` to ``end`` of a box meets, and all ring limits, as bits."""
    found, bit = 0, 1
    for d in range(wood.defects.shape[0]):
        if wood.defects[d, 6] or (
            wood.defects[d, 4] - box.face < end and start < wood.defects[d, 5] - shop.face_skim
        ):
            found |= bit
        bit <<= 1
    for _ in range(wood.limits.shape[0]):
        found |= bit
        bit <<= 1
    return found


@compiled
def met_along(wood, start, end):
    """Return the defects that x from ``start`` to ``end`` meets, and all ring limits, as bits."""
    found, bit = 0, 1
    for d in range(wood.defects.shape[0]):
        if wood.defects[d, 0] < end and start < wood.defects[d, 1]:
            found |= bit
        bit <<= 1
    for _ in range(wood.limits.shape[0]):
        found |= bit
        bit <<= 1
    return found


@compiled
def may_start(wood, kind, met, place):
    """Return at which end a blank that starts at ``place`` has its clear end: 0 A, 1 B; -1 where it may not lie."""
    span, clear = wood.spans[kind], wood.clears[kind]
    spoilt_a, spoilt_b = False, False
    for d in range(wood.defects.shape[0]):
        if not (met >> d) & 1:
            continue
        low, high = wood.defects[d, 0], wood.defects[d, 1]
        if low < place + span and place < high:
            if not wood.allows[kind, d]:
                return -1
            if clear > 0:
                spoilt_a = spoilt_a or (low < place + clear and place < high)
                spoilt_b = spoilt_b or (low < place + span and place + span - clear < high)
    if not spoilt_a:
        return 0
    return -1 if spoilt_b else 1


@compiled
def weigh(shop, kept, room, length, other, along):
    """Fill ``kept`` with the worth (scaled) of leftovers of 0 to ``room`` marks; return the least keeper, -1 for none.

    Leftovers of a row across are ``length`` long and ``other`` deep; along a stick ``length`` and ``other`` are its
    section. Behind them stands the most that a mark more can be worth.
    """
    slope = length * other * shop.unit * (1.0 + shop.premium * min(length, shop.full) / shop.full)
    if along:
        slope = length * other * shop.unit * (1.0 + 2.0 * shop.premium * min(room, shop.full) / shop.full)
    kept[room + 1] = int(slope * SCALE) + 1
    least = -1
    for size in range(room + 1):
        if along:
            kept[size] = SCALE * keeper_worth(shop, size, length, other)
        else:
            kept[size] = SCALE * keeper_worth(shop, length, size, other)
        if least < 0 and kept[size] > 0:
            least = size
    return least


@compiled
def note_edge(desk, behind, before):
    """Note that a piece may begin at ``behind``, and one may end at ``before`` (marks in the row)."""
    desk.edges[0, desk.counts[BEHIND]] = behind
    desk.counts[BEHIND] += 1
    desk.edges[1, desk.counts[BEFORE]] = before
    desk.counts[BEFORE] += 1


@compiled
def find_places(desk, after, room, kerf, sizes, from_end, plane_off):
    """Fill ``after`` with the next place behind each mark at which a piece may begin behind a gap; room + 1 for none.

    The places are the noted edges, and all that rows of pieces pushed back from an edge, or from the row's end if
    ``from_end`` is not negative, give.
    """
    ends = desk.ends
    for p in range(room + 2):
        after[p] = 0
        ends[p] = 0
    for n in range(desk.counts[BEHIND]):
        if 0 <= desk.edges[0, n] <= room:
            after[desk.edges[0, n]] = 1
    for n in range(desk.counts[BEFORE]):
        if 0 <= desk.edges[1, n] <= room:
            ends[desk.edges[1, n]] = 1
    if from_end >= 0:
        ends[room] = 1
        if room >= plane_off:
            ends[room - plane_off] = 1
    for end in range(room, -1, -1):
        if ends[end]:
            for n in range(sizes.shape[0]):
                start = end - sizes[n]
                if start >= 0:
                    after[start] = 1
                    if start >= kerf:
                        ends[start - kerf] = 1
    behind = room + 1
    for p in range(room + 1, -1, -1):
        here = after[p] == 1
        after[p] = behind
        if here:
            behind = p


@compiled
def leave(arcs, count, best, via, spot, row, kept, after):
    """Put the arcs that leave something out at a spot (mark, state) of a row; return how many arcs there are.

    ``row`` is (its size, kerf, price of an odd cut or -1 where none can be made, how far the first piece may move on
    for nothing, the least keeper or -1).
    """
    p, state = spot
    room, kerf, odd, free, least = row
    node, then = 1 + STATES * p + state, after[p]
    if state == OPEN:
        if then <= free and then < room:
            count = put(arcs, count, best, via, (node, 1 + STATES * then + OPEN, 0, PLAIN))
        if p > 0 or free != kerf:
            return count
        then = after[kerf]
    elif state in (GAP, JUST):
        if state == GAP and then < room:
            count = put(arcs, count, best, via, (node, 1 + STATES * then + GAP, 0, PLAIN))
        return count
    elif state == KEPT:
        if then < room:
            grows = kept[room + 1] * (then - p)
            count = put(arcs, count, best, via, (node, 1 + STATES * then + KEPT, grows, PLAIN))
        return count
    if odd < 0:
        return count
    if then < room:
        count = put(arcs, count, best, via, (node, 1 + STATES * then + GAP, -odd, GAP_LABEL))
    first = p + kerf + least
    if least < 0 or first >= room:
        return count
    count = put(arcs, count, best, via, (node, 1 + STATES * first + JUST, kept[least] - odd, GAP_LABEL))
    then = after[first]
    if room > FEW_MARKS:
        if then < room:
            value = kept[least] + kept[room + 1] * (then - first) - odd
            count = put(arcs, count, best, via, (node, 1 + STATES * then + KEPT, value, GAP_LABEL))
        return count
    while then < room:
        value = kept[then - kerf - p] - odd
        count = put(arcs, count, best, via, (node, 1 + STATES * then + JUST, value, GAP_LABEL))
        then = after[then]
    return count
