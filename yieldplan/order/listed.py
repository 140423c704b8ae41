"""The machine lists in words: a heading for each setting, and a line for each board under it, the same everywhere.

Only what differs from line to line stands on the line; what is the same for all of them stands in the heading.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from yieldplan.order.data import WASTE, At, Ends, Plane, Saw, Split, Square, Stop
from yieldplan.order.mates import mark_words
from yieldplan.order.names import several, short, times
from yieldplan.pages.wording import figure, spare_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldplan.model import Shop
    from yieldplan.order.data import MachineList, Order, Planed, Setting, Step

TITLES = {
    "ends": "Crosscut saw: ends off, before anything else",
    "saws": "Saws",
    "planer": "Planer",
    "stop": "Crosscut saw: to length",
}


def list_title(one: MachineList) -> str:
    """Return what stands above a list."""
    return TITLES[one.kind]


def settings_of(one: MachineList) -> list[Setting]:
    """Return the settings of a list; what the jointer takes off several pieces alike, one after the other, is one."""
    found: list[Setting] = []
    for setting in one.settings:
        before = found[-1] if found else None
        jointed = before is not None and before.machine is setting.machine is At.JOINTER
        if before is not None and jointed and (before.part, before.size) == (setting.part, setting.size):
            found[-1] = replace(before, steps=before.steps + setting.steps, odd=False)
        else:
            found.append(setting)
    return found


def totals_of(order: Order) -> dict[str, int]:
    """Return how many of each blank are planned, spares among them, for a running count."""
    return {kind.name: kind.made + kind.spare for kind in order.kinds}


def setting_head(setting: Setting, shop: Shop) -> tuple[str, str]:
    """Return a setting's size (empty where nothing is set) and what else its heading says."""
    size = "" if setting.size is None else figure(shop)(setting.size)
    words = ", ".join(filter(None, (_machine(setting), _same(setting.steps), _odd(setting))))
    return size, words


@dataclass(frozen=True, slots=True, kw_only=True)
class ListLine:
    """One line of a list: what holds for all of its items (or ``""``), and the items, each to be ticked."""

    lead: str = ""
    items: tuple[str, ...]

    @property
    def text(self) -> str:
        """The line as plain text."""
        items = ", ".join(self.items)
        return f"{self.lead}: {items}" if self.lead else items


def setting_lines(setting: Setting, shop: Shop, totals: Mapping[str, int]) -> list[ListLine]:
    """Return the lines of a setting; ``totals`` as from :func:`totals_of`.

    At the planer sticks of one height are one line, the highest first: they go through together.
    """
    made, fig = _Lines(setting, shop, totals), figure(shop)
    planes = [step for step in setting.steps if isinstance(step, Plane)]
    if planes:
        heights = sorted({made.planed(step).before for step in planes}, reverse=True)
        return [
            ListLine(
                lead=f"from {fig(height)}",
                items=tuple(made.plane(step) for step in planes if made.planed(step).before == height),
            )
            for height in heights
        ]
    items = [item for step in setting.steps for item in made.of(step)]
    if isinstance(setting.steps[0], Square):
        return [ListLine(items=tuple(items))]
    return [ListLine(items=(item,)) for item in items]


def list_note(one: MachineList) -> str:
    """Return what is said once of a list's lines."""
    if one.kind != "planer":
        return ""
    planes = [step for setting in one.settings for step in setting.steps if isinstance(step, Plane)]
    note = "The jointed side lies on the table, unless a sawn one is named: that first, then turn over."
    resting = any(step.rest or step.overnight for step in planes)
    return f"{note} {RESTS} rests first, is sighted, and jointed again if it moved." if resting else note


RESTS = "*"
"""Marks what is to lie before it is planed."""


def _machine(setting: Setting) -> str:
    return (
        setting.machine.value
        if setting.size is not None and isinstance(setting.steps[0], Saw | Split)
        else ""
    )


def _odd(setting: Setting) -> str:
    return "for this piece alone" if setting.odd else "once more" if setting.again else ""


