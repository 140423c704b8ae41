"""The two middle recurrences: sticks across a strip, and strips across a billet, in both layouts (R4).

G(p + size + kerf) = max of itself and G(p) + value of the piece; leftovers by their worth. Pieces start where one
has just ended, or against an edge or a defect; a leftover between pieces ends at such a place, else it would be
longer.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call"

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.solve.kernel import (
    axis_mask,
    boxes,
    compiled,
    frugal,
    frugal_inner,
    leftover,
    places,
    rank,
)
from yieldplan.solve.sticks import QUICK, fill_row, note_ends, pushed_on, run_along, unasked

if TYPE_CHECKING:
    from yieldplan.solve.kernel import Flags, Floats, Ints, Records

KEY = np.dtype([("key", np.int64), ("row", np.int64)], align=True)
SPOT = np.dtype(
    [("node", np.int64), ("held", np.bool_), ("best", np.float64), ("origin", np.int64), ("by", np.int64)],
    align=True,
)
"""Scratch space of a row of pieces at a node: its place, whether a piece may start there though nothing ends just
before, its value, and from which node and by which piece (-1: a leftover; -2: nothing)."""


class Held(NamedTuple):
    """Values of what sticks hold, worked out when they are first asked for.

    ``keys`` of :data:`KEY` is a hash table from (defect set x S + stick) to a row of ``values`` (rows, arcs), of which
    ``done`` (rows, groups) are filled; ``used`` (1,) rows are taken; ``work`` (1,) is what was done, in about
    microseconds. ``run``, ``ended`` and ``above``: see :func:`yieldplan.solve.sticks.fill_row`. ``behind`` (rows,
    nodes) is that of :func:`yieldplan.solve.sticks.note_ends`, of the group that ``noted`` (rows,) says.
    """

    keys: Records
    values: Floats
    done: Flags
    used: Ints
    work: Floats
    run: Records
    ended: Records
    above: int
    behind: Floats
    noted: Ints


class Row(NamedTuple):
    """Scratch space of one row of pieces.

    ``spots`` of :data:`SPOT` of each node, ``values`` (pieces, nodes) of what starts there, ``sizes`` and ``kinds``
    (pieces,) of the pieces, ``marks`` (2, nodes + pieces).
    """

    spots: Records
    values: Floats
    sizes: Ints
    kinds: Ints
    marks: Ints


@frugal
def find_row(held, key):
    """Return the row of a key, taking a new one where there is none; -1 where the table is full."""
    size = len(held.keys)
    at = (key * 2654435761) % size
    while held.keys.key[at] != key:
        if held.keys.key[at] < 0:
            if held.used[0] == len(held.values):
                return -1
            held.keys.key[at], held.keys.row[at] = key, held.used[0]
            held.used[0] += 1
            break
        at = (at + 1) % size
    return held.keys.row[at]


@frugal_inner
def filled_row(held, grain, arcs, prices, rule, stick, mask, arc):
    """Return the row of a stick that meets these defects, filled for a billet's group; -1 where the table is full."""
    row, group = find_row(held, mask * len(grain.allowed) + stick), arcs.group[arc]
    if row >= 0 and not held.done[row, group]:
        fill_row(
            grain, arcs, stick, mask, prices, rule, arc, held.above, held.values[row], held.run, held.ended
        )
        held.done[row, group] = True
        held.work[0] += 2.0 + 0.01 * len(grain.nodes) * (1 if mask == 0 else 2)
        if mask > 0:
            note_ends(grain, arcs, rule, arc, held.run, held.behind[row])
            held.noted[row] = group
    return row


@frugal_inner
def stick_value(held, grain, arcs, prices, rule, stick, mask, arc):
    """Return the best value of what a stick of a billet holds; -1 where the table is full."""
    arc = arcs.along[arc]
    row = filled_row(held, grain, arcs, prices, rule, stick, mask, arc)
    if row < 0:
        return -1.0
    value = held.values[row, arc]
    if value < -1.0:
        value = unasked(value)
        if held.above != QUICK:
            clean = filled_row(held, grain, arcs, prices, rule, stick, np.int64(0), arc)
            if clean < 0:
                return -1.0
            if value < held.values[clean, arc]:  # without defects it cannot be less
                group = arcs.group[arc]
                if held.noted[row] != group:
                    run_along(grain, arcs, stick, mask, prices, rule, arc, held.run, held.ended)
                    note_ends(grain, arcs, rule, arc, held.run, held.behind[row])
                    held.noted[row] = group
                    held.work[0] += 1.0 + 0.02 * len(grain.nodes)
                value, _, _ = pushed_on(grain, arcs, stick, mask, prices, rule, arc, value, held.behind[row])
                held.work[0] += 0.5 + 0.05 * len(grain.blocks)
        held.values[row, arc] = value
    return value


