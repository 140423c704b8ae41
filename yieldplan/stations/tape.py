"""The frames' blanks: the rows of Blanks that runs name, a blank for each frame of the tape list, the input with them.

A run names a row of Blanks. That row says what the blank is besides: width, thickness, wood, rings, defects allowed.
Its Length and Need are written from the stations. Where several lengths are wanted the rows are numbered, the longest
first: Futtock 1, Futtock 2. They are found under those names the next time, so that a second run writes the same rows.

Few blank lengths serve many frame lengths with the least wood, exactly. The distinct lengths l_1 < ... < l_m are wanted
c_1 ... c_m times. A frame may be cut from any blank that is not shorter, so the best blanks are some of the l_j, each
serving the lengths l_i ... l_j next below it. With k blanks, W(k, j) is the least total length that serves the first j
lengths, the j-th being the last served::

    W(k, j) = min over i <= j, l_j - l_i <= over, of  W(k - 1, i - 1) + l_j (c_i + ... + c_j),    W(k, 0) = 0

All in whole steps.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from yieldplan import measure
from yieldplan.measure import MeasureError, Rounding
from yieldplan.model.errors import ArgumentError
from yieldplan.model.words import fold
from yieldplan.stations.division import blank_length
from yieldplan.workbook.edit import Copied, typed_length
from yieldplan.workbook.edit_xlsx import edit_input
from yieldplan.workbook.layouts import BLANKS
from yieldplan.workbook.source import sheet_of
from yieldplan.workbook.suggest import Names

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from yieldplan.stations.division import Division, Survey
    from yieldplan.workbook.edit import Value
    from yieldplan.workbook.table import Row, Table

NAMES = ("stations.txt", "stations.csv", "stations.pdf")
"""What is written besides the copy of the input."""

_NEVER = np.iinfo(np.int64).max // 4


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankKind:
    """A row of Blanks to be: ``pattern`` is the name that runs give it, ``needed`` the frames' own lengths together."""

    pattern: str
    name: str
    length: int
    need: int
    needed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeList:
    """What came of a survey: its runs with the blank that each frame is cut from, and the rows that Blanks gets."""

    survey: Survey
    tapes: tuple[Division, ...]
    kinds: tuple[BlankKind, ...]


def blank_rows(sheet: Table | None, asked: Sequence[tuple[Row, str]]) -> dict[str, list[Row]]:
    """Return the rows of Blanks that runs name; what is wrong with the names goes to the runs' rows."""
    if sheet and not {"Blank", "Need", "Length"} <= sheet.columns.keys():
        return {}  # reported
    rows = sheet.rows() if sheet else []
    names = Names(row.cell("Blank").text for row in rows)
    patterns: dict[str, list[Row]] = {}
    for row, name in asked:
        if not row.good("Blank") or fold(name) in patterns:
            continue
        own = _own_rows(rows, name)
        if not own:
            step = names.did_you_mean(name) if sheet else "there is no such sheet: make it"
            expected = "the name of a row on Blanks, which says width, thickness and wood"
            row.fault("Blank", "is on no row of Blanks", expected, step)
        elif other := next((o for _, o in asked if _numbered(o).fullmatch(fold(name))), None):
            expected = "names that still differ once a number follows"
            row.fault("Blank", f"is what a second length of {other} is called", expected)
        else:
            patterns[fold(name)] = own
    return patterns


def _own_rows(rows: Sequence[Row], name: str) -> list[Row]:
    """Return the rows of a blank: the one of its name first, then those that are numbered."""
    texts = [(fold(row.cell("Blank").text), row) for row in rows]
    plain = [row for text, row in texts if text == fold(name)]
    for again in plain[1:]:
        place = plain[0].place("Blank")
        again.fault("Blank", f"is the name of another blank ({place})", "a name of its own")
    numbered = [(int(match[1]), row) for text, row in texts if (match := _numbered(name).fullmatch(text))]
    return [*plain[:1], *(row for _, row in sorted(numbered, key=lambda pair: pair[0]))]


def _numbered(name: str) -> re.Pattern[str]:
    return re.compile(rf"{re.escape(fold(name))} ([0-9]{{1,3}})", re.ASCII)


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
        for kind in _kinds(names[key], counts, blank_lengths(counts, at_most, longer_by))
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


def _kinds(name: str, counts: Counter[int], chosen: tuple[int, ...]) -> Iterator[BlankKind]:
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


def copies(source: Path, rows: dict[str, list[Row]], kinds: Sequence[BlankKind]) -> dict[str, bytes]:
    """Return the input again by file name, its Blanks asking for these kinds; all else stays as it is.

    Nothing where no run names a blank. A number of spares is kept for the longest alone, which serves as any of them; a
    share holds for each.

    Raises OutputError if rows cannot be put into the sheet as it is stored.
    """
    if not kinds:
        return {}
    edit = edit_input(source)
    sheet = edit.sheet(BLANKS.name)
    assert sheet is not None
    every = tuple(text for _, text in sheet.heads)
    for key, (first, *others) in rows.items():
        spare = first.cell("Spare")
        shared = spare.empty or "%" in spare.text
        like = tuple(text for text in every if shared or fold(text) != fold("Spare"))
        sheet.strike([row.number for row in others])
        for number, kind in enumerate(kind for kind in kinds if fold(kind.pattern) == key):
            cells: dict[str, Value] = {
                "Blank": kind.name,
                "Need": kind.need,
                "Length": typed_length(kind.length, first.unit),
            }
            if number:
                sheet.add(cells, Copied(sheet=sheet, row=first.number, headings=like))
            else:
                for heading, value in cells.items():
                    sheet.put(first.number, heading, value)
    files = edit.contents()
    if "" in files:
        return {source.name: files[""]}
    return {name: data for name, data in files.items() if name[-4:].lower() == ".csv" and name not in NAMES}


def check_copies(source: Path, out: Path, made: Mapping[str, bytes]) -> None:
    """Raise if a copy would take the place of the input, or of a copy that was worked in since it was written.

    Raises ArgumentError with what stands there and what to do.
    """
    if not made or not out.is_dir():
        return
    if out.samefile(source if source.is_dir() else source.parent):
        raise ArgumentError(
            f"{out} is where the input is, and its copy would take its place; name another folder with --out."
        )
    files = (file for file in out.iterdir() if file.is_file())
    ours = (file for file in files if file.name in made or (source.is_dir() and sheet_of(file)))
    standing, text = {file.name: file.read_bytes() for file in ours}, out / NAMES[0]
    known = text.read_text(encoding="utf-8", errors="replace") if text.is_file() else ""
    if standing and (_digest(standing) not in known or not standing.keys() <= made.keys()):
        place = out if source.is_dir() else out / source.name
        raise ArgumentError(
            f"{place} is there already, and not as yieldplan stations wrote it; it is left as it is: name another "
            "folder with --out, or move it away."
        )


def copied_words(source: Path, made: Mapping[str, bytes]) -> str:
    """Return the line that says which copy a tape list belongs to; by it a copy is known that no one worked in."""
    return f"\nCopy of {source.name} with these blanks: fingerprint {_digest(made)}\n" if made else ""


def _digest(files: Mapping[str, bytes]) -> str:
    whole = hashlib.sha256()
    for name in sorted(files):
        whole.update(hashlib.sha256(name.encode()).digest() + hashlib.sha256(files[name]).digest())
    return whole.hexdigest()[:16]
