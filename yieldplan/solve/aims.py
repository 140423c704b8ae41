"""The aims, one after the other: fewest missing, least net worth drawn, most extras, fewest offcuts and cuts."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldplan.model import Lesser, plan_crosscuts
from yieldplan.model.errors import SolverError
from yieldplan.solve.budget import SLIDING, TIDYING, TRYING, Budget, preparing
from yieldplan.solve.columns import column_of, counts_of
from yieldplan.solve.dive import dive
from yieldplan.solve.finish import make_plan, only
from yieldplan.solve.generate import Aim, Generator, Pool, worth_of_blanks
from yieldplan.solve.lesser import by_numbers, from_below, most_extras
from yieldplan.solve.master import Choice, Integer, Outcome, Wanted
from yieldplan.solve.neat import neatest, tidied
from yieldplan.solve.room import LEAST, Allowance, Room
from yieldplan.solve.slide import kept_most
from yieldplan.solve.stock import Stock, classes, prepare
from yieldplan.solve.warm import load_kernels
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from yieldplan.model import Job, Plan
    from yieldplan.solve.columns import Column, Segments
    from yieldplan.solve.kernel import Floats
    from yieldplan.solve.master import Prices
    from yieldplan.solve.pricing import Priced

DEAR = 4.0
"""What a missing blank costs while a first plan is sought, in times its own worth."""

LOOKED_AT = 1.5
"""How many times less than a missing blank one is worth to the first look: for less it finds nothing in dear wood."""

FEW = 20
"""Labels kept at a node where columns are wanted quickly rather than all of them."""

MANY_IN_ALL = 1000
"""The same for all stocks together, where there are few."""

ALIKE = 1e-3
"""Bounds are alike that differ by no more than this share."""

WIDER = 2.5
"""How many times as far from the relaxation cuttings are listed next, once all are within some slack of it."""

LOOK = 3.0
"""Seconds of work that the first look may take, however few there are."""

MOST_TIDIED = 1000
"""Columns that are all tidied before the fewest crosscuts are chosen; of more only those in use."""

MOST_SLID = 100
"""Columns at the most whose cuts are slid to keep more, at a time."""

SLID = 3.0
"""Units that this is thought to gain of a column at the most."""

RECHECK = "recheck"
"""The phase once the search is over."""

TURNS = 2.5
"""Times the work of a bound that must be left for a better one to be sought."""

LEAST_GAINED = 0.05
"""Share of the gap that a better bound must have closed for yet another one to be sought."""

MOST_CHOOSING = 60.0
"""Seconds of work for one integer step, at the most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How long to look: ``seconds`` of work, after which the best plan so far is given.

    Work is counted, not timed (:mod:`yieldplan.solve.budget`), so that equal runs give equal plans. A second of it is
    about one on the clock; compiling the kernels, once after installing, comes on top.
    """

    seconds: float = 25.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.seconds) and self.seconds > 0):
            raise ValueError(f"seconds must be a number above 0, not {self.seconds}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Where the search stands; None where nothing is known yet.

    ``best`` and ``bound`` are net worth drawn, ``missing`` blanks, ``looked_at`` of ``offcuts`` like groups.
    """

    phase: str
    best: int | None
    missing: int | None
    bound: int | None
    gap: float | None
    looked_at: int
    offcuts: int


Bound = tuple[float, "list[Priced | None]"]
"""A bound, and the stocks priced that it rests on."""

Chosen = tuple["Choice", int]
"""A choice among the columns of the pool, and how often the pool had changed by then."""


class Relaxed(NamedTuple):
    """The relaxation of aim 2: its bound, and the stocks priced and the prices that it rests on."""

    bound: float
    priced: Sequence[Priced | None]
    prices: Prices
    dear: Floats
    """What an extra of each kind raises the bound by."""


