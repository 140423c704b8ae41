"""The innermost recurrence: what a stick holds along the grain.

With G(p) the best value of what lies before position p, where the next piece may start at p:
G(p + length + kerf) = max of itself and G(p) + price(blank); leftovers count by their worth. A blank starts where
a piece has just ended, or at an anchor: else it could be pushed on towards end A.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call"

from __future__ import annotations

import numpy as np

from yieldplan.solve.kernel import compiled, frugal_inner, inner, piece_worth, rank

STEP = np.dtype(
    [("best", np.float64), ("bare", np.float64), ("fresh", np.bool_), ("origin", np.int64), ("by", np.int64)],
    align=True,
)
"""Scratch space of the recurrence at a node: its value, that of a leftover alone before it, whether a piece has just
ended, and from which node and by which kind (-1: a leftover)."""

END = np.dtype([("value", np.float64), ("origin", np.int64), ("by", np.int64)], align=True)
"""The same where a blank ends."""


@frugal_inner
def fits(place, mask):
    """Return whether a blank may lie at a place in a stick that meets these defects (R1, R9)."""
    if not place.inside or mask & place.spoilt:
        return False
    return mask & place.dull_a == 0 or mask & place.dull_b == 0


@frugal_inner
def touches(start, end, clear, mask, defects):
    """Return whether a blank stands against a defect of the set, or its clear end does: it could not move on."""
    for d in range(len(defects)):
        if mask >> d & 1:
            low, high = defects[d, 0], defects[d, 1]
            if low == end or high == start or (clear > 0 and (start + clear == low or end - clear == high)):
                return True
    return False


@inner
def stopped_nodes(grain, stick, mask, rule, first, beyond, last_end, wanted):
    """Return at which nodes, from ``first`` on, blanks may begin, a kerf apart, of which one cannot move on.

    It stands against a defect, or where the last blank of a billet ends: at one of the ``wanted`` ends. No other place
    is worth a leftover before it: together with what is left behind the blanks that would be worth more if they were
    moved one way or the other.
    """
    nodes = grain.nodes
    found = np.zeros(max(0, beyond - first) + 1, np.bool_)
    for i in range(beyond - 1, first - 1, -1):
        for k in range(len(grain.spans)):
            place = grain.places[k, i]
            if not grain.allowed[stick, k] or place.end > last_end or not fits(place, mask):
                continue
            stop = nodes[i] + grain.spans[k]
            if (
                wanted[place.end]
                or stop == grain.limit
                or (
                    place.next < beyond
                    and found[place.next - first]
                    and nodes[place.next] == stop + rule.crosscut
                )
                or touches(nodes[i], stop, grain.clears[k], mask, grain.defects)
            ):
                found[i - first] = True
                break
    return found


@frugal_inner
def reach(grain, arcs, rule, arc):
    """Return the first node of the billets of the group of ``arc``, and the node beyond their last."""
    nodes, n = grain.nodes, len(grain.nodes)
    begin, furthest = arcs.start[arc] + rule.snipe, arcs.end[arcs.beyond[arc] - 1]
    return rank(nodes, n, begin), rank(nodes, n, furthest)


@inner
def run_along(grain, arcs, stick, mask, prices, rule, arc, run, ended):
    """Fill ``run`` and ``ended`` for the billets of the group of ``arc``.

    Returns the first node, the node beyond the last, and the first end.
    """
    nodes, n = grain.nodes, len(grain.nodes)
    last = arcs.beyond[arc] - 1
    begin, last_end = arcs.start[arc], arcs.last_end[last]
    wide, thin = grain.sections[stick, 0], grain.sections[stick, 1]
    first, beyond = reach(grain, arcs, rule, arc)
    low = grain.ends
    if first < n:
        for k in range(len(prices)):
            low = min(low, grain.places.end[k, first])
    for i in range(first, n + 1):
        run.best[i] = -1.0
        run.bare[i] = 0.0  # before the first blank: a stick of leftovers alone is none
        run.origin[i] = -1
    for i in range(low, last_end + 1):
        ended.value[i] = 0.0
        ended.origin[i] = -1
    split = wide > 0 and mask > 0  # without defects a leftover does as well at the end
    after = np.empty(0, np.int64)  # where a leftover may end
    if split:
        wanted = np.zeros(grain.ends, np.bool_)
        for one in range(arcs.first[arc], arcs.beyond[arc]):
            wanted[max(arcs.last_end[one], 0)] = True
        held = stopped_nodes(grain, stick, mask, rule, first, beyond, last_end, wanted)
        for j in range(first, beyond):
            held[j - first] &= grain.anchor[j]
        after = np.nonzero(held)[0] + first
        for j in after:
            if nodes[j] >= begin + rule.crosscut + rule.keeper_length:
                run.bare[j] = piece_worth(nodes[j] - rule.crosscut - begin, wide, thin, rule)
    for i in range(first, beyond):
        run.fresh[i] = i > first and run.best[i] > run.best[i - 1]
        if i > first and not run.fresh[i]:
            run.best[i] = run.best[i - 1]
        here = max(run.best[i], run.bare[i])
        if not (run.fresh[i] or i == first or grain.anchor[i]):
            continue
        for k in range(len(prices)):
            if grain.allowed[stick, k] and fits(grain.places[k, i], mask):
                value = here + prices[k]
                end, j = grain.places.end[k, i], grain.places.next[k, i]
                if end <= last_end and value > ended.value[end]:
                    ended.value[end] = value
                    ended.origin[end], ended.by[end] = i, k
                if value > run.best[j]:
                    run.best[j] = value
                    run.origin[j], run.by[j] = i, k
        if split and run.fresh[i]:
            for j in after[::-1]:
                if nodes[j] < nodes[i] + rule.crosscut + rule.keeper_length:
                    break
                value = run.best[i] + piece_worth(nodes[j] - rule.crosscut - nodes[i], wide, thin, rule)
                if value > run.best[j]:
                    run.best[j] = value
                    run.origin[j], run.by[j] = i, -1
    for i in range(low + 1, last_end + 1):
        if ended.value[i - 1] >= ended.value[i]:
            ended.value[i] = ended.value[i - 1]
            ended.origin[i], ended.by[i] = ended.origin[i - 1], ended.by[i - 1]
    return first, beyond, low


@frugal_inner
def lies(grain, k, at, mask):
    """Return whether a blank may lie at any place in a stick that meets these defects (R1, R9)."""
    stop, clear = at + grain.spans[k], grain.clears[k]
    if at < grain.trim or stop > grain.limit or grain.minds[k] & mask >> grain.flaws << grain.flaws:
        return False
    dull_a = dull_b = False
    for d in range(grain.flaws):
        low, high = grain.defects[d, 0], grain.defects[d, 1]
        if mask >> d & 1 and low < stop and at < high:
            if grain.minds[k] >> d & 1:
                return False
            dull_a |= clear > 0 and at < high and low < at + clear
            dull_b |= clear > 0 and stop - clear < high and low < stop
    return not (dull_a and dull_b)


@inner
def blocks_from(grain, stick, mask, prices, rule, begin, stop):
    """Return (M,) the best value of blocks that end at ``stop``, and (M, 2) the first blank of each and what follows.

    The latter is a block too, -1 where there is none. Blocks leave room for a remainder before them; -1.0 where that
    cannot be. It is the recurrence of this module from the other end.
    """
    blocks, count = grain.blocks, len(grain.blocks)
    values, path = np.full(count, -1.0), np.full((count, 2), -1)
    room = stop - begin - rule.crosscut - rule.keeper_length
    for j in range(-1, count):
        if j >= 0 and (blocks[j] > room or values[j] < 0.0):
            continue
        here = values[j] if j >= 0 else 0.0
        for k in range(len(prices)):
            on = grain.onward[j + 1, k]
            if on < 0 or not grain.allowed[stick, k] or blocks[on] > room:
                continue
            value = here + prices[k]
            if value > values[on] and lies(grain, k, stop - blocks[on], mask):
                values[on] = value
                path[on, 0], path[on, 1] = k, j
    return values, path


@frugal_inner
def last_place(grain, rule, end):
    """Return where the last blank of a billet may end."""
    return end - max(rule.snipe, end - grain.limit)


@frugal_inner
def note_ends(grain, arcs, rule, arc, run, behind):
    """Note in ``behind`` the value of what has just ended at each node of a group, -1 where nothing has."""
    first, beyond = reach(grain, arcs, rule, arc)
    for i in range(first, beyond):
        behind[i] = run.best[i] if run.fresh[i] else -1.0


@inner
def pushed_on(grain, arcs, stick, mask, prices, rule, arc, value, behind):
    """Return the best value of a stick with blanks pushed to its end behind a remainder, or ``value`` if that is more.

    Where a stick meets defects that may be more than blanks pushed to its start, or against a defect, leave over.
    ``behind`` is that of :func:`note_ends`. Also returned: which block it is (-1: none) and at which node the remainder
    begins (-1: at the stick's start).
    """
    begin, end = arcs.start[arc], arcs.end[arc]
    stop = last_place(grain, rule, end)
    block, node = -1, -1
    if len(grain.blocks) == 0 or stop - begin - rule.crosscut - rule.keeper_length < grain.blocks[0]:
        return value, block, node
    first, beyond = reach(grain, arcs, rule, arc)
    wide, thin = grain.sections[stick, 0], grain.sections[stick, 1]
    values, _ = blocks_from(grain, stick, mask, prices, rule, begin, stop)
    most = 0.0
    for i in range(first, beyond):
        most = max(most, behind[i])
    for j in range(len(values)):
        if values[j] < 0.0:
            continue
        left = stop - grain.blocks[j] - rule.crosscut
        bare = piece_worth(left - begin, wide, thin, rule)
        if values[j] + bare > value:
            value, block, node = values[j] + bare, j, -1
        if values[j] + bare + most <= value:
            continue
        for i in range(first, beyond):
            if grain.nodes[i] > left - rule.keeper_length:
                break
            if behind[i] >= 0.0:
                found = values[j] + behind[i] + piece_worth(left - grain.nodes[i], wide, thin, rule)
                if found > value:
                    value, block, node = found, j, i
    return value, block, node


QUICK, SURE, ABOVE = -1, 0, 1
"""What remainders count for: what they are worth, unless that is laborious (:func:`pushed_on`); what they are worth; or
more (:func:`outer`)."""


@frugal_inner
def outer(grain, rule, begin, end, mask, above):
    """Return by how much longer the last remainder of a stick may be if it lies before the blanks instead.

    Blanks keep clear of the offcut's trim and of snipe, a remainder does not: it is best put at the end of the billet
    that more would be lost at. Without defects the blanks can be moved on to make room (with them see
    :func:`pushed_on`). Where a remainder at each end may be better than one, what both ends would give is a bound
    (``above``).
    """
    near, far = max(rule.snipe, grain.trim - begin), max(rule.snipe, end - grain.limit)
    if above == ABOVE:
        return near
    return max(0, near - far) if mask == 0 else 0


@inner
def fill_row(grain, arcs, stick, mask, prices, rule, arc, above, values, run, ended):
    """Put the best value of what a stick holds into ``values`` (arcs,) for every billet of the group of ``arc``.

    ``above`` says what remainders count for. Where :func:`pushed_on` is still to be asked, it is :func:`unasked`.
    """
    low, high, begin = arcs.first[arc], arcs.beyond[arc], arcs.start[arc]
    first, beyond, lowest = run_along(grain, arcs, stick, mask, prices, rule, arc, run, ended)
    wide, thin = grain.sections[stick, 0], grain.sections[stick, 1]
    after = np.empty(beyond - first if beyond > first else 0, np.int64)
    count = 0
    if wide > 0:
        for j in range(first, beyond):
            if run.fresh[j]:
                after[count] = j
                count += 1
    for one in range(low, high):
        value = ended.value[arcs.last_end[one]] if arcs.last_end[one] >= lowest else 0.0
        longer = outer(grain, rule, begin, arcs.end[one], mask, above)
        for q in range(count):
            length = arcs.end[one] - grain.nodes[after[q]] + longer
            if length < rule.keeper_length:
                break
            value = max(value, run.best[after[q]] + piece_worth(length, wide, thin, rule))
        values[one] = unasked(value) if mask > 0 and wide > 0 else value


@frugal_inner
def unasked(value):
    """Return a value, and a value from that, told from all others: the former are at least 0."""
    return -2.0 - value


@compiled
def trace_stick(grain, arcs, stick, mask, prices, rule, arc, run, ended):
    """Return (pieces, 3) one best content of a stick, last piece first.

    Each is its kind (-1: a leftover), from and to on the offcut; a leftover that goes beyond the billet's end belongs
    before the blanks (:func:`outer`).
    """
    begin, end = arcs.start[arc], arcs.end[arc]
    last_end = arcs.last_end[arc]
    first, beyond, lowest = run_along(grain, arcs, stick, mask, prices, rule, arc, run, ended)
    wide, thin = grain.sections[stick, 0], grain.sections[stick, 1]
    found = np.empty((2 * len(grain.nodes) + len(grain.blocks) + 2, 3), np.int64)
    count, at, by = 0, -1, -1
    value = 0.0
    if last_end >= lowest:
        value, at, by = ended.value[last_end], ended.origin[last_end], ended.by[last_end]
    longer = outer(grain, rule, begin, end, mask, SURE)
    if wide > 0:
        for j in range(first, beyond):
            length = end - grain.nodes[j] + longer
            if length < rule.keeper_length:
                break
            worth = run.best[j] + piece_worth(length, wide, thin, rule)
            if run.fresh[j] and worth > value:
                value, at, by = worth, j, -1
    limit = end + longer
    if wide > 0 and mask > 0:
        behind = np.empty(len(grain.nodes))
        note_ends(grain, arcs, rule, arc, run, behind)
        _, block, node = pushed_on(grain, arcs, stick, mask, prices, rule, arc, value, behind)
        if block >= 0:
            stop = last_place(grain, rule, end)
            _, path = blocks_from(grain, stick, mask, prices, rule, begin, stop)
            limit, at, by = stop - grain.blocks[block] - rule.crosscut, node, -1
            while block >= 0:
                start = stop - grain.blocks[block]
                found[count, 0], found[count, 1] = path[block, 0], start
                found[count, 2] = start + grain.spans[path[block, 0]]
                count += 1
                block = path[block, 1]
            found[:count] = found[:count][::-1].copy()
            if node < 0:
                found[count, 0], found[count, 1], found[count, 2] = -1, begin, limit
                return found[: count + 1]
    while at >= 0:
        stop = grain.nodes[at] + grain.spans[by] if by >= 0 else limit
        found[count, 0], found[count, 1], found[count, 2] = by, grain.nodes[at], stop
        count += 1
        if by >= 0 and run.bare[at] > max(run.best[at], 0.0):
            found[count, 0], found[count, 1], found[count, 2] = -1, begin, grain.nodes[at] - rule.crosscut
            return found[: count + 1]
        while at > first and not run.fresh[at]:
            at -= 1
        if at == first:
            break
        limit = grain.nodes[at] - rule.crosscut
        at, by = run.origin[at], run.by[at]
    return found[:count]
