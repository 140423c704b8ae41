"""Billets split before jointing in the cutting order: when, at which machine, with which words, and what is drawn."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from io import BytesIO

import pytest
from random_plans import random_plan
from sawmill import Instruction, RefusedError, Sawmill, from_xlsx

from yieldplan.model import SplitBillet
from yieldplan.order import cutting_order, order_text
from yieldplan.order.cautions import CAUTIONS, HOW
from yieldplan.order.data import Machine, Order, Stage
from yieldplan.order.paper import Line, Rect
from yieldplan.order.views import face_scale, face_view
from yieldplan.order.xlsx import xlsx_bytes

STAGES = tuple(Stage)


@cache
def seed_of_a_split() -> int:
    """Return the first seed whose plan splits billets, into two halves that are used and into one."""
    for seed in range(200):
        _, plan = random_plan(seed)
        found = [s for drawn in plan.offcuts for s in drawn.billets if isinstance(s, SplitBillet)]
        used = {sum(half is not None for half in billet.halves) for billet in found}
        if used == {1, 2}:
            return seed
    raise AssertionError("no random plan splits billets both ways")


def order() -> Order:
    """Return the order of that plan."""
    return cutting_order(*random_plan(seed_of_a_split()))


def lines() -> list[Instruction]:
    """Return its lines as read from the workbook."""
    return from_xlsx(BytesIO(xlsx_bytes(order())))


def test_a_split_comes_after_the_crosscuts_and_before_any_jointing_at_the_bandsaw() -> None:
    """The piece has no true face yet: it is never put on the table saw."""
    stages = [sheet.stage for sheet in order().sheets]
    assert stages.index(Stage.ENDS) < stages.index(Stage.SPLIT) < stages.index(Stage.FACE)
    machines = {sheet.machine for sheet in order().sheets if sheet.stage is Stage.SPLIT}
    assert machines == {Machine.BANDSAW}


def test_every_split_of_the_plan_has_one_line_with_its_place() -> None:
    """The figure is the near half's width, which lies on a mark of the rule; waste is said."""
    _, plan = random_plan(seed_of_a_split())
    splits = [s for drawn in plan.offcuts for s in drawn.billets if isinstance(s, SplitBillet)]
    found = [line for sheet in order().sheets if sheet.stage is Stage.SPLIT for line in sheet.lines]
    assert [line.size for line in found] == [billet.split for billet in splits]
    assert [len(line.gives) for line in found] == [
        sum(half is not None for half in billet.halves) for billet in splits
    ]
    assert all((line.rest == "waste") == (len(line.gives) == 1) for line in found)


def test_text_says_how_and_warns_of_the_table_saw() -> None:
    """The stage's own sentences and the bandsaw's cautions stand above its lines."""
    text = " ".join(order_text(order(), width=120).split())
    begin = text.index("ROUGH SPLITS (BANDSAW)")
    part = text[begin : text.index("FACE JOINTING", begin)]
    assert all(
        " ".join(sentence.split()) in part for sentence in (*HOW[Stage.SPLIT], *CAUTIONS[Machine.BANDSAW])
    )
    assert "Never on the table saw" in part
    assert "along a drawn line" in part
    assert re.search(r"\S+-near and \S+-far are the halves", text)


def test_no_split_no_word_of_it() -> None:
    """An order without splits does not explain them."""
    seed = next(
        seed
        for seed in range(200)
        if not any(
            isinstance(s, SplitBillet) for drawn in random_plan(seed)[1].offcuts for s in drawn.billets
        )
    )
    assert "far are the halves" not in order_text(cutting_order(*random_plan(seed)))


@pytest.mark.parametrize(
    "change",
    [
        {"machine": "table saw"},
        {"size": "0"},
        {"setting": "Fence at 3"},
        {"where": "far edge"},
        {"rest": "something"},
        {"gives": ()},
    ],
)
def test_the_sawmill_refuses_a_wrong_split(change: dict[str, object]) -> None:
    """The simulator that follows the order checks the split's machine, line and parts."""
    job, _ = random_plan(seed_of_a_split())
    found = lines()
    place = next(i for i, line in enumerate(found) if line.work == "Rough splits")
    found[place] = replace(found[place], **change)  # type: ignore[arg-type]
    with pytest.raises(RefusedError):
        Sawmill(job).run(found)


def test_the_card_draws_the_saw_cut_across_the_face() -> None:
    """On the face a line runs along the billet where each half that is used ends or begins."""
    for card in order().cards:
        drawing, _ = face_view(card, 500.0, str)
        scale = face_scale(card, 500.0)
        face = next(mark.box for mark in drawing.marks if isinstance(mark, Rect))
        level = {mark.y1 for mark in drawing.marks if isinstance(mark, Line) and mark.y1 == mark.y2}
        for milled in card.milled:
            if milled.half:
                at = face.y2 - scale(milled.wood.low or milled.wood.width)
                assert any(abs(y - at) < 1e-6 for y in level)


def test_halves_are_named_after_where_they_lie() -> None:
    """A half of several sticks is called near or far; one of a single stick has that stick's number."""
    for card in order().cards:
        for milled in card.milled:
            count = sum(not section.keeper for section in milled.sections)
            if milled.half:
                assert milled.name.endswith(milled.half) == (count > 1), milled.name
