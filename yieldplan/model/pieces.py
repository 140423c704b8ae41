"""What a plan makes that a hand can hold, by name: boards, sticks, keepers; and what may have come of each.

Names can be pencilled on wood. A board has the pile's own name, ``P014#2`` the second of several like ones. Its billets
are ``P014-A``, ``P014-B`` if it has two or more, halves of a split one ``near`` and ``far``. Its sticks are numbered
through the whole board, in the order in which they come off the saw: ``P014-3``. Keepers are new boards of the pile and
get new names: ``K1``, ``K2`` ..., or on as the pile has begun to name its own.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, NamedTuple

from yieldplan.model.leftovers import keepers, rough
from yieldplan.model.plan import SplitBillet
from yieldplan.model.wood import milled
from yieldplan.model.words import fold

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from yieldplan.model.leftovers import Keeper
    from yieldplan.model.pile import Job
    from yieldplan.model.plan import Billet, OffcutPlan, Plan, Span, Stick
    from yieldplan.model.wood import Wood

OUTCOMES = ("as planned", "not cut", "spoiled", "short")
"""What may have come of a piece; left empty it is as planned. ``short``: only some of its blanks are good."""

HAPPENED_SHEET = "What happened"
HAPPENED_CSV = "what-happened.csv"
HAPPENED = (
    "Piece", "Planned", "Outcome", "Good", "Measured length", "Measured width", "Measured thickness", "Note",
)  # fmt: skip
"""The headings of the sheet in which a batch is written back; ``Good``: how many blanks of a short piece are good."""

CAPITALS = "ABCDEFGHJLMNPQRSTUVWXYZ"
"""Billets; I and O are left out, as drawing offices do (common practice, no source), and K, which means a keeper."""

_KEPT = re.compile(r"(k(?:eep(?:er)?)?[ ._-]*)([0-9]+)", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A board that is cut, one of its sticks, or a keeper that it leaves.

    ``board`` is the name of its board, ``parent`` that of what it is cut from: for the end of a stick the stick, else
    the board. ``box`` goes back on the rack were it not cut further: the board whole, a stick as it comes off the saw.
    ``blanks`` are (blank, count) of what it gives, spares among them, in the order of the plan; none of a keeper.
    """

    name: str
    kind: Literal["board", "stick", "keeper"]
    board: str
    parent: str
    drawn: OffcutPlan
    box: Keeper
    stick: Stick | None = None
    blanks: tuple[tuple[str, int], ...] = ()

    @property
    def planned(self) -> int:
        """How many blanks it gives."""
        return sum(count for _, count in self.blanks)

    @property
    def gives(self) -> str:
        """What it gives as it is said: ``5 floor timbers, 1 stem knee``; empty of a keeper."""
        return ", ".join(counted(count, blank) for blank, count in self.blanks)


class NamedPart(NamedTuple):
    """What is jointed of a board: its name, that of the billet it is or is split from, and those of its sticks."""

    name: str
    rough: str
    wood: Wood
    billet: Billet
    sticks: tuple[str, ...]


class PieceNames:
    """The names of a plan's pieces; no two are alike, whatever the boards are called.

    The sign between an offcut's name and a copy's number (``#``), and the one between its name and what grows from it
    (``-``), are doubled as often as it takes for no name in the whole pile to be readable in two ways. The names of
    keepers run through the plan.
    """

    def __init__(self, job: Job, plan: Plan) -> None:
        self._job = job
        names = [offcut.name for offcut in job.offcuts]
        several = [offcut.name for offcut in job.offcuts if offcut.qty > 1]
        self.copy_sign = _sign("#", several, names)
        self._several = frozenset(several)
        roots = [self.root(one.name, copy) for one in job.offcuts for copy in range(1, min(one.qty, 2) + 1)]
        self.sign = _sign("-", roots, roots)
        fresh = keeper_names(job)
        self._keepers = {
            (drawn.offcut, drawn.copy): tuple((next(fresh), keeper) for keeper in keepers(job, drawn))
            for drawn in plan.offcuts
        }

    def root(self, offcut: str, copy: int) -> str:
        """Return the name of a piece of the pile, with its copy's number where there are several."""
        return f"{offcut}{self.copy_sign}{copy}" if offcut in self._several else offcut

    def board(self, drawn: OffcutPlan) -> str:
        """Return the name of a drawn board."""
        return self.root(drawn.offcut, drawn.copy)

    def billet(self, drawn: OffcutPlan, index: int, wood: Wood | None = None) -> str:
        """Return the name of a billet, counted from 0 from end A on, or that of the half of it that ``wood`` is.

        Where a board has one billet that is the board's own.
        """
        mark = billet_mark(index + 1) if len(drawn.billets) > 1 else ""
        if wood is not None and isinstance(drawn.billets[index], SplitBillet):
            mark = f"{mark} {'far' if wood.low else 'near'}".strip()
        return f"{self.board(drawn)}{self.sign}{mark}" if mark else self.board(drawn)

    def stick(self, drawn: OffcutPlan, number: int) -> str:
        """Return the name of a stick, counted from 1 through the whole board."""
        return f"{self.board(drawn)}{self.sign}{number}"

    def parts(self, drawn: OffcutPlan) -> Iterator[NamedPart]:
        """Yield all that is jointed of a drawn board, billets and halves; its sticks are numbered through."""
        offcut, first = self._job.offcut(drawn.offcut), 1
        for index, billet in enumerate(drawn.billets):
            for wood, part in milled(offcut, billet, self._job.shop):
                end = first + len(part.sticks)
                sticks = tuple(self.stick(drawn, number) for number in range(first, end))
                yield NamedPart(
                    self.billet(drawn, index, wood), self.billet(drawn, index), wood, part, sticks
                )
                first = end

    def keepers(self, drawn: OffcutPlan) -> tuple[tuple[str, Keeper], ...]:
        """Return a drawn board's keepers by name, in the order of :func:`yieldplan.model.leftovers.keepers`."""
        return self._keepers[drawn.offcut, drawn.copy]


