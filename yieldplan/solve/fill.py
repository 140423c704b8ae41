"""One board cut for what is left of a batch: pieces counted stick by stick, so that never more is cut than is wanted.

The sticks of a billet of sound wood are all as long, so with a_i the number of item i that is still wanted, s its length
and a kerf, g its price less a cut, the first stick of a section is filled by the bounded knapsack

    D(n) = max over kinds' counts 0 <= x_i <= a_i with  sum s_i x_i = n  of  sum g_i x_i

the second by the same over what the first left, and so on: the j-th stick of section h gives v(h, j), whichever strip it lies
in. Strips and sticks are then taken one by one, the most for the width they take first, in both layouts; billets likewise
along the board. What is chosen is a little at random, and a search tries often.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from yieldplan.solve.along import losses
from yieldplan.solve.graph import SCALE, keeper_worth, machine_for, worth_of
from yieldplan.solve.paths import NEVER, compiled

MOST_STICKS = 160
"""Sticks of one section, and of one board, that are looked at."""

ENDS = 7
"""Ends that are tried for a billet from its start: to the end of the board, as short as its sticks ask, and some at random."""

TRIES = 4
"""Layouts that are tried of a billet at each end: both ways, a little at random."""


class Items(NamedTuple):
    """What a class of sound wood can be cut into.

    An item is a kind's needed blanks or its spares, in the order of their sections: those of section h from ``begin[h]`` up
    to ``begin[h + 1]``. ``size`` is the length of each with a kerf, in ``unit`` marks; ``section`` the section of each stick type.
    """

    size: np.ndarray
    begin: np.ndarray
    section: np.ndarray
    unit: int


class Bench(NamedTuple):
    """Room to work in.

    ``left`` and ``free`` count what is wanted of each item, before and behind the sticks worked out so far, ``prices``
    are scaled. ``values``, ``gains``, ``lengths`` (H, J) and ``fills`` (H, J, I) are those of the j-th stick of each section,
    ``known`` how many are worked out. ``strip``, ``best_strip``, ``rows``, ``best_rows`` and ``drawn`` hold sticks: strip from and to, stick from and to,
    type, section, j, and in ``drawn`` billet and strip; ``billets``: from, to, rip first, losses.
    """

    left: np.ndarray
    free: np.ndarray
    prices: np.ndarray
    values: np.ndarray
    gains: np.ndarray
    lengths: np.ndarray
    fills: np.ndarray
    known: np.ndarray
    used: np.ndarray
    row: np.ndarray
    taken: np.ndarray
    strip: np.ndarray
    best_strip: np.ndarray
    rows: np.ndarray
    best_rows: np.ndarray
    drawn: np.ndarray
    cuts: np.ndarray
    billets: np.ndarray
    noise: np.ndarray
    settings: np.ndarray
    fresh: np.ndarray
    counts: np.ndarray


STICKS, BILLETS, WORK, SEED, COST, GAIN = range(6)
"""What ``Bench.counts`` holds: of the board that was cut its sticks and billets; cells looked at; the state of chance; cost and gain, scaled."""


@compiled
def chance(bench, most):
    """Return a whole number from 0 to ``most`` - 1: a linear congruential generator (Knuth's MMIX, from memory)."""
    state = (bench.counts[SEED] * 25214903917 + 11) & ((1 << 48) - 1)
    bench.counts[SEED] = state
    return (state >> 17) % most


@compiled
def fill_next(wood, shop, terms, items, bench, section, planed, length):
    """Fill the next stick of a section by the bounded knapsack; note what it gives (NEVER if nothing)."""
    j = bench.known[section]
    bench.known[section] = j + 1
    room = (length - 2 * shop.stick_trim + shop.cross_kerf) // items.unit
    first, beyond = items.begin[section], items.begin[section + 1]
    row = bench.row
    for n in range(max(room, 0) + 1):
        row[n] = NEVER
    row[0] = 0
    reach = 0
    for i in range(first, beyond):
        size, gain = items.size[i], bench.prices[i] - terms.cut
        most = min(bench.free[i], max(room, 0) // size)
        for n in range(room + 1):
            bench.taken[i - first, n] = 0
        for _ in range(most):
            reach = min(reach + size, room)
            for n in range(reach, size - 1, -1):
                if row[n - size] > NEVER and row[n - size] + gain > row[n]:
                    row[n] = row[n - size] + gain
                    bench.taken[i - first, n] = bench.taken[i - first, n - size] + 1
        bench.counts[WORK] += max(room, 0) // 4 + most * reach
    best, at = NEVER, 0
    keeps = terms.worth and keeper_worth(shop, length, planed[0], planed[1]) > 0
    for n in range(1, room + 1):
        value = row[n]
        if value > NEVER and keeps:
            value += SCALE * keeper_worth(shop, length - shop.stick_trim - n * items.unit, planed[0], planed[1])
        if value > best:
            best, at = value, n
    bench.values[section, j] = NEVER
    if best <= NEVER:
        return
    bench.values[section, j] = best - terms.cut - terms.stick
    bench.lengths[section, j] = at * items.unit - shop.cross_kerf
    gains = 0
    for i in range(beyond - 1, first - 1, -1):
        count = bench.taken[i - first, at]
        bench.fills[section, j, i] = count
        bench.free[i] -= count
        gains += count * bench.prices[i]
        at -= count * items.size[i]
    bench.gains[section, j] = gains


@compiled
def forget(bench, items):
    """Forget every stick worked out: what is wanted, or how long a stick is, has changed."""
    for i in range(items.size.shape[0]):
        bench.free[i] = bench.left[i]
    for section in range(items.begin.shape[0] - 1):
        bench.known[section] = 0


@compiled
def price_of_setting(terms, bench, setting):
    """Return what a setting costs: nothing if it is made already."""
    return 0 if bench.settings[setting] or bench.fresh[setting] else terms.setting


@compiled
def saw_strip(wood, shop, terms, items, bench, box, place, rank):
    """Lay sticks across a strip at a place of a billet, the best for its width first; return (value, sticks, end).

    ``box`` is (length, room across the strips, along them, machine of the strips, rough size behind them, rip first).
    """
    length, room, deep, machine, rough, rip = box
    sizes, saws = (wood.sizes_y, wood.saw_y) if rip else (wood.sizes_z, wood.saw_z)
    own = sizes[rank]
    end = place + own
    if end > room:
        return NEVER, 0, end
    sawn = room - end > shop.plane_off
    if machine < 0 and (sawn or place > 0):
        return NEVER, 0, end
    second = machine_for(shop, own if sawn else rough - place, rip)
    kerf = shop.kerf[second] if second >= 0 else 0
    stage = 0 if place == 0 and not sawn else 1
    total = 0
    if sawn:
        total -= terms.saw[machine] + price_of_setting(terms, bench, 4 * saws[rank] + 2 * machine)
    first, beyond = (wood.from_y[rank], wood.from_y[rank + 1]) if rip else (wood.from_z[rank], wood.from_z[rank + 1])
    count, at, any_more = 0, 0, True
    while any_more and at < deep:
        best, best_value, best_type, best_end = 0.0, 0, -1, 0
        for n in range(first, beyond):
            stick = wood.of_y[n] if rip else wood.of_z[n]
            size = wood.types[stick, 1] if rip else wood.types[stick, 0]
            behind = at + size
            sawn_off = deep - behind > shop.plane_off
            if behind > deep or (second < 0 and (sawn_off or at > 0)):
                continue
            section = items.section[stick]
            j = bench.used[section]
            if j >= bench.values.shape[1]:
                continue
            if j >= bench.known[section]:
                fill_next(wood, shop, terms, items, bench, section, (wood.types[stick, 2], wood.types[stick, 3]), length)
            value = bench.values[section, j]
            if value <= NEVER:
                continue
            for which in (6, 7):
                value -= price_of_setting(terms, bench, wood.types[stick, which])
            if sawn_off:
                saw = wood.saw_z[wood.types[stick, 5]] if rip else wood.saw_y[wood.types[stick, 4]]
                value -= terms.saw[second] + price_of_setting(terms, bench, 4 * saw + 2 * second + stage)
            score = value * bench.noise[stick] / (size + kerf)
            if value > 0 and score > best:
                best, best_value, best_type, best_end = score, value, stick, behind
        if best_type < 0 or count >= bench.strip.shape[0]:
            break
        section = items.section[best_type]
        line = bench.strip[count]
        line[0], line[1], line[2], line[3] = place, end, at, best_end
        line[4], line[5], line[6] = best_type, section, bench.used[section]
        bench.used[section] += 1
        count += 1
        total += best_value
        at = best_end + kerf
        any_more = deep - best_end > shop.plane_off
        if not any_more and at > deep:
            at = deep
    for n in range(count):
        bench.used[bench.strip[n, 5]] -= 1
    if count and at < deep:
        total += SCALE * terms.worth * keeper_worth(shop, length, deep - at, own)
    return (total if count else NEVER), count, end


@compiled
def note_settings(wood, bench, machine, second_of, rip, sawn, rank, count):
    """Note the settings of the best strip as made."""
    sizes, saws = (wood.sizes_y, wood.saw_y) if rip else (wood.sizes_z, wood.saw_z)
    if sawn:
        bench.fresh[4 * saws[rank] + 2 * machine] = 1
    for n in range(count):
        stick = bench.best_strip[n, 4]
        bench.fresh[wood.types[stick, 6]] = 1
        bench.fresh[wood.types[stick, 7]] = 1
        second, stage, deep, plane_off = second_of
        if second >= 0 and deep - bench.best_strip[n, 3] > plane_off:
            saw = wood.saw_z[wood.types[stick, 5]] if rip else wood.saw_y[wood.types[stick, 4]]
            bench.fresh[4 * saw + 2 * second + stage] = 1


@compiled
def saw_billet(wood, shop, terms, items, bench, length, losses_of, rip):
    """Lay strips across a billet, the best for its width first; return (value, gain, sticks), the sticks in ``rows``."""
    face, edge = losses_of
    wide, deep = wood.width - edge, wood.thickness - face
    room, other = (wide, deep) if rip else (deep, wide)
    height, rough = (wood.thickness, wood.width) if rip else (wood.width, wood.thickness)
    machine = machine_for(shop, height, not rip)
    kerf = shop.kerf[machine] if machine >= 0 else 0
    box = (length, room, other, machine, rough, rip)
    sizes = wood.sizes_y if rip else wood.sizes_z
    for section in range(items.begin.shape[0] - 1):
        bench.used[section] = 0
    for setting in range(bench.fresh.shape[0]):
        bench.fresh[setting] = 0
    total, gain, count, place = -terms.billet, 0, 0, 0
    while place < room:
        best, best_value, best_rank, held = 0.0, 0, -1, 0
        for rank in range(sizes.shape[0]):
            value, sticks, end = saw_strip(wood, shop, terms, items, bench, box, place, rank)
            if value <= 0 or count + sticks > bench.rows.shape[0]:
                continue
            score = value / (sizes[rank] + kerf) * bench.noise[wood.types.shape[0] + rank]
            if score > best:
                best, best_value, best_rank, held = score, value, rank, sticks
                for n in range(sticks):
                    for m in range(7):
                        bench.best_strip[n, m] = bench.strip[n, m]
        if best_rank < 0:
            break
        end = place + sizes[best_rank]
        sawn = room - end > shop.plane_off
        second = machine_for(shop, sizes[best_rank] if sawn else rough - place, rip)
        stage = 0 if place == 0 and not sawn else 1
        note_settings(wood, bench, machine, (second, stage, other, shop.plane_off), rip, sawn, best_rank, held)
        for n in range(held):
            section, j = bench.best_strip[n, 5], bench.best_strip[n, 6]
            bench.used[section] += 1
            gain += bench.gains[section, j]
            for m in range(7):
                bench.rows[count, m] = bench.best_strip[n, m]
            count += 1
        total += best_value
        place = end + kerf
        if not sawn:
            break
    if count and place < room:
        total += SCALE * terms.worth * keeper_worth(shop, length, room - place, other)
    return total, gain, count


@compiled
def stir(wood, bench, spread):
    """Draw the weights by which sticks and strips are chosen, from 1 - spread to 1 + spread per thousand."""
    for n in range(wood.types.shape[0] + wood.sizes_y.shape[0] + wood.sizes_z.shape[0]):
        bench.noise[n] = 1.0 + (chance(bench, 2 * spread + 1) - spread) / 1000.0


@compiled
def some_length(shop, items, bench):
    """Return the length of a billet in which some blanks, drawn at random, fill a stick."""
    count = items.size.shape[0]
    total, wanted = 0, 1 + chance(bench, 4)
    for _ in range(3 * wanted):
        i = chance(bench, count)
        if bench.left[i] > 0:
            total += items.size[i] * items.unit
            wanted -= 1
            if not wanted:
                break
    return total - shop.cross_kerf + 2 * shop.stick_trim


@compiled
def best_billet(wood, shop, terms, course, items, bench, side, start, high, spread):
    """Find the billet from ``start`` that gives the most for what it costs; return (end, rip, sticks, value, gain), its sticks in ``best_rows``.

    What it costs is its work, and the wood that is gone with it less its keepers.
    """
    best, best_end, best_rip, held, best_value, best_gain = 0.0, -1, True, 0, 0, 0
    before = SCALE * terms.worth * worth_of(shop, wood.length - start, wood.width, wood.thickness)
    short = 0
    for turn in range(ENDS):
        end = high
        if turn == 1:
            end = start + short
        elif turn > 1:
            end = start + some_length(shop, items, bench)
        end = max(end, start + course.shortest)
        if end > high or (turn == 1 and not short):
            continue
        after, rest = 0, wood.length - end - shop.cross_kerf
        if rest >= min(course.shortest, shop.keeper_length):
            after = SCALE * terms.worth * worth_of(shop, rest, wood.width, wood.thickness)
        face, edge = losses(wood, shop, course, side, end - start, wood.width)
        if face >= wood.thickness or edge >= wood.width:
            continue
        forget(bench, items)
        for attempt in range(TRIES):
            stir(wood, bench, spread)
            rip = attempt % 2 == 0
            value, gain, count = saw_billet(wood, shop, terms, items, bench, end - start, (face, edge), rip)
            if not count:
                continue
            cost = gain - value + before - after
            score = gain / max(cost, 1)
            if score > best:
                best, best_end, best_rip, held, best_value, best_gain = score, end, rip, count, value, gain
                longest = 0
                for n in range(count):
                    for m in range(7):
                        bench.best_rows[n, m] = bench.rows[n, m]
                    section, j = bench.rows[n, 5], bench.rows[n, 6]
                    longest = max(longest, bench.lengths[section, j])
                    for i in range(items.begin[section], items.begin[section + 1]):
                        bench.cuts[bench.counts[STICKS] + n, i] = bench.fills[section, j, i]
                if turn == 0:
                    short = longest + 2 * shop.stick_trim
    return best_end, best_rip, held, best_value, best_gain


@compiled
def lengthen(wood, shop, course, bench, side, high):
    """Draw the last billet of a side out to its end where no keeper is left behind it and its losses stay (R12)."""
    if not bench.counts[BILLETS]:
        return
    line = bench.billets[bench.counts[BILLETS] - 1]
    start, end = line[0], line[1]
    if start < course.sides[side, 0] or end >= high:
        return
    if wood.length - end - shop.cross_kerf >= shop.keeper_length:
        return
    face, edge = losses(wood, shop, course, side, high - start, wood.width)
    if face == line[3] and edge == line[4]:
        line[1] = high


@compiled
def cut_board(wood, shop, terms, course, items, bench, spread):
    """Cut one board for what is left; leave its billets and sticks on the bench, with its gain and cost."""
    counts = bench.counts
    counts[STICKS], counts[BILLETS], counts[GAIN] = 0, 0, 0
    counts[COST] = SCALE * terms.worth * worth_of(shop, wood.length, wood.width, wood.thickness)
    if wood.width > shop.jointer:
        return
    kept = 0
    for side in range(course.sides.shape[0]):
        start, high = course.sides[side, 0], course.sides[side, 1]
        while high - start >= course.shortest:
            most = bench.drawn.shape[0] - counts[STICKS]
            if most < bench.rows.shape[0] or counts[BILLETS] >= bench.billets.shape[0]:
                break
            end, rip, held, value, gain = best_billet(
                wood, shop, terms, course, items, bench, side, start, high, spread
            )
            if not held:
                break
            rest = SCALE * terms.worth * keeper_worth(
                shop, wood.length - end - shop.cross_kerf, wood.width, wood.thickness
            )
            if counts[BILLETS] and value + rest <= kept:
                break
            kept = rest
            face, edge = losses(wood, shop, course, side, end - start, wood.width)
            line = bench.billets[counts[BILLETS]]
            line[0], line[1], line[2], line[3], line[4] = start, end, rip, face, edge
            for n in range(held):
                into = counts[STICKS] + n
                for m in range(7):
                    bench.drawn[into, m] = bench.best_rows[n, m]
                bench.drawn[into, 7] = counts[BILLETS]
                section = bench.best_rows[n, 5]
                for i in range(items.begin[section], items.begin[section + 1]):
                    bench.left[i] -= bench.cuts[into, i]
            counts[STICKS] += held
            counts[BILLETS] += 1
            counts[GAIN] += gain
            counts[COST] += gain - value + terms.cut
            start = end + shop.cross_kerf
        lengthen(wood, shop, course, bench, side, high)
    counts[COST] -= kept
