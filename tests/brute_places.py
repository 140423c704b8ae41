"""Where billets may start and end: the normal form of R12, in marks, written from the rule alone.

Seen from end A; what is said of end B is the same mirrored, x turned into -x.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

Span = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What the places of billets rest on, in marks.

    Attributes
    ----------
    length, sides
        Of the offcut; of its straight parts what the end trims leave.
    kerf, trim, least, keeper
        Crosscut kerf, stick trim, shortest machined length, keeper length.
    sizes
        Of the blanks that the offcut can give, along x.
    behind, before
        Where blanks may begin right behind an obstacle, and end right before one.
    sticks_kept
        Whether some stick's planed section is a keeper's.
    """

    length: int
    sides: tuple[Span, ...]
    kerf: int
    trim: int
    least: int
    keeper: int
    sizes: frozenset[int]
    behind: frozenset[int]
    before: frozenset[int]
    sticks_kept: bool


def mirrored(reach: Reach) -> Reach:
    """Return the same seen from end B, x turned into -x."""
    return Reach(
        length=reach.length,
        sides=tuple((-high, -low) for low, high in reach.sides),
        kerf=reach.kerf,
        trim=reach.trim,
        least=reach.least,
        keeper=reach.keeper,
        sizes=reach.sizes,
        behind=frozenset(-place for place in reach.before),
        before=frozenset(-place for place in reach.behind),
        sticks_kept=reach.sticks_kept,
    )


def every(reach: Reach) -> set[Span]:
    """Return every billet that may be, at every mark."""
    return {
        (start, end)
        for low, high in reach.sides
        for start in range(low, high - reach.least + 1)
        for end in range(start + max(reach.least, 1), high + 1)
    }


def normal(reach: Reach) -> set[Span]:
    """Return the billets of the normal form."""
    back = mirrored(reach)
    lefts = [_starts(reach, side) for side in reach.sides]
    rights = [_negative(_starts(back, side)) for side in back.sides]
    left_stops = {stop for side in reach.sides for stop in _stops(reach, side)}
    right_stops = {-stop for side in back.sides for stop in _stops(back, side)}
    # where a billet begins, or may end up beginning, to the right of one that fills its room; and the mirror of it
    begins = left_stops.union(*(asked for side in rights for asked in side.values()))
    ends = right_stops.union(*(asked for side in lefts for asked in side.values()))
    kerf, room = reach.kerf, 2 * reach.kerf + reach.keeper
    fills = right_stops | {place - gap for place in begins for gap in (kerf, room)}
    fills.add(reach.length - kerf - reach.keeper)
    opens = left_stops | {place + gap for place in ends for gap in (kerf, room)}
    opens.add(kerf + reach.keeper)
    found: set[Span] = set()
    for (low, high), left, right in zip(reach.sides, lefts, rights, strict=True):
        for start, asked in left.items():
            found |= {(start, end) for end in asked | fills | {high} if end <= high}
        for end, asked in right.items():
            found |= {(start, end) for start in asked | opens | {low} if start >= low}
    return {(start, end) for start, end in found if end - start >= max(reach.least, 1)}


def _stops(reach: Reach, side: Span) -> set[int]:
    low, high = side
    return {low} | {place - reach.trim for place in reach.behind if low <= place - reach.trim <= high}


def _starts(reach: Reach, side: Span) -> dict[int, set[int]]:
    """Return the left starts of a side, each with the ends that it asks for."""
    found: dict[int, set[int]] = {}
    fresh = _stops(reach, side)
    while fresh:
        start = fresh.pop()
        found[start] = _asked(reach, start, side[1])
        fresh |= {end + reach.kerf for end in found[start] if end + reach.kerf <= side[1]} - found.keys()
    return found


def _asked(reach: Reach, start: int, high: int) -> set[int]:
    """Return where a billet that starts there may end, as its blanks or a keeper ask."""
    first, shortest = start + reach.trim, start + reach.least
    asked = {start + reach.keeper}
    fresh = {first} | {place for place in reach.behind if place > first}
    seen: set[int] = set()
    while fresh:
        place = fresh.pop()
        seen.add(place)
        for size in reach.sizes:
            end = place + size
            if end > high:
                continue
            asked.add(max(end + reach.trim, shortest))
            if reach.sticks_kept:
                asked.add(end + reach.kerf + reach.keeper)
            if end + reach.kerf not in seen:
                fresh.add(end + reach.kerf)
    return {end for end in asked if shortest <= end <= high}


def _negative(starts: dict[int, set[int]]) -> dict[int, set[int]]:
    return {-start: {-end for end in asked} for start, asked in starts.items()}


def obstacles(
    defects: Iterable[tuple[int, int, str]], kinds: Iterable[tuple[int, int, frozenset[str]]]
) -> tuple[frozenset[int], frozenset[int]]:
    """Return where blanks may begin right behind defects, and where they may end right before them.

    ``defects``: from, to, kind; ``kinds``: size along x, clear end, kinds of defect allowed. A blank with a clear end
    may hold an allowed defect up to there.
    """
    kinds = tuple(kinds)
    behind, before = set(), set()
    for low, high, kind in defects:
        behind.add(high)
        before.add(low)
        for size, clear, allows in kinds:
            if 0 < clear < size and kind in allows:
                behind.add(high - (size - clear))
                before.add(low + (size - clear))
    return frozenset(behind), frozenset(before)