def _unit(stocks: Sequence[Stock]) -> int:
    """Return what the cost of every cutting is a multiple of: more than 1 where nothing can be kept."""
    if any(stock.offcut.length >= stock.rule.keeper_length for stock in stocks):
        return 1
    return max(1, math.gcd(*(stock.cost for stock in stocks)))


def plan(
    job: Job, *, options: Options | None = None, on_event: Callable[[Progress], None] | None = None
) -> Plan:
    """Return the best plan found for a job; it has passed :func:`yieldplan.verify.verify`.

    Parameters
    ----------
    job
        As :func:`yieldplan.workbook.read` returns it.
    options
        How long to look.
    on_event
        Called with :class:`Progress` as the search goes on.

    Raises
    ------
    SolverError
        If no plan passes the recheck.
    KeyboardInterrupt
        If interrupted before there is any plan, or in the recheck (of which ``on_event`` is told as it begins); in
        between the best plan so far is returned.
    """
    return searched(job, options=options, on_event=on_event)[0]


def searched(
    job: Job, *, options: Options | None = None, on_event: Callable[[Progress], None] | None = None
) -> tuple[Plan, Search]:
    """Return what :func:`plan` does, and the search itself, to ask it what it has tried."""
    search = Search(job, options or Options(), on_event or (lambda _: None))
    try:
        search.run()
        search.found()
    except KeyboardInterrupt:
        if search.best is None:
            raise
        search.found()
    result = search.result()
    breaches = verify(job, result)
    while breaches and search.without_unsound():
        result = search.result()
        breaches = verify(job, result)
    if breaches:
        raise SolverError(
            f"the plan found does not pass the recheck, so it is not shown: {breaches[0].sentence()}"
        )
    neat = neatest(job, search.best or [], search.result)
    return (neat if neat != result and not verify(job, neat) else result), search