@frugal_inner
def row_leftover(spots, n, i, j, kerf, box, length, other, grow_gap, grow_other, rule):
    """Return the worth of what is left in a row from node i to node j (n: to its end); -1 where that is no keeper.

    Between pieces only a leftover that ends where the next one is held: else it would be longer.
    """
    if j < n and not spots.held[j]:
        return -1.0
    gap = (box if j == n else spots.node[j] - kerf) - spots.node[i]
    wide, thin = max(gap, other), min(gap, other)
    if gap < rule.narrowest or wide < rule.keeper_width or thin < rule.keeper_thickness:
        return -1.0
    return leftover(length, gap, other, grow_gap, grow_other, rule)


@frugal_inner
def stops_of(row, n, pieces, found):
    """Put into ``found`` the nodes, last one first, where a leftover may end; return their number.

    A piece is held there, or the row ends.
    """
    held, values = row.spots.held, row.values
    found[0], count = n, 1
    for j in range(n - 1, 0, -1):
        if held[j]:
            for p in range(pieces):
                if values[p, j] > 0.0:
                    found[count] = j
                    count += 1
                    break
    return count


@frugal_inner
def row_of_pieces(row, n, pieces, kerf, box, length, other, grow_gap, grow_other, keep, rule):
    """Return the best value of pieces in a row across a box; ``best``, ``origin`` and ``by`` of node n tell how.

    ``row.sizes`` and ``row.values`` are those of the ``pieces`` at each of ``n`` nodes; ``other`` is the box's size on
    the remaining axis; ``keep`` says whether leftovers of this ``length`` count.
    """
    spots, sizes, values = row.spots, row.sizes, row.values
    nodes, best, held, origin, by = spots.node, spots.best, spots.held, spots.origin, spots.by
    stops, behind = row.marks[0], row.marks[1]  # the latter: the first node behind each piece
    for i in range(n + 1):
        best[i] = -1.0
        origin[i] = -1
    best[0], best[n] = 0.0, 0.0
    behind[:pieces] = 0
    last = stops_of(row, n, pieces, stops) if keep else 0
    for i in range(n):
        fresh = i == 0 or best[i] > best[i - 1]
        if not fresh:
            best[i] = best[i - 1]
        if not (fresh or held[i]):
            continue
        here = best[i]
        for p in range(pieces):
            end = nodes[i] + sizes[p]
            if end > box or values[p, i] <= 0.0:
                continue
            value = here + values[p, i]
            j = behind[p]
            while j < n and nodes[j] < end + kerf:
                j += 1
            behind[p] = j
            if value > best[j]:
                best[j] = value
                origin[j], by[j] = i, p
        if keep and fresh:
            for q in range(last):
                j = stops[q]
                if j <= i:
                    break
                worth = row_leftover(spots, n, i, j, kerf, box, length, other, grow_gap, grow_other, rule)
                if worth >= 0.0 and here + worth > best[j]:
                    best[j] = here + worth
                    origin[j], by[j] = i, -1
    if best[n - 1] > best[n]:
        best[n] = best[n - 1]
        origin[n] = -2
    return best[n]


@compiled
def path_of(spots, n):
    """Return (pieces, 3) the best row that :func:`row_of_pieces` found: piece (-1: a leftover), from node, to node."""
    found = np.empty((n + 1, 3), np.int64)
    count, j = 0, n
    if spots.origin[n] == -2:
        j = n - 1
    while j > 0:
        while j > 0 and j < n and spots.best[j] == spots.best[j - 1]:
            j -= 1
        if j == 0 or spots.origin[j] < 0:
            break
        found[count, 0], found[count, 1], found[count, 2] = spots.by[j], spots.origin[j], j
        count += 1
        j = spots.origin[j]
    return found[:count][::-1]


@frugal_inner
def hold_at(spots, n, defects, on_y, rule, shift):
    """Mark the nodes that stand at the far edge of a defect; ``shift`` is where the wood begins across the offcut."""
    for d in range(len(defects)):
        edge = defects[d, 3] - shift - rule.edge_skim if on_y else defects[d, 5] - rule.face_skim
        at = rank(spots.node, n, edge)
        if at < n and spots.node[at] == edge:
            spots.held[at] = True


NO_GROWTH = (0.0, 0.0, 0.0, 0.0)


@frugal
def grown(growth, arcs, arc, first_is_y):
    """Return what leftovers may grow by on the layout's first and second axis, and last at which length."""
    longest, more_y, more_z = (
        arcs.shorter[arc],
        growth[0, 3] * arcs.wider[arc],
        growth[1, 3] * arcs.deeper[arc],
    )
    grow_y = (
        growth[0, 0] * arcs.gain_edge[arc] + more_y,
        max(0.0, arcs.edge[arc] - growth[0, 1]) + more_y,
        growth[0, 2],
        float(longest),
    )
    grow_z = (
        growth[1, 0] * arcs.gain_face[arc] + more_z,
        max(0.0, float(arcs.face[arc] - arcs.least[arc])) + more_z,
        growth[1, 2],
        float(longest),
    )
    return (grow_y, grow_z) if first_is_y else (grow_z, grow_y)


