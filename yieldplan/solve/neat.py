"""Fewer crosscuts for a cutting that stays what it is: blanks moved along their sticks (the last half of aim 4).

A blank that ends where its stick does, or starts there, or a kerf from its neighbour saves a crosscut. Rows of blanks
are pushed to the stick's start and to its end, in any order, and whatever takes fewest crosscuts is taken. Nothing that
is worth anything moves: sticks with remainders stay as they are. A billet that is moved to the end of its offcut saves
one too, or, if it keeps nothing, one that is lengthened up to there, if it still may be milled (:func:`at_the_ends`).
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from itertools import chain, islice, permutations, product
from typing import TYPE_CHECKING, NamedTuple

from yieldplan.model import Billet, SplitBillet, count_crosscuts, crosscuts, edge_loss, face_loss
from yieldplan.solve.account import account
from yieldplan.solve.columns import Column
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from typing import Literal

    from yieldplan.model import Blank, CutBlank, Defect, Job, Offcut, Plan, Segment, Stick, Strip

MOST_ORDERS = 24
"""Orders of the blanks of a stick that are tried."""

Interval = tuple[int, int]


def tidied(column: Column, offcut: Offcut, job: Job) -> Column:
    """Return a column with the fewest crosscuts that its blanks can be moved to."""
    segments = tuple(_segment(segment, offcut, job) for segment in column.cutting())
    cuts = count_crosscuts(segments, offcut.length, job.shop.crosscut_kerf)
    if cuts >= column.crosscuts:
        return column
    return replace(column, crosscuts=cuts, cutting=partial(tuple, segments))


def neatened(job: Job, found: Plan) -> Plan:
    """Return a plan that cuts what another one does, with fewer crosscuts where that can be.

    Of its cuttings surplus blanks have been left out, so that there may be more to save than on the columns.
    """
    drawn = []
    for piece in found.offcuts:
        offcut = job.offcut(piece.offcut)
        cuts = count_crosscuts(piece.segments, offcut.length, job.shop.crosscut_kerf)
        column = Column(
            stock=0, counts=(), cost=0, low=0, crosscuts=cuts, cutting=partial(tuple, piece.segments)
        )
        tidy = tidied(column, offcut, job)
        best = replace(piece, segments=tidy.cutting())
        for moved in sorted(at_the_ends(tidy, offcut, job), key=lambda column: column.crosscuts):
            other = replace(piece, segments=moved.cutting())
            breaches = verify(job, replace(found, offcuts=(other,)))
            if not any(breach.rule.startswith("R") for breach in breaches):
                best = other
                break
        drawn.append(best)
    return replace(found, offcuts=tuple(drawn), account=account(job, drawn))


def at_the_ends(column: Column, offcut: Offcut, job: Job) -> Iterator[Column]:
    """Yield the column with its outer billets at the ends of the offcut where that saves a crosscut.

    Whether its blanks may still be milled so (R3, R7, R9) is not asked.
    """
    segments = column.cutting()
    first, last = (_placed(segments[-side], offcut, job, side) for side in (0, 1))
    for ends in product(first, last) if len(segments) > 1 else ((one,) for one in chain(first, last)):
        moved = (*ends[:1], *segments[1:-1], *ends[1:])
        whole = tuple(_segment(segment, offcut, job) for segment in moved)
        cuts = count_crosscuts(whole, offcut.length, job.shop.crosscut_kerf)
        if cuts < column.crosscuts:
            yield replace(column, crosscuts=cuts, cutting=partial(tuple, whole))


def _placed(segment: Segment, offcut: Offcut, job: Job, side: int) -> Iterator[Segment]:
    """Yield an outer segment as it is, and a billet moved or lengthened to an end of its offcut (A: 0, B: 1).

    A lengthened one also up to both, and with its pieces pushed to either edge and either face.
    """
    yield segment
    if not isinstance(segment, Billet):
        return
    yield _moved(segment, (offcut.length - segment.end) if side else -segment.start)
    if _keeps(segment):
        return
    for start, end in ((segment.start, offcut.length) if side else (0, segment.end), (0, offcut.length)):
        if not any(start < kink < end for kink in offcut.kinks):
            longer = replace(
                segment,
                start=start,
                end=end,
                face_loss=face_loss(offcut, end - start, job.shop, start),
                edge_loss=edge_loss(offcut, end - start, job.shop, start),
            )
            yield longer
            for up, deep in product((False, True), repeat=2):
                yield _pushed_across(longer, offcut, (up, deep))


def _moved(billet: Billet, by: int) -> Billet:
    """Return a billet moved along the offcut with all that is in it."""
    return replace(
        billet,
        start=billet.start + by,
        end=billet.end + by,
        strips=tuple(
            replace(
                strip,
                sticks=tuple(
                    replace(
                        stick,
                        blanks=tuple(replace(c, start=c.start + by, end=c.end + by) for c in stick.blanks),
                        keepers=tuple(replace(k, start=k.start + by, end=k.end + by) for k in stick.keepers),
                    )
                    for stick in strip.sticks
                ),
            )
            for strip in billet.strips
        ),
    )


def _pushed_across(billet: Billet, offcut: Offcut, far: tuple[bool, bool]) -> Billet:
    """Return a billet with its strips, and the sticks in each, moved together to one side of its box."""
    box = (offcut.width - billet.edge_loss, offcut.thickness - billet.face_loss)
    high, deep = box if billet.layout == "rip first" else box[::-1]
    by = high - billet.strips[-1].end if far[0] else -billet.strips[0].start
    strips = []
    for strip in billet.strips:
        up = deep - strip.sticks[-1].end if far[1] else -strip.sticks[0].start
        sticks = tuple(replace(stick, start=stick.start + up, end=stick.end + up) for stick in strip.sticks)
        strips.append(replace(strip, start=strip.start + by, end=strip.end + by, sticks=sticks))
    return replace(billet, strips=tuple(strips))


def _keeps(billet: Billet) -> bool:
    return any(
        strip.keeper or any(stick.keeper or stick.keepers for stick in strip.sticks)
        for strip in billet.strips
    )


def _segment(segment: Segment, offcut: Offcut, job: Job) -> Segment:
    if isinstance(segment, Billet):
        return _billet(segment, offcut, offcut.defects, job)
    if isinstance(segment, SplitBillet):
        shift = segment.split + job.shop.bandsaw_kerf
        moved = tuple(replace(d, y1=d.y1 - shift, y2=d.y2 - shift) for d in offcut.defects)
        near, far = segment.halves
        return replace(
            segment, halves=(_billet(near, offcut, offcut.defects, job), _billet(far, offcut, moved, job))
        )
    return segment


def _billet(billet: Billet, offcut: Offcut, defects: Sequence[Defect], job: Job) -> Billet:
    return replace(
        billet,
        strips=tuple(
            replace(
                strip,
                sticks=tuple(_stick(stick, strip, billet, offcut, defects, job) for stick in strip.sticks),
            )
            for strip in billet.strips
        ),
    )


def _stick(
    stick: Stick, strip: Strip, billet: Billet, offcut: Offcut, defects: Sequence[Defect], job: Job
) -> Stick:
    kerf = job.shop.crosscut_kerf
    if not stick.blanks or stick.keepers:
        return stick
    spans = [(cut.start, cut.end) for cut in stick.blanks]
    least = crosscuts(spans, billet.start, billet.end, kerf)
    if least < len(spans):
        return stick
    one, other = (strip.start, strip.end), (stick.start, stick.end)
    across, up = (one, other) if billet.layout == "rip first" else (other, one)
    met = [d for d in defects if _meets(d, billet, across, up, job)]
    room = (
        max(billet.start + job.shop.snipe, job.shop.end_trim),
        min(billet.end - job.shop.snipe, offcut.length - job.shop.end_trim),
    )
    best = stick.blanks
    filled = sum(end - start for start, end in spans) + kerf * (len(spans) - 1) == billet.end - billet.start
    fewest = len(spans) - filled + (room[0] > billet.start and room[1] < billet.end)
    orders = islice(permutations(stick.blanks), MOST_ORDERS if met else 1)
    for order in orders:
        if least <= fewest:
            break
        row = _Row([(cut, job.blank(cut.blank)) for cut in order], met, room, kerf)
        for found in row.placings():
            cuts = crosscuts([(cut.start, cut.end) for cut in found], billet.start, billet.end, kerf)
            if cuts < least:
                best, least = found, cuts
    return replace(stick, blanks=best)


def _meets(d: Defect, billet: Billet, across: Interval, up: Interval, job: Job) -> bool:
    """Return whether a defect meets a stick on both axes, once the billet is straight (R9)."""
    shop = job.shop
    y = d.y1 - billet.edge_loss < across[1] and across[0] < d.y2 - shop.edge_skim
    return y and (d.through or (d.z1 - billet.face_loss < up[1] and up[0] < d.z2 - shop.face_skim))


class _Row(NamedTuple):
    """Blanks of a stick in some order, the defects that it meets, where they may lie, and the crosscut kerf."""

    cuts: Sequence[tuple[CutBlank, Blank]]
    met: Sequence[Defect]
    room: Interval
    kerf: int

    def placings(self) -> list[tuple[CutBlank, ...]]:
        """Return the rows with the first so many blanks pushed to the start and the others to the end."""
        found = []
        for first in range(len(self.cuts), -1, -1):
            near = self._pushed(self.cuts[:first], self.room[0], 1)
            far = self._pushed(self.cuts[first:][::-1], self.room[1], -1)
            if near is None or far is None:
                continue
            if not near or not far or near[-1].end + self.kerf <= far[-1].start:
                found.append((*near, *far[::-1]))
        return found

    def _pushed(self, cuts: Sequence[tuple[CutBlank, Blank]], at: int, way: int) -> list[CutBlank] | None:
        """Return blanks each as close to ``at`` as may be, one way or the other; None where they do not fit."""
        placed: list[CutBlank] = []
        for cut, blank in cuts:
            span = cut.end - cut.start
            stops = {at, *((d.x2 if way > 0 else d.x1) for d in self.met)}
            stops |= {stop - way * (span - blank.clear_end) for stop in stops if blank.clear_end}
            for stop in sorted((stop for stop in stops if way * (stop - at) >= 0), reverse=way < 0):
                start = stop if way > 0 else stop - span
                end = self._clear_end(blank, start, start + span)
                if end and self.room[0] <= start and start + span <= self.room[1]:
                    placed.append(replace(cut, start=start, end=start + span, clear_end=end))
                    at = stop + way * (span + self.kerf)
                    break
            else:
                return None
        return placed

    def _clear_end(self, blank: Blank, start: int, end: int) -> Literal["A", "B"] | None:
        """Return which end of a blank is clear, None where it may not lie there (R9)."""
        hit = [d for d in self.met if d.x1 < end and start < d.x2]
        if any(not blank.allows_kind(d.kind) for d in hit):
            return None
        if not (blank.clear_end and any(d.x1 < start + blank.clear_end and start < d.x2 for d in hit)):
            return "A"
        return None if any(d.x1 < end and end - blank.clear_end < d.x2 for d in hit) else "B"
