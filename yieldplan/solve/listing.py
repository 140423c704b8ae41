"""The moves of the inner recurrences, listed: all that can be part of something worth at least so much."""
# mypy: disable-error-code="no-untyped-def, no-untyped-call"

from __future__ import annotations

import numpy as np

from yieldplan.solve.kernel import compiled, inner, piece_worth, rank
from yieldplan.solve.layouts import row_leftover
from yieldplan.solve.sticks import fits


@inner
def good_moves(moves, values, count, n, held, least):
    """Return which of the first ``count`` moves lie on a path worth ``least`` from node 0 to node ``n``.

    ``moves`` (most, 3) are from node, to node and piece (below 0: a leftover), sorted by the first; idling from
    a node to the next is free. A piece starts where one has ended, or at a ``held`` node; a leftover only at the
    former.
    """
    ahead, rest = np.zeros(n + 1), np.zeros(n + 1)
    ended = np.zeros(n + 1, np.bool_)
    ended[0] = True
    good = np.zeros(count, np.bool_)
    i = 0
    for q in range(count):
        while i < moves[q, 0]:
            i += 1
            ahead[i] = max(ahead[i], ahead[i - 1])
        if ended[i] or (held[i] and moves[q, 2] >= 0):
            j = moves[q, 1]
            good[q] = True
            ended[j] = True
            ahead[j] = max(ahead[j], ahead[i] + values[q])
    i = n
    for q in range(count - 1, -1, -1):
        while i > moves[q, 0]:
            i -= 1
            rest[i] = max(rest[i], rest[i + 1])
        if good[q]:
            rest[i] = max(rest[i], values[q] + rest[moves[q, 1]])
            good[q] = ahead[i] + values[q] + rest[moves[q, 1]] >= least
    return good


@compiled
def row_moves(row, n, sizes, pieces, kerf, box, length, other, grow_gap, grow_other, keep, rule, least):
    """Return the good moves (:func:`good_moves`) of a row of pieces, with their values.

    Arguments as for :func:`yieldplan.solve.layouts.row_of_pieces`.
    """
    nodes = row.spots.node
    most = n * pieces + (n * (n + 1) // 2 if keep else 0)
    moves, values = np.empty((most, 3), np.int64), np.empty(most)
    count = np.int64(0)
    for i in range(n):
        for p in range(pieces):
            if nodes[i] + sizes[p] <= box and row.values[p, i] > 0.0:
                j = rank(nodes, n, nodes[i] + sizes[p] + kerf)
                moves[count, 0], moves[count, 1], moves[count, 2] = i, j, p
                values[count] = row.values[p, i]
                count += 1
        if not keep:
            continue
        for j in range(i + 1, n + 1):
            worth = row_leftover(row.spots, n, i, j, kerf, box, length, other, grow_gap, grow_other, rule)
            if worth >= 0.0:
                moves[count, 0], moves[count, 1], moves[count, 2] = i, j, -1
                values[count] = worth
                count += 1
    good = good_moves(moves, values, count, n, row.spots.held.copy(), least)
    return moves[:count][good], values[:count][good]


@compiled
def stick_moves(grain, stick, mask, prices, rule, begin, end, longer, least):
    """Return the good moves along a stick, their values, the first node and the number of nodes.

    Nodes count from the first one in the billet. ``longer``: see :func:`yieldplan.solve.sticks.fill_row`.
    """
    nodes = grain.nodes
    first, stop = rank(nodes, len(nodes), begin + rule.snipe), rank(nodes, len(nodes), end)
    n = max(0, stop - first)
    wide, thin = grain.sections[stick, 0], grain.sections[stick, 1]
    most = n * (len(prices) + 1) + (n * n // 2 + n if wide > 0 and mask > 0 else 0)
    moves, values = np.empty((most, 3), np.int64), np.empty(most)
    count = np.int64(0)
    for i in range(n):
        at = nodes[first + i]
        for k in range(len(prices)):
            if (
                grain.allowed[stick, k]
                and fits(grain.places[k, first + i], mask)
                and at + grain.spans[k] + rule.snipe <= end
            ):
                j = min(grain.places.next[k, first + i] - first, n)
                moves[count, 0], moves[count, 1], moves[count, 2] = i, j, k
                values[count] = prices[k]
                count += 1
        if wide == 0:
            continue
        start = at if i > 0 else begin
        if mask > 0:
            for j in range(i + 1, n):
                run = nodes[first + j] - rule.crosscut - start
                if grain.anchor[first + j] and run >= rule.keeper_length:
                    moves[count, 0], moves[count, 1], moves[count, 2] = i, j, -1
                    values[count] = piece_worth(run, wide, thin, rule)
                    count += 1
        if i > 0 and end - start + longer >= rule.keeper_length:
            moves[count, 0], moves[count, 1], moves[count, 2] = i, n, -1
            values[count] = piece_worth(end - start + longer, wide, thin, rule)
            count += 1
    good = good_moves(moves, values, count, n, grain.anchor[first : first + n + 1], least)
    return moves[:count][good], values[:count][good], first, n
