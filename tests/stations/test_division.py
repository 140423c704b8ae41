"""Equal spaces: how many, where each mark falls, which stand too near to something, where they could go."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from surveys import marks, mm, obstacle, run

from yieldplan.measure import INCH, MM
from yieldplan.stations.division import Division, Obstacle, Run, divide


@pytest.mark.parametrize(
    ("length", "siding", "gap", "start", "pieces", "between"),
    [(120, 1.5, 4, None, 22, 3.7826), (75, 2, 3, 0, 15, 3.0)],
)
def test_members_in_equal_gaps_as_published(
    length: float, siding: float, gap: float, start: float | None, pieces: int, between: float
) -> None:
    """Members of a width in equal gaps: 22 in 120 with gaps of 3.7826, 15 in 75 with gaps of 3.

    Source: worked examples of two how-to pages on spacing members between two ends. The first has a gap at both ends
    (gap = (R - N w)/(N + 1) with N = up((R - gmax)/(w + gmax)), as a carpentry calculator page has it); the
    figures of the second agree only with a member at one end: 75 = 15 (2 + 3).
    """
    members = run(length, siding=siding, spacing=siding + gap, from_start=start)
    division = divide(members)
    assert len(division.stations) == pieces
    assert float(members.room(division.spaces) / MM) == pytest.approx(between, abs=5e-5)


@pytest.mark.parametrize(("pitch", "wanted", "between"), [(36, 9, 3), (24, 6, 3)])
def test_frames_between_moulds_as_published(pitch: int, wanted: int, between: int) -> None:
    """Moulds 36 in apart and frames 9 in apart: three frames between two moulds; a tender, 24 and 6: three too.

    Source: boatbuilding articles in Amateur Work, volumes 5 and 6.
    """
    division = divide(Run(name="run", length=Fraction(pitch * INCH), spacing=Fraction(wanted * INCH)))
    assert len(division.stations) == between
    assert division.pitch == wanted * INCH


def test_frames_stand_so_far_from_the_ends() -> None:
    """The first and the last frame stand where From start and From end say."""
    division = divide(run(3600, from_start=300, from_end=200, spacing=400))
    assert (division.spaces, division.pitch) == (8, mm("387.5"))
    assert marks(division) == [300, 688, 1075, 1463, 1850, 2238, 2625, 3013, 3400]


def test_the_last_frame_ends_so_far_from_the_end() -> None:
    """A frame with a siding ends, not begins, where From end begins."""
    division = divide(run(1000, from_start=0, from_end=100, siding=20, spaces=4))
    assert marks(division)[0] == 0
    assert marks(division)[-1] + 20 == 900


def test_a_frame_at_one_end() -> None:
    """A frame stands at one end alone; the other end bounds a space."""
    assert marks(divide(run(1000, from_start=200, spaces=4))) == [200, 400, 600, 800]
    assert marks(divide(run(1000, from_end=200, spaces=4))) == [200, 400, 600, 800]


def tenths(low: Fraction, high: Fraction) -> st.SearchStrategy[Fraction]:
    """Draw millimetres to the tenth."""
    return st.integers(math.ceil(10 * low), math.floor(10 * high)).map(lambda whole: Fraction(whole, 10))


@st.composite
def runs(draw: st.DrawFn) -> Run:
    """Draw a run that makes at least one frame, in some of them with no room for it."""
    length = draw(tenths(Fraction(40), Fraction(900)))
    ends = [draw(st.none() | tenths(Fraction(0), length / 4)) for _ in range(2)]
    stretch = length - sum(end or 0 for end in ends)
    siding = draw(tenths(Fraction(0), stretch / 10))
    spacing = draw(tenths(stretch / 20, stretch / 2))
    things = draw(
        st.lists(st.tuples(tenths(Fraction(0), length), *[st.integers(0, 30)] * 2, st.booleans()), max_size=4)
    )
    return Run(
        name="run",
        length=length * MM,
        from_start=None if ends[0] is None else ends[0] * MM,
        from_end=None if ends[1] is None else ends[1] * MM,
        siding=siding * MM,
        spacing=spacing * MM,
        obstacles=tuple(
            Obstacle(
                name="mould", start=at * MM, end=min(at + size, length) * MM, clear=mm(clear), shift=shift
            )
            for at, size, clear, shift in things
            if size or clear
        ),
    )


@given(runs())
def test_the_spaces_are_equal_and_the_fewest(stretched: Run) -> None:
    """From mark to mark it is never above the wanted spacing, with one space fewer it is; the ends come out."""
    spacing = stretched.spacing or Fraction(0)
    spaces = stretched.wanted
    assume(stretched.frames(spaces) >= 1 and stretched.room(spaces) > 0)
    division = divide(stretched)
    assert division.spaces == spaces
    assert division.pitch <= spacing
    if spaces > 1:
        assert stretched.pitch(spaces - 1) > spacing
    exact = [station.exact for station in division.stations]
    assert {after - before for before, after in pairwise(exact)} <= {division.pitch}
    between = division.pitch - stretched.siding
    assert exact[0] == (between if stretched.from_start is None else stretched.from_start)
    last = exact[-1] + stretched.siding
    assert stretched.length - last == (between if stretched.from_end is None else stretched.from_end)


@given(runs())
def test_each_mark_is_rounded_by_itself(stretched: Run) -> None:
    """No mark is more than half a millimetre from its exact place, however many stand before it."""
    division = _divided(stretched)
    for station in division.stations:
        assert station.unshifted % MM == 0
        assert abs(station.unshifted - station.exact) <= Fraction(MM, 2)


def _divided(stretched: Run) -> Division:
    spaces = stretched.wanted
    assume(stretched.frames(spaces) >= 1 and stretched.room(spaces) > 0)
    return divide(stretched)


def _near(stretched: Run, mark: int) -> list[tuple[Obstacle, Fraction]]:
    """Return what a frame here is too near to, worked out from its two faces."""
    found = []
    for thing in stretched.obstacles:
        near, far = Fraction(mark), mark + stretched.siding
        apart = (
            thing.start - far
            if far <= thing.start
            else near - thing.end
            if near >= thing.end
            else -Fraction(1)
        )
        if apart < thing.clear:
            found.append((thing, max(apart, Fraction(0))))
    return found


@given(runs())
def test_clashes_are_those_that_two_faces_show(stretched: Run) -> None:
    """A station clashes exactly with what its frame leaves less room than it needs, at that distance."""
    division = _divided(stretched)
    for station in division.stations:
        assert list(station.clashes) == _near(stretched, station.unshifted)


@given(runs())
@settings(max_examples=25, suppress_health_check=[HealthCheck.filter_too_much])
def test_offered_numbers_of_spaces_have_no_clash(stretched: Run) -> None:
    """Every number of spaces that is offered is free of clashes, and no nearer free one is left out."""
    division = _divided(stretched)
    assume(division.offers)
    offered = division.offers
    away = [abs(spaces - division.spaces) for spaces in offered]
    assert away == sorted(away)
    least = max(division.spaces - away[-1] + 1, (division.spaces + 1) // 2)
    for spaces in range(least, division.spaces + away[-1]):
        if stretched.frames(spaces) < 1 or stretched.room(spaces) <= 0:
            continue
        other = divide(replace(stretched, spacing=None, spaces=spaces))
        free = not any(station.clashes for station in other.stations)
        assert free == (spaces in offered)


@given(runs())
def test_a_station_is_shifted_only_where_asked_and_no_further_than_needed(stretched: Run) -> None:
    """A shifted station is free and between its neighbours, and no free millimetre is nearer; the others stay."""
    division = _divided(stretched)
    stations = division.stations
    for place, station in enumerate(stations):
        asked = any(thing.shift for thing, _ in station.clashes)
        assert asked or not station.shifted
        if not asked:
            continue
        low = stretched.from_start or Fraction(0)
        high = stretched.length - (stretched.from_end or 0) - stretched.siding
        if place:
            low = max(low, stations[place - 1].mark + stretched.siding + MM)
        if place + 1 < len(stations):
            high = min(high, stations[place + 1].unshifted - stretched.siding - MM)
        free = [
            mark * MM
            for mark in range(math.ceil(low / MM), math.floor(high / MM) + 1)
            if not _near(stretched, mark * MM)
        ]
        nearest = min(free, key=lambda mark: (abs(mark - station.unshifted), mark), default=station.unshifted)
        assert station.mark == nearest
        assert bool(station.left) == (not free)


def test_a_clash_is_said_with_its_distance_and_free_numbers_nearest_first() -> None:
    """Station 3 is 5 mm from a mould that needs 25: 9 spaces are free, and 7, whose spaces are above the wanted."""
    division = divide(run(3600, from_start=300, from_end=200, spacing=400, obstacles=(obstacle(1080, 25),)))
    ((_, distance),) = division.stations[2].clashes
    assert distance == mm(5)
    assert marks(division)[2] == 1075
    assert division.offers[:2] == (9, 7)


def test_a_station_gives_way_where_asked() -> None:
    """With Shift it stands 25 mm from the mould, on the nearer side; its unshifted mark is kept to be shown."""
    division = divide(
        run(3600, from_start=300, from_end=200, spacing=400, obstacles=(obstacle(1080, 25, shift=True),))
    )
    station = division.stations[2]
    assert (station.unshifted // MM, station.mark // MM) == (1075, 1055)
    assert station.clashes
    assert not station.left
