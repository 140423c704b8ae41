"""What came of each board, from the rows that were filled in; and where they contradict each other.

A board without an entry is as planned; half way through a batch only boards with an entry have been cut. Sticks that
are not cut go back on the rack, a whole billet of them as the billet that it is.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.model import Keeper, SplitBillet
from yieldplan.model.pieces import counted
from yieldplan.pile.entries import AS_PLANNED, NOT_CUT, SHORT, SPOILED, measured_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from yieldplan.model import Job, OffcutPlan
    from yieldplan.model.pieces import Piece, Place
    from yieldplan.pile.entries import Entry, Sizes


@dataclass(frozen=True, slots=True, kw_only=True)
class Back:
    """A piece that goes back on the rack: where it lies in its board, and what it measures if that was written down.

    ``name`` is empty for what was to be cut further: no keeper of the plan.
    """

    keeper: Keeper
    name: str
    sizes: Sizes = (None, None, None)
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Came:
    """What came of a board.

    Attributes
    ----------
    cut
        False: it is as it was.
    good
        (blank, count) of what was made good.
    spoiled
        How many blanks were begun and came to nothing.
    back
        What goes back on the rack.
    whole, uncut
        Billets (counted from 0), each with the low edge of its wood if only a half, and sticks that were not sawn
        after all.
    """

    board: Piece
    cut: bool
    good: tuple[tuple[str, int], ...] = ()
    spoiled: int = 0
    back: tuple[Back, ...] = ()
    whole: tuple[tuple[int, int | None], ...] = ()
    uncut: tuple[Piece, ...] = ()
    note: str = ""


def agree(job: Job, found: Sequence[Piece], entries: Iterable[Entry], *, half_way: bool) -> tuple[Came, ...]:
    """Return what came of each board of a plan, in its order; contradictions are faults of the rows that hold them.

    Parameters
    ----------
    found, entries
        The plan's pieces, and the rows that are filled in.
    half_way
        Whether boards without an entry have not been cut yet.
    """
    entered = {entry.piece.name: entry for entry in entries}
    boards: dict[str, list[Piece]] = {}
    for piece in found:
        boards.setdefault(piece.board, []).append(piece)
    return tuple(_Board(job, own, entered).came(half_way=half_way) for own in boards.values())


class _Board:
    """One board with its sticks and keepers, and the entries on any of them."""

    def __init__(self, job: Job, own: Sequence[Piece], entered: Mapping[str, Entry]) -> None:
        self.job, self.board = job, own[0]
        self.sticks = [piece for piece in own if piece.kind == "stick"]
        self.keepers = [piece for piece in own if piece.kind == "keeper"]
        self.entries = {piece.name: entered[piece.name] for piece in own if piece.name in entered}
        self.entry = self.entries.get(self.board.name)
        self.note = self.entry.note if self.entry else ""

    def came(self, *, half_way: bool) -> Came:
        """Return what came of it."""
        word = self.entry.outcome if self.entry and self.entry.said else ""
        ticked = any(entry.ticked for entry in self.entries.values())
        unsawn = not word and bool(self.sticks) and all(self._is(stick, NOT_CUT) for stick in self.sticks)
        if (half_way and not ticked) or word == NOT_CUT or unsawn:
            self._contradict(NOT_CUT, {NOT_CUT}, "leave one of the two empty")
            return Came(board=self.board, cut=False, note=self.note)
        if word == SPOILED:
            self._contradict(
                SPOILED, {SPOILED}, f"call {self.board.name} {SHORT}, with how many blanks are good"
            )
            return Came(board=self.board, cut=True, spoiled=self.board.planned, note=self.note)
        good = self._good(word)
        whole, uncut = self._not_sawn()
        begun = self.board.planned - sum(stick.planned for stick in self.sticks if self._is(stick, NOT_CUT))
        return Came(
            board=self.board,
            cut=True,
            good=tuple(good.items()),
            spoiled=begun - sum(good.values()),
            back=(*self._kept(whole), *self._put_back(whole, uncut)),
            whole=whole,
            uncut=uncut,
            note=self.note,
        )

    def _is(self, piece: Piece, outcome: str) -> bool:
        entry = self.entries.get(piece.name)
        return entry is not None and entry.outcome == outcome

    def _contradict(self, outcome: str, allowed: set[str], hint: str) -> None:
        """Report rows of pieces of the board that say what cannot be after its own ``outcome``."""
        for piece in (*self.sticks, *self.keepers):
            entry = self.entries.get(piece.name)
            if entry is None or not entry.ticked or (entry.outcome in allowed and not entry.measured):
                continue
            heading = "Outcome" if entry.said else measured_at(entry.sizes)
            said = f"though its board {self.board.name} is {outcome}"
            entry.row.fault(heading, f"is said of {piece.name}, {said}", "nothing", hint)

    def _good(self, word: str) -> Counter[str]:
        """Return how many blanks of each kind are good."""
        by_sticks: Counter[str] = Counter()
        for stick in self.sticks:
            entry = self.entries.get(stick.name)
            if entry is None or entry.outcome == AS_PLANNED:
                by_sticks.update(dict(stick.blanks))
            elif entry.outcome == SHORT and entry.good is not None:
                by_sticks.update(dict(entry.good))
            elif entry.outcome == SHORT:
                expected = f"how many of its {counted(stick.planned, 'blank')} are good"
                entry.row.fault("Good", f"is empty, though {stick.name} is {SHORT}", expected)
        if word != SHORT or self.entry is None:
            return by_sticks
        some = any(stick.name in self.entries and self.entries[stick.name].said for stick in self.sticks)
        said = None if self.entry.good is None else Counter(dict(self.entry.good))
        if said is None and (not some or sum(by_sticks.values()) >= self.board.planned):
            expected = f"how many of its {counted(self.board.planned, 'blank')} are good"
            self.entry.row.fault("Good", f"is empty, though {self.board.name} is {SHORT}", expected)
        elif said is not None and some and +said != +by_sticks:
            come = ", ".join(counted(n, name) for name, n in by_sticks.items()) or "none"
            self.entry.row.fault(
                "Good", f"is not what its sticks come to ({come})", "the same", "empty one of them"
            )
        return by_sticks if said is None else said

    def _not_sawn(self) -> tuple[tuple[tuple[int, int | None], ...], tuple[Piece, ...]]:
        """Return which billets or halves were not sawn, and which sticks besides.

        A stick that was measured has been sawn off, so its billet is none any more.
        """
        parts: dict[tuple[int, int], list[Piece]] = {}
        for stick in self.sticks:
            place = _place(stick)
            parts.setdefault((place.billet, place.wood.low), []).append(stick)
        left = {
            part
            for part, own in parts.items()
            if all(self._is(stick, NOT_CUT) and not self.entries[stick.name].measured for stick in own)
        }
        whole: list[tuple[int, int | None]] = []
        for billet in dict.fromkeys(billet for billet, _ in parts):
            own = [part for part in parts if part[0] == billet]
            both = left.issuperset(own)
            whole += [(billet, None)] if both else [part for part in own if part in left]
        uncut = [
            stick
            for part, own in parts.items()
            if part not in left
            for stick in own
            if self._is(stick, NOT_CUT)
        ]
        return tuple(whole), tuple(uncut)

    def _kept(self, whole: Sequence[tuple[int, int | None]]) -> Iterator[Back]:
        """Yield the keepers of the plan that go back."""
        for piece in self.keepers:
            keeper, entry, parent = piece.keeper, self.entries.get(piece.name), self.entries.get(piece.parent)
            assert keeper is not None
            gone = ""
            if _lies_in(self.board.drawn, keeper, whole):
                gone = "lies in a billet that is not cut"
            elif piece.parent != piece.board and parent is not None and parent.outcome in (SPOILED, NOT_CUT):
                gone = f"is the end of {piece.parent}, which is {parent.outcome}"
            if gone:
                if entry is not None and entry.ticked and entry.outcome in (AS_PLANNED, SHORT):
                    heading = "Outcome" if entry.said else measured_at(entry.sizes)
                    hint = f"call {piece.parent} {SHORT}, Good 0" if piece.parent != piece.board else ""
                    entry.row.fault(heading, f"is said of {piece.name}, which {gone}", "nothing", hint)
            elif entry is None or entry.outcome == AS_PLANNED:
                sizes, note = (entry.sizes, entry.note) if entry else ((None, None, None), "")
                yield Back(keeper=keeper, name=piece.name, sizes=sizes, note=note)
            elif entry.outcome == NOT_CUT:
                expected = f"{AS_PLANNED} or {SPOILED}"
                entry.row.fault("Outcome", f"is said of a keeper, whose board {piece.board} is cut", expected)
            elif entry.measured:
                found = f"is measured, though {piece.name} is {SPOILED}"
                entry.row.fault(
                    measured_at(entry.sizes), found, "nothing", f"leave Outcome empty if {piece.name} is kept"
                )

    def _put_back(self, whole: Sequence[tuple[int, int | None]], uncut: Sequence[Piece]) -> Iterator[Back]:
        """Yield what was to be cut further and is not: whole billets, halves, sticks as they come off the saw."""
        offcut = self.job.offcut(self.board.drawn.offcut)
        for number, low in whole:
            billet = self.board.drawn.billets[number]
            across = (0, offcut.width)
            if low is not None and isinstance(billet, SplitBillet):
                far = billet.split + self.job.shop.bandsaw_kerf
                across = (far, offcut.width) if low else (0, billet.split)
            yield Back(name="", keeper=_box(billet.start, billet.end, across, (0, offcut.thickness)))
        for stick in uncut:
            place, entry = _place(stick), self.entries[stick.name]
            box = _box(place.part.start, place.part.end, place.across, place.deep)
            keeper = replace(box, form="stick", billet=place.part, wood=place.wood)
            yield Back(keeper=keeper, name="", sizes=entry.sizes, note=entry.note)


def _place(stick: Piece) -> Place:
    assert stick.place is not None
    return stick.place


def _lies_in(drawn: OffcutPlan, keeper: Keeper, whole: Sequence[tuple[int, int | None]]) -> bool:
    """Return whether a keeper is part of a billet or half that was not sawn."""
    if keeper.billet is None or keeper.wood is None:
        return False
    return any(
        drawn.billets[number].start == keeper.billet.start and low in (None, keeper.wood.low)
        for number, low in whole
    )


def _box(start: int, end: int, across: tuple[int, int], deep: tuple[int, int]) -> Keeper:
    """Return rough wood as a keeper: a length of the board, or of a half."""
    size = (end - start, across[1] - across[0], deep[1] - deep[0])
    return Keeper(form="length", x=(start, end), across=across, deep=deep, size=size)
