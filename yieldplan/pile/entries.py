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
    from collections.abc import Iterator, Mapping, Sequence

    from yieldplan.model import Job
    from yieldplan.model.pieces import Piece
    from yieldplan.workbook.table import Row

AS_PLANNED, NOT_CUT, SPOILED, SHORT = OUTCOMES

SIZES = ("Measured length", "Measured width", "Measured thickness")
Sizes = tuple[int | None, int | None, int | None]
"""Measured length, width and thickness in steps; None where not measured."""

_MEANT = {
    **dict.fromkeys(
        ("ok", "yes", "y", "done", "cut", "good", "made", "planned", "x", "✓", "✔", "☑"), AS_PLANNED
    ),
    **dict.fromkeys(("no", "n", "uncut", "untouched", "left", "whole", "not done", "open"), NOT_CUT),
    **dict.fromkeys(
        ("lost", "broken", "ruined", "scrap", "waste", "bad", "spoilt", "split", "checked"), SPOILED
    ),
    **dict.fromkeys(("some", "part", "partly", "fewer", "less", "missing"), SHORT),
}
"""What people write instead, and which outcome it means."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One filled row: what came of a piece.

    Attributes
    ----------
    outcome
        One of :data:`yieldplan.model.pieces.OUTCOMES`; as planned too where it was left empty (``said`` tells).
    good
        (blank, count) of the good ones of a short piece; None where it is left to its sticks to say.
    row
        Where it stands, for what is said of it later.
    """

    piece: Piece
    row: Row
    outcome: str
    said: bool
    good: tuple[tuple[str, int], ...] | None = None
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


class Reader:
    """Reads row after row; it knows the pieces by name and which have been met."""

    def __init__(self, job: Job, found: Sequence[Piece], fingerprint: str) -> None:
        self.shop, self.fingerprint = job.shop, fingerprint
        self._pieces = {fold(sanitize(piece.name)): piece for piece in found}
        self._pile = {fold(sanitize(offcut.name)) for offcut in job.offcuts}
        self._names = Names(piece.name for piece in found)
        self._met: dict[str, Row] = {}

    def read(self, row: Row) -> Entry | None:
        """Return what a row says; None where it is left as it was printed, or at fault."""
        piece = self._piece(row)
        outcome = self._outcome(row, piece)
        sizes = self._sizes(row, piece, outcome)
        good, note = self._good(row, piece, outcome), cells.text(row, "Note")
        if piece is None or row.failed:
            return None
        if not outcome and good is not None and sum(count for _, count in good) < piece.planned:
            outcome = SHORT  # so many good and no word: that is what it means
        entry = Entry(
            piece=piece,
            row=row,
            outcome=outcome or AS_PLANNED,
            said=bool(outcome) or good is not None,
            good=good,
            sizes=sizes,
            note=note,
        )
        return entry if entry.ticked or note else None

    def _piece(self, row: Row) -> Piece | None:
        name = cells.name(row, "Piece")
        if not row.good("Piece"):
            return None
        piece, this = self._pieces.get(fold(name)), f"a piece of plan {self.fingerprint}"
        if piece is None and fold(name) in self._pile:
            row.fault("Piece", "is in the pile, but this plan does not cut it", this, "take the row out")
        elif piece is None:
            row.fault("Piece", "is no piece of this plan", this, self._names.did_you_mean(name))
        elif (first := self._met.setdefault(fold(name), row)) is not row:
            row.fault("Piece", f"is here twice ({first.place('Piece')})", "one row a piece")
        elif piece.kind != "keeper" and not _same(row.cell("Planned").text, piece.gives):
            found = f"is not what this plan makes of {piece.name}"
            row.fault("Planned", found, f"{piece.gives}, or nothing", "is it the sheet of another plan?")
        return piece

    def _outcome(self, row: Row, piece: Piece | None) -> str:
        text = cells.text(row, "Outcome")
        if not text or not row.good("Outcome"):
            return ""
        outcome = fold(text).strip(".")
        if outcome not in OUTCOMES:
            meant = _MEANT.get(outcome)
            hint = f"did you mean {meant}?" if meant else did_you_mean(outcome, OUTCOMES)
            row.fault(
                "Outcome", "is not an outcome", f"nothing, or {', '.join(OUTCOMES[:-1])} or {SHORT}", hint
            )
            return ""
        if outcome == SHORT and piece is not None and piece.kind == "keeper":
            hint = "write what it measures"
            row.fault(
                "Outcome", "is given for a keeper, which has no blanks", f"{AS_PLANNED} or {SPOILED}", hint
            )
        return outcome

    def _sizes(self, row: Row, piece: Piece | None, outcome: str) -> Sizes:
        found: list[int | None] = []
        for heading in SIZES:
            empty = row.cell(heading).empty
            found.append(None if empty else cells.length(row, heading, Rounding.STOCK, above_nothing=True))
        if piece is not None and row.good(*SIZES):
            self._compare(row, piece, found, outcome)
        length, width, thickness = found
        return length, width, thickness

    def _compare(self, row: Row, piece: Piece, sizes: Sequence[int | None], outcome: str) -> None:
        """Report a size that is more than a mark larger than planned, or of a piece that is not measured."""
        if all(size is None for size in sizes):
            return
        planned = planned_sizes(piece)
        heading = measured_at(sizes)
        if planned is None:
            hint = "measure its keepers, on their rows"
            row.fault(heading, "is measured on a board", "what a keeper measures", hint)
            return
        if piece.kind == "stick" and outcome != NOT_CUT:
            hint = "a stick is measured where it is not cut into blanks"
            row.fault(heading, f"is measured on a stick that is {outcome or AS_PLANNED}", "nothing", hint)
            return
        width, thickness = sizes[1], sizes[2]
        if width is not None and thickness is not None and width < thickness:
            planned = (planned[0], planned[2], planned[1])
        for name, size, most in zip(SIZES, sizes, planned, strict=True):
            if size is not None and size > most + self.shop.mark:
                row.fault(
                    name,
                    f"is larger than {piece.name} can be",
                    f"at most {write(most, self.shop.units)}, and a mark",
                    "measure again, or look whether it is another piece",
                )

    def _good(self, row: Row, piece: Piece | None, outcome: str) -> tuple[tuple[str, int], ...] | None:
        """Return how many of which blanks are good; None where nothing is said."""
        cell = row.cell("Good")
        if cell.empty or row.unread("Good") or piece is None:
            return None
        if piece.kind == "keeper":
            row.fault("Good", "is given for a keeper, which has no blanks", "nothing")
            return None
        kinds = dict(piece.blanks)
        good = _by_name(cell.text, kinds) if len(kinds) > 1 else None
        if good is None:
            count = cells.whole(row, "Good", 0, piece.planned, expected=_how_many(piece))
            if not row.good("Good"):
                return None
            if count == piece.planned:
                good = kinds
            elif len(kinds) == 1 or not count:
                good = dict.fromkeys(kinds, count)
            else:
                such = ", ".join(counted(max(0, number - 1), name) for name, number in piece.blanks)
                hint = (
                    f"write how many of each, such as {such}, or mark its sticks"
                    if piece.kind == "board"
                    else such
                )
                row.fault("Good", "does not say which blanks are good", _how_many(piece), hint)
                return None
        self._against_outcome(row, piece, outcome, sum(good.values()))
        return tuple(good.items())

    def _against_outcome(self, row: Row, piece: Piece, outcome: str, good: int) -> None:
        """Report a number of good blanks that the outcome contradicts."""
        if outcome == SHORT and good >= piece.planned:
            row.fault(
                "Good",
                f"is all that was planned, though {piece.name} is short",
                f"fewer than {piece.planned}",
            )
        elif outcome == AS_PLANNED and good != piece.planned:
            hint = f"call it {SHORT} if only so many are good"
            row.fault(
                "Good", f"is not all, though {piece.name} is as planned", f"{piece.planned} or nothing", hint
            )
        elif outcome in (NOT_CUT, SPOILED) and good:
            hint = f"call it {SHORT} if some are good"
            row.fault("Good", f"is said of a piece that is {outcome}", "nothing", hint)


