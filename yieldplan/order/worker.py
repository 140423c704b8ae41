"""What is done with one piece of the pile: its lines for the sheets, its card, its blanks and keepers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model import CutBlank, SplitBillet, halves, planed_section
from yieldplan.order.billet import BilletPlanner, BilletWork, StickWork
from yieldplan.order.data import (
    Along,
    Card,
    Line,
    Machine,
    Milled,
    Piece,
    Section,
    Stage,
    StillMeasure,
)
from yieldplan.order.figures import Grid
from yieldplan.order.flags import (
    crosscut_flags,
    edge_planing_flags,
    flat_planing_flags,
    machine_flags,
)
from yieldplan.order.margins import Margin, MarginFinder

if TYPE_CHECKING:
    from yieldplan.model import Billet, Blank, Job, Keeper, Offcut, Strip, WholeKeeper
    from yieldplan.order.billet import Side
    from yieldplan.order.data import Flag
    from yieldplan.order.marks import Marks
    from yieldplan.order.row import Cut


HALVES = {"n": "near half", "f": "far half"}
"""The letters by which the halves of a split billet are named, and what they stand for."""


class Workshop:
    """What all offcuts of one order share, and the lines put down so far, in the pieces' order."""

    def __init__(self, job: Job, marks: Marks) -> None:
        self.shop, self.marks = job.shop, marks
        self.grid = Grid(step=job.shop.shown_steps)
        self.batch = {blank.name: blank for blank in job.blanks}
        self.planner = BilletPlanner(job.shop, self.grid, self.batch)
        self.lines: list[tuple[Stage, Machine, int | None, Line]] = []
        self.sticks: list[tuple[str, Offcut, Blank, bool]] = []


