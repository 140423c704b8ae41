"""The tape list: every station with its mark, its frame's length and the blank that the frame is cut from."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise, zip_longest
from typing import TYPE_CHECKING

from yieldplan import measure
from yieldplan.measure import MeasureError, Rounding
from yieldplan.model.errors import ArgumentError
from yieldplan.model.words import fold
from yieldplan.stations.curve import blank_length, lengths
from yieldplan.stations.kinds import TooFewKindsError, blank_lengths
from yieldplan.stations.rows import BlankKind

if TYPE_CHECKING:
    from fractions import Fraction

    from yieldplan.stations.division import Division, Station
    from yieldplan.stations.reading import Survey
    from yieldplan.stations.run import Run
    from yieldplan.workbook.marks import Marks


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeRow:
    """One station; without points it has no length, without a blank no blank."""

    station: Station
    length: Fraction | None = None
    blank: BlankKind | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """The stations of one run."""

    division: Division
    rows: tuple[TapeRow, ...]

    @property
    def run(self) -> Run:
        """The run that was divided."""
        return self.division.run


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeList:
    """What came of a survey: a tape for each run, and the rows that Blanks gets."""

    survey: Survey
    tapes: tuple[Tape, ...]
    kinds: tuple[BlankKind, ...]


def longest_over(text: str, survey: Survey) -> int:
    """Return what ``--none-longer-by`` says, in steps; a bare number is in the input's units."""
    try:
        return Rounding.STOCK.steps(measure.exact(text, survey.marks.unit))
    except MeasureError as error:
        raise ArgumentError(f"--none-longer-by: “{text}” {error}.") from None


def tape_list(survey: Survey, *, at_most: int | None = None, longer_by: int | None = None) -> TapeList:
    """Return the stations of every run with their lengths, gathered into blanks.

    Runs that name the same blank share its lengths. With ``at_most`` it has so many at most; with ``longer_by`` none is
    longer than a frame cut from it by more than so much (steps).

    Raises
    ------
    ArgumentError
        If so few lengths cannot keep to the most that a blank may be too long.
    """
    found = [lengths(division, linear=survey.linear) for division in survey.divisions]
    wanted: dict[str, Counter[int]] = {}
    for division, own in zip(survey.divisions, found, strict=True):
        if division.run.blank:
            counts = wanted.setdefault(fold(division.run.blank), Counter())
            for length in own:
                counts[blank_length(length, survey.marks)] += division.run.sides
    kinds: list[BlankKind] = []
    failed: list[str] = []
    for key, counts in wanted.items():
        name = survey.blanks.patterns[key].name
        try:
            kinds += _numbered(name, counts, blank_lengths(counts, at_most=at_most, longer_by=longer_by))
        except TooFewKindsError as error:
            failed.append(f"{name} needs {error.least} lengths at least")
    sheet = survey.blanks.sheet
    if sheet and len(kinds) > sheet.layout.most_rows:
        raise ArgumentError(
            f"These frames have {len(kinds)} lengths, and Blanks takes {sheet.layout.most_rows} rows at most: ask for "
            "fewer lengths with --at-most or --none-longer-by."
        )
    if failed:
        raise ArgumentError(
            f"--at-most {at_most} and --none-longer-by cannot both be kept: {'; '.join(failed)}."
        )
    tapes = (
        Tape(division=division, rows=_rows(division, own, kinds, survey.marks))
        for division, own in zip(survey.divisions, found, strict=True)
    )
    return TapeList(survey=survey, tapes=tuple(tapes), kinds=tuple(kinds))


def _numbered(name: str, counts: Counter[int], chosen: tuple[int, ...]) -> list[BlankKind]:
    """Return the kinds of one blank, the longest first; one that is alone keeps the plain name."""
    kinds = []
    for number, (shorter, length) in enumerate(reversed([*pairwise((0, *chosen))]), 1):
        served = {size: count for size, count in counts.items() if shorter < size <= length}
        kinds.append(
            BlankKind(
                pattern=name,
                name=name if len(chosen) == 1 else f"{name} {number}",
                length=length,
                need=sum(served.values()),
                needed=sum(size * count for size, count in served.items()),
            )
        )
    return kinds


def _rows(
    division: Division, own: tuple[Fraction, ...], kinds: list[BlankKind], marks: Marks
) -> tuple[TapeRow, ...]:
    """Return the stations of a run, each with the shortest blank that its frame comes out of."""
    fit = [kind for kind in reversed(kinds) if fold(kind.pattern) == fold(division.run.blank)]
    rows = []
    for station, length in zip_longest(division.stations, own):
        least = 0 if length is None else blank_length(length, marks)
        blank = next((kind for kind in fit if kind.length >= least), None)
        rows.append(TapeRow(station=station, length=length, blank=blank))
    return tuple(rows)
