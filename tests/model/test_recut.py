"""Which cards of an older plan still hold: boards that the new plan cuts in the same way."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING

from strategies import small_job

from yieldplan.model import SplitBillet
from yieldplan.model.recut import as_cut, cards_that_hold, refilled
from yieldplan.solve.assemble import assemble
from yieldplan.solve.simple import by_hand

if TYPE_CHECKING:
    from yieldplan.model import OffcutPlan, Plan


def some_plan() -> Plan:
    """Return a plan by hand of three boards or more."""
    for seed in range(40):
        job = small_job(seed)
        plan = assemble(job, by_hand(job))
        if len(plan.offcuts) >= 3:
            return plan
    raise AssertionError("no such job")


def spared(drawn: OffcutPlan) -> OffcutPlan:
    """Return a drawing with every blank of it called a spare."""
    rows = (tuple(replace(cut, spare=True) for cut in stick.blanks) for stick in drawn.sticks)
    (found,) = refilled((drawn,), rows)
    return found


def test_the_same_plan_holds_all_its_cards() -> None:
    """In whatever order its boards stand."""
    plan = some_plan()
    turned = replace(plan, offcuts=plan.offcuts[::-1])
    assert cards_that_hold(plan.offcuts, turned.offcuts) == turned.offcuts


def test_a_board_that_is_cut_otherwise_has_a_new_card() -> None:
    """A billet that ends a mark later makes another card; so does another board with the same cuts."""
    plan = some_plan()
    first, second, *others = plan.offcuts
    billet = first.billets[0]
    longer = replace(first, billets=(replace(billet, end=billet.end + plan.mark), *first.billets[1:]))
    renamed = replace(second, offcut="another")
    assert cards_that_hold(plan.offcuts, (longer, renamed, *others)) == tuple(others)


def test_which_blanks_are_spares_changes_no_cut() -> None:
    """A card holds though its blanks, spares before, are needed now."""
    plan = some_plan()
    drawn = next(one for one in plan.offcuts if not isinstance(one.billets[0], SplitBillet))
    assert cards_that_hold((spared(drawn),), plan.offcuts) == (drawn,)
    assert as_cut(spared(drawn)) == as_cut(drawn)


def test_like_boards_may_take_the_card_of_each_other() -> None:
    """Of two old cards of like boards one holds where one of them is left, and not twice."""
    plan = some_plan()
    drawn = plan.offcuts[0]
    twins = (drawn, replace(drawn, copy=2))
    assert cards_that_hold(twins, twins[:1]) == cards_that_hold(twins[1:], twins) == (drawn,)


def test_the_count_is_the_same_from_both_sides() -> None:
    """What two plans have in common does not depend on which is the older."""
    rng, plan = random.Random(3), some_plan()
    some = [one for one in plan.offcuts if rng.random() < 0.6]
    held = (cards_that_hold(some, plan.offcuts), cards_that_hold(plan.offcuts, some))
    assert [len(cards) for cards in held] == [len(some)] * 2
