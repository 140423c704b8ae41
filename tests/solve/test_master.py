"""The master problem: prices and integer choices worked by hand, every outcome mapped."""

from __future__ import annotations

import threading
from typing import Any

import numpy as np
import pytest
from ortools.sat.python import cp_model

from yieldplan.solve import master
from yieldplan.solve.columns import Column
from yieldplan.solve.master import OUTCOMES, Choice, Integer, Outcome, Relaxation, Wanted


def column(stock: int, counts: tuple[int, ...], cost: int, crosscuts: int = 1) -> Column:
    """Return a column without a cutting."""
    return Column(stock=stock, counts=counts, cost=cost, low=cost - 1, crosscuts=crosscuts, cutting=tuple)


def wanted(**changes: Any) -> Wanted:
    """Return two kinds of the first class, 3 and 2 of them; two offcuts of one sort and one of another."""
    values: dict[str, Any] = {"need": (3, 2), "extra": (0, 0), "priority": (1, 1), "copies": (2, 1)}
    return Wanted(**{**values, **changes})


POOL = (column(0, (1, 1), 10), column(0, (2, 0), 8), column(1, (1, 2), 13, crosscuts=5))
SECONDS = 5.0


def test_every_status_of_the_solver_is_mapped() -> None:
    """No status that ortools can return falls through."""
    statuses = (
        cp_model.OPTIMAL,
        cp_model.FEASIBLE,
        cp_model.INFEASIBLE,
        cp_model.UNKNOWN,
        cp_model.MODEL_INVALID,
    )
    assert set(statuses) == set(OUTCOMES)


def test_only_a_proven_best_counts_as_one() -> None:
    """A result that was stopped short is never called best."""
    assert [status for status, outcome in OUTCOMES.items() if outcome is Outcome.BEST] == [cp_model.OPTIMAL]


@pytest.mark.parametrize(
    ("aim", "uses", "total"),
    [
        ("cost", (0, 1, 1), 21),  # 2 + 1 of the one kind, 2 of the other, 8 + 13
        ("low", (0, 1, 1), 19),
        ("missing:1", None, 0),
        ("drawn", None, 2),
        ("crosscuts", None, 6),
    ],
)
def test_choices_by_hand(aim: str, uses: tuple[int, ...] | None, total: int) -> None:
    """The least of each measure over three columns."""
    choice = Integer(wanted=wanted(), pool=POOL, most_missing={1: 0}).choose(aim, SECONDS)
    assert (choice.outcome, choice.value, choice.bound) == (Outcome.BEST, total, total)
    assert uses is None or choice.uses == uses


def test_the_first_class_comes_first() -> None:
    """With one offcut for two classes, the blanks missing are those of the second."""
    pool = (column(0, (1, 0), 10), column(0, (0, 3), 10))
    batch = wanted(need=(1, 3), priority=(1, 2), copies=(1,))
    first = Integer(wanted=batch, pool=pool).choose("missing:1", SECONDS)
    assert first.value == 0
    second = Integer(wanted=batch, pool=pool, most_missing={1: 0}).choose("missing:2", SECONDS)
    assert (second.value, second.uses) == (3, (1, 0))


def test_extras_stay_within_the_cost() -> None:
    """The most extras at no more than the least cost: the dearer column that holds two is not taken."""
    pool = (column(0, (1, 0), 10), column(1, (1, 1), 10), column(1, (1, 2), 11))
    batch = wanted(need=(1, 0), extra=(0, 2), copies=(1, 1))
    least = Integer(wanted=batch, pool=pool, most_missing={1: 0}, most_cost=10)
    choice = least.choose("extra", SECONDS)
    assert (choice.value, choice.uses) == (-1, (0, 1, 0))


def test_what_cannot_be_is_none() -> None:
    """Nothing missing out of no columns: no choice will do, and none is made up."""
    choice = Integer(wanted=wanted(), pool=(), most_missing={1: 0}).choose("cost", SECONDS)
    assert (choice.outcome, choice.uses) == (Outcome.NONE, ())


def test_copies_are_a_limit() -> None:
    """Three columns of a sort of which there are two cannot all be used."""
    batch = wanted(need=(3, 0), copies=(2, 0))
    choice = Integer(wanted=batch, pool=(column(0, (1, 0), 5),)).choose("missing:1", SECONDS)
    assert (choice.value, choice.uses) == (1, (2,))


def test_a_hint_does_not_change_the_answer() -> None:
    """A poor start leads to the same least cost."""
    hint = Choice(outcome=Outcome.FOUND, uses=(2, 0, 1))
    choice = Integer(wanted=wanted(), pool=POOL, most_missing={1: 0}).choose("cost", SECONDS, hint)
    assert choice.value == 21


def test_prices_by_hand() -> None:
    """One kind: two pieces of 1 blank at 10 each, one of 2 at 14; three needed. The dear pieces set the price.

    One more of the other piece would save 6: two blanks of 10 for 14.
    """
    batch = wanted(need=(3,), extra=(0,), priority=(1,))
    relaxation = Relaxation(batch, (1000.0,), {}, (1e6,), with_cost=True)
    relaxation.add([column(0, (1,), 10), column(1, (2,), 14)])
    prices = relaxation.prices()
    assert np.allclose(prices.blanks, [10.0])
    assert np.allclose(prices.own, [[10.0], [10.0]])
    assert np.allclose(prices.relief((3,)), [0.0, 0.0])
    assert np.allclose(prices.scarce, [0.0, 6.0])


