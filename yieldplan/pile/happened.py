"""What happened, as it was written down: the sheet of the cutting order, or its csv, filled in where it differs.

Row by row here; whether rows agree with each other, :mod:`yieldplan.pile.settlement` says.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NoReturn

from yieldplan.measure import Rounding, write
from yieldplan.model import InputError, Problem
from yieldplan.model.pieces import HAPPENED, HAPPENED_SHEET, OUTCOMES, counted
from yieldplan.model.words import fold
from yieldplan.sanitize import sanitize
from yieldplan.workbook import cells
from yieldplan.workbook.csvfolder import grid_of_csv
from yieldplan.workbook.grid import Marks
from yieldplan.workbook.layouts import Layout
from yieldplan.workbook.source import MOST_BYTES
from yieldplan.workbook.suggest import Names, did_you_mean
from yieldplan.workbook.table import table
from yieldplan.workbook.xlsx import grids_of_workbook

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from yieldplan.model import Job
    from yieldplan.model.pieces import Piece
    from yieldplan.workbook.grid import Faults, Grid
    from yieldplan.workbook.table import Row

AS_PLANNED, NOT_CUT, SPOILED, SHORT = OUTCOMES
THE_ORDER = "cutting-order.xlsx or its csv"
SIZES = HAPPENED[4:7]
Sizes = tuple[int | None, int | None, int | None]
"""Measured length, width and thickness in steps; None where not measured."""

_LAYOUT = Layout(
    name=HAPPENED_SHEET,
    required=("Piece", "Outcome"),
    optional=HAPPENED[1:2] + HAPPENED[3:],
    most_rows=200_000,
)
_PLAN = re.compile(r"\bplan ([0-9a-f]{8})\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What came of a piece; as planned where no row says anything of it, or leaves it empty (``said`` tells).

    ``outcome`` is one of :data:`yieldplan.model.pieces.OUTCOMES`. ``good`` has the good ones of a short piece; None: a
    board may leave it to its sticks.
    """

    piece: Piece
    row: Row | None = None
    outcome: str = AS_PLANNED
    said: bool = False
    good: Mapping[str, int] | None = None
    sizes: Sizes = (None, None, None)
    note: str = ""

    @property
    def measured(self) -> str:
        """The heading of the first size of it that was measured; empty where none was."""
        return _measured(self.sizes)

    @property
    def ticked(self) -> bool:
        """Whether it says that something was done with the piece, a note aside."""
        return self.said or bool(self.measured)

    @property
    def made(self) -> Mapping[str, int]:
        """What is good of a stick."""
        return dict(self.piece.blanks) if self.outcome == AS_PLANNED else self.good or {}

    def fault(self, heading: str, found: str, expected: str = "", suggestion: str = "") -> None:
        """Report what is wrong with what was filled in; without a heading, with the first cell that ticks the piece."""
        assert self.row is not None
        self.row.fault(heading or ("Outcome" if self.said else self.measured), found, expected, suggestion)

    def report_empty(self) -> None:
        """Report a short piece of which nothing says how many blanks are good."""
        expected = f"how many of its {counted(self.piece.planned, 'blank')} are good"
        self.fault("Good", f"is empty, though {self.piece.name} is {SHORT}", expected)


def read_entries(
    path: Path, job: Job, found: Sequence[Piece], fingerprint: str, faults: Faults
) -> dict[str, Entry]:
    """Return what the rows say, by the name of their piece; what is wrong with any goes to ``faults``.

    ``path`` is the order's workbook, or its csv file; ``found`` are the plan's pieces, and ``fingerprint`` is the first
    eight hex digits of the plan file's sha256.

    Raises InputError if there is no such sheet to be read at all, or it says of itself that it belongs to another plan.
    """
    grids = _grids(path, faults)
    sheet = next((grid for grid in grids if not grid.sheet or fold(grid.sheet) == fold(HAPPENED_SHEET)), None)
    if sheet is None:
        if faults.errors:
            raise InputError(faults.errors)
        have = ", ".join(grid.sheet for grid in grids) or "none"
        _stop(path, f"has no sheet {HAPPENED_SHEET}", "the order's workbook or csv", f"it has {have}")
    texts = (cell.text for grid in grids for _, row in grid.rows for cell in row.values())
    named = {plan for text in texts for plan in _PLAN.findall(text)}
    if named and fingerprint not in named:
        other = f"is of plan {min(named)}, and the plan file given is {fingerprint}"
        _stop(path, other, "what happened with this plan", "name the plan.json that lies beside it")
    for at, (_, cells_of_row) in enumerate(sheet.rows[:20]):  # sentences may stand above the headings
        if {fold("Piece"), fold("Outcome")} <= {fold(cell.text) for cell in cells_of_row.values()}:
            sheet = replace(sheet, rows=sheet.rows[at:])
            break
    known = table(sheet, _LAYOUT, faults, Marks(unit=job.shop.units, mark=job.shop.mark))
    reader = _Reader(job, found, fingerprint)
    entries = (reader.read(row) for row in known.rows())
    return {entry.piece.name: entry for entry in entries if entry is not None}


