"""What hangs at the machines: the steps of all boards by machine and setting, in working order."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.order.data import At, MachineList, Plane, Saw, Setting, Square, Stop
from yieldplan.order.schedule import Cut, in_turn

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from yieldplan.order.data import Card, Step

ENDS = ""
SPLITS = "Splits, before jointing"
SAWS = {1: "First cuts", 2: "Second cuts"}
ON_EDGE = "On edge, to width"
FLAT = "Flat, to thickness"
SQUARE = "First: square end A"
TO_STOP = "Then to the stop, short blanks first"


def machine_lists(cards: Sequence[Card]) -> tuple[MachineList, ...]:
    """Return the lists of the machines; one without work is left out. Boards keep their order within a setting."""
    found = (
        MachineList(kind="ends", settings=tuple(_ends(cards))),
        MachineList(kind="saws", settings=(*_splits(cards), *_saws(cards))),
        MachineList(kind="planer", settings=tuple(_planer(cards))),
        MachineList(kind="stop", settings=(*_squares(cards), *_stops(cards))),
    )
    return tuple(one for one in found if one.settings)


def _ends(cards: Sequence[Card]) -> Iterator[Setting]:
    steps = tuple(card.ends for card in cards if card.ends.cuts)
    if steps:
        yield Setting(part=ENDS, machine=At.CROSSCUT, size=None, steps=steps)


def _splits(cards: Sequence[Card]) -> Iterator[Setting]:
    for split in (split for card in cards for split in card.splits):
        yield Setting(part=SPLITS, machine=At.BANDSAW, size=split.line, steps=(split,), odd=True)


def _saws(cards: Sequence[Card]) -> Iterator[Setting]:
    """Yield the saws' settings: both saws for all first rows, largest first, then both for all second rows."""
    chains: dict[tuple[int, At], list[list[Cut]]] = {}
    for milled in (milled for card in cards for milled in card.milled):
        saws = [step for step in milled.steps if isinstance(step, Saw)]
        for _, group in groupby(saws, key=lambda step: step.chain):
            steps = list(group)
            cuts = [Cut(size=step.fence, step=step, odd=step.odd) for step in steps]
            chains.setdefault((steps[-1].stage, At(steps[-1].machine)), []).append(cuts)
    for stage, part in SAWS.items():
        for machine in (At.TABLE_SAW, At.BANDSAW):
            yield from _settings(part, chains.get((stage, machine), []), max)


def _settings(
    part: str, chains: Iterable[Sequence[Cut]], first: Callable[[Iterable[int]], int]
) -> Iterator[Setting]:
    for group in in_turn(chains, first):
        yield Setting(
            part=part,
            machine=group.cuts[0].step.at,
            size=group.size,
            steps=tuple(cut.step for cut in group.cuts),
            odd=group.odd,
            again=group.again,
        )


def _planer(cards: Sequence[Card]) -> Iterator[Setting]:
    planes = [step for step in _steps(cards) if isinstance(step, Plane)]
    for on_edge, part in ((True, ON_EDGE), (False, FLAT)):
        sizes = [step.width.to if on_edge else step.thickness.to for step in planes]
        for to in sorted(set(sizes), reverse=True):
            steps = tuple(step for step, size in zip(planes, sizes, strict=True) if size == to)
            yield Setting(part=part, machine=At.PLANER, size=to, steps=steps, on_edge=on_edge)


def _squares(cards: Sequence[Card]) -> Iterator[Setting]:
    squares = [step for step in _steps(cards) if isinstance(step, Square)]
    for cut in sorted({step.cut for step in squares}):
        steps = tuple(step for step in squares if step.cut == cut)
        yield Setting(part=SQUARE, machine=At.CROSSCUT, size=cut, steps=steps)


def _stops(cards: Sequence[Card]) -> Iterator[Setting]:
    """Yield the stop's settings, shortest first, each step with how many of its kind come before it."""
    chains: list[list[Cut]] = []
    for step in _steps(cards):
        if isinstance(step, Square):
            chains.append([])
        elif isinstance(step, Stop):
            chains[-1].append(Cut(size=step.stop, step=step))
    made: Counter[str] = Counter()
    for setting in _settings(TO_STOP, chains, min):
        counted: list[Step] = []
        for step in setting.steps:
            if isinstance(step, Stop):
                counted.append(replace(step, first=made[step.blank]))
                made[step.blank] += step.count
        yield replace(setting, steps=tuple(counted))


def _steps(cards: Sequence[Card]) -> Iterator[Step]:
    return (step for card in cards for milled in card.milled for step in milled.steps)
