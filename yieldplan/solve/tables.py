"""Sticks without a defect: the most that one gives by its length, once for all offcuts.

With s the lengths of blanks, k the crosscut kerf, p prices less a cut:

    D(n) = max over kinds of  D(n - s - k) + p,   D(0) = 0
    v(l) = max over n > 0 with trims + n - k <= l of  D(n) + worth(l - trim - n) - cut - stick

which is the graph of :func:`yieldplan.solve.rows.stick_row` with all blanks pushed together.
"""
# mypy: disable-error-code="no-untyped-def, no-untyped-call, type-arg"

from __future__ import annotations

from yieldplan.solve.graph import SCALE, keeper_worth
from yieldplan.solve.paths import NEVER, compiled


@compiled
def fill_table(shop, terms, spans, prices, most, section, row, clean, steps):
    """Fill one table: ``clean`` by a stick's length, ``steps`` by the length of its blanks pushed together.

    ``most`` is how many of a kind a stick may hold; ``row`` (room for 2 rows of values) is scratch.
    """
    size, kerf, trim = clean.shape[0], shop.cross_kerf, shop.stick_trim
    for n in range(size):
        row[n] = NEVER
        clean[n], steps[n] = NEVER, NEVER
    row[0] = 0
    for kind in range(spans.shape[0]):
        span, gain = spans[kind] + kerf, prices[kind] - terms.cut
        if prices[kind] <= NEVER:
            continue
        if most[kind] * span >= size:
            for n in range(size - span):
                if row[n] > NEVER and row[n] + gain > row[n + span]:
                    row[n + span] = row[n] + gain
        else:
            for _ in range(most[kind]):
                for n in range(size - span - 1, -1, -1):
                    if row[n] > NEVER and row[n] + gain > row[n + span]:
                        row[n + span] = row[n] + gain
    best = NEVER
    for n in range(1, size):
        best = max(best, row[n])
        if n >= kerf:
            steps[n - kerf] = best
    fixed = terms.cut + terms.stick
    for length in range(size):
        blanks = length - 2 * trim
        if blanks > 0 and steps[blanks] > NEVER:
            clean[length] = steps[blanks] - fixed
    if not terms.worth or not keeper_worth(shop, size, section[0], section[1]):
        return
    for n in range(1, size - kerf):
        if steps[n] <= NEVER or steps[n] == steps[n - 1]:
            continue
        for length in range(trim + n + kerf + shop.keeper_length, size):
            kept = keeper_worth(shop, length - trim - n - kerf, section[0], section[1])
            value = steps[n] + kept * SCALE - fixed
            clean[length] = max(clean[length], value)
