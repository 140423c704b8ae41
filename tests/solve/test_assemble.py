"""Assembling: drawings become a plan whose counts, account, worth, work and claims the recheck agrees with."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from strategies import small_job, varied_job

from yieldplan.model import (
    SPARES,
    Billet,
    Blank,
    CutBlank,
    Job,
    Offcut,
    OffcutPlan,
    Shop,
    SplitBillet,
    Stick,
    Strip,
)
from yieldplan.model.shop import INCH
from yieldplan.model.wood import halves
from yieldplan.model.work import prices
from yieldplan.solve.assemble import assemble, without_surplus
from yieldplan.solve.simple import first_fit
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldplan.model import Plan

EIGHTH = INCH // 8


def job(*, need: int = 2, spare: int = 0, qty: int = 3) -> Job:
    """Return boards that hold four ribs each, two sticks of two, and a longer board that holds as many."""
    sizes: dict[str, Any] = {"width": 5 * INCH, "thickness": 3 * INCH // 2}
    return Job(
        offcuts=(
            Offcut(name="P1", length=34 * INCH, qty=qty, **sizes),
            Offcut(name="P2", length=40 * INCH, **sizes),
        ),
        blanks=(
            Blank(
                name="Rib", need=need, spare=spare, length=15 * INCH, width=18 * EIGHTH, thickness=10 * EIGHTH
            ),
            Blank(name="Other", need=1, length=90 * INCH, width=8 * EIGHTH, thickness=6 * EIGHTH, priority=2),
        ),
        name="four ribs",
    )


def drawing(name: str, *sticks: int) -> OffcutPlan:
    """Return a board ripped into two strips, with so many ribs on the stick of each."""
    length = {"P1": 34, "P2": 40}[name] * INCH
    strips = tuple(
        Strip(
            start=number * 20 * EIGHTH,
            end=number * 20 * EIGHTH + 19 * EIGHTH,
            sticks=(Stick(start=0, end=21 * EIGHTH // 2, blanks=tuple(map(rib, range(ribs)))),),
        )
        for number, ribs in enumerate(sticks)
        if ribs
    )
    billet = Billet(
        start=INCH // 2,
        end=length - INCH // 2,
        layout="rip first",
        face_loss=INCH // 16,
        edge_loss=INCH // 16,
        strips=strips,
    )
    return OffcutPlan(offcut=name, copy=1, billets=(billet,))


def rib(number: int) -> CutBlank:
    """Return a rib of a stick, counted from end A."""
    start = INCH + number * (15 * INCH + EIGHTH)
    return CutBlank(blank="Rib", start=start, end=start + 15 * INCH)


def sound(found: Job, plan: Plan) -> Plan:
    """Return a plan that passes the recheck."""
    assert [breach.sentence() for breach in verify(found, plan)] == []
    return plan


def test_copies_are_numbered_in_the_order_of_the_pile() -> None:
    """However the drawings come, offcuts stand in the pile's order and their copies count from 1."""
    plan = sound(job(need=9), assemble(job(need=9), [drawing("P2", 2), drawing("P1", 2), drawing("P1", 1)]))
    assert [(piece.offcut, piece.copy) for piece in plan.offcuts] == [("P1", 1), ("P1", 2), ("P2", 1)]


def test_needs_come_first_and_what_is_beyond_is_a_spare() -> None:
    """Three ribs of which two are needed: the last one cut is the spare."""
    wanted = job(need=2, spare=2)
    plan = sound(wanted, assemble(wanted, [drawing("P1", 2, 1)]))
    assert [cut.spare for cut in plan.offcuts[0].blanks] == [False, False, True]
    assert (plan.made, plan.spare, plan.missing) == (
        (("Rib", 2), ("Other", 0)),
        (("Rib", 1), ("Other", 0)),
        (("Rib", 0), ("Other", 1)),
    )
    assert plan.proof.missing == (("1", 0), ("2", 1), (SPARES, 1))


def test_classes_stand_in_order_with_spares_last_even_where_none_is_wanted() -> None:
    """An empty plan misses everything, class by class, and costs nothing."""
    plan = sound(job(), assemble(job(), []))
    assert plan.proof.missing == (("1", 2), ("2", 1), (SPARES, 0))
    assert (plan.proof.cost, plan.proof.bound, plan.proof.gap, plan.work.hundredths) == (0, 0, 0.0, 0)


def test_more_blanks_than_are_wanted_are_refused() -> None:
    """A third rib where two are needed and none is spare belongs in no plan."""
    with pytest.raises(ValueError, match="more of blank Rib are drawn than are wanted; expected at most 2"):
        assemble(job(), [drawing("P1", 2, 1)])


def test_more_copies_than_there_are_are_refused() -> None:
    """A board that the pile has once cannot be drawn twice."""
    with pytest.raises(ValueError, match="2 of offcut P2 are drawn; expected at most 1"):
        assemble(job(need=4), [drawing("P2", 2), drawing("P2", 2)])


def test_cost_is_net_worth_and_the_price_of_the_work() -> None:
    """At another price of work only the cost differs, and the plan says which price it was."""
    own, wood = (assemble(job(), [drawing("P1", 2)], price=price) for price in (None, 0))
    assert own.proof.cost == own.proof.net_worth + prices(Shop()).of(own.work) > own.proof.net_worth
    assert (wood.proof.cost, wood.price, own.price) == (own.proof.net_worth, 0, None)


