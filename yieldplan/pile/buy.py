"""What to buy where blanks are missing: the cheapest boards of the Yard that make them, or the smallest that would do.

First money alone: a board costs its price, what is left of it is worth nothing and work is free, so the search's bound
is one of money. Then what was chosen is cut as the shop would cut it, at its own price of work; no more is bought for
that.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import Job, Offcut, length_needed, section, why_not
from yieldplan.model.kept import as_offcut
from yieldplan.model.leftovers import rough
from yieldplan.model.work import WOOD_ALONE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from yieldplan.model import Blank, Plan, Shop, YardBoard

FOR_MONEY = 0.7
"""Share of the seconds in which the cheapest boards are looked for; the rest goes to how they are cut."""


def to_buy(net: Fraction, waste: Fraction) -> Fraction:
    """Return how much to buy so that ``net`` is left after this share of it is wasted; ValueError from 1 on.

    >>> round(float(to_buy(Fraction(100), Fraction(30, 100))), 2)
    142.86
    """
    if not 0 <= waste < 1:
        raise ValueError(f"waste must be a share from 0 to below 1, not {waste}")
    return net / (1 - waste)


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """Boards to buy, and how they are cut.

    ``job`` has them as a pile, each with the length that can be used of it, and the missing blanks; ``plan`` is their
    cutting. ``money_plan`` is the cheapest cutting that was found: its cost and its bound are money, in hundredths.
    ``boards`` are the rows of the Yard that are bought, and how many of each. ``coarse`` is stock that was looked at on
    a coarser mark of its own: the bound speaks of the cuts that were tried.
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
        return 1 - Fraction(self.plan.account.blanks, self.volume - self.plan.account.keepers)

    @property
    def more(self) -> Fraction:
        """How much more is bought, and not kept, than the blanks hold, as a share of what they hold."""
        return to_buy(Fraction(1), self.waste) - 1

    @property
    def missing(self) -> tuple[tuple[str, int], ...]:
        """What no boards were found for: (blank, count)."""
        return tuple((name, count) for name, count in self.plan.missing if count)


def what_to_buy(
    job: Job, plan: Plan, *, seconds: float = 10.0, stopped: Callable[[], bool] = lambda: False
) -> Purchase | None:
    """Return the cheapest boards found for the blanks that a plan misses; some of them at least.

    Both plans in it keep the rules of their job (:func:`money_job`, ``Purchase.job``); whoever shows them has them
    rechecked. None where nothing is missing or no board of the Yard gives any of it.
    """
    from yieldplan.solve import Options, solve  # noqa: PLC0415 - slow to load

    wanted = money_job(job, plan)
    if not wanted.blanks or not wanted.offcuts:
        return None
    looked = solve(wanted, options=Options(seconds=FOR_MONEY * seconds, price=WOOD_ALONE), stopped=stopped)
    counts = Counter(drawn.offcut for drawn in looked.plan.offcuts)
    if not counts:
        return None
    offcuts = (replace(one, qty=counts[one.name], price=None) for one in wanted.offcuts if counts[one.name])
    bought = replace(wanted, offcuts=tuple(offcuts), shop=job.shop)
    options = Options(seconds=(1 - FOR_MONEY) * seconds)
    cut = solve(bought, options=options, start=looked.plan.offcuts, stopped=stopped).plan
    counts = Counter(drawn.offcut for drawn in cut.offcuts)
    boards = tuple((board, n) for board in job.yard if (n := counts[board.board.name]))
    coarse = tuple(dict.fromkeys(looked.coarse))
    return Purchase(job=bought, plan=cut, money_plan=looked.plan, boards=boards, coarse=coarse)


def money_job(job: Job, plan: Plan) -> Job:
    """Return the job of making what a plan misses out of the Yard, where only money counts.

    Boards have their price; of any number as many are there as could be of use. No leftover is long enough to keep.
    """
    missing = dict(plan.missing)
    blanks = tuple(replace(b, need=missing[b.name], spare=0) for b in job.blanks if missing.get(b.name))
    mark, longest = job.shop.mark, max((board.board.length for board in job.yard), default=0)
    offcuts = (_usable(board, blanks, job.shop) for board in job.yard)
    return Job(
        offcuts=tuple(offcut for offcut in offcuts if offcut is not None),
        blanks=blanks,
        shop=replace(job.shop, keeper_length=longest // mark * mark + mark),
        name=job.name,
        sha256=job.sha256,
    )


def _usable(board: YardBoard, blanks: tuple[Blank, ...], shop: Shop) -> Offcut | None:
    """Return boards of a row as offcuts: with the length that can be used, and what bends on it (R3)."""
    whole = board.board
    of_use = sum(b.need for b in blanks if b.takes_species(whole.species))
    copies = of_use if board.at_most is None else min(board.at_most, of_use)
    length = math.floor(whole.length * (1 - board.faults / 100) / shop.mark) * shop.mark
    if not copies or not length:
        return None
    usable = as_offcut(whole, rough((0, length), (0, whole.width), (0, whole.thickness)), whole.name, shop)
    near, far = whole.ring_angle, whole.ring_angle_far
    return replace(usable, qty=copies, price=board.price, ring_angle=near, ring_angle_far=far)


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallestBoard:
    """The smallest board that gives one of a kind: sound, straight, flat and dry, with the rings that it asks for.

    ``board`` is None where no board would do, because the machines do not make the blank. ``length_for_all`` is how
    long a board of this section is that gives all that are missing, one behind the other.
    """

    blank: Blank
    missing: int
    board: Offcut | None
    length_for_all: int


def smallest_boards(job: Job, plan: Plan) -> tuple[SmallestBoard, ...]:
    """Return the smallest board for each kind of blank that a plan misses, in the batch's order."""
    missing = dict(plan.missing)
    return tuple(_smallest(b, missing[b.name], job.shop) for b in job.blanks if missing.get(b.name))


def _smallest(blank: Blank, missing: int, shop: Shop) -> SmallestBoard:
    found = (board for board in _candidates(blank, shop) if why_not(board, blank, shop) is None)
    board = min(found, key=lambda board: board.volume, default=None)
    others = (missing - 1) * (blank.length + shop.length_allowance + shop.crosscut_kerf)
    alone = blank.length + shop.length_allowance + 2 * (shop.stick_trim + shop.end_trim)
    for_all = max(board.length if board else 0, alone + others)
    return SmallestBoard(blank=blank, missing=missing, board=board, length_for_all=for_all)


def _candidates(blank: Blank, shop: Shop) -> Iterator[Offcut]:
    """Yield boards that leave the blank's rough section after the skims and nothing more, lying flat and turned."""
    middle = sum(blank.ring_range or (0, 90)) // 2
    for turned in (False, True):
        like = Offcut(
            name="",
            length=length_needed(blank, shop),
            width=1,
            thickness=1,
            species=next(iter(blank.species), ""),
            ring_angle=90 - middle if turned else middle,
            grain_slope=blank.max_slope,
        )
        size = section(like, blank, shop, turned=turned)
        across, deep = size.rough_width, size.rough_thickness
        if turned:
            across, deep = deep, across
        width, thickness = across + shop.edge_skim, deep + shop.face_skim
        yield replace(like, width=max(width, thickness), thickness=thickness)
