"""The parts of the one CP-SAT model of a pile (monolith.py), and how its answer becomes a plan."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from yieldplan.model import (
    Billet,
    CutBlank,
    Keeper,
    OffcutPlan,
    Stick,
    Strip,
    WholeKeeper,
    edge_loss,
    face_loss,
    worth,
)
from yieldplan.model.shop import INCH

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Job, Offcut, Segment

UNIT = INCH // 64
"""The model's lengths are whole multiples of it."""

Var = Any
"""A variable, or an expression, of CP-SAT."""


class Section(NamedTuple):
    """A way that blanks may lie: rough sizes on the first and second axis (steps), planed section, kinds."""

    rip_first: bool
    first: int
    second: int
    turned: bool
    planed: tuple[int, int]
    kinds: tuple[int, ...]


@dataclass
class StickVars:
    """A place for a stick: which section it has, where it lies and how large it is."""

    types: dict[Section, Var]
    place: Var
    size: Var
    blanks: list[tuple[dict[int, Var], Var, Var]] = field(default_factory=list)
    """For each place for a blank: its kinds, where it starts, whether its clear end is at end A."""

    remainder: Var = None


@dataclass
class StripVars:
    """A place for a strip, or a layer; ``over`` is the size of the keeper stick in what is left of it."""

    there: Var
    place: Var
    size: Var
    sticks: list[StickVars] = field(default_factory=list)
    over: Var = None


@dataclass
class BilletVars:
    """A place for a billet; ``beside`` is the size of the keeper strip in what is left of it."""

    there: Var
    start: Var
    end: Var
    rip_first: Var
    strips: list[StripVars] = field(default_factory=list)
    beside: Var = None


@dataclass
class PieceVars:
    """An offcut; ``before`` and ``behind`` are the lengths of the whole keepers at its ends."""

    offcut: Offcut
    copy: int
    billets: list[BilletVars]
    before: Var
    behind: Var


def cutting_of(piece: PieceVars, job: Job, value: Callable[[Var], int]) -> tuple[OffcutPlan, int]:
    """Return what was done with an offcut, as a plan has it, and what it costs."""
    offcut, shop = piece.offcut, job.shop
    segments: list[Segment] = []
    net = worth(offcut.length, offcut.width, offcut.thickness, shop)
    billets = [billet for billet in piece.billets if value(billet.there)]
    if value(piece.before):
        end = value(billets[0].start) * UNIT - shop.crosscut_kerf
        segments.append(WholeKeeper(start=0, end=end))
        net -= worth(end, offcut.width, offcut.thickness, shop)
    for billet in billets:
        cut, kept = _milled(billet, offcut, job, value)
        segments.append(cut)
        net -= kept
    if value(piece.behind):
        start = value(billets[-1].end) * UNIT + shop.crosscut_kerf
        segments.append(WholeKeeper(start=start, end=offcut.length))
        net -= worth(offcut.length - start, offcut.width, offcut.thickness, shop)
    return OffcutPlan(offcut=offcut.name, copy=piece.copy, segments=tuple(segments)), net


def _milled(billet: BilletVars, offcut: Offcut, job: Job, value: Callable[[Var], int]) -> tuple[Billet, int]:
    """Return a billet as a plan has it, and the worth of its keepers."""
    shop = job.shop
    start, end, rip_first = (
        value(billet.start) * UNIT,
        value(billet.end) * UNIT,
        bool(value(billet.rip_first)),
    )
    edge, face = edge_loss(offcut, end - start, shop, start), face_loss(offcut, end - start, shop, start)
    rooms = offcut.width - edge, offcut.thickness - face
    first, second = rooms if rip_first else rooms[::-1]
    kerf = shop.kerf_at(offcut.thickness if rip_first else offcut.width) or 0
    strips, kept = [], 0
    for strip in (strip for strip in billet.strips if value(strip.there)):
        low, sticks = value(strip.place) * UNIT, []
        size = next(s.first for s, x in strip.sticks[0].types.items() if value(x))
        for stick in strip.sticks:
            section = next((s for s, x in stick.types.items() if value(x)), None)
            if section is not None:
                made, more = _stick(stick, section, end, job, value)
                sticks.append(made)
                kept += more
        if value(strip.over):
            above = sticks[-1].end + (shop.kerf_at(size) or 0)
            sticks.append(Stick(start=above, end=second, keeper=True))
            kept += worth(end - start, size, second - above, shop)
        strips.append(Strip(start=low, end=low + size, sticks=tuple(sticks)))
    if value(billet.beside):
        aside = strips[-1].end + kerf
        strips.append(Strip(start=aside, end=first, keeper=True))
        kept += worth(end - start, first - aside, second, shop)
    layout: Literal["rip first", "resaw first"] = "rip first" if rip_first else "resaw first"
    return Billet(
        start=start, end=end, layout=layout, face_loss=face, edge_loss=edge, strips=tuple(strips)
    ), kept


def _stick(
    stick: StickVars, section: Section, end: int, job: Job, value: Callable[[Var], int]
) -> tuple[Stick, int]:
    """Return a stick as a plan has it, and the worth of its remainder."""
    shop, blanks = job.shop, []
    for own, start, at_a in stick.blanks:
        kind = next((kind for kind, x in own.items() if value(x)), None)
        if kind is None:
            continue
        blank, low = job.blanks[kind], value(start) * UNIT
        sound: Literal["A", "B"] = "A" if value(at_a) or not blank.clear_end else "B"
        high = low + blank.length + shop.length_allowance
        blanks.append(CutBlank(blank=blank.name, extra=False, start=low, end=high, clear_end=sound))
    keepers, kept = [], 0
    if value(stick.remainder):
        keepers = [Keeper(start=blanks[-1].end + shop.crosscut_kerf, end=end)]
        kept = worth(end - keepers[0].start, *section.planed, shop)
    place = value(stick.place) * UNIT
    return Stick(
        start=place,
        end=place + section.second,
        turned=section.turned,
        blanks=tuple(blanks),
        keepers=tuple(keepers),
    ), kept
