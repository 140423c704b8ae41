"""The solver against the clock: random piles of several sizes, and bars without defects from published recipes.

Bars: the uniform and triplet recipes of Falkenauer (1996, J. Heuristics 2, 5-30) and that of Schwerin & Waescher (1997,
Int. Trans. Oper. Res. 4, 377-389), all from memory: bars of 150 and lengths of 20 to 100; bars of 1000 that three
lengths fill without waste; bars of 1000 and lengths of 150 to 200. Seeds are our own, so are the instances.
"""

from __future__ import annotations

import random
import statistics
import time
from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from bars import bars, pieces, sheets
from carved import triplets
from piles import pile

from yieldplan.solve import Options, searched
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from yieldplan.model import Job
    from yieldplan.solve import Progress


class Run(NamedTuple):
    """What came of one search; ``first`` is when there was a first plan, all in seconds of the clock."""

    missing: int
    net_worth: int
    gap: float
    settled: bool
    proven: bool
    first: float
    seconds: float
    work: float


def run(job: Job, seconds: float) -> Run:
    """Search for so many seconds; stop where the plan does not pass the recheck."""
    start = time.perf_counter()
    first: list[float] = []

    def note(progress: Progress) -> None:
        if progress.best is not None and not first:
            first.append(time.perf_counter() - start)

    found, search = searched(job, options=Options(seconds=seconds), on_event=note)
    taken = time.perf_counter() - start
    breaches = verify(job, found)
    if breaches:
        raise SystemExit(f"{job.name}: {breaches[0].sentence()}")
    proof = found.proof
    return Run(
        missing=found.missing_total,
        net_worth=proof.net_worth,
        gap=proof.gap,
        settled=search.settled,
        proven=proof.proven,
        first=first[0] if first else taken,
        seconds=taken,
        work=search.budget.spent,
    )


HEAD = "| pile | missing | net worth | gap | aim 1 proven | aim 2 proven | first plan, seconds | seconds | counted |"


def table(piles: Iterable[tuple[str, Job, float]]) -> Iterator[str]:
    """Yield the table of some piles, each with its seconds."""
    yield HEAD
    yield "| --- " * 9 + "|"
    runs = []
    for name, job, seconds in piles:
        one = run(job, seconds)
        runs.append(one)
        yield (
            f"| {name} | {one.missing} | {one.net_worth} | {one.gap:.2%} | {'yes' if one.settled else 'no'} "
            f"| {'yes' if one.proven else 'no'} | {one.first:.1f} | {one.seconds:.1f} | {one.work:.1f} |"
        )
    gaps = [one.gap for one in runs]
    yield (
        f"| all {len(runs)} | | | median {statistics.median(gaps):.2%}, worst {max(gaps):.2%} "
        f"| {sum(one.settled for one in runs)} | {sum(one.proven for one in runs)} "
        f"| at most {max(one.first for one in runs):.1f} | | |"
    )


def ample() -> Iterator[str]:
    """Yield the table of 80 offcuts and 60 blanks, 20 seconds each."""
    yield from table((f"80 x 60, seed {seed}", pile(seed), 20.0) for seed in range(1, 21))


def scarce() -> Iterator[str]:
    """Yield the table of 40 offcuts and 80 blanks, 20 seconds each."""
    yield from table((f"40 x 80, seed {seed}", pile(seed, 40, 80, 8), 20.0) for seed in range(1, 21))


def large() -> Iterator[str]:
    """Yield the table of large piles."""
    sizes = ((300, 400, 12, 60.0), (1000, 1500, 14, 300.0))
    yield from table((f"{o} x {b}", pile(1, o, b, k), seconds) for o, b, k, seconds in sizes)


def recipes() -> Iterator[tuple[str, int, dict[int, int]]]:
    """Yield the published recipes: name, length of a bar, and how many are wanted of each length."""
    for seed, count in enumerate((120, 120, 250, 500), 1):
        rng = random.Random(f"uniform {seed}")
        yield f"uniform, {count}, seed {seed}", 150, Counter(rng.randint(20, 100) for _ in range(count))
    for seed, count in enumerate((120, 249, 501), 1):
        yield f"triplets, {count}, seed {seed}", 1000, triplets(seed, count)
    for seed, count in enumerate((100, 150, 200), 1):
        rng = random.Random(f"narrow {seed}")
        yield f"150 to 200, {count}, seed {seed}", 1000, Counter(rng.randint(150, 200) for _ in range(count))


def bar_cases() -> Iterator[tuple[str, dict[str, list[tuple[str | int | float, ...]]]]]:
    """Yield the recipes as sheets: as many bars as are ever needed, worth the same a length."""
    for name, length, wanted in recipes():
        most = sum(wanted.values())
        yield name, sheets(bars({str(length): min(most, 500)}, "mm"), pieces(dict(wanted), "mm"))
