"""What an offcut can yield, prepared once: which blanks suit it, where they fit, which billets to try.

Nothing here depends on prices, so every round of pricing uses it again. Like offcuts are one :class:`Stock`.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import (
    BOARD_FOOT,
    Blank,
    Defect,
    Job,
    Offcut,
    Shop,
    edge_loss,
    face_loss,
    halves,
    jointable,
    planed_section,
    ring_window,
    split_range,
    worth,
)
from yieldplan.model.losses import longest_blank
from yieldplan.model.moisture import movement
from yieldplan.model.words import fold
from yieldplan.solve.barriers import cares, ring_barriers
from yieldplan.solve.billets import BASE, critical_lengths, find_billets, pushed_both_ways, whole_billet
from yieldplan.solve.kernel import ARC, PLACE, Grain, Layout, Rule
from yieldplan.solve.parting import NONE_PARTED, parting_of
from yieldplan.solve.positions import (
    NoRoomError,
    across,
    across_from_far,
    among,
    distinct,
    few,
    first_rooted,
    numbered,
)
from yieldplan.solve.room import SPLIT, Room
from yieldplan.solve.settle import Chain
from yieldplan.solve.splits import (
    MORE_SPLITS,
    MOST_HALVES,
    MOST_SPLITS,
    Case,
    Splits,
    straighter,
    with_halves,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from yieldplan.solve.barriers import Barrier
    from yieldplan.solve.billets import Billets
    from yieldplan.solve.kernel import Flags, Floats, Ints, Records
    from yieldplan.solve.positions import Along


@dataclass(frozen=True, slots=True, kw_only=True)
class StickKind:
    """A section lying flat or turned: rough sizes across y and z, planed width and thickness."""

    width: int
    thickness: int
    turned: bool
    across_y: int
    across_z: int
    kinds: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stock:
    """A class of like offcuts, ready for pricing.

    Attributes
    ----------
    offcut, members
        One of them, with few defects (:func:`few_defects`), and (name, copy) of all.
    kinds
        Indices into the batch of the blanks that may come out of it; everything below counts kinds in this
        order. ``kinds`` empty means that nothing can.
    spans
        Length with allowance of each kind.
    nodes, anchor
        Where segments may start along x, and whether they may though nothing ends just before.
    chain
        Segments along x; see :class:`yieldplan.solve.settle.Chain`.
    alike
        (2, billets) the same number for billets that hold the same. First for what meets no defect: those of one
        length with the same trims and losses, if every place that blanks can have in them, pushed towards end A, is a
        node; then for the rest: so again where barriers alone are met, else each by itself.
    two_ended
        Whether a remainder at each end of a stick could be worth more than one longer one.
    growth
        See :func:`yieldplan.solve.kernel.leftover`; used only for bounds.
    trade, slack
        Worth by which a whole keeper and leftovers in a billet beside it might be better at a length that is not tried;
        the same with what is rounded at the tried ones.
    parting
        Worth by which the second of two neighbouring billets, and each further one, might be better (or from the third
        on, and so on: :attr:`yieldplan.solve.settle.Chain.second`).
    complete
        False where positions had to be left out, so that the bound goes by volume.
    thorough
        Whether every billet is tried that may be drawn out: without that no bound holds.
    billets
        How many billets there are; halves of split ones follow them in ``arcs``.
    above
        The same with halves that hold what any split, tried or not, can give: for bounds. None where the tried ones
        are enough.
    """

    offcut: Offcut
    members: tuple[tuple[str, int], ...]
    cost: int
    kinds: tuple[int, ...]
    spans: tuple[int, ...]
    sticks: tuple[StickKind, ...]
    grain: Grain
    arcs: Records
    layouts: tuple[Layout, Layout]
    rule: Rule
    nodes: Ints
    anchor: Flags
    chain: Chain
    alike: Ints
    two_ended: bool
    growth: Floats
    trade: int
    slack: int
    parting: int
    complete: bool
    thorough: bool
    billets: int
    above: Stock | None = None

    @property
    def coarse(self) -> bool:
        """Whether halves count for more than they hold, for splits that are not tried."""
        return bool(np.any(self.arcs.wider) or np.any(self.arcs.deeper))

    @property
    def rows(self) -> int:
        """How much memory the tables take, in rows of ``arcs``."""
        grain, held = self.grain, (self, self.above) if self.above else (self,)
        tables = [grain.places, grain.nodes, grain.onward, self.alike, *(stock.arcs for stock in held)]
        tables += [a for stock in held for layout in stock.layouts for a in (layout.across, layout.inner)]
        return sum(table.nbytes for table in tables) // ARC.itemsize


def make_rule(shop: Shop) -> Rule:
    """Return the shop's settings in the form that the kernels take."""
    return Rule(
        crosscut=shop.crosscut_kerf,
        snipe=shop.snipe,
        keeper_length=max(shop.keeper_length, 1),
        keeper_width=max(shop.keeper_width, shop.keeper_thickness),
        keeper_thickness=min(shop.keeper_width, shop.keeper_thickness),
        narrowest=max(shop.narrowest_rip, 1),
        full=shop.full_length,
        per_volume=1000 / BOARD_FOOT,
        per_length=float(shop.length_premium / shop.full_length),
        edge_skim=shop.edge_skim,
        face_skim=shop.face_skim,
        least_kerf=min(shop.rip_kerf, shop.bandsaw_kerf),
    )


