"""One CP-SAT model of a whole pile, to compare the solver with: every billet, strip, stick and blank is a variable.

Each offcut has room for two billets, each of them for so many strips, sticks in a strip and blanks on a stick as fit of
the smallest, but no more than MOST of each. A billet's start, end and layout, where its strips and sticks lie across
it and the blanks along it are all the model's own choice; nothing is listed beforehand.

Rules that it keeps in full: R1, R3 (the losses of the billet's own length), R4 (both layouts), R6, R7 where the rings
are the same across, R8, R10, and R9 with face-deep defects, defects that a blank allows and clear ends.

What it leaves out: billets split before jointing (R2), offcuts with a kink or a second ring reading, strips or sticks
that fill their box where no saw reaches (R5), extras. Of keepers (R11) it knows the whole ones before the first billet
and behind the last, one strip beside the others, one stick over the others in each strip, and one remainder at the end
of each stick, each worth what model.worth says. Lengths are whole 1/64 in, to which stock is rounded down and all else
up: the piles of piles.py are made of such. The two aims are one sum, a missing blank dearer than the pile.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any, NamedTuple

from brute import Answer, crosscuts_of, witness
from monolith_parts import UNIT, BilletVars, PieceVars, Section, StickVars, StripVars, Var, cutting_of
from ortools.sat.python import cp_model

from yieldplan.model import edge_loss, face_loss, planed_section, worth

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Defect, Job, Offcut, Plan

MOST = {"billets": 2, "strips": 4, "sticks": 3, "blanks": 4}
MOST_SLOTS = 20_000
"""Places for blanks, times their kinds, beyond which the model is not built."""

WORTH = -(-144 * 64**3 // 1000)
"""Cubic units in a unit of worth, rounded up."""


class TooLargeError(Exception):
    """The model would have more places for blanks than are built."""


class Point(NamedTuple):
    """What a search had at some moment (seconds): blanks missing and net worth drawn."""

    seconds: float
    missing: int
    net_worth: int


def down(steps: int) -> int:
    """Return whole units, stock rounded down."""
    return steps // UNIT


def up(steps: int) -> int:
    """Return whole units, what is wanted or lost rounded up."""
    return -(-steps // UNIT)


class Monolith:
    """The model of a job.

    Raises
    ------
    TooLargeError
        If it would have more than MOST_SLOTS places.
    """

    def __init__(self, job: Job) -> None:
        self.job, self.shop = job, job.shop
        self.model = cp_model.CpModel()
        self.made: list[list[Var]] = [[] for _ in job.blanks]
        self.cost: list[Var] = []
        self.slots = 0
        self.pieces = [
            piece
            for offcut in job.offcuts
            for copy in range(1, offcut.qty + 1)
            if (piece := self._piece(offcut, copy)) is not None
        ]
        self.missing = [self._int(0, blank.need) for blank in job.blanks]
        for made, missing, blank in zip(self.made, self.missing, job.blanks, strict=True):
            self.model.add(sum(made) + missing == blank.need)
        pile = sum(o.qty * worth(o.length, o.width, o.thickness, self.shop) for o in job.offcuts)
        ranks = sorted({blank.priority for blank in job.blanks}, reverse=True)
        most = sum(blank.need for blank in job.blanks) + 1
        self.dear = [(pile + 1) * most ** ranks.index(blank.priority) for blank in job.blanks]
        self.model.minimize(sum(d * m for d, m in zip(self.dear, self.missing, strict=True)) + sum(self.cost))

    # Small tools

    def _int(self, low: int, high: int) -> Var:
        return self.model.new_int_var(low, max(low, high), "")

    def _bool(self) -> Var:
        return self.model.new_bool_var("")

    def _product(self, one: Var, other: Var, most: int) -> Var:
        product = self._int(0, most)
        self.model.add_multiplication_equality(product, [one, other])
        return product

    def _if(self, constraint: Any, *literals: Var) -> None:
        self.model.add(constraint).only_enforce_if(list(literals))

    def _grown(self, length: Var, most: int) -> Var:
        """Return a length in units, weighted by the length premium as worth is."""
        over, under = self.shop.length_premium.as_integer_ratio()
        full = max(1, up(self.shop.full_length))
        grown = self._int(0, (most * (under + over)) // under)
        self.model.add(under * grown <= (under + over) * length)
        if over:
            square = self._product(length, length, most * most)
            self.model.add(under * full * grown <= under * full * length + over * square)
        return grown

    def _keeper(self, product: Var, most: int) -> None:
        """Take the worth of a keeper, its volume in cubic units so weighted, off the cost."""
        kept = self._int(0, most // WORTH)
        self.model.add(WORTH * kept <= product)
        self.cost.append(-kept)

    def _stout(self, one: Var, other: Var, there: Var) -> None:
        """Ask a keeper's section of one that is there (R11; R2 for one that is ripped off)."""
        shop, flat = self.shop, self._bool()
        wide, thick, rip = up(shop.keeper_width), up(shop.keeper_thickness), up(shop.narrowest_rip)
        for size, least, least_turned in ((one, wide, thick), (other, thick, wide)):
            self._if(size >= rip, there)
            self._if(size >= least, there, flat)
            self._if(size >= least_turned, there, flat.negated())

    # An offcut

    def _sections(self, offcut: Offcut) -> list[Section]:
        found: dict[tuple[Any, ...], list[int]] = {}
        shop = self.shop
        for kind, blank in enumerate(self.job.blanks):
            slope = blank.max_slope is None or (
                offcut.grain_slope is not None and offcut.grain_slope <= blank.max_slope
            )
            for turned in (False, True):
                if not (slope and blank.takes_species(offcut.species)):
                    continue
                if not blank.takes_rings(offcut, turned=turned):
                    continue
                planed = planed_section(offcut, blank, shop, turned=turned)
                if min(planed) < shop.thinnest_planed or max(planed) > shop.planer_width:
                    continue
                rough = planed[0] + shop.width_allowance, planed[1] + shop.thickness_allowance
                if min(rough) >= shop.narrowest_rip:
                    finished = blank.width, blank.thickness
                    found.setdefault((finished, planed, rough, turned), []).append(kind)
        sections = []
        for (_, planed, rough, turned), kinds in found.items():
            y, z = rough[::-1] if turned else rough
            for rip_first in (True, False):
                first, second = (y, z) if rip_first else (z, y)
                height = offcut.thickness if rip_first else offcut.width
                if shop.kerf_at(height) is not None and shop.kerf_at(first) is not None:
                    sections.append(Section(rip_first, first, second, turned, planed, tuple(kinds)))
        return [s for s in sections if s.first < max(offcut.width, offcut.thickness)]

    def _piece(self, offcut: Offcut, copy: int) -> PieceVars | None:
        shop, length = self.shop, down(offcut.length)
        sections = self._sections(offcut)
        wide = offcut.width > shop.jointer_width or offcut.length < shop.shortest_machined_length
        if wide or not sections or offcut.kinks or offcut.ring_angle_far is not None:
            return None
        kerf, least = up(shop.crosscut_kerf), max(1, up(shop.shortest_machined_length))
        billets: list[BilletVars] = []
        for _ in range(min(MOST["billets"], (length + kerf) // (least + kerf))):
            billet = self._billet(offcut, sections)
            if billets:
                self.model.add_implication(billet.there, billets[-1].there)
                self._if(billet.start >= billets[-1].end + kerf, billet.there)
            billets.append(billet)
        before, behind = (self._end(offcut, billets, from_a=from_a) for from_a in (True, False))
        self.cost.append(worth(offcut.length, offcut.width, offcut.thickness, shop) * billets[0].there)
        return PieceVars(offcut, copy, billets, before, behind)

    def _end(self, offcut: Offcut, billets: list[BilletVars], *, from_a: bool) -> Var:
        """Add the whole keeper before the first billet or behind the last; return its length."""
        shop, length = self.shop, down(offcut.length)
        kerf, least = up(shop.crosscut_kerf), up(shop.keeper_length)
        small, large = sorted((shop.keeper_width, shop.keeper_thickness))
        if offcut.thickness < small or offcut.width < large or length < least:
            return self._int(0, 0)
        there, kept = self._bool(), self._int(0, length)
        self.model.add_implication(there, billets[0].there)
        self._if(kept >= least, there)
        self._if(kept == 0, there.negated())
        if from_a:
            self._if(kept <= billets[0].start - kerf, there)
        else:
            for billet in billets:
                self._if(kept <= length - kerf - billet.end, there, billet.there)
        section = down(offcut.width) * down(offcut.thickness)
        grown = self._grown(kept, length)
        most = worth(offcut.length, offcut.width, offcut.thickness, shop)
        self._keeper(section * grown, most * WORTH)
        return kept

    def _losses(self, offcut: Offcut, length: Var, whole: int) -> tuple[Var, Var]:
        """Return the least losses across y and across z that R3 allows for a billet's length (units)."""
        shop, losses = self.shop, []
        for curve, fixed, twist, most in (
            (offcut.crook, shop.edge_skim, 0, edge_loss(offcut, offcut.length, shop)),
            (offcut.bow, offcut.cup + shop.face_skim, offcut.twist, face_loss(offcut, offcut.length, shop)),
        ):
            if not (curve or twist):
                losses.append(up(fixed))
                continue
            square = self._product(length, length, whole * whole)
            loss = self._int(0, up(most) + 1)
            parts = 2 * curve * square + twist * whole * length + 2 * (fixed + 2) * whole * whole
            self.model.add(2 * UNIT * whole * whole * loss >= parts)
            losses.append(loss)
        return losses[0], losses[1]

    def _billet(self, offcut: Offcut, sections: list[Section]) -> BilletVars:
        shop, whole = self.shop, down(offcut.length)
        width, thickness = down(offcut.width), down(offcut.thickness)
        there, start, end, rip_first = self._bool(), self._int(0, whole), self._int(0, whole), self._bool()
        length = self._int(0, whole)
        self.model.add(end - start == length)
        self._if(length >= up(shop.shortest_machined_length), there)
        self._if(length == 0, there.negated())
        for side in (True, False):
            if not any(section.rip_first == side for section in sections):
                self.model.add(rip_first == (not side))
        edge, face = self._losses(offcut, length, whole)
        rooms = self._int(0, width), self._int(0, width)
        box = width - edge, thickness - face
        for room, one, other in zip(rooms, box, box[::-1], strict=True):
            self._if(room <= one, rip_first)
            self._if(room <= other, rip_first.negated())
        billet = BilletVars(there, start, end, rip_first)
        kerfs = [up(shop.kerf_at(height) or 0) for height in (offcut.thickness, offcut.width)]
        kerf = kerfs[1] + (kerfs[0] - kerfs[1]) * rip_first
        most = width // (up(min(section.first for section in sections)) + min(kerfs))
        grown = self._grown(length, whole)
        for _ in range(min(MOST["strips"], max(1, most))):
            strip = self._strip(offcut, sections, billet, (edge, face), rooms[1], grown)
            if billet.strips:
                last = billet.strips[-1]
                self.model.add_implication(strip.there, last.there)
                self._if(strip.place >= last.place + last.size + kerf, strip.there)
            else:
                self.model.add(strip.there == there)
            self._if(strip.place + strip.size <= rooms[0], strip.there)
            billet.strips.append(strip)
        ends = [(strip.there, strip.place + strip.size + kerf) for strip in billet.strips]
        billet.beside = self._sawn(ends, rooms[0], rooms[1], length, grown, there, width)
        return billet

    def _sawn(
        self,
        ends: list[tuple[Var, Var]],
        room: Var,
        other: Var,
        length: Var,
        grown: Var,
        there: Var,
        width: int,
    ) -> Var:
        """Add the keeper in what is left of a row beside the last piece; return its size there."""
        kept, size = self._bool(), self._int(0, width)
        self.model.add_implication(kept, there)
        self._if(size == 0, kept.negated())
        self._if(length >= up(self.shop.keeper_length), kept)
        for present, end in ends:
            self._if(size <= room - end, kept, present)
        self._stout(size, other, kept)
        area = self._product(size, other, width * width)
        most = 16 * width * width * max(1, up(self.shop.full_length))
        self._keeper(self._product(area, grown, most), most)
        return size

    def _strip(
        self,
        offcut: Offcut,
        sections: list[Section],
        billet: BilletVars,
        losses: tuple[Var, Var],
        room: Var,
        grown: Var,
    ) -> StripVars:
        shop, width = self.shop, down(offcut.width)
        sizes = sorted({(section.rip_first, section.first) for section in sections})
        chosen = {size: self._bool() for size in sizes}
        there = self._bool()
        self.model.add(sum(chosen.values()) == there)
        for (side, _), literal in chosen.items():
            self.model.add_implication(literal, billet.rip_first if side else billet.rip_first.negated())
        size, kerf = self._int(0, width), sum(up(shop.kerf_at(s[1]) or 0) * x for s, x in chosen.items())
        self.model.add(size == sum(up(first) * x for (_, first), x in chosen.items()))
        strip = StripVars(there, self._int(0, width), size)
        most = width // (up(min(section.second for section in sections)) + 1)
        for _ in range(min(MOST["sticks"], max(1, most))):
            stick, present = self._stick(offcut, sections, chosen, billet)
            if strip.sticks:
                last = strip.sticks[-1]
                self.model.add_implication(present, sum_literal(self.model, last.types))
                self._if(stick.place >= last.place + last.size + kerf, present)
            else:
                self.model.add(present == there)
            self._if(stick.place + stick.size <= room, present)
            self._defects(offcut, billet, strip, stick, losses)
            strip.sticks.append(stick)
        ends = [
            (sum_literal(self.model, stick.types), stick.place + stick.size + kerf) for stick in strip.sticks
        ]
        length = self._int(0, down(offcut.length))
        self.model.add(length == billet.end - billet.start)
        strip.over = self._sawn(ends, room, size, length, grown, there, width)
        return strip

    def _stick(
        self, offcut: Offcut, sections: list[Section], chosen: dict[tuple[bool, int], Var], billet: BilletVars
    ) -> tuple[StickVars, Var]:
        shop, width, whole = self.shop, down(offcut.width), down(offcut.length)
        types = {section: self._bool() for section in sections}
        for section, literal in types.items():
            self.model.add_implication(literal, chosen[section.rip_first, section.first])
        present = sum_literal(self.model, types)
        size = self._int(0, width)
        self.model.add(size == sum(up(section.second) * x for section, x in types.items()))
        stick = StickVars(types, self._int(0, width), size)
        kinds = sorted({kind for section in sections for kind in section.kinds})
        takes = {kind: up(self.job.blanks[kind].length + shop.length_allowance) for kind in kinds}
        kerf = up(shop.crosscut_kerf)
        most = (whole - 2 * up(shop.end_trim) + kerf) // (min(takes.values()) + kerf)
        before: tuple[Var, Var] | None = None
        ends = []
        for _ in range(min(MOST["blanks"], max(1, most))):
            own, start, here = self._blank(types, takes, billet, whole)
            if before is None:
                self.model.add(here == present)
            else:
                self.model.add_implication(here, before[0])
                self._if(start >= before[1] + kerf, here)
            before = here, start + sum(takes[kind] * literal for kind, literal in own.items())
            ends.append(before)
            stick.blanks.append((own, start, self._bool()))
        stick.remainder = self._remainder(types, ends, billet, whole, width)
        return stick, present

    def _blank(
        self, types: dict[Section, Var], takes: dict[int, int], billet: BilletVars, whole: int
    ) -> tuple[dict[int, Var], Var, Var]:
        """Add a place for a blank on a stick: its kinds, where it starts, whether there is one."""
        self.slots += len(takes)
        if self.slots > MOST_SLOTS:
            raise TooLargeError
        own = {kind: self._bool() for kind in takes}
        here, start = sum_literal(self.model, own), self._int(0, whole)
        for kind, literal in own.items():
            self.made[kind].append(literal)
            lies = [x for section, x in types.items() if kind in section.kinds]
            self.model.add_bool_or([*lies, literal.negated()])
        end = start + sum(takes[kind] * literal for kind, literal in own.items())
        trim, snipe = up(self.shop.end_trim), up(self.shop.snipe)
        self._if(start >= billet.start + snipe, here)
        self._if(start >= trim, here)
        self._if(end <= billet.end - snipe, here)
        self._if(end <= whole - trim, here)
        return own, start, here

    def _remainder(
        self,
        types: dict[Section, Var],
        ends: list[tuple[Var, Var]],
        billet: BilletVars,
        whole: int,
        width: int,
    ) -> Var:
        """Add the keeper at the end of a stick; return its length."""
        shop, kept, length = self.shop, self._bool(), self._int(0, whole)
        small, large = sorted((shop.keeper_width, shop.keeper_thickness))
        stout = [x for s, x in types.items() if min(s.planed) >= small and max(s.planed) >= large]
        self.model.add_bool_or([*stout, kept.negated()])
        self._if(length >= up(shop.keeper_length), kept)
        self._if(length == 0, kept.negated())
        for present, end in ends:
            self._if(length <= billet.end - end - up(shop.crosscut_kerf), kept, present)
        section = self._int(0, width * width)
        self.model.add(section == sum(down(s.planed[0]) * down(s.planed[1]) * x for s, x in types.items()))
        most = 16 * width * width * max(1, up(shop.full_length))
        self._keeper(self._product(section, self._grown(length, whole), most), most)
        return length

    def _defects(
        self, offcut: Offcut, billet: BilletVars, strip: StripVars, stick: StickVars, losses: tuple[Var, Var]
    ) -> None:
        """Keep the blanks of a stick off the defects (R9)."""
        for defect in offcut.defects:
            free = self._free(defect, billet, strip, stick, losses)
            for own, start, at_a in stick.blanks:
                take = sum(up(self._take(kind)) * x for kind, x in own.items())
                clear = sum(up(self.job.blanks[kind].clear_end) * x for kind, x in own.items())
                ways = [self._bool() for _ in range(5)]
                left, right, allowed, near, far = ways
                self._if(start + take <= down(defect.x1), left)
                self._if(start >= up(defect.x2), right)
                suits = [kind for kind in own if self.job.blanks[kind].allows_kind(defect.kind)]
                self._if(
                    sum(own[kind] for kind in suits if not self.job.blanks[kind].clear_end) == 1, allowed
                )
                for way in (near, far):
                    self._if(sum(own[kind] for kind in suits) == 1, way)
                self._if(start + clear <= down(defect.x1), near)
                self._if(start + take - clear >= up(defect.x2), far)
                self.model.add_implication(near, at_a)
                self.model.add_implication(far, at_a.negated())
                here = sum_literal(self.model, own)
                self.model.add_bool_or([*ways, free, here.negated()])

    def _take(self, kind: int) -> int:
        return self.job.blanks[kind].length + self.shop.length_allowance

    def _free(
        self,
        defect: Defect,
        billet: BilletVars,
        strip: StripVars,
        stick: StickVars,
        losses: tuple[Var, Var],
    ) -> Var:
        """Return whether a stick lies clear of a defect across the billet."""
        free, shop, ways = self._bool(), self.shop, []
        axes = [(True, down(defect.y1) - losses[0], up(defect.y2 - shop.edge_skim))]
        if not defect.through:
            axes.append((False, down(defect.z1) - losses[1], up(defect.z2 - shop.face_skim)))
        for across_y, low, high in axes:
            before, after = self._bool(), self._bool()
            ways += [before, after]
            for literal, piece in (
                (billet.rip_first if across_y else billet.rip_first.negated(), strip),
                (billet.rip_first.negated() if across_y else billet.rip_first, stick),
            ):
                self._if(piece.place + piece.size <= low, before, literal)
                self._if(piece.place >= high, after, literal)
        self.model.add_bool_or([*ways, free.negated()])
        return free

    # The search, and what came of it as a plan

    def solve(self, seconds: float, workers: int = 2) -> tuple[list[Point], Plan | None]:
        """Search for so long; return how the best grew, and the last as a plan (None where there is none)."""
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = workers
        solver.parameters.random_seed = 1
        watch = _Watch(self, time.perf_counter())
        status = solver.solve(self.model, watch)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return [], None
        found = self._plan(solver.value)
        missing, net = found.missing_total, found.proof.net_worth
        if watch.points:  # the last is given as the plan has it: worth is rounded by the model
            watch.points[-1] = Point(watch.points[-1].seconds, missing, net)
        return watch.points, found

    def _plan(self, value: Callable[[Var], int]) -> Plan:
        job = self.job
        cuttings = [cutting_of(piece, job, value) for piece in self.pieces if value(piece.billets[0].there)]
        drawn = tuple(cutting for cutting, _ in cuttings)
        net = sum(cost for _, cost in cuttings)
        missing: dict[int, int] = {}
        for blank, left in zip(job.blanks, self.missing, strict=True):
            missing[blank.priority] = missing.get(blank.priority, 0) + value(left)
        sawn = crosscuts_of(job, drawn)
        answer = Answer(tuple(sorted(missing.items())), net, 0, len(drawn), sawn, drawn)
        return witness(job, answer)


def sum_literal(model: cp_model.CpModel, choices: dict[Any, Var]) -> Var:
    """Return whether any of some choices, of which at most one holds, does."""
    some = model.new_bool_var("")
    model.add(sum(choices.values()) == some)
    return some


class _Watch(cp_model.CpSolverSolutionCallback):
    """Notes when the search has found something better."""

    def __init__(self, monolith: Monolith, start: float) -> None:
        super().__init__()
        self.monolith, self.start, self.points = monolith, start, list[Point]()

    def on_solution_callback(self) -> None:
        """Note blanks missing and net worth."""
        left = [int(self.value(m)) for m in self.monolith.missing]
        penalty = sum(d * m for d, m in zip(self.monolith.dear, left, strict=True))
        net = round(self.objective_value) - penalty
        self.points.append(Point(time.perf_counter() - self.start, sum(left), net))
