"""What to buy where blanks are missing: the cheapest boards of the Yard that make them.

First money alone: a board costs its price, what is left of it is worth nothing and work is free, so the search's bound
is one of money. Then what was chosen is cut as the shop would cut it, at its own price of work; no more is bought for
that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import Job, Plan
from yieldplan.model.work import WOOD_ALONE
from yieldplan.pile.figures import more_than

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Blank, Offcut, YardBoard

FOR_MONEY = 0.7
"""Share of the seconds in which the cheapest boards are looked for; the rest goes to how they are cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """Boards to buy, and how they are cut.

    Attributes
    ----------
    job, plan
        The boards to buy as a pile, each with the length that can be used of it; the missing blanks; their cutting.
    money_plan
        The cheapest cutting that was found: its cost and its bound are money, in hundredths.
    boards
        The rows of the Yard that are bought, and how many of each.
    coarse
        Stock that was looked at on a coarser mark of its own: the bound speaks of the cuts that were tried.
    """

    job: Job
    plan: Plan
    money_plan: Plan
    boards: tuple[tuple[YardBoard, int], ...]
    coarse: tuple[str, ...] = ()

    @property
    def money(self) -> int:
        """What they cost, in hundredths of the currency."""
        return sum(count * board.price for board, count in self.boards)

    @property
    def currency(self) -> str:
        """The sign that stands with the prices; may be empty."""
        return next((board.currency for board, _ in self.boards if board.currency), "")

    @property
    def least(self) -> int:
        """What no boards of the Yard that make as many of the blanks cost less than."""
        return min(self.money_plan.proof.bound, self.money)

    @property
    def proven(self) -> bool:
        """Whether no boards make more of the blanks, and none that make as many are a thousandth cheaper."""
        proof = self.money_plan.proof
        return proof.missing == proof.missing_at_least and 1000 * (self.money - self.least) <= self.money

    @property
    def volume(self) -> int:
        """Cubic steps that are bought, what cannot be used of them too."""
        return sum(count * board.board.volume for board, count in self.boards)

    @property
    def waste(self) -> Fraction:
        """Share of what is bought, and not kept, that is not in blanks."""
        account = self.plan.account
        used = self.volume - account.keepers
        return 1 - Fraction(account.blanks, used) if used else Fraction(0)

    @property
    def more(self) -> Fraction:
        """How much more is bought, and not kept, than the blanks hold, as a share of what they hold."""
        return more_than(self.waste)

    @property
    def missing(self) -> tuple[tuple[str, int], ...]:
        """What no boards were found for: (blank, count), those that miss any."""
        return tuple((name, count) for name, count in self.plan.missing if count)


def what_to_buy(
    job: Job, plan: Plan, *, seconds: float = 10.0, stopped: Callable[[], bool] = lambda: False
) -> Purchase | None:
    """Return the cheapest boards found for the blanks that a plan misses.

    Both plans in it keep the rules of their job (:func:`money_job`, ``Purchase.job``); whoever shows them has them
    rechecked. None where nothing is missing or no board of the Yard gives any of it.
    """
    from yieldplan.solve import Options, solve  # noqa: PLC0415 - slow to load

    wanted = money_job(job, plan)
    if not wanted.blanks or not wanted.offcuts:
        return None
    options = Options(seconds=FOR_MONEY * seconds, price=WOOD_ALONE)
    looked = solve(wanted, options=options, stopped=stopped)
    cheapest = looked.plan
    if not cheapest.offcuts:
        return None
    counts = {board.board.name: 0 for board in job.yard}
    for drawn in cheapest.offcuts:
        counts[drawn.offcut] += 1
    bought = replace(
        wanted,
        offcuts=tuple(
            replace(one, qty=counts[one.name], price=None) for one in wanted.offcuts if counts[one.name]
        ),
        shop=job.shop,
    )
    options = Options(seconds=(1 - FOR_MONEY) * seconds)
    cut = solve(bought, options=options, start=cheapest.offcuts, stopped=stopped).plan
    drawn_of = [drawn.offcut for drawn in cut.offcuts]
    return Purchase(
        job=bought,
        plan=cut,
        money_plan=cheapest,
        boards=tuple((board, n) for board in job.yard if (n := drawn_of.count(board.board.name))),
        coarse=tuple(dict.fromkeys(looked.coarse)),
    )


def money_job(job: Job, plan: Plan) -> Job:
    """Return the job of making what a plan misses out of the Yard, where only money counts.

    Boards have their price; of any number as many are there as could be of use. No leftover is long enough to keep.
    """
    missing = dict(plan.missing)
    blanks = tuple(replace(b, need=missing[b.name], spare=0) for b in job.blanks if missing.get(b.name))
    mark = job.shop.mark
    longest = max((board.board.length for board in job.yard), default=0)
    offcuts = (_usable(board, blanks, mark) for board in job.yard)
    return Job(
        offcuts=tuple(offcut for offcut in offcuts if offcut is not None),
        blanks=blanks,
        shop=replace(job.shop, keeper_length=longest // mark * mark + mark),
        name=job.name,
        sha256=job.sha256,
    )


def _usable(board: YardBoard, blanks: tuple[Blank, ...], mark: int) -> Offcut | None:
    """Return boards of a row as offcuts: with the length that can be used, and what bends on it.

    Bow and crook grow with the square of the length, twist with the length (R3), so that a billet loses what it would
    lose in the whole board; each is rounded up to a mark.
    """
    whole = board.board
    of_use = sum(b.need for b in blanks if b.takes_species(whole.species))
    copies = of_use if board.at_most is None else min(board.at_most, of_use)
    share = 1 - board.faults / 100
    length = math.floor(whole.length * share / mark) * mark
    if not copies or not length:
        return None
    left = Fraction(length, whole.length)

    def bent(warp: int, by: Fraction) -> int:
        return math.ceil(warp * by / mark) * mark

    return replace(
        whole,
        length=length,
        bow=bent(whole.bow, left**2),
        crook=bent(whole.crook, left**2),
        twist=bent(whole.twist, left),
        qty=copies,
        price=board.price,
    )
