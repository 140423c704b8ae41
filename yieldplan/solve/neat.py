"""Fewer crosscuts for a cutting that stays what it is: blanks moved along their sticks (the last half of aim 4).

A blank that ends where its stick does, or starts there, or a kerf from its neighbour saves a crosscut. Rows of blanks
are pushed to the stick's start and to its end, in any order, and whatever takes fewest crosscuts is taken. Nothing
that is worth anything moves: sticks with remainders stay as they are. A billet that is moved up to an end of its
offcut, or to its neighbour, saves one too, and so, if it keeps nothing, does one that is lengthened up to there or cut
as short as its blanks, if it still may be milled (:func:`placed_otherwise`).
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from itertools import combinations, compress, islice, permutations, product
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from yieldplan.model import (
    Billet,
    SplitBillet,
    WholeKeeper,
    billets_of,
    count_crosscuts,
    crosscuts,
    edge_loss,
    face_loss,
    halves,
    plan_crosscuts,
    split_range,
)
from yieldplan.solve.account import account
from yieldplan.solve.columns import Column, sticks_of
from yieldplan.solve.positions import few
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from typing import Literal

    from yieldplan.model import (
        Blank,
        CutBlank,
        Defect,
        Job,
        Keeper,
        Offcut,
        OffcutPlan,
        Plan,
        Segment,
        Shop,
        Stick,
        Strip,
    )
    from yieldplan.solve.columns import Segments

MOST_ORDERS = 24
"""Orders of the blanks of a stick, and of the columns of a plan with surplus blanks, that are tried."""

MEETINGS = 8
"""Parts of the gap between two billets at whose ends they are made to meet."""

Interval = tuple[int, int]

T = TypeVar("T", "Billet", "WholeKeeper", "Strip", "Stick", "CutBlank", "Keeper")


def tidied(column: Column, offcut: Offcut, job: Job) -> Column:
    """Return a column with the fewest crosscuts that its blanks can be moved to."""
    segments = tuple(_segment(segment, offcut, job) for segment in column.cutting())
    cuts = count_crosscuts(segments, offcut.length, job.shop.crosscut_kerf)
    if cuts >= column.crosscuts:
        return column
    return replace(column, crosscuts=cuts, cutting=partial(tuple, segments))


def neatest(job: Job, used: Sequence[Column], plan_of: Callable[[Sequence[Column]], Plan]) -> Plan:
    """Return the neatened plan of columns that leaves out surplus blanks where that saves most.

    ``plan_of`` makes plans of columns, in which the last ones leave out what is too much: each that can be is made the
    last one in turn, and stays that where it is better.
    """
    known: dict[OffcutPlan, OffcutPlan] = {}
    over = [sum(c.counts[k] for c in used) > b.need + b.extra for k, b in enumerate(job.blanks)]
    holders = (column for column in dict.fromkeys(used) if any(compress(column.counts, over)))
    best, order = neatened(job, plan_of(used), known), list(used)
    for column in islice(holders, MOST_ORDERS):
        last = [*order, column]
        last.remove(column)
        other = neatened(job, plan_of(last), known)
        if _drawn(job, other) < _drawn(job, best):
            best, order = other, last
    return best


def _drawn(job: Job, found: Plan) -> tuple[int, int, int]:
    """Return what a plan draws, of how many offcuts, and its crosscuts."""
    return found.proof.net_worth, len(found.offcuts), plan_crosscuts(job, found)


def neatened(job: Job, found: Plan, known: dict[OffcutPlan, OffcutPlan] | None = None) -> Plan:
    """Return a plan that cuts what another one does, with fewer crosscuts where that can be.

    Of its cuttings surplus blanks have been left out, so that there may be more to save than on the columns. ``known``
    remembers what was found for each piece.
    """
    known = {} if known is None else known
    for piece in found.offcuts:
        if piece not in known:
            known[piece] = _neat_piece(piece, found, job)
    drawn = [known[piece] for piece in found.offcuts]
    return replace(found, offcuts=tuple(drawn), account=account(job, drawn))


def _neat_piece(piece: OffcutPlan, found: Plan, job: Job) -> OffcutPlan:
    """Return what is done with an offcut, with fewer crosscuts where that can be."""
    offcut = job.offcut(piece.offcut)
    cuts = count_crosscuts(piece.segments, offcut.length, job.shop.crosscut_kerf)
    column = Column(stock=0, counts=(), cost=0, low=0, crosscuts=cuts, cutting=partial(tuple, piece.segments))
    best = tidied(column, offcut, job)
    while better := _better(best, piece, found, job):
        best = better
    return replace(piece, segments=best.cutting())


def _better(column: Column, piece: OffcutPlan, found: Plan, job: Job) -> Column | None:
    """Return the cutting of a piece with one segment placed otherwise, if that saves a crosscut and keeps the rules."""
    for moved in sorted(
        placed_otherwise(column, job.offcut(piece.offcut), job), key=lambda one: one.crosscuts
    ):
        other = replace(piece, segments=moved.cutting())
        breaches = verify(job, replace(found, offcuts=(other,)))
        if not any(breach.rule.startswith("R") for breach in breaches):
            return moved
    return None


def placed_otherwise(column: Column, offcut: Offcut, job: Job) -> Iterator[Column]:
    """Yield the column with one of its billets placed otherwise where that saves a crosscut.

    So that it follows all that lies on one side of it, which is moved to that end of the offcut, among other things.
    Whether its blanks may still be milled so (R3, R7, R9) is not asked.
    """
    cut, shop, kerf = column.cutting(), job.shop, job.shop.crosscut_kerf
    for at in range(len(cut)):
        to_end_a = tuple(_by(segment, -cut[0].start, offcut, shop) for segment in cut[:at])
        to_end_b = tuple(_by(segment, offcut.length - cut[-1].end, offcut, shop) for segment in cut[at + 1 :])
        sides = ((cut[:at], cut[at + 1 :]), (to_end_a, cut[at + 1 :]), (cut[:at], to_end_b))
        for before, after in dict.fromkeys(sides):
            room = (
                before[-1].end + kerf if before else 0,
                after[0].start - kerf if after else offcut.length,
            )
            placed: list[tuple[Segments, Segments]]
            placed = [((other,), after) for other in _placed(cut[at], offcut, job, room)]
            if after:
                beyond = after[1].start - kerf if after[1:] else offcut.length
                met = _met(cut[at], after[0], offcut, shop, (room[0], beyond))
                placed += [(two, after[1:]) for two in met]
            for changed, rest in placed:
                whole = (*before, *(_segment(one, offcut, job) for one in changed), *rest)
                cuts = count_crosscuts(whole, offcut.length, kerf)
                if cuts < column.crosscuts:
                    yield replace(column, crosscuts=cuts, cutting=partial(tuple, whole))


def _placed(segment: Segment, offcut: Offcut, job: Job, room: Interval) -> Iterator[Segment]:
    """Yield a billet moved to either end of the room between its neighbours, and what else it may be made of.

    The strips as they are and from the other side, sticks pushed to either side of those that keep nothing. If none of
    it keeps anything: lengthened to one end or both, or as short as its blanks, there or pushed together, each also
    with its pieces pushed to either edge and either face, laid close together, and turned over.
    """
    if isinstance(segment, WholeKeeper):
        return
    for by in dict.fromkeys((0, room[0] - segment.start, room[1] - segment.end)):
        moved = _by(segment, by, offcut, job.shop)
        yield moved
        if isinstance(moved, Billet):
            for laid, deep in product((moved, _mirrored(moved, offcut)), (False, True)):
                yield _sticks_pushed(laid, offcut, deep=deep)
    if any(map(_keeps, billets_of(segment))):
        return
    rows = [stick.blanks for stick in sticks_of(segment)]
    short = (
        max(room[0], min(row[0].start for row in rows) - job.shop.snipe),
        min(room[1], max(row[-1].end for row in rows) + job.shop.snipe),
    )
    kerf, snipe = job.shop.crosscut_kerf, job.shop.snipe
    longest = max(sum(cut.end - cut.start + kerf for cut in row) - kerf for row in rows) + 2 * snipe
    least = max(longest, job.shop.shortest_machined_length)
    shortest = [(at, at + least) for at in (segment.start, room[0]) if at + least <= room[1]]
    shortest += [(at - least, at) for at in (segment.end, room[1]) if at - least >= room[0]]
    runs = ((segment.start, room[1]), (room[0], segment.end), room, short, *shortest)
    if isinstance(segment, Billet):
        yield from _on_one_stick(segment, kerf)
    for start, end in dict.fromkeys(runs):
        yield from _longer_and_laid(segment, offcut, job.shop, (start, end))


def _on_one_stick(billet: Billet, kerf: int) -> Iterator[Billet]:
    """Yield a billet that keeps nothing with the blanks of two sticks of one section on the first of them."""
    places = [(i, j) for i, strip in enumerate(billet.strips) for j in range(len(strip.sticks))]
    for (i, a), (j, b) in combinations(places, 2):
        rows = [list(strip.sticks) for strip in billet.strips]
        one, other = rows[i][a], rows[j][b]
        if (one.end - one.start, one.turned) == (other.end - other.start, other.turned):
            row = in_a_row((*one.blanks, *other.blanks), kerf)
            rows[i][a] = replace(one, blanks=tuple(moved_on(cut, one.blanks[0].start) for cut in row))
            del rows[j][b]
            left = compress(zip(billet.strips, rows, strict=True), rows)
            yield replace(billet, strips=tuple(replace(strip, sticks=tuple(row)) for strip, row in left))


def _longer(
    segment: Billet | SplitBillet, offcut: Offcut, shop: Shop, run: Interval
) -> Iterator[Billet | SplitBillet]:
    """Yield a billet that keeps nothing with other ends, if no kink lies between; a split one also split elsewhere."""
    if any(run[0] < kink < run[1] for kink in offcut.kinks):
        return
    change = partial(_from_to, start=run[0], end=run[1], shop=shop)
    yield changed(segment, offcut, shop, change)
    if isinstance(segment, SplitBillet):
        for place in few(split_range(offcut, shop), MOST_ORDERS):
            yield changed(replace(segment, split=place), offcut, shop, change)


def _longer_and_laid(
    segment: Billet | SplitBillet, offcut: Offcut, shop: Shop, run: Interval
) -> Iterator[Billet | SplitBillet]:
    """Yield what :func:`_longer` does, and each of it with its pieces laid otherwise."""
    for longer in _longer(segment, offcut, shop, run):
        yield longer
        if isinstance(longer, Billet):
            yield from _laid_otherwise(longer, offcut, shop)


def _met(
    one: Segment, other: Segment, offcut: Offcut, shop: Shop, room: Interval
) -> Iterator[tuple[Segment, Segment]]:
    """Yield two billets that keep nothing lengthened until they meet, at some places between them and at kinks.

    They begin and end where they do, or where the room for both does; with their pieces as they are, or laid otherwise.
    """
    kerf, gap = shop.crosscut_kerf, other.start - shop.crosscut_kerf - one.end
    if isinstance(one, WholeKeeper) or isinstance(other, WholeKeeper) or gap <= 0:
        return
    if any(map(_keeps, (*billets_of(one), *billets_of(other)))):
        return
    places = {one.end + gap * part // MEETINGS for part in range(1, MEETINGS)}
    places |= {at for kink in offcut.kinks for at in (kink - kerf, kink) if one.end <= at <= one.end + gap}
    starts, ends = dict.fromkeys((one.start, room[0])), dict.fromkeys((other.end, room[1]))
    for at, start, end in product(sorted(places), starts, ends):
        first, second = (start, at), (at + kerf, end)
        yield from product(_longer(one, offcut, shop, first), _longer(other, offcut, shop, second))
        yield from zip(
            _longer_and_laid(one, offcut, shop, first),
            _longer_and_laid(other, offcut, shop, second),
            strict=False,
        )


def _laid_otherwise(billet: Billet, offcut: Offcut, shop: Shop) -> Iterator[Billet]:
    """Yield a billet with its pieces as they are, close together and turned, each pushed to both edges and faces."""
    close = _close_together(billet, offcut, shop)
    for laid in (billet, close, _sticks_together(close, shop), _turned(billet, offcut, shop)):
        for up, deep in product((False, True), repeat=2):
            yield _pushed_across(laid, offcut, (up, deep))


def _by(segment: Segment, by: int, offcut: Offcut, shop: Shop) -> Segment:
    """Return a segment moved along the offcut."""
    if isinstance(segment, WholeKeeper):
        return moved_on(segment, by)
    return changed(segment, offcut, shop, partial(_moved, by=by))


def changed(
    segment: Billet | SplitBillet, offcut: Offcut, shop: Shop, change: Callable[[Billet, Offcut], Billet]
) -> Billet | SplitBillet:
    """Return a segment with its billet, or both of its halves, changed; each is told the wood it is jointed from."""
    if isinstance(segment, Billet):
        return change(segment, offcut)
    woods = halves(offcut, segment.split, shop)
    near, far = (change(half, wood) for half, wood in zip(segment.halves, woods, strict=True))
    return replace(segment, start=near.start, end=near.end, halves=(near, far))


def _from_to(billet: Billet, wood: Offcut, start: int, end: int, shop: Shop) -> Billet:
    """Return a billet of another length, with the losses that it has then (R3)."""
    return replace(
        billet,
        start=start,
        end=end,
        face_loss=face_loss(wood, end - start, shop, start),
        edge_loss=edge_loss(wood, end - start, shop, start),
    )


def _close_together(billet: Billet, offcut: Offcut, shop: Shop) -> Billet:
    """Return a billet with its strips a kerf apart."""
    height = offcut.thickness if billet.layout == "rip first" else offcut.width
    kerf = shop.kerf_at(height) or 0  # where no saw reaches there is but one strip
    return replace(billet, strips=in_a_row(billet.strips, kerf))


def _sticks_together(billet: Billet, shop: Shop) -> Billet:
    """Return a billet with the sticks of each strip a kerf apart."""
    strips = (
        replace(strip, sticks=in_a_row(strip.sticks, shop.kerf_at(strip.end - strip.start) or 0))
        for strip in billet.strips
    )
    return replace(billet, strips=tuple(strips))


def in_a_row(pieces: Sequence[T], kerf: int) -> tuple[T, ...]:
    """Return pieces a kerf apart, the first one at 0."""
    placed: list[T] = []
    for piece in pieces:
        at = placed[-1].end + kerf if placed else 0
        placed.append(moved_on(piece, at - piece.start))
    return tuple(placed)


def moved_on(piece: T, by: int) -> T:
    """Return a piece moved on, without what is in it."""
    return replace(piece, start=piece.start + by, end=piece.end + by)


def _box(billet: Billet, offcut: Offcut) -> Interval:
    """Return the size of a billet's box across its strips, and across their sticks (R3)."""
    high, deep = offcut.width - billet.edge_loss, offcut.thickness - billet.face_loss
    return (high, deep) if billet.layout == "rip first" else (deep, high)


