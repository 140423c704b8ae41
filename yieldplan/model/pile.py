"""What the user measured and wants: offcuts with their defects, blanks, and the whole job."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from yieldplan.model.shop import Shop

if TYPE_CHECKING:
    from yieldplan.model.problem import Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    """A box of bad wood on an offcut, in the offcut's frame, steps of 1/320 mm.

    A ``through`` defect lies at every z (z1 = 0, z2 = the offcut's thickness); one that was marked across the
    whole width has y1 = 0, y2 = the offcut's width.
    """

    kind: str
    x1: int
    x2: int
    y1: int
    y2: int
    z1: int
    z2: int
    through: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """One row of the pile: ``qty`` like pieces; lengths in steps, ``width >= thickness``.

    ``ring_angle`` is in whole degrees to the wide face, or None where it was not read; ``moisture`` is the
    percentage as typed; ``other`` holds extra columns as (heading, text) pairs.
    """

    name: str
    length: int
    width: int
    thickness: int
    qty: int = 1
    species: str = ""
    bow: int = 0
    crook: int = 0
    cup: int = 0
    twist: int = 0
    ring_angle: int | None = None
    moisture: float | None = None
    rack: str = ""
    note: str = ""
    defects: tuple[Defect, ...] = ()
    other: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """One row of the batch; lengths in steps, ``width >= thickness``, all sizes finished.

    ``ring_from``/``ring_to`` are the range of ring angles to the blank's wide face, both None where any will
    do (R7). ``allows`` and ``species`` are words as typed; compare them through
    :func:`fold`. ``clear_end`` is the length that must be sound at one end.
    """

    name: str
    need: int
    length: int
    width: int
    thickness: int
    extra: int = 0
    species: tuple[str, ...] = ()
    ring_from: int | None = None
    ring_to: int | None = None
    allows: tuple[str, ...] = ()
    clear_end: int = 0
    priority: int = 1
    note: str = ""
    other: tuple[tuple[str, str], ...] = ()

    def takes_species(self, species: str) -> bool:
        """Return whether wood of this species will do (R10)."""
        return not self.species or fold(species) in {fold(word) for word in self.species}

    def takes_ring(self, ring_angle: int | None, *, turned: bool) -> bool:
        """Return whether an offcut's ring angle suits the blank, lying flat or turned (R7)."""
        if self.ring_from is None and self.ring_to is None:
            return True
        if ring_angle is None:
            return False
        seen = 90 - ring_angle if turned else ring_angle
        low = 0 if self.ring_from is None else self.ring_from
        high = 90 if self.ring_to is None else self.ring_to
        return low <= seen <= high

    def allows_kind(self, kind: str) -> bool:
        """Return whether a defect of this kind may lie in the blank, outside its clear end (R9)."""
        return fold(kind) in {fold(word) for word in self.allows}


def fold(word: str) -> str:
    """Return a word in the form in which species and kinds are compared: case and spacing do not matter."""
    return " ".join(word.split()).casefold()


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything that was read from one input.

    Attributes
    ----------
    offcuts, blanks
        In the order of their rows; names are unique in each.
    name, sha256
        The input's file or folder name, and the fingerprint of its bytes (hex).
    warnings
        Questionable but usable things, for the user to see.
    """

    offcuts: tuple[Offcut, ...]
    blanks: tuple[Blank, ...]
    shop: Shop = field(default_factory=Shop)
    name: str = ""
    sha256: str = ""
    warnings: tuple[Problem, ...] = ()

    def offcut(self, name: str) -> Offcut:
        """Return the offcut of this name; KeyError where there is none."""
        for offcut in self.offcuts:
            if offcut.name == name:
                return offcut
        raise KeyError(name)

    def blank(self, name: str) -> Blank:
        """Return the blank of this name; KeyError where there is none."""
        for blank in self.blanks:
            if blank.name == name:
                return blank
        raise KeyError(name)
