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

from yieldplan.solve.paths import compiled

STUCK = 100
"""Moves without anything better after which some sticks are emptied."""


class Packing(NamedTuple):
    """Pieces and sticks: sizes, room, on which stick each piece is (-1: left out), and room to work in."""

    size: np.ndarray
    room: np.ndarray
    where: np.ndarray
    held: np.ndarray
    number: np.ndarray
    out: np.ndarray
    until: np.ndarray
    best: np.ndarray
    move: np.ndarray
    counts: np.ndarray


OUT, STATE, LOOKED = range(3)
"""What ``Packing.counts`` holds: how many are left out, the state of chance, moves looked at."""


def packing_of(size: np.ndarray, room: np.ndarray, where: np.ndarray, seed: int) -> Packing:
    """Return pieces on sticks as they lie; ``room`` is what the sticks hold in all."""
    pieces, sticks = len(size), len(room)
    found = Packing(
        size=size,
        room=room.copy(),
        where=where.copy(),
        held=np.zeros((sticks, pieces), np.int64),
        number=np.zeros(sticks, np.int64),
        out=np.zeros(pieces, np.int64),
        until=np.zeros(pieces, np.int64),
        best=where.copy(),
        move=np.zeros(5, np.int64),
        counts=np.array([0, seed, 0], np.int64),
    )
    for piece, stick in enumerate(where.tolist()):
        if stick < 0:
            found.out[found.counts[OUT]] = piece
            found.counts[OUT] += 1
        else:
            found.held[stick, found.number[stick]] = piece
            found.number[stick] += 1
            found.room[stick] -= size[piece]
    return found


@compiled
def draw(p, most):
    """Return a whole number from 0 to ``most`` - 1: a linear congruential generator."""
    state = (p.counts[STATE] * 25214903917 + 11) & ((1 << 48) - 1)
    p.counts[STATE] = state
    return (state >> 17) % most


@compiled
def find_move(p, turn, waste, best):
    """Find the move that leaves out least; put it in ``move`` (stick, two places on it, two among the left out)."""
    least, ties, out = 1 << 60, 0, p.counts[OUT]
    p.move[0] = -1
    for stick in range(p.room.shape[0]):
        room, number = p.room[stick], p.number[stick]
        for x in range(-1, number):
            for y in range(x, number if x >= 0 else 0):
                gone, still = 0, False
                if x >= 0:
                    gone = p.size[p.held[stick, x]]
                    still = p.until[p.held[stick, x]] > turn
                    if y > x:
                        gone += p.size[p.held[stick, y]]
                        still = still or p.until[p.held[stick, y]] > turn
                for u in range(out):
                    first = p.size[p.out[u]]
                    if first > room + gone:
                        continue
                    for v in range(u, out):
                        size = first if v == u else first + p.size[p.out[v]]
                        p.counts[LOOKED] += 1
                        if size > room + gone:
                            continue
                        change = gone - size
                        tabu = still or p.until[p.out[u]] > turn or p.until[p.out[v]] > turn
                        if change > least or (tabu and waste + change >= best):
                            continue
                        if change == 0 and x == y and u == v:
                            continue
                        ties = ties + 1 if change == least else 1
                        if change < least or draw(p, ties) == 0:
                            least = change
                            p.move[0], p.move[1], p.move[2], p.move[3], p.move[4] = stick, x, y, u, v
    return least


@compiled
def lay(p, piece, stick):
    """Lay a piece on a stick."""
    p.held[stick, p.number[stick]] = piece
    p.number[stick] += 1
    p.room[stick] -= p.size[piece]
    p.where[piece] = stick


@compiled
def lift(p, stick, place):
    """Leave out the piece at a place of a stick; return it."""
    piece = p.held[stick, place]
    p.number[stick] -= 1
    p.held[stick, place] = p.held[stick, p.number[stick]]
    p.room[stick] += p.size[piece]
    p.where[piece] = -1
    p.out[p.counts[OUT]] = piece
    p.counts[OUT] += 1
    return piece


@compiled
def take_out(p, place):
    """Take a piece from those left out; return it."""
    piece = p.out[place]
    p.counts[OUT] -= 1
    p.out[place] = p.out[p.counts[OUT]]
    return piece


@compiled
def change_places(p, turn):
    """Make the move that was found."""
    stick, x, y, u, v = p.move[0], p.move[1], p.move[2], p.move[3], p.move[4]
    second = take_out(p, v) if v > u else -1
    first = take_out(p, u)
    if y > x >= 0:
        p.until[lift(p, stick, y)] = turn + 2 + draw(p, 5)
    if x >= 0:
        p.until[lift(p, stick, x)] = turn + 2 + draw(p, 5)
    lay(p, first, stick)
    p.until[first] = turn + 1 + draw(p, 10)
    if second >= 0:
        lay(p, second, stick)
        p.until[second] = turn + 1 + draw(p, 10)


@compiled
def shift(p, piece, stick, onto):
    """Move a piece from its stick onto another."""
    for place in range(p.number[stick]):
        if p.held[stick, place] == piece:
            lift(p, stick, place)
            p.counts[OUT] -= 1
            lay(p, piece, onto)
            return


@compiled
def gather(p):
    """Bring what is free together: move a piece, or exchange two, while full sticks get fuller (sum of squares)."""
    better, size, room = True, p.size, p.room
    while better:
        better = False
        for piece in range(size.shape[0]):
            here = p.where[piece]
            for onto in range(room.shape[0] if here >= 0 else 0):
                if onto != here and size[piece] <= room[onto] < room[here] + size[piece]:
                    shift(p, piece, here, onto)
                    here, better = onto, True
            for other in range(piece + 1, size.shape[0] if here >= 0 else 0):
                there, more = p.where[other], size[other] - size[piece]
                if there < 0 or there == here or not more:
                    continue
                if (0 < more <= room[here] < room[there] + more) or (
                    0 < -more <= room[there] < room[here] - more
                ):
                    shift(p, piece, here, there)
                    shift(p, other, there, here)
                    here, better = there, True
        p.counts[LOOKED] += size.shape[0] * size.shape[0] // 2


@compiled
def empty_some(p):
    """Empty two to four sticks, drawn at random."""
    for _ in range(2 + draw(p, 3)):
        stick = draw(p, p.room.shape[0])
        while p.number[stick]:
            lift(p, stick, p.number[stick] - 1)


@compiled
def pack(p, most):
    """Pack until nothing is left out or ``most`` moves were looked at, into ``best``; return what that leaves out."""
    least, turn, since, near = 1 << 60, 0, 0, 1 << 60
    while p.counts[LOOKED] < most:
        waste = 0
        for n in range(p.counts[OUT]):
            waste += p.size[p.out[n]]
        if waste < near:
            near, since = waste, 0
        if waste < least:
            least = waste
            for piece in range(p.size.shape[0]):
                p.best[piece] = p.where[piece]
        if not waste:
            break
        turn += 1
        since += 1
        p.counts[LOOKED] += 1
        if since > STUCK:
            gather(p)
            empty_some(p)
            near, since = 1 << 60, 0
            continue
        find_move(p, turn, waste, near)
        if p.move[0] >= 0:
            change_places(p, turn)
    return least
