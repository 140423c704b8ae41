"""One billet cut for what is left of a batch: pieces counted stick by stick, so that never more is cut than is wanted.

The sticks of a billet of sound wood are all as long. With a_i the number of kind i that is still wanted, s its length
with a kerf, g its price less a cut (of spares half the price), the first stick of a section is filled by the bounded
knapsack

    D(n) = max over kinds' counts 0 <= x_i <= a_i with  sum s_i x_i = n  of  sum g_i x_i

the second by the same over what the first left, and so on: the j-th stick of section h gives v(h, j), whichever strip
it lies in. Strips and sticks are then taken one by one, what gives the most for its width first, in both layouts.
What is chosen is a little at random, and a search tries often.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from typing import NamedTuple

import numpy as np  # noqa: TC002 - numba reads the types of records

from yieldplan.solve.graph import SCALE, keeper_worth, machine_for, worth_of
from yieldplan.solve.paths import NEVER, compiled
from yieldplan.solve.places import losses

MOST_STICKS = 160
"""Sticks of one section, and of one billet, that there is room for."""

LOOKS = 7
"""Ends that are tried of a billet: the board's end, as short as its sticks ask, then at random. Four layouts at each,
both ways in turn. What other numbers cost was not measured."""


class Items(NamedTuple):
    """The kinds that a class of sound, straight wood gives, in the order of their sections.

    Those of section h stand from ``begin[h]`` up to ``begin[h + 1]``. ``size`` is the length of each with a kerf, in
    ``unit`` marks; ``section`` the section of each stick type. ``types``: as in
    :class:`yieldplan.solve.graph.Wooden`. By axis (0 across y, 1 across z) ``sizes`` are the extents of its sticks (0:
    none), ``saws`` their ranks among all sizes, ``types_of`` the types of each from ``first`` on.
    """

    size: np.ndarray
    begin: np.ndarray
    section: np.ndarray
    unit: int
    types: np.ndarray
    sizes: np.ndarray
    saws: np.ndarray
    types_of: np.ndarray
    first: np.ndarray


class Bench(NamedTuple):
    """Room to work in.

    ``left`` and ``free`` count what is wanted of each item, before and behind the sticks worked out so far, ``spare``
    how many of these are spares. ``values``, ``gains``, ``lengths`` (H, J) and ``fills`` (H, J, I) are those of the
    j-th stick of each section, ``known`` how many are worked out and ``used`` how many lie in the billet. ``rows``
    holds the billet's sticks: strip from and to, stick from and to, type, j, saw setting or -1. ``made`` is 1 for
    settings made for other boards, and the number of the try for those made in it.
    """

    left: np.ndarray
    spare: np.ndarray
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
    noise: np.ndarray
    made: np.ndarray
    counts: np.ndarray


TRY, WORK, SEED = range(3)
"""What ``Bench.counts`` holds: the number of the try, cells looked at, the state of chance."""


@compiled
def chance(counts, most):
    """Return a whole number from 0 to ``most`` - 1: a linear congruential generator (Knuth's MMIX, from memory)."""
    counts[SEED] = (counts[SEED] * 25214903917 + 11) & ((1 << 48) - 1)
    return (counts[SEED] >> 17) % most


@compiled
def fill_next(shop, terms, items, bench, section, planed, length):
    """Fill the next stick of a section by the bounded knapsack; note what it gives (NEVER if nothing)."""
    j, row = bench.known[section], bench.row
    bench.known[section] = j + 1
    room = max((length - 2 * shop.stick_trim + shop.cross_kerf) // items.unit, 0)
    first, beyond = items.begin[section], items.begin[section + 1]
    for n in range(room + 1):
        row[n] = NEVER
    row[0], reach = 0, 0
    for i in range(first, beyond):
        size = items.size[i]
        for n in range(room + 1):
            bench.taken[i - first, n] = 0
        for copy in range(min(bench.free[i], room // size)):
            needed = copy < bench.free[i] - bench.spare[i]
            gain = (terms.prices[i] if needed else terms.prices[i] // 2) - terms.cut
            reach = min(reach + size, room)
            bench.counts[WORK] += reach
            for n in range(reach, size - 1, -1):
                if row[n - size] > NEVER and row[n - size] + gain > row[n]:
                    row[n] = row[n - size] + gain
                    bench.taken[i - first, n] = bench.taken[i - first, n - size] + 1
        bench.counts[WORK] += room // 4
    best, at = NEVER, 0
    keeps = terms.worth and keeper_worth(shop, length, planed[0], planed[1]) > 0
    for n in range(1, room + 1):
        value = row[n]
        if value > NEVER and keeps:
            rest = length - shop.stick_trim - n * items.unit
            value += SCALE * keeper_worth(shop, rest, planed[0], planed[1])
        if value > best:
            best, at = value, n
    bench.values[section, j] = NEVER
    if best <= NEVER:
        return
    bench.values[section, j] = best - terms.cut - terms.stick
    bench.lengths[section, j] = at * items.unit - shop.cross_kerf
    bench.gains[section, j] = 0
    for i in range(beyond - 1, first - 1, -1):
        count = bench.taken[i - first, at]
        needed = min(count, max(bench.free[i] - bench.spare[i], 0))
        bench.fills[section, j, i] = count
        bench.free[i] -= count
        bench.gains[section, j] += needed * terms.prices[i] + (count - needed) * (terms.prices[i] // 2)
        at -= count * items.size[i]


@compiled
def price_of_setting(terms, bench, setting):
    """Return what a setting costs: nothing if it is made already."""
    return 0 if bench.made[setting] in (1, bench.counts[TRY]) else terms.setting


@compiled
def next_stick(shop, terms, items, bench, box, strip, at):
    """Find the stick that gives the most for its width at a place of a strip; return (value, type or -1, end, saw)."""
    length, _, deep, _, _, axis = box
    rank, second, stage = strip
    first, beyond = items.first[axis, rank], items.first[axis, rank + 1]
    kerf = shop.kerf[second] if second >= 0 else 0
    best, found = 0.0, (0, -1, 0, -1)
    for n in range(first, beyond):
        kind = items.types_of[axis, n]
        row, section = items.types[kind], items.section[kind]
        end = at + row[1 - axis]
        sawn_off = deep - end > shop.plane_off
        j = bench.used[section]
        if end > deep or (second < 0 and (sawn_off or at > 0)) or j >= bench.values.shape[1]:
            continue
        if j >= bench.known[section]:
            fill_next(shop, terms, items, bench, section, (row[2], row[3]), length)
        value, saw = bench.values[section, j], -1
        if value <= NEVER:
            continue
        value -= price_of_setting(terms, bench, row[6]) + price_of_setting(terms, bench, row[7])
        if sawn_off:
            saw = 4 * items.saws[1 - axis, row[5 - axis]] + 2 * second + stage
            value -= terms.saw[second] + price_of_setting(terms, bench, saw)
        score = value * bench.noise[kind] / (end - at + kerf)
        if score > best:
            best, found = score, (value, kind, end, saw)
    bench.counts[WORK] += 8 * (beyond - first)
    return found


@compiled
def saw_strip(shop, terms, items, bench, box, place, rank, count):
    """Lay sticks across a strip at a place of a billet, the best for its width first, behind ``count`` others.

    ``box`` is (length, room across the strips, along them, machine of the strips, rough size behind them, axis).
    Return (value or NEVER, how many sticks there are then).
    """
    length, room, deep, machine, rough, axis = box
    own = items.sizes[axis, rank]
    end = place + own
    sawn = room - end > shop.plane_off
    if not own or end > room or (machine < 0 and (sawn or place > 0)):
        return NEVER, count
    second = machine_for(shop, own if sawn else rough - place, axis == 0)
    strip = (rank, second, 0 if place == 0 and not sawn else 1)
    total, at, first = 0, 0, count
    if sawn:
        total = -terms.saw[machine] - price_of_setting(terms, bench, 4 * items.saws[axis, rank] + 2 * machine)
    while at < deep and count < bench.rows.shape[0]:
        value, kind, behind, saw = next_stick(shop, terms, items, bench, box, strip, at)
        if kind < 0:
            break
        section, line = items.section[kind], bench.rows[count]
        line[0], line[1], line[2], line[3] = place, end, at, behind
        line[4], line[5], line[6] = kind, bench.used[section], saw
        bench.used[section] += 1
        count, total, at = count + 1, total + value, deep
        if second >= 0 and deep - behind > shop.plane_off:
            at = behind + shop.kerf[second]
    for n in range(first, count):
        bench.used[items.section[bench.rows[n, 4]]] -= 1
    if count == first:
        return NEVER, count
    if at < deep:
        total += SCALE * terms.worth * keeper_worth(shop, length, deep - at, end - place)
    return total, count


@compiled
def saw_billet(shop, terms, items, bench, place, spread):
    """Lay strips across a billet, the best for its width first, into ``rows``; return (value, gain, sticks).

    ``place`` is (length, box across the strips, along them, rough size along the cut, across it, axis). What gives the
    most is weighed by chance, from 1 - spread to 1 + spread per thousand.
    """
    for n in range(bench.noise.shape[0]):
        bench.noise[n] = 1.0 + (chance(bench.counts, 2 * spread + 1) - spread) / 1000.0
    length, room, other, height, rough, axis = place
    if room <= 0 or other <= 0:
        return NEVER, 0, 0
    machine = machine_for(shop, height, axis == 1)
    kerf = shop.kerf[machine] if machine >= 0 else 0
    box = (length, room, other, machine, rough, axis)
    for section in range(bench.used.shape[0]):
        bench.used[section] = 0
    bench.counts[TRY] += 1
    total, gain, count, place = -terms.billet, 0, 0, 0
    while place < room:
        best, best_rank = 0.0, -1
        for rank in range(items.sizes.shape[1]):
            value, _ = saw_strip(shop, terms, items, bench, box, place, rank, count)
            score = value * bench.noise[items.types.shape[0] + rank] / max(items.sizes[axis, rank] + kerf, 1)
            if score > best:
                best, best_rank = score, rank
        if best_rank < 0:
            break
        value, beyond = saw_strip(shop, terms, items, bench, box, place, best_rank, count)
        end = place + items.sizes[axis, best_rank]
        if room - end > shop.plane_off:
            bench.made[4 * items.saws[axis, best_rank] + 2 * machine] = bench.counts[TRY]
        for n in range(count, beyond):
            line, section = bench.rows[n], items.section[bench.rows[n, 4]]
            gain += bench.gains[section, line[5]]
            bench.used[section] += 1
            for setting in (items.types[line[4], 6], items.types[line[4], 7], line[6]):
                if setting >= 0:
                    bench.made[setting] = bench.counts[TRY]
        count, total, place = beyond, total + value, end + kerf
        if room - end <= shop.plane_off:
            break
    if count and place < room:
        total += SCALE * terms.worth * keeper_worth(shop, length, room - place, other)
    return total, gain, count


@compiled
def some_length(shop, items, bench):
    """Return the length of a billet in which some blanks, drawn at random, fill a stick."""
    total, wanted = 0, 1 + chance(bench.counts, 4)
    for _ in range(3 * wanted):
        i = chance(bench.counts, items.size.shape[0])
        if bench.left[i] > 0 and wanted:
            total += items.size[i] * items.unit
            wanted -= 1
    return total - shop.cross_kerf + 2 * shop.stick_trim


@compiled
def saw_anew(shop, terms, wood, items, bench, course, length, axis, spread):
    """Saw a billet; an axis of 2 or 3 is 0 or 1, when what sticks of its length give is known already."""
    if axis < 2:
        for i in range(bench.left.shape[0]):
            bench.free[i] = bench.left[i]
        for section in range(bench.known.shape[0]):
            bench.known[section] = 0
    face, edge = losses(wood, shop, course, 0, length, wood.width)
    wide, deep = wood.width - edge, wood.thickness - face
    place = (length, wide, deep, wood.thickness, wood.width, 0)
    if axis % 2:
        place = (length, deep, wide, wood.width, wood.thickness, 1)
    return saw_billet(shop, terms, items, bench, place, spread)


@compiled
def best_billet(shop, terms, wood, items, bench, course, start, spread):
    """Find the billet from ``start`` that gives the most for what it costs; return (end, axis, sticks, value, gain).

    What it costs is its work, and the wood that is gone with it less its keepers. Its sticks are left in ``rows``.
    """
    best, end, axis, chosen, short, looks = 0.0, -1, 0, 0, 0, 4 * LOOKS
    high, shortest, length = course.sides[0, 1], course.shortest, 0
    before = SCALE * terms.worth * worth_of(shop, wood.length - start, wood.width, wood.thickness)
    for look in range(looks + 1):
        if look == looks:
            if end < 0:
                break
            length, bench.counts[SEED] = end - start, chosen
        elif look % 4 == 0:
            length = high - start
            if look:
                length = short if look == 4 else some_length(shop, items, bench)
            length = max(length, shortest)
        if start + length > high:
            continue
        seed, attempt = bench.counts[SEED], axis if look == looks else (0, 3, 2, 3)[look % 4]
        value, gain, count = saw_anew(shop, terms, wood, items, bench, course, length, attempt, spread)
        if look == looks:
            return end, axis, count, value, gain
        rest, after = wood.length - start - length - shop.cross_kerf, 0
        if rest >= min(shortest, shop.keeper_length):
            after = SCALE * terms.worth * worth_of(shop, rest, wood.width, wood.thickness)
        score = gain / max(gain - value + before - after, 1) if count else 0.0
        if score > best:
            best, end, axis, chosen = score, start + length, attempt % 2, seed
            if look < 4:
                short = 0
                for n in range(count):
                    short = max(short, bench.lengths[items.section[bench.rows[n, 4]], bench.rows[n, 5]])
                short += 2 * shop.stick_trim
    return -1, 0, 0, 0, 0
