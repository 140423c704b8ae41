"""A sawing simulator: it reads a written cutting order and does to solid boards what each line says.

It knows the shop's machines and the pile, but neither the plan nor the order's data. A line that the piece in hand
cannot take is refused (:class:`RefusedError`). Every figure is exact.
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
    where: str = ""
    start: str = ""
    size: str
    times: int = 1
    gives: tuple[str, ...] = ()
    rest: str = ""
    blank: str = ""
    note: str = ""


@dataclass(kw_only=True)
class Wood:
    """A piece: its board, its place in it on three axes, how its sides were made, what has been planed.

    Across y and z its place is in the box of its billet once it is jointed. Sides are ``rough``, ``jointed``, ``sawn``,
    ``bandsawn``, or ``fresh`` where they were sawn and jointed.
    """

    root: str
    spans: dict[str, tuple[int, int]]
    near: dict[str, str] = field(default_factory=lambda: {"y": "rough", "z": "rough"})
    far: dict[str, str] = field(default_factory=lambda: {"y": "rough", "z": "rough"})
    planed: tuple[str, ...] = ()
    squared: bool = False
    blank: str = ""

    def size(self, axis: str) -> int:
        """Return how much the piece measures along an axis."""
        return self.spans[axis][1] - self.spans[axis][0]

    def part(self, axis: str, low: int, high: int) -> Wood:
        """Return a part of the piece."""
        return replace(
            self, spans={**self.spans, axis: (low, high)}, near=dict(self.near), far=dict(self.far)
        )


STAGES = (
    "Rough crosscuts",
    "Rough splits",
    "Face jointing",
    "Edge jointing",
    "First saw cuts",
    "Second saw cuts",
    "Planing on edge",
    "Planing flat",
    "Final crosscuts: square end A",
    "Final crosscuts: to the stop",
)
JOINT_OFF = "no fence: joint so much off "


class Sawmill:
    """Does instruction after instruction; ``blanks`` are those that came off, ``pile`` all else, by name."""

    def __init__(self, job: Job) -> None:
        self.shop: Shop = job.shop
        self.pile: dict[str, Wood] = {}
        self.blanks: list[Wood] = []
        self.marked: dict[str, list[tuple[int, int, str]]] = {}
        for offcut in job.offcuts:
            spans = {"x": (0, offcut.length), "y": (0, offcut.width), "z": (0, offcut.thickness)}
            for copy in range(1, offcut.qty + 1):
                root = offcut.name if offcut.qty == 1 else f"{offcut.name}#{copy}"
                self.pile[root] = Wood(root=root, spans=spans)

    def run(self, order: Iterable[Instruction]) -> list[Wood]:
        """Return what lies on the bench at the end: blanks, and what goes back on the rack; nothing is planed twice."""
        instructions = list(order)
        self._check_settings(instructions)
        touched, stage = set(), ""
        for line in instructions:
            if line.work != stage:
                if stage and STAGES.index(line.work) < STAGES.index(stage):
                    raise RefusedError(f"{line.work} after {stage}")
                self._crosscut_marked()
                stage = line.work
            touched.add(self._take(line).root)
            self._do(line)
        self._crosscut_marked()
        return [*self.blanks, *(wood for wood in self.pile.values() if wood.root in touched)]

    def _check_settings(self, lines: Sequence[Instruction]) -> None:
        """Refuse an order that sets a machine to the same figure twice in one stage, unless it says so."""
        seen: list[tuple[str, str, str]] = []
        for line in lines:
            key = (line.work, line.machine, line.setting)
            if not seen or seen[-1] != key:
                if key in seen and not line.setting.endswith(("once more", "alone", "off")):
                    raise RefusedError(f"{key} is set twice")
                seen.append(key)

    def _take(self, line: Instruction) -> Wood:
        if line.piece not in self.pile:
            raise RefusedError(f"{line.work}: there is no {line.piece}")
        return self.pile[line.piece]

    def _figure(self, text: str) -> int:
        return read(text, self.shop.units, Rounding.STOCK)

    def _put(self, name: str, wood: Wood) -> None:
        if name in self.pile:
            raise RefusedError(f"there are two pieces named {name}")
        self.pile[name] = wood

    def _do(self, line: Instruction) -> None:
        if line.work == "Rough crosscuts":
            self._mark(line)
        elif line.work == "Rough splits":
            self._split(line)
        elif line.work in ("Face jointing", "Edge jointing"):
            self._joint(line)
        elif line.work.endswith("saw cuts"):
            self._saw(line)
        elif line.work.startswith("Planing"):
            self._plane(line)
        elif line.work.endswith("square end A"):
            self._square(line)
        else:
            self._to_length(line)

    def _mark(self, line: Instruction) -> None:
        """Mark a length; all lines of a board are marked before its first cut."""
        wood = self._take(line)
        low, high = self._figure(line.start), self._figure(line.size)
        if not 0 <= low < high <= wood.size("x"):
            raise RefusedError(f"{line.piece}, {wood.size('x')} long, is to be cut from {low} to {high}")
        if len(line.gives) != 1:
            raise RefusedError(f"{line.piece}: a length gives {line.gives}")
        others = self.marked.setdefault(line.piece, [])
        kerf = self.shop.crosscut_kerf
        if any(low < end + kerf and begin < high + kerf for begin, end, _ in others):
            raise RefusedError(f"{line.piece}: {low} to {high} leaves no kerf to its neighbour")
        others.append((low, high, line.gives[0]))

    def _crosscut_marked(self) -> None:
        for name, lengths in self.marked.items():
            wood = self.pile.pop(name)
            for low, high, gives in lengths:
                self._put(gives, wood.part("x", low, high))
        self.marked = {}

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
        halves = [(low, low + at), (low + at + self.shop.bandsaw_kerf, high)]
        if not line.gives or line.rest != ("waste" if len(line.gives) == 1 else ""):
            raise RefusedError(f"{line.piece} gives {line.gives} and {line.rest}")
        if len(line.gives) == 1:
            halves = [halves["far half" in line.note]]
        del self.pile[line.piece]
        for name, (begin, end) in zip(line.gives, halves, strict=True):
            if end - begin < self.shop.narrowest_rip:
                raise RefusedError(f"{name} is only {end - begin} wide")
            self._put(name, wood.part("y", begin, end))

    def _long_enough(self, line: Instruction, wood: Wood) -> None:
        if wood.size("x") < self.shop.shortest_machined_length:
            raise RefusedError(f"{line.piece} is too short for the {line.machine}")

    def _joint(self, line: Instruction) -> None:
        """Make a side true: the piece then measures what the line says and what it can spare."""
        wood = self._take(line)
        axis = "z" if line.work == "Face jointing" else "y"
        if axis == "y" and wood.near["z"] != "jointed":
            raise RefusedError(f"{line.piece} has its edge jointed before its face")
        if wood.size("y") > self.shop.jointer_width:
            raise RefusedError(f"{line.piece} is too wide for the jointer")
        self._long_enough(line, wood)
        left = self._figure(line.size) + self._figure(line.start)
        if left > wood.size(axis):
            raise RefusedError(f"{line.piece} cannot be {left} after jointing")
        wood.spans = {**wood.spans, axis: (0, left)}
        wood.near[axis] = "jointed"

    def _saw(self, line: Instruction) -> None:
        """Pass a piece along the fence as often as the line says, the side that is named on it."""
        wood = self._take(line)
        self._long_enough(line, wood)
        if wood.near["y"] == "rough" or wood.near["z"] == "rough":
            raise RefusedError(f"{line.piece} is sawn before it is jointed")
        del self.pile[line.piece]
        off = line.where.startswith(JOINT_OFF)
        sides = line.where.removeprefix(JOINT_OFF).split(", then ")
        axis = "y" if "edge" in sides[0] else "z"
        if off:
            self._true_side(line, wood, axis, sides[0])
            low, high = wood.spans[axis]
            self._put(line.rest, wood.part(axis, low + self._figure(line.size), high))
            self.pile[line.rest].near[axis] = "fresh" if "fresh" in sides[0] else "jointed"
            return
        self._check_saw(line, wood, axis)
        blade = self.shop.rip_kerf if line.machine == "table saw" else self.shop.bandsaw_kerf
        size = self._figure(line.size)
        if line.times != len(line.gives):
            raise RefusedError(f"{line.piece}: {line.times} passes give {line.gives}")
        for place, name in enumerate(line.gives):
            self._true_side(line, wood, axis, sides[min(place, len(sides) - 1)])
            low, high = wood.spans[axis]
            if low + size > high:
                raise RefusedError(f"{line.piece}, {high - low}, is too small for the fence at {size}")
            if name != "waste":
                part = wood.part(axis, low, low + size)
                part.far[axis] = "sawn"
                self._put(name, part)
            if place == len(line.gives) - 1 and line.rest == "waste":
                return
            if low + size + blade >= high:
                raise RefusedError(f"{line.piece}: nothing is left over beyond the blade")
            wood = wood.part(axis, low + size + blade, high)
            wood.near[axis] = "sawn" if line.machine == "table saw" else "bandsawn"
        self._put(line.rest, wood)

    def _check_saw(self, line: Instruction, wood: Wood, axis: str) -> None:
        height = wood.size("z" if axis == "y" else "y")
        limit = self.shop.saw_depth if line.machine == "table saw" else self.shop.bandsaw_height
        if axis == "z":
            limit = min(limit, self.shop.resaw_height)
        if height > limit:
            raise RefusedError(f"{line.piece} is too high for the {line.machine}")
        if line.setting.split(" at ")[1].split(" for ")[0].split(" once")[0].rstrip(' "m') != line.size:
            raise RefusedError(f"{line.setting}, but {line.size} in the list")

    def _true_side(self, line: Instruction, wood: Wood, axis: str, side: str) -> None:
        """Refuse a side on the fence that is not what it is said to be; after the bandsaw it is jointed first."""
        if wood.near[axis] == "bandsawn":
            low, high = wood.spans[axis]
            wood.spans = {**wood.spans, axis: (low + self.shop.bandsaw_skim, high)}
            wood.near[axis] = "fresh"
        allowed = {"edge 1": ("jointed",), "face 1": ("jointed",), "jointed": ("jointed", "fresh")}
        if wood.near[axis] not in allowed.get(side, ("sawn", "fresh")):
            raise RefusedError(f"{line.piece}: {side} is {wood.near[axis]}")

    def _plane(self, line: Instruction) -> None:
        """Bring a stick to a finished size, from the side opposite the table or from both."""
        wood = self._take(line)
        self._long_enough(line, wood)
        axis = "y" if "edge" in line.where else "z"
        work = "on edge" if line.work == "Planing on edge" else "flat"
        if wood.planed != (() if work == "on edge" else ("on edge",)):
            raise RefusedError(f"{line.piece} is planed {work} after {wood.planed}")
        both = line.where.startswith("either")
        if not both:
            self._true_side(line, wood, axis, line.where.split(" ")[0])
        elif (wood.near[axis], wood.far[axis]) != ("sawn", "sawn"):
            raise RefusedError(f"{line.piece} has not two sawn sides")
        size, (low, high) = self._figure(line.size), wood.spans[axis]
        if self._figure(line.start) != high - low or size > high - low:
            raise RefusedError(f"{line.piece} is {high - low}, not {line.start}, to become {size}")
        wood.spans = {**wood.spans, axis: (low, low + size)}
        wood.planed = (*wood.planed, work)

    def _square(self, line: Instruction) -> None:
        wood = self._take(line)
        if wood.planed != ("on edge", "flat"):
            raise RefusedError(f"{line.piece} is crosscut before it is planed")
        self._cut_off(line, wood)
        wood.squared = True

    def _cut_off(self, line: Instruction, wood: Wood) -> None:
        """Take off what lies before a mark, blade included; it is kept if it has a name."""
        (low, high), at = wood.spans["x"], self._figure(line.size)
        if low + at >= high:
            raise RefusedError(f"{line.piece} ends before {line.size}")
        for name in line.gives:
            if name != "waste":
                self._put(name, wood.part("x", low, low + at - self.shop.crosscut_kerf))
        wood.spans = {**wood.spans, "x": (low + at, high)}

    def _to_length(self, line: Instruction) -> None:
        wood, kerf = self._take(line), self.shop.crosscut_kerf
        if not wood.squared:
            raise RefusedError(f"{line.piece} is cut to the stop before it is squared")
        if line.where.startswith("mark"):
            self._cut_off(line, wood)
            return
        size = self._figure(line.size)
        if line.setting.split(" at ")[1].split(" once")[0].rstrip(' "m') != line.size or not line.blank:
            raise RefusedError(f"{line.setting}, but {line.size} in the list, for {line.blank}")
        for _ in range(line.times):
            low, high = wood.spans["x"]
            if low + size > high:
                raise RefusedError(f"{line.piece}, {high - low} long, cannot be cut to {size}")
            blank = wood.part("x", low, low + size)
            blank.blank = line.blank
            self.blanks.append(blank)
            wood.spans = {**wood.spans, "x": (min(low + size + kerf, high), high)}
        if line.rest != line.piece:
            del self.pile[line.piece]
            if line.rest != "waste":
                self._put(line.rest, wood)


_PLACES = {
    "where": (
        "On the fence, or line from", "From where", "On the fence", "On the table", "Joint", "Measured from",
        "On the stop",
    ),
    "start": ("From", "To spare"),
    "size": (
        "Fence, or line", "Line at", "To, or stop", "To", "At least", "At least thick", "At least wide", "Fence",
        "To width", "To thickness", "Cut at", "Stop",
    ),
    "piece": ("Piece", "Stick"),
    "times": ("How many", "Passes"),
    "gives": ("Gives",),
    "rest": ("Left over",),
    "blank": ("Blank",),
    "note": ("Note",),
}  # fmt: skip


def _instruction(cells: dict[str, str], **given: object) -> Instruction:
    found = {
        name: next((cells[head] for head in heads if head in cells), "") for name, heads in _PLACES.items()
    }
    gives = tuple(name for name in found.pop("gives").split(", ") if name)
    return Instruction(**found | {"gives": gives, "times": int(found["times"] or 1)} | given)  # type: ignore[arg-type]


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
            work, machine = stages[match[1]], match[2].lower()
        elif match := re.fullmatch(r"--- (.+) ---", line):
            setting, step = match[1], step + 1
        elif re.fullmatch(r"-+(  ?-+)+", line):
            spans = [(m.start(), m.end()) for m in re.finditer("-+", line)]
            heads = [before[a:b].strip() for a, b in spans]
        elif line.startswith("KEEPERS"):
            return lines
        elif line.startswith("[ ]"):
            cells = {head: line[a:b].strip() for head, (a, b) in zip(heads, spans, strict=True)}
            lines.append(_instruction(cells, step=step, work=work, machine=machine, setting=setting))
        before = line
    return lines
