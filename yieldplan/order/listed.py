"""The machine lists in words: a heading for each setting, and a line for each board under it, the same everywhere.

Only what differs from line to line stands on the line; what is the same for all of them stands in the heading.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.order.data import Ends, Plane, Saw, Split, Square, Stop
from yieldplan.order.sentences import (
    ends_words,
    gives_words,
    halves_words,
    keep_words,
    often_words,
    rest_words,
    sawn_words,
    several,
    stop_words,
    times,
)
from yieldplan.pages.wording import figure

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldplan.model import Shop
    from yieldplan.order.data import MachineList, Setting, Step
    from yieldplan.order.sentences import Fig


def setting_head(setting: Setting, shop: Shop) -> tuple[str, str]:
    """Return a setting's size (empty where nothing is set) and what else its heading says."""
    size = "" if setting.size is None else figure(shop)(setting.size)
    first = setting.steps[0]
    what = setting.machine.value if isinstance(first, Saw | Split) else ""
    what = "off end A" if isinstance(first, Square) else what
    these = "this piece" if setting.pieces == 1 else "these pieces"
    alone = f"for {these} alone" if setting.odd else "once more" if setting.again else ""
    return size, ", ".join(filter(None, (what, "; ".join(_same(setting.steps)), alone)))


@dataclass(frozen=True, slots=True, kw_only=True)
class ListLine:
    """One line of a list: what holds for all of its items (or ``""``), and the items, each to be ticked."""

    lead: str = ""
    items: tuple[str, ...]

    @property
    def runs_on(self) -> bool:
        """Whether its items stand one behind the other."""
        return bool(self.lead) or len(self.items) > 1

    @property
    def text(self) -> str:
        """The line as plain text."""
        items = ", ".join(self.items)
        return f"{self.lead}: {items}" if self.lead else items


def setting_lines(setting: Setting, shop: Shop) -> list[ListLine]:
    """Return the lines of a setting.

    At the planer sticks of one height are one line, the highest first: they go through together.
    """
    fig = figure(shop)
    if isinstance(setting.steps[0], Plane):
        return list(_heights(setting, fig))
    items = tuple(_items(setting, fig))
    if isinstance(setting.steps[0], Square):
        return [ListLine(items=items)]
    return [ListLine(items=(item,)) for item in items]


def list_note(one: MachineList) -> str:
    """Return what is said once of a list's lines."""
    if one.kind != "planer":
        return ""
    planes = [step for setting in one.settings for step in setting.steps if isinstance(step, Plane)]
    note = "Jointed side down on the table, unless a sawn one is named: sawn side down first, then turn over."
    resting = any(step.rest or step.overnight for step in planes)
    return f"{note} {RESTS} rests first, is sighted, and jointed again if it moved." if resting else note


RESTS = "*"
"""Marks what is to lie before it is planed."""


def _same(steps: Sequence[Step]) -> tuple[str, ...]:
    """Return what is the same for all steps of a setting, for its heading: how pieces lie, or what becomes of them."""
    found = [_clauses(step) for step in steps if isinstance(step, Saw | Stop)]
    same = [clause for clause in found[0] if all(clause in others for others in found)] if found else []
    return tuple(same if len(found) > 1 else same[:1])


def _clauses(step: Saw | Stop) -> tuple[str, ...]:
    if isinstance(step, Stop):
        return (step.blank + (f", clear end {step.clear}" if step.clear else ""),)
    if step.off:
        return (f"off {step.side}: no saw takes so little",)
    often = times(step.passes) if step.passes > 1 else ""
    gives = f"what comes off is {gives_words(step)}" if step.odd else gives_words(step)
    done = ", ".join(filter(None, (often, gives)))
    clauses = (f"{step.side} to fence, {step.down} down", done, rest_words(step, step.hand))
    return tuple(filter(None, clauses))


def _heights(setting: Setting, fig: Fig) -> Iterator[ListLine]:
    """Yield the lines of a setting of the planer."""
    items: dict[int, list[str]] = {}
    for step in (step for step in setting.steps if isinstance(step, Plane)):
        sawn = sawn_words(step)
        over = f" ({sawn} first)" if sawn else ""
        item = several(step.sticks) + over + (RESTS if step.rest or step.overnight else "")
        items.setdefault(step.before, []).append(item)
    for height in sorted(items, reverse=True):
        yield ListLine(lead=f"from {fig(height)}", items=tuple(items[height]))


def _items(setting: Setting, fig: Fig) -> Iterator[str]:
    """Yield the items of a setting of which some things stand in its heading."""
    same = _same(setting.steps)
    for step in setting.steps:
        if isinstance(step, Ends):
            metal = "pull the metal first; " if step.metal else ""
            yield f"{step.board}: {metal}{ends_words(step, fig).removeprefix('ends off ')}"
        elif isinstance(step, Split):
            yield f"{step.piece}: a line this far from edge 1, hollow side down; {halves_words(step)}"
        elif isinstance(step, Square):
            yield several(step.sticks) + keep_words(step.kept, ", ")
        elif isinstance(step, Stop):
            skip = f"{fig(step.skip)} off first; " if step.skip else ""
            kind = "" if same else f"{_clauses(step)[0]}; "
            done = f"{step.first + step.count} of {step.total}{stop_words(step)}"
            kept = keep_words((*step.skipped, *step.rest), "; ")
            yield f"{several(step.sticks)}{often_words(step)}: {skip}{kind}{done}{kept}"
    saws = (step for step in setting.steps if isinstance(step, Saw))
    for (_, words), alike in groupby(saws, key=lambda step: (step.board, _but(step, same))):
        hands = [step.hand for step in alike]  # of one board, and the same is said of them
        yield several(hands) + (", each" if len(hands) > 1 else "") + (f": {words}" if words else "")


def _but(step: Saw, same: Sequence[str]) -> str:
    return "; ".join(clause for clause in _clauses(step) if clause not in same)
