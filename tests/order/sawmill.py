"""A sawing simulator: it reads a written cutting order and does to solid offcuts what each line says.

It knows the shop's machines and the pile, but neither the plan nor the order's data. A line that the piece
in hand cannot take is refused (:class:`RefusedError`). Figures on paper are rounded to the marks of a rule,
so a cut may miss the plan's place by a mark or so a cut; what every finished blank must measure is exact.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import openpyxl

from yieldplan.measure import Rounding, read

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from io import BytesIO

    from yieldplan.model import Job, Shop


class RefusedError(AssertionError):
    """A line of the order cannot be done with the piece at hand."""


@dataclass(frozen=True, kw_only=True)
class Instruction:
    """One line as read: words and figures, nothing computed."""

    step: int
    work: str
    machine: str
    setting: str
    piece: str
    where: str
    start: str = ""
    size: str
    times: int
    gives: tuple[str, ...] = ()
    rest: str = ""
    what: str = ""


@dataclass(kw_only=True)
class Wood:
    """A piece: its offcut, its place in it on three axes, which sides are true, what has been planed."""

    root: str
    spans: dict[str, tuple[int, int]]
    near: dict[str, str] = field(default_factory=lambda: {"y": "rough", "z": "rough"})
    far: dict[str, str] = field(default_factory=lambda: {"y": "rough", "z": "rough"})
    planed: tuple[str, ...] = ()
    blank: str = ""
    finished: bool = False

    def size(self, axis: str) -> int:
        """Return how much the piece measures along an axis."""
        return self.spans[axis][1] - self.spans[axis][0]

    def part(self, axis: str, low: int, high: int) -> Wood:
        """Return a part of the piece."""
        return replace(
            self,
            spans={**self.spans, axis: (low, high)},
            near=dict(self.near),
            far=dict(self.far),
        )


STAGES = (
    "Rough crosscuts",
    "Rough splits",
    "Face jointing",
    "Edge jointing",
    "Resaws of whole billets",
    "Rips",
    "Resaws of strips",
    "Planing on edge",
    "Planing flat",
    "Final crosscuts: part the sticks",
    "Final crosscuts: to length",
)


class Sawmill:
    """Does instruction after instruction."""

    def __init__(self, job: Job) -> None:
        self.shop: Shop = job.shop
        self.mark = job.shop.shown_steps
        self.pile: dict[str, Wood] = {}
        self.spent: dict[str, list[tuple[int, int]]] = {}
        for offcut in job.offcuts:
            spans = {"x": (0, offcut.length), "y": (0, offcut.width), "z": (0, offcut.thickness)}
            for copy in range(1, offcut.qty + 1):
                root = offcut.name if offcut.qty == 1 else f"{offcut.name}#{copy}"
                self.pile[root] = Wood(root=root, spans=spans)

    def run(self, order: Iterable[Instruction]) -> dict[str, Wood]:
        """Return what lies on the bench at the end, by name; the offcuts never touched are not among it."""
        instructions = list(order)
        self._check_settings(instructions)
        touched = set()
        stage = ""
        for line in instructions:
            if line.work != stage:
                if stage and STAGES.index(line.work) < STAGES.index(stage):
                    raise RefusedError(f"{line.work} after {stage}")
                stage = line.work
                self._clear()
            touched.add(self._take(line).root)
            self._do(line)
        self._clear()
        return {name: wood for name, wood in self.pile.items() if wood.root in touched}

    def _check_settings(self, lines: Sequence[Instruction]) -> None:
        """Refuse an order that sets a machine to the same figure twice in one stage."""
        seen: list[tuple[str, str, str]] = []
        for line in lines:
            key = (line.work, line.machine, line.setting)
            if not seen or seen[-1] != key:
                if key in seen:
                    raise RefusedError(f"{key} is set twice")
                seen.append(key)

    def _clear(self) -> None:
        """Take away what is left of pieces that were crosscut from marks."""
        for name in self.spent:
            del self.pile[name]
        self.spent = {}

    def _take(self, line: Instruction) -> Wood:
        if line.piece not in self.pile:
            raise RefusedError(f"{line.work}: there is no {line.piece}")
        return self.pile[line.piece]

    def _name(self, root: str, mark: str, sign: str = "-") -> str:
        return f"{root}{sign}{mark}"

    def _figure(self, text: str) -> int:
        return read(text, self.shop.units, Rounding.STOCK)

    def _do(self, line: Instruction) -> None:
        if line.work in ("Rough crosscuts", "Final crosscuts: part the sticks"):
            self._crosscut(line)
        elif line.work == "Rough splits":
            self._split(line)
        elif line.work in ("Face jointing", "Edge jointing"):
            self._joint(line)
        elif line.work.startswith(("Rips", "Resaws")):
            self._saw(line)
        elif line.work.startswith("Planing"):
            self._plane(line)
        else:
            self._to_length(line)

    def _crosscut(self, line: Instruction) -> None:
        """Cut out what lies between two marks; all marks of a piece are made before its first cut."""
        wood = self._take(line)
        final = line.work.startswith("Final")
        if final and wood.planed != ("on edge", "flat"):
            raise RefusedError(f"{line.piece} is crosscut before it is planed")
        low, high = self._figure(line.start), self._figure(line.size)
        if not 0 <= low < high <= wood.size("x") + self.mark:
            raise RefusedError(f"{line.piece}, {wood.size('x')} long, is to be cut from {low} to {high}")
        others = self.spent.setdefault(line.piece, [])
        kerf = self.shop.crosscut_kerf - 2 * self.mark
        if any(low < end + kerf and begin < high + kerf for begin, end in others):
            raise RefusedError(f"{line.piece}: {low} to {high} leaves no kerf to its neighbour")
        others.append((low, high))
        begin = wood.spans["x"][0]
        (mark,) = line.gives
        part = wood.part("x", begin + low, min(begin + high, wood.spans["x"][1]))
        part.blank = "" if line.what == "the rack" else line.what
        self._put(self._name(wood.root, mark), part)

    def _put(self, name: str, wood: Wood) -> None:
        if name in self.pile:
            raise RefusedError(f"there are two pieces named {name}")
        self.pile[name] = wood

    def _split(self, line: Instruction) -> None:
        """Saw a rough piece along a line drawn so far from edge 1; the near half keeps the line."""
        wood = self._take(line)
        if line.machine != "bandsaw":
            raise RefusedError(f"{line.piece} is split rough at the {line.machine}")
        if wood.size("z") > self.shop.bandsaw_height or "jointed" in (wood.near["y"], wood.near["z"]):
            raise RefusedError(f"{line.piece} cannot be split rough")
        if not line.where.startswith("edge 1") or "line" not in line.setting:
            raise RefusedError(f"{line.piece}: {line.where}, {line.setting}: where is the line?")
        at, (low, high) = self._figure(line.size), wood.spans["y"]
        places = {"n": (low, low + at), "f": (low + at + self.shop.bandsaw_kerf, high)}
        if not line.gives or (len(line.gives) < 2) != (line.rest == "waste"):
            raise RefusedError(f"{line.piece} gives {line.gives} and {line.rest}")
        del self.pile[line.piece]
        for mark in line.gives:
            begin, end = places.pop(mark[1])
            if end - begin < self.shop.narrowest_rip:
                raise RefusedError(f"{mark} is only {end - begin} wide")
            self._put(self._name(wood.root, mark), wood.part("y", begin, end))

    def _joint(self, line: Instruction) -> None:
        """Make a side true: the piece then measures what the line says and what it can spare."""
        wood = self._take(line)
        axis = "z" if line.work == "Face jointing" else "y"
        if axis == "y" and wood.near["z"] != "jointed":
            raise RefusedError(f"{line.piece} has its edge jointed before its face")
        if wood.size("y") > self.shop.jointer_width:
            raise RefusedError(f"{line.piece} is too wide for the jointer")
        if wood.size("x") < self.shop.shortest_machined_length - 2 * self.mark:
            raise RefusedError(f"{line.piece} is too short for the jointer")
        left = self._figure(line.size) + self._figure(line.start)
        if left > wood.size(axis) + self.mark:
            raise RefusedError(f"{line.piece} cannot be {left} after jointing")
        wood.spans = {**wood.spans, axis: (0, left)}
        wood.near[axis] = "jointed"

    def _saw(self, line: Instruction) -> None:
        """Pass a piece along the fence as often as the line says."""
        wood = self._take(line)
        axis, other = ("y", "z") if line.work == "Rips" else ("z", "y")
        limit = self.shop.saw_depth if line.machine == "table saw" else self.shop.bandsaw_height
        if wood.size(other) > limit + self.mark:
            raise RefusedError(f"{line.piece} is too high for the {line.machine}")
        if wood.near["y"] != "jointed" and wood.near["y"] != "sawn":
            raise RefusedError(f"{line.piece} is sawn before it is jointed")
        turned = line.where.startswith(("far edge", "face 2"))
        self._check_fence(line, wood, axis, turned)
        kerf = self.shop.rip_kerf if line.machine == "table saw" else self.shop.bandsaw_kerf
        setting = self._figure(line.size)
        if line.times != len(line.gives):
            raise RefusedError(f"{line.piece}: {line.times} passes give {line.gives}")
        del self.pile[line.piece]
        for place, mark in enumerate(line.gives):
            if wood.size(axis) < setting - self.mark // 2:
                raise RefusedError(
                    f"{line.piece}, {wood.size(axis)}, is too small for the fence at {setting}"
                )
            low, high = wood.spans[axis]
            kept = min(setting, high - low)
            part = wood.part(axis, high - kept, high) if turned else wood.part(axis, low, low + kept)
            (part.near if turned else part.far)[axis] = "sawn"
            self._put(self._name(wood.root, mark), part)
            last = place == len(line.gives) - 1
            if last and line.rest == "waste":
                return
            if turned or low + kept + kerf >= high:
                raise RefusedError(f"{line.piece}: nothing is left over beyond the blade")
            wood = wood.part(axis, low + kept + kerf, high)
            wood.near[axis] = "sawn"
        self._put(self._name(wood.root, line.rest), wood)

    def _check_fence(self, line: Instruction, wood: Wood, axis: str, turned: bool) -> None:
        side = (wood.far if turned else wood.near)[axis]
        wanted = "jointed" if "(jointed)" in line.where else "sawn"
        if side != wanted:
            raise RefusedError(f"{line.piece}: {line.where} is {side}")
        if ("edge" in line.where) != (axis == "y"):
            raise RefusedError(f"{line.piece}: {line.where} on the fence for {line.work}")
        if line.setting.split(" at ")[1].rstrip(' "m') != line.size:
            raise RefusedError(f"{line.setting}, but {line.size} in the list")

    def _plane(self, line: Instruction) -> None:
        """Bring a stick to a finished size, from the side opposite the table or from both."""
        wood = self._take(line)
        axis = "y" if "edge" in line.where.replace("on edge", "") else "z"
        work = "on edge" if line.work == "Planing on edge" else "flat"
        if wood.planed != (() if work == "on edge" else ("on edge",)):
            raise RefusedError(f"{line.piece} is planed {work} after {wood.planed}")
        size, low, high = self._figure(line.size), *wood.spans[axis]
        if size > high - low:
            raise RefusedError(f"{line.piece}, {high - low}, cannot be planed to {size}")
        if abs(self._figure(line.start) - (high - low)) > 2 * self.mark:
            raise RefusedError(f"{line.piece} is {high - low}, not {line.start}")
        sliver = "off face 1" in line.where
        if sliver and line.where.startswith("sawn") and wood.far[axis] != "sawn":
            raise RefusedError(f"{line.piece}: {line.where}, but that side is {wood.far[axis]}")
        if not sliver and line.where.startswith("jointed") != (wood.near[axis] == "jointed"):
            raise RefusedError(f"{line.piece}: {line.where}, but that side is {wood.near[axis]}")
        if line.where.startswith("either") and "rough" in (wood.near[axis], wood.far[axis]):
            raise RefusedError(f"{line.piece} has a rough side: it must not lie down first")
        first = low + (high - low - size) // 2 if line.where.startswith("either") else low
        if match := re.search(r", ([^,]+) or more off face 1", line.where):
            first = low + self._figure(match[1])
            if first + size > high:
                raise RefusedError(f"{line.piece}, {high - low}, cannot lose {match[1]} first")
        wood.spans = {**wood.spans, axis: (first, first + size)}
        wood.planed = (*wood.planed, work)

    def _to_length(self, line: Instruction) -> None:
        wood = self._take(line)
        size, (low, high) = self._figure(line.size), wood.spans["x"]
        if size > high - low:
            raise RefusedError(f"{line.piece}, {high - low} long, cannot be cut to {size}")
        if line.what != wood.blank:
            raise RefusedError(f"{line.piece} was meant for {wood.blank}, not {line.what}")
        if wood.finished:
            raise RefusedError(f"{line.piece} is brought to length twice")
        wood.spans = {
            **wood.spans,
            "x": (high - size, high) if line.where.startswith("end B") else (low, low + size),
        }
        wood.finished = True


_PLACES = {
    "where": (
        "On the fence, or line from", "From where", "On the fence", "On the table", "Joint", "Measured from",
        "On the stop",
    ),
    "start": ("From", "To spare"),
    "size": (
        "Fence, or line", "Line at", "To", "At least",
        "At least thick", "At least wide", "Fence", "To width", "To thickness", "To length",
    ),
    "piece": ("Piece", "Stick"),
    "times": ("How many", "Passes"),
    "gives": ("Gives",),
    "rest": ("Left over",),
    "what": ("For", "Blank"),
}  # fmt: skip


def _instruction(cells: dict[str, str], **given: object) -> Instruction:
    found = {
        name: next((cells[head] for head in heads if head in cells), "") for name, heads in _PLACES.items()
    }
    gives = tuple(mark for mark in found.pop("gives").split(", ") if mark)
    return Instruction(**found | {"gives": gives, "times": int(found["times"])} | given)  # type: ignore[arg-type]


def from_xlsx(file: BytesIO) -> list[Instruction]:
    """Return the instructions of a workbook, in the order of its column Step."""
    book = openpyxl.load_workbook(file)
    lines = []
    for sheet in book.worksheets:
        rows = [[str(cell.value) if cell.value is not None else "" for cell in row] for row in sheet.rows]
        top = next((i for i, row in enumerate(rows) if row[:3] == ["Done", "Step", "Work"]), None)
        if top is None:
            continue
        for row in rows[top + 1 :]:
            cells = dict(zip(rows[top], row, strict=True))
            given = {"step": int(cells["Step"]), "work": cells["Work"], "setting": cells["Setting"]}
            lines.append(_instruction(cells, machine=sheet.title.lower(), **given))
    return sorted(lines, key=lambda line: line.step)


def from_text(text: str) -> list[Instruction]:
    """Return the instructions of the text, which must be wide enough for no cell to be broken."""
    lines: list[Instruction] = []
    stages = {stage.upper(): stage for stage in STAGES}
    work = machine = setting = ""
    spans: list[tuple[int, int]] = []
    heads: list[str] = []
    step, before = 0, ""
    for line in text.splitlines():
        if match := re.fullmatch(r"\d+\. (.+) \((.+)\)", line):
            work, machine = stages[match[1]], match[2]
        elif match := re.fullmatch(r"--- (.+) ---", line):
            setting, step = match[1], step + 1
        elif re.fullmatch(r"-+(  -+)+", line):
            spans = [(m.start(), m.end()) for m in re.finditer("-+", line)]
            heads = [before[a:b].strip() for a, b in spans]
        elif line == "BLANKS":
            return lines
        elif line.startswith("[ ]"):
            cells = {head: line[a:b].strip() for head, (a, b) in zip(heads, spans, strict=True)}
            lines.append(_instruction(cells, step=step, work=work, machine=machine, setting=setting))
        before = line
    return lines
