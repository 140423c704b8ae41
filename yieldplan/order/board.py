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

    from yieldplan.model import Billet, CutBlank, Job, Keeper, OffcutPlan, Row, Wood
    from yieldplan.model.pieces import PieceNames
    from yieldplan.order.data import Margin, Mark, Saw, Span

Spot = tuple[int, "Span", "Span", "Span"]
"""Where a leftover lies: low edge of the wood it is jointed with (-1 where it is not), along, across, deep."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A billet or a half of a split one: its name, that of the rough billet, and the number of its first stick."""

    name: str
    rough: str
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
        self._keepers = list(zip(names.keepers(drawn), keepers(job, drawn), strict=True))
        self._kept = {_spot(keeper): name for name, keeper in self._keepers}
        self._marks = {key: iter(several) for key, several in marks.items() if key[0] == self.board}
        self._margins: list[Margin] = []

    def card(self) -> Card:
        """Return the board's card, but for what other boards decide."""
        parts = list(self._parts())
        spares = Counter(cut.blank for cut in self.drawn.blanks if cut.spare)
        counts = Counter(cut.blank for cut in self.drawn.blanks)
        return Card(
            board=self.board,
            offcut=self.offcut,
            drawn=self.drawn,
            gives=tuple((name, count, spares[name]) for name, count in counts.items()),
            ends=self._ends(parts),
            splits=tuple(self._splits(parts)),
            milled=tuple(self._mill(part) for part in parts),
            margins=tuple(self._margins),
        )

    def _parts(self) -> Iterator[_Part]:
        """Yield what is jointed, with its name; one that holds a single stick has that stick's name from the start."""
        first = 1
        for index, billet in enumerate(self.drawn.billets):
            for wood, part in milled(self.offcut, billet, self.shop):
                far, name = wood.low > 0, self.names.billet(self.drawn, index)
                half = ("far" if far else "near") if isinstance(billet, SplitBillet) else ""
                rough, count = name, len(part.sticks)
                if count == 1:
                    name = self.names.stick(self.drawn, first)
                elif half:
                    name = self.names.half(self.drawn, index, far=far)
                rough = rough if half else name
                yield _Part(name=name, rough=rough, billet=part, wood=wood, half=half, first=first)
                first += count

    def _ends(self, parts: Sequence[_Part]) -> Ends:
        """Return the rough crosscuts: what stays between them, from end A on."""
        billets = {part.x: part.rough for part in parts}
        lengths = [
            Length(name=name, x=keeper.x, keeper=True)
            for name, keeper in self._keepers
            if keeper.form == "length"
        ]
        lengths += [Length(name=name, x=x, metal=self._has_metal(x)) for x, name in billets.items()]
        return Ends(
            board=self.board,
            long=self.offcut.length,
            lengths=tuple(sorted(lengths, key=lambda length: length.x)),
            cuts=crosscuts(list(billets), (0, self.offcut.length), self.shop.crosscut_kerf),
        )

    def _has_metal(self, x: Span) -> bool:
        return any(is_metal(one.kind) and meet((one.x1, one.x2), x) for one in self.offcut.defects)

    def _splits(self, parts: Sequence[_Part]) -> Iterator[Split]:
        for billet in self.drawn.billets:
            if isinstance(billet, SplitBillet):
                found = {part.half: part for part in parts if part.billet.start == billet.start}
                near, far = (found[half].name if half in found else WASTE for half in ("near", "far"))
                rough = next(iter(found.values())).rough
                yield Split(board=self.board, piece=rough, line=billet.split, near=near, far=far)

    def _mill(self, part: _Part) -> Milled:
        """Return all that is done with a billet, or a half of one, from the jointer on."""
        billet, wood = part.billet, part.wood
        rows = list(sawn_rows(wood, billet, self.shop))
        box = wood.width - billet.edge_loss, wood.thickness - billet.face_loss
        wide, thick = (
            max(chain.from_iterable(s for r in rows if r.axis == axis for s in r.spans)) for axis in "yz"
        )
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
        self._margins += (
            margin_of(one, cut, self._batch[cut.blank], self.shop)
            for one in sticks
            for cut in one.stick.blanks
        )
        lengths = Lengths(shop=self.shop, kept=self._left_of, clear=self._clear, mark=self._mark)
        return Milled(
            name=part.name,
            half=part.half,
            billet=billet,
            wood=wood,
            box=box,
            sections=(*map(self._section, sticks), *self._beside(part)),
            steps=(joint, *self._saws(part, rows, more), *planing(sticks), *lengths.steps(sticks)),
        )

    def _more(self, part: _Part, rows: Sequence[Row]) -> tuple[int, int]:
        """Return how much the jointer takes off edge 1 and face 1 because the first pieces begin within a kerf of it.

        Of a second row's side only where all rows begin there and no keeper of the first row would lose it.
        """
        first, *second = (row.spans[0][0] if row.spans[0][0] <= row.kerf else 0 for row in rows)
        kept = any(
            keeper.form in ("strip", "layer") and keeper.wood == part.wood and keeper.x == part.x
            for _, keeper in self._keepers
        )
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

        return Naming(board=self.board, joined=joined, kept=kept, down=down)

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

    def _clear(self, cut: CutBlank) -> str:
        return cut.clear_end if self._batch[cut.blank].clear_end else ""

    def _section(self, sawn: Sawn) -> Section:
        """Return a stick for the drawings, with its blanks and its ends that are kept, from end A on."""
        (y, z), (begin, end) = sawn.yz, sawn.along
        found = [Along(name=cut.blank, x=(cut.start, cut.end)) for cut in sawn.stick.blanks]
        found += [
            Along(name=name, x=x, keeper=True)
            for (low, x, *across), name in self._kept.items()
            if low == sawn.wood.low and across == [y, z] and begin <= x[0] < end and x != sawn.along
        ]
        pieces = tuple(sorted(found, key=lambda piece: piece.x))
        return Section(name=sawn.name, keeper=False, y=y, z=z, turned=sawn.stick.turned, pieces=pieces)

    def _beside(self, part: _Part) -> Iterator[Section]:
        for name, keeper in self._keepers:
            if keeper.form not in ("end", "length") and keeper.wood == part.wood and keeper.x == part.x:
                yield Section(name=name, keeper=True, y=keeper.across, z=keeper.deep)


def _spot(keeper: Keeper) -> Spot:
    """Return where a keeper lies, which no other does."""
    return (-1 if keeper.wood is None else keeper.wood.low, keeper.x, keeper.across, keeper.deep)
