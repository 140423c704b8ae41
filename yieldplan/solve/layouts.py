"""The two middle recurrences: sticks across a strip, and strips across a billet, in both layouts (R4).

G(p + size + kerf) = max of itself and G(p) + value of the piece; leftovers by their worth. Pieces start where one
has just ended, or against an edge or a defect; a leftover between pieces ends at such a place, else it would be
longer.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call"

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

from yieldplan.solve.kernel import axis_mask, boxes, leftover, places, rank
from yieldplan.solve.sticks import Run, fill_row

if TYPE_CHECKING:
    from yieldplan.solve.kernel import Flags, Floats, Ints


class Held(NamedTuple):
    """Values of what sticks hold, worked out when they are first asked for.

    ``keys``, ``slots`` are a hash table from (defect set x S + stick) to a row of ``values`` (rows, arcs), of which
    ``done`` (rows, groups) are filled; ``used`` (1,) rows are taken. ``extra``: see :func:`fill_row`.
    """

    keys: Ints
    slots: Ints
    values: Floats
    done: Flags
    used: Ints
    run: Run
    extra: int


class Row(NamedTuple):
    """Scratch space of one row of pieces: where they may start, their values there, and how values came about."""

    nodes: Ints
    held: Flags
    values: Floats
    best: Floats
    origin: Ints
    by: Ints


@njit(cache=True, nogil=True)
def find_row(held, key):
    """Return the row of a key, taking a new one where there is none; -1 where the table is full."""
    size = len(held.keys)
    at = (key * 2654435761) % size
    while held.keys[at] != key:
        if held.keys[at] < 0:
            if held.used[0] == len(held.values):
                return -1
            held.keys[at], held.slots[at] = key, held.used[0]
            held.used[0] += 1
            break
        at = (at + 1) % size
    return held.slots[at]


@njit(cache=True, nogil=True)
def stick_value(held, grain, arcs, prices, rule, stick, mask, arc):
    """Return the best value of what a stick of a billet holds; -1 where the table is full."""
    row = find_row(held, mask * len(grain.allowed) + stick)
    if row < 0:
        return -1.0
    group = arcs.group_of[arc]
    if not held.done[row, group]:
        fill_row(grain, arcs, stick, mask, prices, rule, group, held.extra, held.values[row], held.run)
        held.done[row, group] = True
    return held.values[row, arc]


@njit(cache=True, nogil=True)
def make_row(pieces, most):
    """Return scratch space for rows of up to ``most`` positions."""
    return Row(
        np.empty(most, np.int64),
        np.empty(most, np.bool_),
        np.zeros((pieces, most)),
        np.empty(most + 1),
        np.empty(most + 1, np.int64),
        np.empty(most + 1, np.int64),
    )


@njit(cache=True, nogil=True)
def row_of_pieces(row, n, sizes, pieces, kerf, box, length, other, grow_gap, grow_other, keep, rule):
    """Return the best value of pieces in a row across a box; ``row.best[n]``, ``origin``, ``by`` tell how.

    ``sizes`` (pieces,) and ``row.values`` (pieces, n) are the pieces and their value at each of ``n`` nodes;
    ``other`` is the box's size on the remaining axis; ``keep`` says whether leftovers of this ``length`` count.
    """
    nodes, best = row.nodes, row.best
    for i in range(n + 1):
        best[i] = -1.0
        row.origin[i] = -1
    best[0], best[n] = 0.0, 0.0
    for i in range(n):
        fresh = i == 0 or best[i] > best[i - 1]
        if not fresh:
            best[i] = best[i - 1]
        if not (fresh or row.held[i]):
            continue
        here = best[i]
        for p in range(pieces):
            end = nodes[i] + sizes[p]
            if end > box or row.values[p, i] <= 0.0:
                continue
            value = here + row.values[p, i]
            j = rank(nodes, n, end + kerf)
            if value > best[j]:
                best[j] = value
                row.origin[j], row.by[j] = i, p
        if keep and fresh:
            for j in range(i + 1, n + 1):
                if j < n and not row.held[j]:
                    continue
                gap = (box if j == n else nodes[j] - kerf) - nodes[i]
                if gap < rule.narrowest:
                    continue
                wide, thin = max(gap, other), min(gap, other)
                if wide >= rule.keeper_width and thin >= rule.keeper_thickness:
                    value = here + leftover(length, gap, other, grow_gap, grow_other, rule)
                    if value > best[j]:
                        best[j] = value
                        row.origin[j], row.by[j] = i, -1
    if best[n - 1] > best[n]:
        best[n] = best[n - 1]
        row.origin[n] = -2
    return best[n]


@njit(cache=True, nogil=True)
def path_of(row, n):
    """Return (pieces, 3) the best row that :func:`row_of_pieces` found: piece (-1: a leftover), from node, to node."""
    found = np.empty((n + 1, 3), np.int64)
    count, j = 0, n
    if row.origin[n] == -2:
        j = n - 1
    while j > 0:
        while j > 0 and j < n and row.best[j] == row.best[j - 1]:
            j -= 1
        if j == 0 or row.origin[j] < 0:
            break
        found[count, 0], found[count, 1], found[count, 2] = row.by[j], row.origin[j], j
        count += 1
        j = row.origin[j]
    return found[:count][::-1]


@njit(cache=True, nogil=True)
def hold_at(row, n, defects, on_y, rule):
    """Mark the nodes that stand at the far edge of a defect."""
    for d in range(len(defects)):
        edge = defects[d, 3] - rule.edge_skim if on_y else defects[d, 5] - rule.face_skim
        at = rank(row.nodes, n, edge)
        if at < n and row.nodes[at] == edge:
            row.held[at] = True


@njit(cache=True, nogil=True)
def grown(growth, arcs, arc, first_is_y):
    """Return what leftovers may grow by on the layout's first and second axis."""
    grow_y, grow_z = growth[0].copy(), growth[1].copy()
    grow_y[1] = max(0.0, arcs.losses[arc, 0] - growth[0, 1])
    grow_z[1] = max(0.0, arcs.losses[arc, 1] - growth[1, 1])
    return (grow_y, grow_z) if first_is_y else (grow_z, grow_y)


