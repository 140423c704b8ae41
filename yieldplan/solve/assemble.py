"""From drawings of single offcuts to a plan: copies numbered, needs and spares told apart, everything counted."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from yieldplan.model import (
    SPARES,
    Billet,
    OffcutPlan,
    Plan,
    Proof,
    SplitBillet,
    keepers,
    price_of,
    work_of,
    worth,
)
from yieldplan.solve.account import account

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from yieldplan.model import CutBlank, Job, Stick, Strip

PROVEN_GAP = 0.001
"""The largest gap at which a plan is called proven."""


class Short(NamedTuple):
    """What a batch wants and a plan does not make, by kind: (blank, count) pairs in the batch's order."""

    made: tuple[tuple[str, int], ...]
    spare: tuple[tuple[str, int], ...]
    missing: tuple[tuple[str, int], ...]
    classes: tuple[tuple[str, int], ...]


def assemble(
    job: Job,
    drawn: Sequence[OffcutPlan],
    *,
    bound: int | None = None,
    missing_at_least: Mapping[str, int] | None = None,
    aim1_proven: bool = False,
    price: int | None = None,
) -> Plan:
    """Return the plan that draws these offcuts.

    Parameters
    ----------
    job
        The input, as it was read.
    drawn
        A drawing for each piece that is cut up; its copy and what is a spare are decided here.
    bound
        No plan that misses no more costs less; None where nothing is known.
    missing_at_least
        A bound a class of aim 1; a class that is not in it has 0.
    aim1_proven
        Whether no plan misses fewer: then what is missing is its own bound.
    price
        Hundredths of a minute for a board foot, where the cost is counted at another price than the shop's.

    Raises
    ------
    ValueError
        If the drawings hold more blanks of a kind than need and spares, or more copies of an offcut than there are.
    """
    offcuts = _told_apart(job, _numbered(job, drawn))
    counts, work = short_of(job, offcuts), work_of(job, offcuts)
    net = net_worth(job, offcuts)
    cost = net + price_of(work, job.shop, price)
    least = min(cost, 0) if bound is None else bound
    gap = (cost - least) / cost if cost > max(least, 0) else 0.0
    claimed = missing_at_least or {}
    fewest = (
        counts.classes if aim1_proven else tuple((name, claimed.get(name, 0)) for name, _ in counts.classes)
    )
    return Plan(
        input_name=job.name,
        input_sha256=job.sha256,
        mark=job.shop.mark,
        proof=Proof(
            missing=counts.classes,
            missing_at_least=fewest,
            cost=cost,
            net_worth=net,
            bound=least,
            gap=gap,
            proven=fewest == counts.classes and gap <= PROVEN_GAP,
        ),
        made=counts.made,
        spare=counts.spare,
        missing=counts.missing,
        account=account(job, offcuts),
        work=work,
        offcuts=offcuts,
        price=price,
    )


def net_worth(job: Job, drawn: Sequence[OffcutPlan]) -> int:
    """Return the worth of the offcuts drawn less the worth of their keepers, in thousandths of a board foot."""
    total = 0
    for piece in drawn:
        offcut = job.offcut(piece.offcut)
        total += worth(offcut.length, offcut.width, offcut.thickness, job.shop)
        total -= sum(keeper.worth(job.shop) for keeper in keepers(job, piece))
    return total


def short_of(job: Job, drawn: Sequence[OffcutPlan]) -> Short:
    """Count what drawings make and miss, kind by kind and class by class; needs come before spares."""
    cut = Counter(blank.blank for piece in drawn for blank in piece.blanks)
    classes = dict.fromkeys((str(priority) for priority in sorted({b.priority for b in job.blanks})), 0)
    classes[SPARES] = 0
    for blank in job.blanks:
        classes[str(blank.priority)] += max(blank.need - cut[blank.name], 0)
        classes[SPARES] += min(max(blank.need + blank.spare - cut[blank.name], 0), blank.spare)
    return Short(
        tuple((blank.name, min(cut[blank.name], blank.need)) for blank in job.blanks),
        tuple((blank.name, max(cut[blank.name] - blank.need, 0)) for blank in job.blanks),
        tuple((blank.name, max(blank.need - cut[blank.name], 0)) for blank in job.blanks),
        tuple(classes.items()),
    )


def _numbered(job: Job, drawn: Sequence[OffcutPlan]) -> list[OffcutPlan]:
    """Return the drawings in the pile's order, the copies of each offcut counted from 1."""
    place = {offcut.name: number for number, offcut in enumerate(job.offcuts)}
    seen: Counter[str] = Counter()
    found = []
    for piece in sorted(drawn, key=lambda piece: place[piece.offcut]):
        seen[piece.offcut] += 1
        found.append(replace(piece, copy=seen[piece.offcut]))
    for offcut in job.offcuts:
        if seen[offcut.name] > offcut.qty:
            raise ValueError(
                f"{seen[offcut.name]} of offcut {offcut.name} are drawn; expected at most {offcut.qty}"
            )
    return found


