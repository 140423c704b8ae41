"""Benchmarks with fresh seeds at every run; the results go into RESULTS.md beside this file.

    python tests/bench/run.py [--only MEASURE ...] [--piles N] [--seconds S]

Each measure named (all, if none is) is run anew and its section of RESULTS.md replaced. Seeds come from the system and
stand in the name of each pile: ``python -c "from piles import pile; ..."`` makes the same pile again. Every plan is
rechecked, and the by-hand rule and first-fit stand beside it. One process at a time, on a machine that does nothing
else; times are of the wall clock. ``--piles`` and ``--seconds`` replace a measure's own.

ample, minute
    80 offcuts, 60 blanks, 8 kinds: 20 seconds each, and 60.
wet
    The second family: moisture, slopes, far rings, kinks, spares.
scarce
    40 offcuts, 80 blanks, 6 kinds.
large, largest
    300 offcuts and 400 blanks, 60 seconds; 1,000 and 1,500, 300 seconds.
kinds
    Twelve piles of straight clear boards and 50 to 150 kinds of blanks.
bars
    Bars without defects: cases of books and recipes, each with as many bars as are needed and with three more.
never
    Pairs of searches, the second with more to choose from: more seconds, splits allowed, more boards. Never worse.
growth
    100, 300 and 1,000 offcuts: seconds until the gap is at most 4 %.
demo
    The inch demo, priced and by wood alone, and the command line with an empty cache of compiled code.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import sys
import tempfile
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(HERE))

from bar_cases import Bars, published, recipes  # noqa: E402 - after the path to the generators is set
from piles import (  # noqa: E402 - same
    MANY_KINDS,
    fresh,
    growth_pile,
    large_pile,
    largest_pile,
    many_kinds,
    pile,
    scarce_pile,
    wet_pile,
)
from tables import aims, checked, middle_and_worst, run, table  # noqa: E402 - same

import yieldplan  # noqa: E402 - same
from yieldplan.model.shop import INCH  # noqa: E402 - same
from yieldplan.solve import Options, solve  # noqa: E402 - same
from yieldplan.workbook import read  # noqa: E402 - same

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from yieldplan.model import Job, Plan

RESULTS = HERE / "RESULTS.md"
DEMO = ROOT / "data_demo" / "skiff-frames.xlsx"
NO_SPLITS = 1000 * INCH
"""A warp that no board has: nothing is split for it."""


class Measure(NamedTuple):
    """A measure: how many piles and how many seconds each if nothing else is said, and what it does."""

    piles: int
    seconds: float
    lines: Callable[[int, float], Iterator[str]]


def of_piles(make: Callable[[int], Job]) -> Callable[[int, float], Iterator[str]]:
    """Return the measure of a family of piles."""

    def lines(piles: int, seconds: float) -> Iterator[str]:
        yield from table(map(make, fresh(piles)), seconds)

    return lines


def kinds(piles: int, seconds: float) -> Iterator[str]:
    """Yield the table of piles of many kinds."""
    shapes = zip(fresh(min(piles, len(MANY_KINDS))), MANY_KINDS, strict=False)
    yield from table((many_kinds(seed, *shape) for seed, shape in shapes), seconds)


def bars(piles: int, seconds: float) -> Iterator[str]:
    """Yield the table of bars, the length drawn against the least that there is."""
    cases = [*published(), *(case for seed in fresh(piles) for case in recipes(seed))]
    yield "| case | missing: tool, fit | length drawn: known, tool, fit | proven | first plan, s | seconds |"
    yield "| --- | --- | --- | --- | --- | --- |"
    short = longer = 0
    for case in (each for small in cases for each in (small, small.with_more())):
        one = run(case.job, seconds)
        drawn = length_drawn(case, one.plan)
        short += one.plan.missing_total > 0
        longer += drawn > case.best
        yield (
            f"| {case.name} | {one.plan.missing_total}, {one.fit.missing_total} | {case.best}, {drawn}, "
            f"{length_drawn(case, one.fit)} | {'yes' if one.plan.proof.proven else 'no'} | {one.first:.1f} "
            f"| {one.seconds:.1f}{' WORSE THAN SIMPLE' if one.worse_than_simple else ''} |"
        )
    yield ""
    yield f"- of {2 * len(cases)}: {short} miss pieces, {longer} draw more than is needed"


def length_drawn(case: Bars, plan: Plan) -> int:
    """Return the length of the bars drawn, in units."""
    return sum(case.job.offcut(drawn.offcut).length for drawn in plan.offcuts) // INCH


def never(piles: int, seconds: float) -> Iterator[str]:
    """Yield the pairs in which more to choose from gives a worse plan."""
    yield "| pile | more | missing and cost before | after | |"
    yield "| --- | --- | --- | --- | --- |"
    worse = 0
    for number, seed in enumerate(fresh(piles)):
        job = pile(seed, 24, 20, 5)
        more = ("seconds", "splits", "boards")[number % 3]
        less, times = job, 1
        if more == "splits":
            less = replace(job, shop=replace(job.shop, split_warp=NO_SPLITS))
        elif more == "boards":
            less = replace(job, offcuts=job.offcuts[:-4])
        else:
            times = 3
        before, after = (
            aims(checked(tried, solve(tried, options=Options(seconds=given)).plan))
            for tried, given in ((less, seconds), (job, times * seconds))
        )
        worse += after > before
        yield f"| {job.name} | {more} | {before} | {after} | {'WORSE' if after > before else ''} |"
    yield ""
    yield f"- worse with more: {worse} of {piles}"


def growth(piles: int, seconds: float) -> Iterator[str]:
    """Yield how long it takes until the gap is at most 4 %, pile by pile of growing size."""
    yield "| offcuts | seconds to 4 % | median |"
    yield "| --- | --- | --- |"
    for offcuts in (100, 300, 1000):
        times = [run(growth_pile(seed, offcuts), seconds, until=0.04).reached for seed in fresh(piles)]
        said = ", ".join("never" if time is None else f"{time:.1f}" for time in times)
        yield f"| {offcuts} | {said} | {middle_and_worst(times)} |"


def demo(piles: int, seconds: float) -> Iterator[str]:
    """Yield the figures of the inch demo; there is one pile, whatever is asked."""
    job = read(DEMO)
    one = run(job, seconds)
    wood = checked(job, solve(job, options=Options(seconds=seconds, price=0)).plan)
    yield "| plan | cost | net worth | minutes | boards | saws, odd | planer | stop | passes | gap |"
    yield "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |"
    for name, plan in (
        ("tool", one.plan),
        ("wood alone", wood),
        ("by hand", one.hand),
        ("first-fit", one.fit),
    ):
        work, proof = plan.work, plan.proof
        yield (
            f"| {name} | {proof.cost} | {proof.net_worth} | {work.hundredths / 100:.0f} | {work.offcuts} "
            f"| {work.saw_settings}, {work.odd_cuts} | {work.planer_settings} | {work.stop_settings} "
            f"| {work.passes} | {proof.gap:.2%} |"
        )
    yield ""
    yield f"- net worth of wood alone's: {one.plan.proof.net_worth / max(wood.proof.net_worth, 1):.3f}"
    with tempfile.TemporaryDirectory() as folder:
        for words in ("an empty cache", "a warm one"):
            status, taken, memory = command_line(Path(folder))
            yield f"- command line with {words}: exit status {status}, {taken:.1f} s, {memory:.0f} MiB"


def command_line(folder: Path) -> tuple[int, float, float]:
    """Plan the demo by the command line; return exit status, seconds and MiB."""
    program = str(Path(sys.executable).with_name("yieldplan"))
    done = subprocess.run(
        [sys.executable, str(HERE / "measure.py"), program, "plan", str(DEMO), "--out", str(folder / "out")],
        env={**os.environ, "NUMBA_CACHE_DIR": str(folder / "cache")},
        capture_output=True,
        text=True,
        check=True,
    )
    status, seconds, memory = done.stdout.split()
    json.loads((folder / "out" / "plan.json").read_text(encoding="utf-8"))
    return int(status), float(seconds), float(memory)


MEASURES = {
    "demo": Measure(1, 20, demo),
    "ample": Measure(10, 20, of_piles(pile)),
    "minute": Measure(10, 60, of_piles(pile)),
    "wet": Measure(10, 20, of_piles(wet_pile)),
    "scarce": Measure(20, 20, of_piles(scarce_pile)),
    "large": Measure(1, 60, of_piles(large_pile)),
    "largest": Measure(1, 300, of_piles(largest_pile)),
    "kinds": Measure(12, 25, kinds),
    "bars": Measure(1, 60, bars),
    "never": Measure(40, 3, never),
    "growth": Measure(3, 300, growth),
}


def machine() -> str:
    """Return what this machine is: cores, memory, system, Python."""
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1024**3
    return (
        f"{os.cpu_count()} cores, {memory:.0f} GiB, {platform.system()}, Python {platform.python_version()}"
    )


def section(name: str, piles: int, seconds: float) -> str:
    """Run a measure and return its section."""
    when = datetime.now(UTC).strftime("%Y-%m-%d")
    lines = [
        f"## {name}",
        "",
        f"{when}, yieldplan {yieldplan.__version__}, {piles} piles, {seconds:g} s each  ",
        f"{machine()}; load when begun {os.getloadavg()[0]:.1f}",
        "",
    ]
    print("\n".join(lines), flush=True)
    for line in MEASURES[name].lines(piles, seconds):
        print(line, flush=True)
        lines.append(line)
    return "\n".join(lines) + "\n"


def keep(name: str, fresh_section: str) -> None:
    """Put a section into the results in place of the older one."""
    old = RESULTS.read_text(encoding="utf-8").split("\n## ")[1:] if RESULTS.exists() else []
    kept = {text.split("\n", 1)[0]: f"## {text.rstrip()}\n" for text in old} | {name: fresh_section}
    title = "# Results\n\nHow they come about, and what each measure is: run.py in this folder.\n"
    RESULTS.write_text("\n".join([title, *(kept[n] for n in MEASURES if n in kept)]), encoding="utf-8")


def main(arguments: Iterable[str]) -> None:
    """Run the measures that are named and put their sections into the results."""
    parser = argparse.ArgumentParser(description="Benchmarks with fresh seeds.")
    parser.add_argument("--only", nargs="+", choices=MEASURES, default=list(MEASURES))
    parser.add_argument("--piles", type=int, help="how many piles of each measure")
    parser.add_argument("--seconds", type=float, help="how many seconds each search is given")
    asked = parser.parse_args(list(arguments))
    for name in asked.only:
        own = MEASURES[name]
        keep(name, section(name, asked.piles or own.piles, asked.seconds or own.seconds))


if __name__ == "__main__":
    main(sys.argv[1:])