def test_a_stock_that_offers_more_than_is_needed_is_asked_at_a_lower_price() -> None:
    """Two needed; one board gives four for 8, others one each for 10. A half of the board would make the batch.

    But of a half no more counts than a half of the need, so the others set the price at 10. The board gives all that it
    is good for at any price above 0: what the need is worth, 20, is its relief.
    """
    batch = Wanted(need=(2,), extra=(0,), priority=(1,), copies=(1, 9))
    relaxation = Relaxation(batch, (1000.0,), {}, (1e6,), with_cost=True)
    relaxation.add([column(0, (4,), 8), column(1, (1,), 10)])
    prices = relaxation.prices()
    assert np.isclose(relaxation.solver.Objective().Value(), 8.0)
    assert np.allclose(prices.own[1], prices.blanks)
    assert prices.own[0, 0] == 0.0
    assert np.isclose(8 - prices.relief(batch.need)[0] + prices.scarce[0], 0.0)
    proper = Relaxation(batch, (1000.0,), {}, (1e6,), with_cost=True, proper={0, 1})
    proper.add([column(0, (4,), 8), column(1, (1,), 10)])
    proper.prices()
    assert np.isclose(proper.solver.Objective().Value(), 8.0)


def test_a_proper_stock_counts_for_no_more_than_is_needed() -> None:
    """Three of A and three of B needed; one board gives three of A and one of B, or five of B.

    Half of each would give three of B, as many as there are and as are needed. Counted properly it gives two, and the
    first cutting alone is best: two of B are missing.
    """
    batch = Wanted(need=(3, 3), extra=(0, 0), priority=(1, 1), copies=(1, 1))
    columns = [column(0, (3, 1), 0), column(0, (0, 5), 0)]
    for proper, missing in (((), 1.5), ({0}, 2.0), ({1}, 1.5)):
        relaxation = Relaxation(batch, (1.0, 1.0), {}, (9.0, 9.0), with_cost=False, proper=proper)
        relaxation.add(columns)
        relaxation.prices()
        assert np.isclose(relaxation.solver.Objective().Value(), missing)


def test_a_column_added_later_may_be_the_first_to_offer_too_many() -> None:
    """What the stock's earlier columns give moves into the new rows with it.

    Then two thirds of the earlier column and one of the later hold two blanks, for 2 and 8/3; together they are one
    board, of which two count.
    """
    batch = Wanted(need=(2,), extra=(0,), priority=(1,), copies=(1, 9))
    relaxation = Relaxation(batch, (1000.0,), {}, (1e6,), with_cost=True)
    relaxation.add([column(0, (1,), 3), column(1, (1,), 10)])
    relaxation.prices()
    assert np.isclose(relaxation.solver.Objective().Value(), 13.0)
    relaxation.add([column(0, (4,), 8)])
    relaxation.prices()
    assert np.isclose(relaxation.solver.Objective().Value(), 2 + 8 / 3)
    assert np.allclose(relaxation.used(), [2 / 3, 0.0, 1 / 3])


def test_a_missing_blank_caps_the_price() -> None:
    """Where missing costs 6, no blank is worth more."""
    relaxation = Relaxation(wanted(need=(3,), extra=(0,), priority=(1,)), (6.0,), {}, (1e6,), with_cost=True)
    relaxation.add([column(0, (1,), 10)])
    assert np.allclose(relaxation.prices().blanks, [6.0])


@pytest.mark.parametrize(("cost", "times"), [(10, 2), (30, 4), (200, 32), (10_000, 64)])
def test_a_blank_that_must_be_made_is_no_dearer_than_it_must_be(cost: int, times: int) -> None:
    """Two of three blanks worth 4 must be made, and one offcut gives just two: the price could be anything.

    It may be as many times 4 as it takes for making two of them to pay; where not even 64 times do, it ends there.
    """
    relaxation = Relaxation(
        wanted(need=(3,), extra=(0,), priority=(1,)), (0.0,), {1: 1}, (4,), with_cost=True
    )
    relaxation.add([column(1, (2,), cost)])
    assert relaxation.prices().blanks[0] <= 4 * times
    assert relaxation.dearness == times
    assert relaxation.used().tolist() == ([1.0] if cost < 4 * 2 * 64 else [0.0])


def test_columns_added_later_lower_the_price() -> None:
    """A cheaper piece in plenty sets the price anew."""
    relaxation = Relaxation(
        wanted(need=(2,), extra=(0,), priority=(1,)), (1000.0,), {}, (1e6,), with_cost=True
    )
    relaxation.add([column(0, (1,), 10)])
    dear = relaxation.prices().blanks[0]
    relaxation.add([column(1, (2,), 8)])
    assert relaxation.prices().blanks[0] < dear


def test_ctrl_c_gets_through_and_stops_the_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """KeyboardInterrupt in the main thread ends the solver's thread and is passed on."""
    stopped: list[bool] = []

    class Slow:
        def solve(self, model: object) -> int:
            while not stopped:
                pass
            return int(cp_model.UNKNOWN)

        def stop_search(self) -> None:
            stopped.append(True)

    class Thread(threading.Thread):
        def join(self, timeout: float | None = None) -> None:
            if not stopped:
                raise KeyboardInterrupt
            super().join(timeout)

    monkeypatch.setattr(threading, "Thread", Thread)
    slow: Any = Slow()
    with pytest.raises(KeyboardInterrupt):
        master._interruptible(slow, cp_model.CpModel())
    assert stopped