def _same(steps: Sequence[Step]) -> str:
    """Return what is the same for all steps of a setting, for its heading."""
    saws = [step for step in steps if isinstance(step, Saw)]
    if saws and _alike(saws):
        off = f"off {saws[0].side}: no saw takes so little"
        return off if saws[0].off else f"{saws[0].side} to fence, {saws[0].down} down"
    stops = [step for step in steps if isinstance(step, Stop)]
    if stops and _alike(stops):
        return stops[0].blank + (f", sound end {stops[0].sound}" if stops[0].sound else "")
    return ""


def _alike(steps: Sequence[Saw] | Sequence[Stop]) -> bool:
    """Return whether what a heading says of one of the steps holds for all of them."""
    return (
        len({(one.side, one.down) if isinstance(one, Saw) else (one.blank, one.sound) for one in steps}) == 1
    )


class _Lines:
    """Makes the lines of one setting."""

    def __init__(self, setting: Setting, shop: Shop, totals: Mapping[str, int]) -> None:
        self.setting, self.totals, self.fig = setting, totals, figure(shop)
        self.said = bool(_same(setting.steps))

    def of(self, step: Step) -> list[str]:
        """Return the items of a step: one, but of rough crosscuts one for each length."""
        if isinstance(step, Ends):
            return self._ends(step)
        if isinstance(step, Split):
            return [self._split(step)]
        if isinstance(step, Saw):
            return [self._saw(step)]
        if isinstance(step, Stop):
            return [self._stop(step)]
        return (
            [several(step.sticks) + (f", keep {', '.join(step.kept)}" if step.kept else "")]
            if isinstance(step, Square)
            else []
        )

    def _ends(self, step: Ends) -> list[str]:
        alone = len(step.lengths) == 1
        lines = []
        for length in step.lengths:
            notes = [
                word for word, so in (("keep", length.keeper), ("pull the metal first", length.metal)) if so
            ]
            span = f"{self.fig(length.x[0])} to {self.fig(length.x[1])}"
            name = step.board if alone else f"{step.board}, {length.name}" if length.keeper else length.name
            lines.append(", ".join([f"{name}: {span}", *notes]))
        return lines

    def _split(self, step: Split) -> str:
        parts = [
            f"{half} half {'falls' if name == WASTE else name}"
            for half, name in (("near", step.near), ("far", step.far))
        ]
        return f"{step.piece}: line so far from edge 1; {', '.join(parts)}"

    def _saw(self, step: Saw) -> str:
        if step.off:
            return step.hand if self.said else f"{step.hand}: off {step.side}"
        laid = "" if self.said else f"{step.side} to fence, {step.down} down; "
        often = f"{times(step.passes)}; " if step.passes > 1 else ""
        gives = "falls" if step.gives == (WASTE,) else f"gives {short(several(step.gives), step.board)}"
        rest = {WASTE: "rest falls", "": ""}.get(step.rest, f"rest {short(step.rest, step.board)}")
        return f"{step.hand}: {laid}{often}{', '.join(filter(None, (gives, rest)))}"

    def planed(self, step: Plane) -> Planed:
        """Return which of its planings a step is here for."""
        return step.width if self.setting.on_edge else step.thickness

    def plane(self, step: Plane) -> str:
        """Return the item of a planing."""
        sawn, side = self.planed(step).sawn, "edge" if self.setting.on_edge else "face"
        which = "" if sawn == step.sticks else f"{short(several(sawn), step.board)}: "
        over = f" ({which}sawn {side} down first)" if sawn else ""
        return several(step.sticks) + over + (RESTS if step.rest or step.overnight else "")

    def _stop(self, step: Stop) -> str:
        skip = f"{self.fig(step.skip)} off first; " if step.skip else ""
        often = (
            (f", {step.each} each" if len(step.sticks) > 1 else f", {times(step.each)}")
            if step.each > 1
            else ""
        )
        kind = "" if self.said else f"{step.blank}{f', sound end {step.sound}' if step.sound else ''}; "
        done = step.first + step.count
        keep = [*step.skipped, *step.rest]
        kept = f"; keep {', '.join(keep)}" if keep else ""
        spare = spare_words(step.count, step.spare)
        marks = f" ({mark_words(step.marks, step.board)})" if step.marks else ""
        return f"{several(step.sticks)}{often}: {skip}{kind}{done} of {self.totals[step.blank]}{spare}{marks}{kept}"