def _grids(path: Path, faults: Faults) -> list[Grid]:
    if path.is_dir():
        _stop(path, "is a folder")
    try:
        data = path.read_bytes()
    except OSError as error:
        _stop(path, f"cannot be read: {(error.strerror or str(error)).lower()}")
    if len(data) > MOST_BYTES:
        _stop(path, "is larger than 50 MB")
    if path.suffix.lower() != ".csv":
        return grids_of_workbook(data, path.name)
    grid = grid_of_csv(data, path.name, HAPPENED, faults)
    return [grid] if grid else []


def _stop(path: Path, found: str, expected: str = THE_ORDER, suggestion: str = "") -> NoReturn:
    problem = Problem(file=path.name, found=found, expected=expected, suggestion=suggestion)
    raise InputError((problem,)) from None


class _Reader:
    """Reads row after row; it knows the pieces by name and which have been met."""

    def __init__(self, job: Job, found: Sequence[Piece], fingerprint: str) -> None:
        self.shop, self.this = job.shop, f"a piece of plan {fingerprint}"
        self._pieces = {fold(sanitize(piece.name)): piece for piece in found}
        self._pile = {fold(sanitize(offcut.name)) for offcut in job.offcuts}
        self._names = Names(piece.name for piece in found)
        self._met: dict[str, Row] = {}

    def read(self, row: Row) -> Entry | None:
        """Return what a row says; None where it is at fault."""
        piece = self._piece(row)
        outcome = _outcome(row, piece)
        sizes = self._sizes(row, piece, outcome)
        good, note = _good(row, piece, outcome), cells.text(row, "Note")
        if piece is None or row.failed:
            return None
        if not outcome and good is not None and sum(good.values()) < piece.planned:
            outcome = SHORT  # so many good and no word: that is what it means
        said, outcome = bool(outcome) or good is not None, outcome or AS_PLANNED
        return Entry(piece=piece, row=row, outcome=outcome, said=said, good=good, sizes=sizes, note=note)

    def _piece(self, row: Row) -> Piece | None:
        name = cells.name(row, "Piece")
        if not row.good("Piece"):
            return None
        piece, planned = self._pieces.get(fold(name)), fold(row.cell("Planned").text)
        if piece is None and fold(name) in self._pile:
            row.fault("Piece", "is in the pile, but this plan does not cut it", self.this, "take the row out")
        elif piece is None:
            row.fault("Piece", "is not a piece of this plan", self.this, self._names.did_you_mean(name))
        elif (first := self._met.setdefault(fold(name), row)) is not row:
            row.fault("Piece", f"is here twice ({first.place('Piece')})", "one row for each piece")
        elif piece.kind != "keeper" and planned not in ("", fold(sanitize(piece.gives))):
            found = f"is not what this plan makes of {piece.name}"
            row.fault("Planned", found, f"{piece.gives}, or nothing", "is it the sheet of another plan?")
        return piece

    def _sizes(self, row: Row, piece: Piece | None, outcome: str) -> Sizes:
        """Return what was measured; report a size of what is not kept, or more than a mark larger than planned."""
        length, width, thickness = sizes = tuple(
            None
            if row.cell(heading).empty
            else cells.length(row, heading, Rounding.STOCK, above_nothing=True)
            for heading in SIZES
        )
        heading = _measured(sizes)
        if piece is None or not heading or not row.good(*SIZES):
            return length, width, thickness
        if piece.kind == "board" or outcome == SPOILED or (piece.kind == "stick" and outcome != NOT_CUT):
            hint = "measure only keepers, and sticks that were not cut into blanks"
            row.fault(
                heading, f"is measured, though {piece.name} does not go back on the rack", "nothing", hint
            )
            return length, width, thickness
        planned, *across = piece.box.size
        swapped = width is not None and thickness is not None and width < thickness
        most = (planned, *sorted(across, reverse=not swapped))
        for name, size, limit in zip(SIZES, sizes, most, strict=True):
            if size is not None and size > limit + self.shop.mark:
                expected = f"at most {write(limit, self.shop.units)} and a mark"
                hint = "measure again, or check that it is the right piece"
                row.fault(name, f"is larger than {piece.name} can be", expected, hint)
        return length, width, thickness


