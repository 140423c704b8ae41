"""The written order, followed line by line at the saw, makes exactly the plan's blanks and keepers."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING

import pytest
from random_plans import lying, random_plan
from sawmill import Instruction, RefusedError, Sawmill, Wood, from_text, from_xlsx

from yieldplan.model import jointed, keepers, section
from yieldplan.order import cutting_order, order_text
from yieldplan.order.xlsx import xlsx_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job, OffcutPlan, Plan

SEEDS = range(40)
Span = tuple[int, int]
Found = tuple[str, Span, Span, Span]
"""A blank's name ("" for a keeper) and where it lies; what is planed lies anywhere in its rough section."""


@cache
def read_back(seed: int) -> tuple[Instruction, ...]:
    """Return a random plan's order as it stands in its workbook."""
    return tuple(from_xlsx(BytesIO(xlsx_bytes(cutting_order(*random_plan(seed))))))


def wanted(job: Job, drawn: OffcutPlan) -> Iterator[tuple[Found, Span]]:
    """Yield where every blank and keeper of a drawn offcut lies, and the sizes across that a planed one has."""
    for keeper in keepers(job, drawn):
        planed = keeper.size[1:] if keeper.form == "end" else (0, 0)
        yield ("", keeper.x, keeper.across, keeper.deep), planed
    for _, billet in jointed(job, drawn):
        for stick, y, z in lying(billet):
            for cut in stick.blanks:
                found = section(job.offcut(drawn.offcut), job.blank(cut.blank), job.shop, turned=stick.turned)
                flat = (found.planed_width, found.planed_thickness)
                yield (cut.blank, (cut.start, cut.end), y, z), flat[::-1] if stick.turned else flat


def check(job: Job, plan: Plan, bench: list[Wood]) -> None:
    """Compare what lies on the bench with the plan: kinds, places and sizes exact, nothing more and nothing less."""
    left = list(bench)
    for drawn in plan.offcuts:
        qty = job.offcut(drawn.offcut).qty
        root = drawn.offcut if qty == 1 else f"{drawn.offcut}#{drawn.copy}"
        for found, planed in wanted(job, drawn):
            here = [wood for wood in left if wood.root == root and is_it(job, wood, found, planed)]
            assert here, f"no {found[0] or 'keeper'} of {root} at {found[1:]}"
            left.remove(min(here, key=lambda wood: wood.size("y") * wood.size("z")))
    assert not left


def is_it(job: Job, wood: Wood, found: Found, planed: Span) -> bool:
    """Return whether a piece is a blank or a keeper of the plan."""
    blank, x, y, z = found
    if wood.blank != blank or wood.spans["x"] != x:
        return False
    for axis, (low, high), size in (("y", y, planed[0]), ("z", z, planed[1])):
        begin, end = wood.spans[axis]
        if wood.near[axis] == "bandsawn":
            begin += job.shop.bandsaw_skim
        if size and (end - begin != size or begin < low or end > high):
            return False
        if not size and (begin != low or not 0 <= end - high <= unsawn(job, wood, axis)):
            return False
    return True


def unsawn(job: Job, wood: Wood, axis: str) -> int:
    """Return how much more than planned a keeper may measure: what the planer would have taken of a stick."""
    return job.shop.plane_off if wood.far[axis] == "rough" else 0


@pytest.mark.parametrize("seed", SEEDS)
def test_following_the_workbook_makes_the_plan(seed: int) -> None:
    """Every line of the workbook can be done, and what comes out is the plan's, no more and no less."""
    job, plan = random_plan(seed)
    check(job, plan, Sawmill(job).run(read_back(seed)))


@pytest.mark.parametrize("seed", SEEDS[:15])
def test_the_text_says_the_same_as_the_workbook(seed: int) -> None:
    """The text, followed, makes the plan too: line for line it is the workbook's order."""
    job, plan = random_plan(seed)
    lines = from_text(order_text(cutting_order(job, plan), width=240))
    check(job, plan, Sawmill(job).run(lines))
    short = [(line.step, line.work, line.piece, line.size, line.gives) for line in lines]
    assert short == [(x.step, x.work, x.piece, x.size, x.gives) for x in read_back(seed)]


def first(lines: list[Instruction], work: str) -> int:
    """Return the place of the first line of a stage."""
    return next(place for place, line in enumerate(lines) if line.work == work)


@pytest.mark.parametrize(
    ("work", "change"),
    [
        ("Rough crosscuts", {"size": "9000"}),
        ("Rough crosscuts", {"piece": "no such piece"}),
        ("Edge jointing", {"work": "Face jointing", "piece": "no such piece"}),
        ("Face jointing", {"size": "3000"}),
        ("First saw cuts", {"size": "3000"}),
        ("First saw cuts", {"where": "the fresh edge"}),
        ("First saw cuts", {"times": 7}),
        ("Second saw cuts", {"setting": "Fence at 3000 mm"}),
        ("Planing flat", {"size": "3000"}),
        ("Planing on edge", {"where": "either sawn edge down, then turn it over"}),
        ("Final crosscuts: square end A", {"size": "9000"}),
        ("Final crosscuts: to the stop", {"size": "9000"}),
        ("Final crosscuts: to the stop", {"blank": ""}),
    ],
)
def test_the_sawmill_refuses_what_cannot_be_done(work: str, change: dict[str, object]) -> None:
    """A line that asks for wood that is not there, or for the wrong side on the fence, is refused."""
    job, _ = random_plan(1)
    lines = list(read_back(1))
    place = first(lines, work)
    lines[place] = replace(lines[place], **change)  # type: ignore[arg-type]
    with pytest.raises(RefusedError):
        Sawmill(job).run(lines)


@pytest.mark.parametrize(
    "work",
    ["Face jointing", "First saw cuts", "Planing on edge", "Final crosscuts: square end A"],
)
def test_the_sawmill_notices_a_line_left_out(work: str) -> None:
    """Without a jointing, sawing, planing or crosscut line, the order cannot be followed to the plan's end."""
    job, plan = random_plan(1)
    lines = list(read_back(1))
    del lines[first(lines, work)]
    with pytest.raises(AssertionError):
        check(job, plan, Sawmill(job).run(lines))
