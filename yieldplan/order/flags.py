"""Which lines ask for special care, by the sizes of the piece in hand; the sources stand in DEVELOPERS.md."""

from __future__ import annotations

from yieldplan.model.shop import INCH, MM
from yieldplan.order.data import Flag

SHORT = 300 * MM
"""Machining shorter than this asks for more than a push stick: HSE's figure, as makers' manuals repeat it."""

THIN = 10 * MM
"""Thinner stock is planed on a backing board: 3/8 in, after a jointer maker's manual."""

SHORT_CROSSCUT = 6 * INCH
"""A shorter piece is clamped when it is crosscut: after a saw maker's manual."""

TALL = 4
"""From this many times its thickness on, a stick planed on edge may tip: common practice, no source."""


def machine_flags(length: int) -> tuple[Flag, ...]:
    """Return the flags of a pass over jointer, saw or planer with a piece of this length."""
    return (Flag.SHORT,) if length < SHORT else ()


def crosscut_flags(length: int) -> tuple[Flag, ...]:
    """Return the flags of a crosscut that leaves a piece of this length."""
    return (Flag.SHORT_CROSSCUT,) if length < SHORT_CROSSCUT else ()


def edge_planing_flags(length: int, width: int, thickness: int) -> tuple[Flag, ...]:
    """Return the flags of planing on edge to ``width`` with ``thickness`` on the table."""
    return (*machine_flags(length), *((Flag.TALL,) if width >= TALL * thickness else ()))


def flat_planing_flags(length: int, thickness: int) -> tuple[Flag, ...]:
    """Return the flags of planing flat to ``thickness``."""
    return (*machine_flags(length), *((Flag.THIN,) if thickness < THIN else ()))