def _measured(sizes: Sequence[int | None]) -> str:
    return next((name for name, size in zip(SIZES, sizes, strict=True) if size is not None), "")


def _outcome(row: Row, piece: Piece | None) -> str:
    outcome = fold(cells.text(row, "Outcome")).strip(".")
    if not outcome or not row.good("Outcome"):
        return ""
    if outcome not in OUTCOMES:
        expected = f"nothing, or {', '.join(OUTCOMES[:-1])} or {SHORT}"
        row.fault("Outcome", "is not an outcome", expected, did_you_mean(outcome, OUTCOMES))
        return ""
    if outcome == SHORT and piece is not None and piece.kind == "keeper":
        found, expected = "is given for a keeper, which has no blanks", f"{AS_PLANNED} or {SPOILED}"
        row.fault("Outcome", found, expected, "write what it measures")
    return outcome


def _good(row: Row, piece: Piece | None, outcome: str) -> Mapping[str, int] | None:
    """Return how many of which blanks are good; None where nothing is said, or it contradicts the outcome."""
    cell = row.cell("Good")
    if cell.empty or row.unread("Good") or piece is None:
        return None
    if piece.kind == "keeper":
        row.fault("Good", "is given for a keeper, which has no blanks", "nothing")
        return None
    kinds, how_many = dict(piece.blanks), f"a whole number from 0 to {piece.planned}, of {piece.gives}"
    good = _by_name(cell.text, kinds) if len(kinds) > 1 else None
    if good is None:
        count = cells.whole(row, "Good", 0, piece.planned, expected=how_many)
        if not row.good("Good"):
            return None
        if len(kinds) > 1 and 0 < count < piece.planned:
            such = ", ".join(counted(max(0, number - 1), name) for name, number in piece.blanks)
            sticks = f"write how many of each, such as {such}, or mark its sticks"
            hint = sticks if piece.kind == "board" else such
            row.fault("Good", "does not say which blanks are good", how_many, hint)
            return None
        good = kinds if count == piece.planned else dict.fromkeys(kinds, count)
    total, most = sum(good.values()), piece.planned
    expected, fits = {
        "": ("", True),
        AS_PLANNED: (f"{most} or nothing", total == most),
        SHORT: (f"fewer than {most}", total < most),
        SPOILED: ("nothing", not total),
        NOT_CUT: ("nothing", not total),
    }[outcome]
    if not fits:
        hint = f"call it {SHORT} if some are good" if total < most else ""
        row.fault("Good", f"does not fit the outcome {outcome}", expected, hint)
    return good


def _by_name(text: str, kinds: Mapping[str, int]) -> dict[str, int] | None:
    """Return how many of each kind a text such as ``1 floor timber, 0 knees`` says; None where it is none such."""
    spelled = {re.sub("^[0-9]+ (× )?", "", fold(counted(n, name))): name for name in kinds for n in (1, 2)}
    spelled |= {fold(name): name for name in kinds}  # as typed goes before as it is counted
    names = "|".join(re.escape(form) for form in sorted(spelled, key=len, reverse=True))
    part = re.compile(rf"([0-9]{{1,6}})\s*[x×]?\s*({names})[\s,;+&]*")
    said = [(spelled[form], int(count)) for count, form in part.findall(fold(text))]
    good = dict(said)
    if part.sub("", fold(text)) or len(good) < len(said) or any(n > kinds[name] for name, n in said):
        return None
    return {name: good.get(name, 0) for name in kinds}
