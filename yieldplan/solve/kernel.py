"""Pricing kernels: the nested dynamic programme of one offcut, compiled.

Four longest-path recurrences, one inside the other, all over sorted positions (Gilmore & Gomory 1965, Oper.
Res. 13, 94-120; the three-stage form with defects Hahn 1968, Oper. Res. 16, 1100-1114; both from memory).
With G(p) the best value of what lies before position p, where the next piece may start at p:

- contents of a stick: G(p + length + kerf) = max of itself and G(p) + price(blank); leftovers by their worth;
- strip: the same across the strip, a stick's value being its best contents (:func:`row_of_pieces`);
- billet: the same across the billet, a strip's value being its best sticks (:func:`layout_value`);
- offcut: the same along the offcut, a segment's value being its best billet, or its worth as a whole keeper.

Values are float64 but exact: prices are whole multiples of 2**-20 and worths whole numbers. A worth is
floored after adding 1e-9, so that it is never below the exact integer floor.

The compiled functions carry no annotations: numba reads the types of the arrays it is given.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]
    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]


class Grain(NamedTuple):
    """What the recurrences along the grain need: positions, kinds, and what fits where.

    ``nodes`` (n,) positions where a piece may start; ``anchor`` (n,) whether it may start there though nothing
    ends just before; ``fits`` (M, K, n) whether a blank may start there for
    each set of defects; ``allowed`` (S, K) whether a kind belongs on a stick; ``end_rank`` (n, K) rank of the
    end of a blank among all ends; ``next_node`` (n, K) where the next piece may start; ``sections`` (S, 2)
    finished width and thickness, 0 where no remainder is a keeper; ``tables`` (R, 2) stick and defect set of
    each row of values.
    """

    nodes: Ints
    anchor: Flags
    fits: Flags
    allowed: Flags
    end_rank: Ints
    ends: int
    next_node: Ints
    sections: Ints
    tables: Ints


class Arcs(NamedTuple):
    """Billets to try: from, to (steps), sorted by from; ``group`` (A + 1,) where each distinct start begins.

    ``last_end`` is the rank of the last blank end inside; ``losses`` (arcs, 2) are E and F; ``relevant`` the
    set of defects that the billet meets along x; ``by_y`` and ``by_z`` whether one of them depends on where
    across y, or z, a stick lies; ``case`` picks the positions across (see :class:`Layout`).
    """

    start: Ints
    end: Ints
    group: Ints
    last_end: Ints
    losses: Ints
    relevant: Ints
    by_y: Flags
    by_z: Flags
    case: Ints


class Layout(NamedTuple):
    """One layout's positions across: strips along the first axis, sticks along the second (R4).

    ``left`` (C, most) positions are fixed, ``right`` ones are measured back from the far side, which moves
    with the loss; both sorted, ``counts`` (C, 2) of them in each case. ``inner_left``/``inner_right`` (C, D,
    most) with ``inner_count`` (C, D, 2) are those of the sticks for each first size ``size`` (D,); ``holds``
    (D, S); ``depth`` (S,) second sizes. A kerf below 0: no saw reaches.
    """

    first_is_y: bool
    left: Ints
    right: Ints
    counts: Ints
    inner_left: Ints
    inner_right: Ints
    inner_count: Ints
    size: Ints
    holds: Flags
    depth: Ints
    kerf: int
    inner_kerf: Ints


class Rule(NamedTuple):
    """Shop rules as numbers: lengths in steps; ``per_volume`` and ``per_length`` make the worth."""

    crosscut: int
    snipe: int
    keeper_length: int
    keeper_width: int
    keeper_thickness: int
    narrowest: int
    full: int
    per_volume: float
    per_length: float
    edge_skim: int
    face_skim: int


@njit(cache=True, nogil=True)
def piece_worth(length, width, thickness, rule):
    """Return the worth of a leftover: floor(1000 v (1 + p min(l, f)/f)), v in board feet."""
    volume = float(length) * float(width) * float(thickness)
    return np.floor(volume * rule.per_volume * (1.0 + rule.per_length * min(length, rule.full)) + 1e-9)


@njit(cache=True, nogil=True)
def leftover(length, gap, other, grow_gap, grow_other, rule):
    """Return the worth of a strip or stick left over, or an upper bound of it (``grow_*`` above 0).

    Between tried lengths a leftover of y by z gains worth with length as long as 2 crook/y + (2 bow +
    twist/2)/z <= 1 (the derivative of R3 against that of the length), so its section at the longer length,
    with a step for each rounding, bounds it; else its section at the smallest loss does.
    """
    if grow_gap[2] / gap + grow_other[2] / other > 1.0:
        return piece_worth(length, gap + grow_gap[1], other + grow_other[1], rule)
    return piece_worth(length, gap + grow_gap[0], other + grow_other[0], rule)


@njit(cache=True, nogil=True)
def rank(values, count, value):
    """Return the index of the first of ``count`` sorted values that is at least ``value``."""
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        if values[middle] < value:
            low = middle + 1
        else:
            high = middle
    return low


@njit(cache=True, nogil=True)
def contents(grain, arcs, prices, rule):
    """Return (R, arcs) the best value of what a stick holds, for every kind of stick, defect set and billet."""
    nodes, n, kinds = grain.nodes, len(grain.nodes), len(prices)
    values = np.zeros((len(grain.tables), len(arcs.end)))
    best = np.empty(n + 1)
    bare = np.empty(n + 1)  # the same before the first blank: a stick of leftovers alone is none
    fresh = np.empty(n + 1, np.bool_)
    by_end = np.empty(grain.ends)
    for row in range(len(grain.tables)):
        stick, mask = grain.tables[row, 0], grain.tables[row, 1]
        wide, thin = grain.sections[stick, 0], grain.sections[stick, 1]
        for group in range(len(arcs.group) - 1):
            begin = arcs.start[arcs.group[group]]
            furthest = arcs.end[arcs.group[group + 1] - 1]
            first = rank(nodes, n, begin + rule.snipe)
            beyond = rank(nodes, n, furthest)
            for i in range(first, n + 1):
                best[i] = -1.0
                bare[i] = 0.0
            for i in range(grain.ends):
                by_end[i] = 0.0
            split = wide > 0 and mask > 0  # without defects a leftover does as well at the end
            if split:
                for j in range(rank(nodes, n, begin + rule.crosscut + rule.keeper_length), beyond):
                    if grain.anchor[j]:
                        bare[j] = piece_worth(nodes[j] - rule.crosscut - begin, wide, thin, rule)
            for i in range(first, beyond):
                fresh[i] = i > first and best[i] > best[i - 1]
                if i > first and not fresh[i]:
                    best[i] = best[i - 1]
                here = max(best[i], bare[i])
                if not (fresh[i] or i == first or grain.anchor[i]):
                    continue  # the blank could be pushed on towards end A
                for k in range(kinds):
                    if grain.allowed[stick, k] and grain.fits[mask, k, i]:
                        value = here + prices[k]
                        end, j = grain.end_rank[i, k], grain.next_node[i, k]
                        by_end[end] = max(by_end[end], value)
                        best[j] = max(best[j], value)
                if split and fresh[i]:
                    for j in range(rank(nodes, n, nodes[i] + rule.crosscut + rule.keeper_length), beyond):
                        if grain.anchor[j]:
                            run = nodes[j] - rule.crosscut - nodes[i]
                            best[j] = max(best[j], best[i] + piece_worth(run, wide, thin, rule))
            for i in range(1, grain.ends):
                by_end[i] = max(by_end[i], by_end[i - 1])
            for arc in range(arcs.group[group], arcs.group[group + 1]):
                value = by_end[arcs.last_end[arc]] if arcs.last_end[arc] >= 0 else 0.0
                if wide > 0:
                    for j in range(first, beyond):
                        run = arcs.end[arc] - nodes[j]
                        if run < rule.keeper_length:
                            break
                        if fresh[j]:
                            value = max(value, best[j] + piece_worth(run, wide, thin, rule))
                values[row, arc] = value
    return values


@njit(cache=True, nogil=True)
def places(left, right, count, box, found):
    """Fill the sorted positions in 0..box of fixed ones and of ones measured back from the far side.

    ``found`` takes them; their number is returned.
    """
    i, j, n = 0, count[1] - 1, 0
    while i < count[0] or j >= 0:
        if i < count[0] and (j < 0 or left[i] <= box - right[j]):
            p = left[i]
            i += 1
        else:
            p = box - right[j]
            j -= 1
        if 0 <= p <= box and (n == 0 or found[n - 1] < p):
            found[n] = p
            n += 1
    return n


@njit(cache=True, nogil=True)
def hit_mask(defects, y1, y2, z1, z2, edge, face, rule):
    """Return the set (bit mask) of defects that meet a box across a billet, after straightening (R9).

    ``defects`` is (d, 7): x1, x2, y1, y2, z1, z2, through.
    """
    mask = 0
    for d in range(len(defects)):
        across = defects[d, 2] - edge < y2 and y1 < defects[d, 3] - rule.edge_skim
        deep = defects[d, 4] - face < z2 and z1 < defects[d, 5] - rule.face_skim
        if across and (defects[d, 6] == 1 or deep):
            mask |= 1 << d
    return mask


@njit(cache=True, nogil=True)
def stick_mask(layout, arcs, arc, defects, u, du, v, dv, rule):
    """Return the defects of this billet that a stick at (u, v) meets, in a layout's own axes."""
    if arcs.relevant[arc] == 0:
        return 0
    edge, face = arcs.losses[arc, 0], arcs.losses[arc, 1]
    if layout.first_is_y:
        mask = hit_mask(defects, u, u + du, v, v + dv, edge, face, rule)
    else:
        mask = hit_mask(defects, v, v + dv, u, u + du, edge, face, rule)
    return mask & arcs.relevant[arc]


