"""The cutting order as data: sheets of lines, one sheet for each machine setting, in working order.

Every length is in steps, a whole number of marks, and one that the plan has: nothing is rounded.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldplan.model import Billet, Job, Offcut, Plan, Wood
    from yieldplan.order.margins import Margin
    from yieldplan.order.wood import PlanerSetting

Span = tuple[int, int]
"""From where to where, in steps."""


class Stage(Enum):
    """The work, in the order in which it is done; the value is its heading."""

    ENDS = "Rough crosscuts"
    SPLIT = "Rough splits"
    FACE = "Face jointing"
    EDGE = "Edge jointing"
    FIRST = "First saw cuts"
    SECOND = "Second saw cuts"
    PLANE_EDGE = "Planing on edge"
    PLANE_FLAT = "Planing flat"
    SQUARE = "Final crosscuts: square end A"
    STOP = "Final crosscuts: to the stop"


class Machine(Enum):
    """The machine that a sheet belongs to; the value is its name."""

    CROSSCUT = "crosscut saw"
    JOINTER = "jointer"
    TABLE_SAW = "table saw"
    BANDSAW = "bandsaw"
    PLANER = "planer"


class Flag(Enum):
    """What one line asks special care for; the value is the note beside it."""

    SHORT = "short: push block"
    THIN = "thin: backing board"
    TALL = "tall: gang several"
    SHORT_CROSSCUT = "short: clamp it"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a sheet: a piece in hand, from where, to what size, how often, what it gives.

    Attributes
    ----------
    root, piece
        Name of the board that it belongs to, and the whole name of what is taken in hand.
    where
        What is measured from, or lies on the fence, the table or the stop.
    start
        Running measure from end A at which the piece begins (rough crosscuts only, else None).
    size
        Where it ends (rough crosscuts), where the line lies (splits, squaring), how wide or thick it gets (saws,
        planer), what it must still measure (jointer), how long it gets (stop).
    before
        What it measures before (planer), how much it has to spare (jointer), how long it is (rough crosscuts), else
        None.
    times
        How many passes, or pieces.
    gives
        Names of what comes off; ``"waste"`` where an odd cut only clears wood.
    rest
        Name of what is left over, ``"waste"`` where nothing that is kept, ``""`` where nothing at all.
    blank
        Name of the blank it becomes, or ``""``.
    """

    root: str
    piece: str
    where: str
    start: int | None = None
    size: int
    before: int | None = None
    times: int = 1
    gives: tuple[str, ...] = ()
    rest: str = ""
    blank: str = ""
    flags: tuple[Flag, ...] = ()
    note: str = ""


WASTE, SPARE = "waste", "spare"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One machine at one setting, for the whole batch; ``setting`` is None where the work has none.

    ``odd``: it clears wood before one piece. ``again``: the setting was made before, and the pieces leave no other way.
    """

    stage: Stage
    machine: Machine
    setting: int | None
    lines: tuple[Line, ...]
    odd: bool = False
    again: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A keeper as it goes back on the rack; ``width >= thickness``.

    ``start`` and ``end`` are running measures from end A of ``parent``, the name of what it is cut from.
    """

    name: str
    length: int
    width: int
    thickness: int
    offcut: Offcut
    parent: str
    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Along:
    """On a card: a billet, blank or keeper along the offcut, ``x`` from its end A."""

    name: str
    x: Span
    keeper: bool = False
    blank: str = ""
    clear_end: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """On a card: a stick, or a keeper beside sticks, across its billet's box from the jointed edge and face.

    ``pieces`` are cut from it, in their order from end A.
    """

    name: str
    keeper: bool
    y: Span
    z: Span
    pieces: tuple[Along, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Milled:
    """On a card: a billet, or a half of a split one (``half`` says which, ``""`` where it is whole).

    Attributes
    ----------
    wide, thick
        What it must still measure after jointing, or its sticks are lost.
    box
        What it measures where jointing takes what is planned.
    """

    name: str
    billet: Billet
    wood: Wood
    half: str = ""
    wide: int
    thick: int
    box: tuple[int, int]
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One drawn piece of the pile: ``lengths`` are its billets and the lengths that are kept."""

    root: str
    offcut: Offcut
    lengths: tuple[Along, ...]
    milled: tuple[Milled, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """The whole cutting order of a plan.

    Attributes
    ----------
    fingerprint
        First eight hex digits of the sha256 of the plan file's bytes.
    sign, copy_sign
        What stands between an offcut's name and a mark, and between its name and a copy's number.
    left
        Offcuts that are not touched, with how many of them.
    notes
        Sentences on the wood itself: moisture, ring bounds in force, slope of grain.
    settings
        The planer's settings by species and moisture; empty where moisture changes no size.
    margins
        What every blank has to spare, the tightest first.
    """

    job: Job
    plan: Plan
    fingerprint: str
    sign: str
    copy_sign: str
    sheets: tuple[Sheet, ...]
    cards: tuple[Card, ...]
    keepers: tuple[Kept, ...]
    left: tuple[tuple[Offcut, int], ...]
    notes: tuple[str, ...]
    settings: tuple[PlanerSetting, ...]
    margins: tuple[Margin, ...]
