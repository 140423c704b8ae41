"""Tiny piles from fresh seeds: the solver against the enumeration; what the normal form costs against every mark.

    python tests/bench/thousand.py [--piles N] [--every N] [--seconds S] [--first SEED]

Seeds come from the system unless --first names one; each pile is ``tiny_piles.tiny(seed)``. Printed: each seed at which
the solver misses more blanks than the enumeration, its plan costs more or less, its bound lies above what can be done,
or the recheck finds a breach; then how many piles are alike, proven, and the seconds. ``--every``: how many piles are
enumerated at every mark as well, and by how much the normal form is dearer.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from brute import best
from tiny_piles import tiny

from yieldplan.solve import Options, solve
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Sequence

    from brute import Answer

    from yieldplan.model import Job, Plan


def verdict(job: Job, plan: Plan, answer: Answer) -> str:
    """Return what is wrong with a plan, held against the enumeration; "alike" where nothing is."""
    proof = plan.proof
    breaches = verify(job, plan)
    if breaches:
        return f"breach: {breaches[0]}"
    wrong = []
    if proof.missing != answer.missing:
        more = [count for _, count in proof.missing] > [count for _, count in answer.missing]
        wrong.append(f"{'more' if more else 'fewer'} missing: {proof.missing}, not {answer.missing}")
    elif proof.cost != answer.cost:
        word = "dearer" if proof.cost > answer.cost else "cheaper"
        share = abs(proof.cost - answer.cost) / max(answer.cost, 1)
        wrong.append(f"{word}: {proof.cost}, not {answer.cost} ({share:.2%})")
    if proof.missing == answer.missing and proof.bound > answer.cost:
        wrong.append(f"bound {proof.bound} above {answer.cost}")
    least = [count for _, count in proof.missing_at_least]
    if least > [count for _, count in answer.missing]:
        wrong.append(f"said to miss at least {proof.missing_at_least}, not {answer.missing}")
    if not proof.proven and wrong:
        wrong.append("not called proven")
    return "; ".join(wrong) or "alike"


def compare(seeds: Sequence[int], seconds: float) -> Counter[str]:
    """Print the seeds at which solver and enumeration differ; return how many piles came out how."""
    found: Counter[str] = Counter()
    times = {"enumeration": 0.0, "solver": 0.0}
    for seed in seeds:
        job = tiny(seed)
        before = time.perf_counter()
        answer = best(job)
        between = time.perf_counter()
        plan = solve(job, options=Options(seconds=seconds)).plan
        times["enumeration"] += between - before
        times["solver"] += time.perf_counter() - between
        said = verdict(job, plan, answer)
        found[said.partition(":")[0].partition(" above")[0]] += 1
        found["called proven"] += plan.proof.proven
        if said != "alike":
            print(f"{seed} {job.name}: {said}", flush=True)
    print(*(f"{count} {word}" for word, count in found.most_common()), sep=", ")
    print(*(f"{word} {total / max(len(seeds), 1):.2f} s a pile" for word, total in times.items()), sep=", ")
    return found


def normal_form(seeds: Sequence[int]) -> None:
    """Print by how much plans of the normal form are dearer than those at every mark."""
    shares = []
    for seed in seeds:
        job = tiny(seed)
        one, other = best(job), best(job, "every")
        shares.append((one.cost - other.cost) / max(other.cost, 1))
        if one.missing != other.missing or one.cost != other.cost:
            print(
                f"{seed} {job.name}: {one.missing} {one.cost}; at every mark {other.missing} {other.cost}",
                flush=True,
            )
    print(
        f"normal form against every mark, {len(shares)} piles: {sum(share > 0 for share in shares)} differ,"
        f" mean {statistics.mean(shares):.3%}, worst {max(shares):.2%}"
    )


def main() -> int:
    """Run, and return whether solver and enumeration differ anywhere."""
    reading = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    reading.add_argument("--piles", type=int, default=1000)
    reading.add_argument("--every", type=int, default=100)
    reading.add_argument("--seconds", type=float, default=20)
    reading.add_argument("--first", type=int, default=None)
    asked = reading.parse_args()
    first = int.from_bytes(os.urandom(4), "big") if asked.first is None else asked.first
    print(f"seeds from {first} on", flush=True)
    found = compare(range(first, first + asked.piles), asked.seconds) if asked.piles else Counter()
    if asked.every:
        normal_form(range(first, first + asked.every))
    return int(found["alike"] != asked.piles)


if __name__ == "__main__":
    sys.exit(main())
