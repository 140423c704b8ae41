"""In which order a machine's settings are made: each once for the whole batch, as far as the pieces let it.

The cuts of a row have their own order, from the jointed side on; such a chain of cuts belongs to one piece of wood.
Over all chains a setting is made when all of its cuts can be done, the first by size of those that can. Where no
setting can be done whole, because two rows ask for the same two the other way round, one is made again later. An odd
cut is made when nothing else can be done before it; at a figure that is set anyway it is made with the others.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from yieldplan.order.data import Line

Setting = int | None
"""A fence, a planer height or a stop, in steps; None for work that needs no setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One line of a machine's list before it has found its place; ``odd`` is a setting of its own."""

    setting: Setting
    line: Line
    odd: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Cuts at one setting; ``again``: the setting was made before."""

    setting: Setting
    cuts: tuple[Cut, ...]
    odd: bool = False
    again: bool = False


def in_turn(chains: Sequence[Sequence[Cut]], first: Callable[[Iterable[int]], int]) -> list[Group]:
    """Return the groups of cuts in the order in which they are made.

    Parameters
    ----------
    chains
        The cuts of each row, in their own order; chains keep their order within a group.
    first
        Which of several sizes is made first: ``max`` or ``min``.
    """
    common = {cut.setting for chain in chains for cut in chain if not cut.odd}
    left = [[replace(cut, odd=cut.odd and cut.setting not in common) for cut in chain] for chain in chains]
    made: set[Setting] = set()
    groups: list[Group] = []
    while waiting := [chain for chain in left if chain]:
        ready = {cut.setting for chain in waiting if (cut := _next(chain)) is not None}
        if not ready:
            groups += [_group([cut], odd=True) for chain in waiting for cut in chain]
            break
        whole = [setting for setting in ready if all(_is_one_run(chain, setting) for chain in waiting)]
        free = [s for s in whole if not any(chain[0].odd and _reaches(chain, s) for chain in waiting)]
        setting = _pick(free or whole or ready, first)
        run: list[Cut] = []
        for chain in waiting:
            if _reaches(chain, setting):
                while chain[0].odd:
                    groups.append(_group([chain.pop(0)], odd=True))
                while chain and not chain[0].odd and chain[0].setting == setting:
                    run.append(chain.pop(0))
        groups.append(_group(run, again=setting in made))
        made.add(setting)
    return groups


def _group(cuts: Sequence[Cut], *, odd: bool = False, again: bool = False) -> Group:
    return Group(setting=cuts[0].setting, cuts=tuple(cuts), odd=odd, again=again)


def _pick(settings: Iterable[Setting], first: Callable[[Iterable[int]], int]) -> Setting:
    sizes = [setting for setting in settings if setting is not None]
    return first(sizes) if sizes else None


def _next(chain: Sequence[Cut]) -> Cut | None:
    """Return the next cut of a chain that is not odd."""
    return next((cut for cut in chain if not cut.odd), None)


def _reaches(chain: Sequence[Cut], setting: Setting) -> bool:
    cut = _next(chain)
    return cut is not None and cut.setting == setting


def _is_one_run(chain: Sequence[Cut], setting: Setting) -> bool:
    """Return whether all cuts of a chain at a setting can be done now, one after another, or it has none."""
    places = [place for place, cut in enumerate(chain) if not cut.odd and cut.setting == setting]
    if not places:
        return True
    begin, end = places[0], places[-1]
    return len(places) == end - begin + 1 and all(cut.odd for cut in chain[:begin])
