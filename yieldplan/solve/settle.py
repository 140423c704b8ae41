"""The outermost recurrence: billets and whole keepers along the offcut, looked at no closer than is needed.

A billet's value is first bounded by area, then by what it gives without its defects, and only then worked out.
Each bound is never below the next, so the best path is known once its billets are worked out, and billets that
cannot lie on a good path never are.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call"

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

from yieldplan.solve.kernel import piece_worth
from yieldplan.solve.layouts import layout_value, stick_value

if TYPE_CHECKING:
    from yieldplan.solve.kernel import Flags, Floats, Ints

BY_AREA, CLEAN, EXACT = 0, 1, 2


class Chain(NamedTuple):
    """Segments along the offcut, as moves between sorted nodes; node n is beyond the last.

    ``first_arc`` (n + 1,) says where the billets that start at each node begin, in their sorted order; ``next_node``
    (arcs,) where the next piece may start after each. ``first_kept`` (n + 1,), ``kept_to`` and ``kept_worth`` are
    the same of whole keepers. A whole keeper ends where a segment stands against something (``anchor``), or at
    end B: else it could be longer.
    """

    nodes: Ints
    anchor: Flags
    first_arc: Ints
    next_node: Ints
    first_kept: Ints
    kept_to: Ints
    kept_worth: Floats


class Worked(NamedTuple):
    """Values of billets (2, arcs) in each layout and how closely they are known; values from and to each node."""

    values: Floats
    level: Ints
    rest: Floats
    ahead: Floats


@njit(cache=True, nogil=True)
def whole_keepers(nodes, anchor, length, width, thickness, rule):
    """Return ``first_kept``, ``kept_to`` and ``kept_worth`` of a :class:`Chain`."""
    n = len(nodes)
    first = np.zeros(n + 1, np.int64)
    count = 0
    for turn in range(2):
        if turn == 1:
            to, worths = np.empty(count, np.int64), np.empty(count)
        count = 0
        for i in range(n):
            first[i] = count
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
        first[n] = count
    return first, to, worths


@njit(cache=True, nogil=True)
def look_back(chain, worked):
    """Fill ``rest`` (n + 1,): the best value that can be cut from each node to end B."""
    n = len(chain.nodes)
    rest, values = worked.rest, worked.values
    rest[n] = 0.0
    for i in range(n - 1, -1, -1):
        best = rest[i + 1]
        for arc in range(chain.first_arc[i], chain.first_arc[i + 1]):
            value = max(values[0, arc], values[1, arc])
            if value > 0.0 and value + rest[chain.next_node[arc]] > best:
                best = value + rest[chain.next_node[arc]]
        for q in range(chain.first_kept[i], chain.first_kept[i + 1]):
            best = max(best, chain.kept_worth[q] + rest[chain.kept_to[q]])
        rest[i] = best


@njit(cache=True, nogil=True)
def look_ahead(chain, worked):
    """Fill ``ahead`` (n + 1,): the best value that can be cut from end A up to each node."""
    n = len(chain.nodes)
    ahead, values = worked.ahead, worked.values
    ahead[:] = 0.0
    for i in range(n):
        if i:
            ahead[i] = max(ahead[i], ahead[i - 1])
        for arc in range(chain.first_arc[i], chain.first_arc[i + 1]):
            value = max(values[0, arc], values[1, arc])
            if value > 0.0:
                j = chain.next_node[arc]
                ahead[j] = max(ahead[j], ahead[i] + value)
        for q in range(chain.first_kept[i], chain.first_kept[i + 1]):
            j = chain.kept_to[q]
            ahead[j] = max(ahead[j], ahead[i] + chain.kept_worth[q])


@njit(cache=True, nogil=True)
def bound_by_area(grain, arcs, piece, rule, prices, held, sections, worked, upper):
    """Put a bound of every billet into ``worked``: its box, a kerf larger each way, at the densest value.

    ``sections`` (S, 2) are the rough sizes of the sticks. Pieces a kerf larger each way do not overlap in that box.
    Where values are bounds themselves (``upper``) the box is that of the least loss, which no shorter billet exceeds.
    Returns False where the table is full.
    """
    kerf, none = rule.least_kerf, np.int64(0)
    for arc in range(len(arcs.end)):
        length = arcs.end[arc] - arcs.start[arc]
        edge, face = arcs.losses[arc, 0], arcs.losses[arc, 1]
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
            worked.values[side, arc] = value
            worked.level[side, arc] = BY_AREA if value > 0.0 else EXACT
    return True


@njit(cache=True, nogil=True)
def best_is_exact(chain, worked):
    """Return whether every billet on one best path is worked out."""
    n, i, rest = len(chain.nodes), 0, worked.rest
    while i < n:
        if rest[i + 1] >= rest[i]:
            i += 1
            continue
        to = -1
        for arc in range(chain.first_arc[i], chain.first_arc[i + 1]):
            value = max(worked.values[0, arc], worked.values[1, arc])
            if value > 0.0 and value + rest[chain.next_node[arc]] >= rest[i]:
                side = 1 if worked.values[1, arc] > worked.values[0, arc] else 0
                if worked.level[side, arc] < EXACT:
                    return False
                to = chain.next_node[arc]
                break
        if to < 0:
            for q in range(chain.first_kept[i], chain.first_kept[i + 1]):
                if chain.kept_worth[q] + rest[chain.kept_to[q]] >= rest[i]:
                    to = chain.kept_to[q]
                    break
        i = to
    return True


@njit(cache=True, nogil=True)
def settle(chain, flat, across, grain, arcs, piece, rule, prices, held, rows, worked, least, single, most):
    """Look closer at billets until every one that can lie on a path worth ``least`` is exact.

    ``flat`` and ``across`` are the two layouts; ``rows`` scratch space for each (outer, inner). ``single``: only
    until one best path is, or is worth no more than ``least``. At most ``most`` closer looks. Returns 0 when done,
    1 when there is more to do, -1 where the table of values is full.
    """
    looks, part = 0, 0.002
    while True:
        look_back(chain, worked)
        best = worked.rest[0]
        if single and (best <= least or best_is_exact(chain, worked)):
            return 0
        if looks >= most:
            return 1
        look_ahead(chain, worked)
        wanted = max(least, best * (1.0 - part)) if single else least
        before = looks
        for i in range(len(chain.nodes)):
            for arc in range(chain.first_arc[i], chain.first_arc[i + 1]):
                reach = worked.ahead[i] + worked.rest[chain.next_node[arc]]
                for side in range(2):
                    if worked.level[side, arc] == EXACT or worked.values[side, arc] <= 0.0:
                        continue
                    if reach + worked.values[side, arc] < wanted:
                        continue
                    if not single and looks >= most:
                        return 1
                    looks += 1
                    clean = worked.level[side, arc] == BY_AREA
                    value, _ = layout_value(
                        flat if side == 0 else across, grain, arcs, arc, piece, rule, prices, held,
                        rows[2 * side], rows[2 * side + 1], clean,
                    )  # fmt: skip
                    if value < 0.0:
                        return -1
                    worked.values[side, arc] = value
                    worked.level[side, arc] = CLEAN if clean and arcs.relevant[arc] != 0 else EXACT
        if looks == before and not single:
            return 0
        part *= 1.5 if looks - before < 10 else 0.5 if looks - before > 50 else 1.0
