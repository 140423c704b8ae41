"""The rows of a billet: blanks along a stick, sticks across a strip, strips across a billet.

With prices p, and values that are prices less the price of work, plus the worth of leftovers:

    v(s, m)    sticks: the most that a stick of type s gives where it meets the defects and ring limits m:
               max over rows of blanks of  sum (p_b - cut) - cut - stick - cut x gaps + worth(ends)
    R(a, m)    strips: the most that a strip of rough size a gives where it meets m:
               max over rows of sticks of  sum (v(s, m & m') - pass) - odd cuts + worth(leftovers)
    G          billets: the most that a billet gives, in either layout:
               max over rows of strips of  sum (R(a, m) - pass) - odd cuts + worth(leftovers) - billet

What is less than *plane off* behind a piece is not sawn: such a piece is the last, and its far side is rough.
Nodes, arcs and places are those of :mod:`yieldplan.solve.graph`.
"""

from __future__ import annotations

from yieldplan.solve.graph import (
    ARCS1,
    ARCS2,
    ARCS3,
    BEFORE,
    BEHIND,
    BLANK,
    LEFT_LABEL,
    OPEN,
    PLAIN,
    RUNS,
    SCALE,
    STATES,
    STICKS,
    STRIPS,
    TRUE,
    WORK,
    find_places,
    keeper_worth,
    leave,
    machine_for,
    may_start,
    met_across_y,
    met_across_z,
    met_along,
    note_edge,
    weigh,
)
from yieldplan.solve.paths import NEVER, compiled, open_graph, put

# mypy: disable-error-code="no-untyped-def, no-untyped-call"

MOST_HELD = 512
"""How many sticks, and how many strips, of a billet's values are held at once; more are worked out again."""


MOST_RUNS = 96
"""How many long flawed sticks' values are held at once, each for all of its lengths."""

LONG_STICK = 640
"""Marks from which on a flawed stick is worked out once for all lengths from its start. Blanks are then not tried
pushed back from its far end, which could only bring a leftover at its near end to a keeper."""


@compiled
def edges_along(wood, desk, stick, met, start):
    """Note where blanks may stand against the defects that a stick meets."""
    desk.counts[BEHIND] = 0
    desk.counts[BEFORE] = 0
    for d in range(wood.defects.shape[0]):
        if not (met >> d) & 1:
            continue
        low, high = wood.defects[d, 0] - start, wood.defects[d, 1] - start
        note_edge(desk, high, low)
        for kind in range(wood.spans.shape[0]):
            clear = wood.clears[kind]
            if wood.fits[stick, kind] >= -1 and clear > 0 and wood.allows[kind, d]:
                rest = wood.spans[kind] - clear
                if desk.counts[BEHIND] < desk.edges.shape[1] - 2:
                    note_edge(desk, high - rest, low + rest)


@compiled
def suits(wood, terms, stick, kind, met):
    """Return whether a kind may be cut from a stick that meets these ring limits."""
    limit = wood.fits[stick, kind]
    if limit < -1 or terms.prices[kind] <= NEVER:
        return False
    return limit < 0 or not (met >> (wood.defects.shape[0] + limit)) & 1


@compiled
def stick_row(wood, shop, terms, desk, stick, met, start, end, pushed_back):
    """Lay blanks along a stick from ``start`` to ``end``; leave the graph on the desk and return END's node.

    A blank's label is BLANK + 2 (kind x 2**31 + its place) and 1 where the clear end is B. ``pushed_back`` says whether
    rows are tried pushed back from the end. ``desk.reach`` is left with the most that blanks up to each place give.
    """
    arcs, best, via, kept, after = desk.arcs3, desk.best3, desk.via3, desk.kept3, desk.next3
    room, kerf, trim = end - start, shop.cross_kerf, shop.stick_trim
    last = 1 + STATES * (room + 1)
    open_graph(best, via, last + 1)
    desk.counts[ARCS3] = 0
    reach = desk.reach
    for p in range(room + 1):
        reach[p] = NEVER
    if room <= 2 * trim:
        return last
    least = -1
    if terms.worth:
        wide, thick = wood.types[stick, 2], wood.types[stick, 3]
        least = weigh(shop, kept, room, wide, thick, True) if keeper_worth(shop, room, wide, thick) else -1
    clean = (met & ((1 << wood.defects.shape[0]) - 1)) == 0
    if not clean:
        edges_along(wood, desk, stick, met, start)
        if least >= 0:
            note_edge(desk, kerf + least, room - trim)
        find_places(desk, after, room - trim, kerf, wood.spans, room if pushed_back else -1, 0)
        after[room - trim + 1] = room
    row = (room, kerf, terms.cut, room, least)
    count = put(arcs, 0, best, via, (0, 1 + STATES * trim, -terms.cut - terms.stick, PLAIN))
    for p in range(trim, room - trim):
        for state in range(STATES):
            node = 1 + STATES * p + state
            if best[node] <= NEVER:
                continue
            if not clean:
                count = leave(arcs, count, best, via, (p, state), row, kept, after)
            front = kept[p - kerf] if state == OPEN and least >= 0 and p > kerf else 0
            for kind in range(wood.spans.shape[0]):
                span = wood.spans[kind]
                if p + span > room - trim or not suits(wood, terms, stick, kind, met):
                    continue
                side = 0 if clean else may_start(wood, kind, met, start + p)
                if side < 0:
                    continue
                label = BLANK + 2 * (kind * (1 << 31) + start + p) + side
                behind = p + span + kerf
                head = 1 + STATES * behind + TRUE if behind < room - trim else last
                value = terms.prices[kind] - terms.cut + front
                rest = room - behind
                if head == last and least >= 0 and rest > 0:
                    value += kept[rest]
                count = put(arcs, count, best, via, (node, head, value, label))
                gain = best[node] + terms.prices[kind] - terms.cut + front
                reach[p + span] = max(reach[p + span], gain)
            if state == TRUE:
                value = kept[room - p] if least >= 0 else 0
                count = put(arcs, count, best, via, (node, last, value, LEFT_LABEL))
    desk.counts[ARCS3] = count
    desk.counts[WORK] += STATES * room + 4 * count
    return last


