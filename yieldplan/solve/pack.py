"""Pieces packed into sticks that are sawn already: none may be left out that could be squeezed in.

Given sticks with room c_j and pieces of size s_i, some of them left out. Tabu search on what is left out: up to two
pieces of a stick change places with up to two that are left out, so that they still fit and what is left out becomes
least; what was moved stays for some moves. Where that is stuck, what is free is brought together and some sticks are
emptied. (After Buljubasic & Vasquez 2016, from memory.)
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from yieldplan.solve.fill import chance
from yieldplan.solve.paths import compiled

STUCK = 100
"""Moves without anything better after which some sticks are emptied; other numbers were not measured. Bench bars:
without packing 18 bars of 150 to 200, and 120 pieces of 20 to 100, miss a piece or take a bar more."""


class Packing(NamedTuple):
    """Pieces on sticks; the last stick holds what is left out.

    ``size`` of each piece and ``where`` it is; ``room`` that is left on each stick; the pieces of a stick are a list,
    from ``head`` by ``then`` (-1 ends it). ``until`` which turn a piece stays; ``best`` is where all were when least
    was left out.
    """

    size: np.ndarray
    room: np.ndarray
    where: np.ndarray
    head: np.ndarray
    then: np.ndarray
    until: np.ndarray
    best: np.ndarray
    counts: np.ndarray


OUT, LOOKED = range(2)
"""What ``Packing.counts`` holds: the size of what is left out, moves looked at; then the state of chance."""


def packing_of(size: np.ndarray, room: np.ndarray, where: np.ndarray, seed: int) -> Packing:
    """Return pieces on sticks as they lie (-1: left out); ``room`` is what the sticks hold in all."""
    pieces, sticks = len(size), len(room)
    found = Packing(
        size=size,
        room=np.append(room, 1 << 40),
        where=np.full(pieces, sticks),
        head=np.array([-1] * sticks + [0]),
        then=np.append(np.arange(1, pieces), -1),
        until=np.zeros(pieces, np.int64),
        best=where.copy(),
        counts=np.array([size.sum(), 0, seed], np.int64),
    )
    for piece, stick in enumerate(where.tolist()):
        if stick >= 0:
            lay(found, piece, stick)
    return found


@compiled
def lay(p, piece, stick):
    """Move a piece from where it is onto a stick."""
    old, out, size = p.where[piece], p.room.shape[0] - 1, p.size[piece]
    if p.head[old] == piece:
        p.head[old] = p.then[piece]
    else:
        before = p.head[old]
        while p.then[before] != piece:
            before = p.then[before]
        p.then[before] = p.then[piece]
    p.then[piece] = p.head[stick]
    p.head[stick] = piece
    p.where[piece] = stick
    p.room[old] += size
    p.room[stick] -= size
    p.counts[OUT] += size * ((stick == out) - (old == out))


@compiled
def find_move(p, turn, best):
    """Find the move that leaves out least; return (stick or -1, two pieces on it, two among the left out)."""
    least, ties, found, out = 1 << 60, 0, (-1, -1, -1, -1, -1), p.room.shape[0] - 1
    for stick in range(out):
        x, first = -1, True
        while first or x >= 0:
            y = x
            while True:
                gone = (p.size[x] if x >= 0 else 0) + (p.size[y] if y != x else 0)
                still = x >= 0 and (p.until[x] > turn or p.until[y] > turn)
                u, room = p.head[out], p.room[stick] + gone
                while u >= 0:
                    v = u if p.size[u] <= room else -1
                    while v >= 0:
                        size = p.size[u] if v == u else p.size[u] + p.size[v]
                        change = gone - size
                        p.counts[LOOKED] += 1
                        if size <= room and change <= least and (change or x != y or u != v):
                            tabu = still or p.until[u] > turn or p.until[v] > turn
                            if not tabu or p.counts[OUT] + change < best:
                                ties = ties + 1 if change == least else 1
                                if change < least or chance(p.counts, ties) == 0:
                                    least, found = change, (stick, x, y, u, v)
                        v = p.then[v]
                    u = p.then[u]
                y = p.then[y] if x >= 0 else -1
                if y < 0:
                    break
            x, first = (p.head[stick] if first else p.then[x]), False
    return found


@compiled
def change_places(p, turn, move):
    """Make a move: what is left out then stays out for some turns, what is laid on stays on."""
    stick, x, y, u, v = move
    for n, onto, least, most in ((x, -1, 2, 5), (y, -1, 2, 5), (u, stick, 1, 10), (v, stick, 1, 10)):
        if n >= 0 and (p.where[n] == stick) == (onto < 0):
            lay(p, n, onto if onto >= 0 else p.room.shape[0] - 1)
            p.until[n] = turn + least + chance(p.counts, most)


@compiled
def gather(p):
    """Bring what is free together: move a piece, or exchange two, while full sticks get fuller (sum of squares)."""
    better, size, room, where, out = True, p.size, p.room, p.where, p.room.shape[0] - 1
    while better:
        better = False
        for piece in range(size.shape[0]):
            for onto in range(out):
                here = where[piece]
                if here not in (out, onto) and size[piece] <= room[onto] < room[here] + size[piece]:
                    lay(p, piece, onto)
                    better = True
            for other in range(size.shape[0]):
                here, there, more = where[piece], where[other], size[piece] - size[other]
                if out not in (here, there) and here != there and 0 < more <= room[there] < room[here] + more:
                    lay(p, piece, there)
                    lay(p, other, here)
                    better = True
        p.counts[LOOKED] += size.shape[0] * size.shape[0] // 2


@compiled
def pack(p, most):
    """Pack until nothing is left out or ``most`` moves were looked at, into ``best``; return what that leaves out."""
    least, near, turn, since, out = 1 << 60, 1 << 60, 0, 0, p.room.shape[0] - 1
    while p.counts[LOOKED] < most:
        if p.counts[OUT] < near:
            near, since = p.counts[OUT], 0
        if p.counts[OUT] < least:
            least = p.counts[OUT]
            for piece in range(p.size.shape[0]):
                p.best[piece] = p.where[piece] if p.where[piece] < out else -1
        if not least:
            break
        turn, since = turn + 1, since + 1
        p.counts[LOOKED] += 1
        if since > STUCK:
            gather(p)
            for _ in range(2 + chance(p.counts, 3)):
                stick = chance(p.counts, out)
                while p.head[stick] >= 0:
                    lay(p, p.head[stick], out)
            near, since = 1 << 60, 0
            continue
        move = find_move(p, turn, near)
        if move[0] >= 0:
            change_places(p, turn, move)
    return least