@njit(cache=True, nogil=True)
def boxes(layout, arcs, arc, width, thickness):
    """Return the billet's box on the layout's first and second axis (R3)."""
    high, deep = width - arcs.losses[arc, 0], thickness - arcs.losses[arc, 1]
    return (high, deep) if layout.first_is_y else (deep, high)


@njit(cache=True, nogil=True)
def across_axes(layout, arcs, arc):
    """Return whether it matters to defects where on the layout's first, and second, axis a stick lies."""
    return (arcs.by_y[arc], arcs.by_z[arc]) if layout.first_is_y else (arcs.by_z[arc], arcs.by_y[arc])


@njit(cache=True, nogil=True)
def add_masks(layout, arcs, width, thickness, defects, rule, seen, count):
    """Add the distinct defect sets that any stick of any billet can meet to ``seen`` (sorted, ``count`` filled).

    Returns the new count, or -1 where ``seen`` is too small.
    """
    nodes = np.zeros(layout.left.shape[1] + layout.right.shape[1], np.int64)
    inner = np.zeros(layout.inner_left.shape[2] + layout.inner_right.shape[2], np.int64)
    for arc in range(len(arcs.end)):
        if arcs.relevant[arc] == 0:
            continue
        box_u, box_v = boxes(layout, arcs, arc, width, thickness)
        case = arcs.case[arc]
        by_u, by_v = across_axes(layout, arcs, arc)
        n = places(layout.left[case], layout.right[case], layout.counts[case], box_u, nodes) if by_u else 1
        for d in range(len(layout.size)):
            counts = layout.inner_count[case, d]
            m = 1
            if by_v:
                m = places(layout.inner_left[case, d], layout.inner_right[case, d], counts, box_v, inner)
            for i in range(n):
                for j in range(m):
                    for s in range(len(layout.depth)):
                        if not layout.holds[d, s]:
                            continue
                        mask = stick_mask(
                            layout,
                            arcs,
                            arc,
                            defects,
                            nodes[i],
                            layout.size[d],
                            inner[j],
                            layout.depth[s],
                            rule,
                        )
                        at = rank(seen, count, mask)
                        if at < count and seen[at] == mask:
                            continue
                        if count == len(seen):
                            return -1
                        for k in range(count, at, -1):
                            seen[k] = seen[k - 1]
                        seen[at] = mask
                        count += 1
    return count