class Search:
    """One search: the columns found, the best choice among them, and what is proven of it."""

    def __init__(self, job: Job, options: Options, on_event: Callable[[Progress], None]) -> None:
        self.job, self.on_event = job, on_event
        self.seconds = options.seconds
        self.stocks: list[Stock] = []
        self.pool = Pool()
        self.best: list[Column] | None = None
        self.missing: tuple[int, ...] = ()
        self.cost: int | None = None
        self.bound = -math.inf
        self.relaxed: Relaxed | None = None
        self.least_missing: dict[int, int] = {}
        """Bounds of aim 1, of each class that was looked at."""
        self.lesser: Lesser | None = None
        """Bounds of aims 3 and 4, once they are known."""
        self.settled = False
        self.unit = 1
        """What every cost is a multiple of."""
        self.phase = "compiling, this once"
        load_kernels(lambda: self.tell(0))
        self.budget = Budget(0.9 * options.seconds)  # a tenth is left for the extras and the recheck
        self.phase = "reading the pile"

    def left(self) -> float:
        """Return the seconds of work left."""
        return self.budget.left()

    def out_of_time(self) -> bool:
        """Return whether the search is to end."""
        return self.left() <= 0

    def tell(self, looked_at: int) -> None:
        """Report progress."""
        bound = None if self.bound == -math.inf or self.cost is None else int(max(0, self.bound))
        gap = (self.cost - bound) / max(self.cost, 1) if bound is not None and self.cost is not None else None
        self.on_event(
            Progress(
                phase=self.phase,
                best=self.cost,
                missing=sum(self.missing) if self.best is not None else None,
                bound=bound,
                gap=gap,
                looked_at=looked_at,
                offcuts=len(self.stocks),
            )
        )

    def run(self) -> None:
        """Settle the aims in order, as far as the time allows."""
        ready = self._prepared()
        blanks = self.job.blanks
        self.wanted = Wanted(
            need=tuple(b.need for b in blanks),
            extra=tuple(b.extra for b in blanks),
            priority=tuple(b.priority for b in blanks),
            copies=tuple(len(stock.members) for stock in ready),
        )
        self.generator = Generator(
            *(self.job, ready, self.wanted, self.pool),
            left=self.left,
            spend=self.budget.spend,
            on_round=self.tell,
        )
        self.unit = _unit(ready)
        self._first_plan()
        settled = self._fewest_missing()
        if not self.out_of_time():
            self._least_worth(settled)
        self._extras()

    def _prepared(self) -> list[Stock]:
        """Prepare the pile; small offcuts first, which leave more room to the others, then all in the pile's order.

        Those that had too little room get a share of what is left once all have had theirs.
        """
        found = classes(self.job)
        allowance = Allowance(len(found), self.seconds / 4 / TRYING)
        ready: dict[int, Stock] = {}
        todo = sorted(range(len(found)), key=lambda at: found[at][0].length * (1 + len(found[at][0].defects)))

        def lacking(at: int) -> bool:
            return at in ready and not ready[at].complete and not self.budget.late()

        for at, room in allowance.turns(todo, lacking):
            stock = prepare(*found[at], self.job, Room(LEAST) if self.budget.late() else room)
            if stock is not None:
                ready[at] = stock
                self.budget.spend(preparing(len(stock.arcs)))
                allowance.take(stock.rows)
            self.stocks = list(ready.values())
            self.tell(len(ready))
        self.stocks = [ready[at] for at in sorted(ready)]
        return self.stocks

    # Aim 0: something to hold on to.

    def _first_plan(self) -> None:
        """Find columns that serve both first aims, and a first choice among them."""
        self.phase = "first plan"
        weights = [DEAR * own for own in worth_of_blanks(self.job)]
        aim = Aim(weights=tuple(weights), settled={}, with_cost=True)
        self.generator.look_once(np.array(weights) / LOOKED_AT, aim, max(LOOK, self.left() / 2))
        self._choose_missing({}, seconds=1.0)
        soon = 0.6 * self.left()
        self.generator.run(aim, lambda: self.left() < soon)
        _, priced = self.generator.sure_bound(aim)
        typical = sum(p.best for p in priced if p) / max(1, len(priced))
        self.generator.near(priced, aim, 0.03 * typical, seconds=0.2 * self.left(), most=self._few())
        self._choose_missing({}, seconds=min(3.0, self.left() / 4))
        self._choose_cost(self._missing_by_class(), seconds=min(4.0, self.left() / 4))

    def _few(self) -> int:
        """Return how many labels are kept at a node where columns are wanted quickly; more for few stocks."""
        return max(FEW, MANY_IN_ALL // max(1, len(self.stocks)))

    def _raise_bound(self, bound: float) -> None:
        """Note that no plan costs less, rounded up to what a cost can be."""
        if bound > -math.inf:
            self.bound = max(self.bound, self.unit * math.ceil((bound - 1e-6) / self.unit))

    def _missing_by_class(self) -> dict[int, int]:
        return {p: sum(self.missing[k] for k in self.wanted.members(p)) for p in self.wanted.classes}

    def _take(self, choice: Choice) -> None:
        """Adopt a choice of columns as the best one."""
        self.best = [c for c, n in zip(self.pool.columns, choice.uses, strict=False) for _ in range(n)]
        made = [0] * len(self.wanted.need)
        for column in self.best:
            for k, count in enumerate(column.counts):
                made[k] += count
        self.missing = tuple(max(0, n - m) for n, m in zip(self.wanted.need, made, strict=True))
        self.cost = sum(column.cost for column in self.best)
        self.tell(len(self.stocks))

    def _hint(self) -> Choice | None:
        return None if self.best is None else self._uses(self.best)

    def _choose_missing(self, settled: dict[int, int], seconds: float) -> None:
        """Choose among the pool the fewest missing, class after class."""
        for priority in self.wanted.classes:
            if priority in settled:
                continue
            choice = self._choose(self._integer(settled), f"missing:{priority}", seconds)
            if choice.uses and (self.best is None or choice.value < self._missing_by_class()[priority]):
                self._take(choice)
            elif self.best is None:
                self._take(Choice(outcome=Outcome.FOUND, uses=(0,) * len(self.pool.columns)))
            settled = {**settled, priority: self._missing_by_class()[priority]}

    def _choose(self, master: Integer, aim: str, seconds: float) -> Choice:
        choice = master.choose(aim, min(seconds, MOST_CHOOSING), self._hint())
        self.budget.spend(choice.seconds)
        return choice

    def _integer(self, settled: dict[int, int], *, ghosts: bool = False) -> Integer:
        pool = [*self.pool.columns, *(self.pool.ghosts.values() if ghosts else ())]
        return Integer(wanted=self.wanted, pool=pool, most_missing=settled)

    def _choose_cost(self, settled: dict[int, int], seconds: float) -> Choice:
        """Choose among the pool the least worth with aim 1 held."""
        choice = self._choose(self._integer(settled), "cost", seconds)
        if choice.uses and (self.cost is None or choice.value <= self.cost):
            self._take(choice)
        return choice

    # Aim 1.

    def _fewest_missing(self) -> dict[int, int]:
        """Settle the classes in order; return the missing blanks of each class that is proven least."""
        settled: dict[int, int] = {}
        for priority in self.wanted.classes:
            if self._missing_by_class()[priority] and not self._least_missing(priority, settled):
                return settled
            settled[priority] = self.least_missing[priority] = self._missing_by_class()[priority]
        self.settled = True
        return settled

    def _least_missing(self, priority: int, settled: dict[int, int]) -> bool:
        """Bring the missing blanks of one class to their least; return whether that is proven."""
        self.phase = "fewest missing"
        self.generator.begin()
        weights = tuple(float(p == priority) for p in self.wanted.priority)
        aim = Aim(weights=weights, settled=dict(settled), with_cost=False)

        def enough(bound: float) -> bool:
            return math.ceil(bound - 1e-6) >= self._missing_by_class()[priority]

        self.generator.run(aim, lambda: False)
        bound, priced = self._tightened(
            aim, self.generator.sure_bound(aim), self._missing_by_class()[priority]
        )
        self.least_missing[priority] = max(0, math.ceil(bound - 1e-6))
        if enough(bound):
            return True
        self._choose_missing(settled, min(5.0, self.left() / 4))
        if enough(bound) or self.out_of_time():
            return enough(bound)
        slack = self._missing_by_class()[priority] - 1 - bound
        self.generator.near(priced, aim, slack, seconds=self.left() / 6, most=self._few())
        self._choose_missing(settled, self.left() / 6)
        if enough(bound):
            return True
        slack = self._missing_by_class()[priority] - 1 - bound
        whole = self.generator.near(priced, aim, slack, seconds=self.left() / 2)
        choice = self._choose(self._integer(settled), f"missing:{priority}", self.left() / 2)
        if choice.uses and choice.value < self._missing_by_class()[priority]:
            self._take(choice)
        return whole and choice.outcome in (Outcome.BEST, Outcome.NONE)

    # Aim 2.

    def _least_worth(self, settled: dict[int, int]) -> None:
        """Bring the net worth drawn to its least, and its bound up to it, with aim 1 held."""
        self.phase = "least worth"
        self.generator.begin()
        held = self._missing_by_class()
        self._choose_cost(held, min(2.0, self.left() / 8))
        known = dict(settled) if self.settled else self._known(settled, held)
        aim = Aim(weights=(0.0,) * len(self.wanted.need), settled=known, with_cost=True)
        base, priced = self._rest_on(aim, self._relax(aim))
        if self._closed():
            return
        gap = (self.cost or 0) - 1 - base
        self.generator.near(
            priced,
            aim,
            min(gap, max(gap / 8, 0.006 * (self.cost or 0))),
            seconds=self.left() / 5,
            most=self._few(),
        )
        chosen = self._choose_cost(held, min(5.0, self.left() / 4)), self.pool.changes
        self._leave_out_surplus(held, min(2.0, self.left() / 8))
        self._dive(aim)
        _, priced = self._rest_on(aim, (base, self.generator.look_finer(priced, aim, worthwhile=True)))
        base, priced = self._rest_on(aim, self._tightened(aim, (base, priced), self.cost or 0))
        chosen = self._narrow(aim, held, (base, priced), chosen)
        if not self._closed() and not self.out_of_time():
            finer = self.generator.look_finer(priced, aim)
            if finer != priced:
                self._narrow(aim, held, self._rest_on(aim, (base, finer)), chosen)

    def _narrow(self, aim: Aim, held: dict[int, int], found: Bound, chosen: Chosen) -> Chosen:
        """List what lies further and further above a bound, and choose among it, until the bound is reached.

        ``chosen`` is the last choice made, and of how many changes of the pool; so is what is returned.
        """
        (base, priced), (choice, chosen_of) = found, chosen
        low: Choice | None = None
        listed, failed = max(1.6, 0.0008 * (self.cost or 0)), math.inf
        while not self._closed() and not self.out_of_time() and self.cost is not None:
            gap = self.cost - 1 - base
            slack = gap if WIDER * listed > 0.75 * gap else WIDER * listed
            slack = slack if slack < failed else math.sqrt(listed * failed)
            if slack < min(gap, 1.1 * listed):
                break
            share = 0.9 if slack >= gap else 0.5
            whole = self.generator.near(priced, aim, slack, seconds=share * self.left())
            if self.pool.changes != chosen_of:
                choice, low = self._choose_cost(held, self.left() / 2), None
                chosen_of = self.pool.changes
            if not whole:  # ask for less
                failed = slack
                continue
            low = low or self._choose(self._integer(aim.settled, ghosts=True), "low", self.left() / 2)
            if low.outcome is Outcome.NONE:
                low.bound = self.cost
            if low.outcome is not Outcome.UNKNOWN:
                self._raise_bound(min(low.bound, math.floor(base + slack) + 1, self.cost))
            self.tell(len(self.stocks))
            if slack >= self.cost - 1 - base or choice.outcome is Outcome.FOUND:
                break
            listed = slack
        return choice, chosen_of

    def _rest_on(self, aim: Aim, found: Bound) -> Bound:
        """Take a bound of net worth, and what it rests on."""
        self.relaxed = Relaxed(*found, self.generator.asked(aim), self.generator.least_prices(aim))
        self._raise_bound(found[0])
        self.tell(len(self.stocks))
        return found

    def _relax(self, aim: Aim) -> Bound:
        """Return the bound of the linear relaxation, and the stocks priced.

        Prices are found with the billets that are mostly best, and then tried on all of them. Only where that makes a
        difference they are found anew.
        """
        soon = 0.7 * self.left()
        self.generator.run(aim, lambda: self.left() < soon)
        if all(stock.thorough for stock in self.stocks):
            return self.generator.sure_bound(aim)
        self.generator.look_everywhere()
        found, hoped = self._rest_on(aim, self.generator.sure_bound(aim)), self.generator.relaxed(aim)
        if hoped - found[0] < ALIKE * hoped or self.left() < 0.5 * self.budget.seconds:
            return found
        soon, before = 0.5 * self.left(), self.generator.best_prices
        for priced in found[1]:
            if priced is not None:
                priced.give_up()
        self.generator.run(aim, lambda: self.left() < soon)
        anew = self.generator.sure_bound(aim)
        if anew[0] > found[0]:
            return anew
        self.generator.best_prices = before
        return found

    def _tightened(self, aim: Aim, found: Bound, best: int) -> Bound:
        """Raise a bound by stocks that hold no more blanks than are needed, as far as they can be listed.

        Only while it does not prove the ``best`` value so far, there is time for more than prices and a bound anew, and
        net worth gains by it.
        """
        prices, gained = self.generator.best_prices, 1.0
        while (
            math.ceil(found[0] - 1e-6) < best
            and gained >= (LEAST_GAINED if aim.with_cost else 0.0)
            and self.left() > TURNS * self.generator.bounding
            and self.generator.make_proper(found[1], aim)
        ):
            soon = 0.8 * self.left()
            if not self.generator.run(aim, lambda soon=soon: self.left() < soon):  # type: ignore[misc]
                break
            anew = self.generator.sure_bound(aim)
            gained = (anew[0] - found[0]) / (best - found[0])
            if gained > 0.0:
                found, prices = anew, self.generator.best_prices
        self.generator.best_prices = prices
        return found

    def _dive(self, aim: Aim) -> None:
        """Look for a better plan from the linear relaxation, where many like offcuts are drawn."""
        drawn = len(self.best or ())
        if self._closed() or any(self.missing) or self.cost is None or drawn < 2 * len(self.stocks):
            return
        soon = 0.7 * self.left()
        found = dive(self.generator, aim, lambda: self.left() < soon)
        if found is not None and sum(column.cost for column in found) < self.cost:
            self._take(self._uses(found))

    def _uses(self, columns: Sequence[Column]) -> Choice:
        """Return how often each column of the pool is used."""
        uses = [0] * len(self.pool.columns)
        where = {(c.stock, c.counts): i for i, c in enumerate(self.pool.columns)}
        for column in columns:
            uses[where[column.stock, column.counts]] += 1
        return Choice(outcome=Outcome.FOUND, uses=tuple(uses))

    def _known(self, settled: dict[int, int], held: dict[int, int]) -> dict[int, int]:
        """Return the classes that any plan no worse in aim 1 must keep to: the proven ones and the next."""
        known = dict(settled)
        for priority in self.wanted.classes:
            if priority not in known:
                known[priority] = held[priority]
                break
        return known

    def _closed(self) -> bool:
        return self.cost is not None and self.bound >= self.cost

    # Aims 3 and 4.

    def _extras(self) -> None:
        """Within the least worth found: most extras, then fewest offcuts, then fewest crosscuts."""
        self.phase = "extras"
        if not self.best:  # what draws no net worth draws nothing
            self.lesser = Lesser(extras=0, offcuts=0, crosscuts=0)
            return
        grace = max(0.5, min(2.0, 0.05 * self.seconds))
        held = self._missing_by_class()
        whole = bool(self.generator.rounds) and self._recut(self.budget.spent + grace)
        self._leave_out_surplus(held, grace)
        self._slide(held, grace)
        master = self._integer(held)
        master.most_cost = self.cost
        extras = sum(self.wanted.extra)
        if self.relaxed is not None and self.cost is not None:
            extras = most_extras(self.relaxed.dear, self.wanted.extra, self.cost - self.relaxed.bound)
        self.lesser = by_numbers(
            self.job, self.generator.stocks, self.wanted, held, drawn=len(self.best), extras=extras
        )
        for aim in ("extra", "drawn", "crosscuts"):
            if aim == "extra" and not any(self.wanted.extra):
                continue
            if aim == "crosscuts":
                self._tidy()
                master.pool = self.pool.columns
            choice = self._choose(master, aim, grace)
            if not choice.uses:
                return
            drawn = sum(n * c.cost for n, c in zip(choice.uses, self.pool.columns, strict=True))
            if self.cost is None or drawn <= self.cost:
                self._take(choice)
            if whole:
                self._raise_lesser(master, aim, choice, grace)
            if aim == "extra":
                master.least_extra = -choice.value
            elif aim == "drawn":
                master.most_drawn = choice.value

    def _raise_lesser(self, master: Integer, aim: str, choice: Choice, grace: float) -> None:
        """Bound one of aims 3 and 4 by the integer step, all cuttings being known that an equal plan may use."""
        assert self.lesser is not None
        if aim == "crosscuts" or self.pool.ghosts:
            every = (*self.pool.columns, *self.pool.ghosts.values())
            pool = from_below(every, self.generator.stocks, self.job)
            choice = self._choose(replace(master, pool=pool), aim, grace)
        if not choice.uses:
            return
        if aim == "extra":
            self.lesser = replace(self.lesser, extras=min(self.lesser.extras, -choice.bound))
        elif aim == "drawn":
            self.lesser = replace(self.lesser, offcuts=max(self.lesser.offcuts, choice.bound))
        else:
            self.lesser = replace(self.lesser, crosscuts=max(self.lesser.crosscuts, choice.bound))

    def _recut(self, until: float) -> bool:
        """Add cuttings that another best plan may use: all of them if there is time, else of the offcuts in use.

        Return whether it is all of them.
        """
        aim = Aim(weights=(0.0,) * len(self.wanted.need), settled=self._missing_by_class(), with_cost=True)
        if self._closed() and self.relaxed is not None and self.cost is not None:
            slack = self.cost - self.relaxed.bound + SLID
            if self.generator.near(self.relaxed.priced, aim, slack, seconds=until - self.budget.spent):
                return True
        for column in list(self.best or []):
            if self.budget.spent > until:
                break
            self.generator.recut(column, aim)
        return False

    def _slide(self, held: dict[int, int], seconds: float) -> None:
        """Slide the cuts of columns in use, and of those nearby, to where more is kept, and choose among these again.

        What that gains is less than the bound knows of, which is lowered: it proves the plan if it did so before.
        """
        proven = self._closed()
        done: set[Column] = set()
        while len(done) < MOST_SLID:
            left = (one for one in dict.fromkeys((*(self.best or ()), *self._nearby())) if one not in done)
            todo = list(islice(left, MOST_SLID - len(done)))
            done.update(todo)
            gained = [better for column in todo if (better := self._slid(column)) and self.pool.add(better)]
            if not gained:
                return
            done.update(gained)
            self._take(self._uses(self.best or ()))
            self._choose_cost(held, seconds)
            self.bound = min(self.bound, (self.cost or 0) - (not proven))

    def _leave_out_surplus(self, held: dict[int, int], seconds: float) -> None:
        """Add what columns in use are without the blanks that are too many, cuts slid, as long as that draws less."""
        before = math.inf
        while self.cost is not None and self.cost < before and (some := self._as_cut()):
            before = self.cost
            for column in islice((*some, *self._parts(some)), MOST_SLID):
                self.pool.add(self._slid(column) or column)
            self._choose_cost(held, seconds)

    def _as_cut(self) -> list[Column]:
        """Return the columns in use of which blanks are left out, since they are too many, as they are cut then."""
        found = make_plan(self.job, self.stocks, self.best or [], -math.inf, settled=False)
        where = {member: index for index, stock in enumerate(self.stocks) for member in stock.members}

        known = {(one.stock, counts_of(one.cutting(), self.job)) for one in dict.fromkeys(self.best or ())}
        cut = {}
        for piece in found.offcuts:
            index = where[piece.offcut, piece.copy]
            cut[index, counts_of(piece.segments, self.job)] = piece.segments
        return [
            column_of(index, segments, self.stocks[index], self.job)
            for (index, counts), segments in cut.items()
            if (index, counts) not in known
        ]

    def _slid(self, column: Column) -> Column | None:
        """Return a column with its cuts slid to where most is kept; None where it is best as it is."""
        stock, before = self.stocks[column.stock], column.cutting()
        self.budget.spend(SLIDING)

        def sound(cut: Segments) -> bool:
            return self._sound(replace(column, cutting=partial(tuple, cut)))

        after = kept_most(before, stock.offcut, self.job, sound)
        if after == before:
            return None
        return replace(column_of(column.stock, after, stock, self.job), counts=column.counts)

    def _parts(self, columns: Sequence[Column]) -> Iterator[Column]:
        """Yield what columns are with one kind of blank alone, and without it, where they hold several."""
        for column in columns:
            stock = self.stocks[column.stock]
            names = [b.name for b, count in zip(self.job.blanks, column.counts, strict=True) if count]
            for name in names if len(names) > 1 else ():
                for some in ({name}, set(names) - {name}):
                    cut = only(column.cutting(), stock, self.job.shop, some)
                    yield column_of(column.stock, cut, stock, self.job)

    def _nearby(self) -> list[Column]:
        """Return columns that keep something and that a proven plan might as well use, or nearly, the nearest first."""
        if not self._closed() or self.relaxed is None or self.cost is None:
            return []
        prices, reach = self.relaxed.prices, self.cost - self.relaxed.bound + SLID
        used = set(self.best or ())
        beyond: dict[Column, float] = {}
        for column in self.pool.columns:
            at, one = column.stock, self.relaxed.priced[column.stock]
            if one is None or column in used or column.cost == self.stocks[at].cost:
                continue
            excess = column.cost - float(np.dot(prices.own[at], column.counts)) - one.relief
            excess -= min(0.0, self.stocks[at].cost - one.most)
            if excess <= reach:
                beyond[column] = excess
        return sorted(beyond, key=lambda column: beyond[column])

    def _tidy(self) -> None:
        """Move blanks so that columns take fewer crosscuts: those in use, or all where they are few."""
        uses = self._uses(self.best or ()).uses
        few = len(self.pool.columns) <= MOST_TIDIED
        some = [few or used > 0 for used in uses]
        self.budget.spend(TIDYING * sum(some))
        for at, column in enumerate(self.pool.columns):
            if some[at]:
                offcut = self.job.offcut(self.stocks[column.stock].members[0][0])
                self.pool.columns[at] = tidied(column, offcut, self.job)
        self.best = [self.pool.columns[at] for at, n in enumerate(uses) for _ in range(n)]

    def _sound(self, column: Column) -> bool:
        """Return whether a cutting passes the recheck by itself."""
        alone = make_plan(self.job, self.stocks, [column], -math.inf, settled=False)
        return not any(breach.rule.startswith("R") for breach in verify(self.job, alone))

    def without_unsound(self) -> bool:
        """Choose again without the offcuts whose cutting fails the recheck by itself; return whether there were any.

        That is a mistake of ours, which must not leave anyone without a plan; the bound holds all the same.
        """
        unsound = {column.stock for column in dict.fromkeys(self.best or ()) if not self._sound(column)}
        self.pool.drop(unsound)
        if unsound:
            self.best, self.cost, self.settled = None, None, False
            self._choose_missing({}, seconds=2.0)
            self._choose_cost(self._missing_by_class(), seconds=2.0)
        return bool(unsound)

    def found(self) -> None:
        """Say that the search is over."""
        self.phase = RECHECK
        self.tell(len(self.stocks))

    def result(self, used: Sequence[Column] | None = None) -> Plan:
        """Return the plan of the best choice, or of its columns in another order."""
        used = self.best if used is None else used
        if used is None:
            raise SolverError("no plan was found in the time given; give it more seconds")
        plan = make_plan(self.job, self.stocks, used, self.bound, settled=self.settled)
        least = tuple((p, min(count, self.least_missing.get(p, 0))) for p, count in plan.proof.missing)
        return replace(plan, proof=replace(plan.proof, missing_at_least=least, lesser=self._lesser_of(plan)))

    def _lesser_of(self, plan: Plan) -> Lesser | None:
        """Return the bounds of aims 3 and 4, each lowered to what the plan itself has."""
        if self.lesser is None:
            return None
        return Lesser(
            extras=max(self.lesser.extras, plan.extra_total),
            offcuts=min(self.lesser.offcuts, len(plan.offcuts)),
            crosscuts=min(self.lesser.crosscuts, plan_crosscuts(self.job, plan)),
        )
