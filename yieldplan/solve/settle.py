"""The outermost recurrence: billets and whole keepers along the offcut, looked at no closer than is needed.

A billet's value is first bounded by area, then by what it gives without its defects, and only then worked out.
Each bound is never below the next, so the best path is known once its billets are worked out, and billets that
cannot lie on a good path never are.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call"

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.solve.kernel import compiled, frugal, frugal_inner, inner, piece_worth
from yieldplan.solve.layouts import layout_value, stick_value

if TYPE_CHECKING:
    from yieldplan.solve.kernel import Floats, Ints, Records

BY_AREA, CLEAN, EXACT = 0, 1, 2
"""How closely the value of a billet is known."""

VALUE = np.dtype([("value", np.float64), ("level", np.int64)], align=True)
REACH = np.dtype([("ahead", np.float64), ("rest", np.float64)], align=True)


class Chain(NamedTuple):
    """Segments along the offcut, as moves between n sorted ``nodes``; node n is beyond the last.

    ``begin`` (n + 1,) says where the billets that start at each node begin in their sorted order, ``next`` (arcs,) at
    which node the segment behind each may start. A whole keeper starts at one of the ``leaves``, where a billet has
    just ended or at end A, and ends at one of the ``stops``, where a billet that stands against something begins, or at
    end B (n): else it could be longer. ``length`` is the offcut's. A billet that starts at node ``second`` or beyond,
    so that there may be another before it, counts for ``more``: 0 but for bounds (:mod:`yieldplan.solve.parting`).
    """

    nodes: Ints
    begin: Ints
    next: Ints
    leaves: Ints
    stops: Ints
    length: int
    second: int
    more: float


WHOLE_SIDES = 2
"""On a path, sides below this are a billet's layouts; from there on they name the near half of a split one."""


class Worked(NamedTuple):
    """Values of billets and halves (2, arcs) in each layout, how closely known; values up to and from each node.

    ``clean`` (2, arcs) are the values of models without their defects, -1 where they were not asked for yet.
    """

    billets: Records
    clean: Floats
    nodes: Records


BLOCK = 32
"""Places where whole keepers end, or start, that are passed over together."""


@frugal_inner
def whole_keeper(chain, piece, rule, i, j):
    """Return the worth of a whole keeper from node i to node j; -1 where it is none."""
    run = (chain.length if j == len(chain.nodes) else chain.nodes[j] - rule.crosscut) - chain.nodes[i]
    if run < rule.keeper_length or run == chain.length:
        return -1.0
    return piece_worth(run, piece.width, piece.thickness, rule)


