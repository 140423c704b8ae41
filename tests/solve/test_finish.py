"""From columns to a plan: who gets which blank, what is left out, and what is claimed."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import pytest
from small_stocks import ready
from test_account import BILLET, INCH, JOB, KEPT

from yieldplan.model import Job, Plan, Stick, WholeKeeper, count_crosscuts
from yieldplan.solve import Options
from yieldplan.solve.aims import Search
from yieldplan.solve.columns import Column, column_of, keepers_worth
from yieldplan.solve.finish import make_plan, only
from yieldplan.verify import verify

if TYPE_CHECKING:
    from yieldplan.solve.columns import Segments

NEVER = float("-inf")


def wanting(need: int, extra: int = 0, qty: int = 2) -> Job:
    """Return the job of the hand example with another need, and so many like pieces."""
    blank = replace(JOB.blanks[0], need=need, extra=extra)
    return replace(JOB, blanks=(blank,), offcuts=(replace(JOB.offcuts[0], qty=qty),))


def made(job: Job, *cuttings: Segments, bound: float = NEVER, settled: bool = True) -> Plan:
    """Return the plan of some cuttings of the one sort of piece, two ribs each."""
    (stock,) = ready(job)
    columns = [
        Column(
            stock=0,
            counts=(2,),
            cost=stock.cost - keepers_worth(cutting, stock.offcut, job),
            low=0,
            crosscuts=count_crosscuts(cutting, stock.offcut.length, JOB.shop.crosscut_kerf),
            cutting=partial(tuple, cutting),
        )
        for cutting in cuttings
    ]
    return make_plan(job, [stock], columns, bound, settled=settled)


def sticks(plan: Plan) -> list[Stick]:
    """Return every stick of a plan."""
    return [
        stick
        for drawn in plan.offcuts
        for segment in drawn.segments
        for strip in getattr(segment, "strips", ())
        for stick in strip.sticks
    ]


CUTTING = (BILLET, KEPT)


@pytest.mark.parametrize(("need", "extra"), [(4, 0), (3, 1), (2, 2), (3, 0), (5, 5)])
def test_every_plan_passes_the_recheck(need: int, extra: int) -> None:
    """Made, extra, missing and account agree with the cuttings."""
    job = wanting(need, extra)
    assert verify(job, made(job, CUTTING, CUTTING)) == ()


def test_copies_are_told_apart() -> None:
    """Two cuttings of one class draw copy 1 and copy 2."""
    plan = made(wanting(4), CUTTING, CUTTING)
    assert [(drawn.offcut, drawn.copy) for drawn in plan.offcuts] == [("P", 1), ("P", 2)]
    assert plan.made == (("Rib", 4),)


def test_a_surplus_blank_is_extra_where_it_is_welcome() -> None:
    """Three needed of four: the fourth is marked extra."""
    plan = made(wanting(3, 1), CUTTING, CUTTING)
    assert (plan.made, plan.extra, plan.missing) == ((("Rib", 3),), (("Rib", 1),), (("Rib", 0),))
    assert sum(cut.extra for stick in sticks(plan) for cut in stick.blanks) == 1


def test_a_surplus_blank_that_nobody_wants_is_not_cut() -> None:
    """Three needed of four and none welcome: one stick carries a single blank."""
    plan = made(wanting(3), CUTTING, CUTTING)
    assert sorted(len(stick.blanks) for stick in sticks(plan)) == [1, 2]


def test_every_offcut_drawn_gives_a_needed_blank() -> None:
    """Two needed, two welcome, two cuttings of two: each keeps a needed one, since an extra draws no offcut."""
    plan = made(wanting(2, 2), CUTTING, CUTTING)
    assert len(plan.offcuts) == 2
    assert all(any(not cut.extra for cut in stick.blanks) for stick in sticks(plan))


def test_an_offcut_that_gives_no_needed_blank_is_left_alone() -> None:
    """One needed: the second cutting is dropped, and the plan draws one piece."""
    plan = made(wanting(1), CUTTING, CUTTING)
    assert len(plan.offcuts) == 1
    assert verify(wanting(1), plan) == ()


def test_a_billet_that_carries_nothing_any_more_is_kept_whole() -> None:
    """Of two billets of 14 in the second has only surplus ribs: it goes back on the rack uncut."""
    shift = 14 * INCH + INCH // 8
    stick = BILLET.strips[0].sticks[0]
    moved = replace(
        stick,
        blanks=tuple(replace(c, start=c.start + shift, end=c.end + shift) for c in stick.blanks),
    )
    second = replace(
        BILLET,
        start=shift,
        end=shift + 14 * INCH,
        strips=(replace(BILLET.strips[0], sticks=(moved,)),),
    )
    job = wanting(2)
    plan = made(job, (BILLET, second))
    assert plan.offcuts[0].segments[1] == WholeKeeper(start=second.start, end=second.end)
    assert verify(job, plan) == ()


@pytest.mark.parametrize(
    ("bound", "settled", "gap", "proven"),
    [
        (1e9, True, 0.0, True),  # a bound above the plan is lowered to it
        (1e9, False, 0.0, False),  # aim 1 is not known to be at its best
        (0.0, True, 1.0, False),
        (-5.0, True, 1.0, False),
        (NEVER, True, 1.0, False),
    ],
)
def test_what_is_claimed(bound: float, settled: bool, gap: float, proven: bool) -> None:
    """Proven means: nothing between plan and bound, and fewest missing for sure."""
    plan = made(wanting(2), CUTTING, bound=bound, settled=settled)
    assert (plan.proof.gap, plan.proof.proven) == (gap, proven)
    assert verify(wanting(2), plan) == ()


def test_nothing_used_is_an_empty_plan() -> None:
    """All is missing, nothing is drawn, and drawing nothing is proven least."""
    plan = made(wanting(2))
    assert (plan.offcuts, plan.missing, plan.proof.net_worth) == ((), (("Rib", 2),), 0)
    assert verify(wanting(2), plan) == ()


def test_what_is_left_out_is_kept_in_one_piece() -> None:
    """Without its ribs a billet is wood, and one piece with the whole keeper beside it; what is asked for stays."""
    (stock,) = ready(JOB)
    cutting = (BILLET, KEPT)
    assert only(cutting, stock, JOB.shop, ()) == (WholeKeeper(start=BILLET.start, end=KEPT.end),)
    assert only(cutting, stock, JOB.shop, {"Rib"}) == cutting


def test_blanks_that_are_too_many_are_left_out_and_more_is_kept() -> None:
    """One rib is wanted of a column of three, which is all that is known: it is cut to keep the rest whole."""
    board = replace(JOB.offcuts[0], qty=1, length=60 * INCH)
    rib = replace(JOB.blanks[0], need=1)
    search = Search(replace(JOB, offcuts=(board,), blanks=(rib,)), Options(seconds=5), lambda _: None)
    search.run()
    assert search.best
    (best,) = search.best
    (stock,) = search.stocks
    spans = [(start * INCH, (start * 2 + 13) * INCH // 2) for start in (1, 8, 15)]
    blank = BILLET.strips[0].sticks[0].blanks[0]
    three = tuple(replace(blank, start=start, end=end) for start, end in spans)
    strip = replace(BILLET.strips[0], sticks=(replace(BILLET.strips[0].sticks[0], blanks=three),))
    far = WholeKeeper(start=22 * INCH + JOB.shop.crosscut_kerf, end=60 * INCH)
    known = column_of(0, (replace(BILLET, end=22 * INCH, strips=(strip,)), far), stock, search.job)
    search.pool.drop({0})
    search.pool.add(known)
    search.best, search.cost, search.bound = [known], known.cost, best.cost
    assert (known.counts, best.counts) == ((3,), (1,))
    assert known.cost > best.cost
    search._leave_out_surplus({1: 0}, 1.0)
    column = search.best[0]
    assert column.counts == (1,)
    assert search.cost == column.cost == best.cost
    assert verify(search.job, search.result()) == ()
