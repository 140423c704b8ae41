"""What a pile gives and what a batch costs: the solver.

>>> from yieldplan.solve import Options, solve  # doctest: +SKIP
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.solve.budget import Budget

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Alternative, Job, Plan
    from yieldplan.solve.search import Search

__all__ = ["Options", "Progress", "Solution", "solve"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How to search.

    ``seconds`` to spend, ``price`` of work in hundredths of a minute for a board foot (None: the shop's), and whether
    billets may be split.

    Raises
    ------
    ValueError
        If there are no seconds, or the price is below 0.
    """

    seconds: float = 20.0
    price: int | None = None
    splits: bool = True

    def __post_init__(self) -> None:
        if not self.seconds > 0:
            raise ValueError(f"seconds must be more than 0, not {self.seconds}")
        if self.price is not None and self.price < 0:
            raise ValueError(f"price must be 0 or more, not {self.price}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a search is: a plan that is there, and how much better any could be (None: not known yet)."""

    phase: str
    seconds: float
    missing: int
    net_worth: int
    hundredths: int
    gap: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """What a search found, and why it ended.

    ``coarse`` names the offcuts that were looked at on a coarser mark of their own; ``alternatives`` are what other
    prices of work would give.
    """

    plan: Plan
    ended: str
    coarse: tuple[str, ...] = ()
    alternatives: tuple[Alternative, ...] = ()


def solve(
    job: Job,
    *,
    options: Options | None = None,
    on_event: Callable[[Progress], None] | None = None,
    stopped: Callable[[], bool] = lambda: False,
) -> Solution:
    """Return the best plan found for a job; whoever shows it has it rechecked first.

    ``stopped`` is asked now and then: once it is true, the best plan so far is returned.
    """
    from yieldplan.solve.assemble import assemble  # noqa: PLC0415 - slow to load
    from yieldplan.solve.incumbent import drawn_of  # noqa: PLC0415
    from yieldplan.solve.search import Search  # noqa: PLC0415
    from yieldplan.solve.warm import load_kernels  # noqa: PLC0415

    asked = options or Options()
    load_kernels()
    budget = Budget(seconds=asked.seconds, stopped=stopped)

    def plan_of(search: Search) -> Plan:
        columns = search.incumbent.columns if search.incumbent else ()
        names = [name for name, _ in assemble(job, ()).proof.missing]
        least = dict(zip(names, search.fewest, strict=True))
        return assemble(
            job, drawn_of(search.classes, columns), bound=search.bound_said, missing_at_least=least, price=asked.price
        )

    def tell(search: Search) -> None:
        if on_event is not None:
            plan = plan_of(search)
            on_event(
                Progress(
                    phase="search",
                    seconds=budget.clock,
                    missing=plan.missing_total,
                    net_worth=plan.proof.net_worth,
                    hundredths=plan.work.hundredths,
                    gap=search.gap if search.bound > 0 else None,
                )
            )

    search = Search(job, budget, at=asked.price, on_better=tell)
    search.run()
    plan = plan_of(search)
    coarse = tuple(name for one in search.classes if one.coarse for name in one.names)
    return Solution(plan=plan, ended=search.ended, coarse=coarse)
