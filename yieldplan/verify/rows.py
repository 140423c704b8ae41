"""Rows of pieces along one axis: inside, the right way round, a kerf apart, sawable (R4, R5, R8)."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

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


def saw_kerf(shop: Shop, height: int) -> int | None:
    """Return the kerf of a cut of this height: table saw, else bandsaw, else None (R5)."""
    for reach, kerf in ((shop.saw_depth, shop.rip_kerf), (shop.bandsaw_height, shop.bandsaw_kerf)):
        if height <= reach:
            return kerf
    return None


def check_row(
    notes: Notebook,
    where: str,
    spans: Iterable[Span],
    room: tuple[int, int],
    kerf: int,
    *,
    rules: tuple[Rule, Rule],
) -> None:
    """Check that pieces lie in ``room``, do not overlap (first rule) and are a kerf apart (second rule)."""
    shape_rule, gap_rule = rules
    low, high = room
    right = []
    for span in spans:
        if span.start >= span.end:
            notes.note(
                shape_rule,
                f"{where}, {span.name}",
                f"it runs from {notes.span(*span[1:])}; it must end after it starts",
            )
            continue
        right.append(span)
        if span.start < low or span.end > high:
            notes.note(
                shape_rule,
                f"{where}, {span.name}",
                f"it runs from {notes.span(*span[1:])}; there is room only from {notes.span(low, high)}",
            )
    right.sort(key=lambda span: (span.start, span.end))
    for before, after in pairwise(right):
        gap = after.start - before.end
        pair = f"{where}, {before.name} and {after.name}"
        if gap < 0:
            notes.note(shape_rule, pair, f"they overlap by {notes.size(-gap)}")
        elif gap < kerf:
            notes.note(gap_rule, pair, f"they are {notes.size(gap)} apart; the saw takes {notes.size(kerf)}")


def check_sawn_row(notes: Notebook, where: str, spans: list[Span], depth: int, height: int) -> None:
    """Check strips, layers or sticks across a box of ``depth``, parted by cuts of ``height`` (R4, R5)."""
    kerf = saw_kerf(notes.shop, height)
    check_row(notes, where, spans, (0, depth), kerf or 0, rules=("R4", "R5"))
    cut_needed = len(spans) > 1 or any(span.start > 0 or span.end < depth for span in spans)
    if kerf is None and cut_needed:
        reach = max(notes.shop.saw_depth, notes.shop.bandsaw_height)
        notes.note(
            "R5",
            where,
            f"the cuts are {notes.size(height)} high; the saws reach {notes.size(reach)}",
        )


def saw_cuts(spans: list[Span], room: tuple[int, int], kerf: int) -> int:
    """Return how many cuts free the pieces: one at an edge that is not reached, one or two between neighbours."""
    if not spans:
        return 0
    row = sorted(spans, key=lambda span: (span.start, span.end))
    at_edges = (row[0].start > room[0]) + (row[-1].end < room[1])
    return at_edges + sum(2 if after.start - before.end > kerf else 1 for before, after in pairwise(row))


def sawdust(spans: list[Span], room: tuple[int, int], kerf: int) -> int:
    """Return the length along the axis that the saw turns to dust.

    A piece that does not reach its edge is cut off once; between two neighbours one cut does where they are
    just a kerf apart, else each is cut on its own side of the waste.
    """
    if not spans:
        return 0
    row = sorted(spans, key=lambda span: (span.start, span.end))
    dust = min(max(row[0].start - room[0], 0), kerf) + min(max(room[1] - row[-1].end, 0), kerf)
    for before, after in pairwise(row):
        dust += min(max(after.start - before.end, 0), 2 * kerf)
    return dust
