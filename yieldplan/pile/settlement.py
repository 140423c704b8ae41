"""A settled batch: which boards are gone and what came of them, what is kept and made, the account of wood."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING

from yieldplan.model import Account, InputError, work_of
from yieldplan.model.account import Parts, account
from yieldplan.model.kept import as_offcut, is_turned, said_rings
from yieldplan.model.pieces import counted, keeper_names, pieces
from yieldplan.model.planfile import dump_plan
from yieldplan.model.section import section_of
from yieldplan.pages.wording import noted, size, wood_words
from yieldplan.pile.agreement import agree
from yieldplan.pile.happened import read_entries
from yieldplan.workbook.grid import Faults

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from yieldplan.model import Job, Keeper, Offcut, Plan, Problem
    from yieldplan.pile.agreement import Back, Came


LONGEST_NOTE = 2000
"""Signs that a note may have in an input."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutBoard:
    """A board that is cut up: its written name, the row of the pile that it is of, and what came of it, in words."""

    name: str
    offcut: Offcut
    gave: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Settlement:
    """What a batch leaves.

    Attributes
    ----------
    plan, half_way
        First eight hex digits of the plan file's sha256; whether boards of the plan are still to be cut.
    kept
        New rows of the pile, in the order of the plan.
    good
        (blank, count) of what was made good, in the batch's order; all kinds.
    spoiled
        How many blanks were begun and came to nothing.
    account
        Of the boards that are cut: a spoiled blank is trimmings, and so is what a keeper measures less than planned.
    hundredths
        Of a minute, what the plan says that these boards take.
    warnings
        What is questionable about what was written down.
    """

    plan: str
    half_way: bool
    boards: tuple[CutBoard, ...]
    kept: tuple[Offcut, ...]
    good: tuple[tuple[str, int], ...]
    spoiled: int
    account: Account
    hundredths: int
    warnings: tuple[Problem, ...] = ()

    @property
    def made(self) -> int:
        """How many blanks are good."""
        return sum(count for _, count in self.good)


def settlement(job: Job, plan: Plan, happened: Path, *, half_way: bool = False) -> Settlement:
    """Return what a batch leaves, by what was written down.

    Parameters
    ----------
    job, plan
        The plan is one of this job, and passed the recheck.
    happened
        The order's workbook, or its csv file.
    half_way
        Whether boards without an entry are still to be cut.

    Raises
    ------
    InputError
        With every problem of what was written down.
    """
    fingerprint = hashlib.sha256(dump_plan(plan)).hexdigest()[:8]
    faults = Faults()
    found = pieces(job, plan)
    entered = read_entries(happened, job, found, fingerprint, faults)
    cut = agree(job, found, entered, half_way=half_way)
    if faults.errors:
        raise InputError((*faults.errors, *faults.warnings))
    fresh = islice(keeper_names(job), sum(piece.kind == "keeper" for piece in found), None)
    boards: list[CutBoard] = []
    kept: list[Offcut] = []
    keeping = 0
    for board in cut:
        name, offcut = board.board.name, job.offcut(board.board.drawn.offcut)
        rows = [_row(job, back, name, offcut, back.name or next(fresh)) for back in board.back]
        boards.append(CutBoard(name=name, offcut=offcut, gave=_gave(board, [row.name for row in rows])))
        kept += rows
        pairs = zip(rows, board.back, strict=True)  # a mark more than there was is a reading, no wood
        keeping += sum(min(row.volume, back.keeper.volume) for row, back in pairs)
    good = sum((Counter(dict(board.good)) for board in cut), start=Counter[str]())
    return Settlement(
        plan=fingerprint,
        half_way=half_way,
        boards=tuple(boards),
        kept=tuple(kept),
        good=tuple((blank.name, good[blank.name]) for blank in job.blanks),
        spoiled=sum(board.spoiled for board in cut),
        account=_account(job, cut, keeping),
        hundredths=work_of(job, [board.board.drawn for board in cut]).hundredths if cut else 0,
        warnings=faults.warnings,
    )