def usable_kinds(offcut: Offcut, blanks: Sequence[Blank], shop: Shop) -> list[StickKind]:
    """Return the kinds of stick that an offcut can give, each with the indices of its blanks (R2, R6, R7, R10).

    Sizes are compared with the straightened box of the shortest billet; lengths with the offcut less its trims.
    """
    woods = jointable(offcut, shop)
    if not woods or offcut.length < shop.shortest_machined_length:
        return []
    found: dict[tuple[int, int, bool], list[int]] = {}
    longest = longest_blank(offcut, shop)
    for index, blank in enumerate(blanks):
        clear = blank.length + shop.length_allowance <= longest
        suits = blank.takes_species(offcut.species) and blank.takes_slope(offcut.grain_slope)
        if blank.need + blank.extra and clear and suits:
            for turned in (False, True):
                planed = planed_section(offcut, blank, shop, turned=turned)
                milled = min(planed) >= shop.thinnest_planed and max(planed) <= shop.planer_width
                if milled and blank.takes_rings(offcut, turned=turned):
                    found.setdefault((*planed, turned), []).append(index)
    sticks: list[StickKind] = []
    for (width, thickness, turned), kinds in sorted(found.items()):
        rough = (width + shop.width_allowance, thickness + shop.thickness_allowance)
        y, z = rough[::-1] if turned else rough
        twin = next((s for s in sticks if (s.width, s.across_y, s.across_z) == (width, y, z)), None)
        least = max(
            shop.shortest_machined_length,
            min(blanks[k].length for k in kinds) + shop.length_allowance + 2 * shop.snipe,
        )
        if (
            min(rough) >= shop.narrowest_rip
            and any(
                y <= wood.width - edge_loss(wood, least, shop)
                and z <= wood.thickness - face_loss(wood, least, shop)
                for wood in woods
            )
            and not (twin and set(kinds) <= set(twin.kinds) and _same_rings(offcut, blanks, kinds))
        ):
            sticks.append(
                StickKind(
                    width=width,
                    thickness=thickness,
                    turned=turned,
                    across_y=y,
                    across_z=z,
                    kinds=tuple(kinds),
                )
            )
    return sticks


def _same_rings(offcut: Offcut, blanks: Sequence[Blank], kinds: Sequence[int]) -> bool:
    """Return whether these blanks may lie anywhere turned where they may lie flat, and the other way about (R7)."""
    return all(
        ring_window(offcut, blanks[k], turned=False) == ring_window(offcut, blanks[k], turned=True)
        for k in kinds
    )


def classes(job: Job) -> list[tuple[Offcut, tuple[tuple[str, int], ...]]]:
    """Return the pile as classes of like offcuts: one of them and all its (name, copy), in the pile's order."""
    found: dict[object, tuple[Offcut, list[tuple[str, int]]]] = {}
    for offcut in job.offcuts:
        key = (
            offcut.length,
            offcut.width,
            offcut.thickness,
            fold(offcut.species),
            offcut.bow,
            offcut.crook,
            offcut.cup,
            offcut.twist,
            offcut.rings,
            offcut.grain_slope,
            offcut.kinks,
            movement(offcut, job.shop),
            tuple(
                sorted((fold(d.kind), d.x1, d.x2, d.y1, d.y2, d.z1, d.z2, d.through) for d in offcut.defects)
            ),
        )
        _, members = found.setdefault(key, (offcut, []))
        members.extend((offcut.name, copy) for copy in range(1, offcut.qty + 1))
    return [(offcut, tuple(members)) for offcut, members in found.values()]


def prepare(
    offcut: Offcut,
    members: tuple[tuple[str, int], ...],
    job: Job,
    room: Room | None = None,
    *,
    thorough: bool = False,
    finer: int = 0,
) -> Stock | None:
    """Return a class of like offcuts made ready for pricing, or None where no blank can come out of it.

    ``room`` says how much of it may be tried. ``thorough`` asks for every billet that may be drawn out for the sake of
    leftovers, not just for those that mostly are (:func:`yieldplan.solve.billets.find_billets`): only so a bound holds.
    ``finer`` asks for lengths too that matter only to halves of split billets, or, so many, to two neighbours; else
    only the bound makes good for them (:attr:`Stock.above`, :attr:`Stock.parting`).
    """
    shop, room = job.shop, room or Room()
    sticks = usable_kinds(offcut, job.blanks, shop)
    if not sticks:
        return None
    kinds = tuple(sorted({k for stick in sticks for k in stick.kinds}))
    blanks = [job.blanks[k] for k in kinds]
    barriers, all_told = ring_barriers(offcut, blanks, shop)
    most_positions = room.positions(len(sticks))
    splits = bool(split_range(offcut, shop)) and (room.splits or offcut.width > shop.jointer_width)
    most_defects = _most_defects(offcut, shop, sticks, room, splits=splits)
    measured, offcut = offcut, few_defects(offcut, min(most_defects, MOST_DEFECTS - len(barriers)))
    walled = replace(offcut, defects=(*offcut.defects, *(barrier.box for barrier in barriers)))
    spans = tuple(blank.length + shop.length_allowance for blank in blanks)
    rule = make_rule(shop)
    kept = any(_keepable(s.width, s.thickness, rule) for s in sticks)
    crossed = _cross_keeper_possible(offcut, sticks, shop, rule)
    bent = offcut.bent
    filling = bent and _must_fill(offcut, sticks, shop)
    trade = trade_of(offcut, sticks, shop, rule) if crossed and bent else NO_TRADE
    thorough |= filling
    critical, all_lengths = (
        _critical(walled, shop, sticks, room, finer=finer > 0) if crossed or bent else ([], True)
    )
    lengths = critical if crossed or filling else [] if kept else None
    parting = NONE_PARTED
    if thorough and crossed and bent:
        from_a, _ = pushed_both_ways(offcut, blanks, shop, room)
        runs = {*critical, *(from_a.blocks(offcut.length) + 2 * shop.snipe).tolist()}
        least = min(s.across_y for s in sticks), min(s.across_z for s in sticks)
        parting = parting_of(offcut, shop, least, runs, split=splits, most=finer)
        lengths = sorted({*critical, *parting.lengths})
    most = room.billets(split=splits)
    from_a, from_b, anchors, nodes, tried = _along(
        *(offcut, blanks, shop, room),
        merging=len(sticks) == 1 and not (offcut.defects or offcut.kinks or crossed or bent),
        lengths=lengths,
        traded=trade.lengths,
        remainder=rule.keeper_length * kept,
        critical=critical if bent else (),
        thorough=thorough,
        most=most,
    )
    if not len(tried.start):
        return None
    all_tried, tried = all_lengths and len(tried.start) <= most, tried.shortest(most)
    start, end = tried.start, tried.end
    finish = nodes[:, None] + np.array(spans, np.int64)[None, :]
    last_ends = distinct(finish)
    beside = kept and thorough and from_a.whole and bool(walled.defects)
    billets, cases = _describe(walled, shop, start, end, last_ends)
    billets.lean = tried.lean | filling
    grain = Grain(
        nodes=nodes,
        anchor=among(nodes, sorted(anchors)),
        places=_places(offcut, blanks, shop, nodes, last_ends, barriers),
        allowed=np.array([[k in stick.kinds for k in kinds] for stick in sticks]),
        cares=cares(sticks, barriers, len(offcut.defects)),
        sections=np.array(
            [(s.width, s.thickness) if _keepable(s.width, s.thickness, rule) else (0, 0) for s in sticks],
            np.int64,
        ),
        spans=np.array(spans, np.int64),
        clears=np.array([blank.clear_end for blank in blanks], np.int64),
        defects=np.array(
            [[d.x1, d.x2, d.y1, d.y2, d.z1, d.z2, int(d.through)] for d in walled.defects], np.int64
        ).reshape(-1, 7),
        ends=len(last_ends),
        trim=from_a.first,
        limit=offcut.length - from_a.first,
        minds=_minds(offcut, blanks, barriers),
        flaws=len(offcut.defects),
        **_blocks(from_a, spans, rule.keeper_length if beside else offcut.length),
    )
    segment_nodes, held, following = _segment_nodes(tried, from_a, anchors, offcut, shop)
    like = _alike(offcut, shop, billets, from_a)
    complete = (
        from_a.whole
        and from_b.whole
        and all_tried
        and all_told
        and offcut is measured
        and splits == bool(split_range(offcut, shop))
    )
    split, covers = (
        _split(offcut, shop, sticks, billets, room, keepers=crossed, bounded=complete, thorough=thorough)
        if splits
        else ([np.empty((0, 2), np.int64)] * len(billets), [])
    )
    laid_out = partial(_with_layouts, offcut, shop, sticks, most=most_positions, sparing=crossed and thorough)
    arcs, layouts, all_across = laid_out(with_halves(billets, cases, offcut, shop, split))
    traded = (2 if len(split[0]) else 1) * trade.between(tried, from_a, from_b)
    stock = Stock(
        offcut=offcut,
        members=members,
        cost=worth(offcut.length, offcut.width, offcut.thickness, shop),
        kinds=kinds,
        spans=spans,
        sticks=tuple(sticks),
        grain=grain,
        arcs=arcs,
        layouts=layouts,
        rule=rule,
        nodes=segment_nodes,
        anchor=held,
        chain=_chain(
            *(offcut, segment_nodes, held, start, following),
            parting.fewest * (max(shop.keeper_length, shop.shortest_machined_length) + shop.crosscut_kerf),
        ),
        alike=_with_halves_alike(arcs, like),
        two_ended=kept and _two_ended(offcut, rule, from_a.first),
        growth=_growth(offcut, shop, bent=bent),
        trade=int(traded),
        slack=int(traded + rounded_down(offcut, rule)) + 1
        if crossed and bent and _beside_whole(offcut, shop)
        else 0,
        parting=parting.units,
        complete=complete and all_across,
        thorough=thorough or lengths is None,
        billets=len(start),
    )
    if not covers:
        return stock
    arcs, layouts, _ = laid_out(with_halves(billets, cases, offcut, shop, covers))
    return replace(stock, above=replace(stock, arcs=arcs, layouts=layouts))


