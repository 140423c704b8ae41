"""One board cut for what is left of a batch: pieces counted stick by stick, so that never more is cut than is wanted.

The sticks of a billet of sound wood are all as long. With a_i the number of item i that is still wanted, s its length
with a kerf, g its price less a cut, the first stick of a section is filled by the bounded knapsack

    D(n) = max over kinds' counts 0 <= x_i <= a_i with  sum s_i x_i = n  of  sum g_i x_i

the second by the same over what the first left, and so on: the j-th stick of section h gives v(h, j), whichever strip
it lies in. Strips and sticks are then taken one by one, what gives the most for its width first, in both layouts;
billets likewise along the board. What is chosen is a little at random, and a search tries often.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from typing import NamedTuple

import numpy as np  # noqa: TC002 - numba reads the types of records

from yieldplan.solve.graph import SCALE, keeper_worth, machine_for, worth_of
from yieldplan.solve.paths import NEVER, compiled

MOST_STICKS = 160
"""Sticks of one section, and of one board, that are looked at."""

ENDS = 7
"""Ends that are tried of a billet: the end of the board, as short as its sticks ask, and some at random."""

TRIES = 4
"""Layouts that are tried of a billet at each end: both ways, a little at random."""


class Items(NamedTuple):
    """What a class of sound, straight wood can be cut into; axis 0 is across y, 1 across z.

    An item is a kind's needed blanks or its spares, in the order of their sections: those of section h from
    ``begin[h]`` up to ``begin[h + 1]``. ``size`` is the length of each with a kerf, in ``unit`` marks; ``section`` the
    section of each stick type. ``types``: as in :class:`yieldplan.solve.graph.Wooden`. By axis, ``sizes`` are the
    extents of its sticks, ``saws`` their ranks among all sizes, ``types_of`` the types of each from ``first`` on.
    ``losses`` (2, L + 1): edge and face loss of a billet by its length; ``wood``: length, width, thickness; ``ends``:
    from where to where billets may lie, and how long they are at least.
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
    ranks: np.ndarray
    losses: np.ndarray
    wood: np.ndarray
    ends: np.ndarray


class Costs(NamedTuple):
    """What work costs, scaled; ``worth`` is 1, or 0 where wood counts for nothing."""

    saw: np.ndarray
    setting: int
    cut: int
    stick: int
    billet: int
    worth: int