def _row(job: Job, back: Back, board: str, offcut: Offcut, name: str) -> Offcut:
    """Return what goes back on the rack as an offcut of the next pile.

    ``board`` is the written name of the board that it came from, and ``name`` its own.
    """
    lying = as_offcut(offcut, _measured(back), name, job.shop)
    note = "; ".join(filter(None, (noted(lying, job.shop), back.note)))[:LONGEST_NOTE]
    if said_rings(lying, job.shop) is None:
        lying = replace(lying, ring_angle=None, ring_angle_far=None)
    return replace(lying, origin=board, note=note)


def _measured(back: Back) -> Keeper:
    """Return a piece with the sizes that were measured; of two across, the larger is its width."""
    keeper, (length, width, thickness) = back.keeper, back.sizes
    planned, *across = keeper.size
    if width is not None and thickness is not None and width < thickness:
        width, thickness = thickness, width
    lying = (max(across) if width is None else width, min(across) if thickness is None else thickness)
    wide, deep = lying[::-1] if is_turned(keeper) else lying
    return replace(keeper, size=(planned if length is None else length, wide, deep))


def _gave(board: Came, kept: Sequence[str]) -> str:
    """Return what came of a board, as it is said."""
    made = ", ".join(counted(count, name) for name, count in board.good if count)
    spoiled = f"{counted(board.spoiled, 'blank')} spoiled" if board.spoiled else ""
    parts = (made or "nothing", spoiled, f"kept {', '.join(kept)}" if kept else "", board.note)
    return "; ".join(filter(None, parts))


def _account(job: Job, cut: Sequence[Came], keeping: int) -> Account:
    """Return where the wood of the boards that are cut has gone."""
    planned = account(job, [board.board.drawn for board in cut])
    saved = Parts()
    for board in cut:
        for back in board.back:
            saved.update(back.saved)
    blanks = sum(_volume(job, board) for board in cut)
    kerf, shavings = planned.kerf - saved["kerf"], planned.shavings - saved["shavings"]
    return Account(
        volume_in=planned.volume_in,
        blanks=blanks,
        keepers=keeping,
        kerf=kerf,
        shavings=shavings,
        trimmings=planned.volume_in - blanks - keeping - kerf - shavings,
    )


def _volume(job: Job, board: Came) -> int:
    """Return the volume of a board's good blanks; where it is not known which are good, the first ones count."""
    drawn, left, volume = board.board.drawn, Counter(dict(board.good)), 0
    offcut = job.offcut(drawn.offcut)
    for stick in drawn.sticks:
        planed = section_of(job, offcut, stick).area
        for cut in stick.blanks:
            if left[cut.blank]:
                left[cut.blank] -= 1
                volume += planed * (job.blank(cut.blank).length + job.shop.length_allowance)
    return volume


def said(job: Job, settled: Settlement) -> str:
    """Return what a settled batch comes to, a sentence a line: made, still to make, back on the rack, the wood."""
    return "\n".join(_lines(job, settled)) + "\n"


def _lines(job: Job, settled: Settlement) -> Iterator[str]:
    if not settled.boards:
        yield f"Plan {settled.plan}: no board was cut, so the next input is the same as this one."
        return
    made = ", ".join(counted(count, name) for name, count in settled.good if count)
    bad = f"; {counted(settled.spoiled, 'blank')} spoiled" if settled.spoiled else ""
    yield f"Plan {settled.plan}: {counted(len(settled.boards), 'board')} cut. Good: {made or 'no blank'}{bad}."
    left = (
        (max(0, blank.need - good), blank.name)
        for blank, (_, good) in zip(job.blanks, settled.good, strict=True)
    )
    still = ", ".join(counted(count, name) for count, name in left if count)
    yield f"Still to make: {still}." if still else "All that was needed is made."
    if settled.kept:
        yield "Back on the rack; measure each again:"
    for piece in settled.kept:
        bad = f", {counted(len(piece.defects), 'defect')}" if piece.defects else ""
        yield f"  {piece.name}  {size(job.shop, piece.length, piece.width, piece.thickness)}, from {piece.origin}{bad}"
    yield wood_words(settled.account, job.shop)
