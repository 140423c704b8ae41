"""R5 and the work of the saws: the rows of a billet across, which saw parts them, and which passes that takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model.plan import Billet, Span, Stick, Strip
    from yieldplan.model.shop import Machine, Shop
    from yieldplan.model.wood import Wood


class Pass(NamedTuple):
    """One saw pass of a row: which piece it is for, the piece's size, whether it is an odd cut before it.

    ``at`` is where the fence stands from the row's last true side: the piece's size, or what an odd cut clears.
    """

    piece: int
    at: int
    odd: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Pieces side by side in a billet's box, parted by cuts of one height, sawn in turn from the jointed side.

    Cuts along ``axis`` y are rips, along z resaws. Row ``number`` 1 has strips or layers, 2 the sticks of the ``strip``
    of that index. Its ``spans`` lie from 0 to ``end`` (S), in their order; across the other axis of the box it lies
    from where to where ``other`` says. No ``machine``: no saw reaches, so that no cut can be made. At least the
    ``kerf`` lies between neighbours. All in steps.
    """

    axis: Literal["y", "z"]
    number: Literal[1, 2]
    strip: int
    spans: tuple[Span, ...]
    end: int
    other: Span
    height: int
    machine: Machine | None
    kerf: int
    passes: tuple[Pass, ...]

    @property
    def is_cut(self) -> bool:
        """Whether it takes any pass."""
        return bool(self.passes)

    def near_is_jointed(self, span: Span) -> bool:
        """Return whether the near side of a piece or a leftover is jointed: the row's own, or fresh from the bandsaw.

        Where no saw takes what lies before a piece, that is jointed off. Behind the last piece the bandsaw's fresh side
        is not jointed: nothing more is sawn from what is left.
        """
        if span not in self.spans:
            return span[0] == 0 or (self.machine == "bandsaw" and span[0] < self.spans[-1][0])
        place = self.spans.index(span)
        here = self.spans[place - 1][1] + self.kerf if place else 0
        cleared = any(sawn.piece == place and sawn.odd and sawn.at > 0 for sawn in self.passes)
        is_sawn = cleared or (place > 0 and span[0] == here)
        return not is_sawn or self.machine == "bandsaw"


def is_sawn_off(end: int, row_end: int, shop: Shop) -> bool:
    """Return whether what is beyond a piece is sawn off: more than *plane off*; what is less the planer takes."""
    return row_end - end > shop.plane_off


def passes(spans: tuple[Span, ...], row_end: int, kerf: int, shop: Shop) -> tuple[Pass, ...]:
    """Return the saw passes of a row, in order: a pass for each piece that is sawn off, odd cuts before some.

    An odd cut comes before a piece that begins more than a kerf behind the one before, or behind 0.
    """
    found, before = [], 0
    for piece, (start, end) in enumerate(spans):
        if start - before > kerf:
            found.append(Pass(piece, start - kerf - before - (kerf if piece else 0), odd=True))
        if is_sawn_off(end, row_end, shop):
            found.append(Pass(piece, end - start, odd=False))
        before = end
    return tuple(found)


def sawn_rows(wood: Wood, billet: Billet, shop: Shop) -> Iterator[Row]:
    """Yield the rows of a billet or half: its strips or layers first, then the sticks of each."""
    wide, deep, rip = wood.width - billet.edge_loss, wood.thickness - billet.face_loss, billet.rip_first
    ends = (wide, deep) if rip else (deep, wide)
    first_height, rough = (wood.thickness, wood.width) if rip else (wood.width, wood.thickness)

    def row(
        number: Literal[1, 2], strip: int, pieces: Sequence[Strip | Stick], other: Span, height: int
    ) -> Row:
        is_rip, end = rip == (number == 1), ends[number - 1]
        machine = shop.machine_for(height, resaw=not is_rip)
        kerf, spans = shop.kerf_of(machine), tuple((piece.start, piece.end) for piece in pieces)
        return Row(
            axis="y" if is_rip else "z",
            number=number,
            strip=strip,
            spans=spans,
            end=end,
            other=other,
            height=height,
            machine=machine,
            kerf=kerf,
            passes=passes(spans, end, kerf, shop),
        )

    yield row(1, 0, billet.strips, (0, ends[1]), first_height)
    for number, strip in enumerate(billet.strips):
        sawn = is_sawn_off(strip.end, ends[0], shop)
        height = strip.end - strip.start if sawn else rough - strip.start
        yield row(2, number, strip.sticks, (strip.start, strip.end), height)