@frugal_inner
def keep_behind(chain, piece, rule, rest, i, best):
    """Return the most that a whole keeper from node i and what follows it are worth, or ``best`` if that is more.

    Of the keepers that end in a block the longest is worth most, and what follows the shortest: a bound of all of them.
    """
    stops, n = chain.stops, len(chain.nodes)
    for block in range((len(stops) - 1) // BLOCK, -1, -1):
        low, high = block * BLOCK, min(len(stops), (block + 1) * BLOCK)
        most = whole_keeper(chain, piece, rule, i, stops[high - 1])
        if most < 0.0 and stops[high - 1] < n:
            break
        if most >= 0.0 and most + rest[max(stops[low], i + 1)] <= best:
            continue
        for q in range(high - 1, low - 1, -1):
            worth = whole_keeper(chain, piece, rule, i, stops[q])
            if worth >= 0.0:
                best = max(best, worth + rest[stops[q]])
            elif stops[q] < n:
                break
    return best


@frugal_inner
def keep_before(chain, piece, rule, ahead, j, best):
    """Return the most that a whole keeper up to node j and what lies before it are worth, or ``best``."""
    leaves = chain.leaves
    for low in range(0, len(leaves), BLOCK):
        high = min(len(leaves), low + BLOCK)
        most = whole_keeper(chain, piece, rule, leaves[low], j)
        if most < 0.0 and leaves[low] > 0:
            break
        if most >= 0.0 and most + ahead[min(leaves[high - 1], j - 1)] <= best:
            continue
        for q in range(low, high):
            worth = whole_keeper(chain, piece, rule, leaves[q], j)
            if worth >= 0.0:
                best = max(best, ahead[leaves[q]] + worth)
            elif leaves[q] > 0:
                break
    return best


@frugal_inner
def steepest(chain, piece, rule):
    """Return more than a whole keeper is worth for each step of its length: worth grows faster than length."""
    volume = float(piece.width) * piece.thickness * rule.per_volume
    return volume * (1.0 + rule.per_length * min(chain.length, rule.full)) * (1.0 + 1e-9) + 1e-12


@frugal_inner
def half_value(values, arc):
    """Return the value of a half of a split billet; 0 where it is waste."""
    return max(values[0, arc], values[1, arc], 0.0)


@frugal_inner
def billet_value(arcs, values, arc):
    """Return the value of a billet: whole in either layout, or split in any way."""
    best = max(values[0, arc], values[1, arc])
    for near in range(arcs.low[arc], arcs.high[arc]):
        best = max(best, half_value(values, near) + half_value(values, arcs.twin[near]))
    return best


@frugal_inner
def second_billet(chain, i):
    """Return what a billet from node i counts for besides its value: for bounds, where it may have a neighbour."""
    return chain.more if i >= chain.second else 0.0


@frugal_inner
def look_back(chain, arcs, piece, rule, worked):
    """Fill ``rest`` of the nodes: the best value that can be cut from each to end B.

    Whole keepers are asked for only where a straight line above their worth says that one could be best.
    """
    begin, rest, values = chain.begin, worked.nodes.rest, worked.billets.value
    nodes, stops, n = chain.nodes, chain.stops, len(chain.nodes)
    leaf, stop, slope, most = len(chain.leaves) - 1, len(stops), steepest(chain, piece, rule), -np.inf
    rest[n] = 0.0
    for i in range(n - 1, -1, -1):
        best, more = rest[i + 1], second_billet(chain, i)
        for arc in range(begin[i], begin[i + 1]):
            value = billet_value(arcs, values, arc)
            if value > 0.0 and value + more + rest[chain.next[arc]] > best:
                best = value + more + rest[chain.next[arc]]
        if leaf >= 0 and chain.leaves[leaf] == i and rule.keeper_length <= chain.length:
            leaf -= 1
            while stop > 0:
                at = chain.length if stops[stop - 1] == n else nodes[stops[stop - 1]] - rule.crosscut
                if at - nodes[i] < rule.keeper_length:
                    break
                stop -= 1
                most = max(most, rest[stops[stop]] + slope * at)
            if most - slope * nodes[i] > best - 1e-3:
                best = keep_behind(chain, piece, rule, rest, i, best)
        rest[i] = best


@frugal_inner
def look_ahead(chain, arcs, piece, rule, worked):
    """Fill ``ahead`` of the nodes: the best value that can be cut from end A up to each."""
    begin, ahead, values = chain.begin, worked.nodes.ahead, worked.billets.value
    nodes, leaves, n = chain.nodes, chain.leaves, len(chain.nodes)
    stop, leaf, slope, most = 0, 0, steepest(chain, piece, rule), -np.inf
    for i in range(n + 1):
        ahead[i] = 0.0
    for i in range(n + 1):
        if i:
            ahead[i] = max(ahead[i], ahead[i - 1])
        if chain.stops[stop] == i and rule.keeper_length <= chain.length:
            stop += 1
            at = chain.length if i == n else nodes[i] - rule.crosscut
            while leaf < len(leaves) and at - nodes[leaves[leaf]] >= rule.keeper_length:
                most = max(most, ahead[leaves[leaf]] - slope * nodes[leaves[leaf]])
                leaf += 1
            if most + slope * at > ahead[i] - 1e-3:
                ahead[i] = keep_before(chain, piece, rule, ahead, i, ahead[i])
        if i == n:
            break
        more = second_billet(chain, i)
        for arc in range(begin[i], begin[i + 1]):
            value = billet_value(arcs, values, arc)
            if value > 0.0:
                j = chain.next[arc]
                ahead[j] = max(ahead[j], ahead[i] + value + more)


@frugal
def bound_by_area(grain, arcs, piece, rule, prices, held, sections, worked, upper):
    """Put a bound of every billet into ``worked``: its box, a kerf larger each way, at the densest value.

    ``sections`` (S, 2) are the rough sizes of the sticks. Pieces a kerf larger each way do not overlap in that box.
    Where values are bounds themselves (``upper``) the box is that of the least loss, which no shorter billet exceeds.
    What bounds a model bounds the billets that are like it. Where no leftover counts only lean billets do. Returns
    False where the table is full.
    """
    for arc in range(len(arcs)):
        if arcs.model[arc] != arc:
            continue
        value = area_value(grain, arcs, arc, piece, rule, prices, held, sections, upper)
        if value < 0.0:
            return False
        worked.billets.value[0, arc] = value
    for arc in range(len(arcs)):
        worked.billets.value[1, arc] = worked.billets.value[0, arcs.model[arc]]
    for arc in range(len(arcs)):
        value = worked.billets.value[1, arc] if rule.per_volume > 0.0 or arcs.lean[arc] else 0.0
        for side in range(2):
            worked.billets.value[side, arc] = value
            worked.billets.level[side, arc] = BY_AREA if value > 0.0 else EXACT
    return True


@frugal_inner
def area_value(grain, arcs, arc, piece, rule, prices, held, sections, upper):
    """Return the bound of one billet by area; -1 where the table is full."""
    kerf, none = rule.least_kerf, np.int64(0)
    length = arcs.end[arc] - arcs.start[arc]
    edge, face = arcs.edge[arc], arcs.face[arc]
    if upper:
        edge = min(edge, int(piece.growth[0, 1])) - arcs.wider[arc]
        face = min(face, arcs.least[arc]) - arcs.deeper[arc]
    high, deep = arcs.width[arc] - edge, piece.thickness - face
    density, any_blank = 0.0, arcs.along[arc] != arc  # a half may go without, if the other does not
    for s in range(len(sections)):
        value = stick_value(held, grain, arcs, prices, rule, s, none, arc)
        if value < 0.0:
            return -1.0
        any_blank = any_blank or value > 0.0
        density = max(density, value / (float(sections[s, 0] + kerf) * (sections[s, 1] + kerf)))
    if length >= rule.keeper_length:
        rate = 1.0 + rule.per_length * min(length, rule.full)
        density = max(density, length * rule.per_volume * rate)
    if any_blank and high > 0 and deep > 0:
        return float(high + kerf) * float(deep + kerf) * density * (1.0 + 1e-9) + 1e-6
    return 0.0


@compiled
def best_path(chain, arcs, piece, rule, worked):
    """Return (segments, 3) one best path from end A: node, billet and its side, or -1 and where a keeper ends.

    A side is a layout, or ``WHOLE_SIDES`` and the near half of a split billet.
    """
    begin, stops, rest, values = chain.begin, chain.stops, worked.nodes.rest, worked.billets.value
    n, i, count = len(chain.nodes), 0, 0
    found = np.empty((n, 3), np.int64)
    while i < n:
        if rest[i + 1] >= rest[i]:
            i += 1
            continue
        found[count, 0], found[count, 1] = i, -1
        more = second_billet(chain, i)
        for arc in range(begin[i], begin[i + 1]):
            side = 1 if values[1, arc] > values[0, arc] else 0
            value = values[side, arc]
            for near in range(arcs.low[arc], arcs.high[arc]):
                both = half_value(values, near) + half_value(values, arcs.twin[near])
                if both > value:
                    value, side = both, WHOLE_SIDES + near
            if value > 0.0 and value + more + rest[chain.next[arc]] >= rest[i]:
                found[count, 1], found[count, 2] = arc, side
                i = chain.next[arc]
                break
        if found[count, 1] < 0:
            for q in range(len(stops) - 1, -1, -1):
                worth = whole_keeper(chain, piece, rule, i, stops[q])
                if worth >= 0.0 and worth + rest[stops[q]] >= rest[i]:
                    found[count, 2] = stops[q]
                    i = stops[q]
                    break
        count += 1
    return found[:count]


@inner
def best_is_exact(chain, arcs, piece, rule, worked):
    """Return whether every billet on one best path is worked out."""
    path, billets = best_path(chain, arcs, piece, rule, worked), worked.billets
    for s in range(len(path)):
        arc, side = path[s, 1], path[s, 2]
        if arc >= 0 and side < WHOLE_SIDES:
            if billets.level[side, arc] < EXACT:
                return False
        elif arc >= 0:
            near = side - WHOLE_SIDES
            for half in (near, arcs.twin[near]):
                side = 1 if billets.value[1, half] > billets.value[0, half] else 0
                if billets.value[side, half] > 0.0 and billets.level[side, half] < EXACT:
                    return False
    return True


@frugal_inner
def look_closer(flat, turned, grain, arcs, arc, side, piece, rule, prices, held, rows, worked):
    """Look once more at a billet or half in one layout.

    Returns 1 where something had to be worked out, 0 where it was known, -1 where the table of values is full.
    """
    billets = worked.billets
    clean = billets.level[side, arc] == BY_AREA
    model = arcs.model[arc] if clean else arc
    value, looks = worked.clean[side, model] if clean else -1.0, 0
    if value < 0.0:
        looks = 1
        value, _ = layout_value(
            flat if side == 0 else turned, grain, arcs, model, piece, rule, prices, held,
            rows[2 * side], rows[2 * side + 1], clean,
        )  # fmt: skip
        if value < 0.0:
            return -1
    if clean:
        worked.clean[side, model] = value
    exact = not clean or (arcs.relevant[arc] == 0 and (arcs.rooted[arc] or model == arc))
    billets.value[side, arc] = min(value, billets.value[side, arc])
    billets.level[side, arc] = EXACT if exact else CLEAN
    return looks


@frugal_inner
def next_half(arcs, billets, arc, reach, wanted):
    """Return a half of a split billet, and its side, that is worth a closer look; -1 where there is none."""
    values = billets.value
    for near in range(arcs.low[arc], arcs.high[arc]):
        far = arcs.twin[near]
        if reach + half_value(values, near) + half_value(values, far) < wanted:
            continue
        for half, other in ((near, far), (far, near)):
            rest = reach + half_value(values, other)
            for side in range(2):
                value = values[side, half]
                if billets.level[side, half] < EXACT and value > 0.0 and rest + value >= wanted:
                    return half, side
    return -1, 0


@frugal
def settle(chain, flat, turned, grain, arcs, piece, rule, prices, held, rows, worked, least, single, most):
    """Look closer at billets until every one that can lie on a path worth ``least`` is exact.

    ``flat`` and ``turned`` are the two layouts; ``rows`` scratch space for each (outer, inner). ``single``: only
    until one best path is, or is worth no more than ``least``. At most ``most`` closer looks. Returns 0 when done,
    1 when there is more to do, -1 where the table of values is full.
    """
    begin, nodes, billets = chain.begin, worked.nodes, worked.billets
    looks, part = 0, 0.002
    few = 10 + len(arcs) // 256  # so that walking along all billets does not take longer than looking at some
    while True:
        look_back(chain, arcs, piece, rule, worked)
        best = nodes.rest[0]
        if single and (best <= least or best_is_exact(chain, arcs, piece, rule, worked)):
            return 0
        if looks >= most:
            return 1
        look_ahead(chain, arcs, piece, rule, worked)
        held.work[0] += 0.05 * len(arcs)
        wanted = max(least, best * (1.0 - part)) if single else least
        before, changes = looks, 0
        for i in range(len(begin) - 1):
            for arc in range(begin[i], begin[i + 1]):
                reach = nodes.ahead[i] + second_billet(chain, i) + nodes.rest[chain.next[arc]]
                for side in range(2):
                    value = billets.value[side, arc]
                    if billets.level[side, arc] == EXACT or value <= 0.0 or reach + value < wanted:
                        continue
                    if not single and looks >= most:
                        return 1
                    more = look_closer(
                        flat, turned, grain, arcs, arc, side, piece, rule, prices, held, rows, worked
                    )  # fmt: skip
                    if more < 0:
                        return -1
                    looks, changes = looks + more, changes + 1
                half, side = next_half(arcs, billets, arc, reach, wanted)
                while half >= 0:
                    if not single and looks >= most:
                        return 1
                    more = look_closer(
                        flat, turned, grain, arcs, half, side, piece, rule, prices, held, rows, worked
                    )  # fmt: skip
                    if more < 0:
                        return -1
                    looks, changes = looks + more, changes + 1
                    half, side = next_half(arcs, billets, arc, reach, wanted)
        if changes == 0 and not single:
            return 0
        part *= 1.5 if looks - before < few else 0.5 if looks - before > 5 * few else 1.0