def _same(typed: str, said: str) -> bool:
    return not typed or fold(typed) == fold(sanitize(said))


def planned_sizes(piece: Piece) -> tuple[int, int, int] | None:
    """Return length, width and thickness (the larger first) of a keeper or a rough stick; None of a board."""
    if piece.keeper is not None:
        length, one, other = piece.keeper.size
    elif piece.place is not None:
        place = piece.place
        length = place.part.end - place.part.start
        one, other = place.across[1] - place.across[0], place.deep[1] - place.deep[0]
    else:
        return None
    return length, max(one, other), min(one, other)


def measured_at(sizes: Sequence[int | None]) -> str:
    """Return the heading of the first size that was measured, of a piece of which one was."""
    return next(name for name, size in zip(SIZES, sizes, strict=True) if size is not None)


def _how_many(piece: Piece) -> str:
    return f"a whole number from 0 to {piece.planned}, of {piece.gives}"


def _by_name(text: str, kinds: Mapping[str, int]) -> dict[str, int] | None:
    """Return how many of each kind a text such as ``1 floor timber, 0 knees`` says; None where it is none such."""
    found: dict[str, int] = {}
    rest = fold(text)
    spellings = sorted(_spellings(kinds), key=lambda pair: -len(pair[0]))
    while rest:
        match = re.match(r"([0-9]{1,6})\s*[x×]?\s*", rest)
        if match is None:
            return None
        rest = rest[match.end() :]
        said, name = next((pair for pair in spellings if rest.startswith(pair[0])), ("", ""))
        if not name or name in found or int(match[1]) > kinds[name]:
            return None
        found[name] = int(match[1])
        rest = re.sub(r"^[\s,;+&]+", "", rest[len(said) :])
    return {name: found.get(name, 0) for name in kinds} if found else None


def _spellings(kinds: Mapping[str, int]) -> Iterator[tuple[str, str]]:
    """Yield how each kind may be written, as typed or as it is counted."""
    for name in kinds:
        yield fold(name), name
        for count in (1, 2):
            yield re.sub(r"^[0-9]+ (× )?", "", fold(counted(count, name))), name
