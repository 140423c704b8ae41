"""The machine lists in words: a heading for each setting, and a line for each board under it, the same everywhere.

Only what differs from line to line stands on the line; what is the same for all of them stands in the heading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.order.data import WASTE, Ends, Plane, Saw, Split, Square, Stop
from yieldplan.order.names import several, short, times
from yieldplan.order.wording import figure

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldplan.model import Shop
    from yieldplan.order.data import MachineList, Order, Setting, Step

TITLES = {
    "ends": "Crosscut saw: ends off, before anything else",
    "saws": "Saws",
    "planer": "Planer",
    "stop": "Crosscut saw: to length",
}


def list_title(one: MachineList) -> str:
    """Return what stands above a list."""
    return TITLES[one.kind]


def totals_of(order: Order) -> dict[str, int]:
    """Return how many of each blank are planned, spares among them, for a running count."""
    return {kind.name: kind.made + kind.spare for kind in order.kinds}


def setting_head(setting: Setting, shop: Shop) -> tuple[str, str]:
    """Return a setting's size (empty where nothing is set) and what else its heading says."""
    size = "" if setting.size is None else figure(shop)(setting.size)
    words = ", ".join(filter(None, (_machine(setting), _same(setting.steps), _odd(setting))))
    return size, words


def setting_lines(setting: Setting, shop: Shop, totals: Mapping[str, int]) -> list[str]:
    """Return the lines of a setting; ``totals`` as from :func:`totals_of`."""
    return [line for step in setting.steps for line in _Lines(setting, shop, totals).of(step)]


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
        return f"{saws[0].side} to fence, {saws[0].down} down"
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
        """Return the lines of a step: one, but of rough crosscuts one for each length."""
        if isinstance(step, Ends):
            return self._ends(step)
        if isinstance(step, Split):
            return [self._split(step)]
        if isinstance(step, Saw):
            return [self._saw(step)]
        if isinstance(step, Plane):
            return [self._plane(step)]
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
        laid = "" if self.said else f"{step.side} to fence, {step.down} down; "
        if step.off:
            return f"{step.hand}: joint {self.fig(step.fence)} more off {step.side}"
        often = f"{times(step.passes)}; " if step.passes > 1 else ""
        gives = "falls" if step.gives == (WASTE,) else f"gives {short(several(step.gives), step.board)}"
        rest = {WASTE: "rest falls", "": ""}.get(step.rest, f"rest {short(step.rest, step.board)}")
        return f"{step.hand}: {laid}{often}{', '.join(filter(None, (gives, rest)))}"

    def _plane(self, step: Plane) -> str:
        edge = self.setting.on_edge
        planed, side = (step.width, "edge") if edge else (step.thickness, "face")
        which = "" if planed.sawn == step.sticks else f"{short(several(planed.sawn), step.board)}: "
        over = f"; {which}sawn {side} down first" if planed.sawn else ""
        rest = "; let it lie first" if edge and (step.rest or step.overnight) else ""
        return f"{several(step.sticks)} from {self.fig(planed.before)}{over}{rest}"

    def _stop(self, step: Stop) -> str:
        skip = f"{self.fig(step.skip)} off first; " if step.skip else ""
        often = f"{times(step.each)}{' each' if len(step.sticks) > 1 else ''}; " if step.each > 1 else ""
        kind = "" if self.said else f"{step.blank}{f', sound end {step.sound}' if step.sound else ''}; "
        done = step.first + step.count
        keep = [*step.skipped, *step.rest]
        kept = f"; keep {', '.join(keep)}" if keep else ""
        return f"{several(step.sticks)}: {skip}{kind}{often}{done} of {self.totals[step.blank]}{kept}"
