"""Which two of a kind in pairs belong together: on cards and at the stop."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from random_plans import random_plan
from tiny import tiny_job, tiny_plan

from yieldplan.model.words import fold
from yieldplan.order import cutting_order
from yieldplan.order.data import Stop
from yieldplan.order.sentences import mark_words
from yieldplan.order.sheets import sheets
from yieldplan.order.text import order_text

if TYPE_CHECKING:
    from yieldplan.model import Job


def in_pairs(job: Job) -> Job:
    """Return a job with all kinds in pairs."""
    return replace(job, blanks=tuple(replace(blank, pairs=True) for blank in job.blanks))


@pytest.mark.parametrize("seed", range(40))
def test_each_pair_is_two_of_one_species_of_one_board_where_it_can_be(seed: int) -> None:
    """Each number of a kind stands on two blanks; as many as can be are of one board; each board names the other."""
    job, plan = random_plan(seed, offcuts=4)
    job = in_pairs(job)
    order = cutting_order(job, plan)
    where: dict[tuple[str, int], list[tuple[str, str]]] = {}
    species = {card.board: fold(card.offcut.species) for card in order.cards}
    for card in order.cards:
        marks = [(step.blank, mark) for step in card.steps if isinstance(step, Stop) for mark in step.marks]
        held = Counter(cut.blank for cut in card.drawn.blanks)
        assert Counter(blank for blank, _ in marks) == held
        own = Counter(blank for blank, (_, other) in marks if other == card.board)
        assert own == {blank: many // 2 * 2 for blank, many in held.items() if many > 1}
        for blank, (number, other) in marks:
            where.setdefault((blank, number), []).append((card.board, other))
    for (_, number), ends in where.items():
        if number:
            (one, its), (other, others) = ends
            assert (its, others) == (other, one)
            assert species[one] == species[other]
        else:
            assert len({species[board] for board, _ in ends}) == len(ends)


def test_numbers_of_a_kind_run_from_one() -> None:
    """None is left out."""
    for seed in range(20):
        job, plan = random_plan(seed, offcuts=4)
        order = cutting_order(in_pairs(job), plan)
        found: dict[str, set[int]] = {}
        for step in (step for card in order.cards for step in card.steps if isinstance(step, Stop)):
            found.setdefault(step.blank, set()).update(number for number, _ in step.marks)
        assert all(numbers - {0} == set(range(1, max(numbers) + 1)) for numbers in found.values())


def test_card_list_and_workbook_say_it() -> None:
    """Of three ribs of one board two are a pair, and one has no like."""
    job = in_pairs(tiny_job())
    order = cutting_order(job, tiny_plan(job))
    text = " ".join(order_text(order).split())
    assert "made in pairs of one species. Pencil the number of its pair on each" in text
    assert text.count("of pair 1") == text.count("one alone") + 2 == 4
    (machines,) = (sheet for sheet in sheets(order, {}, ()) if sheet.title == "Machine lists")
    assert any("of pair 1" in str(cell) for row in machines.rows for cell in row)


def test_nothing_is_said_where_no_kind_is_in_pairs() -> None:
    """Not a word."""
    job = tiny_job()
    assert "pair" not in order_text(cutting_order(job, tiny_plan(job)))


def test_marks_in_words() -> None:
    """Both of a pair in one step are named once, a row of them by its ends; the other board stands with one."""
    both = [(number, "P1") for number in (1, 2, 3) for _ in range(2)]
    assert mark_words([*both, (4, "P1"), (7, "P2"), (0, "")], "P1") == (
        "both of pairs 1 to 3; one of pair 4; one of pair 7, with P2; one alone"
    )
    assert mark_words(both[:2], "P1") == "both of pair 1"
    assert mark_words(both[:4], "P1") == "both of pairs 1 and 2"
