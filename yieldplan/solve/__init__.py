"""What a pile gives and what a batch costs: the solver.

>>> from yieldplan.solve import Options, solve  # doctest: +SKIP
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldplan.solve.budget import Budget

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from yieldplan.model import Job, OffcutPlan, Plan
    from yieldplan.solve.search import Search

__all__ = ["Options", "Progress", "Solution", "solve"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How to search.

    ``seconds`` to spend, ``price`` of work in hundredths of a minute for a board foot (None: the shop's), whether
    billets may be split, whether other prices of work are looked at as well, and whether cost is (without it the search
    ends once the fewest missing are known).

    Raises
    ------
    ValueError
        If there are no seconds, or the price is below 0.
    """

    seconds: float = 20.0
    price: int | None = None
    splits: bool = True
    alternatives: bool = False
    cost: bool = True

    def __post_init__(self) -> None:
        if not self.seconds > 0:
            raise ValueError(f"seconds must be more than 0, not {self.seconds}")
        if self.price is not None and self.price < 0:
            raise ValueError(f"price must be 0 or more, not {self.price}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a search is: a plan that is there, and how much better any could be (None: not known yet).

    ``used`` is the wood drawn and not kept, in cubic steps; ``hundredths`` the work, of a minute.
    """

    phase: str
    seconds: float
    missing: int
    used: int
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
    alternatives: tuple[Plan, ...] = ()


OTHER_PRICES = (200, 1000, 6000, 0)
"""Hundredths of a minute for a board foot at which *wood or work* is shown; 0: work counts for nothing."""

FOR_OTHERS = 0.2
"""Share of the seconds that the other prices of work get."""


FOR_LIKENESS = 0.2
"""Share of the seconds, before and after the search, that goes to keeping boards cut as in an older plan."""


def solve(
    job: Job,
    *,
    options: Options | None = None,
    start: Sequence[OffcutPlan] = (),
    like: Sequence[OffcutPlan] = (),
    on_event: Callable[[Progress], None] | None = None,
    stopped: Callable[[], bool] = lambda: False,
) -> Solution:
    """Return the best plan found for a job; whoever shows it has it rechecked first.

    ``start`` is drawings that keep every rule: no plan found is worse than they are together. ``like`` is drawings of
    an older plan that keep every rule still: of plans within a hundredth of the least cost found the one with most
    boards cut like that is returned. ``stopped`` is asked now and then: once it is true, the best plan so far is
    returned.
    """
    from yieldplan.solve.alike import completed, most_alike, still_wanted  # noqa: PLC0415 - slow to load
    from yieldplan.solve.compile_kernels import compile_kernels  # noqa: PLC0415
    from yieldplan.solve.search import Search  # noqa: PLC0415

    asked = options or Options()
    compile_kernels()
    budget = Budget(seconds=asked.seconds, stopped=stopped)

    def tell(search: Search) -> None:
        if on_event is not None and search.incumbent is not None:
            plan = search.plan()
            on_event(
                Progress(
                    phase="search",
                    seconds=budget.clock,
                    missing=plan.missing_total,
                    used=plan.account.used,
                    hundredths=plan.work.hundredths,
                    gap=search.gap if search.bound > 0 else None,
                )
            )

    if like:
        like = still_wanted(job, like)
        start = completed(job, like, budget.part(FOR_LIKENESS * asked.seconds), at=asked.price)
    share = 1 - (FOR_OTHERS if asked.alternatives else 0) - (2 * FOR_LIKENESS if like else 0)
    search = Search(
        job,
        budget.part(share * asked.seconds),
        at=asked.price,
        splits=asked.splits,
        start=start,
        on_better=tell,
    )
    search.run(cost=asked.cost)
    drawn = most_alike(search, tuple(like), budget.part(FOR_LIKENESS * asked.seconds)) if like else None
    coarse = tuple(name for one in search.classes if one.coarse for name in one.names)
    return Solution(
        plan=search.plan(drawn),
        ended=search.ended,
        coarse=coarse,
        alternatives=_alternatives(search, budget) if asked.alternatives else (),
    )


def _alternatives(search: Search, budget: Budget) -> tuple[Plan, ...]:
    """Return what other prices of work would give, each by a shorter search that begins at the plan found."""
    own = search.job.shop.minutes_for_a_board_foot if search.at is None else search.at
    others = [price for price in OTHER_PRICES if price != own]
    found = [search.plan()]
    for number, price in enumerate(others):
        part = budget.part(budget.left / (len(others) - number))
        found.append(search.at_another_price(price, part))
    return tuple(found)
