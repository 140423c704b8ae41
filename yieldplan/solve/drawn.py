"""A cutting as it is read from the graphs, and as a plan has it.

A billet is (start and end, split or None, halves), a half (box, rip first, strips), a strip (low, high, sticks), a
stick (its type, low, high, cuts), a cut (start from that of the billet, length, kind, end that is clear); all in marks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

from yieldplan.model import Billet, CutBlank, SplitBillet, Stick, Strip

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.solve.classes import Batch, OffcutClass
    from yieldplan.solve.graph import Box

Cut: TypeAlias = tuple[int, int, int, str]
SawnStick: TypeAlias = "tuple[int, int, int, Sequence[Cut]]"
SawnStrip: TypeAlias = "tuple[int, int, Sequence[SawnStick]]"
Half: TypeAlias = "tuple[Box, bool, Sequence[SawnStrip]]"
Sawn: TypeAlias = "tuple[tuple[int, int], int | None, tuple[Half | None, ...]]"

WORD = 1 << 31
"""Labels hold a rank and a place: rank x WORD + place."""


def cut_of(one: OffcutClass, label: int, base: int) -> Cut:
    """Return the cut that a blank's label stands for, measured from ``base``."""
    piece, far = divmod(label, 2)
    local, start = divmod(piece, WORD)
    return start - base, int(one.wood.spans[local]), int(one.kinds[local]), "B" if far else "A"


def shortest_first(cuts: Sequence[Cut], start: int, kerf: int) -> list[Cut]:
    """Return blanks pushed together from ``start`` on, the shortest first (R12)."""
    found = []
    for _, span, kind, side in sorted(cuts, key=lambda cut: (cut[1], cut[2])):
        found.append((start, span, kind, side))
        start += span + kerf
    return found


def cutting_of(batch: Batch, one: OffcutClass, piece: Sawn) -> Billet | SplitBillet:
    """Return a billet of an offcut class as a plan has it."""
    (start, end), split, halves = piece
    mark = batch.job.shop.mark
    drawn = [half and _jointed(batch, one, (start * mark, end * mark), half) for half in halves]
    if split is not None:
        near, far = drawn
        return SplitBillet(start=start * mark, end=end * mark, split=split * mark, halves=(near, far))
    (whole,) = drawn
    assert whole is not None
    return whole


def _jointed(batch: Batch, one: OffcutClass, place: tuple[int, int], half: Half) -> Billet:
    mark, (box, rip, strips) = batch.job.shop.mark, half

    def blank(start: int, span: int, kind: int, side: str) -> CutBlank:
        at = place[0] + start * mark
        clear_end: Literal["A", "B"] = "B" if side == "B" else "A"
        return CutBlank(blank=batch.blanks[kind].name, start=at, end=at + span * mark, clear_end=clear_end)

    def stick(number: int, low: int, high: int, cuts: Sequence[Cut]) -> Stick:
        blanks = tuple(blank(*cut) for cut in cuts)
        return Stick(start=low * mark, end=high * mark, turned=one.types[number].turned, blanks=blanks)

    return Billet(
        start=place[0],
        end=place[1],
        layout="rip first" if rip else "resaw first",
        face_loss=box.face * mark,
        edge_loss=box.edge * mark,
        strips=tuple(
            Strip(start=low * mark, end=high * mark, sticks=tuple(stick(*each) for each in sticks))
            for low, high, sticks in strips
        ),
    )
