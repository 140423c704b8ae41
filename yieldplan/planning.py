"""One call from a job to a plan that has been rechecked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model.errors import SolverError

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Job, Plan
    from yieldplan.solve import Options, Progress


def plan(
    job: Job, *, options: Options | None = None, on_event: Callable[[Progress], None] | None = None
) -> Plan:
    """Return the best plan found for a job; it has passed :func:`yieldplan.verify`.

    Parameters
    ----------
    job
        As :func:`yieldplan.read` returns it.
    options
        How long to look, and at which price of work.
    on_event
        Called with the search's progress as it goes on.

    Raises
    ------
    SolverError
        If the plan breaks a rule, so that nobody may cut from it.
    """
    from yieldplan.solve import Options, solve  # noqa: PLC0415 - slow to load

    found = solve(job, options=options or Options(), on_event=on_event).plan
    recheck(job, found)
    return found


def recheck(job: Job, plan: Plan) -> None:
    """Raise if a plan breaks a rule: such a plan is not shown."""
    from yieldplan.verify import verify  # noqa: PLC0415 - late, as the other rooms

    breaches = verify(job, plan)
    if breaches:
        raise SolverError(
            f"the plan found does not pass the recheck, so it is not shown: {breaches[0].sentence()}"
        )