@compiled
def long_stick_value(wood, shop, terms, desk, stick, met, start, end):
    """Return v of a long flawed stick from a run that holds for all its lengths from ``start``.

    The run goes on as far as the defects that are met allow: behind them others may lie.
    """
    far = wood.length
    for d in range(wood.defects.shape[0]):
        if not (met >> d) & 1 and wood.defects[d, 1] > end:
            far = min(far, max(wood.defects[d, 0], end))
    slot = -1
    for n in range(min(desk.counts[RUNS], MOST_RUNS)):
        keys = desk.run_keys[n]
        if keys[0] == stick and keys[1] == met and keys[2] == start and keys[3] >= end:
            slot = n
            break
    if slot < 0:
        slot = desk.counts[RUNS] % MOST_RUNS
        desk.counts[RUNS] += 1
        keys = desk.run_keys[slot]
        keys[0], keys[1], keys[2], keys[3] = stick, met, start, far
        stick_row(wood, shop, terms, desk, stick, met, start, far, False)
        for p in range(far - start + 1):
            desk.runs[slot, p] = desk.reach[p]
    run, room, kerf = desk.runs[slot], end - start, shop.cross_kerf
    wide, thick = wood.types[stick, 2], wood.types[stick, 3]
    best = NEVER
    for p in range(room - shop.stick_trim + 1):
        best = max(best, run[p])
    if terms.worth and keeper_worth(shop, room, wide, thick) > 0:
        for p in range(room - kerf - shop.keeper_length + 1):
            if run[p] > NEVER:
                best = max(best, run[p] + SCALE * keeper_worth(shop, room - p - kerf, wide, thick))
    return best


@compiled
def stick_value(wood, shop, terms, desk, stick, met, start, end):
    """Return v: the most that a stick gives from ``start`` to ``end`` where it meets ``met``; it is held."""
    defects = wood.defects.shape[0]
    met &= met_along(wood, start, end)
    if (met & ((1 << defects) - 1)) == 0:
        table = wood.tables[stick, met >> defects]
        return terms.clean[table, end - start] if table >= 0 else NEVER
    held = min(desk.counts[STICKS], MOST_HELD)
    for n in range(held):
        keys = desk.stick_keys[n]
        if keys[0] == stick and keys[1] == met and keys[2] == start and keys[3] == end:
            return desk.stick_values[n]
    if end - start >= LONG_STICK:
        value = long_stick_value(wood, shop, terms, desk, stick, met, start, end)
    else:
        value = desk.best3[stick_row(wood, shop, terms, desk, stick, met, start, end, True)]
    slot = desk.counts[STICKS] % MOST_HELD
    desk.counts[STICKS] += 1
    desk.stick_keys[slot, 0], desk.stick_keys[slot, 1] = stick, met
    desk.stick_keys[slot, 2], desk.stick_keys[slot, 3] = start, end
    desk.stick_values[slot] = value
    return value


@compiled
def saw_allowed(terms, stage, machine, size):
    """Return whether a fence may be used; settings are numbered by size, machine, stage."""
    return terms.allowed[4 * size + 2 * machine + stage - 1]