class Bench(NamedTuple):
    """Room to work in.

    ``left`` and ``free`` count what is wanted of each item, before and behind the sticks worked out so far; ``prices``
    are scaled. ``values``, ``gains``, ``lengths`` (H, J) and ``fills`` (H, J, I) are those of the j-th stick of each
    section, ``known`` how many are worked out and ``used`` how many lie in the billet. ``strip``, ``best_strip``,
    ``rows``, ``best_rows`` and ``drawn`` hold sticks: strip from and to, stick from and to, type, section, j, and in
    ``drawn`` the billet, with what lies on them in ``cuts``. ``settings`` are made for other boards, ``fresh`` for this
    billet.
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
    noise: np.ndarray
    settings: np.ndarray
    fresh: np.ndarray
    counts: np.ndarray


STICKS, WORK, SEED = range(3)
"""What ``Bench.counts`` holds: the sticks of the board so far, cells looked at, the state of chance."""


@compiled
def chance(bench, most):
    """Return a whole number from 0 to ``most`` - 1: a linear congruential generator (Knuth's MMIX, from memory)."""
    state = (bench.counts[SEED] * 25214903917 + 11) & ((1 << 48) - 1)
    bench.counts[SEED] = state
    return (state >> 17) % most


@compiled
def copy_rows(rows, into, count):
    """Copy so many sticks."""
    for n in range(count):
        for m in range(7):
            into[n, m] = rows[n, m]


@compiled
def fill_next(shop, terms, items, bench, section, planed, length):
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
            value += SCALE * keeper_worth(
                shop, length - shop.stick_trim - n * items.unit, planed[0], planed[1]
            )
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
def next_stick(shop, terms, items, bench, box, strip, at):
    """Find the stick that gives the most for its width at a place of a strip; return (value, type or -1, its end)."""
    length, _, deep, _, _, axis = box
    rank, second, stage = strip
    kerf = shop.kerf[second] if second >= 0 else 0
    first, beyond = items.first[axis, rank], items.first[axis, rank + 1]
    best, best_value, best_type, best_end = 0.0, 0, -1, 0
    for n in range(first, beyond):
        stick = items.types_of[axis, n]
        row = items.types[stick]
        size = row[1 - axis]
        end = at + size
        sawn_off = deep - end > shop.plane_off
        if end > deep or (second < 0 and (sawn_off or at > 0)):
            continue
        section = items.section[stick]
        j = bench.used[section]
        if j >= bench.values.shape[1]:
            continue
        if j >= bench.known[section]:
            fill_next(shop, terms, items, bench, section, (row[2], row[3]), length)
        value = bench.values[section, j]
        if value <= NEVER:
            continue
        for which in (6, 7):
            value -= price_of_setting(terms, bench, row[which])
        if sawn_off:
            saw = items.saws[1 - axis, row[5 - axis]]
            value -= terms.saw[second] + price_of_setting(terms, bench, 4 * saw + 2 * second + stage)
        score = value * bench.noise[stick] / (size + kerf)
        if value > 0 and score > best:
            best, best_value, best_type, best_end = score, value, stick, end
    bench.counts[WORK] += 8 * (beyond - first)
    return best_value, best_type, best_end


@compiled
def strip_at(shop, items, box, place, rank):
    """Return where a strip ends (-1: it cannot lie there), whether it is sawn off, its sticks' saw and stage."""
    _, room, _, machine, rough, axis = box
    own = items.sizes[axis, rank]
    end = place + own
    sawn = room - end > shop.plane_off
    if end > room or (machine < 0 and (sawn or place > 0)):
        return -1, sawn, -1, 0
    second = machine_for(shop, own if sawn else rough - place, axis == 0)
    return end, sawn, second, 0 if place == 0 and not sawn else 1


@compiled
def saw_strip(shop, terms, items, bench, box, place, rank):
    """Lay sticks across a strip at a place of a billet, the best for its width first; return (value, how many).

    ``box`` is (length, room across the strips, along them, machine of the strips, rough size behind them, axis).
    """
    length, _, deep, machine, _, axis = box
    end, sawn, second, stage = strip_at(shop, items, box, place, rank)
    if end < 0:
        return NEVER, 0
    total, count, at = 0, 0, 0
    if sawn:
        saw = items.saws[axis, rank]
        total -= terms.saw[machine] + price_of_setting(terms, bench, 4 * saw + 2 * machine)
    while at < deep and count < bench.strip.shape[0]:
        value, stick, behind = next_stick(shop, terms, items, bench, box, (rank, second, stage), at)
        if stick < 0:
            break
        section = items.section[stick]
        line = bench.strip[count]
        line[0], line[1], line[2], line[3] = place, end, at, behind
        line[4], line[5], line[6] = stick, section, bench.used[section]
        bench.used[section] += 1
        count += 1
        total += value
        at = deep
        if second >= 0:
            at = behind + shop.kerf[second]
        if deep - behind <= shop.plane_off:
            break
    for n in range(count):
        bench.used[bench.strip[n, 5]] -= 1
    if count and at < deep:
        total += SCALE * terms.worth * keeper_worth(shop, length, deep - at, end - place)
    return (total if count else NEVER), count


@compiled
def take_strip(shop, items, bench, box, place, rank, held):
    """Take the best strip: its sticks are used, its settings made."""
    _, _, deep, machine, _, axis = box
    _, sawn, second, stage = strip_at(shop, items, box, place, rank)
    if sawn:
        bench.fresh[4 * items.saws[axis, rank] + 2 * machine] = 1
    for n in range(held):
        row = items.types[bench.best_strip[n, 4]]
        bench.used[bench.best_strip[n, 5]] += 1
        bench.fresh[row[6]] = 1
        bench.fresh[row[7]] = 1
        if second >= 0 and deep - bench.best_strip[n, 3] > shop.plane_off:
            bench.fresh[4 * items.saws[1 - axis, row[5 - axis]] + 2 * second + stage] = 1


@compiled
def saw_billet(shop, terms, items, bench, length, axis):
    """Lay strips across a billet, the best for its width first, into ``rows``; return (value, gain, sticks)."""
    width, thickness = items.wood[1], items.wood[2]
    wide, deep = width - items.losses[0, length], thickness - items.losses[1, length]
    room, other, height, rough = wide, deep, thickness, width
    if axis:
        room, other, height, rough = deep, wide, width, thickness
    if wide <= 0 or deep <= 0:
        return NEVER, 0, 0
    machine = machine_for(shop, height, axis == 1)
    kerf = shop.kerf[machine] if machine >= 0 else 0
    box = (length, room, other, machine, rough, axis)
    for section in range(items.begin.shape[0] - 1):
        bench.used[section] = 0
    for setting in range(bench.fresh.shape[0]):
        bench.fresh[setting] = 0
    total, gain, count, place = -terms.billet, 0, 0, 0
    while place < room:
        best, best_value, best_rank, held = 0.0, 0, -1, 0
        for rank in range(items.ranks[axis]):
            value, sticks = saw_strip(shop, terms, items, bench, box, place, rank)
            if value <= 0 or count + sticks > bench.rows.shape[0]:
                continue
            score = value / (items.sizes[axis, rank] + kerf) * bench.noise[items.types.shape[0] + rank]
            if score > best:
                best, best_value, best_rank, held = score, value, rank, sticks
                copy_rows(bench.strip, bench.best_strip, sticks)
        if best_rank < 0:
            break
        take_strip(shop, items, bench, box, place, best_rank, held)
        for n in range(held):
            gain += bench.gains[bench.best_strip[n, 5], bench.best_strip[n, 6]]
        copy_rows(bench.best_strip, bench.rows[count:], held)
        count += held
        total += best_value
        end = place + items.sizes[axis, best_rank]
        place = end + kerf
        if room - end <= shop.plane_off:
            break
    if count and place < room:
        total += SCALE * terms.worth * keeper_worth(shop, length, room - place, other)
    return total, gain, count


@compiled
def stir(items, bench, spread):
    """Draw the weights by which sticks and strips are chosen, from 1 - spread to 1 + spread per thousand."""
    for n in range(items.types.shape[0] + items.sizes.shape[1]):
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
def keep_rows(items, bench, count):
    """Keep the sticks in ``rows`` as the best billet's, with what lies on them; return how long the longest row is."""
    copy_rows(bench.rows, bench.best_rows, count)
    longest = 0
    for n in range(count):
        section, j = bench.rows[n, 5], bench.rows[n, 6]
        longest = max(longest, bench.lengths[section, j])
        for i in range(items.begin[section], items.begin[section + 1]):
            bench.cuts[bench.counts[STICKS] + n, i] = bench.fills[section, j, i]
    return longest


@compiled
def worth_behind(shop, terms, items, start, least):
    """Return the worth, scaled, of what lies beyond a place of the board; 0 if it is shorter than ``least``."""
    rest = items.wood[0] - start
    if rest < least:
        return 0
    return SCALE * terms.worth * worth_of(shop, rest, items.wood[1], items.wood[2])


@compiled
def best_billet(shop, terms, items, bench, start, spread):
    """Find the billet from ``start`` that gives the most for what it costs; return (end, axis, sticks, value, gain).

    What it costs is its work, and the wood that is gone with it less its keepers. Its sticks are in ``best_rows``.
    """
    best, found, short = 0.0, (-1, 0, 0, 0, 0), 0
    high, shortest = items.ends[1], items.ends[2]
    before = worth_behind(shop, terms, items, start, 0)
    for turn in range(ENDS):
        end = high
        if turn == 1:
            end = start + short
        elif turn > 1:
            end = start + some_length(shop, items, bench)
        end = max(end, start + shortest)
        if end > high or (turn == 1 and not short):
            continue
        after = worth_behind(shop, terms, items, end + shop.cross_kerf, min(shortest, shop.keeper_length))
        forget(bench, items)
        for attempt in range(TRIES):
            stir(items, bench, spread)
            value, gain, count = saw_billet(shop, terms, items, bench, end - start, attempt % 2)
            score = gain / max(gain - value + before - after, 1) if count else 0.0
            if score > best:
                best, found = score, (end, attempt % 2, count, value, gain)
                longest = keep_rows(items, bench, count)
                if turn == 0:
                    short = longest + 2 * shop.stick_trim
    return found
