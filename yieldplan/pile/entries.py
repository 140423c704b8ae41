"""One filled row of what happened after another: its piece, what came of it, how many blanks are good, its sizes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.measure import Rounding, write
from yieldplan.model.pieces import OUTCOMES, counted
from yieldplan.model.words import fold
from yieldplan.sanitize import sanitize
from yieldplan.workbook import cells
from yieldplan.workbook.suggest import Names, did_you_mean

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldplan.model import Job
    from yieldplan.model.pieces import Piece
    from yieldplan.workbook.table import Row

AS_PLANNED, NOT_CUT, SPOILED, SHORT = OUTCOMES

SIZES = ("Measured length", "Measured width", "Measured thickness")
Sizes = tuple[int | None, int | None, int | None]
"""Measured length, width and thickness in steps; None where not measured."""

Good = tuple[tuple[str, int], ...]
"""(blank, count) of what is good."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What came of a piece; as planned where no row says anything of it.

    Attributes
    ----------
    outcome
        One of :data:`yieldplan.model.pieces.OUTCOMES`; as planned too where it was left empty (``said`` tells).
    good
        The good ones of a short piece; None where nothing says it: a board may leave it to its sticks.
    row
        Where it stands, for what is said of it later.
    """

    piece: Piece
    row: Row | None = None
    outcome: str = AS_PLANNED
    said: bool = False
    good: Good | None = None
    sizes: Sizes = (None, None, None)
    note: str = ""

    @property
    def measured(self) -> bool:
        """Whether anything of it was measured."""
        return any(size is not None for size in self.sizes)

    @property
    def ticked(self) -> bool:
        """Whether it says that something was done with the piece, a note aside."""
        return self.said or self.measured

    @property
    def made(self) -> Good:
        """What is good of a stick."""
        return self.piece.blanks if self.outcome == AS_PLANNED else self.good or ()

    def fault(self, heading: str, found: str, expected: str = "", suggestion: str = "") -> None:
        """Report what is wrong with what was filled in; without a heading, with the first cell that ticks the piece."""
        assert self.row is not None
        first = "Outcome" if self.said else measured_at(self.sizes)
        self.row.fault(heading or first, found, expected, suggestion)


class Reader:
    """Reads row after row; it knows the pieces by name and which have been met."""

    def __init__(self, job: Job, found: Sequence[Piece], fingerprint: str) -> None:
        self.shop, self.fingerprint = job.shop, fingerprint
        self._pieces = {fold(sanitize(piece.name)): piece for piece in found}
        self._pile = {fold(sanitize(offcut.name)) for offcut in job.offcuts}
        self._names = Names(piece.name for piece in found)
        self._met: dict[str, Row] = {}

    def read(self, row: Row) -> Entry | None:
        """Return what a row says; None where it is at fault."""
        piece = self._piece(row)
        outcome = self._outcome(row, piece)
        sizes = self._sizes(row, piece, outcome)
        good, note = self._good(row, piece, outcome), cells.text(row, "Note")
        if piece is None or row.failed:
            return None
        if not outcome and good is not None and sum(count for _, count in good) < piece.planned:
            outcome = SHORT  # so many good and no word: that is what it means
        return Entry(
            piece=piece,
            row=row,
            outcome=outcome or AS_PLANNED,
            said=bool(outcome) or good is not None,
            good=good,
            sizes=sizes,
            note=note,
        )

    def _piece(self, row: Row) -> Piece | None:
        name = cells.name(row, "Piece")
        if not row.good("Piece"):
            return None
        piece, this = self._pieces.get(fold(name)), f"a piece of plan {self.fingerprint}"
        planned = fold(row.cell("Planned").text)
        if piece is None and fold(name) in self._pile:
            row.fault("Piece", "is in the pile, but this plan does not cut it", this, "take the row out")
        elif piece is None:
            row.fault("Piece", "is no piece of this plan", this, self._names.did_you_mean(name))
        elif (first := self._met.setdefault(fold(name), row)) is not row:
            row.fault("Piece", f"is here twice ({first.place('Piece')})", "one row a piece")
        elif piece.kind != "keeper" and planned not in ("", fold(sanitize(piece.gives))):
            found = f"is not what this plan makes of {piece.name}"
            row.fault("Planned", found, f"{piece.gives}, or nothing", "is it the sheet of another plan?")
        return piece

    def _outcome(self, row: Row, piece: Piece | None) -> str:
        text = cells.text(row, "Outcome")
        if not text or not row.good("Outcome"):
            return ""
        outcome = fold(text).strip(".")
        if outcome not in OUTCOMES:
            expected = f"nothing, or {', '.join(OUTCOMES[:-1])} or {SHORT}"
            row.fault("Outcome", "is not an outcome", expected, did_you_mean(outcome, OUTCOMES))
            return ""
        if outcome == SHORT and piece is not None and piece.kind == "keeper":
            found, expected = "is given for a keeper, which has no blanks", f"{AS_PLANNED} or {SPOILED}"
            row.fault("Outcome", found, expected, "write what it measures")
        return outcome

    def _sizes(self, row: Row, piece: Piece | None, outcome: str) -> Sizes:
        length, width, thickness = (
            None
            if row.cell(heading).empty
            else cells.length(row, heading, Rounding.STOCK, above_nothing=True)
            for heading in SIZES
        )
        sizes = (length, width, thickness)
        if piece is not None and row.good(*SIZES) and sizes != (None, None, None):
            self._compare(row, piece, sizes, outcome)
        return sizes

    def _compare(self, row: Row, piece: Piece, sizes: Sizes, outcome: str) -> None:
        """Report a size that is more than a mark larger than planned, or of a piece that is not measured."""
        if piece.kind == "board":
            hint = "measure its keepers, on their rows"
            row.fault(measured_at(sizes), "is measured on a board", "what a keeper measures", hint)
            return
        if piece.kind == "stick" and outcome != NOT_CUT:
            found = f"is measured on a stick that is {outcome or AS_PLANNED}"
            hint = "a stick is measured where it is not cut into blanks"
            row.fault(measured_at(sizes), found, "nothing", hint)
            return
        planned, *across = piece.box.size
        _, width, thickness = sizes
        swapped = width is not None and thickness is not None and width < thickness
        most = (planned, *sorted(across, reverse=not swapped))
        for name, size, limit in zip(SIZES, sizes, most, strict=True):
            if size is not None and size > limit + self.shop.mark:
                expected = f"at most {write(limit, self.shop.units)}, and a mark"
                hint = "measure again, or look whether it is another piece"
                row.fault(name, f"is larger than {piece.name} can be", expected, hint)

    def _good(self, row: Row, piece: Piece | None, outcome: str) -> Good | None:
        """Return how many of which blanks are good; None where nothing is said."""
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
        self._against_outcome(row, piece, outcome, sum(good.values()))
        return tuple(good.items())

    def _against_outcome(self, row: Row, piece: Piece, outcome: str, good: int) -> None:
        """Report a number of good blanks that the outcome contradicts."""
        if outcome == SHORT and good >= piece.planned:
            found = f"is all that was planned, though {piece.name} is {SHORT}"
            row.fault("Good", found, f"fewer than {piece.planned}")
        elif outcome == AS_PLANNED and good != piece.planned:
            found = f"is not all, though {piece.name} is {AS_PLANNED}"
            hint = f"call it {SHORT} if only so many are good"
            row.fault("Good", found, f"{piece.planned} or nothing", hint)
        elif outcome in (NOT_CUT, SPOILED) and good:
            hint = f"call it {SHORT} if some are good"
            row.fault("Good", f"is said of a piece that is {outcome}", "nothing", hint)


def measured_at(sizes: Sizes) -> str:
    """Return the heading of the first size that was measured, of a piece of which one was."""
    return next(name for name, size in zip(SIZES, sizes, strict=True) if size is not None)


def _by_name(text: str, kinds: Mapping[str, int]) -> dict[str, int] | None:
    """Return how many of each kind a text such as ``1 floor timber, 0 knees`` says; None where it is none such."""
    spelled = {re.sub("^[0-9]+ (× )?", "", fold(counted(n, name))): name for name in kinds for n in (1, 2)}
    spelled |= {
        fold(name): name for name in kinds
    }  # as one or two are counted, and as typed, which counts first
    names = "|".join(re.escape(form) for form in sorted(spelled, key=len, reverse=True))
    part = re.compile(rf"([0-9]{{1,6}})\s*[x×]?\s*({names})[\s,;+&]*")
    said = [(spelled[form], int(count)) for count, form in part.findall(fold(text))]
    good = dict(said)
    if part.sub("", fold(text)) or len(good) < len(said) or any(n > kinds[name] for name, n in said):
        return None
    return {name: good.get(name, 0) for name in kinds}
