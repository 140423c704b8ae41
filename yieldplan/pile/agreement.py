"""What came of each board, from the rows that were filled in; and where they contradict each other.

A board without an entry is as planned; half way through a batch only boards with an entry have been cut. Sticks that
are not cut go back on the rack, a whole billet of them as the billet that it is.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from yieldplan.model import Keeper, SplitBillet, milled
from yieldplan.model.account import Parts, of_billet, of_part, of_stick
from yieldplan.model.leftovers import rough
from yieldplan.model.pieces import counted
from yieldplan.pile.entries import AS_PLANNED, NOT_CUT, SHORT, SPOILED, Entry, measured_at

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from yieldplan.model import Job, OffcutPlan
    from yieldplan.model.pieces import Piece
    from yieldplan.pile.entries import Sizes


@dataclass(frozen=True, slots=True, kw_only=True)
class Back:
    """A piece that goes back on the rack: where it lies in its board, and what it measures if that was written down.

    ``name`` is empty for what was to be cut further, no keeper of the plan; ``saved`` is what the plan's account has of
    that, for it was not sawn after all.
    """

    keeper: Keeper
    name: str
    sizes: Sizes = (None, None, None)
    note: str = ""
    saved: Parts = field(default_factory=Parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Came:
    """What came of a board that was cut.

    Attributes
    ----------
    good
        (blank, count) of what was made good.
    spoiled
        How many blanks were begun and came to nothing.
    back
        What goes back on the rack.
    """

    board: Piece
    good: tuple[tuple[str, int], ...] = ()
    spoiled: int = 0
    back: tuple[Back, ...] = ()
    note: str = ""


def agree(
    job: Job, found: Sequence[Piece], entered: Mapping[str, Entry], *, half_way: bool
) -> tuple[Came, ...]:
    """Return what came of each board that was cut, in the plan's order.

    Contradictions are faults of the rows that hold them.

    Parameters
    ----------
    found, entered
        The plan's pieces, and what the rows that were read say, by the name of their piece.
    half_way
        Whether boards without an entry have not been cut yet.
    """
    boards: dict[str, list[Entry]] = {}
    for piece in found:
        boards.setdefault(piece.board, []).append(entered.get(piece.name) or Entry(piece=piece))
    came = (_Board(job, own).came(half_way=half_way) for own in boards.values())
    return tuple(board for board in came if board is not None)


class _Board:
    """What is said of one board, of its sticks and its keepers."""

    def __init__(self, job: Job, own: Sequence[Entry]) -> None:
        self.job, self.board, self.said = job, own[0].piece, own[0]
        self.sticks = [entry for entry in own if entry.piece.kind == "stick"]
        self.keepers = [entry for entry in own if entry.piece.kind == "keeper"]

    def came(self, *, half_way: bool) -> Came | None:
        """Return what came of it; None where it is as it was."""
        word, note = self.said.outcome if self.said.said else "", self.said.note
        ticked = any(entry.ticked for entry in (self.said, *self.sticks, *self.keepers))
        unsawn = not word and bool(self.sticks) and all(stick.outcome == NOT_CUT for stick in self.sticks)
        if (half_way and not ticked) or word == NOT_CUT or unsawn:
            self._contradict(NOT_CUT, "leave one of the two empty")
            return None
        if word == SPOILED:
            self._contradict(SPOILED, f"call {self.board.name} {SHORT}, with how many blanks are good")
            return Came(board=self.board, spoiled=self.board.planned, note=note)
        good = self._good(short=word == SHORT)
        whole, uncut = self._not_sawn()
        begun = sum(stick.piece.planned for stick in self.sticks if stick.outcome != NOT_CUT)
        return Came(
            board=self.board,
            good=tuple(good.items()),
            spoiled=begun - sum(good.values()),
            back=(*self._kept(whole), *self._put_back(whole, uncut)),
            note=note,
        )

    def _contradict(self, outcome: str, hint: str) -> None:
        """Report rows of pieces of the board that say what cannot be after its own ``outcome``."""
        for entry in (*self.sticks, *self.keepers):
            if entry.ticked and (entry.outcome != outcome or entry.measured):
                said = f"is said of {entry.piece.name}, though its board {self.board.name} is {outcome}"
                entry.fault("", said, "nothing", hint)

    def _good(self, *, short: bool) -> Counter[str]:
        """Return how many blanks of each kind are good."""
        by_sticks: Counter[str] = Counter()
        for stick in self.sticks:
            if stick.outcome == SHORT and stick.good is None:
                _report_empty(stick)
            by_sticks.update(dict(stick.made))
        if not short:
            return by_sticks
        some = any(stick.said for stick in self.sticks)
        said = None if self.said.good is None else Counter(dict(self.said.good))
        if said is None and (not some or by_sticks.total() >= self.board.planned):
            _report_empty(self.said)
        elif said is not None and some and +said != +by_sticks:
            come = ", ".join(counted(n, name) for name, n in by_sticks.items()) or "none"
            found = f"is not what its sticks come to ({come})"
            self.said.fault("Good", found, "the same", "empty one of them")
        return by_sticks if said is None else said

    def _not_sawn(self) -> tuple[tuple[tuple[int, int | None], ...], list[Entry]]:
        """Return which billets or halves were not sawn, and which sticks besides.

        A stick that was measured has been sawn off, so its billet is none any more.
        """
        parts: dict[int, dict[int, list[Entry]]] = {}
        starts = [billet.start for billet in self.board.drawn.billets]
        for stick in self.sticks:
            box = stick.piece.box
            low = box.wood.low if box.wood else 0
            parts.setdefault(starts.index(box.x[0]), {}).setdefault(low, []).append(stick)
        whole: list[tuple[int, int | None]] = []
        uncut: list[Entry] = []
        for billet, halves in parts.items():
            left = [
                low
                for low, own in halves.items()
                if all(stick.outcome == NOT_CUT and not stick.measured for stick in own)
            ]
            whole += [(billet, None)] if len(left) == len(halves) else [(billet, low) for low in left]
            others = (stick for low, own in halves.items() if low not in left for stick in own)
            uncut += [stick for stick in others if stick.outcome == NOT_CUT]
        return tuple(whole), uncut

    def _kept(self, whole: Sequence[tuple[int, int | None]]) -> Iterator[Back]:
        """Yield the keepers of the plan that go back."""
        outcomes = {stick.piece.name: stick.outcome for stick in self.sticks}
        for entry in self.keepers:
            piece, gone, hint = entry.piece, "", ""
            parent = outcomes.get(piece.parent)
            if _lies_in(self.board.drawn, piece.box, whole):
                gone = "lies in a billet that is not cut"
            elif parent in (SPOILED, NOT_CUT):
                gone = f"is the end of {piece.parent}, which is {parent}"
            if parent is not None:
                hint = f"call {piece.parent} {SHORT}, Good 0"
            if gone:
                if entry.ticked and entry.outcome == AS_PLANNED:
                    entry.fault("", f"is said of {piece.name}, which {gone}", "nothing", hint)
            elif entry.outcome == AS_PLANNED:
                yield Back(keeper=piece.box, name=piece.name, sizes=entry.sizes, note=entry.note)
            elif entry.outcome == NOT_CUT:
                said = f"is said of a keeper, whose board {piece.board} is cut"
                entry.fault("Outcome", said, f"{AS_PLANNED} or {SPOILED}")
            elif entry.measured:
                hint = f"leave Outcome empty if {piece.name} is kept"
                said = f"is measured, though {piece.name} is {SPOILED}"
                entry.fault(measured_at(entry.sizes), said, "nothing", hint)

    def _put_back(self, whole: Sequence[tuple[int, int | None]], uncut: Sequence[Entry]) -> Iterator[Back]:
        """Yield what was to be cut further and is not: whole billets, halves, sticks as they come off the saw."""
        job, drawn = self.job, self.board.drawn
        offcut = job.offcut(drawn.offcut)
        for number, low in whole:
            billet = drawn.billets[number]
            across, saved = (0, offcut.width), of_billet(job, offcut, billet)
            if low is not None and isinstance(billet, SplitBillet):
                across = (billet.split + job.shop.bandsaw_kerf, offcut.width) if low else (0, billet.split)
                halves = {
                    wood.low: of_part(job, wood, half) for wood, half in milled(offcut, billet, job.shop)
                }
                saved = halves[low]
            box = rough((billet.start, billet.end), across, (0, offcut.thickness))
            yield Back(name="", keeper=box, saved=saved)
        for entry in uncut:
            stick, box = entry.piece.stick, entry.piece.box
            assert stick is not None
            saved = of_stick(job, offcut, stick, box.x, box.size[1] * box.size[2])
            yield Back(name="", keeper=box, sizes=entry.sizes, note=entry.note, saved=saved)


def _report_empty(entry: Entry) -> None:
    """Report a short piece of which nothing says how many blanks are good."""
    expected = f"how many of its {counted(entry.piece.planned, 'blank')} are good"
    entry.fault("Good", f"is empty, though {entry.piece.name} is {SHORT}", expected)


def _lies_in(drawn: OffcutPlan, keeper: Keeper, whole: Sequence[tuple[int, int | None]]) -> bool:
    """Return whether a keeper is part of a billet or half that was not sawn."""
    if keeper.billet is None or keeper.wood is None:
        return False
    return any(
        drawn.billets[number].start == keeper.billet.start and low in (None, keeper.wood.low)
        for number, low in whole
    )
