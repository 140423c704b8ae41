"""One fault as data, and the sentence it makes."""

from __future__ import annotations

import pytest

from yieldplan.model import InputError, Problem
from yieldplan.model.errors import YieldplanError


@pytest.mark.parametrize(
    ("sheet", "cell", "place"),
    [
        ("Offcuts", "D7", "pile.xlsx, Offcuts!D7"),
        ("", "line 7, Width", "pile.xlsx, line 7, Width"),
        ("Offcuts", "", "pile.xlsx, Offcuts"),
        ("", "", "pile.xlsx"),
    ],
)
def test_place(sheet: str, cell: str, place: str) -> None:
    """The place leaves out what is not known."""
    assert Problem(file="pile.xlsx", sheet=sheet, cell=cell, found="is wrong").place == place


def test_the_sentence_has_all_its_parts_in_order() -> None:
    """Place, what stands there, what is wrong, what was expected, the next step."""
    problem = Problem(
        file="pile.xlsx",
        sheet="Blanks",
        cell="F2",
        value="oka",
        found="is not in the pile",
        expected="a species of the pile",
        suggestion="did you mean oak?",
    )
    assert problem.sentence() == (
        "pile.xlsx, Blanks!F2: “oka” is not in the pile; expected a species of the pile; did you mean oak?"
    )


def test_a_bare_sentence_ends_in_a_full_stop() -> None:
    """Parts that are not there leave no trace."""
    assert Problem(file="pile.xlsx", found="holds no sheet").sentence() == "pile.xlsx: holds no sheet."


def test_an_input_error_says_every_problem() -> None:
    """Its text is all sentences, and it can be caught as ValueError or as the package's own."""
    error = InputError((Problem(file="a", found="is one"), Problem(file="b", found="is two")))
    assert str(error) == "a: is one.\nb: is two."
    assert isinstance(error, ValueError)
    assert isinstance(error, YieldplanError)