@compiled
def edges_across(wood, shop, desk, box, along_y, met):
    """Note where pieces may stand against the defects and ring limits that a row across meets."""
    desk.counts[BEHIND] = 0
    desk.counts[BEFORE] = 0
    defects = wood.defects.shape[0]
    for d in range(defects):
        if not (met >> d) & 1:
            continue
        if along_y:
            note_edge(
                desk,
                wood.defects[d, 3] - box.low - shop.edge_skim,
                wood.defects[d, 2] - box.low - box.edge,
            )
        elif not wood.defects[d, 6]:
            note_edge(desk, wood.defects[d, 5] - shop.face_skim, wood.defects[d, 4] - box.face)
    if along_y:
        for n in range(wood.limits.shape[0]):
            note_edge(desk, wood.limits[n, 0] - box.low, wood.limits[n, 1] - box.low - box.edge)


@compiled
def met_across(wood, shop, box, along_y, low, high):
    """Return the defects and limits that a piece meets across y, or across z, as bits."""
    if along_y:
        return met_across_y(wood, shop, box, low, high)
    return met_across_z(wood, shop, box, low, high)


@compiled
def pass_by(arcs, count, best, via, node, row, kept, after):
    """Put the arcs out of a node that are no piece: the rest is left over, or the next piece stands further on."""
    p, state, last, clean = node
    room, kerf, _, _, least = row
    here = 1 + STATES * p + state
    if state == TRUE:
        count = put(arcs, count, best, via, (here, last, kept[room - p] if least >= 0 else 0, LEFT_LABEL))
    if not clean:
        return leave(arcs, count, best, via, (p, state), row, kept, after)
    if state == OPEN and after[p] <= kerf and after[p] < room:
        return put(arcs, count, best, via, (here, 1 + STATES * after[p] + OPEN, 0, PLAIN))
    return count


@compiled
def put_piece(arcs, count, best, via, node, piece, row, kept):
    """Put the arc of a piece that ends at ``end``; what is behind one that is not sawn off is left over."""
    p, state, last, _ = node
    end, sawn, value, label = piece
    room, kerf, _, _, least = row
    behind = end + kerf
    head = 1 + STATES * behind + TRUE if sawn and behind < room else last
    if not sawn and least >= 0 and behind < room:
        value += kept[room - behind]
    return put(arcs, count, best, via, (1 + STATES * p + state, head, value, label))


@compiled
def strip_row(wood, shop, terms, desk, box, rip, strip):
    """Lay sticks across a strip (or layer); leave the graph on the desk and return END's node.

    ``strip`` is (rank of its size, what it meets, the saw for its sticks or -1, 1 or 2: the row counts as the first
    or second). A stick's label is BLANK + type x 2**31 + its place.
    """
    rank, met, machine, stage = strip
    arcs, best, via, kept, after = desk.arcs2, desk.best2, desk.via2, desk.kept2, desk.next2
    room = box.width - box.edge if not rip else wood.thickness - box.face
    own = wood.sizes_y[rank] if rip else wood.sizes_z[rank]
    first, beyond = (
        (wood.from_y[rank], wood.from_y[rank + 1]) if rip else (wood.from_z[rank], wood.from_z[rank + 1])
    )
    kerf = shop.kerf[machine] if machine >= 0 else 0
    last = 1 + STATES * (room + 1)
    open_graph(best, via, last + 1)
    least = weigh(shop, kept, room, box.end - box.start, own, False) if terms.worth else -1
    odd = terms.saw[machine] + terms.setting if machine >= 0 else -1
    clean = met == 0
    edges_across(wood, shop, desk, box, not rip, met)
    find_places(desk, after, room, kerf, wood.sizes_z if rip else wood.sizes_y, room, shop.plane_off)
    row = (room, kerf, odd, kerf, least)
    for n in range(first, beyond):
        desk.last2[wood.of_y[n] if rip else wood.of_z[n], 0] = -1
    count = put(arcs, 0, best, via, (0, 1, 0, PLAIN))
    for p in range(room):
        for state in range(STATES):
            if best[1 + STATES * p + state] <= NEVER:
                continue
            node = (p, state, last, clean)
            count = pass_by(arcs, count, best, via, node, row, kept, after)
            for n in range(first, beyond):
                stick = wood.of_y[n] if rip else wood.of_z[n]
                size = wood.types[stick, 1] if rip else wood.types[stick, 0]
                end = p + size
                if end > room or not (
                    terms.allowed[wood.types[stick, 6]] and terms.allowed[wood.types[stick, 7]]
                ):
                    continue
                sawn = room - end > shop.plane_off
                price = 0
                if sawn:
                    saw = wood.saw_z[wood.types[stick, 5]] if rip else wood.saw_y[wood.types[stick, 4]]
                    if machine < 0 or not saw_allowed(terms, stage, machine, saw):
                        continue
                    price = terms.saw[machine]
                meets = 0 if clean else met & met_across(wood, shop, box, not rip, p, end)
                if desk.last2[stick, 0] != meets:
                    value = stick_value(wood, shop, terms, desk, stick, meets, box.start, box.end)
                    desk.last2[stick, 0], desk.last2[stick, 1] = meets, value
                value = desk.last2[stick, 1]
                if value <= NEVER:
                    continue
                piece = (end, sawn, value - price, BLANK + stick * (1 << 31) + p)
                count = put_piece(arcs, count, best, via, node, piece, row, kept)
    desk.counts[ARCS2] = count
    desk.counts[WORK] += STATES * room + 4 * count
    return last