def _split(
    offcut: Offcut,
    shop: Shop,
    sticks: Sequence[StickKind],
    arcs: Records,
    room: Room,
    *,
    keepers: bool,
    bounded: bool,
    thorough: bool,
) -> tuple[Sequence[Ints], Sequence[Ints]]:
    """Return the halves to try of each billet, and those that cover all others (none where none are needed).

    As :func:`yieldplan.solve.splits.with_halves` takes them.

    ``bounded`` says that the bound is not by volume.
    """
    splits = Splits(offcut, shop, sticks, keepers=keepers)
    most = max(4, min(MORE_SPLITS if thorough else MOST_SPLITS, MOST_HALVES // (2 * len(arcs))))
    length = np.asarray(arcs.end - arcs.start)
    runs = distinct(length).tolist()
    if room.splits:
        places = splits.places([runs[0], runs[len(runs) // 2], runs[-1]] if splits.bent else runs[:1], most)
    else:
        places, splits.thinned = few(splits.range, 3), True
    pairs = {run: np.array(splits.pairs(run, places), np.int64) for run in runs}
    found = [pairs[run] for run in length.tolist()]
    if not (bounded and (splits.bent or splits.thinned)):
        return found, []
    least = straighter(arcs.start, arcs.end).tolist() if splits.bent else length.tolist()
    covers = {run: np.array(splits.covers(run, places), np.int64) for run in set(least)}
    return found, [covers[run] for run in least]


def _with_layouts(
    offcut: Offcut,
    shop: Shop,
    sticks: Sequence[StickKind],
    described: tuple[Records, list[Case]],
    most: int,
    *,
    sparing: bool,
) -> tuple[Records, tuple[Layout, Layout], bool]:
    """Return billets and halves, both layouts with at most so many positions in a row, and whether those are all."""
    arcs, cases = described
    (one, all_one), (other, all_other) = (
        _layout(offcut, sticks, shop, cases, most, sparing=sparing, first_is_y=first_is_y)
        for first_is_y in (True, False)
    )
    return arcs, (one, other), all_one and all_other


def _critical(
    offcut: Offcut, shop: Shop, sticks: Sequence[StickKind], room: Room, *, finer: bool
) -> tuple[list[int], bool]:
    """Return the lengths to which billets are drawn out, and whether these are all that matter of whole ones.

    ``finer``: see :func:`prepare`.
    """
    woods = [offcut]
    if finer:
        ends = (shop.shortest_machined_length, offcut.length)
        places = Splits(offcut, shop, sticks, keepers=True).places(ends, MOST_SPLITS)
        woods += [wood for at in places for wood in halves(offcut, at, shop)]
    try:
        return sorted(
            {run for wood in woods for run in critical_lengths(wood, shop, sticks, room.rows)}
        ), True
    except NoRoomError:
        return [shop.keeper_length], False


def _along(
    offcut: Offcut,
    blanks: Sequence[Blank],
    shop: Shop,
    room: Room,
    *,
    merging: bool,
    lengths: Sequence[int] | None,
    traded: Sequence[int],
    remainder: int,
    critical: Sequence[int],
    thorough: bool,
    most: int,
) -> tuple[Along, Along, set[int], Ints, Billets]:
    """Return where blanks are tried from both ends, the anchors and all nodes for them, and the billets.

    All places where there is room for them and for the billets, else some. ``lengths`` are those to which billets are
    drawn out, ``traded`` more of them with nothing but a whole keeper behind; ``remainder`` is the least length of
    remainders that are kept, 0 where none are.
    """
    to = None if lengths is None else sorted({*lengths, *traded})
    for thin in (False, True):
        drawn, least = (lengths or (), remainder) if thorough and not thin else ((), 0)
        all_told = (thorough or lengths is None) and not thin and _beside_whole(offcut, shop)
        spared = _least_whole(offcut, shop) if all_told else ()
        from_a, from_b = pushed_both_ways(
            *(offcut, blanks, shop, room),
            few=thin,
            drawn=drawn,
            spared=spared,
            remainder=least,
            critical=critical,
        )
        anchors = {from_a.first, *from_a.edges, *from_a.behind, *_pushed_to_b(from_a, from_b)}
        anchors |= from_a.aligned_starts
        nodes = _nodes(from_a, anchors, kept=remainder > 0, keeper_length=max(shop.keeper_length, 1))
        if not thin and len(nodes) * len(blanks) > NODES * room.rows:
            continue
        with suppress(NoRoomError):
            if merging and offcut.length < shop.keeper_length:
                tried = whole_billet(offcut.length)
            else:
                tried = find_billets(
                    *(from_a, from_b), merging=merging, lengths=to, thorough=thorough, most=most
                )
            return from_a, from_b, anchors, nodes, tried
    raise AssertionError("a few billets always have room")


NODES = 4
"""Places of a kind of blank that take as much memory as a billet, about."""


def _most_defects(
    offcut: Offcut, shop: Shop, sticks: Sequence[StickKind], room: Room, *, splits: bool
) -> int:
    """Return how many defects an offcut may be looked at with, for the positions across that they ask for.

    So many defects meet billets in at most half the square of so many sets, and in each two rows of positions are held
    for every size, in both layouts; of a board that may be split in each pair of halves.
    """
    y, z = sorted({s.across_y for s in sticks}), sorted({s.across_z for s in sticks})
    most = room.positions(len(sticks))
    wide, deep = (
        min(most, len(across((), sizes, shop.kerf_at(offcut.thickness) or 0, size, most)))
        for sizes, size in ((y, offcut.width), (z, offcut.thickness))
    )
    cells = 2 * (wide + deep + len(y) * deep + len(z) * wide)
    return max(2, math.isqrt(2 * room.cases(cells * (SPLIT if splits else 1))))


MOST_DEFECTS = 40
"""Defects that an offcut is looked at with; more are taken together, since the kernels hold them as bits."""

MIXED = "\0"
"""Kind of defects of several kinds taken together; nobody can type it, so no blank allows it."""


def few_defects(offcut: Offcut, most: int = MOST_DEFECTS) -> Offcut:
    """Return an offcut with at most ``most`` defects: neighbours along x taken together where there are more.

    What suits it suits the offcut itself, since the boxes only grow; what suits the offcut may not suit it.
    """
    if len(offcut.defects) <= most:
        return offcut
    kept = sorted(set(offcut.defects), key=lambda d: (d.x1, d.x2, d.y1, d.y2, d.z1, d.z2, d.kind, d.note))
    while len(kept) > most:
        pairs = [_taken_together(d, e) for d, e in pairwise(kept)]
        added = [
            _size(pair) - _size(d) - _size(e) for pair, (d, e) in zip(pairs, pairwise(kept), strict=True)
        ]
        at = added.index(min(added))
        kept[at : at + 2] = [pairs[at]]
    return replace(offcut, defects=tuple(kept))


def _taken_together(d: Defect, e: Defect) -> Defect:
    return Defect(
        kind=d.kind if fold(d.kind) == fold(e.kind) else MIXED,
        x1=min(d.x1, e.x1),
        x2=max(d.x2, e.x2),
        y1=min(d.y1, e.y1),
        y2=max(d.y2, e.y2),
        z1=min(d.z1, e.z1),
        z2=max(d.z2, e.z2),
        through=d.through or e.through,
    )


def _size(d: Defect) -> int:
    return (d.x2 - d.x1) * (d.y2 - d.y1) * (d.z2 - d.z1)


def _keepable(one: int, other: int, rule: Rule) -> bool:
    return max(one, other) >= rule.keeper_width and min(one, other) >= rule.keeper_thickness


def _cross_keeper_possible(offcut: Offcut, sticks: Sequence[StickKind], shop: Shop, rule: Rule) -> bool:
    """Return whether a billet with a stick can leave a strip, layer or stick on the rack (never falsely no)."""
    least = shop.shortest_machined_length
    woods = jointable(offcut, shop)
    high = max(wood.width - edge_loss(wood, least, shop) for wood in woods)
    deep = max(wood.thickness - face_loss(wood, least, shop) for wood in woods)
    kerf = min(shop.rip_kerf, shop.bandsaw_kerf)
    beside = high - min(s.across_y for s in sticks) - kerf
    above = deep - min(s.across_z for s in sticks) - kerf
    half = offcut.width - shop.bandsaw_kerf - min(s.across_y for s in sticks)
    return offcut.length >= rule.keeper_length and (
        (beside > 0 and _keepable(beside, deep, rule))
        or (above > 0 and _keepable(above, high, rule))
        or (bool(split_range(offcut, shop)) and half > 0 and _keepable(half, offcut.thickness, rule))
    )


def _must_fill(offcut: Offcut, sticks: Sequence[StickKind], shop: Shop) -> bool:
    """Return whether a piece may have to fill its box to a step, since no saw reaches through, and can (R5).

    In bent wood a longer billet may then do where a shorter one, which loses less, does not.
    """
    whole = (offcut.width, offcut.thickness)
    return any(
        _may_fill(face_loss, offcut, offcut.thickness - stick.across_z, shop)
        for stick in sticks
        if _unsawn(shop, whole, (stick.across_y, stick.across_z))
    ) or any(
        bool(split_range(offcut, shop)) or _may_fill(edge_loss, offcut, offcut.width - stick.across_y, shop)
        for stick in sticks
        if _unsawn(shop, whole[::-1], (stick.across_z, stick.across_y))
    )


def _unsawn(shop: Shop, whole: tuple[int, int], piece: tuple[int, int]) -> bool:
    """Return whether it may be of use that a piece fills its box on the second axis because no saw reaches there.

    Sizes are on the first and the second axis. Sawn on the second axis first, the whole is one layer then, from which
    pieces are sawn at the height of the layer. Sawn on the first axis first they do as well, if a saw that takes no
    more wood reaches through the whole; and then the next saw reaches through them.
    """
    if shop.kerf_at(piece[0]) is None:
        return True
    if shop.kerf_at(whole[0]) is not None:
        return False
    through, layer = shop.kerf_at(whole[1]), shop.kerf_at(piece[1])
    return through is None or layer is None or through > layer


def _flattest(offcut: Offcut, shop: Shop) -> Offcut:
    """Return the flattest half of an offcut if it may be split, else the offcut."""
    return (jointable(offcut, shop) or [offcut])[-1]


def _may_fill(loss: Callable[[Offcut, int, Shop, int], int], offcut: Offcut, spare: int, shop: Shop) -> bool:
    """Return whether some billet of an offcut, or of a half of it, loses just so much."""
    flattest = _flattest(offcut, shop)
    return any(
        loss(flattest, min(shop.shortest_machined_length, end - begin), shop, begin)
        <= spare
        <= loss(offcut, end - begin, shop, begin)
        for begin, end in offcut.sides
    )


def _layout(
    offcut: Offcut,
    sticks: Sequence[StickKind],
    shop: Shop,
    cases: Sequence[Case],
    most: int,
    *,
    sparing: bool,
    first_is_y: bool,
) -> tuple[Layout, bool]:
    """Return the positions to try across the section, for each case: a set of defects that a billet or half meets.

    And whether these are all that matter: no more than ``most`` are tried in a row. ``sparing`` says whether pieces may
    leave least keepers free.
    """
    y_sizes, z_sizes = [s.across_y for s in sticks], [s.across_z for s in sticks]
    first, second = (y_sizes, z_sizes) if first_is_y else (z_sizes, y_sizes)
    sizes = sorted(set(first))
    inner_kerf = [shop.kerf_at(size) for size in sizes]
    holds = [[a == size for a in first] for size in sizes]
    within = [sorted({b for b, held in zip(second, hold, strict=True) if held}) for hold in holds]
    sides, inner, kerfs = [], [], []
    loss = (face_loss if first_is_y else edge_loss)(offcut, offcut.length, shop)
    for width, height, defects in cases:
        high, deep = (width, offcut.thickness) if first_is_y else (offcut.thickness, width)
        kerf = shop.kerf_at(offcut.thickness if first_is_y else height)
        kerfs.append(-1 if kerf is None else kerf)
        y_far, y_near, z_far, z_near = _anchors(width, offcut.thickness, defects, shop)
        far, near, inner_far, inner_near = (
            (y_far, y_near, z_far, z_near) if first_is_y else (z_far, z_near, y_far, y_near)
        )
        turn = bool(defects)
        sides.append(across(far, sizes, kerf or 0, high, most))
        spared = _least_keepers(deep, loss, shop) if sparing else []
        sides.append(across_from_far(near, sizes, kerf or 0, high, most, spared=spared) if turn else [])
        for size, lying, k in zip(sizes, within, inner_kerf, strict=True):
            spared = _least_keepers(size, 0, shop) if sparing else []
            inner.append(across(inner_far, lying, k or 0, deep, most))
            inner.append(
                across_from_far(inner_near, lying, k or 0, deep, most, spared=spared) if turn else []
            )
    whole = all(len(row) <= most for row in (*sides, *inner))
    sides, inner = ([few(row, most) for row in rows] for rows in (sides, inner))
    shape = (len(cases), len(sizes))
    layout = Layout(
        first_is_y=first_is_y,
        kerfs=np.array(kerfs, np.int64),
        across=_padded(sides).reshape(len(cases), 2, -1),
        counts=np.array([len(row) for row in sides], np.int64).reshape(len(cases), 2),
        inner=_padded(inner).reshape(*shape, 2, -1),
        inner_counts=np.array([len(row) for row in inner], np.int64).reshape(*shape, 2),
        firsts=np.array(
            [(size, -1 if k is None else k) for size, k in zip(sizes, inner_kerf, strict=True)], np.int64
        ),
        holds=np.array(holds, bool),
        depth=np.array(second, np.int64),
    )
    return layout, whole


def _least_keepers(other: int, loss: int, shop: Shop) -> list[int]:
    """Return the sizes of the least keepers whose other size is ``other``, or up to ``loss`` less (R2, R11)."""
    thin, wide = sorted((shop.keeper_thickness, shop.keeper_width))
    found = {thin} if other >= wide else set[int]()
    if other - loss < wide and other >= thin:
        found.add(wide)
    return [max(size, shop.narrowest_rip) for size in sorted(found)]


def _anchors(
    width: int, thickness: int, defects: Sequence[Defect], shop: Shop
) -> tuple[list[int], list[int], list[int], list[int]]:
    """Return where pieces can lie against defects: far edges across y, near edges across y, and so for z.

    Far edges are places in the box; near edges are distances from its far side (R9: the one moves with the
    skim alone, the other with the whole loss, as the far side does).
    """
    part = [d for d in defects if not _full_width(d, width)]
    faced = [d for d in defects if not d.through]
    return (
        [d.y2 - shop.edge_skim for d in part],
        [width - d.y1 for d in part],
        [d.z2 - shop.face_skim for d in faced],
        [thickness - d.z1 for d in faced],
    )


def _full_width(defect: Defect, width: int) -> bool:
    return defect.y1 <= 0 and defect.y2 >= width


def _padded(rows: Sequence[Sequence[int]]) -> Ints:
    table = np.zeros((len(rows), max(1, *(len(row) for row in rows))), np.int64)
    for index, row in enumerate(rows):
        table[index, : len(row)] = row
    return table


def _pushed_to_b(from_a: Along, from_b: Along) -> set[int]:
    """Return where blanks pushed towards end B start; only defects make it worth pushing them."""
    if not from_a.edges:
        return set()
    thinned = from_a.thinned or from_b.thinned
    if thinned and len(from_b.edges) * len(from_a.spans) > from_a.most_starts:
        return set()
    ends = (from_a.length - s for s in (from_b.edges if thinned else from_b.starts))
    return {end - span for end in ends for span in from_a.spans if end - span >= from_a.first}


def _minds(offcut: Offcut, blanks: Sequence[Blank], barriers: Sequence[Barrier]) -> Ints:
    """Return for each kind the set of defects and barriers that spoil it."""
    return np.array(
        [
            sum(1 << index for index, d in enumerate(offcut.defects) if not blank.allows_kind(d.kind))
            + sum(1 << index for index, b in enumerate(barriers, len(offcut.defects)) if k in b.kinds)
            for k, blank in enumerate(blanks)
        ],
        np.int64,
    )


def _blocks(from_a: Along, spans: tuple[int, ...], least: int) -> dict[str, Ints]:
    """Return the lengths of blanks that stand close together beside a remainder, and which it is with one more."""
    room = from_a.length - from_a.first - least - from_a.kerf
    found = from_a.blocks(room)
    onward = np.full((len(found) + 1, len(spans)), -1, np.int64)
    for k, span in enumerate(spans):
        longer = np.append(span, found + from_a.kerf + span)
        at = np.searchsorted(found, longer)
        inside = at < len(found)
        inside[inside] = found[at[inside]] == longer[inside]
        onward[inside, k] = at[inside]
    return {"blocks": found, "onward": onward}


def _least_whole(offcut: Offcut, shop: Shop) -> tuple[int, ...]:
    """Return the least length of a whole keeper, and that at which it is worth one unit more.

    The latter only where two are worth as much as one however long each is, but for what is rounded down.
    """
    least = max(shop.keeper_length, 1)
    if shop.length_premium:
        return (least,)
    size = partial(worth, width=offcut.width, thickness=offcut.thickness, shop=shop)
    longer = range(least, 2 * least)
    return least, least + bisect_left(longer, size(least) + 1, key=size)


def _segment_nodes(
    tried: Billets, from_a: Along, anchors: set[int], offcut: Offcut, shop: Shop
) -> tuple[Ints, Flags, Ints]:
    """Return where segments may start, at which of these a whole keeper may end, and which are behind each billet.

    It ends where something stands that was not pushed towards end A, or where it is just long enough: else it could be
    longer.
    """
    after = tried.end + shop.crosscut_kerf
    nodes = distinct(np.concatenate([[0], tried.start, after[after < from_a.length]]))
    loose = [s - shop.snipe for s in from_a.starts if s not in anchors]
    spared = np.add.outer(np.append(after, 0), _least_whole(offcut, shop)) + shop.crosscut_kerf
    held = ~among(nodes, loose) | among(nodes, np.append(tried.start[tried.held], spared.reshape(-1)))
    return nodes, held, np.searchsorted(nodes, after)


def _nodes(from_a: Along, anchors: set[int], *, kept: bool, keeper_length: int) -> Ints:
    """Return every position along x where a blank, or a leftover after one, may start."""
    starts = {*from_a.starts, *anchors}
    if kept and not from_a.thinned:
        reach = from_a.length - keeper_length
        starts |= {s + span + from_a.kerf for s in starts for span in from_a.spans if s + span <= reach}
    return np.array(sorted(s for s in starts if s <= from_a.length), np.int64)


Gain = tuple[int, float, float]


def losses_and_gains(
    offcut: Offcut, shop: Shop, runs: Iterable[tuple[int, int]]
) -> tuple[dict[tuple[int, int], tuple[int, int]], dict[tuple[int, int, int], Gain]]:
    """Return E and F (R3) of billets of each length and side, and what the next shorter ones gain on them.

    The latter for each length, E and F: the longest length at which one of them is less, and by how much E and F are
    less there, at the most, since they are not rounded up.
    """
    losses: dict[tuple[int, int], tuple[int, int]] = {}
    gains: dict[tuple[int, int, int], Gain] = {}
    straight = {low: high - low for low, high in offcut.sides}
    for run, at in runs:
        whole = straight[at]
        square, double = whole * whole, 2 * whole
        edge, face = edge_loss(offcut, run, shop, at), face_loss(offcut, run, shop, at)
        crook, twist = edge - shop.edge_skim, -(-offcut.twist * run // double)
        bow = face - shop.face_skim - offcut.cup - twist
        shorter = max(
            math.isqrt((crook - 1) * square // offcut.crook) if crook else 0,
            math.isqrt((bow - 1) * square // offcut.bow) if bow else 0,
            (twist - 1) * double // offcut.twist if twist else 0,
        )
        more_edge = crook - offcut.crook * shorter * shorter / square + 1e-9
        more_face = bow - offcut.bow * shorter * shorter / square + 1e-9
        more_face += twist - offcut.twist * shorter / double
        before = gains.get((run, edge, face), (0, 0.0, 0.0))
        losses[run, at] = edge, face
        gains[run, edge, face] = (
            max(before[0], shorter),
            max(before[1], more_edge),
            max(before[2], more_face),
        )
    return losses, gains


def _describe(
    offcut: Offcut, shop: Shop, start: Ints, end: Ints, last_ends: Ints
) -> tuple[Records, list[Case]]:
    """Return the billets with what each meets, and the cases of defects that need positions of their own."""
    sides = np.array([low for low, _ in offcut.sides], np.int64)
    side = sides[np.searchsorted(sides, start, side="right") - 1]
    coded, own = np.unique((end - start) * BASE + side, return_inverse=True)
    runs = [divmod(code, BASE) for code in coded.tolist()]
    losses, gains = losses_and_gains(offcut, shop, runs)
    meets = np.array([(d.x1 < end) & (start < d.x2) for d in offcut.defects], bool).reshape(-1, len(start))
    weights = (1 << np.arange(len(offcut.defects), dtype=np.int64))[:, None]
    part = np.array([not _full_width(d, offcut.width) for d in offcut.defects], bool)[:, None]
    faced = np.array([not d.through for d in offcut.defects], bool)[:, None]
    placed = ((meets & (part | faced)) * weights).sum(axis=0)
    sets, case = np.unique(np.append(0, placed), return_inverse=True)
    _, first, group, count = np.unique(start, return_index=True, return_inverse=True, return_counts=True)
    arcs = np.recarray(len(start), ARC)
    arcs.start, arcs.end = start, end
    arcs.group, arcs.first, arcs.beyond = group, first[group], (first + count)[group]
    arcs.last_end = np.searchsorted(last_ends, end - shop.snipe, side="right") - 1
    arcs.edge, arcs.face = np.array([losses[run] for run in runs], np.int64)[own].T
    gained = np.array([gains[run[0], *losses[run]] for run in runs])[own]
    arcs.shorter, arcs.gain_edge, arcs.gain_face = gained.T
    arcs.relevant = (meets * weights).sum(axis=0)
    arcs.case, arcs.clean = case[1:], case[0]
    arcs.width = offcut.width if offcut.width <= shop.jointer_width else 0
    arcs.shift, arcs.twin, arcs.low, arcs.high, arcs.wider, arcs.deeper = 0, -1, 0, 0, 0, 0
    arcs.least = face_loss(offcut, min(shop.shortest_machined_length, offcut.length), shop)
    arcs.along = np.arange(len(start))
    found = [tuple(d for i, d in enumerate(offcut.defects) if int(s) >> i & 1) for s in sets]
    return arcs, [Case(offcut.width, offcut.width, defects) for defects in found]


def _places(
    offcut: Offcut,
    blanks: Sequence[Blank],
    shop: Shop,
    nodes: Ints,
    last_ends: Ints,
    barriers: Sequence[Barrier],
) -> Records:
    """Return (kinds, nodes) of :data:`yieldplan.solve.kernel.PLACE` (R1, R7, R8, R9)."""
    found = np.zeros((len(blanks), len(nodes)), PLACE).view(np.recarray)
    for k, blank in enumerate(blanks):
        span = blank.length + shop.length_allowance
        found.inside[k] = (nodes >= shop.end_trim) & (nodes + span <= offcut.length - shop.end_trim)
        found.end[k] = np.searchsorted(last_ends, nodes + span)
        found.next[k] = np.searchsorted(nodes, nodes + span + shop.crosscut_kerf)
        for index, d in enumerate(offcut.defects):
            bit = 1 << index
            if not blank.allows_kind(d.kind):
                found.spoilt[k] |= np.where((d.x1 < nodes + span) & (nodes < d.x2), bit, 0)
            if blank.clear_end:
                clear_from = nodes + span - blank.clear_end
                found.dull_a[k] |= np.where((d.x1 < nodes + blank.clear_end) & (nodes < d.x2), bit, 0)
                found.dull_b[k] |= np.where((d.x1 < nodes + span) & (clear_from < d.x2), bit, 0)
        for index, barrier in enumerate(barriers, len(offcut.defects)):
            found.spoilt[k] |= 1 << index if k in barrier.kinds else 0
    return found


def _alike(offcut: Offcut, shop: Shop, arcs: Records, from_a: Along) -> Ints:
    """Return the first row of :attr:`Stock.alike`, of billets; fill in ``model`` and ``rooted``."""
    start, end = arcs.start, arcs.end
    trims = [np.maximum(0, from_a.first - start), np.maximum(0, end + from_a.first - offcut.length)]
    like = numbered(end - start, *trims, arcs.edge, arcs.face)
    first = start + shop.snipe
    rooted = (among(first, list(from_a.starts)) | (first <= from_a.first)) & (not from_a.thinned)
    own = np.arange(len(start), dtype=np.int64)
    arcs.rooted, arcs.model = rooted, first_rooted(like, rooted, own)
    like, own = np.where(rooted, like, len(start) + own), len(start) + own
    only_barriers = arcs.relevant >> len(offcut.defects) << len(offcut.defects) == arcs.relevant
    return np.stack([like, np.where(only_barriers, like, own)])


def _with_halves_alike(arcs: Records, like: Ints) -> Ints:
    """Return :attr:`Stock.alike` from that of the billets alone.

    Halves are alike that are of one width, of billets that are alike (where there are halves there are no barriers).
    """
    billets = like.shape[1]
    if len(arcs) == billets:
        return like
    own = 2 * len(arcs) + np.arange(len(arcs), dtype=np.int64)
    along, width = np.asarray(arcs.along[billets:]), np.asarray(arcs.width[billets:])
    found = numbered(like[0, along], width)
    return np.stack([np.concatenate([like[0], 3 * len(arcs) + found]), own])


def _chain(offcut: Offcut, nodes: Ints, anchor: Flags, start: Ints, following: Ints, second: int) -> Chain:
    """Return the segments along an offcut; ``second`` is where a further billet may begin."""
    begin = np.searchsorted(start, np.append(nodes, 1 << 60))
    after = distinct(np.append(following, 0))
    return Chain(
        nodes=nodes,
        begin=begin,
        next=following,
        leaves=after[after < len(nodes)],
        stops=np.append(np.nonzero((np.diff(begin) > 0) & anchor)[0], len(nodes)),
        length=offcut.length,
        second=int(np.searchsorted(nodes, second)),
        more=0.0,
    )


NO_END, END_A, END_B = 0, 1, 2


def clear_at(offcut: Offcut, blank: Blank, span: int, starts: Ints, mask: int) -> Ints:
    """Return which end of a blank can be its clear end at each start: END_A, END_B, or NO_END where neither (R9)."""
    held = [d for index, d in enumerate(offcut.defects) if mask >> index & 1]
    good = np.ones(len(starts), bool)
    sound_a, sound_b = good.copy(), good.copy()
    for d in held:
        if not blank.allows_kind(d.kind):
            good &= ~((d.x1 < starts + span) & (starts < d.x2))
        if blank.clear_end:
            sound_a &= ~((d.x1 < starts + blank.clear_end) & (starts < d.x2))
            sound_b &= ~((d.x1 < starts + span) & (starts + span - blank.clear_end < d.x2))
    return np.where(~good, NO_END, np.where(sound_a, END_A, np.where(sound_b, END_B, NO_END)))


def _two_ended(offcut: Offcut, rule: Rule, first: int) -> bool:
    """Return whether a remainder at each end of a stick could be worth more than one (never falsely no).

    Two of lengths a and b, each a keeper, reach into what blanks must leave free at both ends; one, of a + b - d, only
    at one end, d being that strip less a crosscut kerf. With worth x (1 + r x), x up to f, one is worth more where
    d <= r (2 (k - d)^2 - d^2), k the least a; beyond f, where d (1 + r f) <= r k (f - k), up to a + b = 2 (f - k).
    """
    lost = max(first, rule.snipe) - rule.crosscut
    if lost <= 0 or offcut.length < 2 * rule.keeper_length:
        return False
    rate, least, full = rule.per_length, rule.keeper_length, rule.full
    near = rate * (2 * (least - lost) ** 2 - lost**2) >= lost
    if offcut.length <= full:
        return not near
    far = rate * least * (full - least) >= lost * (1 + rate * full) and offcut.length <= 2 * (full - least)
    return not (near and far)


def _growth(offcut: Offcut, shop: Shop, *, bent: bool) -> Floats:
    """Return :attr:`Stock.growth`."""
    least = min(shop.shortest_machined_length, offcut.length)
    return np.array(
        [
            [float(bent), edge_loss(offcut, least, shop), 2.0 * offcut.crook, 1.0],
            [float(bent), 0.0, 2.0 * offcut.bow + offcut.twist / 2, 1.0],  # least F: of each half its own
        ]
    )


ROUNDS = 20
"""How often the length from which a trade can pay is found more closely."""

MOST_TRADED = 8
"""Lengths of billets at the most that are tried for the sake of a whole keeper beside them."""


class Trade(NamedTuple):
    """Between which lengths of a billet leftovers in it may be worth more, or less, than a whole keeper beside it.

    Halfway between two of them that are d apart the sum may be worth up to ``steepness`` d^2/8 more than at both.
    """

    begin: float
    end: float
    steepness: float

    def between(self, tried: Billets, from_a: Along, from_b: Along) -> float:
        """Return by how much worth lengths in between those of billets that are tried may beat them.

        Of those that begin where blanks pushed towards end A do, and of those that end where blanks pushed to end B do.
        """
        start, length, longest = tried.start, tried.end - tried.start, 0.0
        ends = [from_a.length - s + from_a.snipe for s in from_b.starts] if from_a.edges else []
        pushed = ((start, among(start, start[tried.pushed])), (tried.end, among(tried.end, ends)))
        for fixed, one in pushed:
            order = np.lexsort((length[one], fixed[one]))
            run, at = length[one][order], fixed[one][order]
            apart = np.minimum(run[1:], self.end) - np.maximum(run[:-1], self.begin)
            longest = max(longest, float(apart.max(initial=0.0, where=at[1:] == at[:-1])))
        return self.steepness * longest**2 / 8

    @property
    def lengths(self) -> list[int]:
        """Lengths that are to be tried so that it is less than a unit, or as close as so many of them bring it."""
        room = self.end - self.begin
        steps = min(MOST_TRADED + 1, math.ceil(math.sqrt(self.steepness * room * room / 8)))
        return [int(self.begin + room * i / steps) for i in range(1, steps)]


NO_TRADE = Trade(0.0, 0.0, 0.0)


def trade_of(offcut: Offcut, sticks: Sequence[StickKind], shop: Shop, rule: Rule) -> Trade:
    """Return between which lengths of billets the sum of leftovers and a whole keeper may be largest.

    Drawing a billet out lengthens its leftovers and shortens the whole keeper beside it. Where the keeper's section
    times its slope, 1 + 2 r times its length, outweighs theirs, remainders' among them, a shorter billet is better.
    That is so up to a length, found in a few rounds since leftovers lose section as billets grow; the other one is
    that at which the keeper is just long enough. The steepness is how far the second derivative may lie below 0.
    """
    rate, least, longest = rule.per_length, rule.keeper_length, offcut.length - shop.crosscut_kerf
    size = longest - least
    if not (rate and _beside_whole(offcut, shop)):
        return NO_TRADE
    flattest = _flattest(offcut, shop)
    section = float(offcut.width) * offcut.thickness
    smallest = min(
        s.across_y * s.across_z - s.width * s.thickness * _keepable(s.width, s.thickness, rule)
        for s in sticks
    )
    begin = float(shop.shortest_machined_length)
    for _ in range(ROUNDS):
        length = min(int(begin), offcut.length)
        box = (offcut.width - edge_loss(offcut, length, shop)) * (
            offcut.thickness - face_loss(flattest, length, shop)
        )
        left = (section if split_range(offcut, shop) else box) - smallest
        if left <= 0:
            return NO_TRADE
        begin = max(begin, ((section - left) / (2 * rate) + section * longest) / (section + left))
    if begin >= size:
        return NO_TRADE
    straight = float(min(high - low for low, high in offcut.sides))
    crook = 2.0 * offcut.crook * offcut.thickness
    bow = (2.0 * offcut.bow + offcut.twist / 2) * offcut.width
    fall = (2 * (1 + 2 * rate * size) + 1 + rate * size) * (crook + bow) / straight
    return Trade(begin, size, max(0.0, fall - 2 * rate * section) * rule.per_volume)


def _beside_whole(offcut: Offcut, shop: Shop) -> bool:
    """Return whether a billet may lie beside a whole keeper."""
    return offcut.length - shop.crosscut_kerf >= max(shop.keeper_length, 1) + shop.shortest_machined_length


def rounded_down(offcut: Offcut, rule: Rule) -> float:
    """Return by how much less all leftovers may be worth since losses are rounded up, bow's and twist's each."""
    section = float(offcut.thickness + 2 * offcut.width)
    return section * offcut.length * rule.per_volume * (1 + rule.per_length * min(offcut.length, rule.full))
