"""Best plans of tiny jobs by plain enumeration, written for the tests alone.

Nothing here comes from the solver; of the package it shares the data types, the two losses of R3 and what the recheck
knows of wood (and :func:`witness` the recheck's account, to write a whole plan). For each offcut every cutting is
tried over a finite set of places, and for each vector of counts (how many blanks of each kind) the cutting that
keeps the most worth, and of these the one with the fewest crosscuts, is remembered; then the offcuts are put
together. A plan of the least net worth for its counts is made of such cuttings alone, so nothing is lost for
aims 3 and 4, which go by counts, offcuts and crosscuts.

A crosscut is what the account of wood takes for one: a gap of just a kerf between two pieces is one cut, a larger
one is cut on both sides, and so is an end that is not the wood's own; segments along the offcut, pieces along
each stick with blanks.

Why finitely many places do. Take a best cutting and slide a piece (with what stands against it) along its
axis until something stops it: an edge, a defect, a trim, a neighbour, or a gap just large enough for a
keeper. Gaps are filled with the largest keeper they hold. The worth of the two keepers beside a sliding
piece is convex in its place, and standing against something never takes more crosscuts than standing free, so one of
the two ends of its travel is no worse. So places are sums of piece
lengths and kerfs (and least keepers) from the left of something fixed, or from the right. A billet's length
also sets its losses; the greatest lengths at which a stack of sticks still fits are tried too
(:attr:`Cutter.loss_limits`).

What remains is less than the rounding of worth. Worth is rounded down piece by piece; so where sliding
changes nothing (length premium 0) or a loss takes a step while a keeper grows, a place in between may keep
a unit or two (thousandths of a board foot) more than any place tried here.
"""

from __future__ import annotations

import math
from dataclasses import fields, replace
from functools import cache, cached_property, partial
from itertools import pairwise, product
from operator import add, le
from typing import TYPE_CHECKING, Any, NamedTuple

from yieldplan.model import (
    Account,
    Billet,
    CutBlank,
    Job,
    Keeper,
    Offcut,
    OffcutPlan,
    Plan,
    Proof,
    Segment,
    Shop,
    SplitBillet,
    Stick,
    Strip,
    WholeKeeper,
    billets_of,
    edge_loss,
    face_loss,
)
from yieldplan.verify.breach import Notebook
from yieldplan.verify.figures import Tally
from yieldplan.verify.wood import readings, ring_span, section_to_plane

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

INCH = 8128
RING_STEP = 64
"""Steps between which the rings are looked at: no range that a strip fits into is missed."""
BILLET = 30
"""Work to begin with a billet, in pairs of options put together."""

FAR = 10**9
"""Beyond every box: a through defect lies at every z."""

Interval = tuple[int, int]
Counts = tuple[int, ...]
"""How many blanks of each kind, in the batch's order."""


class Best(NamedTuple):
    """The most worth that is kept at some counts, the parts that do it, and the fewest crosscuts that it takes."""

    kept: int
    parts: tuple[Any, ...]
    cuts: int = 0

    def beats(self, other: Best | None) -> bool:
        """Return whether this is better: more kept, or as much with fewer crosscuts."""
        return other is None or (self.kept, -self.cuts) > (other.kept, -other.cuts)


Options = dict[Counts, Best]


class Kept(NamedTuple):
    """A keeper on some axis."""

    start: int
    end: int


class Cut(NamedTuple):
    """A blank on its stick; along x from the billet's start."""

    kind: int
    start: int
    end: int
    clear_end: str


class Sawn(NamedTuple):
    """A stick or a strip with what is cut from it."""

    start: int
    end: int
    turned: bool
    parts: tuple[Any, ...]


class Milled(NamedTuple):
    """A billet."""

    start: int
    end: int
    rip_first: bool
    parts: tuple[Any, ...]


class Split(NamedTuple):
    """A billet split before jointing; a half is None where it is waste."""

    start: int
    end: int
    at: int
    halves: tuple[Milled | None, Milled | None]


class Flaw(NamedTuple):
    """A defect in a billet's box: kind, and its interval along x and along the two axes across.

    ``rings`` says that it is none, but where the rings do not suit the blanks of a kind lying so (kind, turned).
    """

    kind: str
    x: Interval
    first: Interval
    second: Interval
    rings: tuple[int, bool] | None = None


class Answer(NamedTuple):
    """The best that can be done: aims 1, 2, 3, then the fewest offcuts, then crosscuts; and cuttings that do it."""

    missing: tuple[tuple[int, int], ...]
    net_worth: int
    extras: int
    offcuts_drawn: int
    crosscuts: int
    cuttings: tuple[OffcutPlan, ...]


class TooMuchError(Exception):
    """The enumeration would take more work than it was allowed."""


class Work:
    """Counts what the enumeration puts together; there is no end of it unless a limit is set."""

    def __init__(self, limit: float = math.inf) -> None:
        self.left = limit

    def spend(self, amount: int) -> None:
        """Take so much off what is left.

        Raises
        ------
        TooMuchError
            If nothing is left.
        """
        self.left -= amount
        if self.left < 0:
            raise TooMuchError