@njit(cache=True, nogil=True)
def row_of_pieces(
    nodes, n, sizes, pieces, values, kerf, box, length, other, grow_gap, grow_other, keep, rule
):
    """Return the best value of pieces in a row across a box: the recurrence of strip and billet.

    ``sizes`` (pieces,) and ``values`` (pieces, n) are the pieces and their value at each of ``n`` nodes;
    ``other`` is the box's size on the remaining axis; ``keep`` says whether leftovers of this ``length`` count.
    """
    best = np.full(n, -1.0)
    best[0] = 0.0
    result = 0.0
    for i in range(n):
        fresh = i == 0 or best[i] > best[i - 1]
        if not fresh:
            best[i] = best[i - 1]
        here = best[i]
        for p in range(pieces):
            end = nodes[i] + sizes[p]
            if end > box or values[p, i] <= 0.0:
                continue
            value = here + values[p, i]
            result = max(result, value)
            j = rank(nodes, n, end + kerf)
            if j < n and value > best[j]:
                best[j] = value
        if keep and fresh:
            for j in range(i + 1, n + 1):
                gap = (box if j == n else nodes[j] - kerf) - nodes[i]
                if gap < rule.narrowest:
                    continue
                wide, thin = max(gap, other), min(gap, other)
                if wide >= rule.keeper_width and thin >= rule.keeper_thickness:
                    value = here + leftover(length, gap, other, grow_gap, grow_other, rule)
                    result = max(result, value)
                    if j < n and value > best[j]:
                        best[j] = value
    return result


