"""What the recheck says, word for word, of each change to the plans worked out by hand in test_verify*.py.

``python tests/test_verify_sentences.py`` writes it anew; read the difference before it is kept.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import test_verify_split as of_split
from test_verify import (
    JOB_CHANGES,
    OTHER_CHANGES,
    RICH,
    RICH_CHANGES,
    RICH_RAW,
    TINY,
    TINY_CHANGES,
    TINY_RAW,
    copy_of,
    plan_of,
)

from yieldplan.model import Job, Plan, Shop
from yieldplan.verify import verify
from yieldplan.verify.breach import Notebook, plain

SAID = Path(__file__).with_name("verify_sentences.txt")


def cases() -> dict[str, tuple[Job, Plan]]:
    """Return every changed plan with its job; some are said in millimetres as well."""
    found: dict[str, tuple[Job, Plan]] = {}
    for word, job, raw, changes in (
        ("tiny", TINY, TINY_RAW, TINY_CHANGES),
        ("rich", RICH, RICH_RAW, RICH_CHANGES),
        ("split", of_split.JOB, of_split.RAW, of_split.CHANGES),
    ):
        for name, change, _ in changes:
            changed = copy_of(raw)
            change(changed)
            found[f"{word}: {name}"] = (job, plan_of(changed))
    for name, job, _ in JOB_CHANGES:
        found[f"job: {name}"] = (job, plan_of(RICH_RAW))
    for name, job, _ in of_split.JOBS:
        found[f"split: {name}"] = (job, plan_of(of_split.RAW))
    for name, change, _ in OTHER_CHANGES:
        changed = copy_of(RICH_RAW)
        change(changed)
        found[f"beside: {name}"] = (RICH, plan_of(changed))
    for name in ("tiny: strip a step wide", "tiny: face loss", "tiny: short keeper"):
        job, plan = found[name]
        found[f"{name}, mm"] = (replace(job, shop=Shop(units="mm")), plan)
    return found


def said() -> dict[str, str]:
    """Return the sentences that are expected, by the name of the change."""
    blocks = SAID.read_text(encoding="utf-8").split("== ")[1:] if SAID.exists() else []
    return dict(block.split("\n", 1) for block in blocks)


CASES, EXPECTED = cases(), said()


def sentences(name: str) -> str:
    """Return what the recheck says of a case, a sentence a line."""
    return "".join(f"{breach.sentence()}\n" for breach in verify(*CASES[name]))


@pytest.mark.parametrize("name", CASES)
def test_it_says_what_is_wrong_and_where(name: str) -> None:
    """Every breach that a change makes is said, in its order, with place, figures and what is needed."""
    assert sentences(name) == EXPECTED[name]


@pytest.mark.parametrize(
    ("steps", "inches", "millimetres"),
    [
        (0, "0 steps (0 in)", "0 steps (0.0 mm)"),
        (127, "127 steps (1/64 in)", "127 steps (about 0.4 mm)"),
        (63, "63 steps (about 0 in)", "63 steps (about 0.2 mm)"),
        (64, "64 steps (about 1/64 in)", "64 steps (0.2 mm)"),
        (15, "15 steps (about 0 in)", "15 steps (about 0.0 mm)"),
        (16, "16 steps (about 0 in)", "16 steps (about 0.1 mm)"),
        (4064, "4064 steps (1/2 in)", "4064 steps (12.7 mm)"),
        (8128, "8128 steps (1 in)", "8128 steps (25.4 mm)"),
        (8128 + 3 * 1016, "11176 steps (1 3/8 in)", "11176 steps (about 34.9 mm)"),
        (-8255, "-8255 steps (-1 1/64 in)", "-8255 steps (about -25.8 mm)"),
        (2**128, "more than 2^128 steps (about 41865448686139082611143529457648648 1/16 in)", None),
    ],
)
def test_sizes_are_written_in_the_shop_s_unit(steps: int, inches: str, millimetres: str | None) -> None:
    """Steps first, then the nearest 64th of an inch or tenth of a millimetre, and whether that is exact."""
    assert Notebook(shop=Shop(), blanks={}).size(steps) == inches
    if millimetres is not None:
        assert Notebook(shop=Shop(units="mm"), blanks={}).size(steps) == millimetres


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (2**128 - 1, "340282366920938463463374607431768211455"),
        (2**128, "more than 2^128"),
        (-(2**128), "less than -2^128"),
        (2**20_000, "more than 2^20000"),
    ],
    ids=["largest shown", "too large", "too small", "beyond printing"],
)
def test_numbers_of_absurd_size_are_given_as_their_order(number: int, text: str) -> None:
    """What would fill the screen, or what Python refuses to print, is said shortly."""
    assert plain(number) == text


def main() -> None:
    """Write what is said of every case."""
    SAID.write_text("".join(f"== {name}\n{sentences(name)}" for name in CASES), encoding="utf-8")


if __name__ == "__main__":
    main()
