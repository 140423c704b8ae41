"""The tape list: every station with its mark, its frame's length and the blank that the frame is cut from."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathering:
    """How frame lengths become blank lengths: a straight or a sprung curve, and how few lengths (steps)."""

    linear: bool = False
    at_most: int | None = None
    longer_by: int | None = None


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
    gathering: Gathering
    tapes: tuple[Tape, ...]
    kinds: tuple[BlankKind, ...]


def longest_over(text: str, survey: Survey) -> int:
    """Return what ``--none-longer-by`` says, in steps; a bare number is in the input's units."""
    try:
        return Rounding.STOCK.steps(measure.exact(text, survey.settings.units))
    except MeasureError as error:
        raise ArgumentError(f"--none-longer-by: “{text}” {error}.") from None


def tape_list(survey: Survey, gathering: Gathering) -> TapeList:
    """Return the stations of every run with their lengths, gathered into blanks.

    Runs that name the same blank share its lengths.

    Raises
    ------
    ArgumentError
        If so few lengths cannot keep to the most that a blank may be too long.
    """
    found = [lengths(division, linear=gathering.linear) for division in survey.divisions]
    kinds = _kinds(survey, found, gathering)
    tapes = tuple(
        Tape(division=division, rows=_rows(division, own, kinds, survey))
        for division, own in zip(survey.divisions, found, strict=True)
    )
    return TapeList(survey=survey, gathering=gathering, tapes=tapes, kinds=kinds)


def _kinds(survey: Survey, found: list[tuple[Fraction, ...]], gathering: Gathering) -> tuple[BlankKind, ...]:
    wanted: dict[str, Counter[int]] = {}
    for division, own in zip(survey.divisions, found, strict=True):
        if division.run.blank:
            counts = wanted.setdefault(fold(division.run.blank), Counter())
            for length in own:
                counts[blank_length(length, survey.settings)] += division.run.sides
    kinds: list[BlankKind] = []
    failed: list[str] = []
    for key, counts in wanted.items():
        name = survey.blanks.patterns[key].name
        try:
            chosen = blank_lengths(counts, at_most=gathering.at_most, longer_by=gathering.longer_by)
        except TooFewKindsError as error:
            failed.append(f"{name} needs {error.least} lengths at least")
            continue
        kinds += _numbered(name, counts, chosen)
    sheet = survey.blanks.sheet
    if sheet and len(kinds) > sheet.layout.most_rows:
        raise ArgumentError(
            f"These frames have {len(kinds)} lengths, and Blanks takes {sheet.layout.most_rows} rows at most: ask for "
            "fewer lengths with --at-most or --none-longer-by."
        )
    if failed:
        raise ArgumentError(
            f"--at-most {gathering.at_most} and --none-longer-by cannot both be kept: {'; '.join(failed)}."
        )
    return tuple(kinds)


def _numbered(name: str, counts: Counter[int], chosen: tuple[int, ...]) -> list[BlankKind]:
    """Return the kinds of one blank, the longest first; one that is alone keeps the plain name."""
    kinds = []
    for number, length in enumerate(reversed(chosen), 1):
        shorter = max((other for other in chosen if other < length), default=0)
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
    division: Division, own: tuple[Fraction, ...], kinds: tuple[BlankKind, ...], survey: Survey
) -> tuple[TapeRow, ...]:
    if not own:
        return tuple(TapeRow(station=station) for station in division.stations)
    pattern = fold(division.run.blank)
    fit = [kind for kind in kinds if fold(kind.pattern) == pattern]
    rows = []
    for station, length in zip(division.stations, own, strict=True):
        least = blank_length(length, survey.settings)
        blank = min(
            (kind for kind in fit if kind.length >= least), key=lambda kind: kind.length, default=None
        )
        rows.append(TapeRow(station=station, length=length, blank=blank))
    return tuple(rows)
