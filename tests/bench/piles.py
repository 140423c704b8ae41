"""Random piles of a shop that builds small boats; lengths in steps, all on the shop's marks.

A pile comes from a seed, and a bench draws fresh seeds every time (:func:`fresh`): a seed that was looked at is no
evidence. Offcuts: lengths log-normal about 36 in (sigma 0.5), 10 to 144 in; widths 2 3/8 to 7 1/4 in; thickness 1 to
3 in; warp on a third to a half; none to three defects, some on one face, some in part of the width; ring angles on nine
tenths; a tenth of the rows are twos and threes. Blanks: ring ranges, allowed defects, clear ends, two priorities, two
species. The second family has moisture, slopes of grain, readings at the far edge, kinks and spares as well.
"""

from __future__ import annotations

import hashlib
import math
import os
import random
from dataclasses import replace
from fractions import Fraction

from yieldplan.model import Blank, Defect, Job, Offcut, Shop
from yieldplan.model.shop import INCH

EIGHTH = INCH // 8
SPECIES = ("white oak", "larch")
SECTIONS = (
    *((18, 10), (16, 8), (14, 7), (24, 6), (12, 6), (10, 10), (32, 8), (12, 12), (20, 10), (8, 6)),
    *((18, 11), (14, 9), (10, 6), (28, 7), (16, 12)),
)
"""Finished width and thickness of blanks, in eighths of an inch."""


def fresh(count: int) -> list[int]:
    """Return so many seeds that nobody has looked at."""
    return [int.from_bytes(os.urandom(6), "big") for _ in range(count)]


def pile(seed: int, offcuts: int = 80, blanks: int = 60, kinds: int = 8) -> Job:
    """Return a pile of so many pieces and a batch of so many blanks of so many kinds: the first family."""
    rng = random.Random(f"pile {seed}")
    return _job(f"pile {seed}", _offcuts(rng, offcuts), _batch(rng, blanks, kinds), Shop())


def wet_pile(seed: int, offcuts: int = 80, blanks: int = 60, kinds: int = 8) -> Job:
    """Return the second family: with moisture, slopes, far rings, kinks and spares as well."""
    rng = random.Random(f"wet pile {seed}")
    pieces = tuple(_read_closely(rng, offcut) for offcut in _offcuts(rng, offcuts))
    batch = tuple(
        replace(
            blank,
            max_slope=rng.choice((None, None, Fraction(1, 10), Fraction(1, 15))),
            spare=rng.choice((0, 0, 0, 1, 2)),
        )
        for blank in _batch(rng, blanks, kinds)
    )
    return _job(f"wet pile {seed}", pieces, batch, Shop(target_moisture=Fraction(12)))


def scarce_pile(seed: int) -> Job:
    """Return 40 offcuts and 80 blanks of 6 kinds: too little wood."""
    return pile(seed, 40, 80, 6)


def large_pile(seed: int) -> Job:
    """Return 300 offcuts and 400 blanks of 10 kinds."""
    return pile(seed, 300, 400, 10)


def largest_pile(seed: int) -> Job:
    """Return 1,000 offcuts and 1,500 blanks of 14 kinds."""
    return pile(seed, 1000, 1500, 14)


