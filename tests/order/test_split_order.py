"""Billets split before jointing in the cutting order: when, at which machine, with which words."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from random_plans import random_plan
from sawmill import RefusedError, Sawmill

from yieldplan.model import Job, SplitBillet
from yieldplan.order import Order, cutting_order, order_text
from yieldplan.order.data import WASTE, Joint, Split
from yieldplan.order.sentences import card_lines


@cache
def splitting() -> tuple[Job, Order]:
    """Return the first random order that splits billets, into two halves that are used and into one."""
    for seed in range(200):
        job, plan = random_plan(seed)
        found = [s for drawn in plan.offcuts for s in drawn.billets if isinstance(s, SplitBillet)]
        if {sum(half is not None for half in billet.halves) for billet in found} == {1, 2}:
            return job, cutting_order(job, plan)
    raise AssertionError("no random plan splits billets both ways")


def test_a_split_comes_first_at_the_bandsaw_and_before_any_jointing() -> None:
    """The piece has no true face yet: it is never put on the table saw, and is an odd cut of its own."""
    _, order = splitting()
    (saws,) = (one for one in order.lists if one.kind == "saws")
    splits = [isinstance(setting.steps[0], Split) for setting in saws.settings]
    assert splits == sorted(splits, reverse=True)
    assert {(s.machine.value, s.odd) for s in saws.settings if isinstance(s.steps[0], Split)} == {
        ("bandsaw", True)
    }
    for card in order.cards:
        steps = list(card.steps)
        last = max((at for at, step in enumerate(steps) if isinstance(step, Split)), default=-1)
        assert all(at > last for at, step in enumerate(steps) if isinstance(step, Joint))


def test_every_split_of_the_plan_is_said_with_its_line() -> None:
    """The figure is the near half's width, which lies on a mark; a half without use is said to fall."""
    job, order = splitting()
    for card in order.cards:
        splits = [billet for billet in card.drawn.billets if isinstance(billet, SplitBillet)]
        assert [split.line for split in card.splits] == [billet.split for billet in splits]
        said = [line.text for line in card_lines(card, job.shop) if "split along a line" in line.text]
        assert len(said) == len(splits)
        for text, billet in zip(said, splits, strict=True):
            falls = [word for word, half in zip(("near", "far"), billet.halves, strict=True) if half is None]
            assert [word for word in ("near", "far") if f"the {word} half is waste" in text] == falls


def test_halves_are_explained_where_there_are_any() -> None:
    """An order without splits does not explain them."""
    words = "Near and far are the halves of a split one"
    _, order = splitting()
    assert words in " ".join(order_text(order).split())
    plans = (random_plan(seed) for seed in range(200))
    whole = (
        (job, plan)
        for job, plan in plans
        if plan.offcuts and not any(isinstance(s, SplitBillet) for d in plan.offcuts for s in d.billets)
    )
    assert words not in " ".join(order_text(cutting_order(*next(whole))).split())


@pytest.mark.parametrize("change", [{"line": 0}, {"piece": "no such piece"}, {"near": "P1", "far": "P1"}])
def test_the_sawmill_refuses_a_wrong_split(change: dict[str, object]) -> None:
    """The simulator that follows the order checks the split's piece, line and parts."""
    job, order = splitting()
    mill = Sawmill(job, order)
    card = next(card for card in order.cards if card.splits)
    mill.do(card.ends)
    with pytest.raises(RefusedError):
        mill.do(replace(card.splits[0], **change))  # type: ignore[arg-type]


def test_halves_are_named_after_where_they_lie() -> None:
    """A half of several sticks is called near or far; one of a single stick has that stick's number."""
    _, order = splitting()
    assert any(card.splits for card in order.cards)
    for card in order.cards:
        names = {name for split in card.splits for name in (split.near, split.far)} - {WASTE}
        halves = [milled for milled in card.milled if milled.half]
        assert names == {milled.name for milled in halves}
        for milled in halves:
            count = sum(not section.keeper for section in milled.sections)
            assert milled.name.endswith(milled.half) == (count > 1)
