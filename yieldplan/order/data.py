"""The cutting order as data: what is done with each board, and what is done at each machine.

Every length is in steps, a whole number of marks, and one that the plan has: nothing is rounded. Text, pages and
workbook are renderings of this, side by side.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from yieldplan.model import Billet, Blank, Job, Offcut, OffcutPlan, Plan, Wood

Span = tuple[int, int]
"""From where to where, in steps."""


def meet(one: Span, other: Span) -> bool:
    """Return whether two spans have some length in common."""
    return one[0] < other[1] and other[0] < one[1]


WASTE = "\0"
"""Stands for the name of a leftover that is not kept; no piece can be called so."""


Mark = tuple[int, str]
"""The number of a pair within its kind, 0 for one that stands alone; and the board that gives the other one."""


class At(Enum):
    """The machines of the shop; the value is the machine's name."""

    CROSSCUT = "crosscut saw"
    BANDSAW = "bandsaw"
    JOINTER = "jointer"
    TABLE_SAW = "table saw"
    PLANER = "planer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """Rough crosscuts of a board ``long`` steps: name and place of what stays, ``cuts`` how many cuts that takes.

    ``metal``: there is metal in a billet, to be pulled before anything else.
    """

    board: str
    long: int
    billets: tuple[tuple[str, Span], ...]
    keepers: tuple[tuple[str, Span], ...]
    cuts: int
    metal: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """A rough billet parted along its length at the bandsaw, on a line ``line`` steps from edge 1 (an odd cut).

    ``near`` and ``far`` are the names of its halves, :data:`WASTE` where one has no use.
    """

    board: str
    piece: str
    line: int
    near: str
    far: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """Face 1 flat, edge 1 straight and square to it; what the piece must still measure, or a blank is lost.

    ``takes`` is what jointing takes as planned (off edge 1, off face 1), ``spare`` how much more may come off before a
    blank is lost. ``more`` is what has to come off edge 1 and face 1 beyond what makes them true: the first piece
    begins there, and no saw takes so little. Widths and thicknesses are those after that.
    """

    board: str
    piece: str
    wide: int
    thick: int
    takes: tuple[int, int]
    spare: tuple[int, int]
    more: tuple[int, int] = (0, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Saw:
    """Like passes, one after the other, over a saw with the fence at ``fence``, a rip or else a resaw.

    ``hand`` is taken in hand, ``side`` of it laid on the fence (from the second pass on the side just sawn), ``down``
    on the table: ``"edge 1 side"`` of a strip is that nearer to edge 1. Each pass has a name in ``gives``
    (:data:`WASTE` where an odd cut only clears wood), and ``rest`` is what is left then. ``height`` is how high the
    piece stands at the blade; ``jointed``: the fresh side of what is left is jointed at once, since it is still to be
    worked (bandsaw).

    ``stage`` is 1 for the first rows of billets, ``chain`` the row: cuts of one row are made in their own order.
    ``odd``: it clears wood before one piece, a setting of its own. ``off``: no saw takes so little, so ``fence`` is
    what the jointer takes off ``side``; ``passes`` is 0 then where it begins within a kerf of the row's start, as the
    model counts.
    """

    board: str
    machine: Literal["table saw", "bandsaw"]
    stage: Literal[1, 2]
    fence: int
    hand: str
    rip: bool
    side: str
    down: str
    passes: int
    gives: tuple[str, ...]
    rest: str
    height: int
    chain: int
    jointed: bool = False
    odd: bool = False
    off: bool = False

    @property
    def at(self) -> At:
        """Where it is done."""
        return At.JOINTER if self.off else At(self.machine)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """Like sticks of a board planed ``on_edge`` to their width, or else flat to their thickness: from what to what.

    The jointed side lies on the table; ``sawn`` names the sticks that have none: a sawn side down, then over. ``rest``:
    they are to lie and be sighted first (wet, or resawn to less than half); ``overnight``: for a night.
    """

    board: str
    sticks: tuple[str, ...]
    on_edge: bool
    before: int
    to: int
    sawn: tuple[str, ...] = ()
    rest: bool = False
    overnight: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Square:
    """End A of like sticks squared: the first blank begins there, ``cut`` steps from end A of the stick.

    ``kept`` names what comes off and is kept, one name a stick, or is empty.
    """

    board: str
    sticks: tuple[str, ...]
    cut: int
    kept: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Like blanks cut to the stop, ``each`` of every stick; ``spare`` of them all are spares.

    ``clear`` is the end at which a blank is clear (``"A"``, ``"B"``, ``""`` where it asks for none). Where a defect
    lies before the first of them, ``skip`` from the fresh end is cut off first, and kept under the names ``skipped``,
    one a stick, if any. ``rest`` names what is left of the sticks and kept. On a list ``first`` of all ``total`` blanks
    of the kind come before these. ``marks`` has one for each blank of a kind in pairs.
    """

    board: str
    sticks: tuple[str, ...]
    blank: str
    stop: int
    each: int
    clear: str = ""
    spare: int = 0
    skip: int = 0
    skipped: tuple[str, ...] = ()
    rest: tuple[str, ...] = ()
    first: int = 0
    total: int = 0
    marks: tuple[Mark, ...] = ()

    @property
    def count(self) -> int:
        """How many blanks."""
        return self.each * len(self.sticks)


