"""A thousand random tiny piles against plain enumeration on all four aims; may be stopped and resumed.

    python tests/bench/thousand.py [PILES [FILE]]

Every seed adds a line to FILE (thousand.jsonl beside this file): what the enumeration (brute.py) found for each aim,
what the tool's plan comes to, what it claims, and whether the two agree. Where the enumeration would take more than
MOST_WORK the line says so, and a further seed is tried, until so many piles are compared. Seeds that are there already
are not run again. ``run.py thousand`` puts the figures into RESULTS.md.

The aims are compared in order, and each only where all before it agree, for a plan that draws less may well make fewer
extras. A plan may draw a unit or two less than the enumeration, which tries finitely many places (brute.py): that is
counted by itself, and its aims 3 and 4 are not compared.
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from brute import TooMuchError, brute_force, crosscuts_of, witness  # noqa: E402 - after the path to the helpers is set
from strategies import cupped_job, tiny_job, varied_job, wood_job  # noqa: E402 - same

from yieldplan.solve import Options, searched  # noqa: E402 - same
from yieldplan.verify import verify  # noqa: E402 - same

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job

PILES, SECONDS = 1000, 10.0
MOST_WORK = 250_000
"""How much the enumeration may put together for one pile: some seconds."""

FIRST = 1000
"""The first seed: those below are in the test suite."""

FILE = HERE / "thousand.jsonl"
RECIPES = (tiny_job, varied_job, varied_job, wood_job, cupped_job)
ROUNDING = 3
"""By how many units a plan may beat the enumeration: worth is rounded down piece by piece."""

ALIKE = ("agree", "less by rounding")
MORE_CUTS = "crosscuts: enumeration better"
AIMS = ("missing", "net worth", "extras", "offcuts", "crosscuts")


def job_of(seed: int) -> Job:
    """Return the pile of a seed: plain, varied, of wood read closely, or of wide, cupped boards."""
    return RECIPES[seed % len(RECIPES)](seed)


def one(seed: int, most: float = MOST_WORK) -> dict[str, Any]:
    """Enumerate and plan one pile, and return the line about it."""
    job, start = job_of(seed), time.process_time()
    line: dict[str, Any] = {"seed": seed, "recipe": RECIPES[seed % len(RECIPES)].__name__}
    try:
        answer = brute_force(job, most=most)
    except TooMuchError:
        return {**line, "verdict": "too much", "seconds": round(time.process_time() - start, 3)}
    middle = time.process_time()
    best = (
        [count for _, count in answer.missing],
        answer.net_worth,
        answer.extras,
        answer.offcuts_drawn,
        answer.crosscuts,
    )
    try:
        found, search = searched(job, options=Options(seconds=SECONDS))
    except Exception as error:  # whatever goes wrong is what is looked for
        return {**line, "best": best, "verdict": f"{type(error).__name__}: {error}"}
    proof = found.proof
    tool = (
        [count for _, count in proof.missing],
        proof.net_worth,
        sum(count for _, count in found.extra),
        len(found.offcuts),
        crosscuts_of(job, found.offcuts),
    )
    assert proof.lesser is not None
    lesser = (proof.lesser.extras, proof.lesser.offcuts, proof.lesser.crosscuts)
    wrong = [breach.sentence() for breach in (*verify(job, found), *verify(job, witness(job, answer)))]
    if crosscuts_of(job, answer.cuttings) != answer.crosscuts:
        wrong.append(f"the enumeration counts {answer.crosscuts} crosscuts of its own cuttings wrongly")
    wrong += beaten(best, tool, lesser)
    return {
        **line,
        "best": best,
        "tool": tool,
        "lesser": lesser,
        "bound": proof.bound,
        "settled": search.settled,
        "proven": proof.proven,
        "verdict": wrong[0] if wrong else verdict(best, tool, proof.bound, search.settled, proof.proven),
        "seconds": round(middle - start, 3),
        "planning": round(time.process_time() - middle, 3),
    }


def beaten(best: tuple[Any, ...], tool: tuple[Any, ...], lesser: tuple[int, ...]) -> list[str]:
    """Return the first bound of aims 3 and 4 that the enumeration beats, as good as it is in the aims before."""
    for at, (aim, bound) in enumerate(zip(AIMS[2:], lesser, strict=True), 2):
        if best[:at] != tool[:at]:
            return []
        if best[at] > bound if aim == "extras" else best[at] < bound:
            return [f"{aim}: bound {bound}, enumeration {best[at]}"]
    return []


def verdict(best: tuple[Any, ...], tool: tuple[Any, ...], bound: int, settled: bool, proven: bool) -> str:
    """Return "agree", "less by rounding", or the first aim in which the two differ, who is better, and what is claimed.

    ``best`` and ``tool`` hold a figure for each of AIMS, the enumeration's and the tool's.
    """
    claims = (settled, proven)
    for aim, one, other in zip(AIMS, best, tool, strict=True):
        if aim == "net worth" and bound > one:
            return f"bound above the enumeration by {bound - one}"
        if one == other:
            continue
        if aim == "net worth" and 0 < one - other <= ROUNDING:
            return "less by rounding"
        better = other < one if aim != "extras" else other > one
        claimed = " claimed proven" if AIMS.index(aim) < len(claims) and claims[AIMS.index(aim)] else ""
        return f"{aim}: {'tool better' if better else f'enumeration better{claimed}'}"
    return "agree"


def compared(line: dict[str, Any]) -> bool:
    """Return whether a line compares anything."""
    return bool(line["verdict"] != "too much")


def thousand(piles: int = PILES, file: Path = FILE) -> list[dict[str, Any]]:
    """Go on from what the file holds until so many piles are compared; return the lines up to there."""
    known = {}
    if file.exists():
        known = {line["seed"]: line for line in map(json.loads, file.read_text().splitlines())}
    lines: list[dict[str, Any]] = []
    done = 0
    with file.open("a") as out:
        for seed in count(FIRST):
            if done == piles:
                return lines
            if seed not in known:
                known[seed] = one(seed)
                out.write(json.dumps(known[seed]) + "\n")
                out.flush()
            lines.append(known[seed])
            done += compared(known[seed])
    return lines


def table(lines: list[dict[str, Any]]) -> Iterator[str]:
    """Yield how many piles of each recipe agree, how many do not, and each of these with both sides' figures."""
    yield "| recipe | compared | agree | less by rounding | differ | proven | left out, too much work |"
    yield "| --- " * 7 + "|"
    for recipe in (*dict.fromkeys(recipe.__name__ for recipe in RECIPES), "all"):
        own = [line for line in lines if recipe in (line["recipe"], "all")]
        verdicts = Counter(line["verdict"] for line in own)
        whole = sum(map(compared, own))
        alike, rounding = (verdicts[verdict] for verdict in ALIKE)
        yield (
            f"| {recipe.replace('_', ' ')} | {whole} | {alike} | {rounding} | {whole - alike - rounding} "
            f"| {sum(bool(line.get('proven')) for line in own)} | {verdicts['too much']} |"
        )
    yield ""
    yield f"Figures are {', '.join(AIMS)}: the enumeration's, then the tool's."
    yield ""
    more_cuts = [line["seed"] for line in lines if line["verdict"] == MORE_CUTS]
    for line in lines:
        if line["verdict"] not in (*ALIKE, "too much", MORE_CUTS):
            figures = f"{line.get('best')}, {line.get('tool')}, bound {line.get('bound')}"
            yield f"- seed {line['seed']} ({line['recipe']}): {line['verdict']}; {figures}"
    if more_cuts:
        yield f"- alike but for crosscuts, of which the tool takes more: {', '.join(map(str, more_cuts))}"


def main(arguments: list[str]) -> int:
    """Run, print the table, and return whether any two differ."""
    piles = int(arguments[0]) if arguments else PILES
    lines = thousand(piles, Path(arguments[1]) if len(arguments) > 1 else FILE)
    for row in table(lines):
        print(row)
    return int(any(line["verdict"] not in (*ALIKE, "too much") for line in lines))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
