"""The row of billets along an offcut, and the most that an offcut gives at given prices.

With G(u, v) what a billet from u to v gives, k the crosscut kerf and L the offcut's length, both over the places of
the normal form (R12):

    E(v) = max over billets (u, v) of  S(u) + G(u, v) - cuts at u and v
    S(u) = max of  E(u - k) + cut (one cut frees both),  E(w) + worth(w + k .. u - k),  worth(0 .. u - k)
    best = max over v of  E(v) + worth(v + k .. L)

G is dear, so it is worked out lazily: every billet first counts as what its area could give; the best path is found,
its billets are worked out, and so on until the best path holds none that is not. The answer is exact.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from yieldplan.solve.graph import (
    BLANK,
    LEFT_LABEL,
    PLAIN,
    RUNS,
    SCALE,
    STICKS,
    WORK,
    Box,
    keeper_worth,
    met_along,
)
from yieldplan.solve.paths import LABEL, NEVER, TAIL, compiled, open_graph, put
from yieldplan.solve.places import BILLETS, CURTAILED, LOOKED, ROW, find_billets, losses
from yieldplan.solve.rows import billet_value

WAY, BOUNDED = 2, 4
"""Arcs that weighing a way into a start, and bounding a billet, count as."""

CHECK_EVERY = 8
"""Looks between two questions whether the best row found is near enough."""

AREA, SOUND, EXACT = 0, 1, 2
"""How closely a billet has been looked at: by its area, as if it were sound, as it is."""


@compiled
def area_bound(wood, shop, terms, course, box):
    """Return a bound of G: the area of the box at the best stick's or leftover's value for its area."""
    kerf = min(shop.kerf[0], shop.kerf[1])
    length = box.end - box.start
    wide, deep = box.width - box.edge, wood.thickness - box.face
    if course.splits[1] >= course.splits[0]:
        deep = max(deep, wood.thickness - shop.face_skim)
    if wide <= 0 or deep <= 0:
        return NEVER
    best = 0.0
    if terms.worth and keeper_worth(shop, length, max(wide, deep), max(wide, deep)) > 0:
        best = SCALE * shop.unit * length * (1.0 + shop.premium * min(length, shop.full) / shop.full)
    for stick in range(wood.types.shape[0]):
        value = terms.clean[wood.tables[stick, 0], length] if wood.tables[stick, 0] >= 0 else NEVER
        if value > 0:
            across, through = wood.types[stick, 0] + kerf, wood.types[stick, 1] + kerf
            best = max(best, value / (across * through))
    return int(best * (wide + kerf) * (deep + kerf)) + 1


@compiled
def exact_value(wood, shop, terms, desk, course, side, start, end):
    """Return G of a billet, split or not, and where it is best split (-1: not)."""
    best, split, near = NEVER, -1, NEVER
    price = terms.saw[1] + terms.setting
    for at in range(course.splits[0] - 1, course.splits[1] + 1):
        parted = at >= course.splits[0]
        for half in range(1 + parted):
            low = at + course.band_kerf if half else 0
            width = wood.width - low if half or not parted else at
            face, edge = losses(wood, shop, course, side, end - start, width)
            value = billet_value(wood, shop, terms, desk, Box(start, end, low, width, face, edge))
            if not parted:
                best = value
            elif not half:
                near = value
            elif max(near, value, near + value) - price > best:
                best, split = max(near, value, near + value) - price, at
    return best, split


@compiled
def sort_billets(wood, table):
    """Chain the billets by their start, the longest first."""
    for x in range(wood.length + 1):
        table.first[x] = -1
    for n in range(table.counts[BILLETS]):
        start = table.arcs[n, 0]
        table.after[n] = table.first[start]
        table.first[start] = n


@compiled
def way_in(shop, terms, table, x, n):
    """Return tail and value of an arc into S(x): -2 from the billet a cut away, -1 from end A, else the n-th end."""
    kerf, end = shop.cross_kerf, x - shop.cross_kerf
    if n == -2:
        return 2 + 2 * end, terms.cut if end >= 0 else NEVER
    if n == -1:  # any start will do behind a keeper: there the trim is wood again
        kept = table.kept[max(end, 0)]
        return 0, kept if kept > 0 or table.fixed[x] else NEVER
    last = table.lengths[n]
    if last >= end:
        return 0, NEVER
    return 2 + 2 * last, table.kept[max(end - kerf - last, 0)]


@compiled
def finish_of(wood):
    """Return END's node of the row of billets: S(x) is 1 + 2x, E(x) is 2 + 2x."""
    return 2 * wood.length + 3


