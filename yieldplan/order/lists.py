"""What hangs at the machines: the steps of all boards by machine and setting, each setting once, in working order.

The cuts of a row, or of a stick, have their own order; such a chain belongs to one piece of wood. Over all chains a
setting is made when all of its cuts can be done, the first by size of those that can. Where no setting can be done
whole, because two chains ask for the same two the other way round, one is made again later. Odd cuts are listed with
their boards after all common settings, if that can be, or else just before the setting that waits for one of them;
those of one size that can be made then are made together.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.order.data import At, MachineList, Plane, Saw, Setting, Square, Stop

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from yieldplan.order.data import Card, ListKind, Step

    Cut = tuple[bool, At, int, Saw | Stop]

TITLES: dict[ListKind, str] = {
    "ends": "Crosscut saw: ends off, before anything else",
    "saws": "Saws",
    "planer": "Planer",
    "stop": "Crosscut saw: to length",
}
SAWS = {1: "First cuts", 2: "Second cuts"}


def machine_lists(cards: Sequence[Card]) -> tuple[MachineList, ...]:
    """Return the lists of the machines; one without work is left out. Boards keep their order within a setting."""
    steps = [step for card in cards for milled in card.milled for step in milled.steps]
    ends = tuple(card.ends for card in cards if card.ends.cuts)
    planes = [step for step in steps if isinstance(step, Plane)]
    on_edge, flat = ([(step.to, step) for step in planes if step.on_edge == so] for so in (True, False))
    squares = [(step.cut, step) for step in steps if isinstance(step, Square)]
    splits = (
        Setting(part="Splits, before jointing", machine=At.BANDSAW, size=split.line, steps=(split,), odd=True)
        for card in cards
        for split in card.splits
    )
    edge_first = _sized("On edge, to width", At.PLANER, on_edge)
    found: dict[ListKind, tuple[Setting, ...]] = {
        "ends": (Setting(part="", machine=At.CROSSCUT, size=None, steps=ends),) if ends else (),
        "saws": (*splits, *_saws(cards)),
        "planer": (*edge_first, *_sized("Flat, to thickness", At.PLANER, flat)),
        "stop": (*_sized("First: square end A", At.CROSSCUT, squares), *_stops(steps)),
    }
    return tuple(
        MachineList(kind=kind, title=TITLES[kind], settings=own) for kind, own in found.items() if own
    )


def _sized(part: str, machine: At, steps: Sequence[tuple[int, Step]]) -> Iterator[Setting]:
    """Yield a setting for each size: the planer comes down from the largest, the saw takes more and more off."""
    for size in sorted({size for size, _ in steps}, reverse=machine is At.PLANER):
        own = tuple(step for its, step in steps if its == size)
        yield Setting(part=part, machine=machine, size=size, steps=own)


def _saws(cards: Sequence[Card]) -> Iterator[Setting]:
    """Yield the saws' settings: both saws for all first rows, largest first, then both for all second rows."""
    chains: dict[tuple[int, str], list[list[Saw]]] = {}
    for milled in (milled for card in cards for milled in card.milled):
        saws = [step for step in milled.steps if isinstance(step, Saw)]
        for _, group in groupby(saws, key=lambda step: step.chain):
            steps = list(group)
            chains.setdefault((steps[-1].stage, steps[-1].machine), []).append(steps)
    for stage, part in SAWS.items():
        for machine in ("table saw", "bandsaw"):
            yield from in_turn(part, chains.get((stage, machine), []), max)


def in_turn(
    part: str, chains: Iterable[Sequence[Saw | Stop]], first: Callable[[Iterable[int]], int]
) -> Iterator[Setting]:
    """Yield the settings of a part of the work in the order in which they are made.

    Parameters
    ----------
    chains
        The cuts of each piece of wood, in their own order; chains keep their order within a setting.
    first
        Which of several sizes is made first: ``max`` or ``min``.
    """
    left = [[(*_setting(cut), cut) for cut in chain] for chain in chains]
    made: set[int] = set()
    while waiting := [chain for chain in left if chain]:
        ready = {size for chain in waiting if (size := _next(chain)) is not None}
        if not ready:
            yield _odd(part, waiting, waiting[0][0])
            continue
        whole = {size for size in ready if all(_is_one_run(chain, size) for chain in waiting)}
        free = {size for size in whole if not any(chain[0][0] and _next(chain) == size for chain in waiting)}
        size = first(free or whole or ready)
        own = [chain for chain in waiting if _next(chain) == size]
        for chain in own:
            while chain[0][0]:
                yield _odd(part, waiting, chain[0])
        at = own[0][0][1]
        run = tuple(_taken(own, (False, at, size)))
        yield Setting(part=part, machine=at, size=size, steps=run, again=size in made)
        made.add(size)


def _setting(cut: Saw | Stop) -> tuple[bool, At, int]:
    """Return whether a cut is odd, where it is made, and at which fence or stop."""
    return (cut.odd, cut.at, cut.fence) if isinstance(cut, Saw) else (False, At.CROSSCUT, cut.stop)


def _odd(part: str, waiting: Iterable[list[Cut]], like: Cut) -> Setting:
    """Take the odd cuts of one size that can be made now."""
    odd, at, size, _ = like
    return Setting(part=part, machine=at, size=size, steps=tuple(_taken(waiting, (odd, at, size))), odd=odd)


def _taken(chains: Iterable[list[Cut]], setting: tuple[bool, At, int]) -> Iterator[Saw | Stop]:
    """Yield the cuts that can be made at a setting now, and take them off their chains."""
    for chain in chains:
        while chain and chain[0][:3] == setting:
            yield chain.pop(0)[3]


def _next(chain: Sequence[Cut]) -> int | None:
    """Return the size of the next cut of a chain that is not odd."""
    return next((size for odd, _, size, _ in chain if not odd), None)


def _is_one_run(chain: Sequence[Cut], size: int) -> bool:
    """Return whether all cuts of a chain at a size can be done now, one after another, or it has none."""
    places = [place for place, (odd, _, its, _) in enumerate(chain) if not odd and its == size]
    if not places:
        return True
    begin, end = places[0], places[-1]
    return len(places) == end - begin + 1 and all(odd for odd, *_ in chain[:begin])


def _stops(steps: Sequence[Step]) -> Iterator[Setting]:
    """Yield the stop's settings, shortest first, each step with how many of its kind come before it, of how many."""
    chains: list[list[Saw | Stop]] = []
    made, totals = Counter[str](), Counter[str]()
    for step in steps:
        if isinstance(step, Square):
            chains.append([])
        elif isinstance(step, Stop):
            chains[-1].append(step)
            totals[step.blank] += step.count
    for setting in in_turn("Then to the stop, short blanks first", chains, min):
        counted: list[Step] = []
        for step in (step for step in setting.steps if isinstance(step, Stop)):
            counted.append(replace(step, first=made[step.blank], total=totals[step.blank]))
            made[step.blank] += step.count
        yield replace(setting, steps=tuple(counted))
