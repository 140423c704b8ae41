"""Random piles, batches and plans, from a seed or from hypothesis.

One builder makes a job; what it is given decides who picks: ``random.Random(seed)`` in :func:`tiny_job` and
:func:`small_job`, hypothesis in :func:`jobs` (which then shrinks towards the first of each row of choices).
All sizes are coarse: tiny jobs are in a shop that works to 1/4 in, so that they can be enumerated, small ones in one
that works to 1/16 in.
"""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Protocol, TypeVar

from hypothesis import strategies as st

from yieldplan.model import (
    Account,
    Billet,
    Blank,
    CutBlank,
    Defect,
    Job,
    Offcut,
    OffcutPlan,
    Plan,
    Proof,
    Shop,
    SplitBillet,
    Stick,
    Strip,
)
from yieldplan.model.plan import Work
from yieldplan.model.planfile import MOST
from yieldplan.model.species import Species

if TYPE_CHECKING:
    from collections.abc import Sequence

INCH = 8128
KINDS = ("knot", "check", "pin knot")
T = TypeVar("T")


class Pick(Protocol):
    """Picks one of several things."""

    def __call__(self, choices: Sequence[T], /) -> T:
        """Return one of the choices."""
        ...


def tiny_job(seed: int) -> Job:
    """Return a job of one to three offcuts and one to three kinds of blanks, small enough to enumerate."""
    return _tiny(random.Random(seed).choice)


def cupped_job(seed: int) -> Job:
    """Return a tiny job of one or two wide, cupped or twisted offcuts, some of which may be split."""
    rng = random.Random(seed)
    pick = rng.choice
    job = _tiny(pick)
    shop = replace(
        job.shop,
        split_warp=pick((1, 1, 2)) * INCH // 4,
        jointer_width=pick((8, 8, 5, 4)) * INCH,
        saw_depth=pick((3, 3, 2)) * INCH,
    )
    offcuts = tuple(
        replace(
            offcut,
            width=pick(range(14, 29)) * INCH // 4,
            thickness=pick((4, 5, 6, 8, 9)) * INCH // 4,
            qty=1,
            bow=0 if pick((True, True, False)) else offcut.bow,
            crook=0 if pick((True, True, False)) else offcut.crook,
            cup=pick((0, 1, 1, 2)) * INCH // 4,
            twist=pick((0, 0, 0, 1)) * INCH // 4,
            species="oak",
            ring_angle=20,
            defects=(),
        )
        for offcut in job.offcuts[:2]
    )
    marked = tuple(
        replace(
            offcut,
            defects=tuple(_defect(pick, offcut.length, offcut.width, offcut.thickness) for _ in range(n)),
        )
        for offcut, n in zip(offcuts, (pick((0, 0, 1)), pick((0, 0, 1))), strict=False)
    )
    return replace(job, offcuts=marked, blanks=job.blanks[:2], shop=shop, name="cupped")


