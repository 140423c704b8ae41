"""What is done with one piece of the pile: its cuts for the machines' lists, its card, its blanks and keepers."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet, keepers, milled, sawn_rows, section
from yieldplan.model.words import fold
from yieldplan.order.data import WASTE, Along, Card, Kept, Line, Machine, Milled, Section, Stage
from yieldplan.order.flags import crosscut_flags, machine_flags
from yieldplan.order.margins import Place, margin_of
from yieldplan.order.marks import billet_mark
from yieldplan.order.sawing import Naming, machine_of, row_cuts
from yieldplan.order.schedule import Cut
from yieldplan.order.sticks import StickWork, side_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Billet, Blank, CutBlank, Job, Keeper, Offcut, OffcutPlan, Row, Stick, Wood
    from yieldplan.order.data import Span
    from yieldplan.order.margins import Margin
    from yieldplan.order.marks import Marks

HALVES = ("near", "far")
METAL = frozenset({"nail", "screw", "bolt", "metal"})
PULL = "pull the metal first"

Spot = tuple[int, "Span", "Span", "Span"]
"""Where a leftover lies: low edge of the wood it is jointed with (-1 where it is not), along, across, deep."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """All that is done with a board: chains of cuts by stage and machine, and what comes of it."""

    card: Card
    chains: tuple[tuple[Stage, Machine, tuple[Cut, ...]], ...]
    keepers: tuple[Kept, ...]
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


class Board:
    """Works one drawn piece of the pile from end A on."""

    def __init__(self, job: Job, drawn: OffcutPlan, marks: Marks) -> None:
        self.shop, self.drawn = job.shop, drawn
        self.offcut = job.offcut(drawn.offcut)
        self.root, self._marks = marks.root(drawn.offcut, drawn.copy), marks
        self._batch = {name: job.blank(name) for name in {cut.blank for cut in drawn.blanks}}
        self._keepers = list(keepers(job, drawn))
        self._kept = {_spot(keeper): self._name(f"K{n}") for n, keeper in enumerate(self._keepers, 1)}
        self._chains: list[tuple[Stage, Machine, tuple[Cut, ...]]] = []
        self._margins: list[Margin] = []
        self._planed: list[tuple[str, Offcut, Blank, bool]] = []
        self._parents: dict[Spot, tuple[str, int]] = {}

    def work(self) -> Work:
        """Return all that is done with the board."""
        parts = list(self._parts())
        lengths = self._crosscuts(parts)
        cards = [self._mill(part) for part in parts]
        return Work(
            card=Card(root=self.root, offcut=self.offcut, lengths=lengths, milled=tuple(cards)),
            chains=tuple(self._chains),
            keepers=tuple(self._keeper(keeper) for keeper in self._keepers),
            margins=tuple(self._margins),
            planed=tuple(self._planed),
        )

    def _name(self, mark: str) -> str:
        return self._marks.full(self.root, mark)

    def _put(self, stage: Stage, machine: Machine, cuts: Sequence[Cut]) -> None:
        if cuts:
            self._chains.append((stage, machine, tuple(cuts)))

    def _parts(self) -> Iterator[_Part]:
        """Yield what is jointed, with its name; one that holds a single stick has that stick's name from the start."""
        several, first = len(self.drawn.billets) > 1, 1
        for number, billet in enumerate(self.drawn.billets, 1):
            letter = billet_mark(number) if several else ""
            for wood, part in milled(self.offcut, billet, self.shop):
                half = HALVES[wood.low > 0] if isinstance(billet, SplitBillet) else ""
                count = sum(len(strip.sticks) for strip in part.strips)
                mark = str(first) if count == 1 else " ".join(word for word in (letter, half) if word)
                yield _Part(name=self._name(mark), billet=part, wood=wood, half=half, first=first)
                first += count

    def _crosscuts(self, parts: Sequence[_Part]) -> tuple[Along, ...]:
        """Add the rough crosscuts and splits; return the lengths that come of them, from end A on."""
        lengths = [
            Along(name=self._kept[_spot(keeper)], x=keeper.x, keeper=True)
            for keeper in self._keepers
            if keeper.form == "length"
        ]
        for number, billet in enumerate(self.drawn.billets, 1):
            own = [part for part in parts if part.billet.start == billet.start]
            name = own[0].name
            if isinstance(billet, SplitBillet):
                name = self._name(billet_mark(number) if len(self.drawn.billets) > 1 else "")
                self._split(name, billet, own)
            lengths.append(Along(name=name, x=(billet.start, billet.end)))
        lengths.sort(key=lambda length: length.x)
        for length in lengths:
            low, high = length.x
            line = Line(
                root=self.root,
                piece=self.root,
                where="end A",
                start=low,
                size=high,
                before=high - low,
                gives=(length.name,),
                flags=crosscut_flags(high - low),
                note="keep" if length.keeper else PULL if self._has_metal(length.x) else "",
            )
            self._put(Stage.ENDS, Machine.CROSSCUT, [Cut(setting=None, line=line)])
        return tuple(lengths)

    def _has_metal(self, x: Span) -> bool:
        return any(
            METAL & set(fold(defect.kind).split()) and defect.x1 < x[1] and x[0] < defect.x2
            for defect in self.offcut.defects
        )

    def _split(self, name: str, billet: SplitBillet, halves: Sequence[_Part]) -> None:
        line = Line(
            root=self.root,
            piece=name,
            where="edge 1, a line all along",
            size=billet.split,
            gives=tuple(half.name for half in halves),
            rest="" if len(halves) == len(HALVES) else WASTE,
            flags=machine_flags(billet.end - billet.start),
            note="" if len(halves) == len(HALVES) else f"the {halves[0].half} half is used",
        )
        self._put(Stage.SPLIT, Machine.BANDSAW, [Cut(setting=None, line=line)])

    def _mill(self, part: _Part) -> Milled:
        """Add all that is done with a billet, or a half of one, from the jointer on; return its part of the card."""
        billet, wood = part.billet, part.wood
        flags = machine_flags(billet.end - billet.start)
        rows = list(sawn_rows(wood, billet, self.shop))
        wide, thick = _needs(rows)
        box = wood.width - billet.edge_loss, wood.thickness - billet.face_loss
        for stage, where, need, has in (
            (Stage.FACE, "face 1", thick, box[1]),
            (Stage.EDGE, "edge 1, face 1 on the fence", wide, box[0]),
        ):
            line = Line(
                root=self.root, piece=part.name, where=where, size=need, before=has - need, flags=flags
            )
            self._put(stage, Machine.JOINTER, [Cut(setting=None, line=line)])
        self._saw(part, rows)
        sections = [self._stick(part, rows, place, at) for place, at in _places(billet)]
        sections += [
            Section(name=self._kept[_spot(keeper)], keeper=True, y=keeper.across, z=keeper.deep)
            for keeper in self._keepers
            if keeper.form != "end" and keeper.wood == wood and keeper.x == (billet.start, billet.end)
        ]
        return Milled(
            name=part.name,
            billet=billet,
            wood=wood,
            half=part.half,
            wide=wide,
            thick=thick,
            box=box,
            sections=tuple(sections),
        )

    def _saw(self, part: _Part, rows: Sequence[Row]) -> None:
        """Add the cuts of a billet's rows; a second row counts as the first where the first is not cut."""
        flags = machine_flags(part.billet.end - part.billet.start)
        cuts = [row_cuts(row, self._naming(part, row), flags) for row in rows]
        if rows[0].is_cut:
            self._put(Stage.FIRST, machine_of(rows[0]), cuts[0])
            for row, own in zip(rows[1:], cuts[1:], strict=True):
                self._put(Stage.SECOND, machine_of(row), own)
        else:
            self._put(Stage.FIRST, machine_of(rows[1]), [*cuts[0], *cuts[1]])

    def _naming(self, part: _Part, row: Row) -> Naming:
        counts = [len(strip.sticks) for strip in part.billet.strips]
        before = [sum(counts[:number]) for number in range(len(counts) + 1)]
        x = (part.billet.start, part.billet.end)

        def joined(low: int, high: int) -> str:
            if row.number == 1:
                return self._joined(part, before[low], before[high + 1] - 1)
            return self._joined(part, before[row.strip] + low, before[row.strip] + high)

        def kept(gap: Span) -> str:
            across, deep = (gap, row.other) if row.axis == "y" else (row.other, gap)
            return self._kept.get((part.wood.low, x, across, deep), WASTE)

        return Naming(root=self.root, whole=joined(0, len(row.spans) - 1), joined=joined, kept=kept)

    def _joined(self, part: _Part, low: int, high: int) -> str:
        """Return the name of what holds a billet's sticks from ``low`` to ``high`` (counted from 0)."""
        if (low, high) == (0, sum(len(strip.sticks) for strip in part.billet.strips) - 1):
            return part.name
        first, last = part.first + low, part.first + high
        return self._name(str(first) if low == high else f"{first} to {last}")

    def _stick(self, part: _Part, rows: Sequence[Row], at: tuple[int, int], number: int) -> Section:
        """Add the planing and the crosscuts of a stick, its blanks and their margins; return it for the card."""
        billet, shop = part.billet, self.shop
        stick = billet.strips[at[0]].sticks[at[1]]
        name = self._name(str(part.first + number))
        place = Place(
            root=self.root, name=name, billet=billet, wood=part.wood, rows=(rows[0], rows[1 + at[0]]), at=at
        )
        sides = [side_of(row, piece) for row, piece in zip(place.rows, at, strict=True)]
        first = self._batch[stick.blanks[0].blank]
        work = StickWork(
            root=self.root,
            name=name,
            stick=stick,
            y=sides[0] if billet.rip_first else sides[1],
            z=sides[1] if billet.rip_first else sides[0],
            sizes=section(self.offcut, first, shop, turned=stick.turned),
            along=(billet.start, billet.end),
        )
        y, z = place.yz

        def kept(gap: Span) -> str:
            return self._kept.get((part.wood.low, gap, y, z), WASTE)

        on_edge, flat = work.planing()
        self._put(Stage.PLANE_EDGE, Machine.PLANER, [on_edge])
        self._put(Stage.PLANE_FLAT, Machine.PLANER, [flat])
        self._put(Stage.SQUARE, Machine.CROSSCUT, [work.squaring(shop.crosscut_kerf, kept)])
        self._put(Stage.STOP, Machine.CROSSCUT, work.to_length(shop.crosscut_kerf, kept, self._clear_end))
        self._planed.append((name, self.offcut, first, stick.turned))
        for cut in stick.blanks:
            blank = self._batch[cut.blank]
            self._margins.append(margin_of(place, stick, cut, blank, work.sizes, shop))
        return Section(name=name, keeper=False, y=y, z=z, pieces=self._pieces(part, name, stick, (y, z)))

    def _clear_end(self, cut: CutBlank) -> str:
        return cut.clear_end if self._batch[cut.blank].clear_end else ""

    def _pieces(self, part: _Part, name: str, stick: Stick, yz: tuple[Span, Span]) -> tuple[Along, ...]:
        """Return what is cut from the stick ``name``, from end A on: its blanks, and its ends that are kept."""
        found = [
            Along(name=cut.blank, x=(cut.start, cut.end), blank=cut.blank, clear_end=self._clear_end(cut))
            for cut in stick.blanks
        ]
        begin, end = part.billet.start, part.billet.end
        for spot, kept in self._kept.items():
            low, x, *across = spot
            if low == part.wood.low and tuple(across) == yz and begin <= x[0] < end:
                found.append(Along(name=kept, x=x, keeper=True))
                self._parents[spot] = (name, begin)
        return tuple(sorted(found, key=lambda piece: piece.x))

    def _keeper(self, keeper: Keeper) -> Kept:
        length, one, other = keeper.size
        parent, begin = self._parents.get(_spot(keeper), (self.root, 0))
        return Kept(
            name=self._kept[_spot(keeper)],
            length=length,
            width=max(one, other),
            thickness=min(one, other),
            offcut=self.offcut,
            parent=parent,
            start=keeper.x[0] - begin,
            end=keeper.x[1] - begin,
        )


def _spot(keeper: Keeper) -> Spot:
    return (-1 if keeper.wood is None else keeper.wood.low, keeper.x, keeper.across, keeper.deep)


def _places(billet: Billet) -> Iterator[tuple[tuple[int, int], int]]:
    """Yield the places of a billet's sticks (strip, stick), counted from 0."""
    places = ((s, k) for s, strip in enumerate(billet.strips) for k in range(len(strip.sticks)))
    return ((place, number) for number, place in enumerate(places))


def _needs(rows: Sequence[Row]) -> tuple[int, int]:
    """Return how far the pieces of a billet reach across y and z."""
    ends = {"y": 0, "z": 0}
    for row in rows:
        ends[row.axis] = max(ends[row.axis], *chain.from_iterable(row.spans))
    return ends["y"], ends["z"]
