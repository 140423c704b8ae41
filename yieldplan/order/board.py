"""What is done with one piece of the pile: its card, its steps in order, and what its blanks have to spare."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import chain, islice
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet, keepers, milled, sawn_rows, section
from yieldplan.model.work import crosscuts
from yieldplan.order.careful import is_metal
from yieldplan.order.data import WASTE, Along, Card, Ends, Joint, Length, Milled, Section, Split, meet
from yieldplan.order.margins import margin_of
from yieldplan.order.sawing import Naming, row_passes
from yieldplan.order.sticks import Lengths, Sawn, planing

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from yieldplan.model import Billet, Blank, CutBlank, Job, Keeper, Offcut, OffcutPlan, Row, Wood
    from yieldplan.model.pieces import PieceNames
    from yieldplan.order.data import Margin, Mark, Saw, Span, Step

Spot = tuple[int, "Span", "Span", "Span"]
"""Where a leftover lies: low edge of the wood it is jointed with (-1 where it is not), along, across, deep."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """All that is done with a board: its card but for what other boards decide, its margins.

    ``planed``: board, offcut, first blank, and whether it lies turned, of each stick.
    """

    card: Card
    margins: tuple[Margin, ...]
    planed: tuple[tuple[str, Offcut, Blank, bool], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A billet or a half of a split one: its name, and the number of its first stick on the board."""

    name: str
    billet: Billet
    wood: Wood
    half: str
    first: int

    @property
    def x(self) -> Span:
        return self.billet.start, self.billet.end


