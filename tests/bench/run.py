"""Benchmarks by a written protocol; the results go into RESULTS.md beside this file.

    python tests/bench/run.py demo order piles cupped small cases ample scarce large bars soak baselines growth thousand
    python tests/bench/run.py largest

Each part named is run anew, and its section of RESULTS.md replaced; the others stay. One process at a time, on a
machine that does nothing else; times are of the wall clock.

demo
    The command line as a user runs it, each command in a process of its own (measure.py): its time, and its peak
    memory as the system counts it for that process. `plan` runs twice, first with an empty cache of compiled code.
order
    The pages of the demo, printed again from its plan by the command line, and those of random plans on piles of
    300 offcuts (big_pages.py), each in a process of its own: time, size of the pdf, peak memory.
piles
    The ten random piles of piles.py, 30 seconds each, against the by-hand rule of by_hand.py (rechecked as well).
    The rule mills the offcuts that it draws whole. The first ratio is what the tool draws, net, to the worth of
    those offcuts. The other two allow the hand what a tidy person would still keep of them: net worth to net
    worth, and worth drawn to worth drawn, before keepers are taken off on either side.
cupped
    Twenty piles of eighteen wide, cupped boards, 4 seconds each, planned twice: with no billet split before jointing,
    and with splits where the rules allow them. The ratio is net worth to net worth where as few are missing.
small
    Two hundred random small piles, 2 seconds each; each plan is rechecked.
cases
    Cases with a known answer that take too long for a test, 60 seconds each.
ample, scarce, large
    Random piles of piles.py: twenty of 80 offcuts and 60 blanks, twenty of 40 and 80, 20 seconds each; one of 300 and
    400, 60 seconds; one of 1,000 and 1,500, 300 seconds. Seconds are given as a budget of work; what the clock said,
    and when it had a first plan, stands beside.
bars
    Bars without defects from published recipes (speed.py), 60 seconds each.
largest
    The largest piles that are allowed, of eight shapes (largest.py), each planned by the command line with the seconds
    that it has if none are given: time, and peak memory as the system counts it.
soak
    Ten thousand random piles in one process (soak.py), 0.1 seconds of work each; resumed where it was stopped.
baselines
    The solver beside its rivals (baselines.py), 60 seconds each: the by-hand rule on five ample piles; one CP-SAT model
    of the whole pile (monolith.py) on piles that double until it cannot be built or gives nothing; an arc flow in HiGHS
    (arcflow.py) on the bars. What each had after 1 and 10 seconds and at the end; the ratio of times to equal quality.
growth
    Piles of 30, 100, 300 and 1,000 offcuts of the ample recipe: time and counted work until the gap is at most 2 %, and
    how many times that is for ten times the pile.
thousand
    A thousand random tiny piles against plain enumeration on all four aims (thousand.py); resumed where it was stopped.
"""

from __future__ import annotations

import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parent / "published")]

from bars import read_folder  # noqa: E402 - after the path to the helpers is set
from baselines import baselines, growth  # noqa: E402
from by_hand import draw  # noqa: E402
from cases import known  # noqa: E402
from largest import largest  # noqa: E402
from piles import cupped_pile, pile  # noqa: E402
from soak import soak as soak_all  # noqa: E402
from soak import table as soak_table  # noqa: E402
from speed import ample, bar_cases, large, scarce, table  # noqa: E402
from strategies import small_job  # noqa: E402
from thousand import table as thousand_table  # noqa: E402
from thousand import thousand as compare_thousand  # noqa: E402

import yieldplan  # noqa: E402
from yieldplan.model import SplitBillet, worth  # noqa: E402
from yieldplan.model.shop import INCH  # noqa: E402
from yieldplan.solve import Options, plan  # noqa: E402
from yieldplan.verify import verify  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from yieldplan.model import Job, Plan

RESULTS = HERE / "RESULTS.md"
PILES, PILE_SECONDS = range(1, 11), 30.0
PAGES = (3, 4)
CUPPED, CUPPED_SECONDS = range(1, 21), 4.0
NO_SPLITS = 1000 * INCH
SMALL, SMALL_SECONDS = range(200), 2.0
CASE_SECONDS = 60.0
MEBIBYTE = 1024 * 1024


class Ran(NamedTuple):
    """One command: exit status, seconds, peak memory in MiB."""

    status: int
    seconds: float
    memory: float


def command(*arguments: str, cache: Path) -> Ran:
    """Run the command line in a process of its own and measure it."""
    program = Path(sys.executable).with_name("yieldplan")
    return measured(str(program), *arguments, NUMBA_CACHE_DIR=str(cache))


def measured(*arguments: str, **variables: str) -> Ran:
    """Run any command in a process of its own and measure it."""
    done = subprocess.run(
        [sys.executable, str(HERE / "measure.py"), *arguments],
        env={**os.environ, **variables},
        capture_output=True,
        text=True,
        check=True,
    )
    status, seconds, memory = done.stdout.split()
    return Ran(int(status), float(seconds), float(memory))


