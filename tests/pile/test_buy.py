"""What to buy: the cheapest boards, with what they cost, hold and waste."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from yieldplan.model import Blank, Job, Offcut, Plan, Shop, YardBoard
from yieldplan.model.shop import INCH
from yieldplan.pile.buy import Purchase, money_job, what_to_buy
from yieldplan.solve import Options, solve
from yieldplan.verify import verify
from yieldplan.workbook import read

DEMO = Path(__file__).parents[2] / "data_demo" / "floor-cleats-mm"


def board(name: str, length: int, price: int, **more: object) -> YardBoard:
    """Return stock 6 in by 2 in that is sound all along unless it is said otherwise."""
    one = Offcut(name=name, length=length * INCH, width=6 * INCH, thickness=2 * INCH)
    return replace(YardBoard(board=one, price=price, faults=Fraction(0)), **more)  # type: ignore[arg-type]


def batch(*yard: YardBoard, need: int = 3, length: int = 20) -> Job:
    """Return a job whose pile gives nothing, with what the yard sells."""
    blank = Blank(name="Rib", need=need, length=length * INCH, width=2 * INCH, thickness=INCH, priority=2)
    scrap = Offcut(name="Scrap", length=3 * INCH, width=INCH, thickness=INCH)
    return Job(offcuts=(scrap,), blanks=(blank,), yard=yard, name="job", sha256="0" * 64)


def unplanned(job: Job) -> Plan:
    """Return the plan of a job whose pile gives nothing."""
    plan = solve(job, options=Options(seconds=1)).plan
    assert plan.missing_total
    return plan


def buy(job: Job, seconds: float = 2) -> Purchase:
    """Return what is bought for all of a job, once it has passed the recheck."""
    plan = unplanned(job)
    found = what_to_buy(job, plan, seconds=seconds)
    assert found is not None
    assert verify(found.job, found.plan) == verify(money_job(job, plan), found.money_plan) == ()
    return found


def counts(found: Purchase) -> dict[str, int]:
    """Return how many of each stock are bought."""
    return {one.board.name: count for one, count in found.boards}


def test_the_cheapest_is_bought_not_the_smallest() -> None:
    """A long board at less money than a short one is bought."""
    found = buy(batch(board("Short", 24, 900), board("Long", 96, 850)))
    assert (counts(found), found.money, found.proven) == ({"Long": 1}, 850, True)


def test_price_not_work_decides() -> None:
    """Three short boards of two ribs each are bought for a cent less than a long one, though they are more work."""
    found = buy(batch(board("Short", 24, 100), board("Long", 96, 301), need=6))
    assert counts(found) == {"Short": 3}
    assert found.money == 300


def test_no_more_are_bought_than_can_be_had() -> None:
    """What is over is bought as the next cheapest, and what no board gives is said."""
    yard = (board("Short", 24, 100, at_most=1), board("None", 240, 1, at_most=0))
    found = buy(batch(*yard, need=9))
    assert counts(found) == {"Short": 1}
    assert found.missing == (("Rib", 9 - dict(found.plan.made)["Rib"]),)
    assert found.proven


def test_faults_shorten_the_board() -> None:
    """A board of 24 in gives a blank of 20 where all is sound, and none where 15 % is not usable; it is paid whole."""
    sound, faulty = board("Oak", 24, 100), board("Oak", 24, 100, faults=Fraction(15))
    assert buy(batch(sound, need=1)).volume == sound.board.volume
    job = batch(faulty, need=1)
    assert what_to_buy(job, unplanned(job)) is None
    longer = buy(batch(board("Oak", 28, 100, faults=Fraction(15)), need=1))
    assert (
        longer.job.offcuts[0].length == 28 * INCH * 85 // 100 // longer.job.shop.mark * longer.job.shop.mark
    )
    assert longer.volume == 28 * 6 * 2 * INCH**3


def test_a_bent_board_loses_what_it_would_lose_whole() -> None:
    """What bends on the usable part of a board costs a billet as much as on the whole board (R3), up to a mark."""
    bent = replace(board("Oak", 100, 1).board, bow=INCH, crook=INCH // 2, twist=INCH, cup=INCH // 8)
    faulty = YardBoard(board=bent, price=1, faults=Fraction(20))
    (usable,) = money_job(batch(faulty), unplanned(batch(faulty))).offcuts
    mark = Shop().mark
    assert usable.length == 80 * INCH
    for had, whole, share in (
        (usable.bow, bent.bow, Fraction(64, 100)),
        (usable.crook, bent.crook, Fraction(64, 100)),
        (usable.twist, bent.twist, Fraction(80, 100)),
    ):
        assert 0 <= had - whole * share < mark
        assert had % mark == 0
    assert usable.cup == bent.cup


def test_waste_is_what_is_neither_blank_nor_keeper() -> None:
    """It is a share of what is bought and not kept; what is bought more is the same beside the blanks."""
    found = buy(batch(board("Oak", 60, 100, faults=Fraction(20)), need=2))
    account = found.plan.account
    assert account.blanks == 2 * 20 * 2 * INCH**3
    used = 60 * 6 * 2 * INCH**3 - account.keepers
    assert found.waste == 1 - Fraction(account.blanks, used)
    assert found.more == Fraction(used, account.blanks) - 1


def test_only_what_is_missing_is_bought() -> None:
    """What the pile makes is not bought again, and spares are not bought."""
    job = batch(board("Oak", 24, 100), need=6)
    pile = Offcut(name="P1", length=24 * INCH, width=6 * INCH, thickness=2 * INCH)
    job = replace(job, offcuts=(pile,), blanks=(replace(job.blanks[0], spare=2),))
    plan = solve(job, options=Options(seconds=2)).plan
    made = dict(plan.made)["Rib"]
    assert 0 < made < 6
    found = what_to_buy(job, plan)
    assert found is not None
    assert dict(found.plan.made) == {"Rib": 6 - made}
    assert dict(found.plan.spare) == {"Rib": 0}


def test_nothing_missing_nothing_bought() -> None:
    """Nor where there is no yard, or no board of it gives any of the blanks."""
    job = batch(board("Oak", 24, 100), need=0)
    assert what_to_buy(job, solve(job, options=Options(seconds=1)).plan) is None
    for yard in ((), (board("Oak", 10, 100),)):
        assert what_to_buy(batch(*yard), unplanned(batch(*yard))) is None


@pytest.mark.parametrize("seed", range(3))
def test_no_cheaper_boards_do(seed: int) -> None:
    """What is bought costs what the cheapest of all sets of boards does from which every blank can be made."""
    rng = random.Random(seed)
    yard = [
        board(
            name, rng.randint(24, 60), rng.randint(100, 400), at_most=2, faults=Fraction(rng.choice((0, 15)))
        )
        for name in ("One", "Two")
    ]
    job = batch(*yard, need=rng.randint(3, 8), length=rng.randint(12, 22))
    plan = unplanned(job)
    wanted = money_job(job, plan)
    costs = []
    for numbers in product(range(3), repeat=len(wanted.offcuts)):
        pairs = [(one, count) for one, count in zip(wanted.offcuts, numbers, strict=True) if count]
        some = replace(wanted, offcuts=tuple(replace(one, qty=count, price=None) for one, count in pairs))
        if not solve(some, options=Options(seconds=1, cost=False)).plan.missing_total:
            costs.append(sum(count * (one.price or 0) for one, count in pairs))
    found = what_to_buy(job, plan, seconds=2)
    if not costs:
        assert found is None or found.missing
    else:
        assert found is not None
        assert (found.money, found.proven) == (min(costs), True)


def test_the_metric_demo_says_what_to_buy() -> None:
    """Its pile falls short of bearers and chocks; its yard makes both, and nothing there is cheaper."""
    job = read(DEMO)
    plan = solve(job, options=Options(seconds=1)).plan
    found = what_to_buy(job, plan, seconds=2)
    assert found is not None
    assert verify(found.job, found.plan) == ()
    assert {name: count for name, count in plan.missing if count} == dict(found.plan.made)
    assert (found.missing, found.proven) == ((), True)