class Board:
    """Works one drawn piece of the pile from end A on."""

    def __init__(
        self, job: Job, drawn: OffcutPlan, names: PieceNames, marks: Mapping[tuple[str, str], Sequence[Mark]]
    ) -> None:
        self.shop, self.drawn, self.names = job.shop, drawn, names
        self.offcut, self.board = job.offcut(drawn.offcut), names.board(drawn)
        self._batch = {name: job.blank(name) for name in {cut.blank for cut in drawn.blanks}}
        self._keepers = list(keepers(job, drawn))
        self._kept = {
            spot_of(keeper): name for name, keeper in zip(names.keepers(drawn), self._keepers, strict=True)
        }
        self._marks = {key: iter(several) for key, several in marks.items() if key[0] == self.board}
        self._margins: list[Margin] = []
        self._planed: list[tuple[str, Offcut, Blank, bool]] = []

    def worked(self) -> Worked:
        """Return all that is done with the board."""
        parts = list(self._parts())
        milled_parts = tuple(self._mill(part) for part in parts)
        spares = Counter(cut.blank for cut in self.drawn.blanks if cut.spare)
        counts = Counter(cut.blank for cut in self.drawn.blanks)
        card = Card(
            board=self.board,
            offcut=self.offcut,
            drawn=self.drawn,
            gives=tuple((name, count, spares[name]) for name, count in counts.items()),
            ends=self._ends(parts),
            splits=tuple(self._splits(parts)),
            milled=milled_parts,
            tight=(),
            stand_by="",
            notes=(),
        )
        return Worked(card=card, margins=tuple(self._margins), planed=tuple(self._planed))

    def _parts(self) -> Iterator[_Part]:
        """Yield what is jointed, with its name; one that holds a single stick has that stick's name from the start."""
        first = 1
        for index, billet in enumerate(self.drawn.billets):
            for wood, part in milled(self.offcut, billet, self.shop):
                far, name = wood.low > 0, self.names.billet(self.drawn, index)
                half = ("far" if far else "near") if isinstance(billet, SplitBillet) else ""
                count = len(part.sticks)
                if count == 1:
                    name = self.names.stick(self.drawn, first)
                elif half:
                    name = self.names.half(self.drawn, index, far=far)
                yield _Part(name=name, billet=part, wood=wood, half=half, first=first)
                first += count

    def _ends(self, parts: Sequence[_Part]) -> Ends:
        """Return the rough crosscuts: what stays between them, from end A on."""
        spans = [(billet.start, billet.end) for billet in self.drawn.billets]
        lengths = [
            Length(name=self._kept[spot_of(keeper)], x=keeper.x, keeper=True)
            for keeper in self._keepers
            if keeper.form == "length"
        ]
        for index, x in enumerate(spans):
            part = next(part for part in parts if part.x == x)
            name = self.names.billet(self.drawn, index) if part.half else part.name
            lengths.append(Length(name=name, x=x, metal=self._has_metal(x)))
        return Ends(
            board=self.board,
            lengths=tuple(sorted(lengths, key=lambda length: length.x)),
            cuts=crosscuts(spans, (0, self.offcut.length), self.shop.crosscut_kerf),
            metal=any(length.metal for length in lengths),
        )

    def _has_metal(self, x: Span) -> bool:
        return any(is_metal(one.kind) and meet((one.x1, one.x2), x) for one in self.offcut.defects)

    def _splits(self, parts: Sequence[_Part]) -> Iterator[Split]:
        for index, billet in enumerate(self.drawn.billets):
            if isinstance(billet, SplitBillet):
                found = {part.half: part.name for part in parts if part.billet.start == billet.start}
                yield Split(
                    board=self.board,
                    piece=self.names.billet(self.drawn, index),
                    line=billet.split,
                    near=found.get("near", WASTE),
                    far=found.get("far", WASTE),
                )

    def _mill(self, part: _Part) -> Milled:
        """Return all that is done with a billet, or a half of one, from the jointer on."""
        billet, wood = part.billet, part.wood
        rows = list(sawn_rows(wood, billet, self.shop))
        box = wood.width - billet.edge_loss, wood.thickness - billet.face_loss
        wide, thick = _needs(rows)
        more = self._more(part, rows)
        joint = Joint(
            board=self.board,
            piece=part.name,
            wide=wide - more[0],
            thick=thick - more[1],
            takes=(billet.edge_loss, billet.face_loss),
            spare=(box[0] - wide, box[1] - thick),
            more=more,
        )
        sticks = list(self._sawn(part, rows))
        for one in sticks:
            first = self._batch[one.stick.blanks[0].blank]
            self._planed.append((self.board, self.offcut, first, one.stick.turned))
            self._margins += (
                margin_of(one, cut, self._batch[cut.blank], self.shop) for cut in one.stick.blanks
            )
        steps: list[Step] = [joint, *self._saws(part, rows, more), *planing(sticks)]
        lengths = Lengths(shop=self.shop, kept=self._left_of, sound=self._sound, mark=self._mark)
        for square, stops in lengths.steps(sticks):
            steps += [square, *stops]
        return Milled(
            name=part.name,
            half=part.half,
            billet=billet,
            wood=wood,
            box=box,
            sections=(*map(self._section, sticks), *self._beside(part)),
            steps=tuple(steps),
        )

    def _more(self, part: _Part, rows: Sequence[Row]) -> tuple[int, int]:
        """Return how much the jointer takes off edge 1 and face 1 because the first pieces begin within a kerf of it.

        Of a second row's side only where all rows begin there and no keeper of the first row would lose it.
        """
        first, *second = (_shaved(row) for row in rows)
        own = [keeper for keeper in self._keepers if keeper.form in ("strip", "layer")]
        kept = any(keeper.wood == part.wood and keeper.x == part.x for keeper in own)
        inner = second[0] if len(set(second)) == 1 and not kept else 0
        return (first, inner) if part.billet.rip_first else (inner, first)

    def _saws(self, part: _Part, rows: Sequence[Row], more: tuple[int, int]) -> Iterator[Saw]:
        """Yield the passes of a billet's rows; a second row counts as the first where the first is not cut."""
        one = not rows[0].is_cut
        for number, row in enumerate(rows):
            yield from row_passes(
                row,
                self._naming(part, row, rows[0]),
                first=one or row.number == 1,
                chain=0 if one else number,
                start=more[0 if row.axis == "y" else 1],
            )

    def _naming(self, part: _Part, row: Row, outer: Row) -> Naming:
        counts = [len(strip.sticks) for strip in part.billet.strips]
        before = [sum(counts[:number]) for number in range(len(counts) + 1)]
        down = "edge 1" if row.axis == "z" else "face 1"
        if row.number == 2 and outer.is_cut:  # a strip that is not the first has only its near side there
            down += " side"

        def joined(low: int, high: int) -> str:
            if row.number == 1:
                return self._joined(part, before[low], before[high + 1] - 1)
            return self._joined(part, before[row.strip] + low, before[row.strip] + high)

        def kept(gap: Span) -> str:
            across, deep = (gap, row.other) if row.axis == "y" else (row.other, gap)
            return self._kept.get((part.wood.low, part.x, across, deep), WASTE)

        whole = joined(0, len(row.spans) - 1)
        return Naming(board=self.board, whole=whole, joined=joined, kept=kept, down=down)

    def _joined(self, part: _Part, low: int, high: int) -> str:
        """Return the name of what holds a billet's sticks from ``low`` to ``high`` (counted from 0)."""
        if (low, high) == (0, len(part.billet.sticks) - 1):
            return part.name
        first, last = part.first + low, part.first + high
        if low == high:
            return self.names.stick(self.drawn, first)
        return f"sticks {first} to {last} of {self.board}"

    def _sawn(self, part: _Part, rows: Sequence[Row]) -> Iterator[Sawn]:
        """Yield the sticks of a billet, numbered on."""
        places = ((s, k) for s, strip in enumerate(part.billet.strips) for k in range(len(strip.sticks)))
        for number, (strip, place) in enumerate(places, part.first):
            stick = part.billet.strips[strip].sticks[place]
            first = self._batch[stick.blanks[0].blank]
            yield Sawn(
                board=self.board,
                name=self.names.stick(self.drawn, number),
                billet=part.billet,
                wood=part.wood,
                rows=(rows[0], rows[1 + strip]),
                at=(strip, place),
                sizes=section(self.offcut, first, self.shop, turned=stick.turned),
            )

    def _left_of(self, sawn: Sawn, gap: Span) -> str:
        """Return the name of what is left of a stick there, or :data:`WASTE`."""
        return self._kept.get((sawn.wood.low, gap, *sawn.yz), WASTE)

    def _mark(self, cut: CutBlank) -> tuple[Mark, ...]:
        """Take the next mark of a blank's kind."""
        return tuple(islice(self._marks.get((self.board, cut.blank), ()), 1))

    def _sound(self, cut: CutBlank) -> str:
        return cut.clear_end if self._batch[cut.blank].clear_end else ""

    def _section(self, sawn: Sawn) -> Section:
        """Return a stick for the drawings, with its blanks and its ends that are kept, from end A on."""
        (y, z), (begin, end) = sawn.yz, sawn.along
        found = [
            Along(name=cut.blank, x=(cut.start, cut.end), sound=self._sound(cut)) for cut in sawn.stick.blanks
        ]
        found += [
            Along(name=name, x=x, keeper=True)
            for (low, x, *across), name in self._kept.items()
            if low == sawn.wood.low and across == [y, z] and begin <= x[0] < end and x != sawn.along
        ]
        pieces = tuple(sorted(found, key=lambda piece: piece.x))
        return Section(name=sawn.name, keeper=False, y=y, z=z, turned=sawn.stick.turned, pieces=pieces)

    def _beside(self, part: _Part) -> Iterator[Section]:
        for keeper in self._keepers:
            if keeper.form not in ("end", "length") and keeper.wood == part.wood and keeper.x == part.x:
                yield Section(name=self._kept[spot_of(keeper)], keeper=True, y=keeper.across, z=keeper.deep)


def spot_of(keeper: Keeper) -> Spot:
    """Return where a keeper lies, which no other does."""
    return (-1 if keeper.wood is None else keeper.wood.low, keeper.x, keeper.across, keeper.deep)


def _shaved(row: Row) -> int:
    """Return where the first piece of a row begins, if that is within a kerf of the row's start, else 0."""
    start = row.spans[0][0]
    return start if start <= row.kerf else 0


def _needs(rows: Sequence[Row]) -> tuple[int, int]:
    """Return how far the pieces of a billet reach across y and z."""
    ends = {"y": 0, "z": 0}
    for row in rows:
        ends[row.axis] = max(ends[row.axis], *chain.from_iterable(row.spans))
    return ends["y"], ends["z"]