def varied_job(seed: int) -> Job:
    """Return a tiny job of one to four offcuts, with all that sets one cutting against another.

    Short blanks and long keepers against the shortest machined length, bent and twisted offcuts, defects of a part of
    the width or of one face, sections that lie side by side or over one another, spares, two or three priority
    classes, saws that do not reach through everything, and trims.
    """
    pick = random.Random(f"varied {seed}").choice
    thick = pick((False, False, True))
    deep = (4, 9) if thick else (4, 7)
    offcuts = tuple(
        _offcut(pick, number, lengths=range(13, 41), halves=range(3, 11), quarters=range(*deep))
        for number in range(pick((1, 1, 2, 2, 3, 4)))
    )
    bent = tuple(
        replace(
            offcut,
            bow=pick((0, 0, 0, 1, 2)) * INCH // 4,
            crook=pick((0, 0, 1, 2)) * INCH // 4,
            twist=pick((0, 0, 0, 1)) * INCH // 4,
        )
        for offcut in offcuts
    )
    sections = [_section(pick, quarters=range(4, 11)) for _ in range(pick((1, 2, 2)))]
    blanks = tuple(
        replace(
            _blank(pick, number, sections, lengths=range(4, 22), need=(1, 1, 2, 3), spare=(0, 0, 1, 2)),
            priority=pick((1, 1, 2, 3)),
            clear_end=pick((0, 0, 0, 1, 3)) * INCH,
        )
        for number in range(pick((1, 2, 2, 3)))
    )
    shop = replace(
        _shop(pick),
        keeper_length=pick((12, 9, 15, 20)) * INCH,
        end_trim=pick((0, INCH // 2, INCH)),
        stick_trim=pick((0, 0, INCH // 2, INCH)),
        saw_depth=pick((3, 2, 1)) * INCH,
        bandsaw_height=pick((6, 4, 2)) * INCH,
        resaw_height=pick((6, 4, 2)) * INCH,
        plane_off=pick((0, 1, 2)) * INCH // 4,
    )
    return Job(offcuts=bent, blanks=blanks, shop=shop, name="varied", sha256="0" * 64)


def small_job(seed: int) -> Job:
    """Return a job of three to ten offcuts and two to four kinds of blanks."""
    return _small(random.Random(seed).choice)


def wood_job(seed: int) -> Job:
    """Return the tiny job of a seed, its wood read more closely: rings, moisture, slope of grain, kinks."""
    return with_wood(tiny_job(seed), random.Random(seed + 1000).choice)


def with_wood(job: Job, pick: Pick) -> Job:
    """Return a job with readings and limits that concern the wood itself, of all sorts."""
    return replace(
        job,
        offcuts=tuple(_with_readings(offcut, pick) for offcut in job.offcuts),
        blanks=tuple(_with_limits(blank, pick) for blank in job.blanks),
        shop=replace(job.shop, target_moisture=pick((Fraction(12), Fraction(8), None)), species=(OAK,)),
    )


OAK = Species(
    name="oak",
    radial=Fraction("0.0018"),
    tangential=Fraction("0.00365"),
    radial_shrinkage=Fraction("5.6"),
    tangential_shrinkage=Fraction("10.5"),
)
"""White oak's figures, under a name that the built-in table does not have."""


def _with_readings(offcut: Offcut, pick: Pick) -> Offcut:
    near = pick((None, 10, 25, 40, 40, 45, 60, 80, (0, 30), (30, 60)))
    kink = pick((None, None, offcut.length // 2, 5 * INCH))
    return replace(
        offcut,
        ring_angle=near,
        ring_angle_far=None if near is None else pick((None, None, 20, 45, 50, 60, 75)),
        moisture=pick((None, *(Fraction(part, 2) for part in (14, 19, 25, 33, 90)))),
        grain_slope=pick((None, Fraction(1, 8), *[Fraction(1, 20)] * 4)),
        kinks=() if kink is None else (kink,),
    )


def _with_limits(blank: Blank, pick: Pick) -> Blank:
    low, high = pick(((None, None), (0, 50), (30, 60), (30, 60), (40, None)))
    slope = pick((None, None, None, None, Fraction(1, 10)))
    return replace(blank, ring_from=low, ring_to=high, max_slope=slope)


@st.composite
def jobs(draw: st.DrawFn, *, small: bool = False) -> Job:
    """Return a strategy of tiny (or small) jobs that shrinks to one straight offcut and one blank."""

    def pick(choices: Sequence[T], /) -> T:
        return draw(st.sampled_from(choices))

    return _small(pick) if small else _tiny(pick)


def _tiny(pick: Pick) -> Job:
    offcuts = [
        _offcut(pick, number, lengths=range(14, 30), halves=range(4, 12), quarters=range(4, 10))
        for number in range(pick((1, 2, 2, 3)))
    ]
    sections = [_section(pick, quarters=range(5, 11)) for _ in range(pick((1, 1, 2)))]
    kinds = pick((1, 2, 2, 3))
    need, spare = ((1, 1, 2, 3), (0, 0, 1, 2)) if kinds < 3 else ((1, 2), (0, 0, 1))
    blanks = [
        _blank(pick, number, sections, lengths=range(6, 17), need=need, spare=spare)
        for number in range(kinds)
    ]
    return Job(offcuts=tuple(offcuts), blanks=tuple(blanks), shop=_shop(pick), name="tiny", sha256="0" * 64)


def _small(pick: Pick) -> Job:
    offcuts = [
        _offcut(pick, number, lengths=range(14, 73), halves=range(4, 18), quarters=range(4, 15))
        for number in range(pick(range(3, 11)))
    ]
    sections = [_section(pick, quarters=range(3, 20)) for _ in range(pick((1, 2, 3)))]
    blanks = [
        _blank(pick, number, sections, lengths=range(5, 49), need=(1, 2, 4, 6, 9), spare=(0, 0, 1, 3))
        for number in range(pick((2, 3, 4)))
    ]
    return Job(
        offcuts=tuple(offcuts),
        blanks=tuple(blanks),
        shop=_fine(_shop(pick), pick),
        name="small",
        sha256="0" * 64,
    )


def _offcut(pick: Pick, number: int, *, lengths: range, halves: range, quarters: range) -> Offcut:
    length = pick(lengths) * INCH
    sizes = pick(halves) * INCH // 2, pick(quarters) * INCH // 4
    width, thickness = max(sizes), min(sizes)
    warped = pick((False, True))
    bow, crook, cup, twist = (
        pick((0, 0, INCH // 4)) if warped else 0 for _ in ("bow", "crook", "cup", "twist")
    )
    return Offcut(
        name=f"P{number}",
        length=length,
        width=width,
        thickness=thickness,
        qty=pick((1, 1, 1, 2)),
        species=pick(("oak", "oak", "ash")),
        bow=bow,
        crook=crook,
        cup=cup,
        twist=twist,
        ring_angle=pick((None, 10, 45, 80)),
        defects=tuple(_defect(pick, length, width, thickness) for _ in range(pick((0, 0, 1, 1, 2)))),
    )


def _defect(pick: Pick, length: int, width: int, thickness: int) -> Defect:
    x1 = pick(range(length // INCH)) * INCH
    x2 = min(x1 + pick((INCH // 2, INCH, 3 * INCH)), length)
    y1, y2 = 0, width
    if pick((False, True)):
        y1 = pick(range(2 * width // INCH)) * INCH // 2
        y2 = min(y1 + pick((INCH // 2, INCH)), width)
    depth = pick((0, 0, 1, 2))
    z1, z2 = 0, thickness
    if depth:
        deep = depth * INCH // 4
        z1, z2 = pick(((0, deep), (thickness - deep, thickness)))
    return Defect(kind=pick(KINDS), x1=x1, x2=x2, y1=y1, y2=y2, z1=z1, z2=z2, through=not depth)


def _section(pick: Pick, *, quarters: range) -> tuple[int, int]:
    width = pick(quarters) * INCH // 4
    thickness = pick((3, 3, 3, 4, 5)) * INCH // 4
    return max(width, thickness), min(width, thickness)


def _blank(
    pick: Pick,
    number: int,
    sections: list[tuple[int, int]],
    *,
    lengths: range,
    need: Sequence[int],
    spare: Sequence[int],
) -> Blank:
    width, thickness = pick(sections)
    ring_from, ring_to = pick(((None, None), (None, None), (None, None), (0, 45), (45, None)))
    return Blank(
        name=f"B{number}",
        need=pick(need),
        spare=pick(spare),
        length=pick(lengths) * INCH,
        width=width,
        thickness=thickness,
        species=pick(((), (), ("Oak", "ash"), ("oak",))),
        ring_from=ring_from,
        ring_to=ring_to,
        allows=pick(((), (), ("pin knot",), ("Knot", "check", "pin knot"))),
        clear_end=pick((0, 0, 2, 4)) * INCH,
        priority=pick((1, 1, 2)),
    )


def _shop(pick: Pick) -> Shop:
    quarter = INCH // 4
    return Shop(
        mark=quarter,
        rip_kerf=quarter,
        bandsaw_kerf=quarter,
        bandsaw_skim=pick((0, 0, quarter)),
        crosscut_kerf=pick((quarter, quarter, 2 * quarter)),
        saw_depth=pick((3, 3, 2, 1)) * INCH,
        bandsaw_height=pick((6, 6, 6, 3)) * INCH,
        resaw_height=pick((6, 6, 4, 2)) * INCH,
        face_skim=pick((0, 0, quarter)),
        edge_skim=pick((0, quarter)),
        width_allowance=quarter,
        thickness_allowance=pick((0, quarter)),
        least_planing=pick((0, 0, quarter)),
        plane_off=pick((0, quarter)),
        length_allowance=pick((0, 0, INCH // 2)),
        length_premium=pick((Fraction(1), Fraction(1), Fraction(0), Fraction(2), Fraction(1, 3))),
        shortest_machined_length=pick((12, 10, 8, 6)) * INCH,
        jointer_width=pick((8, 8, 8, 5)) * INCH,
        narrowest_rip=pick((3, 2)) * quarter,
        end_trim=pick((INCH // 2, 0, quarter)),
        stick_trim=pick((0, 0, 0, INCH // 2)),
        past_a_check=pick((0, INCH)),
        past_a_knot=pick((0, INCH // 2)),
        keeper_length=pick((12, 10, 15)) * INCH,
        keeper_width=pick((6, 4)) * quarter,
        keeper_thickness=pick((3, 4)) * quarter,
        machine_setting=pick((200, 200, 0, 500)),
        offcut_handled=pick((400, 0)),
        minutes_for_a_board_foot=pick((1000, 1000, 200, 6000)),
    )


def _fine(shop: Shop, pick: Pick) -> Shop:
    """Return the shop as one that works to 1/16 in, with thin saws and light skims."""
    mark = INCH // 16
    return replace(
        shop,
        mark=mark,
        rip_kerf=pick((1, 2)) * mark,
        bandsaw_kerf=mark,
        bandsaw_skim=pick((0, 1)) * mark,
        face_skim=mark,
        edge_skim=mark,
        thickness_allowance=mark,
        least_planing=mark,
        plane_off=3 * mark,
    )


def wild_numbers() -> st.SearchStrategy[int]:
    """Return a strategy of whole numbers, near and far: as long as a plan file may hold them."""
    far = st.sampled_from((MOST - 1, 1 - MOST, 2**63, -(2**63)))
    return st.one_of(st.integers(-3, 3), st.integers(-(10**6), 10**6), st.integers(1 - MOST, MOST - 1), far)


@st.composite
def wild_plans(draw: st.DrawFn, job: Job) -> Plan:
    """Return a strategy of plans put together at random; names are mostly those of the job."""
    size = st.one_of(st.integers(-10, 20).map(lambda number: number * INCH), wild_numbers())
    flag = st.booleans()
    offcut = st.sampled_from([offcut.name for offcut in job.offcuts] + ["no such offcut"])
    blank = st.sampled_from([blank.name for blank in job.blanks] + ["no such blank"])
    cut = st.builds(CutBlank, blank=blank, spare=flag, start=size, end=size, clear_end=st.sampled_from("AB"))
    stick = st.builds(Stick, start=size, end=size, turned=flag, blanks=_few(cut))
    strip = st.builds(Strip, start=size, end=size, sticks=_few(stick))
    billet = st.builds(
        Billet,
        start=size,
        end=size,
        layout=st.sampled_from(("rip first", "resaw first")),
        face_loss=size,
        edge_loss=size,
        strips=_few(strip),
    )
    half = st.one_of(st.none(), billet)
    halves = st.builds(SplitBillet, start=size, end=size, split=size, halves=st.tuples(half, half))
    drawn = st.builds(OffcutPlan, offcut=offcut, copy=wild_numbers(), billets=_few(st.one_of(billet, halves)))
    counts = _few(st.tuples(blank, wild_numbers()))
    number = wild_numbers()
    classes = _few(st.tuples(st.sampled_from(("1", "2", "spares", "")), number))
    return draw(
        st.builds(
            Plan,
            input_name=st.text(max_size=5),
            input_sha256=st.sampled_from((job.sha256, "")),
            mark=number,
            price=st.one_of(st.none(), number),
            proof=st.builds(
                Proof,
                missing=classes,
                missing_at_least=classes,
                cost=number,
                net_worth=number,
                bound=number,
                gap=st.floats(),
                proven=flag,
            ),
            made=counts,
            spare=counts,
            missing=counts,
            account=st.builds(Account, **dict.fromkeys(Account.__slots__, number)),
            work=st.builds(Work, **dict.fromkeys(Work.__slots__, number)),
            offcuts=_few(drawn),
        )
    )


def _few(parts: st.SearchStrategy[T]) -> st.SearchStrategy[tuple[T, ...]]:
    return st.lists(parts, max_size=2).map(tuple)
