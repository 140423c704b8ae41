"""The labels of a listing: partial cuttings, kept in tables that compiled code fills.

A label counts the blanks of a partial cutting and the worth of its keepers. At each node of a row the labels there are
the ones of which no other has the same counts and more worth (Desrosiers & Luebbecke 2005, labels of a resource
constrained shortest path; from memory). Each remembers the label that it grew from and the piece that was put on.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.solve.kernel import frugal, frugal_inner, inner

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from yieldplan.solve.kernel import Floats, Ints, Records

LABEL = np.dtype(
    [
        *((name, np.float64) for name in ("value", "worth")),
        *((name, np.int64) for name in ("back", "part", "what", "a", "b", "c", "link", "slot", "node")),
    ],
    align=True,
)
"""Value at the prices, worth of keepers; the label of the row without its last piece (-1: none); the label of what
that piece holds (-1: nothing); what it is and where (``a``, ``b``, ``c``); the next label that arrived at the same
node; its place among the labels at the node in hand (-1: pruned); the node where it arrived."""

KEY = np.dtype([("stamp", np.int64), ("label", np.int64)], align=True)
LISTED = np.dtype(
    [*((name, np.int64) for name in ("p", "q", "r", "low", "high")), ("least", np.float64)], align=True
)
"""Labels ``ids[low:high]`` of what (p, q, r) names, all that are worth ``least``; p below 0: nothing yet."""

# Constants that are arguments have numpy's type: numba would compile a function anew for every literal.

OFFCUT, BILLET, STRIP, STICK, SPLIT = map(np.int64, range(5))
"""The rows, from the outermost, and that of the halves of a split billet; each has its own ``state`` and ``keys``."""

WHOLE, KEEPER_STRIP, KEEPER_STICK, REMAINDER, BLANK, OF_BILLET, OF_STRIP, OF_STICK, OF_SPLIT, OF_HALF = map(
    np.int64, range(10)
)
"""What a piece is: up to ``REMAINDER`` a leftover, from ``OF_BILLET`` on one that holds others."""

NONE, ZERO = np.int64(-1), np.int64(0)

CUT = 2.0**-14
"""By how much every crosscut makes a label's worth less: of labels that match but for that, the one with fewer is kept
(aim 4). All the crosscuts of an offcut together are far below a unit of worth."""

STAMP, WORK, LEFT_OUT, FULL = range(4)
"""Places in ``Book.tally``: next stamp, work done, whether labels were left out for being too many, and whether the
book has no room left."""

MOST_COMPARED = 3000
"""Labels at most that are compared with each other; of more some are listed that another matches."""


class Book(NamedTuple):
    """All labels of one listing.

    For each of the five kinds of row: ``labels`` (5, M) of :data:`LABEL` with ``counts`` (5, M, K), of which ``used``
    (5, 2) are taken; ``state`` (5, M) those at the node in hand; ``keys`` (5, 3M) of :data:`KEY` find them by their
    counts; ``ids`` (5, M) the lists made so far, found by ``known`` of :data:`LISTED`. ``caps`` (K,) and ``prices``
    (K,); ``most`` labels are kept at a node; ``limit`` of work; ``moved`` (M,) is scratch space.
    """

    labels: Records
    counts: NDArray[np.int16]
    state: Ints
    keys: Records
    ids: Ints
    known: Records
    used: Ints
    moved: Ints
    caps: Ints
    prices: Floats
    tally: Ints
    most: int
    limit: int


def new_book(room: int, caps: Ints, prices: Floats, most: int, limit: int) -> Book:
    """Return an empty book with room for so many labels."""
    keys, known = np.recarray((5, 3 * room), KEY), np.recarray(4 * room, LISTED)
    keys.stamp, known.p = -1, -1
    return Book(
        np.recarray((5, room), LABEL),
        np.zeros((5, room, len(caps)), np.int16),
        np.zeros((5, room), np.int64),
        keys,
        np.zeros((5, room), np.int64),
        known,
        np.zeros((5, 2), np.int64),
        np.zeros(room, np.int64),
        caps,
        prices,
        np.zeros(4, np.int64),
        most,
        limit,
    )


@frugal_inner
def stopped(book):
    """Return whether the book is full or its work done."""
    return book.tally[FULL] != 0 or book.tally[WORK] > book.limit


@inner
def begin_row(book, row, n):
    """Begin a row of ``n`` nodes with one label of nothing; return its stamp and an empty table of arrivals."""
    stamp = book.tally[STAMP]
    book.tally[STAMP] += n + 2
    book.tally[WORK] += n // 4
    heads = np.full(n + 1, -1, np.int64)
    one = book.used[row, 0]
    if one >= book.labels.shape[1]:
        book.tally[FULL] = 1
        return stamp, heads
    book.used[row, 0] += 1
    label = book.labels[row, one]
    label.value, label.worth, label.back, label.part, label.what = 0.0, 0.0, -1, -1, BLANK
    label.link, label.slot, label.node = -1, -1, 0
    book.counts[row, one, :] = 0
    heads[0] = one
    return stamp, heads


@frugal_inner
def find(book, row, base, stamp, one):
    """Return where in the row's ``keys`` the counts of label ``one`` stand under a stamp, or may be put.

    Entries stamped before ``base``, when the row began, are of older rows.
    """
    keys, counts = book.keys, book.counts[row]
    size, mixed = keys.shape[1], stamp
    for k in range(counts.shape[1]):
        mixed = (mixed * 1000003 + counts[one, k]) & 0x7FFFFFFFFFFF
    at = (mixed ^ (mixed >> 17)) % size
    while True:
        if keys[row, at].stamp < base:
            return at
        if keys[row, at].stamp == stamp:
            other, same = keys[row, at].label, True
            for k in range(counts.shape[1]):
                if counts[one, k] != counts[other, k]:
                    same = False
                    break
            if same:
                return at
        at = (at + 1) % size


@frugal
def within(row, what):
    """Return the row in which what a piece of ``row`` holds is listed."""
    if what == OF_SPLIT:
        return SPLIT
    return BILLET if what == OF_HALF else row + 1


@frugal_inner
def arrive(book, row, base, heads, j, back, part, kind, worth, what, a, b, c):
    """Let the label ``back`` with one piece more arrive at node ``j`` of a row.

    The piece holds the blanks of the label ``part`` (-1: none) and one of ``kind`` (-1: none), and keepers of this
    worth beside those. A surplus blank counts for nothing, as if it were left uncut.
    """
    one = book.used[row, 0]
    book.tally[WORK] += 1
    labels, counts = book.labels[row], book.counts[row]
    if one >= len(labels):
        book.tally[FULL] = 1
        return
    inside = within(row, what)
    worth += labels[back].worth
    if part >= 0:
        worth += book.labels[inside, part].worth
    value = worth
    for k in range(counts.shape[1]):
        count = counts[back, k]
        if part >= 0:
            count += book.counts[inside, part, k]
        if k == kind:
            count += 1
        count = min(count, book.caps[k])
        counts[one, k] = count
        value += count * book.prices[k]
    at = find(book, row, base, base + 1 + j, one)
    key = book.keys[row, at]
    if key.stamp >= base:
        if labels[key.label].worth >= worth:
            return
        link, one = labels[key.label].link, key.label
    else:
        key.stamp, key.label = base + 1 + j, one
        book.used[row, 0] += 1
        link, heads[j] = heads[j], one
    label = labels[one]
    label.value, label.worth, label.back, label.part, label.what = value, worth, back, part, what
    label.a, label.b, label.c, label.link, label.slot, label.node = a, b, c, link, -1, j


@inner
def worst_kept(labels, state, count, most):
    """Return the value of the worst of the ``most`` best of ``count`` labels."""
    values = np.empty(count)
    for q in range(count):
        values[q] = -labels[state[q]].value
    return -values[np.argsort(values, kind="mergesort")[most - 1]]


@frugal_inner
def enter_node(book, row, base, heads, i, count, least):
    """Take what arrived at node ``i`` among the ``count`` labels that idled on to it; drop those below ``least``.

    A leftover does not idle: it would be longer if it ended where the next piece begins. Returns the number of
    labels there, the best value of any, and the best of those that have just arrived.
    """
    labels, state = book.labels[row], book.state[row]
    book.tally[WORK] += 1 + count // 8
    for q in range(count):
        if labels[state[q]].what <= REMAINDER:
            labels[state[q]].value = -np.inf
    one = heads[i]
    while one >= 0:
        if labels[one].value >= least:
            key = book.keys[row, find(book, row, base, base, one)]
            slot = labels[key.label].slot if key.stamp >= base else -1
            if slot < 0:
                slot = count
                count += 1
            elif labels[key.label].worth >= labels[one].worth and labels[key.label].value > -np.inf:
                one = labels[one].link
                continue
            key.stamp, key.label = base, one
            labels[one].slot, state[slot] = slot, one
        one = labels[one].link
    if count > book.most:
        least = max(least, worst_kept(labels, state, count, book.most))
    kept, top, top_fresh = 0, -np.inf, -np.inf
    for q in range(count):
        one = state[q]
        if labels[one].value < least or kept == book.most:
            labels[one].slot = -1
            continue
        state[kept], labels[one].slot = one, kept
        top = max(top, labels[one].value)
        if labels[one].node == i:
            top_fresh = max(top_fresh, labels[one].value)
        kept += 1
    if kept == book.most and kept < count:
        book.tally[LEFT_OUT] = 1
    return kept, top, top_fresh


@frugal_inner
def put_on(book, row, base, heads, i, j, count, held, listed, needed, what, a, b, c, more, before, after):
    """Put one more piece on every label at node ``i``, if they are worth ``needed`` together; it ends at ``j``.

    ``held``: on those too that arrived before. ``listed`` is the range in ``ids`` of what the piece may hold, best
    first; it counts for ``more`` besides. ``before`` and ``after`` say whether a crosscut is needed before it, if it is
    the first one, and after it; both are False across the grain. Behind a gap one more is needed.
    """
    inside = within(row, what)
    for q in range(count):
        one = book.state[row, q]
        label = book.labels[row, one]
        if label.node < i and not held:
            continue
        for place in range(listed[0], listed[1]):
            part = book.ids[inside, place]
            if label.value + book.labels[inside, part].value + more < needed:
                break
            gap = before if label.back < 0 else row == OFFCUT and label.node < i
            worth = more - CUT * (after + gap)
            arrive(book, row, base, heads, j, one, part, NONE, worth, what, a, b, c)
        if stopped(book):
            return


@frugal_inner
def put_leftover(book, row, base, heads, i, j, count, worth, needed, what, a, b, before, after):
    """Put a leftover of this worth on the labels that have just arrived at node ``i``, unless with a leftover.

    ``before`` and ``after``: see :func:`put_on`.
    """
    for q in range(count):
        one = book.state[row, q]
        label = book.labels[row, one]
        if label.node == i and label.what > REMAINDER and label.value + worth >= needed:
            less = worth - CUT * (after + (before and label.back < 0))
            arrive(book, row, base, heads, j, one, NONE, NONE, less, what, a, b, ZERO)
            if stopped(book):
                return


@frugal_inner
def put_blank(book, base, heads, i, j, count, kind, fits, needed, a, b, after):
    """Put a blank of a ``kind`` on the labels at node ``i`` of a stick for which it is the first place that fits.

    ``fits`` (nodes,) is the first such node for a label that arrived at each: the next one would do no better.
    ``after``: see :func:`put_on`; before it a crosscut is needed unless it starts where the stick does.
    """
    for q in range(count):
        one = book.state[STICK, q]
        label = book.labels[STICK, one]
        if fits[label.node] == i and label.value + book.prices[kind] >= needed:
            gap = a > 0 if label.back < 0 else label.node < i
            worth = -CUT * (after + gap)
            arrive(book, STICK, base, heads, j, one, NONE, kind, worth, BLANK, a, b, kind)
            if stopped(book):
                return


@inner
def end_row(book, row, count, begun, bare):
    """Write down the labels of a row's last node that hold a blank; return their range in ``ids``, best first.

    Those that hold keepers alone too, if they may (``bare``).

    Those that another matches in all counts and in worth are left out. Of the labels made since the row was begun
    (``begun`` were taken then) only those are kept from which these grew.
    """
    labels, counts, state, ids = book.labels[row], book.counts[row], book.state[row], book.ids[row]
    totals, values = np.zeros(count, np.int64), np.empty(count)
    for q in range(count):
        one = state[q]
        values[q] = -labels[one].value
        for k in range(counts.shape[1]):
            totals[q] += counts[one, k]
    order = np.argsort(values, kind="mergesort")
    low = high = book.used[row, 1]
    if low + count > len(ids):
        book.tally[FULL] = 1
        return low, low
    for q in order:
        one = state[q]
        if totals[q] == 0 and not (bare and labels[one].worth > 0.0):
            continue
        matched = False
        if count <= MOST_COMPARED:
            for place in range(low, high):  # none is matched by one of less value
                other = ids[place]
                if labels[other].worth < labels[one].worth - 0.5:  # crosscuts do not tell here
                    continue
                matched = True
                for k in range(counts.shape[1]):
                    if counts[other, k] < counts[one, k]:
                        matched = False
                        break
                if matched:
                    break
        if not matched:
            ids[high] = one
            high += 1
    book.used[row, 1] = high
    _keep_grown(book, row, low, high, begun)
    return low, high


@frugal_inner
def _keep_grown(book, row, low, high, begun):
    labels, counts, ids, moved = book.labels[row], book.counts[row], book.ids[row], book.moved
    end = book.used[row, 0]
    moved[begun:end] = -1
    for place in range(low, high):
        one = ids[place]
        while one >= 0 and moved[one] < 0:
            moved[one] = one
            one = labels[one].back
    to = begun
    for one in range(begun, end):
        if moved[one] >= 0:
            moved[one] = to
            to += 1
    for one in range(begun, end):
        if moved[one] >= 0:
            labels[moved[one]] = labels[one]
            for k in range(counts.shape[1]):
                counts[moved[one], k] = counts[one, k]
    for one in range(begun, to):
        if labels[one].back >= 0:
            labels[one].back = moved[labels[one].back]
    for place in range(low, high):
        ids[place] = moved[ids[place]]
    book.used[row, 0] = to


@frugal_inner
def look_up(book, p, q, r):
    """Return where in ``known`` the list of (p, q, r) stands, or may be put."""
    size = len(book.known)
    at = ((p * 1000003 + q) * 1000003 + r) % size
    while book.known[at].p >= 0 and (book.known[at].p != p or book.known[at].q != q or book.known[at].r != r):
        at = (at + 1) % size
    return at


@frugal_inner
def remembered(book, p, q, r, least):
    """Return the range in ``ids`` of the list of (p, q, r), if it holds all that are worth ``least``; else (-1, -1)."""
    known = book.known[look_up(book, p, q, r)]
    if known.p >= 0 and known.least <= least:
        return known.low, known.high
    return -1, -1


@frugal_inner
def write_down(book, p, q, r, least, listed):
    """Remember the list of (p, q, r)."""
    known = book.known[look_up(book, p, q, r)]
    known.p, known.q, known.r = p, q, r
    known.low, known.high, known.least = listed[0], listed[1], least
