"""Rows of pieces along one axis: inside, in order, a kerf apart, sawable; passes, leftovers and dust (R4, R5, R11)."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Shop
    from yieldplan.verify.breach import Notebook, Rule


class Span(NamedTuple):
    """A piece's name and its interval along the axis of its row."""

    name: str
    start: int
    end: int

    @property
    def size(self) -> int:
        """How long the interval is."""
        return self.end - self.start


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Strips, layers or sticks across a box, parted by cuts of one height.

    ``depth`` is where the row ends, ``other`` the size of its section across the other axis; ``reached`` says whether
    a saw makes such cuts at all, on the bandsaw with ``kerf`` the skim of the fresh face.
    """

    where: str
    spans: list[Span]
    depth: int
    other: int
    height: int
    reached: bool
    bandsaw: bool
    kerf: int
    plane_off: int

    @classmethod
    def sawn(
        cls, shop: Shop, spans: list[Span], *, where: str, depth: int, other: int, height: int, resaw: bool
    ) -> Row:
        """Return a row with the saw that makes its cuts (R5)."""
        bandsaw = height > shop.saw_depth
        reached = height <= max(shop.saw_depth, shop.bandsaw_height) and not (
            resaw and height > shop.resaw_height
        )
        kerf = shop.bandsaw_kerf + shop.bandsaw_skim if bandsaw else shop.rip_kerf
        return cls(
            where=where,
            spans=spans,
            depth=depth,
            other=other,
            height=height,
            reached=reached,
            bandsaw=bandsaw and reached,
            kerf=kerf if reached else 0,
            plane_off=shop.plane_off,
        )

    @property
    def over(self) -> int:
        """What lies beyond the last piece where the planer takes it; 0 where it is sawn off or nothing is over."""
        rest = self.depth - in_order(self.spans)[-1].end if self.spans else 0
        return rest if 0 < rest <= self.plane_off else 0

    @property
    def cuts(self) -> tuple[list[int], int]:
        """The sizes at which pieces are sawn off, a pass each, and how many odd cuts go before pieces."""
        row = in_order(self.spans)
        sizes = [span.size for span in row if self.depth - span.end > self.plane_off]
        ends = [0, *(span.end for span in row)]
        return sizes, sum(span.start - end > self.kerf for span, end in zip(row, ends, strict=False))

    @property
    def dust(self) -> int:
        """The length along the axis that the saws turn to dust."""
        if not self.over:
            return dust(self.spans, (0, self.depth), self.kerf)
        return dust(self.spans, (0, in_order(self.spans)[-1].end), self.kerf)


def is_planed_off(span: Span, depth: int, shop: Shop) -> bool:
    """Return whether what is beyond a piece is left to the planer: at most *plane off*."""
    return depth - span.end <= shop.plane_off


def in_order(spans: Sequence[Span]) -> list[Span]:
    """Return pieces in their order along the axis, whatever order they are listed in."""
    return sorted(spans, key=lambda span: (span.start, span.end))


def leftovers(spans: Sequence[Span], room: tuple[int, int], kerf: int) -> Iterator[tuple[int, int]]:
    """Yield what no piece takes (R11): from a row's start, end or neighbour on, less a kerf at each piece."""
    row = in_order(spans)
    starts = [room[0], *(span.end + kerf for span in row)]
    ends = [*(span.start - kerf for span in row), room[1]]
    for start, end in zip(starts, ends, strict=True):
        if start < end:
            yield start, end


def dust(spans: Sequence[Span], room: tuple[int, int], kerf: int) -> int:
    """Return how much of a row's gaps is dust: at most a kerf at either end, two between neighbours."""
    if not spans:
        return 0
    row = in_order(spans)
    ends = min(max(row[0].start - room[0], 0), kerf) + min(max(room[1] - row[-1].end, 0), kerf)
    return ends + sum(min(max(after.start - before.end, 0), 2 * kerf) for before, after in pairwise(row))


def check_row(
    notes: Notebook,
    where: str,
    spans: Sequence[Span],
    room: tuple[int, int],
    kerf: int,
    *,
    rules: tuple[Rule, Rule, Rule],
) -> None:
    """Check that pieces are whole and listed in order (first rule), lie in ``room`` (second), a kerf apart (third)."""
    shape_rule, room_rule, gap_rule = rules
    low, high = room
    right = []
    for span in spans:
        place = f"{where}, {span.name}"
        if span.start >= span.end:
            notes.note(
                shape_rule, place, f"it runs from {notes.span(*span[1:])}; it must end after it starts"
            )
            continue
        right.append(span)
        if span.start < low or span.end > high:
            notes.note(
                room_rule,
                place,
                f"it runs from {notes.span(*span[1:])}; there is room only from {notes.span(low, high)}",
            )
    if right != in_order(right):
        notes.note(shape_rule, where, "its pieces are not listed in the order in which they are sawn")
    for before, after in pairwise(in_order(right)):
        gap = after.start - before.end
        pair = f"{where}, {before.name} and {after.name}"
        if gap < 0:
            notes.note(shape_rule, pair, f"they overlap by {notes.size(-gap)}")
        elif gap < kerf:
            notes.note(gap_rule, pair, f"they are {notes.size(gap)} apart; the saw takes {notes.size(kerf)}")


def check_sawn_row(notes: Notebook, row: Row) -> None:
    """Check strips, layers or sticks across a box (R4), and that a saw makes their cuts (R5)."""
    check_row(notes, row.where, row.spans, (0, row.depth), row.kerf, rules=("R4", "R4", "R5"))
    sizes, odd = row.cuts
    if not row.reached and (sizes or odd or len(row.spans) > 1):
        shop = notes.shop
        notes.note(
            "R5",
            row.where,
            f"the cuts are {notes.size(row.height)} high; the saws reach "
            f"{notes.size(max(shop.saw_depth, shop.bandsaw_height))}, in a resaw {notes.size(shop.resaw_height)}",
        )
