"""Rows of pieces along one axis: marks, room, order, kerf and saw (R4, R5, R8); passes, leftovers and dust (R11)."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.model import Billet, CutBlank, Shop, SplitBillet, Stick, Strip
    from yieldplan.verify.breach import Notebook


class Span(NamedTuple):
    """A piece's name and its interval along the axis of its row."""

    name: str
    start: int
    end: int

    @property
    def size(self) -> int:
        """How long the interval is."""
        return self.end - self.start


def spans_of(pieces: Iterable[Billet | SplitBillet | Strip | Stick | CutBlank], word: str = "") -> list[Span]:
    """Return where the pieces of a row lie, named by a word and their number."""
    return [Span(f"{word} {n}", piece.start, piece.end) for n, piece in enumerate(pieces, 1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Strips, layers or sticks across a box, parted by cuts of one height.

    ``depth`` is where the row ends, ``other`` the size of its section across the other axis; ``name`` is that of the
    strip or layer whose sticks they are.
    """

    name: str = ""
    spans: list[Span]
    depth: int
    other: int
    height: int
    resaw: bool
    shop: Shop

    @property
    def saw(self) -> Literal["table saw", "bandsaw", ""]:
        """Which saw makes such cuts (R5); empty where none reaches."""
        too_high = self.height > max(self.shop.saw_depth, self.shop.bandsaw_height)
        if too_high or (self.resaw and self.height > self.shop.resaw_height):
            return ""
        return "bandsaw" if self.height > self.shop.saw_depth else "table saw"

    @property
    def kerf(self) -> int:
        """What such a cut takes, on the bandsaw with the skim of the fresh face; 0 where no saw reaches."""
        shop = self.shop
        kerfs = {"table saw": shop.rip_kerf, "bandsaw": shop.bandsaw_kerf + shop.bandsaw_skim}
        return kerfs.get(self.saw, 0)

    @property
    def over(self) -> int:
        """What lies beyond the last piece where the planer takes it; 0 where it is sawn off or nothing is over."""
        rest = self.depth - in_order(self.spans)[-1].end if self.spans else 0
        return rest if 0 < rest <= self.shop.plane_off else 0

    @property
    def cuts(self) -> tuple[list[int], int]:
        """The sizes at which pieces are sawn off, a pass each, and how many odd cuts go before pieces."""
        row = in_order(self.spans)
        sizes = [span.size for span in row if self.depth - span.end > self.shop.plane_off]
        ends = [0, *(span.end for span in row)]
        return sizes, sum(span.start - end > self.kerf for span, end in zip(row, ends, strict=False))


def in_order(spans: Sequence[Span]) -> list[Span]:
    """Return pieces in their order along the axis, whatever order they are listed in."""
    return sorted(spans, key=lambda span: (span.start, span.end))


def leftovers(spans: Sequence[Span], room: tuple[int, int], kerf: int) -> Iterator[tuple[int, int]]:
    """Yield what no piece takes (R11): from a row's start, end or neighbour on, less a kerf at each piece."""
    row = in_order(spans)
    starts = [room[0], *(span.end + kerf for span in row)]
    ends = [*(span.start - kerf for span in row), room[1]]
    return ((start, end) for start, end in zip(starts, ends, strict=True) if start < end)


def dust(spans: Sequence[Span], room: tuple[int, int], kerf: int) -> int:
    """Return how much of a row's gaps is dust: at most a kerf at either end, two between neighbours."""
    if not spans:
        return 0
    row = in_order(spans)
    ends = min(max(row[0].start - room[0], 0), kerf) + min(max(room[1] - row[-1].end, 0), kerf)
    return ends + sum(min(max(after.start - before.end, 0), 2 * kerf) for before, after in pairwise(row))


def check_mark(notes: Notebook, what: str, steps: int) -> None:
    """Check that a length is a whole number of marks: what no rule can show is not planned."""
    if steps % notes.shop.mark:
        mark = notes.size(notes.shop.mark)
        notes.note("marks", f"its {what} is {notes.size(steps)}, not a whole number of marks of {mark}")


def check_row(
    notes: Notebook, spans: Sequence[Span], room: tuple[int, int], kerf: int, rule: Literal["R4", "R8"] = "R8"
) -> None:
    """Check that pieces lie on marks, end after they start, in order, in ``room``, and a kerf apart (R5 across)."""
    right = []
    for span in spans:
        here, runs = notes.at(span.name), f"it runs from {notes.span(span.start, span.end)}"
        check_mark(here, "start", span.start)
        check_mark(here, "end", span.end)
        if span.start >= span.end:
            here.note(rule, f"{runs}; it must end after it starts")
            continue
        right.append(span)
        if span.start < room[0] or span.end > room[1]:
            here.note(rule, f"{runs}; there is room only from {notes.span(*room)}")
    if right != in_order(right):
        notes.note(rule, "its pieces are not listed in the order in which they are sawn")
    for before, after in pairwise(in_order(right)):
        gap, pair = after.start - before.end, notes.at(f"{before.name} and {after.name}")
        if gap < 0:
            pair.note(rule, f"they overlap by {notes.size(-gap)}")
        elif gap < kerf:
            apart = f"they are {notes.size(gap)} apart; the saw takes {notes.size(kerf)}"
            pair.note("R5" if rule == "R4" else rule, apart)


def check_sawn_row(notes: Notebook, row: Row) -> None:
    """Check strips, layers or sticks across a box (R4), and that a saw makes their cuts (R5)."""
    check_row(notes, row.spans, (0, row.depth), row.kerf, "R4")
    sizes, odd = row.cuts
    if not row.saw and (sizes or odd or len(row.spans) > 1):
        saws, resaw = max(row.shop.saw_depth, row.shop.bandsaw_height), notes.size(row.shop.resaw_height)
        high = f"the cuts are {notes.size(row.height)} high"
        notes.note("R5", f"{high}; the saws reach {notes.size(saws)}, in a resaw {resaw}")
