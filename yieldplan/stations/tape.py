"""The tape list: every station with its mark, its frame's length and the blank that the frame is cut from.

Few blank lengths serve many frame lengths with the least wood, exactly. The distinct lengths l_1 < ... < l_m are wanted
c_1 ... c_m times. A frame may be cut from any blank that is not shorter, so the best blanks are some of the l_j, each
serving the lengths l_i ... l_j next below it. With k blanks, W(k, j) is the least total length that serves the first j
lengths, the j-th being the last served::

    W(k, j) = min over i <= j, l_j - l_i <= over, of  W(k - 1, i - 1) + l_j (c_i + ... + c_j),    W(k, 0) = 0

All in whole steps.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from yieldplan import measure
from yieldplan.measure import MeasureError, Rounding
from yieldplan.model.errors import ArgumentError
from yieldplan.model.words import fold
from yieldplan.stations.blanks import BlankKind
from yieldplan.stations.division import blank_length
from yieldplan.workbook.layouts import BLANKS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from yieldplan.stations.division import Division
    from yieldplan.stations.reading import Survey

_NEVER = np.iinfo(np.int64).max // 4


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeList:
    """What came of a survey: its runs with the blank that each frame is cut from, and the rows that Blanks gets."""

    survey: Survey
    tapes: tuple[Division, ...]
    kinds: tuple[BlankKind, ...]


def longest_over(text: str, survey: Survey) -> int:
    """Return what ``--none-longer-by`` says, in steps; a bare number is in the input's units."""
    try:
        return Rounding.STOCK.steps(measure.exact(text, survey.marks.unit))
    except MeasureError as error:
        raise ArgumentError(f"--none-longer-by: “{text}” {error}.") from None


def tape_list(survey: Survey, *, at_most: int | None = None, longer_by: int | None = None) -> TapeList:
    """Return the stations of every run with their lengths, gathered into blanks.

    Runs that name the same blank share its lengths. With ``at_most`` it has so many at most; or with ``longer_by`` as
    few as keep to it that none is longer than a frame cut from it by more than so much (steps).

    Raises ArgumentError if there are more lengths than Blanks takes.
    """
    wanted, names = defaultdict[str, Counter[int]](Counter), dict[str, str]()
    for division in survey.divisions:
        names.setdefault(fold(division.run.blank), division.run.blank)
        for station in division.stations:
            if division.run.blank and station.length is not None:
                least = blank_length(station.length, survey.marks)
                wanted[fold(division.run.blank)][least] += division.run.sides
    kinds = tuple(
        kind
        for key, counts in wanted.items()
        for kind in _numbered(names[key], counts, blank_lengths(counts, at_most, longer_by))
    )
    if len(kinds) > BLANKS.most_rows:
        raise ArgumentError(
            f"These frames have {len(kinds)} lengths, and Blanks takes {BLANKS.most_rows} rows at most: ask for "
            "fewer lengths with --at-most or --none-longer-by."
        )
    tapes = []
    for division in survey.divisions:
        fit = [kind for kind in reversed(kinds) if fold(kind.pattern) == fold(division.run.blank)]
        stations = []
        for station in division.stations:
            least = 0 if station.length is None else blank_length(station.length, survey.marks)
            blank = next((kind.name for kind in fit if kind.length >= least), "")
            stations.append(replace(station, blank=blank))
        tapes.append(replace(division, stations=tuple(stations)))
    return TapeList(survey=survey, tapes=tuple(tapes), kinds=kinds)


def _numbered(name: str, counts: Counter[int], chosen: tuple[int, ...]) -> Iterator[BlankKind]:
    """Yield the kinds of one blank, the longest first; one that is alone keeps the plain name."""
    for number, (shorter, length) in enumerate(reversed([*pairwise((0, *chosen))]), 1):
        served = {size: count for size, count in counts.items() if shorter < size <= length}
        own = name if len(chosen) == 1 else f"{name} {number}"
        need, needed = sum(served.values()), sum(size * count for size, count in served.items())
        yield BlankKind(pattern=name, name=own, length=length, need=need, needed=needed)


def blank_lengths(
    wanted: Mapping[int, int], at_most: int | None = None, longer_by: int | None = None
) -> tuple[int, ...]:
    """Return the lengths of blanks, rising, that make all wanted frames with the least wood.

    ``wanted`` has lengths in steps and how many of each. There may be ``at_most`` so many lengths of blanks; or a blank
    may be longer than a frame cut from it by ``longer_by`` (steps): as few lengths as keep to it, and of those the
    least wood. Where neither is given every length has its own blank.

    >>> blank_lengths({10: 5, 11: 1, 20: 1}, at_most=2)
    (11, 20)
    """
    sizes = sorted(wanted)
    if at_most is None and longer_by is None:
        return tuple(sizes)
    lengths = np.array(sizes, dtype=np.int64)
    before = np.concatenate([[0], np.cumsum([wanted[size] for size in sizes])])
    first = np.searchsorted(lengths, lengths - (sizes[-1] if longer_by is None else longer_by))
    row = np.full(len(sizes) + 1, _NEVER, dtype=np.int64)  # W(0, j); then W(1, j), W(2, j) ...
    row[0] = 0
    totals, splits = [_NEVER], [np.zeros_like(row)]  # W(k, m), and for each k the i - 1 of every j
    while len(totals) <= min(at_most or 1, len(sizes)) or min(totals) == _NEVER:
        new, split = np.full_like(row, _NEVER), np.zeros_like(row)
        for j, low in enumerate(first, 1):
            costs = row[low:j] + lengths[j - 1] * (before[j] - before[low:j])
            best = int(np.argmin(costs))
            if costs[best] < _NEVER:
                new[j], split[j] = costs[best], low + best
        row = new
        totals.append(int(row[-1]))
        splits.append(split)
    kinds = min(range(len(totals)), key=lambda kinds: (totals[kinds], kinds))
    chosen, last = [], len(sizes)
    for level in range(kinds, 0, -1):
        chosen.append(sizes[last - 1])
        last = int(splits[level][last])
    return tuple(reversed(chosen))