@compiled
def lay_billets(wood, shop, terms, desk, table, closeness, slack):
    """Lay billets along an offcut as they are valued now; leave the graph on the table and return END's node.

    Only billets that were looked at as closely as ``closeness`` are taken. A billet's label is BLANK + its number. Of
    the arcs into an S(x) those that come within ``slack`` of the best of them are put, at 0 one alone.
    """
    row, best, via = table.row, table.best, table.via
    finish = finish_of(wood)
    open_graph(best, via, finish + 1)
    count, ends, most = 0, 0, NEVER
    desk.counts[WORK] += wood.length + table.counts[BILLETS]
    spare = row.shape[0] - table.arcs.shape[0] - finish
    for x in range(wood.length + 1):
        if table.first[x] >= 0:
            top, first = NEVER, -3
            beyond = ends if table.fixed[x] else 0
            desk.counts[WORK] += WAY * (beyond + 2)
            for n in range(-2, beyond):
                tail, value = way_in(shop, terms, table, x, n)
                if value > NEVER and best[tail] > NEVER and best[tail] + value > top:
                    top, first = best[tail] + value, n
            for n in range(-2 if slack > 0 else first, beyond if slack > 0 else first + 1):
                tail, value = way_in(shop, terms, table, x, n)
                if first > -3 and value > NEVER and best[tail] + value >= top - slack:
                    spare -= 1
                    if spare < 0:
                        table.counts[CURTAILED] = 1
                        return finish
                    count = put(row, count, best, via, (tail, 1 + 2 * x, value, PLAIN))
            n = table.first[x] if top > NEVER else -1
            while n >= 0:
                end, gain = table.arcs[n, 1], table.arcs[n, 2]
                if gain > NEVER and table.arcs[n, 3] >= closeness:
                    gain -= (terms.cut if x > 0 else 0) + (terms.cut if end < wood.length else 0)
                    count = put(row, count, best, via, (1 + 2 * x, 2 + 2 * end, gain, BLANK + n))
                n = table.after[n]
        if best[2 + 2 * x] > most:  # else an end before it gives as much and leaves more
            most = best[2 + 2 * x] if slack <= 0 else NEVER
            table.lengths[ends] = x
            ends += 1
    for n in range(ends - 1, -1, -1):
        end = table.lengths[n]
        rest = table.kept[max(wood.length - end - shop.cross_kerf, 0)]
        count = put(row, count, best, via, (2 + 2 * end, finish, rest, LEFT_LABEL))
    table.counts[ROW] = count
    return finish


@compiled
def side_of(course, start):
    """Return which side of the kinks a billet lies on."""
    for side in range(course.sides.shape[0]):
        if course.sides[side, 0] <= start < course.sides[side, 1]:
            return side
    return 0


@compiled
def first_bounds(wood, shop, terms, course, table):
    """Value every billet by its area, and every leftover between billets."""
    for length in range(wood.length + 1):
        table.by_length[length, 0] = NEVER - 1
        table.by_length[length, 1] = AREA
        table.kept[length] = keeper_worth(shop, length, wood.width, wood.thickness) * SCALE * terms.worth
    for n in range(table.counts[BILLETS]):
        start, end = table.arcs[n, 0], table.arcs[n, 1]
        if table.by_length[end - start, 0] < NEVER or course.sides.shape[0] > 1:
            face, edge = losses(wood, shop, course, side_of(course, start), end - start, wood.width)
            box = Box(start, end, 0, wood.width, face, edge)
            table.by_length[end - start, 0] = area_bound(wood, shop, terms, course, box) - terms.billet
        table.arcs[n, 2] = table.by_length[end - start, 0]
        table.arcs[n, 3] = AREA