def _told_apart(job: Job, drawn: Sequence[OffcutPlan]) -> tuple[OffcutPlan, ...]:
    """Return the drawings with every blank beyond the need marked as a spare, in drawing order."""
    wanted = {blank.name: (blank.need, blank.need + blank.spare) for blank in job.blanks}
    seen: Counter[str] = Counter()

    def marked(stick: Stick) -> Stick:
        blanks = []
        for cut in stick.blanks:
            seen[cut.blank] += 1
            need, most = wanted[cut.blank]
            if seen[cut.blank] > most:
                raise ValueError(
                    f"more of blank {cut.blank} are drawn than are wanted; expected at most {most}"
                )
            blanks.append(replace(cut, spare=seen[cut.blank] > need))
        return replace(stick, blanks=tuple(blanks))

    return tuple(piece for piece in (_changed(piece, marked) for piece in drawn) if piece is not None)


def without_surplus(job: Job, drawn: Sequence[OffcutPlan]) -> tuple[OffcutPlan, ...]:
    """Return the drawings without the blanks that nobody wants, and without what carries none then.

    The first to go are those whose offcut needs nobody else on it, then those whose billet, then those whose stick.
    """
    left = Counter(cut.blank for piece in drawn for cut in piece.blanks)
    for blank in job.blanks:
        left[blank.name] -= blank.need + blank.spare
    found: list[OffcutPlan | None] = list(drawn)
    for level in (_by_offcut, _by_billet, _by_stick, _by_blank):
        for number, piece in enumerate(found):
            if piece is not None and +left:
                found[number] = _thinned(piece, level(piece), left)
    return tuple(piece for piece in found if piece is not None)


Group = tuple["CutBlank", ...]
Place = tuple[int, ...]


def _sticks(piece: OffcutPlan) -> list[tuple[int, Group]]:
    """Return the blanks of each stick of an offcut, with the number of what is jointed as one piece."""
    return [
        (number, stick.blanks)
        for number, part in enumerate(piece.jointed)
        for strip in part.strips
        for stick in strip.sticks
    ]


def _by_offcut(piece: OffcutPlan) -> list[set[Place]]:
    return [{(s, n) for s, (_, blanks) in enumerate(_sticks(piece)) for n in range(len(blanks))}]


def _by_billet(piece: OffcutPlan) -> list[set[Place]]:
    groups: dict[int, set[Place]] = {}
    for s, (billet, blanks) in enumerate(_sticks(piece)):
        groups.setdefault(billet, set()).update((s, n) for n in range(len(blanks)))
    return list(groups.values())


def _by_stick(piece: OffcutPlan) -> list[set[Place]]:
    return [{(s, n) for n in range(len(blanks))} for s, (_, blanks) in enumerate(_sticks(piece))]


def _by_blank(piece: OffcutPlan) -> list[set[Place]]:
    return [{(s, n)} for s, (_, blanks) in enumerate(_sticks(piece)) for n in reversed(range(len(blanks)))]


def _thinned(piece: OffcutPlan, groups: list[set[Place]], left: Counter[str]) -> OffcutPlan | None:
    """Take out each group of blanks that is surplus altogether, and count it off ``left``."""
    sticks, out = [blanks for _, blanks in _sticks(piece)], set[Place]()
    for group in groups:
        names = Counter(sticks[s][n].blank for s, n in group)
        if all(left[name] >= count for name, count in names.items()):
            left.subtract(names)
            out |= group
    if not out:
        return piece
    at = iter(range(len(sticks)))

    def kept(stick: Stick) -> Stick | None:
        s = next(at)
        blanks = tuple(cut for n, cut in enumerate(stick.blanks) if (s, n) not in out)
        return replace(stick, blanks=blanks) if blanks else None

    return _changed(piece, kept)


def _changed(piece: OffcutPlan, change: Callable[[Stick], Stick | None]) -> OffcutPlan | None:
    """Return a drawing with every stick changed; what is left without a stick goes."""
    billets = tuple(
        billet for billet in (_billet(part, change) for part in piece.billets) if billet is not None
    )
    return replace(piece, billets=billets) if billets else None


def _billet(
    billet: Billet | SplitBillet, change: Callable[[Stick], Stick | None]
) -> Billet | SplitBillet | None:
    if isinstance(billet, SplitBillet):
        near, far = (None if half is None else _layout(half, change) for half in billet.halves)
        return None if near is None and far is None else replace(billet, halves=(near, far))
    return _layout(billet, change)


def _layout(billet: Billet, change: Callable[[Stick], Stick | None]) -> Billet | None:
    def strip_of(strip: Strip) -> Strip | None:
        sticks = tuple(stick for stick in map(change, strip.sticks) if stick is not None)
        return replace(strip, sticks=sticks) if sticks else None

    strips = tuple(strip for strip in map(strip_of, billet.strips) if strip is not None)
    return replace(billet, strips=strips) if strips else None
