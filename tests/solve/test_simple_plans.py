"""The by-hand rule and first-fit decreasing: what they do, that it is right, and that it is quick."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from strategies import cupped_job, small_job, varied_job, wood_job

from yieldplan.model import SPARES, Blank, Defect, Job, Offcut, Plan, Shop
from yieldplan.model.shop import INCH, LENGTHS, MINUTES
from yieldplan.solve.assemble import assemble
from yieldplan.solve.simple import by_hand, first_fit
from yieldplan.verify import verify
from yieldplan.workbook import read

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from yieldplan.model import Billet, OffcutPlan, SplitBillet

    Rule = Callable[[Job], tuple[OffcutPlan, ...]]

RULES = (by_hand, first_fit)
DEMO = Path(__file__).resolve().parents[2] / "data_demo" / "skiff-frames.xlsx"

FREE: dict[str, Any] = {
    **dict.fromkeys((*LENGTHS, *MINUTES, "length_premium"), 0),
    **dict.fromkeys(
        ("saw_depth", "bandsaw_height", "resaw_height", "jointer_width", "planer_width", "full_length"),
        96 * INCH,
    ),
    "mark": INCH,
    "keeper_length": 30_000 * INCH,
    "minutes_for_a_board_foot": 1000,
}
LOSSLESS = Shop(**FREE)
"""A shop that loses nothing, keeps nothing and counts no minute."""


def inches(size: float) -> int:
    """Return steps."""
    return int(size * INCH)


def board(name: str, length: float, width: float = 3, thickness: float = 1.5, **more: Any) -> Offcut:
    """Return a straight clear board, sizes in inches."""
    return Offcut(name=name, length=inches(length), width=inches(width), thickness=inches(thickness), **more)


def rib(
    name: str, need: int, length: float, width: float = 2.25, thickness: float = 1.25, **more: Any
) -> Blank:
    """Return a kind of blank, sizes in inches."""
    return Blank(
        name=name, need=need, length=inches(length), width=inches(width), thickness=inches(thickness), **more
    )


def planned(rule: Rule, job: Job) -> Plan:
    """Return a rule's plan, once it has passed the recheck."""
    plan = assemble(job, rule(job))
    assert [breach.sentence() for breach in verify(job, plan)] == []
    return plan


def drawn(plan: Plan) -> dict[str, list[str]]:
    """Return the blanks of each offcut that is drawn, in their order."""
    return {piece.offcut: [cut.blank for cut in piece.blanks] for piece in plan.offcuts}


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("make", [small_job, varied_job, wood_job, cupped_job])
def test_every_plan_passes_the_recheck(rule: Rule, make: Callable[[int], Job]) -> None:
    """Whatever the pile and the shop, a simple plan is right under R1 to R11 and its figures are true."""
    blanks = sum(
        len(list(piece.blanks)) for seed in range(100) for piece in planned(rule, make(seed)).offcuts
    )
    assert blanks > 80


@pytest.mark.parametrize("rule", RULES)
def test_begun_stock_is_used_first(rule: Rule) -> None:
    """A shorter blank goes on what the longer one's stick has over, not on a board of its own."""
    job = Job(offcuts=(board("P1", 15), board("P2", 34.25)), blanks=(rib("Short", 1, 12), rib("Long", 1, 20)))
    assert drawn(planned(rule, job)) == {"P2": ["Short", "Long"]}


def test_by_hand_takes_the_shortest_offcut_that_will_do() -> None:
    """The shortest board is too short, the longest stays on the rack."""
    pile = (board("P1", 60), board("P2", 20), board("P3", 34))
    assert list(drawn(planned(by_hand, Job(offcuts=pile, blanks=(rib("Long", 1, 24),))))) == ["P3"]


def test_by_hand_saws_as_many_sticks_as_the_board_holds() -> None:
    """Two strips side by side serve both ribs; the second board is not touched."""
    pile = (board("P1", 30, width=5.25), board("P2", 31, width=5.25))
    plan = planned(by_hand, Job(offcuts=pile, blanks=(rib("Rib", 2, 24),)))
    assert drawn(plan) == {"P1": ["Rib", "Rib"]}
    assert (plan.work.sticks, plan.work.passes) == (2, 2)


@pytest.mark.parametrize("rule", RULES)
def test_a_stick_is_turned_only_where_it_does_not_lie_flat(rule: Rule) -> None:
    """A board as thick as the rib is wide gives it turned; a wide one flat."""

    def turned(offcut: Offcut) -> bool:
        (piece,) = rule(Job(offcuts=(offcut,), blanks=(rib("Rib", 1, 24),)))
        return piece.jointed[0].strips[0].sticks[0].turned

    assert turned(board("P1", 30, width=2.75, thickness=2.75)) is False
    assert turned(replace(board("P1", 30, width=2.75, thickness=2.75), crook=inches(0.5))) is True


@pytest.mark.parametrize("rule", RULES)
def test_ends_come_off_to_past_a_check(rule: Rule) -> None:
    """A check through the whole width that begins at end A shortens the billet by an inch more than it is long."""
    check = Defect(kind="end check", x1=0, x2=inches(3), y1=0, y2=inches(3), z1=0, z2=inches(1.5))
    (piece,) = rule(Job(offcuts=(board("P1", 40, defects=(check,)),), blanks=(rib("Rib", 1, 24),)))
    assert piece.billets[0].start == inches(4)


