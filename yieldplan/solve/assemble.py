"""From drawings of single offcuts to a plan: copies numbered, needs and spares told apart, everything counted."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model import SPARES, OffcutPlan, Plan, Proof, work_of
from yieldplan.model.recut import refilled
from yieldplan.model.words import fold
from yieldplan.model.work import account, net_worth, prices
from yieldplan.solve.pairs import most_made

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldplan.model import CutBlank, Job

PROVEN_GAP = 0.001
"""The largest gap at which a plan is called proven."""


def assemble(
    job: Job,
    drawn: Sequence[OffcutPlan],
    *,
    bound: int | None = None,
    missing_at_least: Mapping[str, int] | None = None,
    price: int | None = None,
) -> Plan:
    """Return the plan that draws these offcuts; copies and what is a spare are decided here.

    ``bound``: no plan that misses no more costs less; None where nothing is known. ``missing_at_least``: a bound for
    each class of aim 1, 0 where it has none. ``price``: hundredths of a minute for a board foot, where the cost is
    counted at another price than the shop's.

    Raises
    ------
    ValueError
        If the drawings hold more blanks of a kind than need and spares, or more copies of an offcut than there are.
    """
    offcuts = _told_apart(job, _numbered(job, drawn))
    cut = Counter(blank.blank for piece in offcuts for blank in piece.blanks)
    missing, work, net = _missing(job, cut), work_of(job, offcuts), net_worth(job, offcuts)
    cost = net + prices(job.shop, price).of(work)
    least = min(cost, 0) if bound is None else bound
    fewest = tuple((name, (missing_at_least or {}).get(name, 0)) for name, _ in missing)
    gap = (cost - least) / cost if cost > max(least, 0) else 0.0
    return Plan(
        input_name=job.name,
        input_sha256=job.sha256,
        mark=job.shop.mark,
        proof=Proof(
            missing=missing,
            missing_at_least=fewest,
            cost=cost,
            net_worth=net,
            bound=least,
            gap=gap,
            proven=fewest == missing and gap <= PROVEN_GAP,
        ),
        made=tuple((blank.name, min(cut[blank.name], blank.need)) for blank in job.blanks),
        spare=tuple((blank.name, max(cut[blank.name] - blank.need, 0)) for blank in job.blanks),
        missing=tuple((blank.name, max(blank.need - cut[blank.name], 0)) for blank in job.blanks),
        account=account(job, offcuts),
        work=work,
        offcuts=offcuts,
        price=price,
    )


def _missing(job: Job, cut: Counter[str]) -> tuple[tuple[str, int], ...]:
    """Return how many blanks are missing, class by class, spares last; needs come before spares."""
    found = dict.fromkeys((str(priority) for priority in sorted({b.priority for b in job.blanks})), 0)
    found[SPARES] = 0
    for blank in job.blanks:
        found[str(blank.priority)] += max(blank.need - cut[blank.name], 0)
        found[SPARES] += min(max(blank.need + blank.spare - cut[blank.name], 0), blank.spare)
    return tuple(found.items())


def _numbered(job: Job, drawn: Sequence[OffcutPlan]) -> list[OffcutPlan]:
    """Return the drawings in the pile's order, the copies of each offcut told apart.

    They are counted from 1 where they are not told apart already.
    """
    of: dict[str, list[OffcutPlan]] = {offcut.name: [] for offcut in job.offcuts}
    for piece in drawn:
        of[piece.offcut].append(piece)
    found = []
    for offcut in job.offcuts:
        here = of[offcut.name]
        if len(here) > offcut.qty:
            raise ValueError(f"{len(here)} of offcut {offcut.name} are drawn; expected at most {offcut.qty}")
        if len({piece.copy for piece in here}) < len(here):
            here = [replace(piece, copy=copy) for copy, piece in enumerate(here, 1)]
        found += sorted(here, key=lambda piece: piece.copy)
    return found


def _told_apart(job: Job, drawn: Sequence[OffcutPlan]) -> tuple[OffcutPlan, ...]:
    """Return the drawings with every blank beyond the need marked as a spare, in drawing order."""
    wanted = {blank.name: (blank.need, blank.need + blank.spare) for blank in job.blanks}
    seen: Counter[str] = Counter()

    def marked(cut: CutBlank) -> CutBlank:
        seen[cut.blank] += 1
        need, most = wanted[cut.blank]
        if seen[cut.blank] > most:
            raise ValueError(f"more of blank {cut.blank} are drawn than are wanted; expected at most {most}")
        return replace(cut, spare=seen[cut.blank] > need)

    sticks = (stick for piece in drawn for stick in piece.sticks)
    return refilled(drawn, (tuple(map(marked, stick.blanks)) for stick in sticks))


def without_surplus(
    job: Job, drawn: Sequence[OffcutPlan], wanted: Mapping[str, int] | None = None
) -> tuple[OffcutPlan, ...]:
    """Return the drawings without the blanks that nobody wants, and without what carries none then.

    The first to go are those whose offcut needs nobody else on it, then those whose billet, then those whose stick. Of
    a kind in pairs nobody wants what has no like of its species, but for one where one may stand alone. ``wanted``: how
    many of each kind are, if not as many as the job asks for; then pairs count for nothing.
    """
    woods = [fold(job.offcut(piece.offcut).species) for piece in drawn]
    paired = {blank.name for blank in job.blanks if blank.pairs and wanted is None}
    cuts = {
        (number, part, row, n): (cut.blank, woods[number] if cut.blank in paired else "")
        for number, piece in enumerate(drawn)
        for part, billet in enumerate(piece.jointed)
        for row, stick in enumerate(billet.sticks)
        for n, cut in reversed([*enumerate(stick.blanks)])
    }
    left = Counter(cuts.values())
    for blank in job.blanks:
        own = [one for one in left if one[0] == blank.name]
        most = blank.need + blank.spare if wanted is None else wanted.get(blank.name, 0)
        made = most_made([left[one] for one in own], blank) if blank.name in paired else [most]
        left.subtract(dict(zip(own, made, strict=False)))
    left = +left
    for level in range(1, 5) if left else ():
        groups: dict[tuple[int, ...], list[tuple[int, int, int, int]]] = {}
        for at in cuts:
            groups.setdefault(at[:level], []).append(at)
        for group in groups.values():
            names = Counter(cuts[at] for at in group)
            if names <= left:
                left.subtract(names)
                for at in group:
                    del cuts[at]
    return refilled(
        drawn,
        (
            [cut for n, cut in enumerate(stick.blanks) if (number, part, row, n) in cuts]
            for number, piece in enumerate(drawn)
            for part, billet in enumerate(piece.jointed)
            for row, stick in enumerate(billet.sticks)
        ),
    )
