"""Piles whose best plan is known because they were carved up by hand, nothing wasted.

Each offcut is cut top-down as a plan would cut it: crosscut into billets, ripped or resawn first, the strips cut
into sticks, the sticks crosscut. The parts of all offcuts together are the batch, so no plan draws less than the
offcuts that were carved, all of them. Decoys stand beside them in the pile; none has a length of whole inches, so
one cannot take part in a plan without waste.
"""

from __future__ import annotations

import random
from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from bars import Cell

Part = tuple[int, int, int]
"""Length, width, thickness of a blank, in inches."""


class Carved(NamedTuple):
    """Offcut rows and blank rows of a case, and the names of the offcuts that its best plan draws."""

    offcuts: list[tuple[Cell, ...]]
    blanks: list[tuple[Cell, ...]]
    names: set[str]


def carve(seed: int, number: int, *, decoys: int = 2) -> Carved:
    """Return a case of so many offcuts, carved up at random, and some decoys."""
    rng = random.Random(seed)
    offcuts: list[tuple[Cell, ...]] = []
    parts: Counter[Part] = Counter()
    for count in range(1, number + 1):
        length, width, thickness = rng.randint(20, 60), rng.randint(4, 8), rng.randint(2, 4)
        offcuts.append((f"Carved {count}", length, width, thickness, 1))
        for billet in _cut(rng, length, 8, 3):
            parts.update(_mill(rng, billet, width, thickness))
    names = {str(row[0]) for row in offcuts}
    offcuts += [
        (f"Decoy {count}", f"{rng.randint(20, 60)} 3/8", rng.randint(4, 8), rng.randint(2, 4), 1)
        for count in range(1, decoys + 1)
    ]
    rng.shuffle(offcuts)
    blanks: list[tuple[Cell, ...]] = [
        (f"Part {number}", need, *sizes) for number, (sizes, need) in enumerate(sorted(parts.items()), 1)
    ]
    return Carved(offcuts, blanks, names)


def _cut(rng: random.Random, whole: int, least: int, most: int) -> list[int]:
    """Return whole inches cut into at most so many pieces, none less than the least."""
    pieces = rng.randint(1, max(1, min(most, whole // least)))
    spare = whole - pieces * least
    marks = [0, *sorted(rng.randint(0, spare) for _ in range(pieces - 1)), spare]
    return [least + b - a for a, b in pairwise(marks)]


def _mill(rng: random.Random, length: int, width: int, thickness: int) -> list[Part]:
    """Return what a billet is milled and crosscut into."""
    first, second = (width, thickness) if rng.random() < 0.5 else (thickness, width)
    return [
        (piece, max(wide, thick), min(wide, thick))
        for wide in _cut(rng, first, 1, 3)
        for thick in _cut(rng, second, 1, 2)
        for piece in _cut(rng, length, 4, 3)
    ]


def small_pieces(seed: int, bars: int) -> Counter[int]:
    """Return lengths of 150 to 200 that fill so many bars of 1000, five or six to a bar, without waste.

    After the recipe of P. Schwerin and G. Waescher, International Transactions in Operational Research 4 (1997), from
    memory.
    """
    rng = random.Random(seed)
    wanted: Counter[int] = Counter()
    for _ in range(bars):
        number = rng.choice((5, 6))
        pieces = [1000 // number] * number
        pieces[0] += 1000 - sum(pieces)
        for _ in range(20):
            one, other = rng.sample(range(number), 2)
            most = min(pieces[one] - 150, 200 - pieces[other])
            moved = rng.randint(0, max(most, 0))
            pieces[one], pieces[other] = pieces[one] - moved, pieces[other] + moved
        wanted.update(pieces)
    return wanted
