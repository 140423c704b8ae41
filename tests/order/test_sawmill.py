"""The written order, followed line by line at the saw, makes exactly the plan's blanks and keepers."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING

import pytest
from random_plans import lying, random_plan
from sawmill import Instruction, RefusedError, Sawmill, Wood, from_text, from_xlsx

from yieldplan.model import WholeKeeper, milled
from yieldplan.order import cutting_order, order_text
from yieldplan.order.xlsx import xlsx_bytes
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Billet, Job, Offcut, OffcutPlan, Plan

SEEDS = range(100)
Space = tuple[tuple[int, int], tuple[int, int], tuple[int, int]]


@cache
def read_back(seed: int) -> tuple[Instruction, ...]:
    """Return a random plan's order as it stands in its workbook."""
    return tuple(from_xlsx(BytesIO(xlsx_bytes(cutting_order(*random_plan(seed))))))


def wanted(job: Job, drawn: OffcutPlan) -> Iterator[tuple[str, Space, Space]]:
    """Yield, for every blank (by name) and keeper ("") of a plan, where it lies and how large it is.

    The first space is x on the offcut, y and z in the billet's box, as planned; the second holds least and
    most sizes.
    """
    offcut, shop = job.offcut(drawn.offcut), job.shop
    for segment in drawn.segments:
        along = (segment.start, segment.end)
        if isinstance(segment, WholeKeeper):
            whole = (along, (0, offcut.width), (0, offcut.thickness))
            yield "", whole, tuple((b - a, b - a) for a, b in whole)  # type: ignore[misc]
        for wood, billet in milled(offcut, segment, shop):
            yield from wanted_of(job, wood, billet)


def wanted_of(job: Job, wood: Offcut, billet: Billet) -> Iterator[tuple[str, Space, Space]]:
    """Yield the same for a billet, or a half of one, that is jointed from ``wood``."""
    along, kerf = (billet.start, billet.end), max(job.shop.rip_kerf, job.shop.bandsaw_kerf)
    for stick, y, z in lying(wood, billet):
        if stick is None or stick.keeper:
            sizes = [(b - a, b - a) for a, b in (along, y, z)]
            yield "", (along, y, z), (sizes[0], *((a, b + kerf) for a, b in sizes[1:]))  # type: ignore[misc]
            continue
        blank = job.blank(stick.blanks[0].blank)
        flat = (blank.width, blank.thickness)
        section = flat[::-1] if stick.turned else flat
        for rest in stick.keepers:
            size = ((rest.end - rest.start,) * 2, *((s, s) for s in section))
            yield "", ((rest.start, rest.end), y, z), size  # type: ignore[misc]
        for cut in stick.blanks:
            finished = job.blank(cut.blank).length
            size = ((finished, finished), *((s, s) for s in section))
            at = (cut.start, cut.start + finished)
            if cut.clear_end == "B":
                at = (cut.end - finished, cut.end)
            yield cut.blank, (at, y, z), size  # type: ignore[misc]


def check(job: Job, plan: Plan, bench: dict[str, Wood]) -> None:
    """Compare what lies on the bench with the plan: kinds, places, sizes, nothing more and nothing less."""
    mark = job.shop.shown_steps
    left = list(bench.values())
    for drawn in plan.offcuts:
        qty = job.offcut(drawn.offcut).qty
        root = drawn.offcut if qty == 1 else f"{drawn.offcut}#{drawn.copy}"
        for blank, place, sizes in wanted(job, drawn):
            loose = 2 * mark if blank else 4 * mark
            found = [w for w in left if w.root == root and w.blank == blank and lies(w, place, 4 * mark)]
            assert found, f"no {blank or 'keeper'} of {root} at {place}"
            wood = found[0]
            for axis, (least, most) in zip("xyz", sizes, strict=True):
                assert least - (0 if blank else loose) <= wood.size(axis) <= most + loose, (root, blank, axis)
            left.remove(wood)
    assert not left


def lies(wood: Wood, place: Space, loose: int) -> bool:
    """Return whether a piece lies where it was planned: inside its place, but for the marks of the rule."""
    return all(
        wood.spans[axis][0] >= low - loose and wood.spans[axis][0] < high
        for axis, (low, high) in zip("xyz", place, strict=True)
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_following_the_workbook_makes_the_plan(seed: int) -> None:
    """Every line of the workbook can be done, and what comes out is the plan's, no more and no less."""
    job, plan = random_plan(seed)
    assert not verify(job, plan)
    check(job, plan, Sawmill(job).run(read_back(seed)))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_text_says_the_same_as_the_workbook(seed: int) -> None:
    """The terminal's text, followed, makes the plan too: line for line it is the workbook's order."""
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
        ("Rips", {"size": "3000"}),
        ("Rips", {"where": "far edge side (sawn)"}),
        ("Rips", {"times": 2}),
        ("Planing flat", {"size": "3000"}),
        ("Final crosscuts: to length", {"size": "9000"}),
        ("Final crosscuts: to length", {"what": "another blank"}),
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


@pytest.mark.parametrize("work", ["Face jointing", "Planing on edge", "Final crosscuts: part the sticks"])
def test_the_sawmill_notices_a_line_left_out(work: str) -> None:
    """Without a jointing, planing or crosscut line, the order cannot be followed to the plan's end."""
    job, plan = random_plan(1)
    lines = list(read_back(1))
    del lines[first(lines, work)]
    with pytest.raises(AssertionError):
        check(job, plan, Sawmill(job).run(lines))
