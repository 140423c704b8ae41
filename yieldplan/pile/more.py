"""How much more a pile gives: of each kind alone after a batch, and how many whole batches."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.model import Job, Plan, keepers
from yieldplan.model.kept import as_offcut
from yieldplan.model.pieces import keeper_names
from yieldplan.model.recut import untouched

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Blank

    Recheck = Callable[[Job, Plan], None]

MOST_OF_A_KIND = 10_000
"""Blanks of a kind that are asked for at most."""

MOST_SETS = 1000
"""Whole batches that are asked for at most."""

MOST_TRIES = 8
"""How many numbers of whole batches are tried; each has an equal part of the seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class More:
    """How many of a kind there could be, or of whole batches: ``found`` by a plan; none makes more than ``at_most``."""

    blank: str = ""
    found: int
    at_most: int


def how_much_more(job: Job, plan: Plan, *, recheck: Recheck, seconds: float = 10.0) -> tuple[More, ...]:
    """Return how many of each kind alone come out of what a plan leaves: untouched boards, and keepers.

    ``recheck`` raises where a plan breaks a rule.
    """
    rest, share = rest_of(job, plan), seconds / max(len(job.blanks), 1)
    return tuple(_alone(rest, blank, share, recheck) for blank in job.blanks)


def rest_of(job: Job, plan: Plan) -> Job:
    """Return the job with the pile as a plan leaves it: boards that it does not draw, and the keepers of the others."""
    drawn = [(job.offcut(piece.offcut), keeper) for piece in plan.offcuts for keeper in keepers(job, piece)]
    kept = (as_offcut(*pair, name, job.shop) for pair, name in zip(drawn, keeper_names(job), strict=False))
    return replace(job, offcuts=(*untouched(job, plan.offcuts), *kept))


def _alone(rest: Job, blank: Blank, seconds: float, recheck: Recheck) -> More:
    """Return how many of one kind a pile gives if nothing else is cut from it."""
    one = blank.length * blank.width * blank.thickness
    fit = [o for o in rest.offcuts if blank.takes_species(o.species) and blank.takes_slope(o.grain_slope)]
    ask = min(sum(offcut.qty * (offcut.volume // one) for offcut in fit), MOST_OF_A_KIND)
    if not ask:
        return More(blank=blank.name, found=0, at_most=0)
    wanted = replace(rest, blanks=(replace(blank, need=ask, spare=0, priority=1),))
    missing, least = _missing(wanted, seconds, recheck)
    return More(blank=blank.name, found=ask - missing, at_most=ask - least)


def _missing(job: Job, seconds: float, recheck: Recheck) -> tuple[int, int]:
    """Return how many blanks of a job of one priority and no spares are missing, and at least are."""
    from yieldplan.solve import Options, solve  # noqa: PLC0415 - slow to load

    plan = solve(job, options=Options(seconds=seconds, cost=False)).plan
    recheck(job, plan)
    return plan.missing_total, sum(count for _, count in plan.proof.missing_at_least)


def whole_sets(job: Job, *, recheck: Recheck, seconds: float = 10.0) -> More:
    """Return how many times the whole pile makes the batch, spares apart.

    What is found is raised by doubling, then by halving the step to the least that was not made; then what there is at
    most is lowered, by halving the step between it and the greatest that is in doubt.

    Raises ValueError if the batch needs no blank, so that there is no end to it.
    """
    one = sum(blank.need * blank.length * blank.width * blank.thickness for blank in job.blanks)
    if not one:
        raise ValueError("the batch needs no blank; expected a need above 0")
    at_most = min(sum(offcut.qty * offcut.volume for offcut in job.offcuts) // one, MOST_SETS)
    found, in_doubt = 0, set[int]()
    for _ in range(MOST_TRIES):
        high, reach = min(at_most + 1, *in_doubt, MOST_SETS + 1), max(found, *in_doubt, 0)
        if high > found + 1:
            times = min(2 * found, (found + high) // 2) or 1
        elif reach < at_most:
            times = (reach + at_most + 1) // 2
        else:
            break
        blanks = (replace(b, need=times * b.need, spare=0, priority=1) for b in job.blanks if b.need)
        missing, least = _missing(replace(job, blanks=tuple(blanks)), seconds / MOST_TRIES, recheck)
        if not missing:
            found = max(found, times)
        elif least:
            at_most = times - 1
        else:
            in_doubt.add(times)
    return More(found=found, at_most=at_most)