def demo() -> Iterator[str]:
    """Yield the table of the command line on the demo data."""
    yield "| command | exit status | seconds | peak MiB | net worth | gap |"
    yield "| --- | --- | --- | --- | --- | --- |"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        cache = folder / "cache"
        inputs = [ROOT / "data_demo" / word for word in ("skiff-frames.xlsx", "floor-cleats-mm")]
        rows: list[tuple[str, list[str], Path | None]] = [("--help", ["--help"], None)]
        rows += [(f"check {source.name}", ["check", str(source)], None) for source in inputs]
        for note, source in (("(first run)", inputs[0]), ("", inputs[0]), ("", inputs[1])):
            out = folder / f"{source.stem}{note}"
            text = f"plan {source.name} {note}".strip()
            rows.append((text, ["plan", str(source), "--out", str(out)], out))
        for text, arguments, written in rows:
            ran = command(*arguments, cache=cache)
            proof = json.loads((written / "plan.json").read_text())["proof"] if written else {}
            figures = f"{proof['net_worth']} | {proof['gap']:.2%}" if proof else " | "
            yield f"| `{text}` | {ran.status} | {ran.seconds:.2f} | {ran.memory:.0f} | {figures} |"


def order() -> Iterator[str]:
    """Yield the tables of the pages: of the demo from its plan, and of 300 offcuts."""
    python = sys.executable
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        source = ROOT / "data_demo" / "skiff-frames.xlsx"
        command("plan", str(source), "--out", str(folder), cache=folder / "cache")
        again = command(
            "order", str(source), str(folder / "plan.json"), "--out", str(folder), cache=folder / "cache"
        )
        size = (folder / "cutting-order.pdf").stat().st_size / 1e6
        yield "| command | exit status | seconds | peak MiB | pdf MB |"
        yield "| --- | --- | --- | --- | --- |"
        figures = f"{again.status} | {again.seconds:.2f} | {again.memory:.0f} | {size:.2f}"
        yield f"| `order {source.name} plan.json` | {figures} |"
        yield ""
        yield (
            "| seed | offcuts drawn | blanks | sheets | order | text | pdf | xlsx | all, seconds | pdf MB "
            "| whole process, seconds | peak MiB |"
        )
        yield "| --- " * 12 + "|"
        for seed in PAGES:
            ran = measured(python, str(HERE / "big_pages.py"), str(seed), name)
            row = (folder / "row").read_text(encoding="utf-8")
            yield f"| {row} | {ran.seconds:.2f} | {ran.memory:.0f} |"


def timed(job: Job, seconds: float) -> tuple[Plan, float]:
    """Return a plan that passed the recheck, and how long it took."""
    start = time.perf_counter()
    found = plan(job, options=Options(seconds=seconds))
    taken = time.perf_counter() - start
    _recheck(job, found)
    return found, taken


def _recheck(job: Job, found: Plan) -> None:
    breaches = verify(job, found)
    if breaches:
        raise SystemExit(f"{job.name}: {breaches[0].sentence()}")


def piles() -> Iterator[str]:
    """Yield the table of random piles against the by-hand rule."""
    yield (
        "| pile | missing, hand / tool | drawn, hand | net, hand | net, tool "
        "| tool net / hand drawn | net / net | drawn / drawn | gap | seconds |"
    )
    yield "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |"
    ratios, nets, gross, gaps = [], [], [], []
    for seed in PILES:
        job = pile(seed)
        hand = draw(job)
        _recheck(job, hand.plan)
        found, seconds = timed(job, PILE_SECONDS)
        pieces = [job.offcut(drawn.offcut) for drawn in found.offcuts]
        drawn = sum(worth(o.length, o.width, o.thickness, job.shop) for o in pieces)
        ratios.append(found.proof.net_worth / hand.worth)
        nets.append(found.proof.net_worth / hand.net_worth)
        gross.append(drawn / hand.worth)
        gaps.append(found.proof.gap)
        yield (
            f"| {seed} | {hand.missing} / {found.missing_total} | {hand.worth} | {hand.net_worth} "
            f"| {found.proof.net_worth} | {ratios[-1]:.3f} | {nets[-1]:.3f} | {gross[-1]:.3f} | {gaps[-1]:.2%} "
            f"| {seconds:.1f} |"
        )
    middle = [statistics.median(figures) for figures in (ratios, nets, gross, gaps)]
    yield "| median | | | | | {:.3f} | {:.3f} | {:.3f} | {:.2%} | |".format(*middle)