@compiled
def look_closer(wood, bare, shop, terms, desk, course, table, n):
    """Value a billet more closely: first all of its length as if their wood were sound, then itself as it is."""
    start, end, side = table.arcs[n, 0], table.arcs[n, 1], side_of(course, table.arcs[n, 0])
    length, alike = end - start, course.sides.shape[0] == 1
    flawed = (met_along(wood, start, end) & ((1 << wood.defects.shape[0]) - 1)) != 0
    known = alike and table.by_length[length, 1] == SOUND
    value = table.by_length[length, 0]
    as_sound = not flawed or (terms.free and not known and table.arcs[n, 3] == AREA)
    if not (as_sound and known):
        value, _ = exact_value(bare if as_sound else wood, shop, terms, desk, course, side, start, end)
        table.counts[LOOKED] += 1
    table.arcs[n, 2] = value
    table.arcs[n, 3] = SOUND if as_sound and flawed else EXACT
    if as_sound and alike and not known:
        table.by_length[length, 0], table.by_length[length, 1] = value, SOUND
        desk.counts[WORK] += table.counts[BILLETS]
        for other in range(table.counts[BILLETS] if terms.free else 0):
            if table.arcs[other, 3] == AREA and table.arcs[other, 1] - table.arcs[other, 0] == length:
                table.arcs[other, 2] = value


@compiled
def best_offcut(wood, bare, shop, terms, desk, course, table, limits):
    """Return a bound of what an offcut gives, and what its best row found gives (NEVER: none); it stays on the table.

    Bound and row are the same but where ``limits`` (enough, most looks, most work, near, again) ended the search: a
    bound that is no more than enough, or than ``near`` above the row found, need not be closer, and no more billets are
    looked at than so many, nor longer than so much work. ``bare`` is the offcut without its defects.
    ``again``: the billets on the table, and what sticks give, hold still; what billets
    were found to give are bounds; below 0: billets of every length that blanks pushed together come to are tried, not
    only those at which some stick gives more.
    """
    enough, most, stop, near, again = limits
    table.counts[LOOKED] = 0
    if again > 0:
        for length in range(wood.length + 1):
            table.by_length[length, 1] = AREA
        for n in range(table.counts[BILLETS]):
            table.arcs[n, 3] = min(table.arcs[n, 3], SOUND)
    else:
        desk.counts[STICKS] = 0
        desk.counts[RUNS] = 0
        find_billets(wood, shop, terms, course, table, again < 0)
        sort_billets(wood, table)
        first_bounds(wood, shop, terms, course, table)
        desk.counts[WORK] += BOUNDED * table.counts[BILLETS]
    check = CHECK_EVERY
    while True:
        node = lay_billets(wood, shop, terms, desk, table, AREA, 0)
        best = table.best[node]
        if best <= enough:
            return best, NEVER
        exact = True
        while node > 0:
            arc = table.row[table.via[node]]
            n, node = arc[LABEL] - BLANK, arc[TAIL]
            if n >= 0 and table.arcs[n, 3] != EXACT:
                exact = False
                look_closer(wood, bare, shop, terms, desk, course, table, n)
        if exact:
            return best, best
        spent = table.counts[LOOKED] >= most or desk.counts[WORK] >= stop
        if spent or table.counts[LOOKED] >= check:
            found = table.best[lay_billets(wood, shop, terms, desk, table, EXACT, 0)]
            if spent or best - found <= near:
                return best, found
            check = table.counts[LOOKED] + CHECK_EVERY
