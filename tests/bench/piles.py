"""Random piles of a shop that builds small boats, from a seed; sizes in whole quarter and eighth inches.

Offcuts: lengths log-normal about 36 in, widths 2 3/8 to 7 1/4 in, 1 to 3 in thick, warp on half of them, none
to three defects; three species. Blanks of several kinds: frames, cleats, knees and rails, some with a range of ring
angles, a clear end or defects that they allow. The shop has the settings that it has if none is named.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace

from yieldplan.model import Blank, Defect, Job, Offcut, Shop
from yieldplan.model.shop import INCH

OFFCUTS, BLANKS, KINDS = 80, 60, 8
WIDTHS = [INCH * eighths // 8 for eighths in range(19, 59)]
THICKNESSES = [INCH * quarters // 4 for quarters in range(4, 13)]
SECTIONS = (
    *((9, 4, 21, 16), (2, 1, 1, 1), (7, 4, 7, 8), (3, 1, 3, 4)),
    *((3, 2, 3, 4), (5, 4, 5, 4), (4, 1, 1, 1), (3, 2, 3, 2), (5, 2, 5, 4), (1, 1, 3, 4)),
)
"""Finished width and thickness of blanks, each a fraction of an inch."""


def pile(seed: int, offcuts: int = OFFCUTS, blanks: int = BLANKS, kinds: int = KINDS) -> Job:
    """Return the pile and batch of a seed."""
    rng = random.Random(f"pile {seed}")
    return Job(
        offcuts=tuple(_offcut(rng, number) for number in range(1, offcuts + 1)),
        blanks=_blanks(rng, blanks, kinds),
        shop=Shop(),
        name=f"pile {seed}",
        sha256=f"{seed:064x}",
    )


def cupped_pile(seed: int) -> Job:
    """Return a small pile of wide, cupped boards, some twisted, with the batch that a seed gives."""
    rng = random.Random(f"cupped {seed}")
    offcuts = tuple(_cupped(_offcut(rng, number), rng) for number in range(1, 19))
    return Job(
        offcuts=offcuts,
        blanks=_blanks(rng, 8, 3),
        shop=Shop(),
        name=f"cupped pile {seed}",
        sha256=f"{seed:064x}",
    )


def _cupped(offcut: Offcut, rng: random.Random) -> Offcut:
    """Return an offcut 5 to 9 in wide and 1 1/8 to 1 3/4 in thick, cupped by 1/8 to 5/16 in, in place of one."""
    width, thickness = rng.randint(20, 36) * INCH // 4, rng.choice((9, 10, 12, 14)) * INCH // 8
    return replace(
        offcut,
        width=width,
        thickness=thickness,
        length=min(offcut.length, 60 * INCH),
        species="white oak",
        bow=rng.choice((0, 0, 2)) * INCH // 32,
        crook=rng.choice((0, 0, 2)) * INCH // 32,
        cup=rng.randint(2, 5) * INCH // 16,
        twist=rng.choice((0, 0, 4, 8)) * INCH // 32,
        defects=(),
    )


def _offcut(rng: random.Random, number: int) -> Offcut:
    quarters = round(4 * min(max(rng.lognormvariate(math.log(36), 0.45), 12.0), 120.0))
    length = quarters * INCH // 4
    width, thickness = rng.choice(WIDTHS), rng.choice(THICKNESSES)
    width, thickness = max(width, thickness), min(width, thickness)
    bow, crook, cup, twist = (
        INCH * rng.randint(0, most) // 32 if warped else 0
        for warped in [rng.random() < 0.5]
        for most in (10, 8, 3, 6)
    )
    return Offcut(
        name=f"P{number:02}",
        length=length,
        width=width,
        thickness=thickness,
        species=rng.choices(("white oak", "larch", "yellow-cedar"), (6, 3, 1))[0],
        bow=bow,
        crook=crook,
        cup=cup,
        twist=twist,
        ring_angle=rng.choice((None, *range(0, 91, 5))),
        defects=tuple(_defect(rng, length, width, thickness) for _ in range(rng.choice((0, 0, 1, 1, 2, 3)))),
    )


def _defect(rng: random.Random, length: int, width: int, thickness: int) -> Defect:
    kind = rng.choice(("knot", "knot", "check", "pin knot", "wane"))
    eighths = length * 8 // INCH
    start = rng.randrange(0, eighths - 8)
    end = min(eighths, start + rng.randint(4, 40))
    y1, y2 = 0, width
    if kind != "check":
        y1 = rng.randrange(0, width - INCH // 2, INCH // 8)
        y2 = min(width, y1 + rng.randint(4, 12) * INCH // 8)
    z1, z2, through = 0, thickness, True
    if rng.random() < 0.4:
        deep = rng.choice((INCH // 4, INCH // 2))
        z1, z2 = rng.choice(((0, deep), (thickness - deep, thickness)))
        through = False
    x1, x2 = start * INCH // 8, end * INCH // 8
    return Defect(kind=kind, x1=x1, x2=x2, y1=y1, y2=y2, z1=z1, z2=z2, through=through)


def _blanks(rng: random.Random, count: int, kinds: int) -> tuple[Blank, ...]:
    marks = [0, *sorted(rng.sample(range(1, count), kinds - 1)), count]
    sections = rng.sample(SECTIONS, min(kinds, len(SECTIONS)))
    sections += rng.choices(SECTIONS, k=kinds - len(sections))
    return tuple(_blank(rng, n, marks[n + 1] - marks[n], sections[n]) for n in range(kinds))


def _blank(rng: random.Random, number: int, need: int, section: tuple[int, int, int, int]) -> Blank:
    wide, wide_part, thick, thick_part = section
    ring_from, ring_to = rng.choice(((None, None), (None, None), (30, 60), (45, None)))
    return Blank(
        name=f"Kind {number + 1}",
        need=need,
        length=rng.randint(12, 84) * INCH // 2,
        width=wide * INCH // wide_part,
        thickness=thick * INCH // thick_part,
        species=rng.choice(((), ("white oak", "larch"), ("white oak",))),
        ring_from=ring_from,
        ring_to=ring_to,
        allows=rng.choice(((), ("pin knot",), ("pin knot", "knot"))),
        clear_end=rng.choice((0, 0, 3)) * INCH,
    )
