"""Ten thousand random piles through plan and verify, one after another in one process; may be stopped and resumed.

    python tests/bench/soak.py [PILES [FILE]]

Every pile adds a line to FILE (soak.jsonl beside this file): its seed, the seconds it took, net worth, bound, whether
it is proven, the memory that the process holds afterwards, and what went wrong if anything did. Seeds that are there
already are not run again. ``run.py soak`` puts the figures into RESULTS.md.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from piles import pile  # noqa: E402 - after the path to the helpers is set
from strategies import small_job  # noqa: E402 - same

from yieldplan.model import dump_plan, load_plan  # noqa: E402 - same
from yieldplan.solve import Options, plan  # noqa: E402 - same
from yieldplan.verify import verify  # noqa: E402 - same

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job

PILES, SECONDS = 10_000, 0.1
FILE = HERE / "soak.jsonl"
PAGE = os.sysconf("SC_PAGE_SIZE") if hasattr(os, "sysconf") else 4096


def job_of(seed: int) -> Job:
    """Return a pile: every twelfth is of the kind that a boat shop has, the others are coarse and quick."""
    return pile(seed, offcuts=14, blanks=12, kinds=4) if seed % 12 == 0 else small_job(seed)


def held() -> float:
    """Return the memory that this process holds now, in MiB (0 where the system does not say)."""
    statm = Path("/proc/self/statm")
    return int(statm.read_text().split()[1]) * PAGE / 2**20 if statm.exists() else 0.0


def one(seed: int) -> dict[str, Any]:
    """Plan one pile, recheck the plan and what its file says, and return the line about it."""
    start = time.perf_counter()
    line: dict[str, Any] = {"seed": seed}
    try:
        job = job_of(seed)
        found = plan(job, options=Options(seconds=SECONDS))
        again = load_plan(dump_plan(found))
        line["wrong"] = [breach.sentence() for breach in (*verify(job, found), *verify(job, again))]
        line.update(net=found.proof.net_worth, bound=found.proof.bound, proven=found.proof.proven)
    except Exception as error:  # whatever goes wrong is what is looked for
        line["wrong"] = [f"{type(error).__name__}: {error}"]
    return {**line, "seconds": round(time.perf_counter() - start, 3), "mib": round(held(), 1)}


def soak(count: int = PILES, file: Path = FILE) -> list[dict[str, Any]]:
    """Run the seeds below ``count`` that are not in the file yet; return the lines of all of them."""
    lines = [json.loads(line) for line in file.read_text().splitlines()] if file.exists() else []
    done = {line["seed"] for line in lines}
    with file.open("a") as out:
        for seed in range(count):
            if seed not in done:
                lines.append(one(seed))
                out.write(json.dumps(lines[-1]) + "\n")
                out.flush()
    return [line for line in lines if line["seed"] < count]


def table(lines: list[dict[str, Any]]) -> Iterator[str]:
    """Yield how many plans pass, how long they took, and the memory of the first and of the last tenth."""
    times = [line["seconds"] for line in lines]
    tenth = max(len(lines) // 10, 1)
    memory = [statistics.median(line["mib"] for line in part) for part in (lines[:tenth], lines[-tenth:])]
    wrong = [line for line in lines if line["wrong"]]
    yield "| piles | plans that pass | proven | median seconds | longest | MiB, first tenth | MiB, last tenth |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    proven = sum(bool(line.get("proven")) for line in lines)
    yield (
        f"| {len(lines)} | {len(lines) - len(wrong)} | {proven} | {statistics.median(times):.2f} | {max(times):.2f} "
        f"| {memory[0]:.0f} | {memory[1]:.0f} |"
    )
    for line in wrong:
        yield f"\n- seed {line['seed']}: {line['wrong'][0]}"


def main(arguments: list[str]) -> int:
    """Run, print the table, and return whether anything went wrong."""
    count = int(arguments[0]) if arguments else PILES
    lines = soak(count, Path(arguments[1]) if len(arguments) > 1 else FILE)
    for row in table(lines):
        print(row)
    return int(any(line["wrong"] for line in lines))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