@njit(cache=True, nogil=True)
def layout_value(  # noqa: PLR0915 - one recurrence, kept whole
    layout, arc, arcs, width, thickness, defects, masks, row_of, growth, rule, stick_values, work
):
    """Return the best value of a billet in one layout (R4).

    ``work`` = (positions, positions, values, values) is scratch space, large enough for any billet.
    """
    box_u, box_v = boxes(layout, arcs, arc, width, thickness)
    if box_u <= 0 or box_v <= 0:
        return 0.0
    nodes, inner, strips, inside = work
    length, case = arcs.end[arc] - arcs.start[arc], arcs.case[arc]
    grow_y, grow_z = growth[0].copy(), growth[1].copy()
    grow_y[1] = max(0.0, arcs.losses[arc, 0] - growth[0, 1])
    grow_z[1] = max(0.0, arcs.losses[arc, 1] - growth[1, 1])
    grow_u, grow_v = (grow_y, grow_z) if layout.first_is_y else (grow_z, grow_y)
    fixed = np.zeros(3)
    _, by_v = across_axes(layout, arcs, arc)
    n = places(layout.left[case], layout.right[case], layout.counts[case], box_u, nodes)
    sizes = np.empty(len(layout.depth), np.int64)
    rows = np.empty(len(layout.depth), np.int64)
    known = np.empty(n, np.int64)
    for d in range(len(layout.size)):
        du, kerf = layout.size[d], layout.inner_kerf[d]
        pieces = 0
        for s in range(len(layout.depth)):
            if layout.holds[d, s]:
                sizes[pieces] = layout.depth[s]
                rows[pieces] = s
                pieces += 1
        counts = layout.inner_count[case, d]
        m = places(layout.inner_left[case, d], layout.inner_right[case, d], counts, box_v, inner)
        keep = kerf >= 0 and length >= rule.keeper_length and du >= rule.narrowest
        for i in range(n):
            u = nodes[i]
            strips[d, i] = 0.0
            known[i] = -1
            if u + du > box_u or (layout.kerf < 0 and (u != 0 or du != box_u)):
                continue
            if not by_v:
                known[i] = stick_mask(layout, arcs, arc, defects, u, du, 0, 1, rule)
                same = -1
                for j in range(i):
                    if known[j] == known[i]:
                        same = j
                        break
                if same >= 0:
                    strips[d, i] = strips[d, same]
                    continue
            some = False
            for p in range(pieces):
                for j in range(m):
                    v = inner[j]
                    inside[p, j] = 0.0
                    if v + sizes[p] > box_v or (kerf < 0 and (v != 0 or sizes[p] != box_v)):
                        continue
                    mask = known[i]
                    if by_v:
                        mask = stick_mask(layout, arcs, arc, defects, u, du, v, sizes[p], rule)
                    inside[p, j] = stick_values[row_of[rows[p], rank(masks, len(masks), mask)], arc]
                    some = some or inside[p, j] > 0.0
            if some:
                strips[d, i] = row_of_pieces(
                    inner,
                    m,
                    sizes,
                    pieces,
                    inside,
                    max(kerf, 0),
                    box_v,
                    length,
                    du,
                    grow_v,
                    fixed,
                    keep,
                    rule,
                )
    keep = layout.kerf >= 0 and length >= rule.keeper_length
    return row_of_pieces(
        nodes, n, layout.size, len(layout.size), strips, max(layout.kerf, 0), box_u, length, box_v, grow_u,
        grow_v, keep, rule,
    )  # fmt: skip