def witness(job: Job, answer: Answer) -> Plan:
    """Return a whole plan that does what the answer says; its account is the recheck's own."""
    made = dict.fromkeys((blank.name for blank in job.blanks), 0)
    needs = {blank.name: blank.need for blank in job.blanks}

    def marked(cut: CutBlank) -> CutBlank:
        made[cut.blank] += 1
        return replace(cut, extra=made[cut.blank] > needs[cut.blank])

    def copied(part: Any) -> Any:
        if isinstance(part, CutBlank):
            return marked(part)
        if isinstance(part, tuple):
            return tuple(map(copied, part))
        if isinstance(part, OffcutPlan | Billet | SplitBillet | Strip | Stick):
            return replace(part, **{field.name: copied(getattr(part, field.name)) for field in fields(part)})
        return part

    drawn: tuple[OffcutPlan, ...] = copied(answer.cuttings)
    notes = Notebook(shop=job.shop, blanks={blank.name: blank for blank in job.blanks})
    tally = Tally(notes)
    for cutting in drawn:
        tally.add_offcut(job.offcut(cutting.offcut), cutting.segments)
    out = tally.blanks + tally.keepers + tally.kerf + tally.shavings
    return Plan(
        input_name=job.name,
        input_sha256=job.sha256,
        proof=Proof(
            missing=answer.missing, net_worth=answer.net_worth, bound=answer.net_worth, gap=0.0, proven=True
        ),
        made=tuple((name, min(count, needs[name])) for name, count in made.items()),
        extra=tuple((name, max(count - needs[name], 0)) for name, count in made.items()),
        missing=tuple((name, max(needs[name] - count, 0)) for name, count in made.items()),
        account=Account(
            volume_in=tally.volume_in,
            blanks=tally.blanks,
            keepers=tally.keepers,
            kerf=tally.kerf,
            shavings=tally.shavings,
            trimmings=tally.volume_in - out,
        ),
        offcuts=drawn,
    )


def brute_force(job: Job, *, limits: bool = True, most: float = math.inf) -> Answer:
    """Return the best that can be done with a job, by enumeration.

    Parameters
    ----------
    job
        A tiny one.
    limits
        Whether to try the billet lengths at which a loss just lets a stack of sticks fit.
    most
        How much work it may take (:class:`Work`).

    Raises
    ------
    TooMuchError
        If it would take more.
    """
    work = Work(most)
    cap = tuple(blank.need + blank.extra for blank in job.blanks)
    nothing = (0,) * len(cap)
    known: dict[Counts, tuple[int, int, int, tuple[OffcutPlan, ...]]] = {nothing: (0, 0, 0, ())}
    for offcut in job.offcuts:
        cutter = Cutter(job, offcut, limits=limits, work=work)
        whole = worth(job.shop, offcut.length, offcut.width, offcut.thickness)
        for copy in range(1, offcut.qty + 1):
            grown = dict(known)
            for (counts, (net, drawn, cuts, plans)), (more, best) in product(
                known.items(), cutter.cuttings.items()
            ):
                total = tuple(map(add, counts, more))
                figures = (net + whole - best.kept, drawn + 1, cuts + best.cuts)
                if all(map(le, total, cap)) and (total not in grown or figures < grown[total][:3]):
                    grown[total] = (*figures, (*plans, cutter.plan(copy, best.parts)))
            known = grown
    return min((_answer(job, counts, *found) for counts, found in known.items()), key=_aims)


def _aims(answer: Answer) -> tuple[object, ...]:
    return answer.missing, answer.net_worth, -answer.extras, answer.offcuts_drawn, answer.crosscuts


def _answer(
    job: Job, counts: Counts, net: int, drawn: int, cuts: int, plans: tuple[OffcutPlan, ...]
) -> Answer:
    missing = {blank.priority: 0 for blank in job.blanks}
    extras = 0
    for blank, count in zip(job.blanks, counts, strict=True):
        missing[blank.priority] += max(blank.need - count, 0)
        extras += max(count - blank.need, 0)
    return Answer(tuple(sorted(missing.items())), net, extras, drawn, cuts, plans)


def worth(shop: Shop, length: int, one: int, other: int) -> int:
    """Return a piece's worth."""
    over, under = shop.length_premium.as_integer_ratio()
    full = under * shop.full_length
    return (
        1000 * length * one * other * (full + over * min(length, shop.full_length)) // (144 * INCH**3 * full)
    )


def word(text: str) -> str:
    """Return a word as species and kinds are compared."""
    return " ".join(text.split()).casefold()


def meet(one: Interval, other: Interval) -> bool:
    """Return whether two open intervals overlap."""
    return one[0] < other[1] and other[0] < one[1]


def offer(options: Options, counts: Counts, best: Best) -> None:
    """Remember a way to get these counts if it beats the one known."""
    if best.beats(options.get(counts)):
        options[counts] = best


def crosscuts(pieces: list[Interval], end: int, kerf: int) -> int:
    """Return how many crosscuts part some pieces in a row from wood that runs from 0 to ``end``."""
    if not pieces:
        return 0
    between = sum(1 if b[0] - a[1] == kerf else 2 for a, b in pairwise(pieces))
    return between + (pieces[0][0] > 0) + (pieces[-1][1] < end)


