"""A sawing simulator: it does to solid boards what each step of a cutting order says, as a builder would.

It knows the shop's machines, the pile, and of each stick which way up its blanks lie, as the card's drawing shows it;
the plan it does not know. A step that the piece in hand cannot take is refused (:class:`RefusedError`). All is exact.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from yieldplan.order.data import WASTE, Ends, Joint, Plane, Saw, Split, Square, Step, Stop

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldplan.model import Job, Shop
    from yieldplan.order import Order
    from yieldplan.order.data import Card

TRUE = ("jointed", "fresh", "sawn")
"""How a straight side was made."""


class RefusedError(AssertionError):
    """A step of the order cannot be done with the piece at hand."""


@dataclass(kw_only=True)
class Wood:
    """A piece: its board, its place in it on three axes, how its sides were made, what has been planed.

    Across y and z its place is in the box of its billet once it is jointed. Sides are ``rough``, ``jointed``, ``sawn``,
    ``bandsawn`` (to be jointed before it is used), or ``fresh`` where that was done.
    """

    board: str
    spans: dict[str, tuple[int, int]]
    near: dict[str, str] = field(default_factory=lambda: {"y": "rough", "z": "rough"})
    far: dict[str, str] = field(default_factory=lambda: {"y": "rough", "z": "rough"})
    told: bool = False
    planed: tuple[str, ...] = ()
    squared: bool = False
    cut: bool = False
    blank: str = ""

    def size(self, axis: str) -> int:
        """Return how much the piece measures along an axis."""
        return self.spans[axis][1] - self.spans[axis][0]

    def part(self, axis: str, low: int, high: int) -> Wood:
        """Return a part of the piece."""
        spans = {**self.spans, axis: (low, high)}
        return replace(self, spans=spans, near=dict(self.near), far=dict(self.far))


class Sawmill:
    """Does step after step; ``blanks`` are those that came off, ``pile`` all else, by name."""

    def __init__(self, job: Job, order: Order) -> None:
        self.shop: Shop = job.shop
        self.blanks: list[Wood] = []
        self.pile: dict[str, Wood] = {}
        sections = [s for card in order.cards for milled in card.milled for s in milled.sections]
        self.turned = {section.name: section.turned for section in sections if not section.keeper}
        for card in order.cards:
            offcut = card.offcut
            spans = {"x": (0, offcut.length), "y": (0, offcut.width), "z": (0, offcut.thickness)}
            self.pile[card.board] = Wood(board=card.board, spans=spans)

    def at_the_bench(self, cards: Iterable[Card]) -> list[Wood]:
        """Return what lies there at the end, if every board is worked by its card from first to last."""
        for card in cards:
            for step in (card.ends, *card.splits, *(step for milled in card.milled for step in milled.steps)):
                self.do(step)
        return self._all()

    def on_the_floor(self, order: Order) -> list[Wood]:
        """Return what lies there at the end, if the work goes from machine to machine by the lists.

        Jointing stands on the cards alone: it is done when the ends are off and rough billets are split.
        """
        lists = {one.kind: one.settings for one in order.lists}
        saws = lists.get("saws", ())
        early = [setting for setting in saws if isinstance(setting.steps[0], Split)]
        self._do_all(step for setting in lists.get("ends", ()) for step in setting.steps)
        self._do_all(step for setting in early for step in setting.steps)
        jointing = (step for card in order.cards for milled in card.milled for step in milled.steps[:1])
        self._do_all(jointing)
        later = [setting for setting in saws if setting not in early]
        self._do_all(step for setting in later for step in setting.steps)
        for setting in lists.get("planer", ()):
            for step in setting.steps:
                self.do(step)
        self._do_all(step for setting in lists.get("stop", ()) for step in setting.steps)
        return self._all()

    def _do_all(self, steps: Iterable[Step]) -> None:
        for step in steps:
            self.do(step)

    def _all(self) -> list[Wood]:
        """Return all that is worth a name: of sticks that are cut up, what is left without one is waste."""
        return [*self.blanks, *(wood for wood in self.pile.values() if not wood.cut)]

    def do(self, step: Step) -> None:
        """Do a step, or refuse it."""
        if isinstance(step, Ends):
            self._ends(step)
        elif isinstance(step, Split):
            self._split(step)
        elif isinstance(step, Joint):
            self._joint(step)
        elif isinstance(step, Saw):
            self._saw(step)
        elif isinstance(step, Plane):
            self._plane(step)
        elif isinstance(step, Square):
            self._square(step)
        else:
            self._stop(step)

    def _take(self, name: str) -> Wood:
        if name not in self.pile:
            raise RefusedError(f"there is no {name}")
        return self.pile[name]

    def _put(self, name: str, wood: Wood) -> None:
        if name in self.pile:
            raise RefusedError(f"there are two pieces named {name}")
        self.pile[name] = wood

    def _ends(self, step: Ends) -> None:
        wood, kerf = self._take(step.board), self.shop.crosscut_kerf
        del self.pile[step.board]
        before = -kerf
        for name, (low, high) in sorted((*step.billets, *step.keepers), key=lambda length: length[1]):
            if not before + kerf <= low < high <= wood.size("x"):
                raise RefusedError(f"{step.board} cannot be cut from {low} to {high}, after {before}")
            self._put(name, wood.part("x", low, high))
            before = high

    def _split(self, step: Split) -> None:
        """Saw a rough piece along a line drawn so far from edge 1; the near half keeps the line."""
        wood = self._take(step.piece)
        del self.pile[step.piece]
        (low, high), at = wood.spans["y"], step.line
        if wood.size("z") > self.shop.bandsaw_height or "jointed" in wood.near.values():
            raise RefusedError(f"{step.piece} cannot be split rough")
        for name, span in ((step.near, (low, at)), (step.far, (at + self.shop.bandsaw_kerf, high))):
            if span[1] - span[0] < self.shop.narrowest_rip:
                raise RefusedError(f"{step.piece}: a half is only {span[1] - span[0]} wide")
            if name != WASTE:
                self._put(name, wood.part("y", *span))

    def _long_enough(self, wood: Wood) -> None:
        if wood.size("x") < self.shop.shortest_machined_length:
            raise RefusedError(f"a piece of {wood.board} is too short for machines")

    def _joint(self, step: Joint) -> None:
        """Make face 1 and edge 1 true, and take off what has to go beyond that."""
        wood = self._take(step.piece)
        self._long_enough(wood)
        if wood.size("y") > self.shop.jointer_width or wood.near["z"] != "rough":
            raise RefusedError(f"{step.piece} cannot be jointed")
        skims = {"y": self.shop.edge_skim, "z": self.shop.face_skim}
        needs = {"y": step.wide, "z": step.thick}
        for axis, takes, more, spare in zip("yz", step.takes, step.more, step.spare, strict=True):
            left = wood.size(axis) - takes
            if takes < skims[axis] or left - more - spare != needs[axis]:
                raise RefusedError(
                    f"{step.piece} is {left - more} after jointing, not {needs[axis]} and {spare}"
                )
            wood.spans[axis] = (more, left)
            wood.near[axis] = "jointed"

    def _saw(self, step: Saw) -> None:
        """Pass a piece along the fence as often as the step says, a true side on it and one on the table."""
        wood = self._take(step.hand)
        self._long_enough(wood)
        del self.pile[step.hand]
        axis, other = ("y", "z") if step.rip else ("z", "y")
        self._true_side(step, wood, other, step.down)
        side = step.side
        if step.off:
            self._true_side(step, wood, axis, side)
            low, high = wood.spans[axis]
            wood = wood.part(axis, low + step.fence, high)
            wood.near[axis] = "fresh" if side.startswith("fresh") else "jointed"
            self._put(step.rest, wood)
            return
        self._check_height(step, wood.size(other))
        blade = self.shop.rip_kerf if step.machine == "table saw" else self.shop.bandsaw_kerf
        if step.passes != len(step.gives):
            raise RefusedError(f"{step.hand}: {step.passes} passes give {step.gives}")
        for number, name in enumerate(step.gives):
            self._true_side(step, wood, axis, side)
            low, high = wood.spans[axis]
            if low + step.fence > high:
                raise RefusedError(f"{step.hand}, {high - low}, is too small for the fence at {step.fence}")
            if name != WASTE:
                part = wood.part(axis, low, low + step.fence)
                part.far[axis] = "sawn"
                self._put(name, part)
            if number == len(step.gives) - 1 and step.rest == WASTE:
                return
            if low + step.fence + blade >= high:
                raise RefusedError(f"{step.hand}: nothing is left over beyond the blade")
            wood = wood.part(axis, low + step.fence + blade, high)
            wood.near[axis] = "sawn" if step.machine == "table saw" else "bandsawn"
            wood.told, side = step.jointed, f"fresh {'edge' if step.rip else 'face'}"
        self._put(step.rest, wood)

    def _check_height(self, step: Saw, height: int) -> None:
        limit = self.shop.saw_depth if step.machine == "table saw" else self.shop.bandsaw_height
        if not step.rip:
            limit = min(limit, self.shop.resaw_height)
        if height > limit or height > step.height:
            raise RefusedError(
                f"{step.hand} is {height} high at the {step.machine}, said to be {step.height}"
            )

    def _true_side(self, step: object, wood: Wood, axis: str, side: str) -> None:
        """Refuse a side on fence or table that is not what it is said to be; after the bandsaw it is jointed first."""
        if wood.near[axis] == "bandsawn":
            if not wood.told:
                raise RefusedError(f"{step}: nobody said to joint the fresh side")
            low, high = wood.spans[axis]
            wood.spans = {**wood.spans, axis: (low + self.shop.bandsaw_skim, high)}
            wood.near[axis] = "fresh"
        allowed = {
            "edge 1": ("jointed",),
            "face 1": ("jointed",),
            "jointed": ("jointed", "fresh"),
            "sawn": ("sawn",),
        }
        if wood.near[axis] not in allowed.get(side.removesuffix(" edge").removesuffix(" face"), TRUE):
            raise RefusedError(f"{step}: {side} is {wood.near[axis]}")
        if ("edge" in side) != (axis == "y"):
            raise RefusedError(f"{step}: {side} lies across {axis}")

    def _plane(self, step: Plane) -> None:
        """Bring sticks to a planed size, from the jointed side, or from a sawn one and then over."""
        on_edge = step.on_edge
        for name in step.sticks:
            wood = self._take(name)
            self._long_enough(wood)
            axis = "z" if self.turned[name] == on_edge else "y"
            if wood.planed != (() if on_edge else ("edge",)):
                raise RefusedError(f"{name} is planed in the wrong order, after {wood.planed}")
            word = "sawn" if name in step.sawn else "jointed"
            self._true_side(step, wood, axis, f"{word} {'edge' if axis == 'y' else 'face'}")
            low, high = wood.spans[axis]
            if step.before != high - low or not self.shop.thinnest_planed <= step.to <= step.before:
                raise RefusedError(f"{name} is {high - low}, not {step.before}, to become {step.to}")
            wood.spans = {**wood.spans, axis: (low, low + step.to)}
            wood.planed = (*wood.planed, "edge" if on_edge else "flat")

    def _square(self, step: Square) -> None:
        for number, name in enumerate(step.sticks):
            wood = self._take(name)
            if wood.planed != ("edge", "flat") or wood.squared:
                raise RefusedError(f"{name} is not ready to be squared")
            if step.cut < self.shop.stick_trim:
                raise RefusedError(f"{name}: its end is not clear of the planer's snipe")
            self._cut_off(wood, step.cut, step.kept[number] if step.kept else "")
            wood.squared = True

    def _cut_off(self, wood: Wood, at: int, kept: str) -> None:
        """Take off what lies before a mark, blade included; it is kept if it has a name."""
        low, high = wood.spans["x"]
        if low + at >= high:
            raise RefusedError(f"a stick of {wood.board} ends before {at}")
        if kept:
            self._put(kept, wood.part("x", low, low + at - self.shop.crosscut_kerf))
        wood.spans = {**wood.spans, "x": (low + at, high)}

    def _stop(self, step: Stop) -> None:
        kerf = self.shop.crosscut_kerf
        for number, name in enumerate(step.sticks):
            wood = self._take(name)
            if not wood.squared:
                raise RefusedError(f"{name} is cut to the stop before it is squared")
            if step.skip:
                self._cut_off(wood, step.skip, step.skipped[number] if step.skipped else "")
            for _ in range(step.each):
                low, high = wood.spans["x"]
                if low + step.stop > high:
                    raise RefusedError(f"{name}, {high - low} long, cannot be cut to {step.stop}")
                self.blanks.append(replace(wood.part("x", low, low + step.stop), blank=step.blank))
                wood.spans = {**wood.spans, "x": (min(low + step.stop + kerf, high), high)}
            wood.cut = True
            if step.rest:
                del self.pile[name]
                self._put(step.rest[number], replace(wood, cut=False))