def _mirrored(billet: Billet, offcut: Offcut) -> Billet:
    """Return a billet with its strips in order from the other side of its box."""
    size, _ = _box(billet, offcut)
    strips = (replace(one, start=size - one.end, end=size - one.start) for one in billet.strips[::-1])
    return replace(billet, strips=tuple(strips))


def _sticks_pushed(billet: Billet, offcut: Offcut, *, deep: bool) -> Billet:
    """Return a billet with the sticks of each strip that keeps nothing moved together to one side of it."""
    _, size = _box(billet, offcut)
    strips = []
    for strip in billet.strips:
        if strip.sticks and not any(stick.keeper for stick in strip.sticks):
            by = size - strip.sticks[-1].end if deep else -strip.sticks[0].start
            strips.append(replace(strip, sticks=tuple(moved_on(stick, by) for stick in strip.sticks)))
        else:
            strips.append(strip)
    return replace(billet, strips=tuple(strips))


def _turned(billet: Billet, offcut: Offcut, shop: Shop) -> Billet:
    """Return a billet with the only stick of each strip turned where it lay flat, and flat where it was turned."""
    if any(len(strip.sticks) != 1 for strip in billet.strips):
        return billet
    strips = []
    for strip in billet.strips:
        (stick,) = strip.sticks
        wide, deep = strip.end - strip.start, stick.end - stick.start
        over = replace(stick, start=0, end=wide, turned=not stick.turned)
        strips.append(replace(strip, start=0, end=deep, sticks=(over,)))
    return _close_together(replace(billet, strips=tuple(strips)), offcut, shop)


