"""The order, followed step by step at the saw, makes exactly the plan's blanks and keepers."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from random_plans import lying, random_plan
from sawmill import RefusedError, Sawmill, Wood

from yieldplan import read
from yieldplan.model import keepers, section
from yieldplan.model.pieces import PieceNames
from yieldplan.model.wood import jointed
from yieldplan.order import Order, cutting_order
from yieldplan.order.data import Ends, Joint, MachineList, Plane, Saw, Split, Square, Step, Stop
from yieldplan.solve.assemble import assemble
from yieldplan.solve.simple import first_fit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job, OffcutPlan, Plan

DATA = Path(__file__).resolve().parents[2] / "data_demo"
DEMOS = ("skiff-frames.xlsx", "floor-cleats-mm")
HUNDREDS = range(10)
Span = tuple[int, int]
Found = tuple[str, Span, Span, Span]
"""A blank's name ("" for a keeper) and where it lies; what is planed lies anywhere in its rough section."""


@cache
def demo(name: str) -> tuple[Job, Plan]:
    """Return a demo and a plan for it; any right plan will do here."""
    job = read(DATA / name)
    return job, assemble(job, first_fit(job))


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
    names = PieceNames(job, plan)
    for drawn in plan.offcuts:
        board = names.board(drawn)
        left = [wood for wood in bench if wood.board == board]
        for found, planed in wanted(job, drawn):
            here = [wood for wood in left if is_it(job, wood, found, planed)]
            assert here, f"no {found[0] or 'keeper'} of {board} at {found[1:]}"
            left.remove(min(here, key=lambda wood: wood.size("y") * wood.size("z")))
        assert not left, f"more comes of {board} than is planned: {left}"


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
        unsawn = job.shop.plane_off if wood.far[axis] == "rough" else 0  # the planer takes that of a stick
        if not size and (begin != low or not 0 <= end - high <= unsawn):
            return False
    return True


def follow(job: Job, plan: Plan) -> None:
    """Follow a plan's order at the bench, board by board, and on the floor, machine by machine."""
    order = cutting_order(job, plan)
    check(job, plan, Sawmill(job, order).at_the_bench(order.cards))
    mill = Sawmill(job, order)
    check(job, plan, mill.on_the_floor(order))
    left = {name for name, wood in mill.pile.items() if not wood.cut}
    assert left == {kept.name for kept in order.rack}
    agree(plan, order)


def agree(plan: Plan, order: Order) -> None:
    """Assert that the steps are those that the plan's work counts, no more and no fewer."""
    work, steps = plan.work, [step for card in order.cards for step in (*card.steps, *before(card.ends))]
    kinds = Counter(type(step) for step in steps)
    saws = [step for step in steps if isinstance(step, Saw)]
    assert sum(step.passes for step in saws) + kinds[Split] == work.passes
    band = sum(step.passes for step in saws if step.machine == "bandsaw")
    assert band + kinds[Split] == work.bandsaw_passes
    assert sum(step.passes for step in saws if step.odd) + kinds[Split] == work.odd_cuts
    assert kinds[Joint] == work.billets
    sticks = sum(len(step.sticks) for step in steps if isinstance(step, Plane) and step.on_edge)
    assert sticks == sum(len(step.sticks) for step in steps if isinstance(step, Plane) and not step.on_edge)
    assert sticks == sum(len(step.sticks) for step in steps if isinstance(step, Square)) == work.sticks
    rough = sum(step.cuts for step in steps if isinstance(step, Ends))
    stops = [step for step in steps if isinstance(step, Stop)]
    final = sum(step.count + (len(step.sticks) if step.skip else 0) for step in stops)
    assert rough + sticks + final == work.crosscuts
    assert settings_made(order) == (work.saw_settings, work.planer_settings, work.stop_settings)


def before(ends: Ends) -> tuple[Ends, ...]:
    """Return the rough crosscuts of a board where its card has no step for them."""
    return () if ends.cuts or ends.metal else (ends,)


