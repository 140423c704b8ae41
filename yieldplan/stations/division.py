"""A run in equal spaces: how many, where each mark falls, what it stands too near to, and where it could go.

With S spaces and n = S - 1 + (framed ends) frames of siding w in a stretch R, the room between two frames is
``g = (R - n w) / S`` and from mark to mark it is ``p = g + w``. The fewest spaces whose p is not above the wanted one
are ``S = ceil((R + (1 - framed ends) w) / wanted)``. Mark k of n stands, in a run with a bare start, at
``g + k p``; with a frame at its start, at ``from start + k p``. Each mark is rounded to a whole millimetre by itself,
from its exact place, so no rounding is added to another.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import MM, Rounding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.stations.run import Obstacle, Run

MOST_STATIONS = 500
"""Stations in one run: with more, its spacing is a slip."""

_OFFERED = 4
"""Numbers of spaces that are offered where one has clashes."""

_TIMES = 2
"""Other numbers of spaces are looked for up to so many times this one, and down to its part: no further ones help."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """A station that an obstacle leaves too little room; ``distance`` (steps) is 0 where it stands in it."""

    obstacle: Obstacle
    distance: Fraction
    inside: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """One frame's mark: ``exact`` in steps, ``unshifted`` the same in whole millimetres, ``mark`` where it is put.

    The two last differ where the station was shifted; all are steps from the start of the run. ``clashes`` are those
    of the unshifted mark, ``left`` those of the mark itself.
    """

    number: int
    exact: Fraction
    unshifted: int
    mark: int
    clashes: tuple[Clash, ...] = ()
    left: tuple[Clash, ...] = ()

    @property
    def shifted(self) -> bool:
        """Whether it stands elsewhere than in equal spaces."""
        return self.mark != self.unshifted


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """Another number of spaces, one without clashes, and how far it is from mark to mark."""

    spaces: int
    pitch: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Division:
    """A run divided: its stations, and other numbers of spaces, nearest first, where some of them clash."""

    run: Run
    spaces: int
    pitch: Fraction
    stations: tuple[Station, ...]
    offers: tuple[Offer, ...] = ()


def fewest_spaces(run: Run, wanted: Fraction) -> int:
    """Return the fewest equal spaces that are from mark to mark not above ``wanted``."""
    return math.ceil((run.stretch + (1 - run.framed_ends) * run.siding) / wanted)


def frames(run: Run, spaces: int) -> int:
    """Return how many frames part a run into so many spaces."""
    return spaces - 1 + run.framed_ends


def room(run: Run, spaces: int) -> Fraction:
    """Return the room between two frames; not above 0 where so many find none."""
    return (run.stretch - frames(run, spaces) * run.siding) / spaces


def divide(run: Run) -> Division:
    """Return the run in the fewest spaces that are not above its spacing, or in as many as it asks for."""
    spaces = run.spaces or fewest_spaces(run, run.spacing or run.stretch)
    blocked = _Blocked(run)
    placed: list[Station] = []
    places = _places(run, spaces)
    marks = [Rounding.PLACE.steps(place, MM) for place in places]
    for number, (exact, unshifted) in enumerate(zip(places, marks, strict=True), 1):
        clashes = _clashes(run, unshifted)
        mark = unshifted
        if any(clash.obstacle.shift for clash in clashes):
            before = placed[-1].mark if placed else None
            after = marks[number] if number < len(marks) else None
            mark = blocked.nearest_free(unshifted, before, after)
        left = clashes if mark == unshifted else ()
        placed.append(
            Station(number=number, exact=exact, unshifted=unshifted, mark=mark, clashes=clashes, left=left)
        )
    clashing = any(station.clashes for station in placed)
    return Division(
        run=run,
        spaces=spaces,
        pitch=room(run, spaces) + run.siding,
        stations=tuple(placed),
        offers=tuple(_offers(run, spaces, blocked)) if clashing else (),
    )


def _places(run: Run, spaces: int) -> list[Fraction]:
    """Return where the marks of equal spaces fall, exactly."""
    between = room(run, spaces)
    first = between if run.from_start is None else run.from_start
    pitch = between + run.siding
    return [first + number * pitch for number in range(frames(run, spaces))]


def _clashes(run: Run, mark: int) -> tuple[Clash, ...]:
    """Return the obstacles that a frame with its mark here is too near to."""
    found = []
    for obstacle in run.obstacles:
        distance = max(obstacle.start - (mark + run.siding), mark - obstacle.end)
        if distance < obstacle.clear:
            found.append(Clash(obstacle=obstacle, distance=max(distance, Fraction(0)), inside=distance <= 0))
    return tuple(found)


def _offers(run: Run, spaces: int, blocked: _Blocked) -> Iterator[Offer]:
    """Yield numbers of spaces without clashes, nearest first; of two as near the larger, for its spaces are smaller."""
    count = 0
    for away in range(1, (_TIMES - 1) * spaces + 1):
        for other in (spaces + away, spaces - away):
            number = frames(run, other) if _TIMES * other >= spaces else 0
            if not 0 < number <= MOST_STATIONS or room(run, other) <= 0:
                continue
            if any(blocked.at(Rounding.PLACE.steps(place, MM)) for place in _places(run, other)):
                continue
            yield Offer(spaces=other, pitch=room(run, other) + run.siding)
            count += 1
            if count == _OFFERED:
                return


class _Blocked:
    """Where no frame of a run may have its mark: whole millimetres, as merged ranges (in steps, both ends blocked)."""

    def __init__(self, run: Run) -> None:
        self._run = run
        self._ranges: list[tuple[int, int]] = []
        for obstacle in sorted(run.obstacles, key=lambda obstacle: obstacle.start - obstacle.clear):
            low = math.floor((obstacle.start - obstacle.clear - run.siding) / MM) * MM + MM
            high = math.ceil((obstacle.end + obstacle.clear) / MM) * MM - MM
            if low > high:
                continue
            if self._ranges and low <= self._ranges[-1][1] + MM:
                low, high = self._ranges[-1][0], max(high, self._ranges.pop()[1])
            self._ranges.append((low, high))
        self._ranges.sort()
        self._lows = [low for low, _ in self._ranges]

    def at(self, mark: int) -> bool:
        """Return whether a mark, in whole millimetres, is blocked."""
        place = bisect_right(self._lows, mark) - 1
        return place >= 0 and mark <= self._ranges[place][1]

    def nearest_free(self, unshifted: int, before: int | None, after: int | None) -> int:
        """Return the free mark nearest to that of equal spaces, of two the nearer to the start; that one where none is.

        It lies in the stretch that is divided, and no frame comes over the one before or after it.
        """
        run = self._run
        least, most = run.from_start or Fraction(0), run.length - (run.from_end or 0) - run.siding
        if before is not None:
            least = max(least, before + run.siding + MM)
        if after is not None:
            most = min(most, after - run.siding - MM)
        place = bisect_right(self._lows, unshifted) - 1
        low, high = self._ranges[place]
        free = [mark for mark in (low - MM, high + MM) if least <= mark <= most]
        return min(free, key=lambda mark: (abs(mark - unshifted), mark), default=unshifted)