def _moved(billet: Billet, _: Offcut, by: int) -> Billet:
    """Return a billet moved along the offcut with all that is in it."""

    def stick(one: Stick) -> Stick:
        return replace(
            one,
            blanks=tuple(moved_on(cut, by) for cut in one.blanks),
            keepers=tuple(moved_on(keeper, by) for keeper in one.keepers),
        )

    strips = (replace(strip, sticks=tuple(map(stick, strip.sticks))) for strip in billet.strips)
    return replace(moved_on(billet, by), strips=tuple(strips))


def _pushed_across(billet: Billet, offcut: Offcut, far: tuple[bool, bool]) -> Billet:
    """Return a billet with its strips, and the sticks in each, moved together to one side of its box."""
    high, deep = _box(billet, offcut)
    by = high - billet.strips[-1].end if far[0] else -billet.strips[0].start
    strips = []
    for strip in billet.strips:
        up = deep - strip.sticks[-1].end if far[1] else -strip.sticks[0].start
        strips.append(
            replace(moved_on(strip, by), sticks=tuple(moved_on(stick, up) for stick in strip.sticks))
        )
    return replace(billet, strips=tuple(strips))


def _keeps(billet: Billet) -> bool:
    return any(
        strip.keeper or any(stick.keeper or stick.keepers for stick in strip.sticks)
        for strip in billet.strips
    )


