"""In which order a machine's settings are made: each once for the whole batch, as far as the pieces let it.

The cuts of a row, or of a stick, have their own order; such a chain belongs to one piece of wood. Over all chains a
setting is made when all of its cuts can be done, the first by size of those that can. Where no setting can be done
whole, because two chains ask for the same two the other way round, one is made again later. An odd cut is listed with
its board after all common settings, if that can be, or else just before the one that waits for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from yieldplan.order.data import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A step before it has found its place, at a fence or a stop in steps; ``odd`` is a setting of its own."""

    size: int
    step: Step
    odd: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Cuts at one setting; ``again``: the setting was made before."""

    size: int
    cuts: tuple[Cut, ...]
    odd: bool = False
    again: bool = False


def in_turn(chains: Iterable[Sequence[Cut]], first: Callable[[Iterable[int]], int]) -> list[Group]:
    """Return the groups of cuts in the order in which they are made.

    Parameters
    ----------
    chains
        The cuts of each piece of wood, in their own order; chains keep their order within a group.
    first
        Which of several sizes is made first: ``max`` or ``min``.
    """
    left = [list(chain) for chain in chains]
    made: set[int] = set()
    groups: list[Group] = []
    while waiting := [chain for chain in left if chain]:
        ready = {size for chain in waiting if (size := _next(chain)) is not None}
        if not ready:
            return groups + [_odd(cut) for chain in waiting for cut in chain]
        whole = {size for size in ready if all(_is_one_run(chain, size) for chain in waiting)}
        free = {size for size in whole if not any(chain[0].odd and _next(chain) == size for chain in waiting)}
        size = first(free or whole or ready)
        run: list[Cut] = []
        for chain in waiting:
            if _next(chain) == size:
                while chain[0].odd:
                    groups.append(_odd(chain.pop(0)))
                while chain and not chain[0].odd and chain[0].size == size:
                    run.append(chain.pop(0))
        groups.append(Group(size=size, cuts=tuple(run), again=size in made))
        made.add(size)
    return groups


def _odd(cut: Cut) -> Group:
    return Group(size=cut.size, cuts=(cut,), odd=True)


def _next(chain: Sequence[Cut]) -> int | None:
    """Return the size of the next cut of a chain that is not odd."""
    return next((cut.size for cut in chain if not cut.odd), None)


def _is_one_run(chain: Sequence[Cut], size: int) -> bool:
    """Return whether all cuts of a chain at a size can be done now, one after another, or it has none."""
    places = [place for place, cut in enumerate(chain) if not cut.odd and cut.size == size]
    if not places:
        return True
    begin, end = places[0], places[-1]
    return len(places) == end - begin + 1 and all(cut.odd for cut in chain[:begin])