def crosscuts_of(job: Job, cuttings: Iterable[OffcutPlan]) -> int:
    """Return how many crosscuts some cuttings take: on the offcuts, and on every stick that carries blanks."""
    kerf, total = job.shop.crosscut_kerf, 0
    for cutting in cuttings:
        segments = [(segment.start, segment.end) for segment in cutting.segments]
        total += crosscuts(segments, job.offcut(cutting.offcut).length, kerf)
        for segment in cutting.segments:
            for billet in billets_of(segment):
                for stick in (stick for strip in billet.strips for stick in strip.sticks if stick.blanks):
                    spans = [(cut.start, cut.end) for cut in stick.blanks]
                    spans += [(keeper.start, keeper.end) for keeper in stick.keepers]
                    pieces = [(a - segment.start, b - segment.start) for a, b in sorted(spans)]
                    total += crosscuts(pieces, segment.end - segment.start, kerf)
    return total


def places(sizes: set[int], anchors: Iterable[int], room: Interval, over: list[int]) -> set[int]:
    """Return where pieces may start, pushed left against an anchor or against one another.

    ``over`` are the gaps between neighbours: a kerf, or two kerfs and the least keeper.
    """
    low, high = room
    found = {place for place in anchors if low <= place <= high}
    fresh = list(found)
    while fresh:
        place = fresh.pop()
        for size, gap in product(sizes, over):
            further = place + size + gap
            if further <= high and further not in found:
                found.add(further)
                fresh.append(further)
    return found


def starts(
    sizes: set[int], lefts: Iterable[int], rights: Iterable[int], room: Interval, over: list[int]
) -> dict[int, list[int]]:
    """Return for each size where a piece of it may start, pushed left or right against all there is."""
    low, high = room
    from_left = places(sizes, lefts, room, over)
    from_right = places(sizes, (high + low - place for place in rights), room, over)
    ends = {high + low - place for place in from_right}
    return {
        size: sorted(
            place for place in from_left | {end - size for end in ends} if low <= place <= high - size
        )
        for size in sizes
    }


class Row(NamedTuple):
    """A row of pieces along an axis from 0 to ``end``, with keepers in its gaps.

    ``meets(size, start)`` tells what a piece meets there; ``piece(size, start, met)`` gives its options,
    which rest on ``met`` alone; ``keep(gap)`` is the worth of a keeper, 0 where none may be; ``where``
    the starts to try by size, None where only the first free place needs trying (in clean wood pieces can
    be slid together, in any order, and one keeper at the end is worth no less than several). ``along`` says that
    the row lies along x, so that its cuts are crosscuts, which count; ``work`` is what putting it together takes.
    """

    end: int
    kerf: int | None
    cap: Counts
    sizes: set[int]
    where: dict[int, list[int]] | None
    meets: Callable[[int, int], tuple[Any, ...]]
    piece: Callable[[int, int, Any], Options]
    keep: Callable[[int], int]
    work: Work
    along: bool = False

    def fill(self) -> Options:
        """Return the options of the whole row; each has at least one piece."""
        assert self.kerf is not None
        kerf = self.kerf
        nothing = (0,) * len(self.cap)

        @cache
        def onward(place: int) -> Options:
            found: Options = {}
            last = self.keep(self.end - place)
            cuts = int(self.along and place - kerf < self.end)
            found[nothing] = Best(last, (Kept(place, self.end),) if last else (), cuts)
            for counts, best in pieces(place).items():
                offer(found, counts, best)
            return found

        def pieces(place: int) -> Options:
            found: Options = {}
            for size in self.sizes:
                tried = [place] if self.where is None else self.where[size]
                last: tuple[Any, ...] | None = None
                self.work.spend(len(tried))
                for start in tried:
                    if start < place or start + size > self.end:
                        continue
                    met = self.meets(size, start)
                    if last == (met, self.keep(start - kerf - place)) and not self.along:
                        continue  # the same piece and keeper as a little further left, and less room after it
                    last = (met, self.keep(start - kerf - place))
                    options = self.piece(size, start, met)
                    if options:
                        gap = (place, start - kerf)
                        self._join(found, gap, options, onward(start + size + kerf))
            return found

        return pieces(0)

    def _join(self, found: Options, gap: Interval, options: Options, rest: Options) -> None:
        assert self.kerf is not None
        before = self.keep(gap[1] - gap[0])
        kept_gap = (Kept(*gap),) if before else ()
        sawn = (gap[1] + self.kerf > gap[0]) + (gap[0] > 0) if self.along else 0
        self.work.spend(len(options) * len(rest))
        for (counts, best), (more, after) in product(options.items(), rest.items()):
            total = tuple(map(add, counts, more))
            kept, cuts = before + best.kept + after.kept, sawn + best.cuts + after.cuts
            known = found.get(total)
            if (known is None or (kept, -cuts) > (known.kept, -known.cuts)) and all(map(le, total, self.cap)):
                found[total] = Best(kept, kept_gap + best.parts + after.parts, cuts)