class OffcutWorker:
    """Works one piece of the pile, segment by segment."""

    def __init__(self, workshop: Workshop, offcut: Offcut, root: str) -> None:
        self.workshop, self.offcut, self.root = workshop, offcut, root
        self.grid = workshop.grid
        self.blanks: list[Piece] = []
        self.keepers: list[Piece] = []
        self.margins: list[Margin] = []
        self._segments: list[Along] = []
        self._sections: list[Section] = []
        self._pieces: list[Along] = []
        self._measures: list[StillMeasure] = []
        self._billets: list[Milled] = []

    def card(self) -> Card:
        """Return the card of what has been worked so far."""
        return Card(
            root=self.root,
            offcut=self.offcut,
            segments=tuple(self._segments),
            sections=tuple(self._sections),
            pieces=tuple(self._pieces),
            measures=tuple(self._measures),
            billets=tuple(self._billets),
        )

    def whole_keeper(self, segment: WholeKeeper, mark: str) -> None:
        """Add a segment that goes back on the rack as it is."""
        low, high = self.grid.span(segment.start, segment.end, 0)
        self._crosscut(mark, (low, high), (segment.start, segment.end), "keeper")
        self._keep(mark, (self.offcut.width, self.offcut.thickness), self.root, (low, high))

    def billet(self, billet: Billet, mark: str) -> None:
        """Add a segment that is milled as one piece."""
        work = self.workshop.planner.work(self.offcut, billet, mark)
        low, high = self.grid.span(billet.start, billet.end, self._length_needed(billet))
        self._crosscut(work.mark, (low, high), (billet.start, billet.end), "billet")
        self._mill(
            work, Milled(mark=work.mark, segment=work.mark, billet=billet, wood=self.offcut), (low, high)
        )

    def split_billet(self, billet: SplitBillet, mark: str) -> None:
        """Add a segment that is split at the bandsaw before each half is milled by itself."""
        need = max(self._length_needed(half) for half in billet.halves)
        shown = self.grid.span(billet.start, billet.end, need)
        self._crosscut(mark, shown, (billet.start, billet.end), "billet")
        woods = halves(self.offcut, billet.split, self.workshop.shop)
        lows = (0, self.offcut.width - woods[1].width)
        found = []
        for sign, wood, low, half in zip(HALVES, woods, lows, billet.halves, strict=True):
            if half.strips:
                work = self.workshop.planner.work(wood, half, mark + sign)
                found.append(
                    (
                        work,
                        Milled(
                            mark=work.mark, segment=mark, billet=half, wood=wood, half=HALVES[sign], low=low
                        ),
                    )
                )
        self._split(mark, billet.split, tuple(work.mark for work, _ in found), shown[1] - shown[0])
        for work, milled in found:
            self._mill(work, milled, shown)

    def _mill(self, work: BilletWork, milled: Milled, shown: tuple[int, int]) -> None:
        """Add all that is done with a billet, or a half of one, from the jointer on."""
        self._billets.append(milled)
        billet, length = milled.billet, shown[1] - shown[0]
        self._joint(work, milled, length)
        for sawing in work.sawings:
            for cut in sawing.cuts:
                self._saw(sawing.stage, sawing.machine, cut, length)
        first = len(self._sections)
        for strip in work.keepers:
            self._section(strip.mark, work.mark, strip.y, strip.z, keeper=True)
            size = (strip.y[1] - strip.y[0], strip.z[1] - strip.z[0])
            self._keep(strip.mark, size, self.root, shown)
        for stick in work.sticks:
            interval_y, interval_z = (stick.y.start, stick.y.end), (stick.z.start, stick.z.end)
            self._section(stick.mark, work.mark, interval_y, interval_z, keeper=False)
            self._plane(stick, length)
            self._part(stick, billet.start, length)
            self._spare(stick, dict(work.strips)[stick.strip_mark], milled)
        self._sections[first:] = _in_order(self._sections[first:], billet.layout)

    def _name(self, mark: str) -> str:
        return self.workshop.marks.full(self.root, mark)

    def _put(self, stage: Stage, machine: Machine, setting: int | None, line: Line) -> None:
        self.workshop.lines.append((stage, machine, setting, line))

    def _length_needed(self, billet: Billet) -> int:
        """Return the shown length at which each of a billet's blanks still gets its finished length."""
        return max(
            (
                self.grid.down(cut.start - billet.start) + self.grid.up(self.workshop.batch[cut.blank].length)
                for strip in billet.strips
                for stick in strip.sticks
                for cut in stick.blanks
            ),
            default=0,
        )

    def _crosscut(self, mark: str, shown: tuple[int, int], exact: tuple[int, int], kind: str) -> None:
        low, high = shown
        self._segments.append(
            Along(mark=mark, parent="", kind=kind, start=low, end=high, exact=exact),
        )
        line = Line(
            root=self.root,
            piece=self.root,
            where="end A",
            start=low,
            size=high,
            before=high - low,
            gives=(mark,),
            flags=crosscut_flags(high - low),
            note="keeper" if kind == "keeper" else "",
        )
        self._put(Stage.ROUGH_CROSSCUT, Machine.CROSSCUT, None, line)

    def _split(self, mark: str, at: int, gives: tuple[str, ...], length: int) -> None:
        """Add the line of a rough split."""
        line = Line(
            root=self.root,
            piece=self._name(mark),
            where="edge 1, a line all along",
            size=self.grid.near(at),
            gives=gives,
            rest="" if len(gives) == len(HALVES) else "waste",
            flags=machine_flags(length),
        )
        self._put(Stage.SPLIT, Machine.BANDSAW, None, line)

    def _joint(self, work: BilletWork, milled: Milled, length: int) -> None:
        """Add the two jointing lines: what the billet must still measure, and what the plan can spare."""
        wide, thick = work.needs
        wood, billet = milled.wood, milled.billet
        spare_wide = self.grid.down(max(0, wood.width - billet.edge_loss - wide))
        spare_thick = self.grid.down(max(0, wood.thickness - billet.face_loss - thick))
        measure = StillMeasure(
            piece=self._name(work.mark),
            thick=self.grid.up(thick),
            wide=self.grid.up(wide),
            spare_thick=spare_thick,
            spare_wide=spare_wide,
        )
        self._measures.append(measure)
        for stage, where, size, spare in (
            (Stage.FACE, "face 1", measure.thick, spare_thick),
            (Stage.EDGE, "edge 1, face 1 on the fence", measure.wide, spare_wide),
        ):
            line = Line(
                root=self.root,
                piece=measure.piece,
                where=where,
                size=size,
                before=spare,
                flags=machine_flags(length),
            )
            self._put(stage, Machine.JOINTER, None, line)

    def _saw(self, stage: Stage, machine: Machine, cut: Cut, length: int) -> None:
        where = _fence(stage is Stage.RIP, cut)
        line = Line(
            root=self.root,
            piece=self._name(cut.piece),
            where=where,
            size=cut.setting,
            times=len(cut.gives),
            gives=cut.gives,
            rest=cut.rest or "waste",
            flags=machine_flags(length),
        )
        self._put(stage, machine, cut.setting, line)

    def _plane(self, stick: StickWork, length: int) -> None:
        """Add the two planing lines of a stick: to its finished width on edge, to its thickness flat."""
        blank = self.workshop.batch[stick.stick.blanks[0].blank]
        wide, thick = (stick.z, stick.y) if stick.stick.turned else (stick.y, stick.z)
        section = planed_section(self.offcut, blank, self.workshop.shop, turned=stick.stick.turned)
        width, thickness = map(self.grid.up, section)
        self.workshop.sticks.append((self._name(stick.mark), self.offcut, blank, stick.stick.turned))
        on_edge, flat = edge_planing_flags(length, width, thick.size), flat_planing_flags(length, thickness)
        self._plane_line(Stage.PLANE_EDGE, stick.mark, wide, width, on_edge)
        self._plane_line(Stage.PLANE_FLAT, stick.mark, thick, thickness, flat)

    def _plane_line(self, stage: Stage, mark: str, side: Side, size: int, flags: tuple[Flag, ...]) -> None:
        where = side.down
        if side.shave:
            shop = self.workshop.shop
            where += f", {write(self.grid.up(side.shave), shop.units)} or more off face 1"
        line = Line(
            root=self.root, piece=self._name(mark), where=where, size=size, before=side.size, flags=flags
        )
        self._put(stage, Machine.PLANER, size, line)

    def _part(self, work: StickWork, begin: int, length: int) -> None:
        """Add the crosscuts that part a stick, and those that bring its blanks to length."""
        first, shop = self.workshop.batch[work.stick.blanks[0].blank], self.workshop.shop
        section = planed_section(self.offcut, first, shop, turned=work.stick.turned)
        cuts: list[CutBlank | Keeper] = [*work.stick.blanks, *work.stick.keepers]
        for number, cut in enumerate(sorted(cuts, key=lambda piece: piece.start), 1):
            mark = f"{work.mark}{number}"
            blank = self.workshop.batch[cut.blank] if isinstance(cut, CutBlank) else None
            need = self.grid.up(blank.length) if blank else 0
            low, high = self.grid.span(cut.start - begin, cut.end - begin, need)
            along = Along(
                mark=mark,
                parent=work.mark,
                kind="blank" if blank else "keeper",
                start=low,
                end=min(high, max(length, low + need)),
                exact=(cut.start, cut.end),
                blank=blank.name if blank else "",
                clear_end=cut.clear_end if isinstance(cut, CutBlank) and blank and blank.clear_end else "",
            )
            self._along(along)
            if isinstance(cut, CutBlank):
                self._length(along, section, extra=cut.extra)
            else:
                parent, span = self._name(work.mark), (along.start, along.end)
                self._keep(mark, section, parent, span)

    def _spare(self, work: StickWork, strip: Strip, milled: Milled) -> None:
        """Add the margins of a stick's blanks."""
        finder = MarginFinder(self.workshop.shop, milled.wood, milled.billet)
        cuts: list[CutBlank | Keeper] = [*work.stick.blanks, *work.stick.keepers]
        for number, cut in enumerate(sorted(cuts, key=lambda piece: piece.start), 1):
            if isinstance(cut, CutBlank):
                blank = self.workshop.batch[cut.blank]
                thickness, width, length = finder.of_blank(strip, work.stick, cut, blank)
                self.margins.append(
                    Margin(
                        root=self.root,
                        name=self._name(f"{work.mark}{number}"),
                        blank=blank.name,
                        thickness=thickness,
                        width=width,
                        length=length,
                    )
                )

    def _along(self, piece: Along) -> None:
        """Add the crosscut that frees a piece from its stick."""
        self._pieces.append(piece)
        length = piece.end - piece.start
        line = Line(
            root=self.root,
            piece=self._name(piece.parent),
            where="end A",
            start=piece.start,
            size=piece.end,
            before=length,
            gives=(piece.mark,),
            blank=piece.blank,
            flags=crosscut_flags(length),
            note="" if piece.blank else "keeper",
        )
        self._put(Stage.PART, Machine.CROSSCUT, None, line)

    def _length(self, piece: Along, section: tuple[int, int], *, extra: bool) -> None:
        """Add the cut that brings a blank to its finished length; ``section`` is what it was planed to."""
        blank = self.workshop.batch[piece.blank]
        length, clear = self.grid.up(blank.length), piece.clear_end
        line = Line(
            root=self.root,
            piece=self._name(piece.mark),
            where=f"end {clear} on the stop: the sound end" if clear else "the squarer end on the stop",
            size=length,
            before=piece.end - piece.start,
            blank=blank.name,
            flags=crosscut_flags(length),
            note="extra" if extra else "",
        )
        self._put(Stage.LENGTH, Machine.CROSSCUT, length, line)
        self.blanks.append(
            Piece(
                root=self.root,
                name=self._name(piece.mark),
                blank=blank.name,
                extra=extra,
                length=length,
                width=self.grid.up(section[0]),
                thickness=self.grid.up(section[1]),
                clear_end=clear,
                offcut=self.offcut,
                parent=self._name(piece.parent),
                start=piece.start,
                end=piece.end,
            )
        )

    def _section(
        self, mark: str, billet: str, y: tuple[int, int], z: tuple[int, int], *, keeper: bool
    ) -> None:
        self._sections.append(
            Section(
                mark=mark,
                billet=billet,
                keeper=keeper,
                y=(self.grid.near(y[0]), self.grid.near(y[1])),
                z=(self.grid.near(z[0]), self.grid.near(z[1])),
                exact_y=y,
                exact_z=z,
            )
        )

    def _keep(self, mark: str, section: tuple[int, int], parent: str, span: tuple[int, int]) -> None:
        wide, thick = max(section), min(section)
        self.keepers.append(
            Piece(
                root=self.root,
                name=self._name(mark),
                length=span[1] - span[0],
                width=self.grid.down(wide),
                thickness=self.grid.down(thick),
                offcut=self.offcut,
                parent=parent,
                start=span[0],
                end=span[1],
            )
        )


def _in_order(sections: list[Section], layout: str) -> list[Section]:
    """Return a billet's sections as their marks run: by strip or layer, then by stick."""
    if layout == "rip first":
        return sorted(sections, key=lambda section: (section.exact_y, section.exact_z))
    return sorted(sections, key=lambda section: (section.exact_z, section.exact_y))


def _fence(rip: bool, cut: Cut) -> str:
    """Return what lies on the fence for a cut."""
    near, far = ("edge 1", "far edge") if rip else ("face 1", "face 2")
    if cut.turned:
        return f"{far} side (sawn)"
    if not cut.jointed:
        return f"{near} side (sawn)"
    return f"{near} (jointed), then as sawn" if len(cut.gives) > 1 else f"{near} (jointed)"
