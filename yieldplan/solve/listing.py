"""All cuttings of an offcut worth at least so much: the four recurrences walked once more, now with every label.

The kernels give the best value from each node on; a label that cannot reach what is asked for is dropped, and what a
piece may hold is listed only as far as the labels before it can use it. What like billets and strips hold is listed
once.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call"

from __future__ import annotations

import numpy as np

from yieldplan.solve.book import (
    BILLET,
    FULL,
    KEEPER_STICK,
    KEEPER_STRIP,
    OF_BILLET,
    OF_HALF,
    OF_SPLIT,
    OF_STICK,
    OF_STRIP,
    OFFCUT,
    REMAINDER,
    SPLIT,
    STICK,
    STRIP,
    WHOLE,
    ZERO,
    begin_row,
    end_row,
    enter_node,
    put_blank,
    put_leftover,
    put_on,
    remembered,
    stopped,
    write_down,
)
from yieldplan.solve.kernel import axis_mask, boxes, compiled, frugal_inner, inner, piece_worth, rank
from yieldplan.solve.layouts import NO_GROWTH, grown, layout_value, row_leftover, strip_row
from yieldplan.solve.settle import half_value, second_billet, whole_keeper
from yieldplan.solve.sticks import SURE, blocks_from, last_place, lies, outer, stopped_nodes

WITH_DEFECTS = np.bool_(False)
WITH_BLANKS = np.bool_(False)

TABLE_FULL = 2
"""Put into ``Book.tally[FULL]`` where it is the table of the values of sticks that is full."""


MOVE = np.dtype(
    [("from_node", np.int64), ("to_node", np.int64), ("by", np.int64), ("value", np.float64)], align=True
)
"""A piece (below 0: a leftover) from a node to one behind it, and its value."""


@inner
def good_moves(moves, count, n, held, least):
    """Return those of the first ``count`` moves that lie on a path worth ``least``, and the best value from each node.

    ``moves`` of :data:`MOVE` are sorted by the first; idling from a node to the next is free. A piece starts where one
    has ended, or at a ``held`` node; a leftover only at the former.
    """
    rest, good = np.zeros(n + 1), np.zeros(count, np.bool_)
    kept = keep_good(moves, count, n, held, least, np.zeros(n + 1), np.zeros(n + 1, np.bool_), rest, good)
    return moves[:kept], rest


@frugal_inner
def keep_good(moves, count, n, held, least, ahead, ended, rest, good):
    """Fill ``rest`` for :func:`good_moves`, bring the good moves to the front, and return their number.

    ``ahead``, ``ended`` and ``good`` are scratch space.
    """
    start, stop, by, values = moves.from_node, moves.to_node, moves.by, moves.value
    ended[0] = True
    i = 0
    for q in range(count):
        while i < start[q]:
            i += 1
            ahead[i] = max(ahead[i], ahead[i - 1])
        if ended[i] or (held[i] and by[q] >= 0):
            j = stop[q]
            good[q] = True
            ended[j] = True
            ahead[j] = max(ahead[j], ahead[i] + values[q])
    i = n
    for q in range(count - 1, -1, -1):
        while i > start[q]:
            i -= 1
            rest[i] = max(rest[i], rest[i + 1])
        if good[q]:
            rest[i] = max(rest[i], values[q] + rest[stop[q]])
            good[q] = ahead[i] + values[q] + rest[stop[q]] >= least
    while i > 0:
        i -= 1
        rest[i] = max(rest[i], rest[i + 1])
    kept = 0
    for q in range(count):
        if good[q]:
            put_move(moves, kept, start[q], stop[q], by[q], values[q])
            kept += 1
    return kept


@frugal_inner
def idle(heads, moves, q, i, n):
    """Return whether no piece ends or begins at node ``i`` of ``n``: the next move is ``q``."""
    return heads[i] < 0 and i < n and (q == len(moves) or moves.from_node[q] > i)


@inner
def row_moves(row, n, pieces, kerf, box, length, other, grow_gap, grow_other, keep, rule, least):
    """Return the good moves (:func:`good_moves`) of a row of pieces, and the best value from each node.

    Arguments as for :func:`yieldplan.solve.layouts.row_of_pieces`.
    """
    moves = np.empty(n * (pieces + (1 + row.spots.held[:n].sum() if keep else 0)), MOVE)
    behind = np.zeros(n + 1, np.bool_)
    count = put_row_moves(
        moves, behind, row, n, pieces, kerf, box, length, other, grow_gap, grow_other, keep, rule
    )
    return good_moves(moves, count, n, row.spots.held, least)


@frugal_inner
def put_row_moves(moves, behind, row, n, pieces, kerf, box, length, other, grow_gap, grow_other, keep, rule):
    """Put all moves of a row into ``moves``; return their number.

    ``behind`` says of each node whether a piece has ended there, or the row begins.
    """
    spots, sizes, values = row.spots, row.sizes, row.values
    nodes, held = spots.node, spots.held
    count = np.int64(0)
    behind[0] = True
    for i in range(n):
        if not (behind[i] or held[i]):
            continue
        for p in range(pieces):
            if nodes[i] + sizes[p] <= box and values[p, i] > 0.0:
                j = rank(nodes, n, nodes[i] + sizes[p] + kerf)
                put_move(moves, count, i, j, p, values[p, i])
                behind[j] = True
                count += 1
        if not (keep and behind[i]):
            continue
        for j in range(i + 1, n + 1):
            worth = row_leftover(spots, n, i, j, kerf, box, length, other, grow_gap, grow_other, rule)
            if worth >= 0.0:
                put_move(moves, count, i, j, -1, worth)
                count += 1
    return count


@frugal_inner
def put_move(moves, at, i, j, by, value):
    """Put one move into a list."""
    moves.from_node[at], moves.to_node[at], moves.by[at], moves.value[at] = i, j, by, value


@inner
def stick_places(grain, stick, mask, prices, rule, begin, end, last_end):
    """Return where pieces may start on a stick.

    Places; at which of them a blank may though nothing ends just before; at which a remainder may end; and (K, places)
    which blanks fit. These are the nodes, and on a stick that meets defects those of blanks that are pushed to its end
    behind a remainder (:func:`yieldplan.solve.sticks.pushed_on`).
    """
    nodes = grain.nodes
    first, beyond = rank(nodes, len(nodes), begin + rule.snipe), rank(nodes, len(nodes), end)
    n = max(0, beyond - first)
    behind = mask > 0 and grain.sections[stick, 0] > 0
    most = n + (len(grain.blocks) if behind else 0)
    at, where = np.empty(most, np.int64), np.empty(n, np.int64)
    held, stops = np.zeros(most, np.bool_), np.zeros(most, np.bool_)
    if behind:
        stop = last_place(grain, rule, end)
        values, _ = blocks_from(grain, stick, mask, prices, rule, begin, stop)
        size = put_between(at, where, stops, nodes[first : first + n], grain.blocks, values, stop)
    else:
        at[:] = nodes[first : first + n]
        where[:] = np.arange(n)
        size = n
    if mask > 0:
        held[where] = grain.anchor[first : first + n]
    if behind:
        wanted = np.zeros(grain.ends, np.bool_)
        wanted[max(last_end, 0)] = True
        after = stopped_nodes(grain, stick, mask, rule, first, first + n, last_end, wanted)
        for i in range(n):
            stops[where[i]] |= held[where[i]] and after[i]
    at, held, stops, fit = at[:size], held[:size], stops[:size], np.zeros((len(prices), size), np.bool_)
    for k in range(len(prices)):
        if grain.allowed[stick, k]:
            for i in range(size):
                fit[k, i] = at[i] + grain.spans[k] + rule.snipe <= end and lies(grain, k, at[i], mask)
    return at, held, stops, fit


@frugal_inner
def put_between(at, where, stops, nodes, blocks, values, stop):
    """Merge into ``at`` the nodes and where blocks of some value begin that end at ``stop``; return their number.

    ``where`` tells at which place each node is, ``stops`` at which a block begins.
    """
    size, j = 0, len(blocks) - 1
    for i in range(len(nodes) + 1):
        while j >= 0 and (i == len(nodes) or stop - blocks[j] < nodes[i]):
            if values[j] >= 0.0:
                at[size], stops[size] = stop - blocks[j], True
                size += 1
            j -= 1
        if i < len(nodes):
            if j >= 0 and stop - blocks[j] == nodes[i]:
                stops[size] = values[j] >= 0.0
                j -= 1
            at[size], where[i] = nodes[i], size
            size += 1
    return size


@inner
def first_places(fit, held, mask):
    """Return (K, places + 1) where a blank of each kind fits first after a piece that ended at each place.

    There, or at a ``held`` one beyond. Without defects it does no better beyond.
    """
    kinds, n = fit.shape
    found = np.full((kinds, n + 1), -1)
    if mask == 0:
        found[:, :] = np.arange(n + 1)
        return found
    for k in range(kinds):
        beyond = -1
        for i in range(n - 1, -1, -1):
            found[k, i] = beyond
            if fit[k, i]:
                found[k, i] = i
                if held[i]:
                    beyond = i
    return found


@inner
def stick_moves(grain, stick, at, held, stops, fit, prices, rule, begin, end, longer, least):
    """Return the good moves along a stick, and the best value from each of its places on.

    Of the places see :func:`stick_places`; ``longer``: see :func:`yieldplan.solve.sticks.outer`.
    """
    n = len(at)
    ends = np.nonzero(stops)[0]
    moves = np.empty(n * (len(prices) + 1 + len(ends)), MOVE)
    ended = np.zeros(n + 1, np.bool_)
    count = put_stick_moves(moves, ended, grain, stick, at, held, ends, fit, prices, rule, begin, end, longer)
    return good_moves(moves, count, n, np.append(held, False), least)


@frugal_inner
def put_stick_moves(moves, ended, grain, stick, at, held, ends, fit, prices, rule, begin, end, longer):
    """Put all moves along a stick into ``moves``; return their number.

    ``ended`` says of each place whether a piece has ended there; remainders may end at the places ``ends``.
    """
    n, behind = len(at), 0
    wide, thin = grain.sections[stick, 0], grain.sections[stick, 1]
    count = np.int64(0)
    ended[0] = True
    for i in range(n):
        while behind < len(ends) and ends[behind] <= i:
            behind += 1
        if not (ended[i] or held[i]):
            continue
        for k in range(len(prices)):
            if fit[k, i]:
                j = rank(at, n, at[i] + grain.spans[k] + rule.crosscut)
                put_move(moves, count, i, j, k, prices[k])
                ended[j] = True
                count += 1
        if wide == 0 or not ended[i]:
            continue
        start = at[i] if i > 0 else begin
        for q in range(behind, len(ends)):
            run = at[ends[q]] - rule.crosscut - start
            if run >= rule.keeper_length:
                put_move(moves, count, i, ends[q], -1, piece_worth(run, wide, thin, rule))
                ended[ends[q]] = True
                count += 1
        if i > 0 and end - start + longer >= rule.keeper_length:
            put_move(moves, count, i, n, -1, piece_worth(end - start + longer, wide, thin, rule))
            count += 1
    return count


@inner
def list_stick(grain, arcs, arc, s, mask, rule, prices, above, alike, least, book):
    """List what a stick may hold that is worth ``least``; return the range in ``book.ids``."""
    arc = arcs.along[arc]
    name, like = mask * len(grain.allowed) + s, alike[min(1, mask), arc]
    listed = remembered(book, 2 * STICK, name, like, least)
    if listed[0] >= 0:
        return listed
    begin, end = arcs.start[arc], arcs.end[arc]
    longer = outer(grain, rule, begin, end, mask, above)
    beyond = outer(grain, rule, begin, end, mask, SURE)
    at, held, stops, fit = stick_places(grain, s, mask, prices, rule, begin, end, arcs.last_end[arc])
    n = len(at)
    moves, rest = stick_moves(grain, s, at, held, stops, fit, prices, rule, begin, end, longer, least)
    places = first_places(fit, held, mask)
    begun = book.used[STICK, 0]
    base, heads = begin_row(book, STICK, n)
    count, q = ZERO, 0
    for i in range(n + 1):
        if idle(heads, moves, q, i, n):
            continue
        count, top, _ = enter_node(book, STICK, base, heads, i, count, least - rest[i])
        while q < len(moves) and moves.from_node[q] == i:
            j, k, value = moves.to_node[q], moves.by[q], moves.value[q]
            q += 1
            needed = least - rest[j]
            if count == 0 or top + value < needed:
                continue
            start = at[i] - begin
            if k >= 0:
                stop = start + grain.spans[k]
                put_blank(
                    book, base, heads, i, j, count, k, places[k], needed, start, stop, stop < end - begin
                )  # fmt: skip
            else:
                stop = end + beyond - begin if j == n else at[j] - rule.crosscut - begin
                put_leftover(
                    book, STICK, base, heads, i, j, count, value, needed, REMAINDER, start if i > 0 else 0, stop,
                    False, j < n,
                )  # fmt: skip
        if stopped(book):
            return 0, 0
    listed = end_row(book, STICK, count, begun, WITH_BLANKS)
    write_down(book, 2 * STICK, name, like, least, listed)
    return listed


@inner
def list_strip(layout, side, grain, arcs, arc, piece, rule, prices, held, row, d, met, alike, least, book):
    """List what a strip may hold that is worth ``least``; ``met`` are the defects it meets on its own axis."""
    name, like = met * len(layout.firsts) + d, alike[min(1, met), arc]
    listed = remembered(book, 2 * STRIP + side, name, like, least)
    if listed[0] >= 0:
        return listed
    _, m, pieces = strip_row(layout, grain, arcs, arc, piece, rule, prices, held, row, d, met, WITH_DEFECTS)
    if m < 0:
        book.tally[FULL] = TABLE_FULL
        return 0, 0
    sizes, kinds = row.sizes, row.kinds
    du, kerf = layout.firsts[d, 0], max(layout.firsts[d, 1], 0)
    length = arcs.end[arc] - arcs.start[arc]
    _, box_v = boxes(layout, arcs, arc, piece.thickness)
    keep = layout.firsts[d, 1] >= 0 and length >= rule.keeper_length and du >= rule.narrowest
    _, grow_v = grown(piece.growth, arcs, arc, layout.first_is_y)
    if met == 0:
        for i in range(m):
            row.spots.held[i] = False
    moves, rest = row_moves(row, m, pieces, kerf, box_v, length, du, grow_v, NO_GROWTH, keep, rule, least)
    nodes, stops = row.spots.node[:m].copy(), row.spots.held[:m].copy()
    begun = book.used[STRIP, 0]
    base, heads = begin_row(book, STRIP, m)
    count, q = ZERO, 0
    for i in range(m + 1):
        if idle(heads, moves, q, i, m):
            continue
        count, top, top_fresh = enter_node(book, STRIP, base, heads, i, count, least - rest[i])
        while q < len(moves) and moves.from_node[q] == i:
            j, p, value = moves.to_node[q], moves.by[q], moves.value[q]
            q += 1
            held_here = p >= 0 and stops[i]
            first = top if held_here else top_fresh
            needed, v = least - rest[j], nodes[i]
            if count == 0 or first + value < needed:
                continue
            if p < 0:
                stop = box_v if j == m else nodes[j] - kerf
                put_leftover(
                    book, STRIP, base, heads, i, j, count, value, needed, KEEPER_STICK, v, stop, False, False
                )
                continue
            s, dv = kinds[p], sizes[p]
            mask = met
            if met > 0:
                mask &= axis_mask(arcs, arc, piece.defects, not layout.first_is_y, v, v + dv, rule)
                mask &= grain.cares[s]
            listed = list_stick(
                grain, arcs, arc, s, mask, rule, prices, held.above, alike, needed - first, book
            )
            put_on(
                book,
                STRIP,
                base,
                heads,
                i,
                j,
                count,
                held_here,
                listed,
                needed,
                OF_STICK,
                v,
                v + dv,
                s,
                0.0,
                False,
                False,
            )
        if stopped(book):
            return 0, 0
    listed = end_row(book, STRIP, count, begun, WITH_BLANKS)
    write_down(book, 2 * STRIP + side, name, like, least, listed)
    return listed


@inner
def list_billet(layout, side, grain, arcs, arc, piece, rule, prices, held, outer, row, alike, least, book):
    """List what a billet may hold in one layout that is worth ``least``."""
    like = alike[min(1, arcs.relevant[arc]), arc]
    listed = remembered(book, 2 * BILLET + side, ZERO, like, least)
    if listed[0] >= 0:
        return listed
    value, n = layout_value(layout, grain, arcs, arc, piece, rule, prices, held, outer, row, WITH_DEFECTS)
    if value < 0.0:
        book.tally[FULL] = TABLE_FULL
        return 0, 0
    sizes, kerf = layout.firsts[:, 0], max(layout.kerfs[arcs.clean[arc]], 0)
    length = arcs.end[arc] - arcs.start[arc]
    box_u, box_v = boxes(layout, arcs, arc, piece.thickness)
    keep = layout.kerfs[arcs.clean[arc]] >= 0 and length >= rule.keeper_length
    grow_u, grow_v = grown(piece.growth, arcs, arc, layout.first_is_y)
    moves, rest = row_moves(
        outer, n, len(sizes), kerf, box_u, length, box_v, grow_u, grow_v, keep, rule, least
    )
    nodes, stops = outer.spots.node[:n].copy(), outer.spots.held[:n].copy()
    begun = book.used[BILLET, 0]
    base, heads = begin_row(book, BILLET, n)
    count, q = ZERO, 0
    for i in range(n + 1):
        if idle(heads, moves, q, i, n):
            continue
        count, top, top_fresh = enter_node(book, BILLET, base, heads, i, count, least - rest[i])
        while q < len(moves) and moves.from_node[q] == i:
            j, d, value = moves.to_node[q], moves.by[q], moves.value[q]
            q += 1
            held_here = d >= 0 and stops[i]
            first = top if held_here else top_fresh
            needed, u = least - rest[j], nodes[i]
            if count == 0 or first + value < needed:
                continue
            if d < 0:
                stop = box_u if j == n else nodes[j] - kerf
                put_leftover(
                    book, BILLET, base, heads, i, j, count, value, needed, KEEPER_STRIP, u, stop, False, False
                )
                continue
            u_end = u + sizes[d]
            met = axis_mask(arcs, arc, piece.defects, layout.first_is_y, u, u_end, rule)
            listed = list_strip(
                layout,
                side,
                grain,
                arcs,
                arc,
                piece,
                rule,
                prices,
                held,
                row,
                d,
                met,
                alike,
                needed - first,
                book,
            )
            put_on(
                book,
                BILLET,
                base,
                heads,
                i,
                j,
                count,
                held_here,
                listed,
                needed,
                OF_STRIP,
                u,
                u_end,
                ZERO,
                0.0,
                False,
                False,
            )
        if stopped(book):
            return 0, 0
    listed = end_row(book, BILLET, count, begun, arcs.along[arc] != arc)
    write_down(book, 2 * BILLET + side, ZERO, like, least, listed)
    return listed


@frugal_inner
def put_sides(
    flat, turned, arc, grain, arcs, piece, rule, prices, held, rows, billets, alike, book,
    row, what, base, heads, i, j, count, held_here, first, needed, more, before, after,
):  # fmt: skip
    """Put a billet, or a half, in either layout on the labels at node ``i``, of which the best is worth ``first``.

    ``more``, ``before`` and ``after``: see :func:`yieldplan.solve.book.put_on`.
    """
    for side in range(2):
        value = billets.value[side, arc]
        if value <= 0.0 or first + value + more < needed or stopped(book):
            continue
        listed = list_billet(
            flat if side == 0 else turned, side, grain, arcs, arc, piece, rule, prices, held,
            rows[2 * side], rows[2 * side + 1], alike, needed - first - more, book,
        )  # fmt: skip
        put_on(
            book, row, base, heads, i, j, count, held_here, listed, needed, what, arc, side, ZERO,
            more, before, after,
        )  # fmt: skip


@inner
def list_split(flat, turned, near, grain, arcs, piece, rule, prices, held, rows, billets, alike, least, book):
    """List what a billet that is split into the half ``near`` and its twin may hold that is worth ``least``."""
    begun = book.used[SPLIT, 0]
    base, heads = begin_row(book, SPLIT, 2)
    count, rest = ZERO, half_value(billets.value, near) + half_value(billets.value, arcs.twin[near])
    for i in range(3):
        count, top, _ = enter_node(book, SPLIT, base, heads, i, count, least - rest)
        if i == 2 or count == 0:
            continue
        half = near if i == 0 else arcs.twin[near]
        rest -= half_value(billets.value, half)
        needed = least - rest
        put_sides(
            flat, turned, half, grain, arcs, piece, rule, prices, held, rows, billets, alike, book,
            SPLIT, OF_HALF, base, heads, i, i + 1, count, True, top, needed, 0.0, False, False,
        )  # fmt: skip
        if stopped(book):
            return 0, 0
    return end_row(book, SPLIT, count, begun, WITH_BLANKS)


@compiled
def list_cuttings(
    chain, flat, turned, grain, arcs, piece, rule, prices, held, rows, worked, anchor, alike, least, book
):
    """List the cuttings of an offcut worth ``least``; return the range in ``book.ids``, best first.

    The first arguments are those of :func:`yieldplan.solve.settle.settle`, by which every billet that can be part of
    such a cutting must have been worked out; ``anchor`` of the nodes along the offcut; ``alike`` (2, arcs) has one
    number for all billets that hold the same, first where no defect is met, then where one is.
    """
    begin, stops, nodes, billets = chain.begin, chain.stops, worked.nodes, worked.billets
    n = len(begin) - 1
    begun = book.used[OFFCUT, 0]
    base, heads = begin_row(book, OFFCUT, n)
    count = ZERO
    for i in range(n + 1):
        count, top, top_fresh = enter_node(book, OFFCUT, base, heads, i, count, least - nodes.rest[i])
        if i == n or count == 0:
            continue
        first = top if anchor[i] else top_fresh
        for arc in range(begin[i], begin[i + 1]):
            j, more = chain.next[arc], second_billet(chain, i)
            needed = least - nodes.rest[j]
            before, after = arcs.start[arc] > 0, arcs.end[arc] < chain.length
            put_sides(
                flat, turned, arc, grain, arcs, piece, rule, prices, held, rows, billets, alike, book,
                OFFCUT, OF_BILLET, base, heads, i, j, count, anchor[i], first, needed, more, before, after,
            )  # fmt: skip
            if stopped(book):
                return 0, 0
            for near in range(arcs.low[arc], arcs.high[arc]):
                value = half_value(billets.value, near) + half_value(billets.value, arcs.twin[near])
                if value <= 0.0 or first + value + more < needed:
                    continue
                listed = list_split(
                    flat, turned, near, grain, arcs, piece, rule, prices, held, rows, billets, alike,
                    needed - first - more, book,
                )  # fmt: skip
                put_on(
                    book, OFFCUT, base, heads, i, j, count, anchor[i], listed, needed, OF_SPLIT, near, ZERO, ZERO,
                    more, before, after,
                )  # fmt: skip
                if stopped(book):
                    return 0, 0
        for q in range(len(stops) - 1, -1, -1):
            j = stops[q]
            worth = whole_keeper(chain, piece, rule, i, j)
            if j < n and (worth < 0.0 or top_fresh + worth + nodes.rest[i + 1] < least):
                break
            needed = least - nodes.rest[j]
            if worth >= 0.0 and top_fresh + worth >= needed:
                before, after = chain.nodes[i] > 0, j < n
                put_leftover(
                    book, OFFCUT, base, heads, i, j, count, worth, needed, WHOLE, i, j, before, after
                )
        if stopped(book):
            return 0, 0
    return end_row(book, OFFCUT, count, begun, WITH_BLANKS)
