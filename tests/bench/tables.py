"""One search, measured and rechecked, beside the by-hand rule and first-fit; and the table of many."""

from __future__ import annotations

import resource
import statistics
import sys
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.solve import Options, solve
from yieldplan.solve.assemble import assemble
from yieldplan.solve.simple import by_hand, first_fit
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.model import Job, Plan
    from yieldplan.solve import Progress


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What came of one search; ``first`` is when there was a plan, in seconds of the clock like ``seconds``.

    ``reached`` is when the gap was first at most what was asked for; None where it never was.
    """

    job: Job
    plan: Plan
    hand: Plan
    fit: Plan
    first: float
    reached: float | None
    seconds: float
    ended: str

    @property
    def aim1_proven(self) -> bool:
        """Whether the plan misses no more than is proven to be missed by any."""
        return self.plan.proof.missing == self.plan.proof.missing_at_least

    @property
    def worse_than_simple(self) -> bool:
        """Whether a simple plan misses fewer, or as few at less cost."""
        return min(aims(self.hand), aims(self.fit)) < aims(self.plan)

    def ratio(self, of: str) -> float | None:
        """Return cost or minutes as a share of the by-hand rule's; None where they do not miss the same."""
        if self.plan.proof.missing != self.hand.proof.missing:
            return None
        ours, hand = (
            (plan.proof.cost if of == "cost" else plan.work.hundredths) for plan in (self.plan, self.hand)
        )
        return ours / hand if hand > 0 else None


def aims(plan: Plan) -> tuple[tuple[int, ...], int]:
    """Return the two aims of a plan, to be compared: missing a class, then cost."""
    return tuple(count for _, count in plan.proof.missing), plan.proof.cost


def checked(job: Job, plan: Plan) -> Plan:
    """Return a plan that passes the recheck; end the bench where it does not."""
    breaches = verify(job, plan)
    if breaches:
        raise SystemExit(f"{job.name}: {breaches[0].sentence()}")
    return plan


def run(job: Job, seconds: float, *, until: float | None = None) -> Run:
    """Search for so many seconds, or until the gap is at most ``until``."""
    start = time.perf_counter()
    first: list[float] = []
    reached: list[float] = []

    def note(event: Progress) -> None:
        now = time.perf_counter() - start
        if not first:
            first.append(now)
        if until is not None and not reached and event.gap is not None and event.gap <= until:
            reached.append(now)

    found = solve(
        job,
        options=Options(seconds=seconds),
        on_event=note,
        stopped=lambda: until is not None and bool(reached),
    )
    taken = time.perf_counter() - start
    plan = checked(job, found.plan)
    if until is not None and not reached and plan.proof.gap <= until:
        reached.append(taken)
    return Run(
        job=job,
        plan=plan,
        hand=checked(job, assemble(job, by_hand(job))),
        fit=checked(job, assemble(job, first_fit(job))),
        first=first[0] if first else taken,
        reached=reached[0] if reached else None,
        seconds=taken,
        ended=str(found.ended),
    )


HEAD = (
    "| pile | missing: tool, hand, fit | cost: tool, hand, fit | of hand | minutes of hand | saws: tool, hand "
    "| boards: tool, hand | aim 1 proven | gap | first plan, s | seconds | ended |"
)


def row(one: Run) -> str:
    """Return the line of one search."""
    plan, hand, fit = one.plan, one.hand, one.fit
    cells = (
        one.job.name,
        ", ".join("+".join(str(count) for _, count in p.proof.missing) for p in (plan, hand, fit)),
        ", ".join(str(p.proof.cost) for p in (plan, hand, fit)),
        _share(one.ratio("cost")),
        _share(one.ratio("minutes")),
        f"{plan.work.saw_settings}, {hand.work.saw_settings}",
        f"{plan.work.offcuts}, {hand.work.offcuts}",
        "yes" if one.aim1_proven else "no",
        f"{plan.proof.gap:.2%}",
        f"{one.first:.1f}",
        f"{one.seconds:.1f}",
        one.ended + (" WORSE THAN SIMPLE" if one.worse_than_simple else ""),
    )
    return f"| {' | '.join(cells)} |"


def table(piles: Iterable[Job], seconds: float) -> Iterator[str]:
    """Yield the lines of some piles, and what they come to: median and worst."""
    yield HEAD
    yield "| --- " * HEAD.count(" | ") + "| --- |"
    runs = []
    for job in piles:
        runs.append(run(job, seconds))
        yield row(runs[-1])
    yield ""
    yield from totals(runs)


def totals(runs: Sequence[Run]) -> Iterator[str]:
    """Yield median and worst of what was measured."""
    for name, values in (
        ("gap", [one.plan.proof.gap for one in runs]),
        ("cost of by hand", [one.ratio("cost") for one in runs]),
        ("minutes of by hand", [one.ratio("minutes") for one in runs]),
        ("saw settings more than by hand", [_saws(one) for one in runs]),
        ("seconds to a first plan", [one.first for one in runs]),
    ):
        yield f"- {name}: {middle_and_worst(values)}"
    yield f"- aim 1 proven: {sum(one.aim1_proven for one in runs)} of {len(runs)}"
    yield f"- worse than by hand or first-fit: {sum(one.worse_than_simple for one in runs)}"
    yield f"- most memory so far: {peak_memory():.0f} MiB"


def middle_and_worst(values: Sequence[float | None]) -> str:
    """Return the median and the largest of some figures, in words."""
    known = [value for value in values if value is not None]
    if not known:
        return "none to compare"
    return f"median {statistics.median(known):.3f}, worst {max(known):.3f} ({len(known)} compared)"


def peak_memory() -> float:
    """Return the most memory that this process has held, in MiB."""
    unit = 1 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1024**2


def _saws(one: Run) -> float | None:
    if one.ratio("cost") is None:
        return None
    return one.plan.work.saw_settings - one.hand.work.saw_settings


def _share(value: float | None) -> str:
    return "" if value is None else f"{value:.3f}"
