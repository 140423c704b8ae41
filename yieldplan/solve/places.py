"""Which billets are tried along an offcut: the places of the normal form (R12).

Which places a start asks for depends on prices: between two lengths at which some stick gives more, and where no loss
changes, a shorter billet is no worse. So only the former, and the first behind each change of a loss, are tried.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from typing import NamedTuple

import numpy as np  # noqa: TC002 - the records are read at run time

from yieldplan.solve.paths import compiled


class Course(NamedTuple):
    """What an offcut class is along x, in marks.

    ``sides`` (S, 3): from where to where billets may lie between ends and kinks, and over what length warp was
    measured. ``stops`` (P,) and ``back_stops`` (Q,): places P+ and P- where a blank may stand against a defect.
    ``sums`` (L + 2,): the least length of blanks pushed together, from a stick's first blank to its last, that is at
    least so much; ``steps`` are tables whose steps count. ``bow``, ``crook``, ``cup``, ``twist`` in steps.
    ``splits`` (2,): the first and last place where billets may be split, none if the last is smaller.
    ``grain``: places are whole numbers of so many marks behind the start of a side (1 but on
    offcuts with too many places).
    """

    sides: np.ndarray
    stops: np.ndarray
    back_stops: np.ndarray
    sums: np.ndarray
    steps: np.ndarray
    bow: int
    crook: int
    cup: int
    twist: int
    splits: np.ndarray
    band_kerf: int
    mark: int
    shortest: int
    grain: int


class Table(NamedTuple):
    """Room for the row of billets: ``arcs`` (N, 4): start, end, value, how closely it was looked at; their graph."""

    arcs: np.ndarray
    first: np.ndarray
    after: np.ndarray
    fixed: np.ndarray
    row: np.ndarray
    best: np.ndarray
    via: np.ndarray
    flags: np.ndarray
    by_length: np.ndarray
    kept: np.ndarray
    lengths: np.ndarray
    counts: np.ndarray


BILLETS, CURTAILED, LOOKED, STEPS, ROW = range(5)
"""What ``Table.counts`` counts: billets, whether there were too many, how many were worked out, step lengths, arcs."""

FIXED, LEFT_START, RIGHT_END, RIGHT_START = 1, 2, 4, 8
"""Flags of a mark."""


@compiled
def losses(wood, shop, course, side, length, width):
    """Return F and E of R3 in marks, for a billet, or a half ``width`` wide."""
    whole, wide, mark = course.sides[side, 2], wood.width, course.mark
    edge = shop.edge_skim - (-(course.crook * length * length) // (whole * whole * mark))
    if width == wide:
        below = 2 * whole * whole
        above = course.cup * below + 2 * course.bow * length * length + course.twist * length * whole
        return shop.face_skim - (-above // (below * mark)), edge
    below = 2 * whole * whole * wide * wide
    above = (
        2 * course.bow * length * length * wide * wide
        + 2 * course.cup * width * width * whole * whole
        + course.twist * width * length * whole * wide
    )
    return shop.face_skim - (-above // (below * mark)), edge


@compiled
def add_billet(table, start, end):
    """Add a billet to try."""
    count = table.counts[BILLETS]
    if count >= table.arcs.shape[0]:
        table.counts[CURTAILED] = 1
        return
    table.arcs[count, 0] = start
    table.arcs[count, 1] = end
    table.counts[BILLETS] = count + 1


@compiled
def find_steps(wood, shop, terms, course, side, table, most, every):
    """List the blank lengths (from a stick's first blank to its last) at which a billet may get better."""
    count = 0
    trims = 2 * shop.stick_trim
    before_face, before_edge = -1, -1
    for length in range(1, most + 1):
        steps = every and course.sums[length] == length
        for n in course.steps:
            if terms.steps[n, length] > terms.steps[n, length - 1]:
                steps = True
                break
        table.flags[length] = 1 if steps else 0
    for length in range(course.shortest, most + 1):
        face, edge = losses(wood, shop, course, side, length, wood.width)
        if (face, edge) != (before_face, before_edge) and length > trims:
            first = course.sums[length - trims]
            if 0 < first <= most:
                table.flags[first] = 1
            before_face, before_edge = face, edge
    for length in range(1, most + 1):
        if table.flags[length]:
            table.lengths[count] = length
            count += 1
    table.counts[STEPS] = count


@compiled
def snapped(course, origin, place, limit, way):
    """Return a place no nearer to the row's ``origin`` than asked, on the offcut's own grain and within ``limit``."""
    if course.grain > 1:
        away = way * (place - origin)
        place = origin + way * (-(-away // course.grain) * course.grain)
    return min(place, limit) if way > 0 else max(place, limit)


@compiled
def ask(shop, course, table, low, high, start, way):
    """Add the billets that a start asks for (``way`` 1), or an end towards end A (-1); flag what follows."""
    kerf, trim = shop.cross_kerf, shop.stick_trim
    origin, limit = (low, high) if way > 0 else (high, low)
    stops = course.stops if way > 0 else course.back_stops
    least = start + way * course.shortest
    room = way * (limit - start)
    next_flag = LEFT_START if way > 0 else RIGHT_END
    for base in range(-1, stops.shape[0]):
        foot = stops[base] if base >= 0 else start + way * trim
        if base >= 0 and way * (foot - start) <= trim:
            continue
        for n in range(-1 if base < 0 else 0, table.counts[STEPS]):
            for kept in range(1 if n < 0 else 2):
                end = start + way * shop.keeper_length
                if n >= 0:
                    end = foot + way * (table.lengths[n] + (kerf + shop.keeper_length if kept else trim))
                if way * (end - least) < 0:
                    end = least
                if way * (end - start) > room:
                    continue
                end = snapped(course, origin, end, limit, way)
                if way > 0:
                    add_billet(table, start, end)
                else:
                    add_billet(table, end, start)
                    table.flags[end] |= RIGHT_START
                follow = end + way * kerf
                if way * (limit - follow) >= course.shortest:
                    table.flags[follow] |= next_flag


@compiled
def fill_rooms(wood, shop, course, table, low, high, way):
    """Add the billets that fill their room (R12): from a start to the side's end, a stop, what follows; or mirrored."""
    kerf, keep, shortest = shop.cross_kerf, shop.keeper_length, course.shortest
    limit, edge = (high, wood.length) if way > 0 else (low, 0)
    outermost = high == course.sides[-1, 1] if way > 0 else low == course.sides[0, 0]
    stops = course.back_stops if way > 0 else course.stops
    near, behind = (LEFT_START, FIXED | RIGHT_START) if way > 0 else (RIGHT_END, LEFT_START)
    ends = (limit, edge - way * (kerf + keep), limit - way * kerf, limit - way * (2 * kerf + keep))
    for start in range(low, high + 1):
        if not table.flags[start] & near:
            continue
        for n in range(2 if outermost else 4):
            if way * (ends[n] - limit) <= 0:
                add_room(table, shortest, start, ends[n], way)
        for n in range(stops.shape[0]):
            if way * (stops[n] + way * shop.stick_trim - limit) <= 0:
                add_room(table, shortest, start, stops[n] + way * shop.stick_trim, way)
        for n in range(shortest, way * (limit - start) + 1):
            other = start + way * n
            if table.flags[other] & behind and way > 0:
                add_room(table, shortest, start, other - kerf, way)
                add_room(table, shortest, start, other - 2 * kerf - keep, way)
            elif table.flags[other] & behind:
                add_room(table, shortest, start, other + kerf + keep, way)


@compiled
def add_room(table, shortest, start, end, way):
    """Add a billet that fills its room, if it is long enough."""
    if way * (end - start) >= shortest:
        add_billet(table, min(start, end), max(start, end))


@compiled
def find_billets(wood, shop, terms, course, table, every):
    """List every billet to try, side by side."""
    table.counts[BILLETS] = 0
    table.counts[CURTAILED] = 0
    table.fixed[: wood.length + 1] = 0
    mirrored = course.stops.shape[0] > 0 or course.sides.shape[0] > 1
    for side in range(course.sides.shape[0]):
        low, high = course.sides[side, 0], course.sides[side, 1]
        room = high - low - course.shortest
        find_steps(wood, shop, terms, course, side, table, max(high - low, 0), every)
        table.flags[: wood.length + 1] = 0
        if room < 0:
            continue
        for way in range(1, -2 if mirrored else 0, -2):
            origin, near = (low, LEFT_START) if way > 0 else (high, RIGHT_END)
            flag = near | FIXED if way > 0 else near
            stops = course.stops if way > 0 else course.back_stops
            table.flags[origin] |= flag
            if side != (0 if way > 0 else course.sides.shape[0] - 1):
                # a billet before the kink may end so near to it that the next begins a kerf behind that
                for n in range(1, min(shop.cross_kerf, room) + 1):
                    table.flags[origin + way * n] |= near
            for n in range(stops.shape[0]):
                place = stops[n] - way * shop.stick_trim
                if 0 <= way * (place - origin) <= room:
                    table.flags[place] |= flag
            for n in range(room + 1):
                if table.flags[origin + way * n] & near:
                    ask(shop, course, table, low, high, origin + way * n, way)
        for way in range(1, -2 if mirrored else 0, -2):
            fill_rooms(wood, shop, course, table, low, high, way)
        for x in range(low, high + 1):
            if table.flags[x] & (FIXED | RIGHT_START):
                table.fixed[x] = 1