@pytest.mark.parametrize("rule", RULES)
def test_blanks_step_over_a_defect(rule: Rule) -> None:
    """A stain across the middle of a board leaves room for a rib on both sides of it."""
    stain = Defect(kind="stain", x1=inches(19), x2=inches(20), y1=0, y2=inches(3), z1=0, z2=inches(1.5))
    plan = planned(rule, Job(offcuts=(board("P1", 40, defects=(stain,)),), blanks=(rib("Rib", 2, 17),)))
    first, second = plan.offcuts[0].blanks
    assert (first.end <= inches(19), second.start) == (True, inches(20))


@pytest.mark.parametrize("rule", RULES)
def test_the_shortest_blank_stands_at_end_a(rule: Rule) -> None:
    """Blanks of a stick stand shortest first, a saw kerf apart, whatever was laid first (R12)."""
    blanks = (rib("Long", 1, 20), rib("Short", 1, 8), rib("Middle", 1, 12))
    plan = planned(rule, Job(offcuts=(board("P1", 50),), blanks=blanks))
    cuts = list(plan.offcuts[0].blanks)
    assert [cut.blank for cut in cuts] == ["Short", "Middle", "Long"]
    assert {after.start - before.end for before, after in pairwise(cuts)} == {INCH // 8}


@pytest.mark.parametrize("rule", RULES)
def test_the_first_class_comes_first(rule: Rule) -> None:
    """The only board goes to the first class, though the second asks for a longer blank."""
    blanks = (rib("Second", 1, 30, priority=2), rib("First", 1, 20, priority=1))
    plan = planned(rule, Job(offcuts=(board("P1", 33),), blanks=blanks))
    assert plan.proof.missing == (("1", 0), ("2", 1), (SPARES, 0))


@pytest.mark.parametrize("rule", RULES)
def test_spares_come_after_all_needs(rule: Rule) -> None:
    """A spare of a long kind waits until a needed short one is made, and no kind that misses any has one."""
    blanks = (rib("Long", 1, 20, spare=5), rib("Short", 2, 14), rib("Never", 1, 90, spare=1))
    plan = planned(rule, Job(offcuts=(board("P1", 23), board("P2", 30), board("P3", 23)), blanks=blanks))
    assert plan.made == (("Long", 1), ("Short", 2), ("Never", 0))
    assert dict(plan.spare)["Never"] == 0
    assert plan.proof.missing == (("1", 1), (SPARES, 6 - plan.spare_total))


def test_first_fit_opens_sticks_of_another_section_on_a_begun_board() -> None:
    """What is over beside the first strip gives a narrower rib; no second board is begun."""
    pile = (board("P1", 30, width=5), board("P2", 30, width=5))
    plan = planned(first_fit, Job(offcuts=pile, blanks=(rib("Rib", 1, 24), rib("Cleat", 1, 24, 1.5, 1.25))))
    assert drawn(plan) == {"P1": ["Rib", "Cleat"]}


def test_first_fit_leaves_a_long_end_on_the_rack() -> None:
    """A long board's billet is cut as short as its rib asks, so that the rest is a keeper unjointed."""
    (piece,) = first_fit(Job(offcuts=(board("P1", 90),), blanks=(rib("Rib", 1, 24),)))
    billet: Billet | SplitBillet = piece.billets[0]
    assert billet.end - billet.start == inches(25)


def first_fit_bins(length: int, wanted: Mapping[int, int], bins: int) -> int:
    """Return how many pieces textbook first-fit decreasing leaves out of so many bins."""
    free, out = [length] * bins, 0
    for size in sorted(Counter(wanted).elements(), reverse=True):
        place = next((n for n, room in enumerate(free) if room >= size), None)
        if place is None:
            out += 1
        else:
            free[place] -= size
    return out


def bars(length: int, wanted: Mapping[int, int], count: int) -> Job:
    """Return bars of one length in the shop that loses nothing."""
    return Job(
        offcuts=(board("Bar", length, 6, 6, qty=count),),
        blanks=tuple(rib(f"Piece {size}", need, size, 6, 6) for size, need in wanted.items()),
        shop=LOSSLESS,
    )


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("seed", range(20))
def test_bars_are_never_worse_than_first_fit_decreasing(rule: Rule, seed: int) -> None:
    """On bars of one length as few pieces are missing as by the textbook's rule."""
    rng = random.Random(f"bars {seed}")
    wanted = Counter(rng.randint(20, 100) for _ in range(60))
    bins = rng.randint(15, 30)
    assert planned(rule, bars(150, wanted, bins)).missing_total <= first_fit_bins(150, wanted, bins)


def test_the_demo_by_hand_is_what_a_careful_person_does() -> None:
    """All 53 are made in about 28 boards, 67 passes, 7 saw settings, 426 minutes; first-fit takes a third less."""
    job = read(DEMO)
    hand, fit = planned(by_hand, job), planned(first_fit, job)
    assert hand.missing_total == fit.missing_total == 0
    assert hand.work.saw_settings == 7
    assert 25 <= hand.work.offcuts <= 29
    assert 390_00 <= hand.work.hundredths <= 430_00
    assert 91_000 <= hand.proof.cost <= 95_000
    assert fit.proof.cost < 0.75 * hand.proof.cost
