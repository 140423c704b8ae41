"""The solver beside its rivals, in one process: the by-hand rule, one CP-SAT model of a pile, an arc flow for bars.

Rivals and solver are given the same seconds and the same two cores, and what they have is noted as it grows. *As good
after* is when the solver first had a plan that misses no more blanks and, with as few missing, draws no more than the
rival's last; the *ratio* is how many times longer the rival took to that. Every plan of a rival passes the recheck.

:func:`growth` asks how the solver's own time grows with the pile.
"""

from __future__ import annotations

import math
import statistics
import tempfile
import time
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import arcflow
from bars import read_folder
from by_hand import draw
from monolith import Monolith, Point, TooLargeError
from piles import pile
from speed import bar_cases

from yieldplan.model import worth
from yieldplan.solve import RECHECK, Options, searched
from yieldplan.solve.warm import load_kernels
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldplan.model import Job, Plan
    from yieldplan.solve import Progress

SECONDS = 60.0
LADDER, LADDER_SEEDS = (2, 4, 8, 16, 32, 64, 128), (1, 2)
HAND_SEEDS = range(1, 6)
GROWTH = (
    (30, range(1, 12), 60.0),
    (100, range(1, 12), 60.0),
    (300, range(1, 6), 120.0),
    (1000, range(1, 5), 300.0),
)
"""Offcuts, seeds, seconds."""

NEAR = 0.02
"""The gap that growth is measured to."""

MARKS = (1.0, 10.0)
"""Seconds at which the tables say what was reached."""


class Ran(NamedTuple):
    """What a search had as it went on, its plan at the end, and the seconds that it took."""

    points: list[Point]
    plan: Plan
    seconds: float


