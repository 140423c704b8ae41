"""What a listing holds of a cutting, as a plan has it.

A billet is (start and end, split or None, halves), a half (box, rip first, strips), a strip (low, high, sticks), a
stick (its type, low, high, cuts), a cut (start from that of the billet, length, kind, end that is clear); all in marks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from yieldplan.model import Billet, CutBlank, SplitBillet, Stick, Strip

if TYPE_CHECKING:
    from yieldplan.solve.classes import Batch, OffcutClass


def cutting_of(batch: Batch, one: OffcutClass, piece: Any) -> Billet | SplitBillet:
    """Return a billet of an offcut class as a plan has it."""
    (start, end), split, halves = piece
    mark = batch.job.shop.mark
    drawn = tuple(half and _jointed(batch, one, (start, end), *half) for half in halves)
    if split is None:
        return drawn[0]
    near, far = drawn
    return SplitBillet(start=start * mark, end=end * mark, split=split * mark, halves=(near, far))


def _jointed(
    batch: Batch, one: OffcutClass, place: tuple[int, int], box: Any, rip: bool, strips: Any
) -> Billet:
    mark = batch.job.shop.mark
    return Billet(
        start=place[0] * mark,
        end=place[1] * mark,
        layout="rip first" if rip else "resaw first",
        face_loss=box.face * mark,
        edge_loss=box.edge * mark,
        strips=tuple(
            Strip(
                start=low * mark,
                end=high * mark,
                sticks=tuple(_sawn(batch, one, place[0], *stick) for stick in sticks),
            )
            for low, high, sticks in strips
        ),
    )


def _sawn(batch: Batch, one: OffcutClass, base: int, number: int, low: int, high: int, cuts: Any) -> Stick:
    mark = batch.job.shop.mark
    return Stick(
        start=low * mark,
        end=high * mark,
        turned=one.types[number].turned,
        blanks=tuple(
            CutBlank(
                blank=batch.blanks[kind].name,
                start=(base + start) * mark,
                end=(base + start + span) * mark,
                clear_end="B" if side == "B" else "A",
            )
            for start, span, kind, side in cuts
        ),
    )