@njit(cache=True, nogil=True)
def billets(layout, arcs, width, thickness, defects, masks, row_of, growth, rule, stick_values):
    """Return (arcs,) the best value of every billet in one layout."""
    values = np.zeros(len(arcs.end))
    most = layout.left.shape[1] + layout.right.shape[1]
    inner_most = layout.inner_left.shape[2] + layout.inner_right.shape[2]
    work = (
        np.empty(most, np.int64),
        np.empty(inner_most, np.int64),
        np.zeros((len(layout.size), most)),
        np.zeros((len(layout.depth), inner_most)),
    )
    for arc in range(len(arcs.end)):
        values[arc] = layout_value(
            layout, arc, arcs, width, thickness, defects, masks, row_of, growth, rule, stick_values, work
        )
    return values


@njit(cache=True, nogil=True)
def along(nodes, anchor, first_arc, next_node, values, length, width, thickness, rule):
    """Return (n + 1,) the best value that can be cut from each node to end B: the recurrence of the offcut.

    A whole keeper ends where a billet was pushed against something (``anchor``), or at end B: else it could be
    longer. ``first_arc`` (n + 1,) says where the billets that start at each node begin, in their sorted order;
    ``next_node`` (arcs,) where the next piece may start after each (n where nothing may).
    """
    n = len(nodes)
    rest = np.zeros(n + 1)
    for i in range(n - 1, -1, -1):
        rest[i] = rest[i + 1]
        for arc in range(first_arc[i], first_arc[i + 1]):
            if values[arc] > 0.0 and values[arc] + rest[next_node[arc]] > rest[i]:
                rest[i] = values[arc] + rest[next_node[arc]]
        for j in range(i + 1, n + 1):
            if j < n and not anchor[j]:
                continue
            run = (length if j == n else nodes[j] - rule.crosscut) - nodes[i]
            if run >= rule.keeper_length and run < length:
                rest[i] = max(rest[i], piece_worth(run, width, thickness, rule) + rest[j])
    return rest