def of_recipe(seed: int, offcuts: int) -> Job:
    """Return a pile of so many offcuts, with blanks in proportion: 80 offcuts, 60 blanks of 8 kinds."""
    blanks = max(3, offcuts * 3 // 4)
    return pile(seed, offcuts, blanks, min(8, max(2, blanks // 3)))


def traced(job: Job, seconds: float = SECONDS) -> Ran:
    """Run the solver and note every better plan."""
    points: list[Point] = []
    start = time.perf_counter()

    def note(progress: Progress) -> None:
        if progress.best is None or progress.missing is None:
            return
        now = Point(time.perf_counter() - start, progress.missing, progress.best)
        if not points or now[1:] < points[-1][1:]:
            points.append(now)

    found, _ = searched(job, options=Options(seconds=seconds), on_event=note)
    taken = time.perf_counter() - start
    checked(job, found)
    end = Point(taken, found.missing_total, found.proof.net_worth)
    if not points or end[1:] < points[-1][1:]:
        points.append(end)
    return Ran(points, found, taken)


def checked(job: Job, found: Plan) -> None:
    """Stop everything where a plan does not pass the recheck."""
    breaches = verify(job, found)
    if breaches:
        raise SystemExit(f"{job.name}: {breaches[0].sentence()}")


def at(points: Iterable[Point], seconds: float) -> str:
    """Return what had been reached by then, as missing / net worth."""
    known = [point for point in points if point.seconds <= seconds]
    return f"{known[-1].missing} / {known[-1].net_worth}" if known else "nothing"


def as_good(points: Iterable[Point], rival: Point) -> float | None:
    """Return when a search was as good as the rival's last, None where it never was."""
    return next((point.seconds for point in points if point[1:] <= rival[1:]), None)


def ratio(rival: Point | None, tool: float | None) -> str:
    """Return two cells: when the solver was as good, and how many times longer the rival took."""
    if rival is None:
        return " | "
    if tool is None:
        return "never | "
    return f"{tool:.2f} | {rival.seconds / max(tool, 0.01):.3g}"


def baselines() -> Iterator[str]:
    """Yield the tables of the three rivals."""
    load_kernels()
    yield from by_hand_rows()
    yield ""
    yield from ladder_rows()
    yield ""
    yield from bar_rows()


MARK_HEADS = " | ".join(f"at {seconds:g} s" for seconds in MARKS)
HEAD = (
    f"| pile | rival | {MARK_HEADS} | at the end | seconds | tool, {MARK_HEADS.replace('| ', '| tool, ')} "
    "| tool, at the end | gap | seconds | tool as good after, s | ratio of times |"
)


def _row(name: str, rival: str, points: Sequence[Point], ran: Ran, seconds: float) -> str:
    """Return a row: what the rival and the tool had at some moments and at the end, and the ratio of times."""
    reached = " | ".join(at(points, mark) for mark in MARKS)
    own = " | ".join(at(ran.points, mark) for mark in MARKS)
    last = points[-1] if points else None
    times = ratio(last, as_good(ran.points, last) if last else None)
    return (
        f"| {name} | {rival} | {reached} | {at(points, math.inf)} | {seconds:.1f} | {own} "
        f"| {at(ran.points, math.inf)} | {ran.plan.proof.gap:.2%} | {ran.seconds:.1f} | {times} |"
    )


def by_hand_rows() -> Iterator[str]:
    """Yield the by-hand rule beside the solver on piles of 80 offcuts."""
    yield "Figures are blanks missing / net worth drawn."
    yield ""
    yield HEAD
    yield "| --- " * HEAD.count(" | ") + "| --- |"
    for seed in HAND_SEEDS:
        job = of_recipe(seed, 80)
        start = time.perf_counter()
        hand = draw(job)
        taken = time.perf_counter() - start
        checked(job, hand.plan)
        points = [Point(taken, hand.missing, hand.net_worth)]
        yield _row(f"80 x 60, seed {seed}", "by hand", points, traced(job), taken)


def ladder_rows(sizes: Sequence[int] = LADDER, seconds: float = SECONDS) -> Iterator[str]:
    """Yield the CP-SAT model beside the solver on piles that grow until it cannot be built, or gives nothing."""
    yield HEAD
    yield "| --- " * HEAD.count(" | ") + "| --- |"
    for seed in LADDER_SEEDS:
        for offcuts in sizes:
            job = of_recipe(seed, offcuts)
            need = sum(blank.need for blank in job.blanks)
            name = f"{offcuts} x {need}, seed {seed}"
            ran = traced(job, seconds)
            start = time.perf_counter()
            try:
                model = Monolith(job)
            except TooLargeError:
                yield _row(name, "CP-SAT: cannot be built", [], ran, 0.0)
                break
            built = time.perf_counter() - start
            points, found = model.solve(max(1.0, seconds - built))
            points = [point._replace(seconds=point.seconds + built) for point in points]
            if found is not None:
                checked(job, found)
            yield _row(name, f"CP-SAT, {model.slots} places", points, ran, time.perf_counter() - start)
            if not points or points[-1].missing == need > ran.points[-1].missing:
                break


def bar_rows(seconds: float = SECONDS) -> Iterator[str]:
    """Yield the arc flow beside the solver on bars without defects; figures are bars."""
    yield (
        "| bars | arcs | arc flow, bars | bound | proven | seconds | tool, bars | bound | proven | seconds "
        "| tool as good after, s | ratio of times |"
    )
    yield "| --- " * 12 + "|"
    for name, case in bar_cases():
        with tempfile.TemporaryDirectory() as folder:
            job = read_folder(case, Path(folder))
        flow, ran = arcflow.solve(job, seconds), traced(job, seconds)
        (bar,) = job.offcuts
        each = worth(bar.length, bar.width, bar.thickness, job.shop)
        rival = None
        if flow.bars is not None and flow.plan is not None:
            checked(job, flow.plan)
            rival = Point(flow.seconds, 0, flow.bars * each)
        proof = ran.plan.proof
        yield (
            f"| {name} | {flow.arcs} | {'none' if flow.bars is None else flow.bars} | {math.ceil(flow.bound - 1e-6)} "
            f"| {'yes' if flow.proven else 'no'} | {flow.seconds:.1f} "
            f"| {proof.net_worth // each} | {-(-proof.bound // each)} | {'yes' if proof.proven else 'no'} "
            f"| {ran.seconds:.1f} | {ratio(rival, as_good(ran.points, rival) if rival else None)} |"
        )


class Grown(NamedTuple):
    """How long one pile took to a gap of NEAR: seconds of the clock, of counted work; the last gap, if it got there."""

    seconds: float
    work: float
    gap: float
    missing: int
    near: bool


def grown(job: Job, seconds: float) -> Grown:
    """Run the solver until its gap is small and aim 1 is settled; then stop it as Ctrl-C does."""
    start = time.perf_counter()

    def note(progress: Progress) -> None:
        ready = progress.phase != RECHECK and (progress.missing == 0 or progress.phase == "least worth")
        if ready and progress.gap is not None and progress.gap <= NEAR:
            raise KeyboardInterrupt

    found, search = searched(job, options=Options(seconds=seconds), on_event=note)
    taken = time.perf_counter() - start
    checked(job, found)
    gap = found.proof.gap
    return Grown(taken, search.budget.spent, gap, found.missing_total, gap <= NEAR)


def growth(sizes: Sequence[tuple[int, Sequence[int], float]] = GROWTH) -> Iterator[str]:
    """Yield the table of how long piles of one recipe take to a small gap, and by how much that grows tenfold."""
    load_kernels()
    yield f"| offcuts x blanks | seed | seconds to a gap of {NEAR:.0%} | counted | gap | missing |"
    yield "| --- " * 6 + "|"
    middle: dict[int, tuple[float, float]] = {}
    for offcuts, seeds, seconds in sizes:
        runs = []
        for seed in seeds:
            job = of_recipe(seed, offcuts)
            one = grown(job, seconds)
            runs.append(one)
            name = f"{offcuts} x {sum(blank.need for blank in job.blanks)}"
            over = "" if one.near else "not in "
            yield (
                f"| {name} | {seed} | {over}{one.seconds:.1f} | {one.work:.1f} | {one.gap:.2%} | {one.missing} |"
            )
        middle[offcuts] = (
            statistics.median(run.seconds for run in runs),
            statistics.median(run.work for run in runs),
        )
    yield ""
    yield "| from | to | times the seconds | times the counted | the same for ten times the pile |"
    yield "| --- " * 5 + "|"
    for (less, before), (more, after) in combinations(middle.items(), 2):
        if more > 5 * less:
            clock, work = (b / a for a, b in zip(before, after, strict=True))
            tenfold = clock ** (1 / math.log10(more / less))
            yield f"| {less} | {more} | {clock:.1f} | {work:.1f} | {tenfold:.1f} |"
