"""How much is tried of each offcut of a pile: shares of a room, and what comes of a small one."""

from __future__ import annotations

import random

import numpy as np
import pytest

from yieldplan.model import Blank, Defect, Job, Offcut, Shop
from yieldplan.solve.columns import make_column
from yieldplan.solve.finish import make_plan
from yieldplan.solve.pricing import Priced, price
from yieldplan.solve.room import LEAST, MOST_IN_ALL, Allowance, Room
from yieldplan.solve.stock import Stock, classes, prepare
from yieldplan.solve.trace import best_cutting
from yieldplan.verify import verify

MM = 320


def heavy(*, width: int = 150 * MM, cup: int = 0) -> Job:
    """Return a long bent board with many defects, and many kinds of blanks."""
    rng = random.Random(7)
    marks = []
    for _ in range(12):
        at, across = rng.randint(0, 3500), rng.randint(0, 120)
        marks.append(
            Defect(
                kind="knot",
                x1=at * MM,
                x2=(at + 40) * MM,
                y1=across * MM,
                y2=(across + 15) * MM,
                z1=0,
                z2=40 * MM,
            )
        )
    board = Offcut(
        name="P",
        length=4000 * MM,
        width=width,
        thickness=40 * MM,
        bow=6 * MM,
        crook=4 * MM,
        cup=cup,
        defects=tuple(marks),
    )
    wanted = [
        Blank(
            name=f"K{number}",
            need=2,
            length=rng.randint(150, 1500) * MM,
            width=rng.randint(25, 70) * MM,
            thickness=rng.randint(12, 24) * MM,
        )
        for number in range(24)
    ]
    return Job(offcuts=(board,), blanks=tuple(wanted), shop=Shop(), sha256="0" * 64)


def ready(job: Job, rows: int) -> Stock:
    """Return the only offcut of a job, prepared in so much room."""
    stock = prepare(*classes(job)[0], job, Room(rows))
    assert stock is not None
    return stock


@pytest.mark.parametrize("values", [{}, {"cup": 8 * MM}, {"width": 300 * MM}], ids=["flat", "cupped", "wide"])
def test_less_room_takes_less_memory_and_is_not_called_complete(values: dict[str, int]) -> None:
    """A small share holds: within some times its rows, that a few billets need in any case."""
    job = heavy(**values)
    small = ready(job, LEAST)
    assert small.rows <= 30 * LEAST
    assert small.rows < ready(job, 4000).rows
    assert not small.complete


@pytest.mark.parametrize("values", [{}, {"cup": 8 * MM}, {"width": 300 * MM}], ids=["flat", "cupped", "wide"])
@pytest.mark.parametrize("rows", [LEAST, 1000])
def test_what_is_cut_in_a_small_room_is_right(rows: int, values: dict[str, int]) -> None:
    """Its best cutting holds blanks, and passes the recheck."""
    job = heavy(**values)
    stock = ready(job, rows)
    prices = np.array([float(blank.length * blank.width * blank.thickness >> 30) for blank in job.blanks])
    priced = Priced(stock, prices, upper=False, keepers=True)
    priced.find_best(0.0)
    cutting = best_cutting(priced)
    column = make_column(0, stock, cutting, job)
    assert sum(column.counts)
    plan = make_plan(job, [stock], [column], 0.0, settled=False)
    assert not [breach for breach in verify(job, plan) if breach.rule.startswith("R")]


def test_a_board_of_a_shop_has_all_the_room_it_needs() -> None:
    """The whole of it and a tenth are the same for an offcut with a defect and three kinds."""
    knot = heavy().offcuts[0].defects[0]
    board = Offcut(name="P", length=1000 * MM, width=100 * MM, thickness=40 * MM, bow=6 * MM, defects=(knot,))
    blanks = tuple(
        Blank(name=f"K{number}", need=2, length=sizes[0] * MM, width=sizes[1] * MM, thickness=sizes[2] * MM)
        for number, sizes in enumerate(((250, 50, 20), (300, 40, 20), (420, 60, 25)))
    )
    job = Job(offcuts=(board,), blanks=blanks)
    whole, tenth = ready(job, Room().rows), ready(job, Room().rows // 10)
    assert whole.complete
    assert tenth.complete
    assert whole.rows == tenth.rows


def test_shares_never_come_to_more_than_the_whole_and_the_least_of_each() -> None:
    """Whatever the classes take of theirs; what the first ones leave the last ones have."""
    greedy = Allowance(2000, 10.0 * MOST_IN_ALL)
    taken = []
    for _ in range(2000):
        room = greedy.next()
        taken.append(room.rows)
        greedy.take(room.rows)
    assert sum(taken) <= MOST_IN_ALL + 2000 * LEAST + max(taken)
    modest = Allowance(2000, 10.0 * MOST_IN_ALL)
    first = modest.next().rows
    for _ in range(1998):
        modest.next()
        modest.take(10)
    assert modest.next().rows > 10 * first


def test_splits_that_were_left_out_count_for_the_bound() -> None:
    """A straight board wider than the jointer, split at three places where two blanks fit side by side at no such one.

    The bound must cover the split that serves them, or the stock must not be called complete.
    """
    shop = Shop()
    board = Offcut(name="P", length=1000 * MM, width=shop.jointer_width * 7 // 5, thickness=30 * MM)
    sizes = {"narrow": board.width * 2 // 5, "wide": board.width // 2}
    blanks = tuple(
        Blank(name=name, need=1, length=900 * MM, width=width, thickness=20 * MM)
        for name, width in sizes.items()
    )
    job = Job(offcuts=(board,), blanks=blanks, shop=shop, sha256="0" * 64)
    prices = np.array([1e6, 1e6])
    little = prepare(board, (("P", 1),), job, Room(1999), thorough=True)
    whole = prepare(board, (("P", 1),), job, thorough=True)
    assert little is not None
    assert whole is not None
    assert little.billets == whole.billets
    assert len(little.arcs) < len(whole.arcs)
    best = price(whole, prices).best
    assert price(little, prices).best < best
    assert not little.complete or price(little.above or little, prices, upper=True).best >= best