Step = Ends | Split | Joint | Saw | Plane | Square | Stop


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One setting of a list, a heading, with its steps; ``size`` is None where nothing is set.

    ``part`` is the stage of the work that it belongs to, a heading above the settings. ``odd``: for odd cuts alone.
    ``again``: it was made before, and the pieces leave no other way.
    """

    part: str
    machine: At
    size: int | None
    steps: tuple[Step, ...]
    odd: bool = False
    again: bool = False

    @property
    def pieces(self) -> int:
        """How many pieces it is for: passes at a saw, sticks at the planer, blanks at the stop, else steps."""
        return sum(_pieces(step) for step in self.steps)


def _pieces(step: Step) -> int:
    if isinstance(step, Saw | Stop):
        return step.passes if isinstance(step, Saw) else step.count
    return len(step.sticks) if isinstance(step, Plane | Square) else 1


ListKind = Literal["ends", "saws", "planer", "stop"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineList:
    """What hangs at a machine: its settings in working order, boards in stack order within each."""

    kind: ListKind
    title: str
    settings: tuple[Setting, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """What one blank has to spare (steps), on the stick ``name``."""

    name: str
    blank: str
    thickness: int
    width: int
    length: int

    @property
    def tightest(self) -> tuple[int, ...]:
        """Sort key: the smallest margin first."""
        return (min(self.thickness, self.width, self.length), self.thickness, self.width, self.length)


@dataclass(frozen=True, slots=True, kw_only=True)
class Along:
    """On a drawing: a blank or a keeper along a stick, ``x`` from end A of the board."""

    name: str
    x: Span
    keeper: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """On a drawing: a stick, or a keeper beside sticks, across its billet's box from the jointed edge and face.

    ``pieces`` are cut from it, in their order from end A.
    """

    name: str
    keeper: bool
    y: Span
    z: Span
    turned: bool = False
    pieces: tuple[Along, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Milled:
    """On a card: a billet, or a half of a split one (``half`` is ``"near"`` or ``"far"``, ``""`` where it is whole).

    ``steps`` are those from the jointer on.
    """

    name: str
    half: str
    billet: Billet
    wood: Wood
    sections: tuple[Section, ...]
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One drawn piece of the pile, with its written name.

    ``ends`` and ``splits`` come before jointing. ``margins`` are what its blanks have to spare; ``stand_by`` is an
    untouched board that gives every kind of blank of this one, ``""`` if none does. ``notes`` are sentences on what to
    be careful with.
    """

    board: str
    offcut: Offcut
    drawn: OffcutPlan
    ends: Ends
    splits: tuple[Split, ...]
    milled: tuple[Milled, ...]
    margins: tuple[Margin, ...]
    stand_by: str = ""
    notes: tuple[str, ...] = ()

    @property
    def gives(self) -> Counter[str]:
        """How many of each blank it gives, in the order of the plan."""
        return Counter(cut.blank for cut in self.drawn.blanks)

    @property
    def steps(self) -> tuple[Step, ...]:
        """All steps, in the order in which they are done."""
        ends = (self.ends,) if self.ends.cuts or self.ends.metal else ()
        return (*ends, *self.splits, *(step for milled in self.milled for step in milled.steps))


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A keeper as it goes back on the rack: from which board, and what it is there.

    ``offcut`` is it as a row of the next pile, under a new name that is free there: sizes, rings and defects as they
    lie in it. ``jointed`` names its true sides.
    """

    board: str
    offcut: Offcut
    jointed: tuple[str, ...]

    @property
    def name(self) -> str:
        """Its new name."""
        return self.offcut.name

    @property
    def size(self) -> tuple[int, int, int]:
        """Length, width, thickness."""
        return self.offcut.length, self.offcut.width, self.offcut.thickness


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of blank on the set-up sheet: its counts, and which species it comes from.

    ``another``: keepers and untouched boards that could give a lost one, keepers first, those of least worth first.
    """

    blank: Blank
    made: int
    spare: int
    missing: int
    species: tuple[str, ...]
    another: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """The whole cutting order of a plan: a card a board in stack order, a list a machine that has work, the rack.

    ``fingerprint`` is the first eight hex digits of the sha256 of the plan file's bytes. ``kinds`` are the batch in its
    own order, ``left`` the offcuts that are not touched with how many of them, ``notes`` sentences on the wood itself.
    """

    job: Job
    plan: Plan
    fingerprint: str
    cards: tuple[Card, ...]
    lists: tuple[MachineList, ...]
    rack: tuple[Kept, ...]
    kinds: tuple[Kind, ...]
    left: tuple[tuple[Offcut, int], ...]
    notes: tuple[str, ...]