def pieces(job: Job, plan: Plan) -> tuple[Piece, ...]:
    """Return every piece of a plan with its name: each board, its sticks, its keepers, board after board."""
    names = PieceNames(job, plan)
    return tuple(piece for drawn in plan.offcuts for piece in _of_board(job, names, drawn))


def _of_board(job: Job, names: PieceNames, drawn: OffcutPlan) -> Iterator[Piece]:
    offcut, board = job.offcut(drawn.offcut), names.board(drawn)
    yield Piece(
        name=board,
        kind="board",
        board=board,
        parent=board,
        drawn=drawn,
        box=rough((0, offcut.length), (0, offcut.width), (0, offcut.thickness)),
        blanks=_counts(cut.blank for cut in drawn.blanks),
    )
    sticks: dict[tuple[int, int, Span, Span], str] = {}
    for _, _, wood, part, own in names.parts(drawn):
        for name, (stick, across, deep) in zip(own, part.placed, strict=True):
            sticks[wood.low, part.start, across, deep] = name
            box = rough((part.start, part.end), across, deep)
            yield Piece(
                name=name,
                kind="stick",
                board=board,
                parent=board,
                drawn=drawn,
                stick=stick,
                box=replace(box, form="stick", billet=part, wood=wood),
                blanks=_counts(cut.blank for cut in stick.blanks),
            )
    for name, keeper in names.keepers(drawn):
        parent = board
        if keeper.form == "end" and keeper.wood is not None and keeper.billet is not None:
            parent = sticks[keeper.wood.low, keeper.billet.start, keeper.across, keeper.deep]
        yield Piece(name=name, kind="keeper", board=board, parent=parent, drawn=drawn, box=keeper)


def _counts(blanks: Iterable[str]) -> tuple[tuple[str, int], ...]:
    return tuple(Counter(blanks).items())


def counted(count: int, name: str) -> str:
    """Return so many of a kind of blank as it is said: ``2 lower futtocks``, ``1 knee, port``; ``2 × Frame 3``.

    A name that does not end in a word of English letters is left as it was typed.
    """
    head, comma, rest = name.partition(",")
    words = head.split(" ")
    if not re.fullmatch("[A-Za-z]{2,}", words[-1]):
        return f"{count} × {name}"
    if words[0][1:].islower():
        words[0] = words[0].lower()
    if count != 1:
        words[-1] = _plural(words[-1])
    return f"{count} {' '.join(words)}{comma}{rest}"


def _plural(word: str) -> str:
    if re.search("[^s]s$", word):
        return word  # as "cleats" it is said of several already
    if re.search("[^aeiou]y$", word):
        return word[:-1] + "ies"
    return word + ("es" if re.search("(s|x|z|ch|sh)$", word) else "s")


def billet_mark(number: int) -> str:
    """Return a billet's mark: A, B, ... from end A on, then pairs; ``number`` counts from 1."""
    text = ""
    while number:
        number, place = divmod(number - 1, len(CAPITALS))
        text = CAPITALS[place] + text
    return text


def keeper_names(job: Job) -> Iterator[str]:
    """Yield names for keepers that no board has or had, on from the pile's highest: ``K-007``, ``K-008``."""
    names = [*(offcut.name for offcut in job.offcuts), *job.struck]
    found = [match for name in names if (match := _KEPT.fullmatch(name))]
    last = max(found, key=lambda match: int(match[2]), default=None)
    prefix, number, width = ("K", 0, 1) if last is None else (last[1], int(last[2]), len(last[2]))
    taken = {fold(name) for name in names}
    while True:
        number += 1
        name = f"{prefix}{number:0{width}d}"
        if fold(name) not in taken:
            yield name


def _sign(sign: str, stems: Iterable[str], names: Iterable[str]) -> str:
    """Return ``sign``, doubled until no name begins with a stem and the sign, in capitals or not."""
    taken, stems, text = [name.casefold() for name in names], [stem.casefold() for stem in stems], sign
    while True:
        begun = tuple(stem + text for stem in stems)
        if not any(name.startswith(begun) for name in taken):
            return text
        text += sign