def growth_pile(seed: int, offcuts: int) -> Job:
    """Return a pile of so many offcuts and three quarters as many blanks, of 8 kinds whatever its size."""
    return pile(seed, offcuts, offcuts * 3 // 4, 8)


MANY_KINDS = tuple((kinds, boards) for kinds in (50, 60, 100, 150) for boards in ("fives", "tens", "singles"))
"""The shapes of the twelve piles of many kinds: how many kinds, and how the boards come."""


def many_kinds(seed: int, kinds: int, boards: str) -> Job:
    """Return straight clear boards, more wood than needed, and one to three blanks of each of many kinds.

    ``boards``: five or ten each of six kinds of board (``"fives"``, ``"tens"``), or thirty ``"singles"``.
    """
    rng = random.Random(f"many kinds {seed} {kinds} {boards}")
    rows, copies = {"fives": (6, 5), "tens": (6, 10), "singles": (30, 1)}[boards]
    pieces = tuple(
        Offcut(
            name=f"Board {number + 1}",
            length=rng.randint(8 * 40, 8 * 130) * EIGHTH,
            width=rng.randint(32, 60) * EIGHTH,
            thickness=rng.randint(10, 24) * EIGHTH,
            qty=copies,
            species=SPECIES[0],
            ring_angle=rng.randint(0, 90),
        )
        for number in range(rows)
    )
    wood = sum(offcut.volume * offcut.qty for offcut in pieces)
    sections = rng.sample([size for size in SECTIONS if size[0] < 4 * 8], 9)  # what a resaw reaches
    batch = tuple(_kind(rng, number, rng.choice(sections)) for number in range(kinds))
    for most in (3, 2, 1):
        batch = tuple(replace(blank, need=rng.randint(1, most)) for blank in batch)
        wanted = sum(blank.need * blank.length * blank.width * blank.thickness for blank in batch)
        if 5 * wanted < 2 * wood:
            break
    return _job(f"many kinds {seed}, {kinds}, {boards}", pieces, batch, Shop())


def _kind(rng: random.Random, number: int, size: tuple[int, int]) -> Blank:
    return Blank(
        name=f"Kind {number + 1}",
        need=1,
        length=rng.randint(8 * 5, 8 * 34) * EIGHTH,
        width=size[0] * EIGHTH,
        thickness=size[1] * EIGHTH,
    )


def _job(name: str, offcuts: tuple[Offcut, ...], blanks: tuple[Blank, ...], shop: Shop) -> Job:
    return Job(
        offcuts=offcuts,
        blanks=blanks,
        shop=shop,
        name=name,
        sha256=hashlib.sha256(name.encode()).hexdigest(),
    )


def _offcuts(rng: random.Random, count: int) -> tuple[Offcut, ...]:
    warped, left = rng.uniform(1 / 3, 1 / 2), count
    rows: list[Offcut] = []
    while left:
        copies = min(left, rng.choice((2, 3)) if rng.random() < 0.1 else 1)
        rows.append(replace(_offcut(rng, warped), name=f"P{len(rows) + 1:03}", qty=copies))
        left -= copies
    return tuple(rows)


def _offcut(rng: random.Random, warped: float) -> Offcut:
    length = round(8 * min(max(rng.lognormvariate(math.log(36), 0.5), 10.0), 144.0)) * EIGHTH
    sizes = rng.randint(19, 58) * EIGHTH, rng.randint(8, 24) * EIGHTH
    width, thickness = max(sizes), min(sizes)
    bow, crook, cup, twist = (
        INCH * rng.randint(0, most) // 32 if bent else 0
        for bent in [rng.random() < warped]
        for most in (10, 8, 3, 6)
    )
    return Offcut(
        name="",
        length=length,
        width=width,
        thickness=thickness,
        species=rng.choices(SPECIES, (6, 4))[0],
        bow=bow,
        crook=crook,
        cup=cup,
        twist=twist,
        ring_angle=_reading(rng) if rng.random() < 0.9 else None,
        defects=tuple(_defect(rng, length, width, thickness) for _ in range(rng.choice((0, 0, 1, 1, 2, 3)))),
    )


def _reading(rng: random.Random) -> int | tuple[int, int]:
    """Return a ring angle, one in six said with a word."""
    return rng.choice(((0, 30), (30, 60), (60, 90))) if rng.random() < 1 / 6 else rng.randint(0, 90)


def _defect(rng: random.Random, length: int, width: int, thickness: int) -> Defect:
    kind = rng.choice(("knot", "knot", "end check", "pin knot", "wane", "stain"))
    start = rng.randrange(0, length - INCH + 1, EIGHTH)
    if kind == "end check":
        start = 0 if rng.random() < 0.5 else max(0, length - rng.randint(8, 48) * EIGHTH)
    end = length if kind == "end check" and start else min(length, start + rng.randint(4, 40) * EIGHTH)
    y1, y2 = 0, width
    if rng.random() < 0.6:
        y1 = rng.randrange(0, width - INCH // 2, EIGHTH)
        y2 = min(width, y1 + rng.randint(4, 12) * EIGHTH)
    z1, z2, through = 0, thickness, True
    if rng.random() < 0.4:
        deep = rng.choice((2, 4)) * EIGHTH
        z1, z2 = rng.choice(((0, deep), (thickness - deep, thickness)))
        through = False
    return Defect(kind=kind, x1=start, x2=end, y1=y1, y2=y2, z1=z1, z2=z2, through=through)


def _batch(rng: random.Random, count: int, kinds: int) -> tuple[Blank, ...]:
    marks = [0, *sorted(rng.sample(range(1, count), kinds - 1)), count]
    sections = rng.sample(SECTIONS, kinds)
    return tuple(_blank(rng, n, marks[n + 1] - marks[n], sections[n]) for n in range(kinds))


def _blank(rng: random.Random, number: int, need: int, size: tuple[int, int]) -> Blank:
    ring_from, ring_to = rng.choice(((None, None), (None, None), (0, 45), (30, 60), (45, None)))
    return Blank(
        name=f"Kind {number + 1}",
        need=need,
        length=rng.randint(8 * 6, 8 * 42) * EIGHTH,
        width=size[0] * EIGHTH,
        thickness=size[1] * EIGHTH,
        species=rng.choice(((), SPECIES, SPECIES[:1])),
        ring_from=ring_from,
        ring_to=ring_to,
        allows=rng.choice(((), ("pin knot",), ("pin knot", "knot"), ("stain", "pin knot"))),
        clear_end=rng.choice((0, 0, 3)) * INCH,
        priority=rng.choice((1, 1, 2)),
    )


def _read_closely(rng: random.Random, offcut: Offcut) -> Offcut:
    """Return an offcut as a shop with a moisture meter and good eyes would write it down."""
    kink = rng.randrange(offcut.length // 4, offcut.length * 3 // 4, EIGHTH)
    return replace(
        offcut,
        ring_angle_far=rng.randint(0, 90) if offcut.rings and rng.random() < 1 / 3 else None,
        moisture=Fraction(rng.randint(14, 44), 2) if rng.random() < 0.6 else None,
        grain_slope=Fraction(1, rng.randint(8, 30)) if rng.random() < 0.8 else None,
        kinks=(kink - kink % EIGHTH,) if rng.random() < 0.1 else (),
    )
