"""From chosen columns to a plan: which copies, which blanks are needed and which extra, and the account."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model import Billet, CutBlank, OffcutPlan, Plan, Proof, SplitBillet, Stick, Strip, WholeKeeper
from yieldplan.solve.account import account
from yieldplan.solve.columns import keepers_worth, sticks_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from yieldplan.model import Job, Segment, Shop
    from yieldplan.solve.columns import Column, Segments
    from yieldplan.solve.stock import Stock


def make_plan(
    job: Job, stocks: Sequence[Stock], used: Sequence[Column], bound: float, *, settled: bool
) -> Plan:
    """Return the plan of the columns used, with its proof.

    Parameters
    ----------
    job, stocks
        What was planned.
    used
        A column for each offcut drawn.
    bound
        Of the net worth drawn; anything above the plan's own is lowered to it.
    settled
        Whether aim 1 is known to be at its best.
    """
    cut, counts, extras = _shared_out(job, used)
    drawn, net = [], 0
    taken: dict[int, int] = {}
    for column, segments in sorted(
        zip(used, cut, strict=True), key=lambda pair: (pair[0].stock, pair[0].counts, pair[0].cost)
    ):
        if segments is None:
            continue
        stock = stocks[column.stock]
        name, copy = stock.members[taken.setdefault(column.stock, 0)]
        taken[column.stock] += 1
        kept = _without_bare(segments, stock, job.shop)
        net += stock.cost - keepers_worth(kept, stock.offcut, job)
        drawn.append(OffcutPlan(offcut=name, copy=copy, segments=kept))
    order = {offcut.name: index for index, offcut in enumerate(job.offcuts)}
    drawn.sort(key=lambda piece: (order[piece.offcut], piece.copy))
    missing = {blank.name: blank.need - counts[blank.name] for blank in job.blanks}
    by_class: dict[int, int] = {}
    for blank in job.blanks:
        by_class[blank.priority] = by_class.get(blank.priority, 0) + missing[blank.name]
    floor = min(net, max(0, bound)) if bound > float("-inf") else 0
    floor = int(floor)
    return Plan(
        input_name=job.name,
        input_sha256=job.sha256,
        proof=Proof(
            missing=tuple(sorted(by_class.items())),
            net_worth=net,
            bound=floor,
            gap=(net - floor) / max(net, 1),
            proven=settled and floor == net,
        ),
        made=tuple(counts.items()),
        extra=tuple(extras.items()),
        missing=tuple(missing.items()),
        account=account(job, drawn),
        offcuts=tuple(drawn),
    )


def _shared_out(
    job: Job, used: Sequence[Column]
) -> tuple[list[Segments | None], dict[str, int], dict[str, int]]:
    """Return the cuttings with each blank marked needed or extra, and surplus ones left out.

    Every cutting keeps a needed blank of its own; one that cannot is dropped (None).
    """
    names = [blank.name for blank in job.blanks]
    quota = {blank.name: blank.need for blank in job.blanks}
    held = [[n for n, c in zip(names, column.counts, strict=True) if c] for column in used]
    given: dict[int, str] = {}

    def give(index: int, seen: set[str]) -> bool:
        for name in held[index]:
            if name in seen:
                continue
            seen.add(name)
            holders = [i for i, other in given.items() if other == name]
            if len(holders) < quota[name] or any(give(other, seen) for other in holders):
                given[index] = name
                return True
        return False

    for index in sorted(range(len(used)), key=lambda i: (len(held[i]), i)):
        give(index, set())
    left = dict(quota)
    for name in given.values():
        left[name] -= 1
    room = {blank.name: blank.extra for blank in job.blanks}
    made = dict.fromkeys(names, 0)
    extras = dict.fromkeys(names, 0)
    result: list[Segments | None] = []
    for index, column in enumerate(used):
        own = given.get(index)
        if own is None:
            result.append(None)
            continue
        reserved = {own: 1}

        def mark(cut: CutBlank, reserved: dict[str, int] = reserved) -> CutBlank | None:
            if reserved.get(cut.blank):
                reserved[cut.blank] -= 1
            elif left[cut.blank]:
                left[cut.blank] -= 1
            elif room[cut.blank]:
                room[cut.blank] -= 1
                extras[cut.blank] += 1
                return replace(cut, extra=True)
            else:
                return None
            made[cut.blank] += 1
            return cut

        result.append(tuple(_marked(segment, mark) for segment in column.cutting()))
    return result, made, extras


def _marked(segment: Segment, mark: Callable[[CutBlank], CutBlank | None]) -> Segment:
    if isinstance(segment, WholeKeeper):
        return segment
    if isinstance(segment, SplitBillet):
        near, far = (_with_marks(half, mark) for half in segment.halves)
        return replace(segment, halves=(near, far))
    return _with_marks(segment, mark)


def _with_marks(billet: Billet, mark: Callable[[CutBlank], CutBlank | None]) -> Billet:
    def stick(one: Stick) -> Stick:
        return replace(one, blanks=tuple(cut for cut in map(mark, one.blanks) if cut))

    strips = tuple(replace(s, sticks=tuple(map(stick, s.sticks))) for s in billet.strips)
    return replace(billet, strips=strips)


def only(segments: Segments, stock: Stock, shop: Shop, names: Collection[str]) -> Segments:
    """Return a cutting with blanks of some names alone, the others left out."""
    alone = (_marked(segment, lambda cut: cut if cut.blank in names else None) for segment in segments)
    return _without_bare(tuple(alone), stock, shop)


def _without_bare(segments: Segments, stock: Stock, shop: Shop) -> Segments:
    """Return a cutting without what carries nothing any more: it is kept where it may be."""
    whole = (_tidy(segment, stock, shop) for segment in segments)
    return _joined([segment for segment in whole if segment is not None], shop)


def _joined(segments: Sequence[Segment], shop: Shop) -> Segments:
    """Return segments with whole keepers that are a cut apart made one."""
    found: list[Segment] = []
    for segment in segments:
        last = found[-1] if found else None
        if (
            isinstance(segment, WholeKeeper)
            and isinstance(last, WholeKeeper)
            and last.end + shop.crosscut_kerf == segment.start
        ):
            found[-1] = WholeKeeper(start=last.start, end=segment.end)
        else:
            found.append(segment)
    return tuple(found)


def _tidy(segment: Segment, stock: Stock, shop: Shop) -> Segment | None:
    """Return a segment without sticks that carry nothing; without any that does it is kept whole where it may be."""
    if isinstance(segment, WholeKeeper):
        return segment
    tidy: Segment
    if isinstance(segment, SplitBillet):
        near, far = (_tidy_billet(half, shop) for half in segment.halves)
        tidy = replace(segment, halves=(near, far))
    else:
        tidy = _tidy_billet(segment, shop)
    if any(stick.blanks for stick in sticks_of(tidy)):
        return tidy
    if shop.keeper_length <= segment.end - segment.start < stock.offcut.length:
        return WholeKeeper(start=segment.start, end=segment.end)
    return None


def _tidy_billet(billet: Billet, shop: Shop) -> Billet:
    """Return a billet without sticks that carry nothing: they become keepers where they may."""
    long_enough = billet.end - billet.start >= shop.keeper_length
    wide, thin = max(shop.keeper_width, shop.keeper_thickness), min(shop.keeper_width, shop.keeper_thickness)
    strips = []
    for strip in billet.strips:
        size = strip.end - strip.start
        sticks = []
        for stick in strip.sticks:
            rough = (size, stick.end - stick.start)
            if stick.keeper or stick.blanks:
                sticks.append(stick)
            elif long_enough and max(rough) >= wide and min(rough) >= thin:
                sticks.append(Stick(start=stick.start, end=stick.end, keeper=True))
        if sticks or strip.keeper:
            strips.append(Strip(start=strip.start, end=strip.end, keeper=strip.keeper, sticks=tuple(sticks)))
    return replace(billet, strips=tuple(strips))
