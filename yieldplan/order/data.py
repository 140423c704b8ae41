"""The cutting order as data: sheets of lines, one sheet for each machine setting, in working order.

Every figure lies on the shop's grid of shown figures (:mod:`yieldplan.order.figures`).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldplan.model import Billet, Job, Offcut, Plan
    from yieldplan.order.margins import Margin
    from yieldplan.order.wood import PlanerSetting


class Stage(Enum):
    """The work, in the order in which it is done; the value is its heading."""

    ROUGH_CROSSCUT = "Rough crosscuts"
    SPLIT = "Rough splits"
    FACE = "Face jointing"
    EDGE = "Edge jointing"
    RESAW_BILLETS = "Resaws of whole billets"
    RIP = "Rips"
    RESAW_STRIPS = "Resaws of strips"
    PLANE_EDGE = "Planing on edge"
    PLANE_FLAT = "Planing flat"
    PART = "Final crosscuts: part the sticks"
    LENGTH = "Final crosscuts: to length"


class Machine(Enum):
    """The machine that a sheet belongs to; the value is its name."""

    CROSSCUT = "crosscut saw"
    JOINTER = "jointer"
    TABLE_SAW = "table saw"
    BANDSAW = "bandsaw"
    PLANER = "planer"


class Flag(Enum):
    """What one line asks special care for; the value is the note beside it."""

    SHORT = "under 300 mm: push block all the way, or another method"
    THIN = "thin: on a backing board"
    TALL = "tall on edge: gang several side by side"
    SHORT_CROSSCUT = "short: clamp it, keep hands away"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a sheet: a piece in hand, from where, to what size, how often, what it gives.

    Attributes
    ----------
    root, piece
        Name of the offcut's piece that it belongs to, and the whole name of what is taken in hand.
    where
        What is measured from, or lies on the fence, the table or the stop.
    start
        Running measure from end A at which the piece begins (crosscuts only, else None).
    size
        Where it ends (crosscuts), where the line lies (rough splits), how wide or thick it gets (saws, planer),
        what it must still measure (jointer), how long it gets (to length).
    before
        What it measures before (planer), how much it has to spare (jointer), how long it is (crosscuts),
        else None.
    times
        How many passes, or pieces.
    gives
        Marks of what it becomes, each to be set behind ``root`` and the sign.
    rest
        Mark of what is left over, ``"waste"`` where nothing that is kept, ``""`` where nothing at all.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One machine at one setting, for the whole batch; ``setting`` is None where the work has none."""

    stage: Stage
    machine: Machine
    setting: int | None
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece that the order ends with: a blank, or a keeper (``blank`` is ``""``).

    Sizes are as shown: as it leaves the machines for a blank, rounded down for a keeper. ``clear_end`` is ``""``
    where the blank asks for none. ``start`` and ``end`` are running measures from end A of ``parent``, the name of
    what it is cut from.
    """

    root: str
    name: str
    blank: str = ""
    extra: bool = False
    length: int
    width: int
    thickness: int
    clear_end: str = ""
    offcut: Offcut
    parent: str
    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Along:
    """On a card: a piece along x, shown figures from end A of what it is cut from (``parent``, a mark).

    ``exact`` is the plan's interval on the offcut, for drawings. ``kind`` is ``"billet"``, ``"keeper"`` or
    ``"blank"``.
    """

    mark: str
    parent: str
    kind: str
    start: int
    end: int
    exact: tuple[int, int]
    blank: str = ""
    clear_end: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """On a card: a strip, layer or stick across its billet, from the jointed edge and face.

    ``y`` and ``z`` are shown figures, ``exact_y`` and ``exact_z`` the plan's, in the billet's box.
    """

    mark: str
    billet: str
    keeper: bool
    y: tuple[int, int]
    z: tuple[int, int]
    exact_y: tuple[int, int]
    exact_z: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class StillMeasure:
    """What a billet must still measure after jointing, and what it has to spare (shown figures)."""

    piece: str
    thick: int
    wide: int
    spare_thick: int
    spare_wide: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Milled:
    """On a card: a billet, or a half of a split one (``half`` says which, ``""`` where it is whole).

    ``segment`` is the mark of the length that was crosscut, ``wood`` what it is jointed from, as an offcut of its own,
    ``low`` where that begins across the offcut (steps).
    """

    mark: str
    segment: str
    billet: Billet
    wood: Offcut
    half: str = ""
    low: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One drawn piece of the pile: what its card shows, and ``billets``, what of it is milled."""

    root: str
    offcut: Offcut
    segments: tuple[Along, ...]
    sections: tuple[Section, ...]
    pieces: tuple[Along, ...]
    measures: tuple[StillMeasure, ...]
    billets: tuple[Milled, ...]


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
        What every blank has to spare, the tightest first, in exact steps.
    """

    job: Job
    plan: Plan
    fingerprint: str
    sign: str
    copy_sign: str
    sheets: tuple[Sheet, ...]
    cards: tuple[Card, ...]
    blanks: tuple[Piece, ...]
    keepers: tuple[Piece, ...]
    left: tuple[tuple[Offcut, int], ...]
    notes: tuple[str, ...]
    settings: tuple[PlanerSetting, ...]
    margins: tuple[Margin, ...]
