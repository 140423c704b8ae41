"""The outermost recurrence: billets and whole keepers along the offcut, looked at no closer than is needed.

A billet's value is first bounded by area, then by what it gives without its defects, and only then worked out.
Each bound is never below the next, so the best path is known once its billets are worked out, and billets that
cannot lie on a good path never are.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call"

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.solve.kernel import compiled, inner, piece_worth
from yieldplan.solve.layouts import layout_value, stick_value

if TYPE_CHECKING:
    from yieldplan.solve.kernel import Records

BY_AREA, CLEAN, EXACT = 0, 1, 2
"""How closely the value of a billet is known."""

FROM = np.dtype([("arc", np.int64), ("kept", np.int64)], align=True)
KEPT = np.dtype([("to", np.int64), ("worth", np.float64)], align=True)
VALUE = np.dtype([("value", np.float64), ("level", np.int64)], align=True)
REACH = np.dtype([("ahead", np.float64), ("rest", np.float64)], align=True)


class Chain(NamedTuple):
    """Segments along the offcut, as moves between n sorted nodes; node n is beyond the last.

    ``begin`` (n + 1,) of :data:`FROM` says where the billets that start at each node begin in their sorted order, and
    where the whole keepers do in ``kept``, of :data:`KEPT`. A whole keeper ends where a segment stands against
    something, or at end B: else it could be longer.
    """

    begin: Records
    kept: Records


class Worked(NamedTuple):
    """Values of billets (2, arcs) in each layout and how closely they are known; values up to and from each node."""

    billets: Records
    nodes: Records


@compiled
def whole_keepers(nodes, anchor, length, width, thickness, rule, begin):
    """Fill ``begin.kept`` of a :class:`Chain`; return what belongs there as arrays: to, worth."""
    n = len(nodes)
    to, worths = np.empty(0, np.int64), np.empty(0)
    count = 0
    for turn in range(2):
        if turn == 1:
            to, worths = np.empty(count, np.int64), np.empty(count)
        count = 0
        for i in range(n):
            begin.kept[i] = count
            for j in range(n, i, -1):
                if j < n and not anchor[j]:
                    continue
                run = (length if j == n else nodes[j] - rule.crosscut) - nodes[i]
                if run < rule.keeper_length:
                    break
                if run < length:
                    if turn == 1:
                        to[count] = j
                        worths[count] = piece_worth(run, width, thickness, rule)
                    count += 1
        begin.kept[n] = count
    return to, worths


@inner
def look_back(chain, arcs, worked):
    """Fill ``rest`` of the nodes: the best value that can be cut from each to end B."""
    begin, kept, rest, values = chain.begin, chain.kept, worked.nodes.rest, worked.billets.value
    n = len(begin) - 1
    rest[n] = 0.0
    for i in range(n - 1, -1, -1):
        best = rest[i + 1]
        for arc in range(begin.arc[i], begin.arc[i + 1]):
            value = max(values[0, arc], values[1, arc])
            if value > 0.0 and value + rest[arcs.next[arc]] > best:
                best = value + rest[arcs.next[arc]]
        for q in range(begin.kept[i], begin.kept[i + 1]):
            best = max(best, kept.worth[q] + rest[kept.to[q]])
        rest[i] = best


@inner
def look_ahead(chain, arcs, worked):
    """Fill ``ahead`` of the nodes: the best value that can be cut from end A up to each."""
    begin, kept, ahead, values = chain.begin, chain.kept, worked.nodes.ahead, worked.billets.value
    n = len(begin) - 1
    for i in range(n + 1):
        ahead[i] = 0.0
    for i in range(n):
        if i:
            ahead[i] = max(ahead[i], ahead[i - 1])
        for arc in range(begin.arc[i], begin.arc[i + 1]):
            value = max(values[0, arc], values[1, arc])
            if value > 0.0:
                j = arcs.next[arc]
                ahead[j] = max(ahead[j], ahead[i] + value)
        for q in range(begin.kept[i], begin.kept[i + 1]):
            j = kept.to[q]
            ahead[j] = max(ahead[j], ahead[i] + kept.worth[q])


@compiled
def bound_by_area(grain, arcs, piece, rule, prices, held, sections, worked, upper):
    """Put a bound of every billet into ``worked``: its box, a kerf larger each way, at the densest value.

    ``sections`` (S, 2) are the rough sizes of the sticks. Pieces a kerf larger each way do not overlap in that box.
    Where values are bounds themselves (``upper``) the box is that of the least loss, which no shorter billet exceeds.
    Returns False where the table is full.
    """
    kerf, none = rule.least_kerf, np.int64(0)
    for arc in range(len(arcs)):
        length = arcs.end[arc] - arcs.start[arc]
        edge, face = arcs.edge[arc], arcs.face[arc]
        if upper:
            edge, face = min(edge, int(piece.growth[0, 1])), min(face, int(piece.growth[1, 1]))
        high, deep = piece.width - edge, piece.thickness - face
        density, any_blank = 0.0, False
        for s in range(len(sections)):
            value = stick_value(held, grain, arcs, prices, rule, s, none, arc)
            if value < 0.0:
                return False
            any_blank = any_blank or value > 0.0
            density = max(density, value / (float(sections[s, 0] + kerf) * (sections[s, 1] + kerf)))
        if length >= rule.keeper_length:
            rate = 1.0 + rule.per_length * min(length, rule.full)
            density = max(density, length * rule.per_volume * rate)
        value = 0.0
        if any_blank and high > 0 and deep > 0:
            value = float(high + kerf) * float(deep + kerf) * density * (1.0 + 1e-9) + 1e-6
        for side in range(2):
            worked.billets.value[side, arc] = value
            worked.billets.level[side, arc] = BY_AREA if value > 0.0 else EXACT
    return True


@compiled
def best_path(chain, arcs, worked):
    """Return (segments, 3) one best path from end A: node, billet and its layout, or -1 and a whole keeper."""
    begin, kept, rest, values = chain.begin, chain.kept, worked.nodes.rest, worked.billets.value
    n, i, count = len(begin) - 1, 0, 0
    found = np.empty((n, 3), np.int64)
    while i < n:
        if rest[i + 1] >= rest[i]:
            i += 1
            continue
        found[count, 0], found[count, 1] = i, -1
        for arc in range(begin.arc[i], begin.arc[i + 1]):
            side = 1 if values[1, arc] > values[0, arc] else 0
            if values[side, arc] > 0.0 and values[side, arc] + rest[arcs.next[arc]] >= rest[i]:
                found[count, 1], found[count, 2] = arc, side
                i = arcs.next[arc]
                break
        if found[count, 1] < 0:
            for q in range(begin.kept[i], begin.kept[i + 1]):
                if kept.worth[q] + rest[kept.to[q]] >= rest[i]:
                    found[count, 2] = q
                    i = kept.to[q]
                    break
        count += 1
    return found[:count]


@inner
def best_is_exact(chain, arcs, worked):
    """Return whether every billet on one best path is worked out."""
    path = best_path(chain, arcs, worked)
    for s in range(len(path)):  # noqa: SIM110 - numba compiles no generator
        if path[s, 1] >= 0 and worked.billets.level[path[s, 2], path[s, 1]] < EXACT:
            return False
    return True


@compiled
def settle(chain, flat, turned, grain, arcs, piece, rule, prices, held, rows, worked, least, single, most):
    """Look closer at billets until every one that can lie on a path worth ``least`` is exact.

    ``flat`` and ``turned`` are the two layouts; ``rows`` scratch space for each (outer, inner). ``single``: only
    until one best path is, or is worth no more than ``least``. At most ``most`` closer looks. Returns 0 when done,
    1 when there is more to do, -1 where the table of values is full.
    """
    begin, nodes, billets = chain.begin, worked.nodes, worked.billets
    looks, part = 0, 0.002
    while True:
        look_back(chain, arcs, worked)
        best = nodes.rest[0]
        if single and (best <= least or best_is_exact(chain, arcs, worked)):
            return 0
        if looks >= most:
            return 1
        look_ahead(chain, arcs, worked)
        wanted = max(least, best * (1.0 - part)) if single else least
        before = looks
        for i in range(len(begin) - 1):
            for arc in range(begin.arc[i], begin.arc[i + 1]):
                reach = nodes.ahead[i] + nodes.rest[arcs.next[arc]]
                for side in range(2):
                    value = billets.value[side, arc]
                    if billets.level[side, arc] == EXACT or value <= 0.0 or reach + value < wanted:
                        continue
                    if not single and looks >= most:
                        return 1
                    looks += 1
                    clean = billets.level[side, arc] == BY_AREA
                    value, _ = layout_value(
                        flat if side == 0 else turned, grain, arcs, arc, piece, rule, prices, held,
                        rows[2 * side], rows[2 * side + 1], clean,
                    )  # fmt: skip
                    if value < 0.0:
                        return -1
                    billets.value[side, arc] = value
                    billets.level[side, arc] = CLEAN if clean and arcs.relevant[arc] != 0 else EXACT
        if looks == before and not single:
            return 0
        part *= 1.5 if looks - before < 10 else 0.5 if looks - before > 50 else 1.0