def cupped() -> Iterator[str]:
    """Yield the table of cupped piles, without and with billets split before jointing."""
    yield (
        "| pile | missing, whole / split | net, whole | net, split | ratio | billets split "
        "| gap, whole | gap, split |"
    )
    yield "| --- | --- | --- | --- | --- | --- | --- | --- |"
    ratios, fewer = [], 0
    for seed in CUPPED:
        job = cupped_pile(seed)
        shop = replace(job.shop, split_warp=NO_SPLITS)
        narrow = tuple(o for o in job.offcuts if o.width <= shop.jointer_width)
        whole, _ = timed(replace(job, shop=shop, offcuts=narrow), CUPPED_SECONDS)
        split, _ = timed(job, CUPPED_SECONDS)
        ratio = ""
        if whole.missing_total == split.missing_total and whole.proof.net_worth > 0:
            ratios.append(split.proof.net_worth / whole.proof.net_worth)
            ratio = f"{ratios[-1]:.3f}"
        fewer += whole.missing_total > split.missing_total
        billets = sum(isinstance(s, SplitBillet) for drawn in split.offcuts for s in drawn.segments)
        yield (
            f"| {seed} | {whole.missing_total} / {split.missing_total} | {whole.proof.net_worth} "
            f"| {split.proof.net_worth} | {ratio} | {billets} | {whole.proof.gap:.2%} | {split.proof.gap:.2%} |"
        )
    yield f"| median of {len(ratios)}, fewer missing in {fewer} | | | | {statistics.median(ratios):.3f} | | | |"


def small() -> Iterator[str]:
    """Yield how many plans of small piles pass the recheck, and how good they are."""
    proven, wrong, times = 0, [], []
    for seed in SMALL:
        start = time.perf_counter()
        try:
            found, _ = timed(small_job(seed), SMALL_SECONDS)
        except (SystemExit, Exception) as error:
            wrong.append(f"seed {seed}: {error}")
            continue
        times.append(time.perf_counter() - start)
        proven += found.proof.proven
    yield "| piles | plans that pass the recheck | proven | median seconds | longest |"
    yield "| --- | --- | --- | --- | --- |"
    middle, longest = statistics.median(times), max(times)
    yield f"| {len(SMALL)} | {len(times)} | {proven} | {middle:.2f} | {longest:.2f} |"
    for line in wrong:
        yield f"\n- {line}"


def cases() -> Iterator[str]:
    """Yield the table of long cases with a known answer."""
    yield "| case | kinds of blanks | offcuts, known | drawn | missing | gap | proven | seconds |"
    yield "| --- | --- | --- | --- | --- | --- | --- | --- |"
    for case in known():
        with tempfile.TemporaryDirectory() as folder:
            job = read_folder(case.sheets, Path(folder))
        found, seconds = timed(job, CASE_SECONDS)
        proof = found.proof
        yield (
            f"| {case.name} | {len(job.blanks)} | {case.drawn} | {len(found.offcuts)} | {found.missing_total} "
            f"| {proof.gap:.2%} | {'yes' if proof.proven else 'no'} | {seconds:.1f} |"
        )


def bars() -> Iterator[str]:
    """Yield the table of bars without defects, 60 seconds each."""

    def jobs() -> Iterator[tuple[str, Job, float]]:
        for name, case in bar_cases():
            with tempfile.TemporaryDirectory() as folder:
                yield name, read_folder(case, Path(folder)), CASE_SECONDS

    yield from table(jobs())


def soak() -> Iterator[str]:
    """Yield the table of ten thousand random piles."""
    yield from soak_table(soak_all())


def thousand() -> Iterator[str]:
    """Yield the table of a thousand tiny piles against enumeration."""
    yield from thousand_table(compare_thousand())


PARTS: dict[str, Callable[[], Iterator[str]]] = {
    "demo": demo,
    "order": order,
    "piles": piles,
    "cupped": cupped,
    "small": small,
    "cases": cases,
    "ample": ample,
    "scarce": scarce,
    "large": large,
    "bars": bars,
    "soak": soak,
    "baselines": baselines,
    "growth": growth,
    "thousand": thousand,
    "largest": largest,
}


def machine() -> str:
    """Return what this machine is: processor, cores, memory, Python."""
    model = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        names = (
            line.partition(":")[2] for line in info.read_text().splitlines() if line.startswith("model name")
        )
        model = next(names, model).strip()
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1024 / MEBIBYTE
    return f"{model}, {os.cpu_count()} cores, {memory:.0f} GiB, {platform.system()}, Python {platform.python_version()}"


def section(part: str) -> str:
    """Run a part and return its section."""
    lines = []
    loads = f"{os.getloadavg()[0]:.1f}"
    for line in PARTS[part]():
        print(line, flush=True)
        lines.append(line)
    when = datetime.now(UTC).strftime("%Y-%m-%d")
    head = [
        f"## {part}",
        "",
        f"{when}, yieldplan {yieldplan.__version__}, `python tests/bench/run.py {part}`  ",
        f"{machine()}; load when begun {loads}",
        "",
    ]
    return "\n".join(head + lines) + "\n"


def main(parts: list[str]) -> None:
    """Run the parts and put their sections into the results."""
    if not parts or not set(parts) <= set(PARTS):
        raise SystemExit(f"name one or more of: {', '.join(PARTS)}")
    for part in parts:
        fresh = section(part)
        old = RESULTS.read_text(encoding="utf-8").split("\n## ")[1:] if RESULTS.exists() else []
        kept = {text.split("\n", 1)[0]: f"## {text.rstrip()}\n" for text in old} | {part: fresh}
        title = "# Results\n\nHow they come about, and what each part is: run.py in this folder.\n"
        body = [kept[name] for name in PARTS if name in kept]
        RESULTS.write_text("\n".join([title, *body]), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
