"""Bars of one section without defects, in a shop that loses nothing: published cases, and recipes with fresh seeds.

Triplets and the uniform recipe: Falkenauer 1996, J. Heuristics 2; pieces of 150 to 200: after Schwerin & Waescher 1997;
all from memory. The cases of books stand with their source in tests/published. One unit of a case is one inch, and
a bar is 6 in square, so that a unit of it is worth 250 exactly.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from yieldplan.model import Blank, Job, Offcut, Shop
from yieldplan.model.shop import INCH, LENGTHS, MINUTES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

SIDE = 6 * INCH
REACHES = ("saw_depth", "bandsaw_height", "resaw_height", "jointer_width", "planer_width", "full_length")


def lossless_shop() -> Shop:
    """Return a shop that loses nothing, keeps nothing and counts no minute."""
    settings: dict[str, Any] = dict.fromkeys((*LENGTHS, *MINUTES, "length_premium"), 0)
    settings |= dict.fromkeys(REACHES, 96 * INCH)
    return Shop(
        **{**settings, "mark": INCH, "keeper_length": 30_000 * INCH, "minutes_for_a_board_foot": 1000}
    )


class Bars(NamedTuple):
    """A case: its job, and the least length of bars that makes all of it, in units."""

    name: str
    job: Job
    best: int

    def with_more(self, more: int = 3) -> Bars:
        """Return the case with so many more bars of each length."""
        offcuts = tuple(replace(offcut, qty=offcut.qty + more) for offcut in self.job.offcuts)
        return Bars(f"{self.name}, {more} more", replace(self.job, offcuts=offcuts), self.best)


def bars(name: str, stock: Mapping[int, int], wanted: Mapping[int, int], best: int) -> Bars:
    """Return a case from the lengths of the bars and of the pieces, each with how many there are."""
    offcuts = tuple(
        Offcut(name=f"Bar {length}", length=length * INCH, width=SIDE, thickness=SIDE, qty=count)
        for length, count in stock.items()
    )
    blanks = tuple(
        Blank(name=f"Piece {length}", need=count, length=length * INCH, width=SIDE, thickness=SIDE)
        for length, count in sorted(wanted.items())
    )
    return Bars(name, Job(offcuts=offcuts, blanks=blanks, shop=lossless_shop(), name=name), best)


def _of_one_length(name: str, length: int, wanted: Mapping[int, int], count: int) -> Bars:
    return bars(name, {length: count}, wanted, count * length)


ROLLS = dict(
    zip(
        (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200),
        (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20),
        strict=True,
    )
)


def published() -> Iterator[Bars]:
    """Yield the worked answers of books."""
    yield _of_one_length("5600 mm rolls", 5600, ROLLS, 73)
    yield _of_one_length("W 100", 100, {45: 97, 36: 610, 31: 395, 14: 211}, 453)
    yield _of_one_length("W 110", 110, {20: 48, 45: 35, 50: 24, 55: 10, 75: 8}, 47)
    yield _of_one_length("W 132", 132, {44: 2, 33: 3, 12: 6}, 3)
    yield bars("lengths 9, 6, 5", {9: 20, 6: 25, 5: 30}, {2: 20, 3: 10, 4: 20}, 150)
    yield bars("150 and 200 cm", {150: 540, 200: 410}, {40: 432, 60: 500, 70: 400}, 75_300)


def recipes(seed: int) -> Iterator[Bars]:
    """Yield the recipes of a seed, each with as many bars as are needed."""
    small = Counter(_pieces_of(random.Random(f"small {seed}"), 18))
    yield _of_one_length(f"18 bars in 150 to 200, seed {seed}", 1000, small, 18)
    yield _of_one_length(
        f"triplets of 120, seed {seed}", 1000, triplets(random.Random(f"three {seed}"), 120), 40
    )
    rng = random.Random(f"uniform {seed}")
    uniform = Counter(rng.randint(20, 100) for _ in range(120))
    yield _of_one_length(f"120 of 20 to 100 in 150, seed {seed}", 150, uniform, fewest(150, uniform))


def _pieces_of(rng: random.Random, count: int) -> Iterator[int]:
    """Yield the pieces of so many bars of 1000, each cut into 5 or 6 of 150 to 200 without waste."""
    while count:
        number = rng.choice((5, 6))
        cuts = [
            0,
            *sorted(rng.randint(0, 1000 - 150 * number) for _ in range(number - 1)),
            1000 - 150 * number,
        ]
        sizes = [150 + after - before for before, after in pairwise(cuts)]
        if max(sizes) <= 200:
            yield from sizes
            count -= 1


def triplets(rng: random.Random, number: int) -> Counter[int]:
    """Return lengths that fill a third as many bars of 1000, three to a bar, without waste.

    A bar's three are a in 380..490, b in 250..(1000 - a)/2, and the rest; after E. Falkenauer, Journal of
    Heuristics 2 (1996), from memory.
    """
    wanted: Counter[int] = Counter()
    for _ in range(number // 3):
        first = rng.randint(380, 490)
        second = rng.randint(250, (1000 - first) // 2)
        wanted.update((first, second, 1000 - first - second))
    return wanted


def fewest(length: int, wanted: Mapping[int, int]) -> int:
    """Return how many bars of a length the pieces need: arc flow, solved to the end (Valerio de Carvalho 1999 [mem]).

    Arcs are pieces laid end to end, the longest first, and steps of waste up to the end; bars are the flow.
    """
    pieces = sorted(wanted, reverse=True)
    arcs = [(a, a + 1, -1) for a in range(length)]
    reached = {0}
    for n, piece in enumerate(pieces):
        for _ in range(wanted[piece]):
            reached |= {a + piece for a in reached if a + piece <= length}
        arcs += [(a, a + piece, n) for a in sorted(reached) if a + piece <= length]
    rows, columns, values = [], [], []
    for column, (a, b, n) in enumerate(arcs):
        for row, value in ((a, -1), (b, 1), (length + 1 + n, 1 if n >= 0 else 0)):
            if value:
                rows.append(row)
                columns.append(column)
                values.append(value)
    matrix = coo_array((values, (rows, columns)), shape=(length + 1 + len(pieces), len(arcs))).tocsr()
    inner = LinearConstraint(matrix[1:length], 0, 0)
    cover = LinearConstraint(matrix[length + 1 :], [wanted[piece] for piece in pieces], np.inf)
    begun = np.array([1 if a == 0 else 0 for a, _, _ in arcs])
    solved = milp(begun, constraints=[inner, cover], integrality=np.ones(len(arcs)), bounds=Bounds(0, np.inf))
    if solved.status != 0:
        raise RuntimeError(f"the arc flow was not solved: {solved.message}")
    return round(float(solved.fun))