@njit(cache=True, nogil=True)
def strip_row(layout, grain, arcs, arc, piece, rule, prices, held, row, d, known, clean):
    """Fill the row of sticks in a strip; return its best value, node count (-1: table full), stick kinds, kerf.

    ``known`` is the set of defects that the strip meets on its own axis.
    """
    du, kerf = layout.size[d], layout.inner_kerf[d]
    box_u, box_v = boxes(layout, arcs, arc, piece.width, piece.thickness)
    length, case = arcs.end[arc] - arcs.start[arc], 0 if clean else arcs.case[arc]
    sizes = np.empty(len(layout.depth), np.int64)
    kinds = np.empty(len(layout.depth), np.int64)
    pieces = 0
    for s in range(len(layout.depth)):
        if layout.holds[d, s]:
            sizes[pieces], kinds[pieces] = layout.depth[s], s
            pieces += 1
    m = places(
        layout.inner_left[case, d], layout.inner_right[case, d], layout.inner_count[case, d], box_v,
        row.nodes, row.held,
    )  # fmt: skip
    if not clean:
        hold_at(row, m, piece.defects, not layout.first_is_y, rule)
    some = False
    for p in range(pieces):
        for j in range(m):
            v = row.nodes[j]
            row.values[p, j] = 0.0
            if v + sizes[p] > box_v or (kerf < 0 and (v != 0 or sizes[p] != box_v)):
                continue
            mask = known
            if known > 0:
                mask &= axis_mask(arcs, arc, piece.defects, not layout.first_is_y, v, v + sizes[p], rule)
            value = stick_value(held, grain, arcs, prices, rule, kinds[p], mask, arc)
            if value < 0.0:
                return 0.0, -1, kinds
            row.values[p, j] = value
            some = some or value > 0.0
    if not some:
        return 0.0, m, kinds
    keep = kerf >= 0 and length >= rule.keeper_length and du >= rule.narrowest
    _, grow_v = grown(piece.growth, arcs, arc, layout.first_is_y)
    value = row_of_pieces(
        row, m, sizes, pieces, max(kerf, 0), box_v, length, du, grow_v, np.zeros(3), keep, rule
    )
    return value, m, kinds


@njit(cache=True, nogil=True)
def layout_value(layout, grain, arcs, arc, piece, rule, prices, held, outer, inner, clean):
    """Return the best value of a billet in one layout (-1.0: the table is full), and the nodes across it.

    ``outer`` and ``inner`` are scratch space; ``outer`` keeps the row of strips. ``clean`` leaves defects out: a
    bound that is found sooner.
    """
    box_u, box_v = boxes(layout, arcs, arc, piece.width, piece.thickness)
    if box_u <= 0 or box_v <= 0:
        return 0.0, 0
    length, case = arcs.end[arc] - arcs.start[arc], 0 if clean else arcs.case[arc]
    grow_u, grow_v = grown(piece.growth, arcs, arc, layout.first_is_y)
    n = places(layout.left[case], layout.right[case], layout.counts[case], box_u, outer.nodes, outer.held)
    if not clean:
        hold_at(outer, n, piece.defects, layout.first_is_y, rule)
    known = np.empty(n, np.int64)
    for d in range(len(layout.size)):
        du = layout.size[d]
        for i in range(n):
            u = outer.nodes[i]
            outer.values[d, i] = 0.0
            known[i] = -1
            if u + du > box_u or (layout.kerf < 0 and (u != 0 or du != box_u)):
                continue
            known[i] = 0
            if not clean:
                known[i] = axis_mask(arcs, arc, piece.defects, layout.first_is_y, u, u + du, rule)
            same = -1
            for j in range(i):
                if known[j] == known[i]:
                    same = j
                    break
            if same >= 0:
                outer.values[d, i] = outer.values[d, same]
                continue
            value, m, _ = strip_row(
                layout, grain, arcs, arc, piece, rule, prices, held, inner, d, known[i], clean
            )
            if m < 0:
                return -1.0, n
            outer.values[d, i] = value
    keep = layout.kerf >= 0 and length >= rule.keeper_length
    value = row_of_pieces(
        outer, n, layout.size, len(layout.size), max(layout.kerf, 0), box_u, length, box_v, grow_u, grow_v,
        keep, rule,
    )  # fmt: skip
    return value, n