@frugal
def strip_row(layout, grain, arcs, arc, piece, rule, prices, held, row, d, known, clean):
    """Fill the row of sticks in a strip; return its best value, node count (-1: table full), number of kinds of stick.

    ``known`` is the set of defects that the strip meets on its own axis.
    """
    du, kerf = layout.firsts[d, 0], layout.firsts[d, 1]
    _, box_v = boxes(layout, arcs, arc, piece.thickness)
    length, case = arcs.end[arc] - arcs.start[arc], arcs.clean[arc] if clean else arcs.case[arc]
    nodes, values, sizes, kinds = row.spots.node, row.values, row.sizes, row.kinds
    pieces = np.int64(0)  # not a literal, for which numba would compile twice
    for s in range(len(layout.depth)):
        if layout.holds[d, s]:
            sizes[pieces], kinds[pieces] = layout.depth[s], s
            pieces += 1
    m = places(layout.inner[case, d], layout.inner_counts[case, d], box_v, row.spots)
    if not clean:
        hold_at(row.spots, m, piece.defects, not layout.first_is_y, rule, arcs.shift[arc])
    held.work[0] += 0.3 + 0.03 * m * pieces
    some = False
    for p in range(pieces):
        for j in range(m):
            v = nodes[j]
            values[p, j] = 0.0
            if v + sizes[p] > box_v or (kerf < 0 and (v != 0 or sizes[p] != box_v)):
                continue
            mask = known
            if known > 0:
                mask &= axis_mask(arcs, arc, piece.defects, not layout.first_is_y, v, v + sizes[p], rule)
                mask &= grain.cares[kinds[p]]
            value = stick_value(held, grain, arcs, prices, rule, kinds[p], mask, arc)
            if value < 0.0:
                return 0.0, -1, pieces
            values[p, j] = value
            some = some or value > 0.0
    if not some:
        return 0.0, m, pieces
    keep = kerf >= 0 and length >= rule.keeper_length and du >= rule.narrowest
    _, grow_v = grown(piece.growth, arcs, arc, layout.first_is_y)
    value = row_of_pieces(row, m, pieces, max(kerf, 0), box_v, length, du, grow_v, NO_GROWTH, keep, rule)
    return value, m, pieces


@frugal
def layout_value(layout, grain, arcs, arc, piece, rule, prices, held, outer, inner, clean):
    """Return the best value of a billet in one layout (-1.0: the table is full), and the nodes across it.

    ``outer`` and ``inner`` are scratch space; ``outer`` keeps the row of strips. ``clean`` leaves defects out: a
    bound that is found sooner.
    """
    box_u, box_v = boxes(layout, arcs, arc, piece.thickness)
    if box_u <= 0 or box_v <= 0:
        return 0.0, 0
    length, case = arcs.end[arc] - arcs.start[arc], arcs.clean[arc] if clean else arcs.case[arc]
    grow_u, grow_v = grown(piece.growth, arcs, arc, layout.first_is_y)
    n = places(layout.across[case], layout.counts[case], box_u, outer.spots)
    kerf = layout.kerfs[case]
    if not clean:
        hold_at(outer.spots, n, piece.defects, layout.first_is_y, rule, arcs.shift[arc])
    held.work[0] += 2.0 + 0.02 * n * len(layout.firsts)
    nodes, values, sizes, known = outer.spots.node, outer.values, outer.sizes, outer.marks[0]
    for d in range(len(layout.firsts)):
        du = layout.firsts[d, 0]
        sizes[d] = du
        for i in range(n):
            u = nodes[i]
            values[d, i] = 0.0
            known[i] = -1
            if u + du > box_u or (kerf < 0 and (u != 0 or du != box_u)):
                continue
            known[i] = 0
            if not clean:
                known[i] = axis_mask(arcs, arc, piece.defects, layout.first_is_y, u, u + du, rule)
            same = -1
            for j in range(i - 1, -1, -1):
                if known[j] == known[i]:
                    same = j
                    break
            if same >= 0:
                values[d, i] = values[d, same]
                continue
            value, m, _ = strip_row(
                layout, grain, arcs, arc, piece, rule, prices, held, inner, d, known[i], clean
            )
            if m < 0:
                return -1.0, n
            values[d, i] = value
    keep = kerf >= 0 and length >= rule.keeper_length
    value = row_of_pieces(
        outer, n, len(layout.firsts), max(kerf, 0), box_u, length, box_v, grow_u, grow_v, keep, rule
    )
    return value, n
