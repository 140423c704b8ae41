"""Few blank lengths: the least wood, against every choice there is."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from yieldplan.stations.tape import blank_lengths

WANTED = st.dictionaries(st.integers(1, 40), st.integers(1, 5), min_size=1, max_size=7)


def wood(wanted: dict[int, int], chosen: tuple[int, ...], longer_by: int | None) -> int | None:
    """Return the length of all blanks, each frame from the shortest that does; None where one is too long."""
    total = 0
    for size, count in wanted.items():
        blank = min((length for length in chosen if length >= size), default=None)
        if blank is None or (longer_by is not None and blank - size > longer_by):
            return None
        total += blank * count
    return total


def choices(wanted: dict[int, int], most: int, longer_by: int | None) -> list[tuple[int, int]]:
    """Return (wood, lengths) of every choice of lengths that does."""
    found = []
    for kinds in range(1, min(most, len(wanted)) + 1):
        for chosen in combinations(sorted(wanted), kinds):
            total = wood(wanted, chosen, longer_by)
            if total is not None:
                found.append((total, kinds))
    return found


@given(WANTED, st.integers(1, 8))
def test_at_most_so_many_lengths_take_the_least_wood(wanted: dict[int, int], most: int) -> None:
    """No choice of so many lengths takes less wood, and none that takes as much has fewer lengths."""
    chosen = blank_lengths(wanted, at_most=most)
    assert (wood(wanted, chosen, None), len(chosen)) == min(choices(wanted, most, None))


@given(WANTED, st.integers(0, 20))
def test_none_longer_than_so_much_takes_the_fewest_lengths(wanted: dict[int, int], longer_by: int) -> None:
    """The fewest lengths that keep to it, and of those the least wood."""
    chosen = blank_lengths(wanted, longer_by=longer_by)
    least = min((kinds, total) for total, kinds in choices(wanted, len(wanted), longer_by))
    assert (len(chosen), wood(wanted, chosen, longer_by)) == least


@given(WANTED)
def test_without_limits_every_length_has_its_blank(wanted: dict[int, int]) -> None:
    """No wood is given away unless fewer lengths are asked for."""
    assert blank_lengths(wanted) == tuple(sorted(wanted))