@compiled
def strip_value(wood, shop, terms, desk, box, rip, strip):
    """Return R: the most that a strip gives; held while a billet is looked at."""
    rank, met, machine, stage = strip
    key = ((rank * 3 + machine + 1) * 2 + stage - 1) * 2 + (1 if rip else 0)
    held = min(desk.counts[STRIPS], MOST_HELD)
    for n in range(held):
        if desk.strip_keys[n, 0] == key and desk.strip_keys[n, 1] == met:
            return desk.strip_values[n]
    value = desk.best2[strip_row(wood, shop, terms, desk, box, rip, strip)]
    slot = desk.counts[STRIPS] % MOST_HELD
    desk.counts[STRIPS] += 1
    desk.strip_keys[slot, 0], desk.strip_keys[slot, 1] = key, met
    desk.strip_values[slot] = value
    return value


@compiled
def billet_row(wood, shop, terms, desk, box, rip):
    """Lay strips (rip first) or layers across a billet; leave the graph on the desk and return END's node.

    A strip's label is BLANK + 8 (rank x 2**31 + its place) + 2 (saw of its sticks + 1) + whether its row is the first.
    """
    arcs, best, via, kept, after = desk.arcs1, desk.best1, desk.via1, desk.kept1, desk.next1
    wide, deep = box.width - box.edge, wood.thickness - box.face
    room, other = (wide, deep) if rip else (deep, wide)
    last = 1 + STATES * (max(room, 0) + 1)
    open_graph(best, via, last + 1)
    desk.counts[ARCS1] = 0
    if wide <= 0 or deep <= 0 or box.width > shop.jointer:
        return last
    height, rough = (wood.thickness, box.width) if rip else (box.width, wood.thickness)
    machine = machine_for(shop, height, not rip)
    kerf = shop.kerf[machine] if machine >= 0 else 0
    least = weigh(shop, kept, room, box.end - box.start, other, False) if terms.worth else -1
    odd = terms.saw[machine] + terms.setting if machine >= 0 else -1
    along = met_along(wood, box.start, box.end)
    clean = along == 0
    edges_across(wood, shop, desk, box, rip, along)
    find_places(desk, after, room, kerf, wood.sizes_y if rip else wood.sizes_z, room, shop.plane_off)
    row = (room, kerf, odd, kerf, least)
    count = put(arcs, 0, best, via, (0, 1, -terms.billet, PLAIN))
    sizes, saws = (wood.sizes_y, wood.saw_y) if rip else (wood.sizes_z, wood.saw_z)
    for rank in range(sizes.shape[0]):
        desk.last1[rank, 0] = -1
    for p in range(room):
        for state in range(STATES):
            if best[1 + STATES * p + state] <= NEVER:
                continue
            node = (p, state, last, clean)
            count = pass_by(arcs, count, best, via, node, row, kept, after)
            for rank in range(sizes.shape[0]):
                end = p + sizes[rank]
                if end > room:
                    continue
                sawn = room - end > shop.plane_off
                if sawn and (machine < 0 or not saw_allowed(terms, 1, machine, saws[rank])):
                    continue
                meets = 0 if clean else along & met_across(wood, shop, box, rip, p, end)
                second = machine_for(shop, sizes[rank] if sawn else rough - p, rip)
                stage = 1 if state == OPEN and not sawn else 2
                key = (meets * 3 + second + 1) * 2 + stage - 1
                if desk.last1[rank, 0] != key:
                    value = strip_value(wood, shop, terms, desk, box, rip, (rank, meets, second, stage))
                    desk.last1[rank, 0], desk.last1[rank, 1] = key, value
                value = desk.last1[rank, 1]
                if value <= NEVER:
                    continue
                label = BLANK + 8 * (rank * (1 << 31) + p) + 2 * (second + 1) + stage - 1
                piece = (end, sawn, value - (terms.saw[machine] if sawn else 0), label)
                count = put_piece(arcs, count, best, via, node, piece, row, kept)
    desk.counts[ARCS1] = count
    desk.counts[WORK] += STATES * room + 4 * count
    return last


@compiled
def billet_value(wood, shop, terms, desk, box):
    """Return G: the most that a billet or half gives in either layout."""
    desk.counts[STRIPS] = 0
    best = NEVER
    for rip in (True, False):
        best = max(best, desk.best1[billet_row(wood, shop, terms, desk, box, rip)])
    return best
