"""One billet cut for what is left of a batch: pieces counted stick by stick, so that never more is cut than is wanted.

The sticks of a billet of sound wood are all as long. With a_i the number of kind i that is still wanted, s its length
with a kerf, g its price less a cut, the first stick of a section is filled by the bounded knapsack

    D(n) = max over kinds' counts 0 <= x_i <= a_i with  sum s_i x_i = n  of  sum g_i x_i

the second by the same over what the first left, and so on: the j-th stick of section h gives v(h, j), whichever strip
it lies in. Strips and sticks in them are then taken one by one, what gives the most for its width first. (Resawn
first, boards came out no cheaper: 0.1 % on piles of many kinds.)
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from typing import NamedTuple

import numpy as np  # noqa: TC002 - numba reads the types of records

from yieldplan.solve.graph import SCALE, keeper_worth, machine_for, worth_of
from yieldplan.solve.paths import NEVER, compiled
from yieldplan.solve.places import losses


class Items(NamedTuple):
    """The kinds that a class of sound, straight wood gives, in the order of their sections.

    Those of section h stand from ``begin[h]`` up to ``begin[h + 1]``. ``size`` is the length of each with a kerf, in
    ``unit`` marks; ``section`` the section of each stick type.
    """

    size: np.ndarray
    begin: np.ndarray
    section: np.ndarray
    unit: int


class Bench(NamedTuple):
    """Room to work in.

    ``left`` and ``free`` count what is wanted of each item, before and behind the sticks worked out so far. ``values``,
    ``gains``, ``lengths`` (H, J) and ``fills`` (H, J, I) are those of the j-th stick of each section, ``known`` how
    many are worked out and ``used`` how many lie in the billet. ``rows`` holds the billet's sticks: strip from and to,
    stick from and to, type, j. ``work`` counts cells looked at.
    """

    left: np.ndarray
    free: np.ndarray
    values: np.ndarray
    gains: np.ndarray
    lengths: np.ndarray
    fills: np.ndarray
    known: np.ndarray
    used: np.ndarray
    row: np.ndarray
    taken: np.ndarray
    rows: np.ndarray
    work: np.ndarray


@compiled
def fill_next(shop, terms, items, bench, section, planed, length):
    """Fill the next stick of a section by the bounded knapsack; note what it gives (NEVER if nothing)."""
    j, row = bench.known[section], bench.row
    bench.known[section] = j + 1
    bench.values[section, j] = NEVER
    room = max((length - 2 * shop.stick_trim + shop.cross_kerf) // items.unit, 0)
    first, beyond = items.begin[section], items.begin[section + 1]
    row[: room + 1] = NEVER
    row[0], reach = 0, 0
    for i in range(first, beyond):
        size, gain = items.size[i], terms.prices[i] - terms.cut
        bench.taken[i - first, : room + 1] = 0
        for _ in range(min(bench.free[i], room // size)):
            reach = min(reach + size, room)
            bench.work[0] += reach
            for n in range(reach, size - 1, -1):
                if row[n - size] > NEVER and row[n - size] + gain > row[n]:
                    row[n] = row[n - size] + gain
                    bench.taken[i - first, n] = bench.taken[i - first, n - size] + 1
        bench.work[0] += room // 4
    best, at = NEVER, 0
    for n in range(1, room + 1):
        if row[n] > NEVER:
            rest = length - shop.stick_trim - n * items.unit
            value = row[n] + SCALE * terms.worth * keeper_worth(shop, rest, planed[0], planed[1])
            if value > best:
                best, at = value, n
    if best <= NEVER:
        return
    bench.values[section, j] = best - terms.cut - terms.stick
    bench.lengths[section, j] = at * items.unit - shop.cross_kerf
    bench.gains[section, j] = 0
    for i in range(beyond - 1, first - 1, -1):
        count = bench.taken[i - first, at]
        bench.fills[section, j, i] = count
        bench.free[i] -= count
        bench.gains[section, j] += count * terms.prices[i]
        at -= count * items.size[i]


@compiled
def next_stick(shop, terms, wood, items, bench, billet, strip, at):
    """Find the stick that gives the most for its width at a place of a strip; return (value, type or -1, end)."""
    length, _, deep = billet
    rank, saw = strip
    kerf = shop.kerf[saw] if saw >= 0 else 0
    best, found = 0.0, (0, -1, 0)
    for kind in wood.of_y[wood.from_y[rank] : wood.from_y[rank + 1]]:
        row, section = wood.types[kind], items.section[kind]
        end, j = at + row[1], bench.used[section]
        sawn_off = deep - end > shop.plane_off
        if end > deep or (saw < 0 and (sawn_off or at > 0)) or j >= bench.values.shape[1]:
            continue
        if j >= bench.known[section]:
            fill_next(shop, terms, items, bench, section, (row[2], row[3]), length)
        value = bench.values[section, j]
        if value > NEVER and sawn_off:
            value -= terms.saw[saw]
        if value > best * (end - at + kerf):
            best, found = value / (end - at + kerf), (value, kind, end)
    bench.work[0] += 8 * (wood.from_y[rank + 1] - wood.from_y[rank])
    return found


@compiled
def saw_strip(shop, terms, wood, items, bench, billet, place, rank, count):
    """Lay sticks across a strip at a place of a billet, the best for its width first, behind ``count`` others.

    ``billet`` is its length, and the width and depth of its box. Return (value or NEVER, how many sticks there are).
    """
    length, wide, deep = billet
    own, machine = wood.sizes_y[rank], machine_for(shop, wood.thickness, False)
    end = place + own
    sawn = wide - end > shop.plane_off
    if end > wide or (machine < 0 and (sawn or place > 0)):
        return NEVER, count
    saw = machine_for(shop, own if sawn else wood.width - place, True)
    total, at, first = -terms.saw[machine] if sawn else 0, 0, count
    while at < deep and count < bench.rows.shape[0]:
        value, kind, behind = next_stick(shop, terms, wood, items, bench, billet, (rank, saw), at)
        if kind < 0:
            break
        section, line = items.section[kind], bench.rows[count]
        line[0], line[1], line[2], line[3] = place, end, at, behind
        line[4], line[5] = kind, bench.used[section]
        bench.used[section] += 1
        count, total, at = count + 1, total + value, deep
        if saw >= 0 and deep - behind > shop.plane_off:
            at = behind + shop.kerf[saw]
    for n in range(first, count):
        bench.used[items.section[bench.rows[n, 4]]] -= 1
    if count == first:
        return NEVER, count
    if at < deep:
        total += SCALE * terms.worth * keeper_worth(shop, length, deep - at, own)
    return total, count


@compiled
def saw_billet(shop, terms, wood, items, bench, course, length):
    """Lay strips across a billet, the best for its width first; return (value, gain, how many sticks)."""
    for i in range(bench.left.shape[0]):
        bench.free[i] = bench.left[i]
    for section in range(bench.known.shape[0]):
        bench.known[section], bench.used[section] = 0, 0
    face, edge = losses(wood, shop, course, 0, length, wood.width)
    billet, machine = (
        (length, wood.width - edge, wood.thickness - face),
        machine_for(shop, wood.thickness, False),
    )
    kerf, wide = shop.kerf[machine] if machine >= 0 else 0, wood.width - edge
    total, gain, count, place = -terms.billet, 0, 0, 0
    while place < wide:
        best, chosen = 0.0, -1
        for rank in range(len(wood.sizes_y)):
            value, _ = saw_strip(shop, terms, wood, items, bench, billet, place, rank, count)
            if value > best * (wood.sizes_y[rank] + kerf):
                best, chosen = value / (wood.sizes_y[rank] + kerf), rank
        if chosen < 0:
            break
        value, beyond = saw_strip(shop, terms, wood, items, bench, billet, place, chosen, count)
        for n in range(count, beyond):
            section = items.section[bench.rows[n, 4]]
            gain += bench.gains[section, bench.rows[n, 5]]
            bench.used[section] += 1
        end = place + wood.sizes_y[chosen]
        count, total, place = beyond, total + value, end + kerf
        if wide - end <= shop.plane_off:
            break
    if count and place < wide:
        total += SCALE * terms.worth * keeper_worth(shop, length, wide - place, billet[2])
    return total, gain, count


@compiled
def best_billet(shop, terms, wood, items, bench, course, start):
    """Find the billet from ``start`` that gives the most for what it costs; return (end, sticks, value).

    What it costs is its work, and the wood that is gone with it less its keepers. The longest is tried, and one as
    short as its sticks ask. No sticks: none is worth it. They are left in ``rows``.
    """
    best, length, tried = 0.0, 0, course.sides[0, 1] - start
    before = SCALE * terms.worth * worth_of(shop, wood.length - start, wood.width, wood.thickness)
    for _ in range(2):
        value, gain, count = saw_billet(shop, terms, wood, items, bench, course, tried)
        if not count:
            break
        rest, after = wood.length - start - tried - shop.cross_kerf, 0
        if rest >= min(course.shortest, shop.keeper_length):
            after = SCALE * terms.worth * worth_of(shop, rest, wood.width, wood.thickness)
        cost = max(gain - value + before - after, 1)
        if gain > best * cost:
            best, length = gain / cost, tried
        tried = course.shortest
        for n in range(count):
            short = bench.lengths[items.section[bench.rows[n, 4]], bench.rows[n, 5]] + 2 * shop.stick_trim
            tried = max(tried, short)
    if not length:
        return start, 0, 0
    value, _, count = saw_billet(shop, terms, wood, items, bench, course, length)
    return start + length, count, value
