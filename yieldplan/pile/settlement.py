"""A settled batch: what came of each board, what goes back on the rack, where the wood has gone.

A board without an entry is as planned; half way through a batch only boards with an entry have been cut. Sticks that
are not cut go back on the rack, a whole billet of them as the billet that it is.
"""

from __future__ import annotations

import hashlib
from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import TYPE_CHECKING

from yieldplan.model import Account, InputError, work_of
from yieldplan.model.kept import as_offcut, is_turned, said_rings
from yieldplan.model.leftovers import rough
from yieldplan.model.pieces import counted, keeper_names, pieces
from yieldplan.model.planfile import dump_plan
from yieldplan.model.section import section_of
from yieldplan.model.wood import milled
from yieldplan.model.work import Parts, account, of_billet, of_part, of_stick
from yieldplan.pages.wording import noted, size, wood_words
from yieldplan.pile.happened import AS_PLANNED, NOT_CUT, SHORT, SPOILED, Entry, read_entries
from yieldplan.workbook.cells import MOST_NOTE
from yieldplan.workbook.grid import Faults

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from yieldplan.model import Job, Keeper, Offcut, OffcutPlan, Plan, Problem
    from yieldplan.pile.happened import Sizes


@dataclass(frozen=True, slots=True, kw_only=True)
class CutBoard:
    """A board that was cut: its written name, its row of the pile, and what came of it.

    ``kept`` are rows of the next pile, and ``keeping`` is the wood in them; ``saved`` is what the plan's account has of
    wood that was not sawn after all.
    """

    name: str
    offcut: Offcut
    drawn: OffcutPlan
    good: Counter[str] = field(default_factory=Counter)
    spoiled: int = 0
    kept: tuple[Offcut, ...] = ()
    keeping: int = 0
    saved: Parts = field(default_factory=Parts)
    note: str = ""

    @property
    def gave(self) -> str:
        """What came of it, as it is said."""
        made = ", ".join(counted(count, name) for name, count in self.good.items() if count)
        spoiled = f"{counted(self.spoiled, 'blank')} spoiled" if self.spoiled else ""
        kept = f"kept {', '.join(row.name for row in self.kept)}" if self.kept else ""
        return "; ".join(filter(None, (made or "nothing", spoiled, kept, self.note)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Settlement:
    """What a batch leaves.

    ``plan`` is the first eight hex digits of the plan file's sha256; ``half_way``: boards of it are still to be cut.
    ``kept`` are new rows of the pile, in the order of the plan. ``good`` has (blank, count) of what was made good, all
    kinds in the batch's order; ``spoiled`` is how many blanks were begun and came to nothing. The ``account`` is that
    of the boards that are cut: a spoiled blank is trimmings, and so is what a keeper measures less than planned.
    ``hundredths`` of a minute are what the plan says that these boards take.
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


def settlement(job: Job, plan: Plan, happened: Path, *, half_way: bool = False) -> Settlement:
    """Return what a batch leaves, by what was written down in the order's workbook or its csv file.

    The plan is one of this job, and passed the recheck. ``half_way``: boards without an entry are still to be cut.

    Raises InputError with every problem of what was written down.
    """
    fingerprint, faults = hashlib.sha256(dump_plan(plan)).hexdigest()[:8], Faults()
    found = pieces(job, plan)
    entered = read_entries(happened, job, found, fingerprint, faults)
    fresh = islice(keeper_names(job), sum(piece.kind == "keeper" for piece in found), None)
    entries = defaultdict[str, list[Entry]](list)
    for piece in found:
        entries[piece.board].append(entered.get(piece.name) or Entry(piece=piece))
    came = [_Board(job, own, fresh).came(half_way=half_way) for own in entries.values()]
    if faults.errors:
        raise InputError((*faults.errors, *faults.warnings))
    boards = tuple(board for board in came if board is not None)
    good = sum((board.good for board in boards), start=Counter[str]())
    return Settlement(
        plan=fingerprint,
        half_way=half_way,
        boards=boards,
        kept=tuple(row for board in boards for row in board.kept),
        good=tuple((blank.name, good[blank.name]) for blank in job.blanks),
        spoiled=sum(board.spoiled for board in boards),
        account=_account(job, boards),
        hundredths=work_of(job, [board.drawn for board in boards]).hundredths if boards else 0,
        warnings=faults.warnings,
    )


class _Board:
    """What is said of one board, its sticks and its keepers; contradictions are faults of the rows that hold them."""

    def __init__(self, job: Job, own: Sequence[Entry], fresh: Iterator[str]) -> None:
        self.job, self.fresh, self.said, self.board = job, fresh, own[0], own[0].piece
        self.offcut = job.offcut(self.board.drawn.offcut)
        self.others = own[1:]
        self.sticks = [entry for entry in own if entry.piece.kind == "stick"]
        self.kept: list[Offcut] = []
        self.keeping, self.saved = 0, Parts()

    def came(self, *, half_way: bool) -> CutBoard | None:
        """Return what came of it; None where it is as it was."""
        word, board = self.said.outcome if self.said.said else "", self.board
        ticked = any(entry.ticked for entry in (self.said, *self.others))
        unsawn = not word and bool(self.sticks) and all(stick.outcome == NOT_CUT for stick in self.sticks)
        untouched = (half_way and not ticked) or word == NOT_CUT or unsawn
        result = CutBoard(name=board.name, offcut=self.offcut, drawn=board.drawn, note=self.said.note)
        if untouched or word == SPOILED:
            for entry in self.others:
                _contradict(entry, f"its board {board.name}", NOT_CUT if untouched else SPOILED)
            return None if untouched else replace(result, spoiled=board.planned)
        good = self._good(short=word == SHORT)
        self._put_back()
        begun = sum(stick.piece.planned for stick in self.sticks if stick.outcome != NOT_CUT)
        return replace(
            result,
            good=good,
            spoiled=begun - good.total(),
            kept=tuple(self.kept),
            keeping=self.keeping,
            saved=self.saved,
        )

    def _good(self, *, short: bool) -> Counter[str]:
        """Return how many blanks of each kind are good."""
        by_sticks: Counter[str] = Counter()
        for stick in self.sticks:
            if stick.outcome == SHORT and stick.good is None:
                stick.report_empty()
            by_sticks.update(stick.made)
        if not short:
            return by_sticks
        some = any(stick.said for stick in self.sticks)
        said = None if self.said.good is None else Counter(self.said.good)
        if said is None and (not some or by_sticks.total() >= self.board.planned):
            self.said.report_empty()
        elif said is not None and some and +said != +by_sticks:
            come = ", ".join(counted(n, name) for name, n in by_sticks.items()) or "none"
            found = f"does not match its sticks ({come})"
            self.said.fault("Good", found, "the same", "empty one of them")
        return by_sticks if said is None else said

    def _put_back(self) -> None:
        """Put keepers on the rack, and what was to be cut further and is not: whole billets, halves, rough sticks.

        A stick that was measured has been sawn off, so its billet is none any more.
        """
        parts = defaultdict[tuple[int, int], list[Entry]](list)
        for stick in self.sticks:
            parts[_part(stick.piece.box)].append(stick)
        whole = {
            part
            for part, own in parts.items()
            if all(stick.outcome == NOT_CUT and not stick.measured for stick in own)
        }
        for entry in (entry for entry in self.others if entry.piece.kind == "keeper"):
            piece = entry.piece
            sticks = (stick for stick in self.sticks if stick.piece.name == piece.parent)
            parent = next((stick for stick in sticks if stick.outcome in (SPOILED, NOT_CUT)), None)
            if _part(piece.box) in whole or parent is not None:
                above = f"its stick {piece.parent}" if parent else "its billet"
                if entry.outcome == AS_PLANNED:
                    _contradict(entry, above, parent.outcome if parent else NOT_CUT)
            elif entry.outcome == NOT_CUT:
                said = f"is said of a keeper, though its board {piece.board} was cut"
                entry.fault("Outcome", said, f"{AS_PLANNED} or {SPOILED}")
            elif entry.outcome == AS_PLANNED:
                self._back(piece.box, piece.name, entry.sizes, entry.note)
        for billet in self.board.drawn.billets:
            jointed = list(milled(self.offcut, billet, self.job.shop))
            left = [(wood, part) for wood, part in jointed if (part.start, wood.low) in whole]
            along, deep = (billet.start, billet.end), (0, self.offcut.thickness)
            if len(left) == len(jointed):
                self._back(rough(along, (0, self.offcut.width), deep))
                self.saved.update(of_billet(self.job, self.offcut, billet))
                continue
            for wood, part in left:
                self._back(rough(along, (wood.low, wood.low + wood.width), deep))
                self.saved.update(of_part(self.job, wood, part))
        for entry in self.sticks:
            box, cut = entry.piece.box, entry.piece.stick
            if entry.outcome == NOT_CUT and _part(box) not in whole and cut is not None:
                self._back(box, sizes=entry.sizes, note=entry.note)
                self.saved.update(of_stick(self.job, self.offcut, cut, box.x, box.size[1] * box.size[2]))

    def _back(
        self, keeper: Keeper, name: str = "", sizes: Sizes = (None, None, None), note: str = ""
    ) -> None:
        """Put a piece on the rack as a row of the next pile; one without a name was no keeper of the plan."""
        shop = self.job.shop
        lying = as_offcut(self.offcut, _measured(keeper, sizes), name or next(self.fresh), shop)
        note = "; ".join(filter(None, (noted(lying, shop), note)))[:MOST_NOTE]
        if said_rings(lying, shop) is None:
            lying = replace(lying, ring_angle=None, ring_angle_far=None)
        self.kept.append(replace(lying, origin=self.board.name, note=note))
        self.keeping += min(lying.volume, keeper.volume)  # a mark more than there was is a reading, no wood


def _contradict(entry: Entry, above: str, outcome: str) -> None:
    """Report a row that says else of a piece than what came of that which it is cut from."""
    if entry.ticked and (entry.outcome != outcome or entry.measured):
        said = f"is said of {entry.piece.name}, though {above} is {outcome}"
        short = f"call {above} {SHORT} and say how many blanks are good"
        entry.fault("", said, "nothing", short if outcome == SPOILED else "leave one of the two empty")


def _part(keeper: Keeper) -> tuple[int, int]:
    """Return which billet or half a piece is of: its start along the board and across; none a length's."""
    return (keeper.billet.start, keeper.wood.low) if keeper.billet and keeper.wood else (-1, 0)


def _measured(keeper: Keeper, sizes: Sizes) -> Keeper:
    """Return a piece with the sizes that were measured; of two across, the larger is its width."""
    length, width, thickness = sizes
    planned, *across = keeper.size
    if width is not None and thickness is not None and width < thickness:
        width, thickness = thickness, width
    lying = (max(across) if width is None else width, min(across) if thickness is None else thickness)
    wide, deep = lying[::-1] if is_turned(keeper) else lying
    return replace(keeper, size=(planned if length is None else length, wide, deep))


def _account(job: Job, boards: Sequence[CutBoard]) -> Account:
    """Return where the wood of the boards that are cut has gone."""
    planned, saved = account(job, [board.drawn for board in boards]), Parts()
    for board in boards:
        saved.update(board.saved)
    blanks, keeping = sum(_volume(job, board) for board in boards), sum(board.keeping for board in boards)
    kerf, shavings = planned.kerf - saved["kerf"], planned.shavings - saved["shavings"]
    rest = planned.volume_in - blanks - keeping - kerf - shavings
    return replace(planned, blanks=blanks, keepers=keeping, kerf=kerf, shavings=shavings, trimmings=rest)


def _volume(job: Job, board: CutBoard) -> int:
    """Return the volume of a board's good blanks; where it is not known which are good, the first ones count."""
    left, volume = Counter(board.good), 0
    for stick in board.drawn.sticks:
        planed = section_of(job, board.offcut, stick).area
        for cut in stick.blanks:
            if left[cut.blank]:
                left[cut.blank] -= 1
                volume += planed * (job.blank(cut.blank).length + job.shop.length_allowance)
    return volume


def said(job: Job, settled: Settlement) -> Iterator[str]:
    """Yield what a settled batch comes to, line by line: made, still to make, back on the rack, the wood."""
    if not settled.boards:
        yield f"Plan {settled.plan}: no board was cut, so the next input is the same as this one."
        return
    made = ", ".join(counted(count, name) for name, count in settled.good if count)
    bad = f"; {counted(settled.spoiled, 'blank')} spoiled" if settled.spoiled else ""
    yield f"Plan {settled.plan}: {counted(len(settled.boards), 'board')} cut. Good: {made or 'no blank'}{bad}."
    good = dict(settled.good)
    left = [(blank.need - good[blank.name], blank.name) for blank in job.blanks]
    still = ", ".join(counted(count, name) for count, name in left if count > 0)
    yield f"Still to make: {still}." if still else "All that was needed is made."
    if settled.kept:
        yield "Back on the rack; measure each again:"
    for piece in settled.kept:
        bad = f", {counted(len(piece.defects), 'defect')}" if piece.defects else ""
        yield f"  {piece.name}  {size(job.shop, piece.length, piece.width, piece.thickness)}, from {piece.origin}{bad}"
    yield wood_words(settled.account, job.shop)