def _segment(segment: Segment, offcut: Offcut, job: Job) -> Segment:
    if isinstance(segment, WholeKeeper):
        return segment
    return changed(segment, offcut, job.shop, lambda billet, wood: _billet(billet, wood, job))


def _billet(billet: Billet, wood: Offcut, job: Job) -> Billet:
    return replace(
        billet,
        strips=tuple(
            replace(strip, sticks=tuple(_stick(stick, strip, billet, wood, job) for stick in strip.sticks))
            for strip in billet.strips
        ),
    )


def _stick(stick: Stick, strip: Strip, billet: Billet, wood: Offcut, job: Job) -> Stick:
    kerf = job.shop.crosscut_kerf
    if not stick.blanks or stick.keepers:
        return stick
    spans = [(cut.start, cut.end) for cut in stick.blanks]
    least = crosscuts(spans, billet.start, billet.end, kerf)
    if least < len(spans):
        return stick
    one, other = (strip.start, strip.end), (stick.start, stick.end)
    across, up = (one, other) if billet.layout == "rip first" else (other, one)
    met = [d for d in wood.defects if _meets(d, billet, across, up, job)]
    room = (
        max(billet.start + job.shop.snipe, job.shop.end_trim),
        min(billet.end - job.shop.snipe, wood.length - job.shop.end_trim),
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