class Cutter:
    """All that one offcut can give."""

    def __init__(self, job: Job, offcut: Offcut, *, limits: bool = True, work: Work | None = None) -> None:
        self.job, self.shop, self.offcut, self.limits = job, job.shop, offcut, limits
        self.work = work or Work()
        self.blanks = job.blanks
        self.cap = tuple(blank.need + blank.extra for blank in job.blanks)
        self.nothing = (0,) * len(self.cap)
        self.takes = [blank.length + self.shop.length_allowance for blank in job.blanks]
        self.allowed = [{word(kind) for kind in blank.allows} for blank in job.blanks]
        self.billet = cache(self._billet)
        self.split_options = cache(self._split_options)
        self.stick = cache(self._stick)
        self.contents = cache(self._contents)

    def unit(self, kind: int) -> Counts:
        """Return the counts of one blank of a kind."""
        return tuple(int(other == kind) for other in range(len(self.cap)))

    # What fits at all

    @cached_property
    def sections(self) -> dict[tuple[int, int, bool], list[int]]:
        """The kinds that this offcut may give by planed section, flat or turned (R2, R6, R7, R10)."""
        shop, offcut = self.shop, self.offcut
        found: dict[tuple[int, int, bool], list[int]] = {}
        for (kind, blank), turned in product(enumerate(self.blanks), (False, True)):
            if blank.species and word(offcut.species) not in map(word, blank.species):
                continue
            if self.in_range(kind, turned=turned) is None:
                continue
            if blank.max_slope is not None and (
                offcut.grain_slope is None or offcut.grain_slope > blank.max_slope
            ):
                continue
            sizes = section_to_plane(offcut, blank, shop, turned=turned)
            if min(sizes) < shop.thinnest_planed or max(sizes) > shop.planer_width:
                continue
            if min(self.rough(*sizes, turned=turned)) >= shop.narrowest_rip and self.cap[kind]:
                found.setdefault((*sizes, turned), []).append(kind)
        return found

    def in_range(self, kind: int, *, turned: bool) -> Interval | None:
        """Return from where to where across y the rings suit a kind, by trying every step where they vary (R7)."""
        blank, offcut = self.blanks[kind], self.offcut
        if blank.ring_from is None and blank.ring_to is None:
            return 0, offcut.width
        low, high = blank.ring_from or 0, 90 if blank.ring_to is None else blank.ring_to
        both = readings(offcut)
        if both is None:
            return None

        def suits(y: int) -> bool:
            least, most = ring_span(both, offcut.width, (y, y), turned=turned)
            return low <= least and most <= high

        edges = [suits(0), suits(offcut.width)]
        if both[0] == both[1]:
            return (0, offcut.width) if all(edges) else None
        good = [y for y in range(0, offcut.width + 1, RING_STEP) if suits(y)]
        if not good:
            return None
        first, last = good[0], good[-1]
        while first > 0 and suits(first - 1):
            first -= 1
        while last < offcut.width and suits(last + 1):
            last += 1
        return first, last

    def rough(self, width: int, thickness: int, *, turned: bool) -> tuple[int, int]:
        """Return the rough sizes across y and across z."""
        sizes = width + self.shop.width_allowance, thickness + self.shop.thickness_allowance
        return sizes[::-1] if turned else sizes

    def saw(self, height: int) -> int | None:
        """Return the kerf of a cut of this height, None where it cannot be made."""
        if height <= self.shop.saw_depth:
            return self.shop.rip_kerf
        return self.shop.bandsaw_kerf if height <= self.shop.bandsaw_height else None

    def keeps(self, length: int, one: int, other: int) -> int:
        """Return the worth of a keeper, 0 where it is none (R11)."""
        shop = self.shop
        stout = (one >= shop.keeper_width and other >= shop.keeper_thickness) or (
            other >= shop.keeper_width and one >= shop.keeper_thickness
        )
        return worth(shop, length, one, other) if length >= shop.keeper_length and stout else 0

    def keeps_sawn(self, length: int, other: int, gap: int) -> int:
        """Return the worth of a keeper strip, layer or stick that fills a gap (R2, R11)."""
        return 0 if min(gap, other) < self.shop.narrowest_rip else self.keeps(length, gap, other)

    def least_gap(self, length: int, other: int) -> int | None:
        """Return the least gap that holds a keeper as deep as ``other``."""
        shop = self.shop
        pairs = ((shop.keeper_width, shop.keeper_thickness), (shop.keeper_thickness, shop.keeper_width))
        found = [max(one, shop.narrowest_rip) for one, two in pairs if other >= max(two, shop.narrowest_rip)]
        return min(found) if found and length >= shop.keeper_length else None

    # Along a stick

    def _contents(self, kinds: tuple[int, ...]) -> list[tuple[Counts, int]]:
        """Return what a clean stick of these kinds may carry, and how long that is."""
        rows = []
        for numbers in product(*(range(self.cap[kind] + 1) for kind in kinds)):
            block = sum(
                number * (self.takes[kind] + self.shop.crosscut_kerf)
                for kind, number in zip(kinds, numbers, strict=True)
            )
            block -= self.shop.crosscut_kerf
            if sum(numbers) and block <= self.offcut.length:
                counts = list(self.nothing)
                for kind, number in zip(kinds, numbers, strict=True):
                    counts[kind] = number
                rows.append((tuple(counts), block))
        return rows

    def _stick(
        self,
        length: int,
        room: Interval,
        section: tuple[int, int],
        kinds: tuple[int, ...],
        flaws: tuple[Flaw, ...],
    ) -> Options:
        if not flaws:
            return self._clean_stick(length, room, section, kinds)
        kerf, least = self.shop.crosscut_kerf, self.shop.keeper_length
        low, high = room
        lefts, rights = {low, least + kerf}, {high, length - least - kerf}
        for flaw, kind in product(flaws, kinds):
            clear, takes = self.blanks[kind].clear_end, self.takes[kind]
            lefts |= {flaw.x[1], flaw.x[1] + clear - takes}
            rights |= {flaw.x[0], flaw.x[0] - clear + takes}
        over = [kerf, 2 * kerf + least]
        where = starts({self.takes[kind] for kind in kinds}, lefts, rights, room, over)

        def meets(size: int, start: int) -> tuple[Any, ...]:
            ends = ((kind, self.clear_end(kind, start, flaws)) for kind in kinds if self.takes[kind] == size)
            return tuple((kind, end) for kind, end in ends if end)

        def piece(size: int, start: int, met: tuple[tuple[int, str], ...]) -> Options:
            return {self.unit(kind): Best(0, (Cut(kind, start, start + size, end),)) for kind, end in met}

        def keep(gap: int) -> int:
            return self.keeps(gap, *section)

        return Row(
            length, kerf, self.cap, set(where), where, meets, piece, keep, self.work, along=True
        ).fill()

    def _clean_stick(
        self, length: int, room: Interval, section: tuple[int, int], kinds: tuple[int, ...]
    ) -> Options:
        kerf, least = self.shop.crosscut_kerf, self.shop.keeper_length
        low, high = room
        found: Options = {}
        for counts, block in self.contents(kinds):
            for start in (low, high - block, least + kerf, length - least - kerf - block):
                if low <= start <= high - block:
                    before, after = start - kerf, start + block + kerf
                    kept = self.keeps(before, *section) + self.keeps(length - after, *section)
                    cuts = sum(counts) - 1 + (start > 0) + (start + block < length)
                    self.work.spend(1)
                    if Best(kept, (), cuts).beats(found.get(counts)):
                        found[counts] = Best(kept, self._block(length, counts, start, section), cuts)
        return found

    def _block(self, length: int, counts: Counts, start: int, section: tuple[int, int]) -> tuple[Any, ...]:
        kerf = self.shop.crosscut_kerf
        parts: list[Any] = [Kept(0, start - kerf)] if self.keeps(start - kerf, *section) else []
        for kind, number in enumerate(counts):
            for _ in range(number):
                parts.append(Cut(kind, start, start + self.takes[kind], "A"))
                start += self.takes[kind] + kerf
        if self.keeps(length - start, *section):
            parts.append(Kept(start, length))
        return tuple(parts)

    def clear_end(self, kind: int, start: int, flaws: tuple[Flaw, ...]) -> str:
        """Return at which end a blank there has its clear end, "" where it may not lie there (R9)."""
        end, clear = start + self.takes[kind], self.blanks[kind].clear_end
        met = [flaw for flaw in flaws if meet(flaw.x, (start, end))]
        if any(word(flaw.kind) not in self.allowed[kind] for flaw in met):
            return ""
        for name, zone in (("A", (start, min(start + clear, end))), ("B", (max(end - clear, start), end))):
            if not clear or not any(meet(flaw.x, zone) for flaw in met):
                return name
        return ""

    # Across a billet

    def losses(self, length: int, start: int) -> tuple[int, int]:
        """Return what a billet of this length that begins there loses across y and across z (R3)."""
        offcut, shop = self.offcut, self.shop
        return edge_loss(offcut, length, shop, start), face_loss(offcut, length, shop, start)

    def flaws(self, start: int, end: int, *, rip_first: bool) -> tuple[Flaw, ...]:
        """Return the defects in a billet, straightened, along x from its start (R9)."""
        edge, face = self.losses(end - start, start)
        found = []
        for (kind, turned), (low, high) in self.windows.items():
            for y in ((-FAR, low), (high - edge, FAR)):
                ends = (y, (-FAR, FAR)) if rip_first else ((-FAR, FAR), y)
                found.append(Flaw("", (-1, end - start + 1), *ends, (kind, turned)))
        for defect in self.offcut.defects:
            if not meet((defect.x1, defect.x2), (start, end)):
                continue
            x = max(defect.x1 - start, -1), min(defect.x2 - start, end - start + 1)
            y = (defect.y1 - edge, defect.y2 - self.shop.edge_skim)
            z = (-FAR, FAR) if defect.through else (defect.z1 - face, defect.z2 - self.shop.face_skim)
            found.append(Flaw(defect.kind, x, y, z) if rip_first else Flaw(defect.kind, x, z, y))
        return tuple(found)

    @cached_property
    def split_cutters(self) -> list[tuple[int, tuple[Cutter, Cutter]]]:
        """Every place where a billet may be split (R2), and the halves as offcuts of their own (R3)."""
        shop, offcut, found = self.shop, self.offcut, []
        warp = offcut.cup + -(-offcut.twist // 2)
        if offcut.thickness > shop.bandsaw_height or (
            warp < shop.split_warp and offcut.width <= shop.jointer_width
        ):
            return []
        if offcut.kinks or offcut.ring_angle_far is not None:
            return []
        for at in range(0, offcut.width, shop.shown_steps):
            spans = (0, at), (at + shop.bandsaw_kerf, offcut.width)
            if all(max(shop.narrowest_rip, 1) <= high - low <= shop.jointer_width for low, high in spans):
                found.append((at, (self._half(*spans[0]), self._half(*spans[1]))))
        return found

    def _half(self, low: int, high: int) -> Cutter:
        offcut, wide, whole = self.offcut, high - low, self.offcut.width
        half = replace(
            offcut,
            width=wide,
            cup=-(-offcut.cup * wide**2 // whole**2),
            twist=-(-offcut.twist * wide // whole),
            defects=tuple(replace(d, y1=d.y1 - low, y2=d.y2 - low) for d in offcut.defects),
        )
        return Cutter(replace(self.job, offcuts=(half,)), half, limits=self.limits, work=self.work)

    def split(self, start: int, end: int) -> Options:
        """Return what a split billet there may give."""
        if end - start < self.shop.shortest_machined_length:
            return {}
        found: Options = {}
        for at, cutters in self.split_cutters:
            near, far = (cutter.split_options(start, end) for cutter in cutters)
            self.work.spend(len(near) * len(far))
            for (counts, best), (more, other) in product(near.items(), far.items()):
                total = tuple(map(add, counts, more))
                if any(total) and all(map(le, total, self.cap)):
                    part = Split(start, end, at, (best.parts[0], other.parts[0]))
                    offer(found, total, Best(best.kept + other.kept, (part,), best.cuts + other.cuts))
        return found

    def _split_options(self, start: int, end: int) -> Options:
        """Return what this offcut may give as a half: blanks, a keeper of its whole box, or waste."""
        edge, face = self.losses(end - start, start)
        box = self.offcut.width - edge, self.offcut.thickness - face
        found: Options = {self.nothing: Best(0, (None,))}
        kept = self.keeps_sawn(end - start, *box) if min(box) > 0 else 0
        if kept:
            whole = Kept(0, box[0])
            found[self.nothing] = Best(kept, (Milled(start, end, True, (whole,)),))
        found.update(self.milled(start, end))
        return found

    @cached_property
    def windows(self) -> dict[tuple[int, bool], Interval]:
        """Where the rings suit a kind lying so, if that is in part of the width only."""
        found = {}
        for (_, _, turned), kinds in self.sections.items():
            for kind in kinds:
                window = self.in_range(kind, turned=turned)
                if window is not None and window != (0, self.offcut.width):
                    found[kind, turned] = window
        return found

    def milled(self, start: int, end: int) -> Options:
        """Return what a billet there may give."""
        shop, length = self.shop, end - start
        room = (
            max(shop.snipe, shop.end_trim - start),
            min(length - shop.snipe, self.offcut.length - shop.end_trim - start),
        )
        found: Options = {}
        if length < shop.shortest_machined_length or self.offcut.width > shop.jointer_width:
            return found
        for rip_first in (True, False):
            flaws = self.flaws(start, end, rip_first=rip_first)
            options = self.billet(length, self.losses(length, start), room, flaws, rip_first)
            for counts, best in options.items():
                offer(found, counts, best._replace(parts=(Milled(start, end, rip_first, best.parts),)))
        return found

    def _billet(
        self, length: int, losses: Interval, room: Interval, flaws: tuple[Flaw, ...], rip_first: bool
    ) -> Options:
        box = self.offcut.width - losses[0], self.offcut.thickness - losses[1]
        depth, other = box if rip_first else box[::-1]
        if min(box) <= 0 or room[1] <= room[0]:
            return {}
        self.work.spend(BILLET)
        sticks: dict[int, list[tuple[int, tuple[int, int, bool]]]] = {}
        for section in self.sections:
            rough = self.rough(*section[:2], turned=section[2])
            first, second = rough if rip_first else rough[::-1]
            sticks.setdefault(first, []).append((second, section))

        @cache
        def sawn(size: int, hits: tuple[Flaw, ...]) -> Options:
            return self._strip(length, room, hits, size, other, sticks[size])

        def meets(size: int, start: int) -> tuple[Flaw, ...]:
            return tuple(flaw for flaw in flaws if meet(flaw.first, (start, start + size)))

        def strip(size: int, start: int, hits: tuple[Flaw, ...]) -> Options:
            return {
                counts: best._replace(parts=(Sawn(start, start + size, False, best.parts),))
                for counts, best in sawn(size, hits).items()
            }

        height = self.offcut.thickness if rip_first else self.offcut.width
        edges = [flaw.first for flaw in flaws]
        return self._row(
            Row(
                depth,
                self.saw(height),
                self.cap,
                set(sticks),
                None,
                meets,
                strip,
                partial(self.keeps_sawn, length, other),
                self.work,
            ),
            edges,
            self.least_gap(length, other),
        )

    def _strip(
        self,
        length: int,
        room: Interval,
        flaws: tuple[Flaw, ...],
        wide: int,
        depth: int,
        sticks: list[tuple[int, tuple[int, int, bool]]],
    ) -> Options:
        def meets(size: int, start: int) -> tuple[Flaw, ...]:
            return tuple(flaw for flaw in flaws if meet(flaw.second, (start, start + size)))

        def stick(size: int, start: int, hits: tuple[Flaw, ...]) -> Options:
            found: Options = {}
            for second, section in sticks:
                if second != size:
                    continue
                stopped = {flaw.rings for flaw in hits if flaw.rings}
                kinds = tuple(kind for kind in self.sections[section] if (kind, section[2]) not in stopped)
                met = tuple(flaw for flaw in hits if not flaw.rings)
                for counts, best in self.stick(length, room, section[:2], kinds, met).items():
                    part = Sawn(start, start + size, section[2], best.parts)
                    offer(found, counts, best._replace(parts=(part,)))
            return found

        edges = [flaw.second for flaw in flaws]
        sizes = {size for size, _ in sticks}
        return self._row(
            Row(
                depth,
                self.saw(wide),
                self.cap,
                sizes,
                None,
                meets,
                stick,
                partial(self.keeps_sawn, length, wide),
                self.work,
            ),
            edges,
            self.least_gap(length, wide),
        )

    def _row(self, row: Row, edges: list[Interval], least: int | None) -> Options:
        """Fill a row across a billet, among defects with these edges; ``least`` is the least keeper."""
        depth, kerf = row.end, row.kerf
        if kerf is None:  # no cut can be made: one piece as deep as the box, or nothing
            return row.piece(depth, 0, row.meets(depth, 0)) if depth in row.sizes else {}
        if not edges:
            return row.fill()
        lefts, rights, over = {0}, {depth}, [kerf]
        if least is not None:
            lefts, rights, over = {0, least + kerf}, {depth, depth - least - kerf}, [kerf, 2 * kerf + least]
        lefts |= {edge[1] for edge in edges}
        rights |= {edge[0] for edge in edges}
        return row._replace(where=starts(row.sizes, lefts, rights, (0, depth), over)).fill()

    # Along the offcut

    @cached_property
    def loss_limits(self) -> set[int]:
        """The greatest lengths at which a stack of sticks, or a least keeper, still fits somewhere."""
        offcut, shop = self.offcut, self.shop
        if not self.limits:
            return set()
        keepers = {shop.keeper_width, shop.keeper_thickness, shop.narrowest_rip}
        kerfs = [shop.rip_kerf, shop.bandsaw_kerf]
        roughs = [self.rough(*section[:2], turned=section[2]) for section in self.sections]
        found: set[int] = set()
        windows = self.windows.values()
        for axis, deep, skim, lows, highs in (
            (
                0,
                offcut.width,
                shop.edge_skim,
                [*(d.y2 for d in offcut.defects), *(low + shop.edge_skim for low, _ in windows)],
                [*(d.y1 for d in offcut.defects), *(high for _, high in windows)],
            ),
            (
                1,
                offcut.thickness,
                shop.face_skim,
                [d.z2 for d in offcut.defects],
                [d.z1 for d in offcut.defects],
            ),
        ):
            sizes = {rough[axis] for rough in roughs} | keepers
            bases = [0, *(low - skim for low in lows)]
            for stack in places(sizes, bases, (0, deep), kerfs):
                for size, high, side in product(sizes, (deep, *highs), offcut.sides):
                    found.add(self._longest(axis, high - stack - size, side))
        return {length for length in found if shop.shortest_machined_length <= length < offcut.length}

    @cached_property
    def all_limits(self) -> set[int]:
        """The same of this offcut and of the halves that it may be split into."""
        cutters = [half for _, pair in self.split_cutters for half in pair]
        return self.loss_limits.union(*(half.loss_limits for half in cutters))

    @cache  # noqa: B019 - lives as long as the test
    def _longest(self, axis: int, loss: int, side: Interval) -> int:
        start, low, high = side[0], 0, side[1] - side[0]
        if self.losses(low, start)[axis] > loss or self.losses(high, start)[axis] <= loss:
            return 0
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if self.losses(middle, start)[axis] <= loss else (low, middle)
        return low

    def _tight(self, lefts: set[int]) -> tuple[set[int], set[Interval]]:
        """Return billets whose ends are pushed left as far as what they hold lets them."""
        shop, whole = self.shop, self.offcut.length
        kerf, least = shop.crosscut_kerf, shop.keeper_length
        blocks = {block for kinds in self.sections.values() for _, block in self.contents(tuple(kinds))}
        fresh = {0} | {place - shop.snipe for place in lefts} | {place - kerf - least for place in lefts}
        begun: set[int] = set()
        billets: set[Interval] = set()
        fresh = {start for start in fresh if 0 <= start < whole}
        while fresh:
            start = fresh.pop()
            begun.add(start)
            heads = {max(start + shop.snipe, shop.end_trim), start + least + kerf}
            heads |= {place for place in lefts if place >= start + shop.snipe}
            ends = {start + least} | {start + length for length in self.all_limits}
            for head, block in product(heads, blocks):
                ends |= {head + block + shop.snipe, head + block + kerf + least}
            ends = {max(end, start + shop.shortest_machined_length) for end in ends}
            billets |= {(start, end) for end in ends if end <= whole}
            onward = {end + kerf for end in ends} | {start + least + kerf}
            fresh |= {place for place in onward if place + shop.shortest_machined_length <= whole} - begun
        return begun, billets

    def spans(self) -> set[Interval]:
        """Return from where to where billets are tried."""
        shop, whole, defects = self.shop, self.offcut.length, self.offcut.defects
        kinks, least = self.offcut.kinks, shop.shortest_machined_length
        lefts, rights = {shop.end_trim}, {whole - shop.end_trim}
        for kink, gap in product(kinks, (0, shop.crosscut_kerf)):
            lefts.add(kink + gap + shop.snipe)
            rights.add(kink - gap - shop.snipe)
        for defect in defects:
            lefts.add(defect.x2)
            rights.add(defect.x1)
            for blank, takes in zip(self.blanks, self.takes, strict=True):
                lefts.add(defect.x2 + blank.clear_end - takes)
                rights.add(defect.x1 - blank.clear_end + takes)
        firsts, billets = self._tight({place for place in lefts if place >= 0})
        lasts, mirrored = self._tight({whole - place for place in rights if place <= whole})
        billets |= {(whole - end, whole - start) for start, end in mirrored}
        billets |= {(start, whole - last) for start, last in product(firsts, lasts)}
        for kink in kinks:
            billets |= {(start, kink) for start in (*firsts, kink - least)}
            billets |= {(kink, whole - last) for last in (*lasts, whole - kink - least)}
        return {
            (start, end)
            for start, end in billets
            if 0 <= start <= end - least and end <= whole and not any(start < kink < end for kink in kinks)
        }

    def columns(self) -> list[tuple[int, int, Counts, Best]]:
        """Return the billets worth having: none that a shorter one inside it matches, with its ends' crosscuts."""
        found: dict[Counts, list[tuple[int, int, Counts, Best]]] = {}

        def matches(known: tuple[int, int, Counts, Best], start: int, end: int, best: Best) -> bool:
            a, b, _, other = known
            cuts = other.cuts + (a > start) + (b < end)
            return a >= start and b <= end and not best.beats(other._replace(cuts=cuts))

        for start, end in sorted(self.spans(), key=lambda span: (span[1] - span[0], span)):
            for counts, best in (*self.milled(start, end).items(), *self.split(start, end).items()):
                rows = found.setdefault(counts, [])
                self.work.spend(len(rows))
                if not any(matches(known, start, end, best) for known in rows):
                    rows.append((start, end, counts, best))
        return [row for rows in found.values() for row in rows]

    @cached_property
    def cuttings(self) -> Options:
        """What the whole offcut may give: for each counts the most that is kept."""
        offcut, shop = self.offcut, self.shop
        if not self.sections:
            return {}
        columns = sorted(self.columns(), key=lambda column: column[:2])
        kerf = shop.crosscut_kerf

        def keep(gap: int) -> int:
            return self.keeps(gap, offcut.width, offcut.thickness)

        @cache
        def onward(place: int) -> Options:
            last = keep(offcut.length - place)
            cuts = int(place - kerf < offcut.length)
            found = {self.nothing: Best(last, (Kept(place, offcut.length),) if last else (), cuts)}
            for start, end, counts, best in columns:
                if start < place:
                    continue
                before = keep(start - kerf - place)
                sawn = (start > place) + (place > 0) + best.cuts
                rest = onward(end + kerf)
                self.work.spend(len(rest))
                for more, after in rest.items():
                    total = tuple(map(add, counts, more))
                    kept, cuts = before + best.kept + after.kept, sawn + after.cuts
                    known = found.get(total)
                    if all(map(le, total, self.cap)) and (
                        known is None or (kept, -cuts) > (known.kept, -known.cuts)
                    ):
                        gap = (Kept(place, start - kerf),) if before else ()
                        found[total] = Best(kept, gap + best.parts + after.parts, cuts)
            return found

        return {counts: best for counts, best in onward(0).items() if any(counts)}

    # As a plan

    def plan(self, copy: int, parts: tuple[Any, ...]) -> OffcutPlan:
        """Return a cutting as the plan's types have it; no blank is marked extra."""
        return OffcutPlan(offcut=self.offcut.name, copy=copy, segments=tuple(map(self._segment, parts)))

    def _segment(self, part: Any) -> Segment:
        if isinstance(part, Kept):
            return WholeKeeper(start=part.start, end=part.end)
        if isinstance(part, Split):
            (cutters,) = (pair for at, pair in self.split_cutters if at == part.at)
            near, far = (
                cutter.cut_up(half or Milled(part.start, part.end, True, ()))
                for cutter, half in zip(cutters, part.halves, strict=True)
            )
            return SplitBillet(start=part.start, end=part.end, split=part.at, halves=(near, far))
        return self.cut_up(part)

    def cut_up(self, part: Milled) -> Billet:
        """Return a billet as the plan's types have it."""
        edge, face = self.losses(part.end - part.start, part.start)
        return Billet(
            start=part.start,
            end=part.end,
            layout="rip first" if part.rip_first else "resaw first",
            face_loss=face,
            edge_loss=edge,
            strips=tuple(
                Strip(start=strip.start, end=strip.end, keeper=True)
                if isinstance(strip, Kept)
                else Strip(
                    start=strip.start,
                    end=strip.end,
                    sticks=tuple(self._stick_of(stick, part.start) for stick in strip.parts),
                )
                for strip in part.parts
            ),
        )

    def _stick_of(self, stick: Any, begin: int) -> Stick:
        if isinstance(stick, Kept):
            return Stick(start=stick.start, end=stick.end, keeper=True)
        return Stick(
            start=stick.start,
            end=stick.end,
            turned=stick.turned,
            blanks=tuple(
                CutBlank(
                    blank=self.blanks[cut.kind].name,
                    extra=False,
                    start=begin + cut.start,
                    end=begin + cut.end,
                    clear_end="B" if cut.clear_end == "B" else "A",
                )
                for cut in stick.parts
                if isinstance(cut, Cut)
            ),
            keepers=tuple(
                Keeper(start=begin + rest.start, end=begin + rest.end)
                for rest in stick.parts
                if isinstance(rest, Kept)
            ),
        )
