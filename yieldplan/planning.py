"""One call from a job to a plan that has been rechecked, and the plan's tables."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.model.errors import SolverError

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Job, OffcutPlan, Plan
    from yieldplan.solve import Options, Progress
    from yieldplan.tables import Tables


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A job and a plan made for it, from :func:`plan` or from a plan file."""

    job: Job
    plan: Plan

    def tables(self) -> Tables:
        """Return the plan as pandas data frames, lengths in the units of the job."""
        from yieldplan.tables import tables  # noqa: PLC0415 - slow to load

        return tables(self.job, self.plan)


def plan(
    job: Job, *, options: Options | None = None, on_event: Callable[[Progress], None] | None = None
) -> Planned:
    """Return a job with the best plan found for it; it has passed :func:`yieldplan.verify`.

    ``options`` say how long to look, and at which price of work; ``on_event`` is told of the search's progress.

    Raises
    ------
    SolverError
        If the plan breaks a rule, so that nobody may cut from it.
    """
    from yieldplan.solve import Options, solve  # noqa: PLC0415 - slow to load

    found = solve(job, options=options or Options(), on_event=on_event).plan
    recheck(job, found)
    return Planned(job=job, plan=found)


def recheck(job: Job, plan: Plan) -> None:
    """Raise if a plan breaks a rule: such a plan is not shown."""
    from yieldplan.verify import verify  # noqa: PLC0415 - late, as the other rooms

    breaches = verify(job, plan)
    if breaches:
        raise SolverError(
            f"The plan found does not pass the recheck, so it is not shown: {breaches[0].sentence()}"
        )


def still_right(job: Job, old: Plan) -> tuple[OffcutPlan, ...]:
    """Return what of an older plan keeps every rule still: boards that are there, as the old plan cuts them.

    That is asked of each board by itself; how many blanks are wanted is not.
    """
    from yieldplan.verify import verify  # noqa: PLC0415 - late, as the other rooms

    alone = ((drawn, replace(old, offcuts=(drawn,))) for drawn in old.offcuts)
    return tuple(drawn for drawn, plan in alone if not verify(job, plan, cuts_alone=True))
