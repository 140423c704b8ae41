"""What is milled as one piece, a billet or a half of a split one, and its sticks as they come from the saws."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet, sawn_rows
from yieldplan.model.section import section_of
from yieldplan.order.data import WASTE

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from yieldplan.model import Billet, Job, Keeper, OffcutPlan, Row, Stick, Wood
    from yieldplan.model.pieces import PieceNames
    from yieldplan.model.section import Section as Sizes
    from yieldplan.order.data import Mark, Span


@dataclass(frozen=True, kw_only=True)
class Part:
    """A billet or a half of a split one.

    Attributes
    ----------
    board, name, rough
        The names of its board, its own, and that of the billet which it is split from, else its own.
    half
        ``"near"`` or ``"far"``, ``""`` where it is whole.
    sticks
        The names of its sticks.
    kept
        The keepers that come off it, by name.
    marks
        By blank, the marks of those of the board that are made in pairs; each is taken once.
    """

    job: Job
    board: str
    name: str
    rough: str
    half: str
    billet: Billet
    wood: Wood
    sticks: tuple[str, ...]
    kept: dict[str, Keeper]
    marks: Mapping[str, Iterator[Mark]]

    @property
    def x(self) -> Span:
        """From where to where along the offcut."""
        return self.billet.start, self.billet.end

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Its strips or layers, then the sticks of each."""
        return tuple(sawn_rows(self.wood, self.billet, self.job.shop))

    def joined(self, row: Row, low: int, high: int) -> str:
        """Return the name of what holds just the pieces of a row from ``low`` to ``high`` (counted from 0)."""
        counts = [len(strip.sticks) for strip in self.billet.strips]
        before = [sum(counts[:number]) for number in range(len(counts) + 1)]
        if row.number == 1:
            low, high = before[low], before[high + 1] - 1
        else:
            low, high = before[row.strip] + low, before[row.strip] + high
        if (low, high) == (0, len(self.sticks) - 1):
            return self.name
        if low == high:
            return self.sticks[low]
        first, last = (self.sticks[place].rsplit("-", 1)[1] for place in (low, high))
        return f"sticks {first} to {last} of {self.board}"

    def left(self, x: Span, across: Span, deep: Span) -> str:
        """Return the name of a leftover that lies there, or :data:`yieldplan.order.data.WASTE`."""
        spot = (x, across, deep)
        return next((name for name, one in self.kept.items() if (one.x, one.across, one.deep) == spot), WASTE)


def parts_of(
    job: Job, drawn: OffcutPlan, names: PieceNames, marks: Mapping[tuple[str, str], Sequence[Mark]]
) -> Iterator[Part]:
    """Yield the parts of a drawn board; one that holds a single stick has that stick's name from the start."""
    board = names.board(drawn)
    own = {blank: iter(several) for (name, blank), several in marks.items() if name == board}
    found = dict(names.keepers(drawn))
    splits = {billet.start for billet in drawn.billets if isinstance(billet, SplitBillet)}
    for part, rough, wood, billet, sticks in names.parts(drawn):
        half = ("far" if wood.low else "near") if billet.start in splits else ""
        name = sticks[0] if len(sticks) == 1 else part
        yield Part(
            job=job,
            board=board,
            name=name,
            rough=rough if half else name,
            half=half,
            billet=billet,
            wood=wood,
            sticks=sticks,
            kept={key: one for key, one in found.items() if one.billet is billet and one.wood == wood},
            marks=own,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sawn:
    """A stick as it comes from the saws: its places in the first and the second row of its part, its planed sizes."""

    part: Part
    name: str
    stick: Stick
    rows: tuple[tuple[Row, int], tuple[Row, int]]
    sizes: Sizes

    @property
    def yz(self) -> tuple[Span, Span]:
        """From where to where across y and across z, in the box."""
        first, second = (row.spans[place] for row, place in self.rows)
        return (first, second) if self.part.billet.rip_first else (second, first)

    @property
    def flat(self) -> tuple[tuple[int, bool], ...]:
        """Its sizes across the blanks' width and thickness, each with whether the near side is jointed.

        Where it was not sawn off, its far side is still rough, and the planer takes what is left there.
        """
        found = []
        for row, place in self.rows:
            (start, end), own = row.spans[place], [sawn for sawn in row.passes if sawn.piece == place]
            far = row.end if all(sawn.odd for sawn in own) else end
            found.append((far - start, row.near_is_jointed((start, end))))
        return tuple(found if self.part.billet.rip_first != self.stick.turned else found[::-1])


def sticks_of(part: Part) -> list[Sawn]:
    """Return the sticks of a part in the order in which they come off the saw."""
    first, *second = part.rows
    found: list[Sawn] = []
    for strip, row in enumerate(second):
        for place, stick in enumerate(part.billet.strips[strip].sticks):
            sizes = section_of(part.job, part.wood.offcut, stick)
            name, rows = part.sticks[len(found)], ((first, strip), (row, place))
            found.append(Sawn(part=part, name=name, stick=stick, rows=rows, sizes=sizes))
    return found