def settings_made(order: Order) -> tuple[int, int, int]:
    """Return how often saws, planer and stop are set, as work counts it.

    A setting that has to be made once more is counted once, one for odd cuts of several pieces once a piece.
    """
    made: Counter[str] = Counter()
    for one in order.lists:
        for setting in one.settings:
            counted = [step for step in setting.steps if not isinstance(step, Square)]
            counted = [step for step in counted if not isinstance(step, Saw) or step.passes]
            made[one.kind] += len(counted) if setting.odd else bool(counted) and not setting.again
    return made["saws"], made["planer"], made["stop"]


@pytest.mark.parametrize("hundred", HUNDREDS)
def test_following_the_order_makes_the_plan(hundred: int) -> None:
    """Every step can be done, and what comes out is the plan's, at the bench and on the floor: 1,000 random plans."""
    for seed in range(100 * hundred, 100 * hundred + 100):
        follow(*random_plan(seed, offcuts=1 if seed % 4 else 4))


@pytest.mark.parametrize("name", DEMOS)
def test_following_the_demos_orders_makes_their_plans(name: str) -> None:
    """Both demos, at the bench and on the floor."""
    follow(*demo(name))


@pytest.mark.parametrize("seed", range(30))
def test_a_setting_is_made_once(seed: int) -> None:
    """A fence that serves rips and resaws is set once in its stage, but where a row has it the other way round."""
    order = cutting_order(*random_plan(seed))
    for one in order.lists:
        seen = set()
        for setting in one.settings:
            key = (setting.part, setting.machine, setting.size)
            if not setting.odd:
                assert setting.again == (key in seen)
                seen.add(key)
            assert {size_of(step) for step in setting.steps} == {setting.size}


def size_of(step: Step) -> int | None:
    """Return what a step asks its machine to be set to."""
    if isinstance(step, Plane):
        return step.to
    sizes = {Saw: "fence", Split: "line", Square: "cut", Stop: "stop"}
    return getattr(step, sizes[type(step)]) if type(step) in sizes else None


def changed(order: Order, kind: type[Step], **change: object) -> Order:
    """Return an order in which the first step of a kind, on its card, is changed."""
    cards = list(order.cards)
    for at, card in enumerate(cards):
        for number, milled in enumerate(card.milled):
            steps = list(milled.steps)
            place = next((i for i, step in enumerate(steps) if isinstance(step, kind)), None)
            if place is not None:
                steps[place : place + 1] = [replace(steps[place], **change)] if change else []  # type: ignore[arg-type]
                parts = list(card.milled)
                parts[number] = replace(milled, steps=tuple(steps))
                cards[at] = replace(card, milled=tuple(parts))
                return replace(order, cards=tuple(cards))
    raise AssertionError(f"no {kind} in the order")


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        (Joint, {"piece": "no such piece"}),
        (Joint, {"thick": 1}),
        (Saw, {"fence": 1 << 30}),
        (Saw, {"side": "face 2"}),
        (Saw, {"down": "fresh edge"}),
        (Saw, {"passes": 7}),
        (Saw, {"height": 1}),
        (Saw, {"gives": ("P1",)}),
        (Plane, {"sticks": ("no such stick",)}),
        (Square, {"cut": 1 << 30}),
        (Square, {"cut": 0}),
        (Stop, {"stop": 1 << 30}),
        (Joint, {}),
        (Saw, {}),
        (Plane, {}),
        (Square, {}),
        (Stop, {}),
    ],
)
def test_the_sawmill_notices_what_is_wrong(kind: type[Step], change: dict[str, object]) -> None:
    """A step that asks for wood that is not there, or for the wrong side, or is left out, does not make the plan."""
    job, plan = random_plan(1)
    order = changed(cutting_order(job, plan), kind, **change)
    with pytest.raises((RefusedError, AssertionError)):
        check(job, plan, Sawmill(job, order).at_the_bench(order.cards))


def test_the_sawmill_notices_a_list_in_the_wrong_order() -> None:
    """Second cuts before the first cuts cannot be done."""
    job, plan = random_plan(1)
    order = cutting_order(job, plan)

    def swapped(one: MachineList) -> MachineList:
        return replace(one, settings=one.settings[::-1]) if one.kind == "saws" else one

    order = replace(order, lists=tuple(map(swapped, order.lists)))
    with pytest.raises(RefusedError):
        Sawmill(job, order).on_the_floor(order)