@pytest.mark.parametrize(("short", "proven"), [(0, True), (1, True), (2, False)])
def test_proven_is_aim_1_and_a_gap_of_a_thousandth(short: int, proven: bool) -> None:
    """A bound up to a thousandth below the cost proves a plan, but only one that misses no more than need be."""
    wanted = replace(job(need=4), blanks=job(need=4).blanks[:1])
    cost = assemble(wanted, [drawing("P1", 2, 2)]).proof.cost
    bound = cost - short * cost // 1500
    plan = sound(wanted, assemble(wanted, [drawing("P1", 2, 2)], bound=bound))
    assert plan.proof.gap == (cost - bound) / cost
    assert plan.proof.proven is proven


def test_an_aim_that_is_not_known_is_never_proven() -> None:
    """A plan that may miss too many is not proven, whatever its bound."""
    plan = assemble(job(), [drawing("P1", 2)], bound=10**9)
    assert plan.proof.missing_at_least == (("1", 0), ("2", 0), (SPARES, 0))
    assert not plan.proof.proven


def split_job() -> Job:
    """Return a wide cupped board that is split before jointing."""
    wide = Offcut(name="P1", length=34 * INCH, width=6 * INCH, thickness=3 * INCH // 2, cup=INCH // 2)
    return replace(job(need=2), offcuts=(wide,), blanks=job(need=2).blanks[:1])


def split_drawing(found: Job) -> OffcutPlan:
    """Return the cupped board split in the middle, a stick of one rib from each half."""
    offcut, length = found.offcuts[0], 33 * INCH
    near, far = (
        Billet(
            start=INCH // 2,
            end=INCH // 2 + length,
            layout="rip first",
            face_loss=wood.face_loss(length, found.shop, INCH // 2),
            edge_loss=wood.edge_loss(length, found.shop, INCH // 2),
            strips=(
                Strip(
                    start=0, end=19 * EIGHTH, sticks=(Stick(start=0, end=21 * EIGHTH // 2, blanks=(rib(0),)),)
                ),
            ),
        )
        for wood in halves(offcut, 3 * INCH, found.shop)
    )
    billet = SplitBillet(start=INCH // 2, end=INCH // 2 + length, split=3 * INCH, halves=(near, far))
    return OffcutPlan(offcut="P1", copy=1, billets=(billet,))


def test_a_split_billet_is_accounted_for() -> None:
    """A split costs its kerf and an odd cut, and each half its own jointing: the recheck agrees to the step."""
    found = split_job()
    plan = sound(found, assemble(found, [split_drawing(found)]))
    assert (plan.work.billets, plan.work.odd_cuts, plan.made) == (2, 1, (("Rib", 2),))
    assert plan.account.volume_in == sum(
        getattr(plan.account, part) for part in ("blanks", "keepers", "kerf", "shavings", "trimmings")
    )


def test_surplus_takes_out_a_whole_half() -> None:
    """Where one rib is enough, one half of a split billet has no layout any more."""
    found = split_job()
    fewer = replace(found, blanks=(replace(found.blanks[0], need=1),))
    (left,) = without_surplus(fewer, [split_drawing(found)])
    assert len(left.jointed) == 1
    assert sound(fewer, assemble(fewer, [left])).work.billets == 1


def test_surplus_goes_first_where_a_whole_offcut_is_spared() -> None:
    """Two ribs too many: the board that carries just two is not drawn, the one with three stays whole."""
    left = without_surplus(job(need=3), [drawing("P1", 2, 1), drawing("P2", 2)])
    assert left == (drawing("P1", 2, 1),)


def test_surplus_goes_next_where_a_whole_stick_is_spared() -> None:
    """One rib too many: the stick that carries just one is not sawn."""
    assert without_surplus(job(need=2), [drawing("P1", 2, 1)]) == (drawing("P1", 2),)


def test_surplus_leaves_spares_and_what_is_wanted() -> None:
    """A rib beyond the need that is welcome as a spare stays."""
    assert without_surplus(job(need=2, spare=1), [drawing("P1", 2, 1)]) == (drawing("P1", 2, 1),)


@pytest.mark.parametrize("make", [small_job, varied_job])
def test_drawings_for_a_larger_batch_serve_a_smaller_one(make: Callable[[int], Job]) -> None:
    """Less surplus, a drawing of any batch makes a right plan of a smaller batch that misses nothing it had."""
    compared = 0
    for seed in range(60):
        large, rng = make(seed), random.Random(seed)
        drawn = first_fit(large)
        made = Counter(cut.blank for piece in drawn for cut in piece.blanks)
        small = replace(
            large,
            blanks=tuple(
                replace(blank, need=rng.randint(0, blank.need), spare=rng.randint(0, blank.spare))
                for blank in large.blanks
            ),
        )
        plan = sound(small, assemble(small, without_surplus(small, drawn)))
        wanted = {blank.name: min(blank.need, made[blank.name]) for blank in small.blanks}
        assert dict(plan.made) == wanted
        compared += sum(made.values()) > sum(wanted.values())
    assert compared > 20
